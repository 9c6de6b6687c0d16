package emulator_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// secondsInYear is the length of the simulated year: 2026 from its first second to its last.
const secondsInYear = 365 * 86400

// busyUnit is the unit of the year's benchmark: 7-day tables with three periods a day that differ from day to day, two channels, gravity, summer time.
func busyUnit(tb testing.TB) emulator.Unit {
	tb.Helper()
	ics := spec.FullICS()
	ics.Fitted.Coupling = spec.Gravity
	u, err := emulator.New(ics)
	require.NoError(tb, err)
	do := func(in spec.Input) {
		r, _ := u.Do(in, nil)
		require.Equal(tb, spec.Reply{}, r)
	}
	do(spec.Input{Kind: spec.PowerOn})
	do(spec.Input{Kind: spec.SetClock, Date: spec.Date{Year: 2026, Month: 1, Day: 1}})
	for day := spec.Mon; day <= spec.Sun; day++ {
		d := uint16(day)
		for slot, on := range [...]uint16{6*60 + 5*d, 12*60 + 7*d, 17*60 + 3*d} {
			length := uint16(60 + 11*slot)
			for table, shift := range [...]uint16{spec.HWTable: 0, spec.CHTable: 20} {
				do(spec.Input{
					Kind: spec.SetPeriod, Table: spec.TableID(table), Day: day, Slot: uint8(slot + 1),
					Period: spec.Period{On: on + shift, Off: on + shift + length},
				})
			}
		}
	}
	return u
}

func BenchmarkYear(b *testing.B) {
	unit := busyUnit(b)
	buf := make([]spec.Change, 0, 16384)
	b.ReportAllocs()
	changes := 0
	for b.Loop() {
		u := unit
		changes = len(u.Advance(secondsInYear, buf[:0]))
	}
	b.ReportMetric(float64(changes), "changes/op")
}

// Nothing is allocated per step: neither by time passing nor by inputs.
func TestStepsDoNotAllocate(t *testing.T) {
	unit := busyUnit(t)
	buf := make([]spec.Change, 0, 16384)
	inputs := []spec.Input{
		{Kind: spec.Override, Channel: spec.CH}, {Kind: spec.Boost, Channel: spec.HW, Amount: 60}, {Kind: spec.SetMode, Channel: spec.CH, Mode: spec.Span},
		{Kind: spec.LockArm, Credential: "246810", Terms: spec.LockTerms{Days: 3, NoticeDays: 1, Notice: [2]uint8{20, 30}, Restricted: [2]uint8{10, 10}}},
		{Kind: spec.PowerOff}, {Kind: spec.PowerOn}, {Kind: spec.Holiday, Amount: 2}, {Kind: spec.Reset},
	}
	require.Zero(t, testing.AllocsPerRun(10, func() {
		u := unit
		changes := buf[:0]
		for _, in := range inputs {
			_, changes = u.Do(in, changes)
			changes = u.Advance(5*86400, changes)
		}
	}))
}
