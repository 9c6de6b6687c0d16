package capture

import (
	"bufio"
	"io"
	"strings"
	"time"

	"example.org/hearthbench/conformance/recording"
	"example.org/hearthbench/emulator/spec"
)

// Recording is what a file has of the signals of a unit. Times are since its first sample.
type Recording struct {
	recording.About
	Lines [spec.NumSignals]*recording.Line // nil where none was mapped
}

// Open reads a recording; the name is for messages and to tell the formats apart: one that ends in .csv, or that does not end in .vcd
// and does not begin with a keyword of VCD, is CSV. Edges that follow another within the bounce time belong to it. No more is kept in memory than the edges of the
// signals mapped. An error is of type *[recording.Error] unless reading itself failed.
func Open(name string, in io.Reader, m *Mapping, bounce time.Duration) (*Recording, error) {
	b := bufio.NewReaderSize(in, 1<<16)
	format := "VCD"
	switch lower := strings.ToLower(name); {
	case strings.HasSuffix(lower, ".csv"):
		format = "CSV"
	case !strings.HasSuffix(lower, ".vcd"):
		head, _ := b.Peek(1 << 10)
		if text := strings.TrimLeft(strings.TrimPrefix(string(head), "\ufeff"), " \t\r\n"); !strings.HasPrefix(text, "$") {
			format = "CSV"
		}
	}
	var signals []spec.Signal // of the picks
	read, err := recording.Read(name, format, b, bounce, func(cs recording.Columns) (picks []recording.Pick, err error) {
		found, err := m.findAll(cs)
		for sig, i := range found {
			if i >= 0 {
				signals = append(signals, spec.Signal(sig))
				picks = append(picks, recording.Pick{Column: i, Inverted: m[sig].Inverted, Most: highest(spec.Signal(sig))})
			}
		}
		return picks, err
	})
	if err != nil {
		return nil, err
	}
	r := &Recording{About: read.About}
	for i, sig := range signals {
		r.Lines[sig] = read.Lines[i]
	}
	return r, nil
}

// highest returns the highest level that a signal has.
func highest(sig spec.Signal) spec.Level {
	if sig == spec.SigAlert {
		return spec.Level(spec.Restricted)
	}
	return 1
}

// edge is a change from one known level to another.
type edge struct {
	at    float64 // s
	level spec.Level
}

func edgesOf(l *recording.Line) []edge {
	var edges []edge
	for i := 1; i < len(l.Levels); i++ {
		if l.Levels[i].Level != recording.Unknown && l.Levels[i-1].Level != recording.Unknown {
			edges = append(edges, edge{l.Levels[i].From.Seconds(), l.Levels[i].Level})
		}
	}
	return edges
}
