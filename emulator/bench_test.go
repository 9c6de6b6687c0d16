package emulator_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// Nothing is allocated per step: neither by time passing nor by inputs. (The year's benchmark is in conformance/oracle, beside its
// baseline.)
func TestStepsDoNotAllocate(t *testing.T) {
	unit, err := emulator.New(spec.FullICS())
	require.NoError(t, err)
	unit.Do(spec.Input{Kind: spec.PowerOn}, nil)
	unit.Do(spec.Input{Kind: spec.SetClock, Date: spec.Date{Year: 2026, Month: 3, Day: 20}}, nil)
	buf := make([]spec.Change, 0, 16384)
	inputs := []spec.Input{
		{Kind: spec.Override, Channel: spec.CH},
		{Kind: spec.Boost, Channel: spec.HW, Amount: 60},
		{Kind: spec.SetMode, Channel: spec.CH, Mode: spec.Span},
		{Kind: spec.SetPeriod, Table: spec.HWTable, Day: spec.Sun, Slot: 3, Period: spec.Period{On: 30, Off: 90}},
		{Kind: spec.LockArm, Credential: "246810", Terms: spec.LockTerms{
			Days: 3, NoticeDays: 1, Notice: [2]uint8{20, 30}, Restricted: [2]uint8{10, 10}, Sounder: [4]uint16{480}, Sounders: 1,
		}},
		{Kind: spec.PowerOff},
		{Kind: spec.PowerOn},
		{Kind: spec.SetClock, Date: spec.Date{Year: 2026, Month: 10, Day: 20}},
		{Kind: spec.Holiday, Amount: 2},
		{Kind: spec.Reset},
	}
	var changes []spec.Change
	require.Zero(t, testing.AllocsPerRun(10, func() {
		u := unit
		changes = buf[:0]
		for _, in := range inputs {
			_, changes = u.Do(in, changes)
			changes = u.Advance(5*86400, changes)
		}
	}))
	require.Greater(t, len(changes), 100)
}
