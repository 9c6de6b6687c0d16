package scenario

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"example.org/hearthbench/conformance/document"
	"example.org/hearthbench/conformance/localtime"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
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

	civil localtime.Zone
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
func (s *Scenario) At(second uint64) time.Time { return s.civil.At(s.start + int64(second)) }

// reader reads one file.
type reader struct{ *document.Reader }

// Parse reads a scenario file; the name is for messages. An error is of type [Errors] and reports everything that is wrong: first the
// YAML, then what departs from [Schema], then what cannot be meant.
func Parse(name string, data []byte) (*Scenario, error) {
	read, root := fileFormat.Read(name, data)
	if root == nil {
		return nil, read.Err()
	}
	r := &reader{read}
	s := &Scenario{File: name, Title: root.Get("title").Text, ClockUnset: root.Get("clock") != nil, ICS: r.unit(root.Get("unit"))}
	if title := root.Get("title"); strings.Contains(s.Title, "\n") {
		r.Fail(title.Line, title.Column, "the title has more than one line; keep the first, and put the rest into comments")
	}
	if r.Failed() {
		return nil, r.Err()
	}
	s.civil = localtime.Of(&s.ICS)
	if r.readStart(s, root.Get("start")) {
		r.readLines(s, root)
	}
	if err := r.Err(); err != nil {
		return nil, err
	}
	return s, nil
}

// unit returns the ICS.
func (r *reader) unit(n *document.Node) spec.ICS {
	ics := spec.FullICS()
	if n == nil {
		return ics
	}
	for _, e := range n.Entries {
		o, err := wire.ParseFitOption(e.Key)
		if err != nil {
			err = wire.SetOption(&ics, e.Key, e.Value.Text)
		} else {
			var value uint8
			if value, err = wire.ParseFitValue(o, e.Value.Text); err == nil {
				ics.Fitted, _ = ics.Fit(ics.Fitted, o, value)
			}
		}
		if err != nil {
			r.Fail(e.Value.Line, e.Value.Column, "%v", err)
		}
	}
	if r.Failed() {
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
func (r *reader) invalid(n *document.Node, message string) {
	at := n.Get("boost-step")
	for _, e := range n.Entries {
		if strings.HasPrefix(message, "ICS option "+e.Key+":") {
			at = e.Value
		}
	}
	if at == nil {
		at = n
	}
	r.Fail(at.Line, at.Column, "%s; change boost-longest or boost-step so that they go together", strings.TrimPrefix(message, "ICS option "))
}

// readStart reports whether the start can be used.
func (r *reader) readStart(s *Scenario, n *document.Node) bool {
	utc, err := s.civil.Parse(n.Text)
	reading := utc + s.civil.Offset(utc)
	switch {
	case err != nil:
		r.Fail(n.Line, n.Column, "%v", err)
	case !s.civil.Dated(utc):
		r.Fail(n.Line, n.Column, "the local date is out of range; dates run from %d-01-01 to %d-12-31", spec.FirstYear, spec.LastYear)
	case reading%60 != 0:
		r.Fail(n.Line, n.Column, "the start has seconds, but setting a clock makes them 00; start at a full minute")
	case !s.ClockUnset && s.civil.Instants(reading)[0] != utc:
		r.Fail(n.Line, n.Column, "setting a clock to a reading that comes twice means the first; start at the first, or before")
	default:
		s.start = utc
		return true
	}
	return false
}

// readLines reads what is done. A unit goes along, for what is fitted may change on the way.
func (r *reader) readLines(s *Scenario, root *document.Node) {
	u := s.newUnit()
	if given := root.Get("given"); given != nil {
		for _, n := range given.Items {
			r.readGiven(s, n, &u)
		}
	}
	last := uint64(0)
	var steps []*document.Node
	if n := root.Get("steps"); n != nil {
		steps = n.Items
	}
	for i, n := range steps {
		before := "the start"
		if i > 0 {
			before = fmt.Sprintf("step %d", i)
		}
		if at, ok := r.second(s, n.Get("at"), last, before); ok {
			u.Advance(at-last, nil)
			last = at
		}
		step := Step{At: last}
		if word := n.Get("expect"); word != nil {
			outcome, _ := wire.ParseOutcome(word.Text) // the schema knows the words
			step.Expect = Expectation{Stated: true, Outcome: outcome}
		}
		do := n.Get("do")
		l := &line{Line: r.Line(do), allowed: step.Expect.Stated && step.Expect.Outcome != spec.Accepted}
		step.Line = Line{Text: do.Text, FileLine: do.Line, FileColumn: do.Column, inputs: l.inputs(&s.ICS, u.Facts().Fitted)}
		step.Text = strings.Join(l.Words, " ")
		for _, in := range step.inputs {
			u.Do(in, nil)
		}
		s.Steps = append(s.Steps, step)
	}
	until := root.Get("until")
	before := "the last step"
	if len(steps) == 0 {
		before = "the start"
	}
	end, ok := r.second(s, until, last, before)
	if ok && end == 0 {
		r.Fail(until.Line, until.Column, "the scenario ends when it starts; let until be later")
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

func (r *reader) readGiven(s *Scenario, n *document.Node, u *emulator.Unit) {
	l := &line{Line: r.Line(n), given: true}
	inputs := l.inputs(&s.ICS, u.Facts().Fitted)
	for _, in := range inputs {
		if reply, _ := u.Do(in, nil); reply.Outcome != spec.Accepted {
			r.Fail(n.Line, n.Column, "the unit answers %s: %s; what is given must be accepted, so change it, or make it a step",
				wire.OutcomeWord(reply.Outcome), wire.RefusalWords(reply.Refusal))
			break
		}
	}
	s.Given = append(s.Given, Line{Text: strings.Join(l.Words, " "), FileLine: n.Line, FileColumn: n.Column, inputs: inputs})
}

// second returns the second of the scenario that a moment is, and whether it can be used.
func (r *reader) second(s *Scenario, n *document.Node, last uint64, before string) (uint64, bool) {
	utc := s.start + int64(last)
	after, ok, err := parseDuration(n.Text)
	if ok {
		utc += after
	} else {
		utc, err = s.civil.Parse(n.Text)
	}
	switch {
	case err != nil:
		r.Fail(n.Line, n.Column, "%v", err)
	case !s.civil.Dated(utc):
		r.Fail(n.Line, n.Column, "this is out of range; dates run from %d-01-01 to %d-12-31", spec.FirstYear, spec.LastYear)
	case utc < s.start+int64(last):
		r.Fail(n.Line, n.Column, "%s is before %s, which is at %s; put things in order of time", document.Quote(n.Text), before, format(s.At(last)))
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

var durationPattern = regexp.MustCompile(`^\+([0-9]{2,6}):([0-9]{2}):([0-9]{2})$`)

// parseDuration reads a time after something such as +01:30:00.
func parseDuration(text string) (seconds int64, ok bool, err error) {
	m := durationPattern.FindStringSubmatch(text)
	if m == nil {
		return 0, false, nil
	}
	var f [4]int64
	for i := 1; i < len(f); i++ {
		f[i], _ = strconv.ParseInt(m[i], 10, 64)
	}
	if f[2] > 59 || f[3] > 59 {
		return 0, true, fmt.Errorf("%s has more than 59 minutes or seconds; write +hours:minutes:seconds", text)
	}
	return f[1]*calendar.Hour + f[2]*calendar.Minute + f[3], true, nil
}
