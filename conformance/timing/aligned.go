// Package timing draws what signals do over time as text.
package timing

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Lane is one signal of one trace.
type Lane struct {
	Name    string
	Signal  spec.Signal
	Initial spec.Level
	Changes []spec.Change // those of other signals are passed over
}

// at returns the level once everything of a second has happened, and how often the signal changes in that second.
func (l *Lane) at(second uint64) (level spec.Level, changes int) {
	level = l.Initial
	for i := range l.Changes {
		c := &l.Changes[i]
		if c.At > second {
			break
		}
		if c.Signal == l.Signal {
			level = c.Level
			if c.At == second {
				changes++
			}
		}
	}
	return level, changes
}

// Aligned is a drawing with a column for each instant at which something happens, whatever lies between them, so that lanes
// can be compared column by column.
type Aligned struct {
	Lanes []Lane
	Extra []uint64            // instants that have a column though no lane changes: steps, say
	Mark  uint64              // the instant to mark, which has one too
	Label func(uint64) string // at most ColumnWidth-1 characters
}

// ColumnWidth is the width of a column in characters.
const ColumnWidth = 9

// The instants shown before and after the marked one: with names of 12 characters, a drawing of 84 columns.
const (
	columnsBefore = 4
	columnsAfter  = 3
)

// Draw writes the drawing, each line after the indent.
func (a *Aligned) Draw(w io.Writer, indent string) {
	instants := a.instants()
	mark, _ := slices.BinarySearch(instants, a.Mark)
	first, last := max(0, mark-columnsBefore), min(len(instants), mark+columnsAfter+1)
	name := 0
	for i := range a.Lanes {
		name = max(name, len(a.Lanes[i].Name))
	}
	row := func(head string, cell func(second uint64) string) {
		var b strings.Builder
		fmt.Fprintf(&b, "%s%-*s ", indent, name, head)
		for _, second := range instants[first:last] {
			b.WriteString(cell(second))
		}
		fmt.Fprintln(w, strings.TrimRight(b.String(), " "))
	}
	row("", func(second uint64) string { return fmt.Sprintf("%-*s", ColumnWidth, a.Label(second)) })
	for i := range a.Lanes {
		row(a.Lanes[i].Name, a.Lanes[i].cell)
	}
	row("", func(second uint64) string {
		if second == a.Mark {
			return fmt.Sprintf("%-*s", ColumnWidth, "^ here")
		}
		return strings.Repeat(" ", ColumnWidth)
	})
}

// instants returns every instant that has a column.
func (a *Aligned) instants() []uint64 {
	all := append([]uint64{0, a.Mark}, a.Extra...)
	for i := range a.Lanes {
		for _, c := range a.Lanes[i].Changes {
			if c.Signal == a.Lanes[i].Signal {
				all = append(all, c.At)
			}
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// cell draws what a lane does from an instant to the next: '#' is closed or sounding, '_' is not, and the alert is written
// out. A '*' in front says that the signal changes more than once in the instant itself.
func (l *Lane) cell(second uint64) string {
	level, changes := l.at(second)
	text := ""
	switch {
	case l.Signal == spec.SigAlert:
		text = wire.LevelWord(l.Signal, level)
	case level == 0:
		text = strings.Repeat("_", ColumnWidth)
	default:
		text = strings.Repeat("#", ColumnWidth)
	}
	if changes > 1 {
		text = "*" + text
	}
	width := ColumnWidth
	if l.Signal == spec.SigAlert {
		width-- // a space between words
	}
	return fmt.Sprintf("%-*.*s", ColumnWidth, width, text)
}
