package plain

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/spec"
)

// designICS is a two-channel unit with every feature and the default choices, in Europe/London.
func designICS() spec.ICS {
	return spec.ICS{
		Supported:    spec.Supported{Channels: 0b111, Cycle: 0b111, Timing: 0b11, Coupling: 0b11},
		Periods:      3,
		BoostLongest: 180,
		BoostStep:    30,
		Holiday:      true,
		SummerTime:   true,
		Lock:         true,
		Credential:   "2468",
		Reserve:      8 * 60,
	}
}

// bench runs a unit from an instant of true time, which it also uses to write the unit's changes down.
type bench struct {
	t     *testing.T
	u     *Unit
	start time.Time
	zone  *time.Location
}

// newBench makes a unit, fits it, powers it on and sets its clock to the local time of start.
func newBench(t *testing.T, ics spec.ICS, start string, fits ...spec.Input) *bench {
	t.Helper()
	london, err := time.LoadLocation("Europe/London")
	require.NoError(t, err)
	b := &bench{t: t, u: New(ics), start: instant(t, start), zone: london}
	for _, f := range fits {
		b.do(f)
	}
	b.do(spec.Input{Kind: spec.PowerOn})
	b.do(clock(b.start.In(london).Format("2006-01-02 15:04")))
	return b
}

func instant(t *testing.T, s string) time.Time {
	t.Helper()
	at, err := time.Parse(time.RFC3339, s)
	require.NoError(t, err)
	return at
}

// do gives an input that is to be accepted.
func (b *bench) do(in spec.Input) {
	b.t.Helper()
	require.Equal(b.t, spec.Reply{}, b.u.Do(in), "%+v", in)
}

// refused gives an input that is to be refused.
func (b *bench) refused(in spec.Input, why spec.Refusal) {
	b.t.Helper()
	require.Equal(b.t, spec.Reply{Outcome: spec.Refused, Refusal: why}, b.u.Do(in), "%+v", in)
}

// until lets time pass to an instant.
func (b *bench) until(s string) {
	b.t.Helper()
	now := b.start.Add(time.Duration(b.u.elapsed) * time.Second)
	require.False(b.t, instant(b.t, s).Before(now), s)
	b.u.Advance(uint64(instant(b.t, s).Sub(now) / time.Second))
}

// display is what the unit shows as date and time.
func (b *bench) display() string {
	if !b.u.clockSet {
		return "unset"
	}
	return b.u.reading().Format(time.DateTime)
}

// changes compares every change after second 0, each as "instant signal level reason".
func (b *bench) changes(want ...string) {
	b.t.Helper()
	signals := [...]string{"hw", "ch", "alert", "sounder"}
	var got []string
	for _, c := range b.u.Changes() {
		if c.At == 0 {
			continue
		}
		at := b.start.Add(time.Duration(c.At) * time.Second).In(b.zone).Format(time.RFC3339)
		got = append(got, fmt.Sprintf("%s %s %d %s", at, signals[c.Signal], c.Level, c.By))
	}
	assert.Equal(b.t, want, got)
}

// table makes the periods, written as "hh:mm hh:mm", the whole of one table on the days named, and the other slots inactive.
func (b *bench) table(id spec.TableID, day spec.Day, periods ...spec.Period) {
	b.t.Helper()
	for slot := range b.u.ics.Periods {
		var p spec.Period
		if int(slot) < len(periods) {
			p = periods[slot]
		}
		b.do(spec.Input{Kind: spec.SetPeriod, Table: id, Day: day, Slot: slot + 1, Period: p})
	}
}

func hhmm(hour, minute int) uint16 { return uint16(hour*60 + minute) }

func period(onHour, onMinute, offHour, offMinute int) spec.Period {
	return spec.Period{On: hhmm(onHour, onMinute), Off: hhmm(offHour, offMinute)}
}

func clock(s string) spec.Input {
	at, err := time.Parse("2006-01-02 15:04", s)
	if err != nil {
		panic(err) // a typing error in a test
	}
	return spec.Input{
		Kind:   spec.SetClock,
		Date:   spec.Date{Year: uint16(at.Year()), Month: uint8(at.Month()), Day: uint8(at.Day())},
		Minute: hhmm(at.Hour(), at.Minute()),
	}
}

func mode(c spec.Channel, m spec.Mode) spec.Input {
	return spec.Input{Kind: spec.SetMode, Channel: c, Mode: m}
}

func override(c spec.Channel) spec.Input { return spec.Input{Kind: spec.Override, Channel: c} }

func boost(c spec.Channel, minutes uint32) spec.Input {
	return spec.Input{Kind: spec.Boost, Channel: c, Amount: minutes}
}

func holiday(days uint32) spec.Input { return spec.Input{Kind: spec.Holiday, Amount: days} }
