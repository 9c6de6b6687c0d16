package fuzz

import (
	"context"
	"crypto/sha256"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/verify"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

// Finding is one cause of failures: the shortest script known that shows it.
type Finding struct {
	Departure
	// Group words what failures of this cause have in common when they have been shortened.
	Group  string
	Script iut.Script
	ICS    spec.ICS // of the unit on which the script fails
	Step   uint64   // of the campaign, at which the cause first showed
	Times  uint64   // how many failures have been shortened to it
	// Result is the ordinary runner's verdict on Vector. It is never a pass.
	Result *runner.Result

	explored bool // see [Explored]
	story    story
	causes   []cause // each of which alone explains all failures that are told as this one
}

// Vector returns the finding as a vector, as it was put to the unit to confirm it. It asks for a unit just like the one it was found on;
// see [Finding.File].
func (f *Finding) Vector() *suite.Vector { return f.Result.Vector }

// Inputs returns how many inputs the script has, those that power the unit and set its clock among them.
func (f *Finding) Inputs() int { return len(f.story.inputs) }

// Name names the finding: the same for the same cause, in every campaign.
func (f *Finding) Name() string {
	tool := "fuzz"
	if f.explored {
		tool = "explore"
	}
	return fmt.Sprintf("%s-%s-%x", tool, strings.ToLower(f.Clause), sha256.Sum256([]byte(f.Group)))[:len(tool)+len("--")+len(f.Clause)+nameDigits]
}

const nameDigits = 8

// less reports whether the finding shows a cause more shortly than another.
func (f *Finding) less(g *Finding) bool {
	if a, b := len(f.story.inputs), len(g.story.inputs); a != b {
		return a < b
	}
	return f.story.length() < g.story.length()
}

func (s *story) length() uint64 {
	sum := s.end
	for i := range s.inputs {
		sum += s.inputs[i].wait
	}
	return sum
}

// pageOnce reads the published clauses.
var pageOnce = sync.OnceValues(func() (*suite.Page, error) {
	set, err := suite.New(vectors.Files)
	if err != nil {
		return nil, err
	}
	return set.Page, nil
})

// confirm puts a finding to the unit as a vector, by the ordinary runner. The finding has no result if it does not fail there: what
// the unit's tolerances allow is no fault.
func (c *Campaign) confirm(ctx context.Context, f *Finding) error {
	for _, setByStep := range [...]bool{false, true} {
		v, ok := f.vector(setByStep)
		if !ok {
			continue
		}
		// It is read back from its file's text, so that what is confirmed is what others will read.
		data, err := encode(f.about(), v)
		if err != nil {
			return err
		}
		set, err := read(f.Name()+".json", data)
		if err != nil {
			return err
		}
		var result *runner.Result
		err = runner.Run(ctx, c.unit, set.Vectors, func(r *runner.Result) { result = r })
		if err != nil {
			return err
		}
		if result.Verdict == runner.Fail || result.Verdict == runner.Inconclusive && result.Trouble != nil {
			f.Result = result
			return nil
		}
	}
	return nil
}

// read reads a vector file as 'check --vectors' does.
func read(name string, data []byte) (*suite.Suite, error) {
	if err := verify.Schema(vectors.Files, name, data); err != nil {
		return nil, err
	}
	page, err := pageOnce()
	if err != nil {
		return nil, err
	}
	set, err := suite.New(vectors.Files)
	if err != nil {
		return nil, err
	}
	set.Page = page
	return set, set.Add(name, data)
}

// vector words the finding.
func (f *Finding) vector(setByStep bool) (*suite.Vector, bool) {
	v, ok := f.story.vector(&f.ICS, setByStep)
	if !ok {
		return nil, false
	}
	v.ID = "GEN/" + f.Name() + "-1"
	v.Clauses = []string{f.Clause}
	for i := range v.Trace {
		if id := v.Trace[i].By.String(); !slices.Contains(v.Clauses, id) {
			v.Clauses = append(v.Clauses, id)
		}
	}
	v.Purpose = f.purpose(v)
	v.Catches = f.catches()
	return v, true
}

// vector words a story as a vector, for units like the one with the statement. The clock is set at the start where that says it, or by a
// step. It returns false if there is no such start.
func (s *story) vector(ics *spec.ICS, setByStep bool) (*suite.Vector, bool) {
	o, err := newOracle(*ics)
	if err != nil {
		return nil, false
	}
	v := &suite.Vector{Needs: everything(ics), ClockUnset: true}
	o.begin()
	fitted := ics.Fitted
	n := 0
	for s.inputs[n].in.Kind == spec.Fit {
		in := &s.inputs[n].in
		if o.do(*in).Outcome != spec.Accepted {
			return nil, false
		}
		fitted, _ = ics.Fit(fitted, in.FitOption, in.FitValue)
		n++
	}
	v.Fit = fits(fitted)
	o.do(s.inputs[n].in) // power
	n++
	v.Start = s.likelyStart()
	if !setByStep {
		if n == len(s.inputs) || s.inputs[n].in.Kind != spec.SetClock || s.inputs[n].wait > 0 {
			return nil, false
		}
		in := &s.inputs[n].in
		start, ok := localReading(in.Date, int(in.Minute))
		if !ok || o.do(*in).Outcome != spec.Accepted {
			return nil, false
		}
		v.Start, v.ClockUnset = start, false
		n++
	}
	for sig := range v.Initial {
		v.Initial[sig] = o.unit.Level(spec.Signal(sig))
	}
	from := len(o.changes)
	for i := n; i < len(s.inputs); i++ {
		o.wait(s.inputs[i].wait)
		v.Steps = append(v.Steps, suite.Step{At: o.unit.Now(), Do: line(ics, &s.inputs[i].in), Want: o.do(s.inputs[i].in).Outcome})
	}
	o.wait(s.end)
	v.Until = o.unit.Now()
	v.Trace = slices.Clone(o.changes[from:])
	for i := range v.Trace {
		v.Trace[i].Cause, v.Trace[i].Slot = spec.NoCause, 0
	}
	return v, true
}

// likelyStart returns an instant at which the clock that a story sets has always been right.
func (s *story) likelyStart() time.Time {
	at := uint64(0)
	for i := range s.inputs {
		t := &s.inputs[i]
		at += t.wait
		if t.in.Kind == spec.SetClock {
			if reading, ok := localReading(t.in.Date, int(t.in.Minute)); ok {
				v := suite.Vector{Start: reading.Add(-time.Duration(at) * time.Second).Truncate(time.Minute)}
				return v.At(0)
			}
		}
	}
	start, _ := localReading(spec.Date{Year: 2026, Month: 1, Day: 14}, 0)
	return start
}

// localReading returns the instant at which a clock in Europe/London first comes to show a reading, or false if none does.
func localReading(d spec.Date, minute int) (time.Time, bool) {
	if !calendar.Valid(int(d.Year), int(d.Month), int(d.Day)) || d.Year < spec.FirstYear || d.Year > spec.LastYear || minute >= spec.MinutesPerDay {
		return time.Time{}, false
	}
	reading := int64(calendar.Days(int(d.Year), int(d.Month), int(d.Day)))*calendar.Day + int64(minute)*calendar.Minute
	utc := reading - calendar.Hour
	if !calendar.SummerTime(utc) {
		if utc = reading; calendar.SummerTime(utc) {
			return time.Time{}, false
		}
	}
	v := suite.Vector{Start: time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(utc) * time.Second)}
	return v.At(0), true
}

// line words an input with the words of VECTORS.md for the unit's credential and others.
func line(ics *spec.ICS, in *spec.Input) string {
	text := string(wire.AppendInput(nil, *in))
	switch in.Kind {
	case spec.SetPeriod:
		if in.Table == spec.BothTables {
			return "raw " + text
		}
	case spec.LockArm, spec.LockRemove:
		right := ics.Credential
		if right == "" {
			right = "0000"
		}
		last := len(right) - 1
		word := in.Credential
		switch word {
		case right:
			word = "{credential}"
		case right[:last] + string('0'+(right[last]-'0'+1)%10):
			word = "{wrong}"
		case right[:last]:
			word = "{short}"
		}
		verb := wire.KindWord(in.Kind) + " "
		return verb + word + strings.TrimPrefix(text, verb+in.Credential)
	}
	return text
}

// fits returns everything that is fitted as inputs.
func fits(f spec.Fitted) []spec.Input {
	var list []spec.Input
	for o, value := range [...]uint8{
		spec.FitChannels: uint8(f.Channels), spec.FitCycle: uint8(f.Cycle), spec.FitTiming: uint8(f.Timing), spec.FitCoupling: uint8(f.Coupling),
	} {
		list = append(list, spec.Input{Kind: spec.Fit, FitOption: spec.FitOption(o), FitValue: value})
	}
	return list
}

// everything asks for a unit with all options of a statement.
func everything(ics *spec.ICS) (needs []suite.Need) {
	for _, name := range wire.OptionNames() {
		n := suite.Need{Option: name}
		value := wire.Option(*ics, name)
		switch name {
		case "periods", "boost-longest", "boost-step", "zone", "reserve":
			if _, err := fmt.Sscan(value, &n.Min); err != nil {
				continue
			}
			n.Max = n.Min
		default:
			if wire.OptionWords(name) == nil {
				continue // the credential, and what is tolerated
			}
			n.Words = []string{value}
		}
		needs = append(needs, n)
	}
	slices.SortFunc(needs, func(a, b suite.Need) int { return strings.Compare(a.Option, b.Option) })
	return needs
}

// File returns the finding as a vector file. What it asks of a unit is loosened as far as both models give the same trace on other units
// too; if they do not agree even on the unit it was found on, that is an error: it is then the models that are to be looked at.
func (f *Finding) File() ([]byte, error) {
	v := *f.Result.Vector
	if err := verify.Vector(&v); err != nil {
		return nil, fmt.Errorf("%s: the models do not agree on what the unit should have done, so nothing follows: %w", v.ID, err)
	}
	f.loosen(&v)
	data, err := encode(f.about(), &v)
	if err != nil {
		return nil, err
	}
	_, err = read(f.Name()+".json", data)
	return data, err
}

// loosen takes from a vector what it needs not ask of a unit. What is fitted at the back stays where the story changes it: it may be the very
// change that shows the cause, and on a unit that comes fitted so already it would be none.
func (f *Finding) loosen(v *suite.Vector) {
	holds := func() bool { return verify.Vector(v) == nil }
	changed := func(o spec.FitOption) bool {
		return slices.ContainsFunc(f.story.inputs, func(t timed) bool { return t.in.Kind == spec.Fit && t.in.FitOption == o })
	}
	needs, fit := v.Needs, v.Fit
	v.Needs, v.Fit = nil, slices.DeleteFunc(slices.Clone(fit), func(in spec.Input) bool { return !changed(in.FitOption) })
	if holds() {
		return
	}
	v.Needs, v.Fit = needs, fit
	for i := len(v.Needs) - 1; i >= 0; i-- {
		all := v.Needs
		if v.Needs = slices.Concat(all[:i], all[i+1:]); holds() {
			continue
		}
		v.Needs = all
		if n := &v.Needs[i]; n.Words == nil && n.Option != "zone" {
			exact := n.Max
			if n.Max = suite.NoBound; !holds() {
				n.Max = exact
			}
		}
	}
	for i := len(v.Fit) - 1; i >= 0; i-- {
		all := v.Fit
		if changed(all[i].FitOption) {
			continue
		}
		if v.Fit = slices.Concat(all[:i], all[i+1:]); !holds() {
			v.Fit = all
		}
	}
}

func (f *Finding) about() []string {
	found := "Found by 'hearthbench fuzz', shortened,"
	if f.explored {
		found = "Found by 'hearthbench explore', than which there is no shorter way within its bounds,"
	}
	return []string{
		found + " and confirmed on the unit. Its trace is the emulator's; the first clause is the one that the unit violates.",
		"Cause: " + f.Group + ".",
	}
}

// purpose words what should be.
func (f *Finding) purpose(v *suite.Vector) string {
	when := v.At(f.At).Format("2006-01-02 15:04:05")
	r := &f.Script[f.Request]
	switch {
	case f.Trouble != nil:
		return fmt.Sprintf("'%s' at %s is answered as ADAPTER.md says.", r.Append(nil), when)
	case f.isReply():
		want := spec.Accepted
		for _, s := range v.Steps {
			if s.At == f.At {
				want = s.Want
			}
		}
		return fmt.Sprintf("'%s' at %s is %s.", line(&f.ICS, &r.Input), when, wire.OutcomeWord(want))
	case f.Kind == runner.WrongOrder:
		return fmt.Sprintf("The changes of %s come in their order.", when)
	case f.Kind == runner.Unexpected:
		return fmt.Sprintf("At %s %s does not change.", when, signalWords[f.Signal])
	default:
		return fmt.Sprintf("At %s %s changes.", when, signalWords[f.Signal])
	}
}

var signalWords = [...]string{spec.SigHW: "the hot-water relay", spec.SigCH: "the heating relay", spec.SigAlert: "the alert", spec.SigSounder: "the sounder"}

// catches words what the unit did.
func (f *Finding) catches() string {
	switch {
	case f.Trouble != nil:
		return fmt.Sprintf("A unit that breaks the protocol there: %s.", f.Trouble.Kind)
	case f.isReply():
		return fmt.Sprintf("A unit that answers it with %s.", wire.OutcomeWord(f.Reply))
	case f.Kind == runner.WrongOrder:
		return "A unit that shows them in another order."
	case f.Kind == runner.Unexpected:
		return "A unit on which it changes then."
	case f.Kind == runner.Late:
		return "A unit on which it changes later."
	default:
		return "A unit on which it does not."
	}
}
