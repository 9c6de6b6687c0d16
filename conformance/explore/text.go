package explore

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"example.org/hearthbench/conformance/wire"
)

// Took is how long an exploration took, and on how many processors; it is no part of the result, which is the same every time.
type Took struct {
	Time    time.Duration
	Workers int
}

// WriteText writes a result for a person: first whether it holds, then within which bounds.
func (r *Result) WriteText(w io.Writer, target string, took Took) error {
	var b strings.Builder
	switch {
	case r.Counterexample != nil:
		r.Counterexample.write(&b)
	case r.Complete:
		fmt.Fprintf(&b, "holds: every state within the bounds was seen, and every step from it\n\n")
	default:
		fmt.Fprintf(&b, "not settled: %s. In what was seen, everything holds.\n\n", r.Stopped)
	}
	fmt.Fprintf(&b, "unit         %s\n", target)
	fmt.Fprintf(&b, "states       %d, the farthest %d steps from the start; %d steps taken, %d past the horizon not taken\n", r.States, r.Depth, r.Transitions, r.Pruned)
	if s := took.Time.Seconds(); s > 0 {
		fmt.Fprintf(&b, "took         %.1f s with %d at once: %.0f new states a second, and %.0f steps, each worked out and checked\n", s, took.Workers, float64(r.States)/s, float64(r.Transitions)/s)
	}
	fmt.Fprintf(&b, "checked      %s\n", r.checked())
	fmt.Fprintf(&b, "\nThe bounds\n\n")
	fmt.Fprintf(&b, "  given      %s\n", strings.Join(texts(r.Bounds.Given), "; "))
	fmt.Fprintf(&b, "  inputs     %s\n", strings.Join(texts(r.Bounds.Letters), "; "))
	fmt.Fprintf(&b, "  time       to the next instant of change, and to the second before it where it is a full minute of the clock\n")
	horizon := "none: states that only whole days or weeks keep apart are one"
	if r.Bounds.Horizon > 0 {
		horizon = fmt.Sprintf("%v of the clock from the start", time.Duration(r.Bounds.Horizon)*time.Second)
	}
	fmt.Fprintf(&b, "  horizon    %s\n", horizon)
	fmt.Fprintf(&b, "  states     at most %d\n", r.Bounds.States)
	_, err := io.WriteString(w, b.String())
	return err
}

func (r *Result) checked() string {
	words := fmt.Sprintf("%d invariants of the emulator", len(r.Invariants))
	if r.Firmware {
		words += "; that the firmware answers and changes as the emulator does, to the second"
	}
	return words
}

func texts(letters []Letter) (lines []string) {
	for _, l := range letters {
		lines = append(lines, l.Text)
	}
	return lines
}

func (c *Counterexample) write(b *strings.Builder) {
	if c.Invariant != nil {
		fmt.Fprintf(b, "does not hold: %s (%s)\n\n", c.Invariant.Name, strings.Join(c.Invariant.Clauses, ", "))
	} else {
		fmt.Fprintf(b, "does not hold: the firmware departs from the clauses\n\n")
	}
	fmt.Fprintf(b, "A shortest way there, from what is given:\n\n")
	for _, line := range c.lines() {
		fmt.Fprintf(b, "  %s\n", line)
	}
	if c.Departure != nil {
		fmt.Fprintf(b, "\n  %s\n", c.Departure)
		switch {
		case c.File != "":
			fmt.Fprintf(b, "\nvector       %s, confirmed on the unit\nagain        %s\n", c.File, c.Again)
		case c.Vector != nil:
			fmt.Fprintf(b, "\nvector, confirmed on the unit (--out keeps it as a file):\n%s", c.Vector)
		default:
			b.WriteString("\nno vector: 'check' lets it pass, for what the unit's tolerances allow or what lasts for no whole second is no fault there\n")
		}
	}
	b.WriteByte('\n')
}

// lines are the steps, with the second in which each is done; the wait at the end says until when.
func (c *Counterexample) lines() (lines []string) {
	for i, s := range c.Steps {
		for _, in := range s.Inputs {
			lines = append(lines, fmt.Sprintf("%8d  %s", s.At, wire.AppendInput(nil, in)))
		}
		if s.Wait > 0 && i == len(c.Steps)-1 {
			lines = append(lines, fmt.Sprintf("%8d  wait until here", s.At+s.Wait))
		}
	}
	return lines
}

// WriteJSON writes a result for machines. It has no times in it, so that the same bounds give the same bytes.
func (r *Result) WriteJSON(w io.Writer, target string) error {
	type counterexample struct {
		Invariant string          `json:"invariant,omitempty"`
		Clauses   []string        `json:"clauses,omitempty"`
		Departure string          `json:"departure,omitempty"`
		Steps     []string        `json:"steps"`
		File      string          `json:"file,omitempty"`
		Vector    json.RawMessage `json:"vector,omitempty"`
	}
	type invariant struct {
		Name    string   `json:"name"`
		Clauses []string `json:"clauses"`
	}
	out := struct {
		Unit           string          `json:"unit"`
		Holds          bool            `json:"holds"`
		Complete       bool            `json:"complete"`
		Stopped        string          `json:"stopped,omitempty"`
		States         int             `json:"states"`
		Steps          uint64          `json:"steps"`
		Pruned         uint64          `json:"pruned"`
		Depth          int             `json:"depth"`
		Given          []string        `json:"given"`
		Inputs         []string        `json:"inputs"`
		Horizon        uint64          `json:"horizonSeconds"`
		MaxStates      int             `json:"maxStates"`
		Invariants     []invariant     `json:"invariants"`
		Counterexample *counterexample `json:"counterexample,omitempty"`
	}{
		Unit: target, Holds: r.Complete, Complete: r.Complete, Stopped: r.Stopped, States: r.States, Steps: r.Transitions, Pruned: r.Pruned,
		Depth: r.Depth, Given: texts(r.Bounds.Given), Inputs: texts(r.Bounds.Letters), Horizon: r.Bounds.Horizon, MaxStates: r.Bounds.States,
	}
	for _, inv := range r.Invariants {
		out.Invariants = append(out.Invariants, invariant{inv.Name, inv.Clauses})
	}
	if c := r.Counterexample; c != nil {
		out.Counterexample = &counterexample{Steps: c.lines(), File: c.File, Vector: c.Vector}
		if c.Invariant != nil {
			out.Counterexample.Invariant, out.Counterexample.Clauses = c.Invariant.Name, c.Invariant.Clauses
		} else {
			out.Counterexample.Departure = c.Departure.String()
		}
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(out)
}
