package capture_test

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/capture"
	"example.org/hearthbench/conformance/testtool"
	"example.org/hearthbench/emulator/spec"
)

// An independent reader finds in what emulate writes the level of every signal in every second. It samples once a tick.
func TestAnIndependentReaderOfTraces(t *testing.T) {
	program := testtool.Need(t, "sigrok-cli", "sigrok-cli")
	for _, name := range names() {
		t.Run(name, func(t *testing.T) {
			trace := load(t, scenarios+name)
			var b bytes.Buffer
			require.NoError(t, capture.WriteTrace(&b, trace))
			file := t.TempDir() + "/trace.vcd"
			require.NoError(t, os.WriteFile(file, b.Bytes(), 0o600))
			out, err := exec.Command(program, "-I", "vcd", "-i", file, "-O", "csv").CombinedOutput()
			require.NoError(t, err)
			head, rows, found := strings.Cut(string(out), "logic,logic,logic,logic,logic\n")
			require.True(t, found, head)
			require.Contains(t, head, "Channels (5/5): hw, ch, alert[1], alert[0], sounder")
			levels := trace.Initial
			entry := 0
			second := uint64(0)
			for row := range strings.Lines(rows) {
				for ; entry < len(trace.Entries) && trace.Entries[entry].At <= second; entry++ {
					if e := &trace.Entries[entry]; e.Input == nil {
						levels[e.Change.Signal] = e.Change.Level
					}
				}
				alert := levels[spec.SigAlert]
				want := fmt.Sprintf("%d,%d,%d,%d,%d\n", levels[spec.SigHW], levels[spec.SigCH], alert>>1, alert&1, levels[spec.SigSounder])
				if row != want {
					require.Equal(t, want, row, "second %d", second)
				}
				second++
			}
			assert.Equal(t, trace.Scenario.Until, second, "the last tick is the end")
		})
	}
}
