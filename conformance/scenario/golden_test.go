package scenario

// The files testdata/scenarios/*.golden were written by the program and then checked by hand against vectors/BEHAVIOUR.md, row by row: the
// periods and inputs of each scenario were worked through in order of time, with the clause that governs each, and the rows had to be
// exactly what came of that, with nothing missing between two of them. What each one rests on:
//
//   - override: worked example 1, with both its halves. 08:00 *s* is 1, so to 0 (OVR-1); 09:00 *s* changes and the relay does not move
//     (OVR-2). The next day 10:00 *s* is 0, so to 1; it ends at 17:00 without a movement. hw is in mode off: OVR-9.
//   - gravity: worked example 5. hw first when closing, last when opening (OUT-3). The override of 07:15 is NOT *s*, 1 (CPL-7), holds hw
//     at 09:00 (CPL-3) and ends at 12:00, where the period takes over until 13:00. At 22:00 hw is left with mode off, MOD-1.
//   - boost: worked example 2. BST-2 at 08:00 (table asks for 1, no movement), 09:30 and 22:00; BST-6 for hw in mode off, BST-10 for its
//     end; OVR-13 at 22:25, after which the table asks for 0.
//   - autumn-night: worked example 4 (CLK-6); 00:45 and 3600 s are the first 01:45 (BST-8). The override of the second 01:40 ends at
//     02:00, where *s* becomes 0 and nothing moves.
//   - power-cut: worked examples 7 and 8. 22:00 + 7:59:59 is 05:59:59 (PWR-7, PWR-6); 08:00 + 8:00:00 is 16:00:00, and the clock is lost
//     (PWR-9, CLK-11), so nothing happens at 17:00. 18:25 lies in the second period (CLK-13), whose 22:00 is 22:05 in truth.
//   - lock: armed on 10 January 12:05:00 with 3 days and 1 notice day: notice (3 - 1) x 86 400 s later, 12 January 12:05:00 (LCK-3),
//     restricted on 13 January 12:05:00 (LCK-4), a second after the reset, which brings hw its default table (RST-1, RST-2, LCK-9, and
//     TAB-18 for one period). Windows of 20 minutes from 12:05, 13:05, 14:05 (LCK-13); the boost of 12:30 is on in that of 13:05 only and
//     ends at 13:30 unseen (LCK-19). Removal lifts the permit in its second (LCK-8).
//   - holiday: 3 days from Friday 1 May end at 00:00 on Monday 4 May (HOL-1); HOL-4 for the refusals, HOL-6 for the mode, which is
//     followed from 06:30 on Monday (MOD-3).
//
// The drawings were checked by counting columns from the start to each change and each input. The second model agrees on every change,
// which the test checks each time.

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/timing"
	"example.org/hearthbench/emulator/spec"
)

var update = flag.Bool("update", false, "write the golden files; then check them by hand as the head of this file says")

func TestScenarios(t *testing.T) {
	files, err := filepath.Glob("../../testdata/scenarios/*.yaml")
	require.NoError(t, err)
	require.Len(t, files, 7)
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".yaml")
		t.Run(name, func(t *testing.T) {
			data, err := os.ReadFile(file)
			require.NoError(t, err)
			s, err := Parse(filepath.Base(file), data)
			require.NoError(t, err)
			trace := s.Run()
			assert.True(t, trace.Holds())
			agrees(t, trace)
			var got bytes.Buffer
			require.NoError(t, trace.WriteTable(&got, timing.DefaultWidth))
			golden := strings.TrimSuffix(file, ".yaml") + ".golden"
			if *update {
				require.NoError(t, os.WriteFile(golden, got.Bytes(), 0o644))
			}
			want, err := os.ReadFile(golden)
			require.NoError(t, err, "run the test with -update, and check what it writes")
			assert.Equal(t, string(want), got.String())
		})
	}
}

// agrees checks the changes of a trace against the second model, which shares no logic with the emulator.
func agrees(t *testing.T, trace *Trace) {
	t.Helper()
	s := trace.Scenario
	second := oracle.SecondModel(s.ICS)
	second.Do(spec.Input{Kind: spec.PowerOn}, nil)
	year, month, day := s.At(0).Date()
	second.Do(spec.Input{
		Kind: spec.SetClock, Date: spec.Date{Year: uint16(year), Month: uint8(month), Day: uint8(day)}, Minute: uint16(s.At(0).Hour()*60 + s.At(0).Minute()),
	}, nil)
	for _, l := range s.Given {
		for _, in := range l.inputs {
			second.Do(in, nil)
		}
	}
	var want, got []spec.Change
	now := uint64(0)
	for i := range s.Steps {
		want = second.Advance(s.Steps[i].At-now, want)
		now = s.Steps[i].At
		for _, in := range s.Steps[i].inputs {
			_, want = second.Do(in, want)
		}
	}
	want = second.Advance(s.Until-now, want)
	for i := range trace.Entries {
		if trace.Entries[i].Input == nil {
			got = append(got, trace.Entries[i].Change)
		}
	}
	for _, changes := range [][]spec.Change{want, got} {
		for i := range changes {
			changes[i].Cause, changes[i].Slot = spec.NoCause, 0
		}
	}
	assert.Equal(t, want, got)
}
