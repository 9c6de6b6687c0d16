package evidence_test

import (
	"fmt"
	"testing"
	"time"
	_ "time/tzdata" // the IANA tz database, the same on every machine

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// model is one of the two. The second is slow: where a test asks the same of many units, it asks it of fewer.
type model struct {
	name string
	unit func(spec.ICS) oracle.Device
	slow bool
}

var (
	emulated = model{"emulator", oracle.Emulator, false}
	second   = model{"second model", oracle.SecondModel, true}
)

// onBoth runs a test on the emulator and on the second model.
func onBoth(t *testing.T, test func(t *testing.T, m model)) {
	t.Helper()
	for _, m := range []model{emulated, second} {
		t.Run(m.name, func(t *testing.T) {
			t.Parallel()
			test(t, m)
		})
	}
}

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	require.NoError(t, err)
	return loc
}

// bench runs a unit from an instant of true time.
type bench struct {
	t       *testing.T
	unit    oracle.Device
	ics     spec.ICS
	start   time.Time // in the zone in which instants are written down
	now     uint64
	changes []spec.Change
}

// newBench powers a unit on and sets its clock to the local time of start, a full minute. If that reading happens twice, start must be
// its first occurrence (CLK-8).
func newBench(t *testing.T, m model, ics spec.ICS, start time.Time) *bench {
	t.Helper()
	b := &bench{t: t, unit: m.unit(ics), ics: ics, start: start}
	b.do(spec.Input{Kind: spec.PowerOn})
	b.do(clock(start))
	return b
}

// try gives an input and returns the reply.
func (b *bench) try(in spec.Input) spec.Reply {
	var r spec.Reply
	r, b.changes = b.unit.Do(in, b.changes)
	return r
}

// do gives an input that is to be accepted.
func (b *bench) do(in spec.Input) {
	b.t.Helper()
	if r := b.try(in); r != (spec.Reply{}) {
		require.Equal(b.t, spec.Reply{}, r, "%+v", in)
	}
}

func (b *bench) advance(d time.Duration) {
	b.changes = b.unit.Advance(uint64(d/time.Second), b.changes)
	b.now += uint64(d / time.Second)
}

func (b *bench) goTo(at time.Time) {
	b.t.Helper()
	d := at.Sub(b.at(b.now))
	require.GreaterOrEqual(b.t, d, time.Duration(0))
	b.advance(d)
}

func (b *bench) at(second uint64) time.Time { return b.start.Add(time.Duration(second) * time.Second) }

// forget drops the changes so far.
func (b *bench) forget() { b.changes = b.changes[:0] }

// told returns the changes since the last forget, one a line.
func (b *bench) told() []string {
	var lines []string
	for _, c := range b.changes {
		lines = append(lines, b.line(c.At, c.Signal, c.Level))
	}
	return lines
}

func (b *bench) line(second uint64, s spec.Signal, l spec.Level) string {
	return fmt.Sprintf("%s %s %s", b.at(second).Format("2006-01-02T15:04:05-07:00"), wire.SignalWord(s), wire.LevelWord(s, l))
}

// table makes the periods the whole of one day's table: the slots that are left over become inactive.
func (b *bench) table(id spec.TableID, day spec.Day, periods ...spec.Period) {
	b.t.Helper()
	for slot := range b.ics.Periods {
		var p spec.Period
		if int(slot) < len(periods) {
			p = periods[slot]
		}
		b.do(spec.Input{Kind: spec.SetPeriod, Table: id, Day: day, Slot: slot + 1, Period: p})
	}
}

func (b *bench) mode(c spec.Channel, m spec.Mode) {
	b.t.Helper()
	b.do(spec.Input{Kind: spec.SetMode, Channel: c, Mode: m})
}

// fitted returns the full statement with a cycle fitted.
func fitted(c spec.Cycle) spec.ICS {
	ics := spec.FullICS()
	ics.Fitted.Cycle = c
	return ics
}

// clock sets the clock to an instant's date and time of day.
func clock(at time.Time) spec.Input {
	return spec.Input{
		Kind:   spec.SetClock,
		Date:   spec.Date{Year: uint16(at.Year()), Month: uint8(at.Month()), Day: uint8(at.Day())},
		Minute: minuteOf(at),
	}
}

func minuteOf(at time.Time) uint16 { return uint16(at.Hour()*60 + at.Minute()) }

// periods reads periods such as "06:30-09:00". A typing error panics.
func periods(texts ...string) (list []spec.Period) {
	for _, text := range texts {
		var a, b, c, d uint16
		if n, err := fmt.Sscanf(text, "%d:%d-%d:%d", &a, &b, &c, &d); n != 4 || err != nil {
			panic("not a period: " + text)
		}
		list = append(list, spec.Period{On: a*60 + b, Off: c*60 + d})
	}
	return list
}
