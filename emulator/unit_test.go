package emulator_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// bench drives a unit and keeps its changes.
type bench struct {
	t       *testing.T
	unit    emulator.Unit
	changes []spec.Change
}

func newBench(t *testing.T, ics spec.ICS, minute uint16, date spec.Date) *bench {
	t.Helper()
	unit, err := emulator.New(ics)
	require.NoError(t, err)
	b := &bench{t: t, unit: unit}
	b.do(spec.Input{Kind: spec.PowerOn})
	b.do(spec.Input{Kind: spec.SetClock, Date: date, Minute: minute})
	return b
}

func (b *bench) try(in spec.Input) spec.Reply {
	var r spec.Reply
	r, b.changes = b.unit.Do(in, b.changes)
	return r
}

func (b *bench) do(in spec.Input) {
	b.t.Helper()
	require.Equal(b.t, spec.Reply{}, b.try(in))
}

func (b *bench) goTo(second uint64) { b.changes = b.unit.Advance(second-b.unit.Now(), b.changes) }

func (b *bench) since(change int) []spec.Change { return b.changes[change:] }

func alike(t *testing.T) spec.ICS {
	t.Helper()
	ics := spec.FullICS()
	ics.Fitted.Cycle = spec.Cycle24h
	return ics
}

func clear(b *bench, table spec.TableID) {
	for slot := uint8(1); slot <= spec.MaxPeriods; slot++ {
		b.do(spec.Input{Kind: spec.SetPeriod, Table: table, Day: spec.All, Slot: slot})
	}
}

func period(table spec.TableID, slot uint8, on, off uint16) spec.Input {
	return spec.Input{Kind: spec.SetPeriod, Table: table, Day: spec.All, Slot: slot, Period: spec.Period{On: on, Off: off}}
}

// The first worked example of BEHAVIOUR.md, with causes and slots.
func TestOverrideEndsAtTheNextSwitchingPoint(t *testing.T) {
	b := newBench(t, alike(t), 6*60, spec.Date{Year: 2026, Month: 1, Day: 14})
	b.do(spec.Input{Kind: spec.SetMode, Channel: spec.HW, Mode: spec.Off})
	clear(b, spec.CHTable)
	b.do(period(spec.CHTable, 1, 6*60+30, 9*60))
	b.do(period(spec.CHTable, 2, 17*60, 22*60))
	from := len(b.changes)
	b.goTo(2 * 3600)
	b.do(spec.Input{Kind: spec.Override, Channel: spec.CH})
	b.goTo(18 * 3600)
	require.Equal(t, []spec.Change{
		{At: 1800, Signal: spec.SigCH, Level: 1, By: spec.ClauseTable, Cause: spec.CausePeriod, Slot: 1},
		{At: 7200, Signal: spec.SigCH, Level: 0, By: spec.ClauseOverride, Cause: spec.CauseInput},
		{At: 11 * 3600, Signal: spec.SigCH, Level: 1, By: spec.ClauseTable, Cause: spec.CausePeriod, Slot: 2},
		{At: 16 * 3600, Signal: spec.SigCH, Level: 0, By: spec.ClauseTable, Cause: spec.CausePeriod, Slot: 2},
	}, b.since(from))
}

// A unit whose lock was never armed has no permit that could open: hot water that the coupling alone held closes with heating's own cause, in the
// first second in which a timer is due too.
func TestNoPermitOpensBeforeTheLockIsArmed(t *testing.T) {
	ics := alike(t)
	ics.Fitted.Coupling = spec.Gravity
	b := newBench(t, ics, 6*60, spec.Date{Year: 2026, Month: 1, Day: 14})
	b.do(spec.Input{Kind: spec.SetMode, Channel: spec.HW, Mode: spec.Off})
	b.do(spec.Input{Kind: spec.SetMode, Channel: spec.CH, Mode: spec.Off})
	b.do(spec.Input{Kind: spec.Boost, Channel: spec.CH, Amount: 60})
	from := len(b.changes)
	b.goTo(3600)
	require.Equal(t, []spec.Change{
		{At: 3600, Signal: spec.SigCH, Level: 0, By: spec.ClauseOff, Cause: spec.CauseBoostEnd},
		{At: 3600, Signal: spec.SigHW, Level: 0, By: spec.ClauseOff, Cause: spec.CauseBoostEnd},
	}, b.since(from))
}

// A copy is a snapshot: what is done to one does not show in the other, and restoring goes on as if nothing had been.
func TestCopyIsASnapshot(t *testing.T) {
	b := newBench(t, spec.FullICS(), 6*60, spec.Date{Year: 2026, Month: 1, Day: 14})
	snapshot := b.unit
	b.goTo(86400)
	first := append([]spec.Change(nil), b.since(0)...)
	b.do(spec.Input{Kind: spec.Reset})
	b.unit = snapshot
	require.Equal(t, uint64(0), b.unit.Now())
	b.changes = b.changes[:0]
	b.goTo(86400)
	require.Equal(t, first, b.changes)
	require.NotEmpty(t, first)
}

// HOL-1 and HOL-12 in a zone whose autumn change takes the reading back over midnight: a holiday begun in the repeated hour ends when
// the date comes again.
func TestHolidayBegunInAnHourRepeatedBeforeMidnight(t *testing.T) {
	ics := alike(t)
	ics.Zone = -120 // 01:00 UTC is 00:00 summer time: Sunday 00:00 is followed by Saturday 23:00
	b := newBench(t, ics, 23*60, spec.Date{Year: 2026, Month: 10, Day: 24})
	b.do(spec.Input{Kind: spec.SetMode, Channel: spec.HW, Mode: spec.Always})
	b.do(spec.Input{Kind: spec.SetMode, Channel: spec.CH, Mode: spec.Off})
	b.goTo(3600 + 1800)
	_, second, ok := b.unit.Reading()
	require.True(t, ok)
	require.Equal(t, 23*3600+1800, second)
	b.do(spec.Input{Kind: spec.Holiday, Amount: 1})
	from := len(b.changes)
	b.goTo(3 * 3600)
	require.Equal(t, []spec.Change{
		{At: 7200, Signal: spec.SigHW, Level: 1, By: spec.ClauseAlways, Cause: spec.CauseHolidayEnd},
	}, b.since(from))
}

func TestNewRefusesAnImpossibleUnit(t *testing.T) {
	for name, spoil := range map[string]func(*spec.ICS){
		"periods":       func(s *spec.ICS) { s.Periods = 7 },
		"boost-step":    func(s *spec.ICS) { s.BoostStep = 0 },
		"boost-longest": func(s *spec.ICS) { s.BoostLongest = 90 },
		"zone":          func(s *spec.ICS) { s.Zone = 7 },
		"credential":    func(s *spec.ICS) { s.Credential = "12a4" },
		"reserve":       func(s *spec.ICS) { s.Reserve = spec.MaxReserve + 1 },
		"channels":      func(s *spec.ICS) { s.Supported.Channels = 0 },
		"cycle":         func(s *spec.ICS) { s.Supported.Cycle = 1 << spec.Cycle24h },
		"lost-clock":    func(s *spec.ICS) { s.LostClock = 9 },
	} {
		ics := spec.FullICS()
		spoil(&ics)
		_, err := emulator.New(ics)
		require.ErrorContains(t, err, name)
	}
}

// Time cannot run past the end of the elapsed seconds.
func TestAdvanceDoesNotOverflow(t *testing.T) {
	u, err := emulator.New(spec.FullICS())
	require.NoError(t, err)
	u.Advance(5, nil)
	u.Advance(^uint64(0), nil)
	require.Greater(t, u.Now(), uint64(1)<<62)
}

// A reset that unsets the clock leaves nothing of the tables to wait for (RST-5, CLK-11).
func TestNothingIsAheadOnceAResetHasUnsetTheClock(t *testing.T) {
	ics := alike(t)
	ics.ResetUnsetsClock = true
	b := newBench(t, ics, 6*60, spec.Date{Year: 2026, Month: 11, Day: 16})
	_, ok := b.unit.Next()
	require.True(t, ok)
	b.do(spec.Input{Kind: spec.Reset})
	_, ok = b.unit.Next()
	require.False(t, ok)
}
