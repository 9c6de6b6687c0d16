package scenario

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// Scenario is what a file says. Only [Parse] makes one, and it is read only.
type Scenario struct {
	File       string
	Title      string
	ICS        spec.ICS
	ClockUnset bool
	Given      []Line
	Steps      []Step
	Until      uint64 // the last second

	civil civil
	start int64 // the instant of second 0, in seconds of UTC since 2000-01-01T00:00
}

// Line is an input line.
type Line struct {
	Text       string // as the file has it
	FileLine   int    // where it stands in the file
	FileColumn int

	inputs []spec.Input
}

// Step is something done to the unit.
type Step struct {
	Line
	At     uint64 // second
	Expect Expectation
}

// Expectation is the outcome that a step must have, if it says so.
type Expectation struct {
	Stated  bool
	Outcome spec.Outcome
}

// At returns the true local time of a second of the scenario.
func (s *Scenario) At(second uint64) time.Time { return s.civil.at(s.start + int64(second)) }

// Parse reads a scenario file; the name is for messages. An error is of type [Errors] and reports everything that is wrong: first the
// YAML, then what departs from [Schema], then what cannot be meant.
func Parse(name string, data []byte) (*Scenario, error) {
	r := &reader{name: name}
	root := r.readTree(data)
	if root == nil || len(r.errors) > 0 {
		return nil, r.err()
	}
	if root.form != aMapping {
		r.fail(root.line, root.column, "the file holds %s; a scenario is %s", root.brief(), schemaText().Description)
		return nil, r.err()
	}
	r.checkSchema(root)
	if len(r.errors) > 0 {
		return nil, r.err()
	}
	s := &Scenario{File: name, Title: root.get("title").text, ClockUnset: root.get("clock") != nil, ICS: r.unit(root.get("unit"))}
	if title := root.get("title"); strings.Contains(s.Title, "\n") {
		r.fail(title.line, title.column, "the title has more than one line; keep the first, and put the rest into comments")
	}
	if len(r.errors) > 0 {
		return nil, r.err()
	}
	s.civil = civilOf(&s.ICS)
	if r.readStart(s, root.get("start")) {
		r.readLines(s, root)
	}
	if err := r.err(); err != nil {
		return nil, err
	}
	return s, nil
}

// unit returns the ICS.
func (r *reader) unit(n *node) spec.ICS {
	ics := spec.FullICS()
	if n == nil {
		return ics
	}
	for _, e := range n.entries {
		o, err := wire.ParseFitOption(e.key)
		if err != nil {
			err = wire.SetOption(&ics, e.key, e.value.text)
		} else {
			var value uint8
			if value, err = wire.ParseFitValue(o, e.value.text); err == nil {
				ics.Fitted, _ = ics.Fit(ics.Fitted, o, value)
			}
		}
		if err != nil {
			r.fail(e.value.line, e.value.column, "%v", err)
		}
	}
	if len(r.errors) > 0 {
		return ics
	}
	if err := ics.Validate(); err != nil {
		for _, e := range err.(interface{ Unwrap() []error }).Unwrap() {
			r.invalid(n, e.Error())
		}
	}
	return ics
}

// invalid reports what is wrong with the options together, at the option if the file has it, or else at one that it depends on.
func (r *reader) invalid(n *node, message string) {
	at := n.get("boost-step")
	for _, e := range n.entries {
		if strings.HasPrefix(message, "ICS option "+e.key+":") {
			at = e.value
		}
	}
	if at == nil {
		at = n
	}
	r.fail(at.line, at.column, "%s; change boost-longest or boost-step so that they go together", strings.TrimPrefix(message, "ICS option "))
}

// readStart reports whether the start can be used.
func (r *reader) readStart(s *Scenario, n *node) bool {
	utc, err := s.civil.parse(n.text)
	reading := utc + s.civil.offset(utc)
	switch {
	case err != nil:
		r.fail(n.line, n.column, "%v", err)
	case !s.civil.dated(utc):
		r.fail(n.line, n.column, "the local date is out of range; dates run from %d-01-01 to %d-12-31", spec.FirstYear, spec.LastYear)
	case reading%60 != 0:
		r.fail(n.line, n.column, "the start has seconds, but setting a clock makes them 00; start at a full minute")
	case !s.ClockUnset && s.civil.instants(reading)[0] != utc:
		r.fail(n.line, n.column, "setting a clock to a reading that comes twice means the first; start at the first, or before")
	default:
		s.start = utc
		return true
	}
	return false
}

// readLines reads what is done. A unit goes along, for what is fitted may change on the way.
func (r *reader) readLines(s *Scenario, root *node) {
	u := s.newUnit()
	if given := root.get("given"); given != nil {
		for _, n := range given.items {
			r.readGiven(s, n, &u)
		}
	}
	last := uint64(0)
	var steps []*node
	if n := root.get("steps"); n != nil {
		steps = n.items
	}
	for i, n := range steps {
		before := "the start"
		if i > 0 {
			before = fmt.Sprintf("step %d", i)
		}
		if at, ok := r.second(s, n.get("at"), last, before); ok {
			u.Advance(at-last, nil)
			last = at
		}
		step := Step{At: last}
		if word := n.get("expect"); word != nil {
			outcome, _ := wire.ParseOutcome(word.text) // the schema knows the words
			step.Expect = Expectation{Stated: true, Outcome: outcome}
		}
		do := n.get("do")
		l := &line{reader: r, node: do, allowed: step.Expect.Stated && step.Expect.Outcome != spec.Accepted}
		step.Line = Line{Text: do.text, FileLine: do.line, FileColumn: do.column, inputs: l.inputs(&s.ICS, u.Facts().Fitted)}
		step.Text = strings.Join(l.words, " ")
		for _, in := range step.inputs {
			u.Do(in, nil)
		}
		s.Steps = append(s.Steps, step)
	}
	until := root.get("until")
	before := "the last step"
	if len(steps) == 0 {
		before = "the start"
	}
	end, ok := r.second(s, until, last, before)
	if ok && end == 0 {
		r.fail(until.line, until.column, "the scenario ends when it starts; let until be later")
	}
	s.Until = end
}

// newUnit returns a unit with power, and with its clock set unless it is to be left alone.
func (s *Scenario) newUnit() emulator.Unit {
	u, err := emulator.New(s.ICS)
	if err != nil {
		panic(fmt.Sprintf("an ICS that was not validated: %v", err))
	}
	u.Do(spec.Input{Kind: spec.PowerOn}, nil)
	if !s.ClockUnset {
		start := s.At(0)
		year, month, day := start.Date()
		u.Do(spec.Input{
			Kind:   spec.SetClock,
			Date:   spec.Date{Year: uint16(year), Month: uint8(month), Day: uint8(day)},
			Minute: uint16(start.Hour()*60 + start.Minute()),
		}, nil)
	}
	return u
}

func (r *reader) readGiven(s *Scenario, n *node, u *emulator.Unit) {
	l := &line{reader: r, node: n, given: true}
	inputs := l.inputs(&s.ICS, u.Facts().Fitted)
	for _, in := range inputs {
		if reply, _ := u.Do(in, nil); reply.Outcome != spec.Accepted {
			r.fail(n.line, n.column, "the unit answers %s: %s; what is given must be accepted, so change it, or make it a step",
				wire.OutcomeWord(reply.Outcome), wire.RefusalWords(reply.Refusal))
			break
		}
	}
	s.Given = append(s.Given, Line{Text: strings.Join(l.words, " "), FileLine: n.line, FileColumn: n.column, inputs: inputs})
}

// second returns the second of the scenario that a moment is, and whether it can be used.
func (r *reader) second(s *Scenario, n *node, last uint64, before string) (uint64, bool) {
	utc := s.start + int64(last)
	after, ok, err := parseDuration(n.text)
	if ok {
		utc += after
	} else {
		utc, err = s.civil.parse(n.text)
	}
	switch {
	case err != nil:
		r.fail(n.line, n.column, "%v", err)
	case !s.civil.dated(utc):
		r.fail(n.line, n.column, "this is out of range; dates run from %d-01-01 to %d-12-31", spec.FirstYear, spec.LastYear)
	case utc < s.start+int64(last):
		r.fail(n.line, n.column, "%s is before %s, which is at %s; put things in order of time", quote(n.text), before, format(s.At(last)))
	default:
		return uint64(utc - s.start), true
	}
	return 0, false
}

// format writes a local time for messages and traces, with the offset, which tells readings that come twice apart.
func format(t time.Time) string { return t.Format("2006-01-02 15:04:05 -07:00") }

// place returns where in its file a line stands.
func (l *Line) place(file string) string {
	return file + ":" + strconv.Itoa(l.FileLine) + ":" + strconv.Itoa(l.FileColumn)
}
