package oracle_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/plain"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// secondsInYear is the length of the simulated year: 2026 from its first second to its last.
const secondsInYear = 365 * 86400

// busyWeek is the set-up of the year's benchmark: 7-day tables with three periods a day that differ from day to day, two channels,
// gravity, summer time.
func busyWeek() (spec.ICS, []spec.Input) {
	ics := spec.FullICS()
	ics.Fitted.Coupling = spec.Gravity
	inputs := []spec.Input{
		{Kind: spec.PowerOn},
		{Kind: spec.SetClock, Date: spec.Date{Year: 2026, Month: 1, Day: 1}},
	}
	for day := spec.Mon; day <= spec.Sun; day++ {
		d := uint16(day)
		for slot, on := range [...]uint16{6*60 + 5*d, 12*60 + 7*d, 17*60 + 3*d} {
			length := uint16(60 + 11*slot)
			for table, shift := range [...]uint16{spec.HWTable: 0, spec.CHTable: 20} {
				inputs = append(inputs, spec.Input{
					Kind: spec.SetPeriod, Table: spec.TableID(table), Day: day, Slot: uint8(slot + 1),
					Period: spec.Period{On: on + shift, Off: on + shift + length},
				})
			}
		}
	}
	return ics, inputs
}

// BenchmarkYear simulates a year on the emulator, and says how many times faster that is than the second model stepping by
// minutes, measured in the same run.
func BenchmarkYear(b *testing.B) {
	ics, inputs := busyWeek()
	unit := *oracle.Emulator(ics).(*emulator.Unit)
	for _, in := range inputs {
		r, _ := unit.Do(in, nil)
		require.Equal(b, spec.Reply{}, r)
	}
	buf := make([]spec.Change, 0, 16384)
	var changes int
	b.ReportAllocs()
	for b.Loop() {
		u := unit
		changes = len(u.Advance(secondsInYear, buf[:0]))
	}
	emulated := b.Elapsed() / time.Duration(b.N)

	const years = 3
	minutes := time.Duration(1<<63 - 1)
	for range years {
		second := plain.New(ics)
		for _, in := range inputs {
			second.Do(in)
		}
		before := len(second.Changes())
		start := time.Now()
		second.AdvanceByMinutes(secondsInYear)
		minutes = min(minutes, time.Since(start))
		require.Len(b, second.Changes()[before:], changes)
	}
	b.ReportMetric(float64(changes), "changes/op")
	b.ReportMetric(float64(minutes)/float64(emulated), "×by-minutes")
}
