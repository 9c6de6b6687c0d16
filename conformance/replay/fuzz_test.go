package replay

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/emulator/calendar"
)

// Whatever parses can be replayed and told.
func FuzzReplay(f *testing.F) {
	files, err := filepath.Glob("../../testdata/complaints/*.yaml")
	require.NoError(f, err)
	for _, name := range files {
		data, err := os.ReadFile(name)
		require.NoError(f, err)
		f.Add(data)
	}
	f.Add(complaint.Template)
	f.Add([]byte(cold))
	f.Add([]byte("title: x\nasked: 2026-10-25 18:00\nsafety: no\nunit: {reserve: 0, channels: ch}\ninstallation: {plan: combination}\n" +
		"done: [{when: 2026-10-25 01:00-03:00, do: power cut}, {when: 2026-10-25 night, do: isolator off}, {when: now, do: 'lock remove 1234'}]\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := complaint.ParseIn(os.DirFS("../../testdata/complaints"), "f.yaml", data)
		if err != nil || c.Until-c.From > 60*calendar.Day {
			return
		}
		r, err := NewReport(c)
		if err != nil {
			t.Fatal(err)
		}
		for _, h := range r.Held {
			if h.Likelihood <= 0 || h.Likelihood >= 1 || h.Grade < 0 || h.Grade > 1 {
				t.Fatalf("%+v", h)
			}
		}
		var b bytes.Buffer
		if err := r.WriteText(&b, 80); err != nil {
			t.Fatal(err)
		}
		r.JSON()
	})
}
