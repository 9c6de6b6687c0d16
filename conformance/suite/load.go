package suite

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"
	"time"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Suite is a set of vectors together with the page they test.
type Suite struct {
	Page    *Page
	Vectors []*Vector
	byID    map[string]*Vector
}

// Vector returns the vector with the id, or nil.
func (s *Suite) Vector(id string) *Vector { return s.byID[id] }

// New returns a set without vectors for the clauses of BEHAVIOUR.md, which is read from the published folder.
func New(files fs.FS) (*Suite, error) {
	text, err := fs.ReadFile(files, "BEHAVIOUR.md")
	if err != nil {
		return nil, err
	}
	page, err := ReadPage(string(text))
	if err != nil {
		return nil, fmt.Errorf("BEHAVIOUR.md: %w", err)
	}
	return &Suite{Page: page, byID: map[string]*Vector{}}, nil
}

// Load reads the published set from its folder (package vectors has it): BEHAVIOUR.md and hand/*.json.
func Load(files fs.FS) (*Suite, error) {
	s, err := New(files)
	if err != nil {
		return nil, err
	}
	names, err := fs.Glob(files, "hand/*.json")
	if err != nil {
		return nil, err
	}
	var errs []error
	for _, name := range names {
		data, err := fs.ReadFile(files, name)
		if err != nil {
			return nil, err
		}
		errs = append(errs, s.Add(name, data))
	}
	return s, errors.Join(errs...)
}

// Add reads one vector file and adds its vectors. It reports everything that is wrong with it: with the line for JSON that cannot be
// read, and with the vector and the place in it for what cannot be meant. With an error nothing is added.
func (s *Suite) Add(name string, data []byte) error {
	var f fileJSON
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(&f); err != nil {
		return fmt.Errorf("%s%s: %w", name, place(data, d, err), err)
	}
	if _, err := d.Token(); err != io.EOF {
		return fmt.Errorf("%s%s: there is more after the file's object", name, place(data, d, nil))
	}
	if f.Format != 1 {
		return fmt.Errorf("%s: format is %d; this program reads format 1", name, f.Format)
	}
	if len(f.Vectors) == 0 {
		return fmt.Errorf("%s: it holds no vectors", name)
	}
	var errs []error
	seen := map[string]bool{}
	vectors := make([]*Vector, 0, len(f.Vectors))
	for i := range f.Vectors {
		v, err := s.read(&f.Vectors[i])
		if err == nil && (seen[v.ID] || s.byID[v.ID] != nil) {
			err = errors.New("another vector has this id")
		}
		if err == nil && FamilyOf(v.Clauses[0]) != f.Family {
			err = fmt.Errorf("it stands in the file of family %s", f.Family)
		}
		if err != nil {
			errs = append(errs, fmt.Errorf("%s: vector %d (%s): %w", name, i+1, f.Vectors[i].ID, err))
			continue
		}
		v.File = path.Base(name)
		seen[v.ID] = true
		vectors = append(vectors, v)
	}
	if len(errs) > 0 {
		return errors.Join(errs...)
	}
	for _, v := range vectors {
		s.byID[v.ID] = v
	}
	s.Vectors = append(s.Vectors, vectors...)
	return nil
}

// place says where in the data decoding stopped, as ":line:column".
func place(data []byte, d *json.Decoder, err error) string {
	offset := d.InputOffset()
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		offset = syntax.Offset
	case errors.As(err, &kind):
		offset = kind.Offset
	}
	before := data[:min(int(offset), len(data))]
	return fmt.Sprintf(":%d:%d", bytes.Count(before, []byte("\n"))+1, len(before)-bytes.LastIndexByte(before, '\n'))
}

type fileJSON struct {
	Format  int          `json:"format"`
	Family  string       `json:"family"`
	Vectors []vectorJSON `json:"vectors"`
}

type vectorJSON struct {
	ID         string                     `json:"id"`
	Clauses    []string                   `json:"clauses"`
	Purpose    string                     `json:"purpose"`
	Catches    string                     `json:"catches"`
	Derivation string                     `json:"derivation"`
	Needs      map[string]json.RawMessage `json:"needs"`
	Fit        map[string]string          `json:"fit"`
	Start      string                     `json:"start"`
	Clock      string                     `json:"clock"`
	Given      []string                   `json:"given"`
	Steps      []stepJSON                 `json:"steps"`
	Until      string                     `json:"until"`
	Initial    levelsJSON                 `json:"initial"`
	Trace      []changeJSON               `json:"trace"`
}

type stepJSON struct {
	At    string `json:"at"`
	Do    string `json:"do"`
	Reply string `json:"reply"`
}

type levelsJSON struct {
	HW      *int    `json:"hw"`
	CH      *int    `json:"ch"`
	Alert   *string `json:"alert"`
	Sounder *int    `json:"sounder"`
}

type changeJSON struct {
	At string `json:"at"`
	By string `json:"by"`
	levelsJSON
}

// each calls f for every level that is stated.
func (l *levelsJSON) each(f func(spec.Signal, string)) {
	for s, level := range [...]*int{spec.SigHW: l.HW, spec.SigCH: l.CH, spec.SigSounder: l.Sounder} {
		if level != nil {
			f(spec.Signal(s), fmt.Sprint(*level))
		}
	}
	if l.Alert != nil {
		f(spec.SigAlert, *l.Alert)
	}
}

// read turns a vector of a file into a Vector.
func (s *Suite) read(j *vectorJSON) (*Vector, error) {
	v := &Vector{
		ID: j.ID, Clauses: j.Clauses, Purpose: j.Purpose, Catches: j.Catches, Derivation: j.Derivation,
		ClockUnset: j.Clock == "unset", Given: j.Given,
	}
	if len(j.Clauses) == 0 {
		return nil, errors.New("it names no clauses")
	}
	for _, id := range j.Clauses {
		if s.Page.Clause(id) == nil {
			return nil, fmt.Errorf("clause %s is not in BEHAVIOUR.md", id)
		}
	}
	if clause, _, ok := strings.Cut(j.ID, "/"); !ok || clause != j.Clauses[0] {
		return nil, fmt.Errorf("the id should begin with its first clause: %s/…", j.Clauses[0])
	}
	if j.Purpose == "" || j.Catches == "" {
		return nil, errors.New("purpose and catches are needed")
	}
	if j.Clock != "" && j.Clock != "unset" {
		return nil, fmt.Errorf("clock is %q; it can only be \"unset\"", j.Clock)
	}
	var err error
	if v.Start, err = instant(j.Start); err != nil {
		return nil, fmt.Errorf("start: %w", err)
	}
	if v.Start.Second() != 0 {
		return nil, errors.New("start: its seconds should be 00, since that is what setting the clock makes them")
	}
	if v.Needs, err = readNeeds(j.Needs); err != nil {
		return nil, fmt.Errorf("needs: %w", err)
	}
	if v.Fit, err = readFit(j.Fit); err != nil {
		return nil, fmt.Errorf("fit: %w", err)
	}
	if v.Until, err = v.second(j.Until, 0); err != nil {
		return nil, fmt.Errorf("until: %w", err)
	}
	for i, line := range j.Given {
		if err := checkLine(line, true); err != nil {
			return nil, fmt.Errorf("given %d: %w", i+1, err)
		}
	}
	last := uint64(0)
	for i, sj := range j.Steps {
		step := Step{Do: sj.Do}
		if step.At, err = v.second(sj.At, last); err != nil {
			return nil, fmt.Errorf("step %d: %w", i+1, err)
		}
		last = step.At
		if sj.Reply != "" {
			if step.Want, err = wire.ParseOutcome(sj.Reply); err != nil {
				return nil, fmt.Errorf("step %d: %w", i+1, err)
			}
		}
		if err := checkLine(sj.Do, false); err != nil {
			return nil, fmt.Errorf("step %d: %w", i+1, err)
		}
		v.Steps = append(v.Steps, step)
	}
	if last > v.Until {
		return nil, errors.New("until: it is before the last step")
	}
	j.Initial.each(func(sig spec.Signal, word string) {
		var e error
		if v.Initial[sig], e = wire.ParseLevel(sig, word); e != nil {
			err = errors.Join(err, fmt.Errorf("initial: %w", e))
		}
	})
	if err != nil {
		return nil, err
	}
	last = 0
	for i := range j.Trace {
		c, err := v.readChange(&j.Trace[i], last)
		if err != nil {
			return nil, fmt.Errorf("trace entry %d: %w", i+1, err)
		}
		last = c.At
		v.Trace = append(v.Trace, c)
	}
	if last > v.Until {
		return nil, errors.New("until: it is before the last change")
	}
	return v, v.checkTrace()
}

func (v *Vector) readChange(j *changeJSON, last uint64) (c spec.Change, err error) {
	if c.At, err = v.second(j.At, last); err != nil {
		return c, err
	}
	if c.By, err = clauseByID(j.By); err != nil {
		return c, err
	}
	n := 0
	j.each(func(sig spec.Signal, word string) {
		n++
		c.Signal = sig
		var e error
		if c.Level, e = wire.ParseLevel(sig, word); e != nil {
			err = errors.Join(err, e)
		}
	})
	if n != 1 {
		return c, fmt.Errorf("it has %d signals; each entry has one", n)
	}
	return c, err
}

// checkTrace reports a change that changes nothing.
func (v *Vector) checkTrace() error {
	level := v.Initial
	for i, c := range v.Trace {
		if level[c.Signal] == c.Level {
			return fmt.Errorf("trace entry %d: %s is %s already", i+1, wire.SignalWord(c.Signal), wire.LevelWord(c.Signal, c.Level))
		}
		level[c.Signal] = c.Level
	}
	return nil
}

// clauseByID finds a clause that can be a level's reason.
func clauseByID(id string) (spec.Clause, error) {
	for c := spec.Clause(1); c < spec.NumClauses; c++ {
		if c.String() == id {
			return c, nil
		}
	}
	return spec.NoClause, fmt.Errorf("by: clause %q settles no level; see 'The formula' in BEHAVIOUR.md", id)
}

const instantLayout = "2006-01-02T15:04:05-07:00"

func instant(text string) (time.Time, error) {
	t, err := time.Parse(instantLayout, text)
	if err != nil {
		return t, fmt.Errorf("%q is not an instant such as 2026-01-14T06:30:00+00:00", text)
	}
	return t, nil
}

// second returns the second of the vector at an instant that is not before another second.
func (v *Vector) second(text string, last uint64) (uint64, error) {
	t, err := instant(text)
	if err != nil {
		return 0, err
	}
	d := t.Sub(v.Start)
	if d < 0 || uint64(d/time.Second) < last {
		return 0, fmt.Errorf("%s is before what comes before it", text)
	}
	return uint64(d / time.Second), nil
}

func readFit(j map[string]string) ([]spec.Input, error) {
	var fits []spec.Input
	for o := spec.FitChannels; o <= spec.FitCoupling; o++ {
		word, ok := j[wire.FitOptionWord(o)]
		if !ok {
			continue
		}
		value, err := wire.ParseFitValue(o, word)
		if err != nil {
			return nil, err
		}
		fits = append(fits, spec.Input{Kind: spec.Fit, FitOption: o, FitValue: value})
		delete(j, wire.FitOptionWord(o))
	}
	for word := range j {
		return nil, fmt.Errorf("%q cannot be fitted", word)
	}
	return fits, nil
}

func readNeeds(j map[string]json.RawMessage) ([]Need, error) {
	var needs []Need
	for option, raw := range j {
		n := Need{Option: option}
		var err error
		switch {
		case option == "boost-minutes":
			err = json.Unmarshal(raw, &n.Boosts)
			if err == nil && (len(n.Boosts) == 0 || slices.Min(n.Boosts) < 1) {
				err = errors.New("it should list minutes, each at least 1")
			}
		case wire.OptionWords(option) != nil:
			err = n.readWords(raw)
		case slices.Contains([]string{"periods", "boost-longest", "boost-step", "zone", "reserve"}, option):
			err = n.readNumber(raw)
		default:
			err = errors.New("no such option")
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", option, err)
		}
		needs = append(needs, n)
	}
	slices.SortFunc(needs, func(a, b Need) int { return strings.Compare(a.Option, b.Option) })
	return needs, nil
}

func (n *Need) readWords(raw json.RawMessage) error {
	var one string
	if json.Unmarshal(raw, &one) == nil {
		n.Words = []string{one}
	} else if err := json.Unmarshal(raw, &n.Words); err != nil || len(n.Words) == 0 {
		return errors.New("it should be a word or a list of words")
	}
	for _, w := range n.Words {
		if !slices.Contains(wire.OptionWords(n.Option), w) {
			return fmt.Errorf("%q is none of its values", w)
		}
	}
	return nil
}

func (n *Need) readNumber(raw json.RawMessage) error {
	var exact int
	if json.Unmarshal(raw, &exact) == nil {
		n.Min, n.Max = exact, exact
		return nil
	}
	var bounds struct{ Min, Max *int }
	if err := json.Unmarshal(raw, &bounds); err != nil {
		return errors.New("it should be a number, or an object with min, max or both")
	}
	n.Min, n.Max = -1<<31, 1<<31-1
	if bounds.Min != nil {
		n.Min = *bounds.Min
	}
	if bounds.Max != nil {
		n.Max = *bounds.Max
	}
	return nil
}
