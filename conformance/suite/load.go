package suite

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"reflect"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
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

// Load reads the published set from its folder (package vectors has it): BEHAVIOUR.md, hand/*.json and, if there are any, generated/*.json.
func Load(files fs.FS) (*Suite, error) {
	s, err := New(files)
	if err != nil {
		return nil, err
	}
	names, err := fs.Glob(files, "hand/*.json")
	if err != nil {
		return nil, err
	}
	if len(names) == 0 {
		return nil, errors.New("there are no vector files hand/*.json")
	}
	generated, err := fs.Glob(files, "generated/*.json")
	if err != nil {
		return nil, err
	}
	names = append(names, generated...)
	parsed := make([]parsedFile, len(names))
	errs := make([]error, len(names))
	var readers sync.WaitGroup
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, name := range names {
		free <- struct{}{}
		readers.Go(func() {
			defer func() { <-free }()
			var data []byte
			if data, errs[i] = fs.ReadFile(files, name); errs[i] == nil {
				parsed[i], errs[i] = s.parse(name, data)
			}
		})
	}
	readers.Wait()
	for i := range parsed {
		if errs[i] == nil {
			errs[i] = s.take(&parsed[i])
		}
	}
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	return s, nil
}

// Add reads one vector file and adds its vectors. It reports every unknown key, and of every vector the first thing that is wrong
// with it, each with line and column. With an error nothing is added.
func (s *Suite) Add(name string, data []byte) error {
	f, err := s.parse(name, data)
	if err != nil {
		return err
	}
	return s.take(&f)
}

// parsedFile is what a vector file holds.
type parsedFile struct {
	name    string
	data    []byte
	starts  []int // of the vectors
	vectors []*Vector
	errs    []error // of each vector, in whose place there then is none
	ids     []string
}

// take adds a file's vectors.
func (s *Suite) take(f *parsedFile) error {
	var errs faults
	seen := map[string]bool{}
	for i, v := range f.vectors {
		err := f.errs[i]
		switch {
		case err != nil:
		case seen[v.ID]:
			err = errors.New("another vector of this file has this id")
		case s.byID[v.ID] != nil:
			err = fmt.Errorf("a vector of %s has this id", s.byID[v.ID].File)
		}
		if err != nil {
			errs.add(fmt.Errorf("%s%s: vector %d (%s): %w", f.name, place(f.data, f.starts[i]+1), i+1, f.ids[i], err))
			continue
		}
		seen[v.ID] = true
	}
	if err := errs.err(); err != nil {
		return err
	}
	for _, v := range f.vectors {
		s.byID[v.ID] = v
	}
	s.Vectors = append(s.Vectors, f.vectors...)
	return nil
}

// parse reads a vector file, without regard to what the set holds. It may be called several times at once.
func (s *Suite) parse(name string, data []byte) (parsedFile, error) {
	var f fileJSON
	err := json.Unmarshal(data, &f)
	var syntax *json.SyntaxError
	switch {
	case errors.As(err, &syntax):
		return parsedFile{}, fmt.Errorf("%s%s: %w", name, place(data, int(syntax.Offset)), err)
	case f.Format != 1 && !isType(err, "format"):
		return parsedFile{}, fmt.Errorf("%s: format is %d; this program reads format 1", name, f.Format)
	}
	starts, errKeys := checkKeys(name, data)
	if errKeys != nil {
		return parsedFile{}, errKeys
	}
	if err != nil {
		return parsedFile{}, wrongType(name, data, err)
	}
	if len(f.Vectors) == 0 {
		return parsedFile{}, fmt.Errorf("%s: it holds no vectors", name)
	}
	if len(starts) != len(f.Vectors) {
		return parsedFile{}, fmt.Errorf("%s: a vector is an object, and null is none", name)
	}
	var lines lineChecker
	all := parsedFile{name: name, data: data, starts: starts, vectors: make([]*Vector, len(f.Vectors)), errs: make([]error, len(f.Vectors)), ids: make([]string, len(f.Vectors))}
	for i := range f.Vectors {
		v, err := s.read(&f.Vectors[i], &lines)
		if err == nil && v.Family() != f.Family {
			err = fmt.Errorf("it belongs in the file of family %s; this file's family is %q", v.Family(), f.Family)
		}
		all.ids[i], all.errs[i] = f.Vectors[i].ID, err
		if err == nil {
			v.File, v.About = path.Base(name), f.About
			all.vectors[i] = v
		}
	}
	return all, nil
}

// isType reports whether an error is of a value of a wrong type under a key.
func isType(err error, key string) bool {
	var kind *json.UnmarshalTypeError
	return errors.As(err, &kind) && (kind.Field == key || kind.Field == "")
}

// wrongType words an error that decoding valid JSON can bring, with line and column.
func wrongType(name string, data []byte, err error) error {
	var kind *json.UnmarshalTypeError
	if !errors.As(err, &kind) {
		return fmt.Errorf("%s: %w", name, err)
	}
	field := kind.Field
	if field == "" {
		field = "the file"
	}
	value, _, _ := strings.Cut(kind.Value, " ")
	return fmt.Errorf("%s%s: %s is a JSON %s; it should be %s", name, place(data, int(kind.Offset)), field, value, jsonKind(kind.Type))
}

// jsonKind says what JSON decodes into a type.
func jsonKind(t reflect.Type) string {
	switch t.Kind() {
	case reflect.String:
		return "a string"
	case reflect.Int:
		return "a whole number"
	case reflect.Slice:
		return "a list"
	case reflect.Pointer:
		return jsonKind(t.Elem())
	default:
		return "an object"
	}
}

// place says where in a text the byte with a number, counted from 1, stands, as ":line:column".
func place(text []byte, n int) string {
	before := text[:min(n, len(text))]
	return fmt.Sprintf(":%d:%d", bytes.Count(before, []byte("\n"))+1, max(1, len(before)-bytes.LastIndexByte(before, '\n')-1))
}

// faults gathers errors up to a number that somebody will read.
type faults struct {
	errs []error
	more int
}

const maxFaults = 20

func (f *faults) add(err error) {
	if len(f.errs) < maxFaults {
		f.errs = append(f.errs, err)
	} else {
		f.more++
	}
}

// err returns all of them as one error, nil if there are none.
func (f *faults) err() error {
	if f.more > 0 {
		return errors.Join(append(slices.Clone(f.errs), fmt.Errorf("and %d more", f.more))...)
	}
	return errors.Join(f.errs...)
}

type fileJSON struct {
	Format  int          `json:"format"`
	Family  string       `json:"family"`
	About   []string     `json:"about"`
	Vectors []vectorJSON `json:"vectors"`
}

type vectorJSON struct {
	ID         string                     `json:"id"`
	Clauses    []string                   `json:"clauses"`
	Purpose    string                     `json:"purpose"`
	Catches    string                     `json:"catches"`
	Derivation string                     `json:"derivation"`
	Kept       string                     `json:"kept"`
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
			f(spec.Signal(s), strconv.Itoa(*level))
		}
	}
	if l.Alert != nil {
		f(spec.SigAlert, *l.Alert)
	}
}

// read turns a vector of a file into a Vector.
func (s *Suite) read(j *vectorJSON, lines *lineChecker) (*Vector, error) {
	v := &Vector{
		ID: j.ID, Clauses: j.Clauses, Purpose: j.Purpose, Catches: j.Catches, Derivation: j.Derivation, Kept: j.Kept,
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
	if clause, _, ok := strings.Cut(j.ID, "/"); !ok || clause != j.Clauses[0] && clause != Generated {
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
	if year := v.Start.Year(); !v.ClockUnset && (year < spec.FirstYear || year > spec.LastYear) {
		return nil, fmt.Errorf("start: a clock can be set to dates from %d to %d only (CLK-4)", spec.FirstYear, spec.LastYear)
	}
	if err := checkOffset(v.Start); err != nil {
		return nil, fmt.Errorf("start: %w", err)
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
	if v.Until > wire.MaxGo {
		return nil, fmt.Errorf("until: it is more than %d seconds after the start", wire.MaxGo)
	}
	for i, line := range j.Given {
		if err := lines.check(line, true); err != nil {
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
		if err := lines.check(sj.Do, false); err != nil {
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
	t, err := time.Parse(time.RFC3339, text) // for which package time is quick
	// Parse takes fractions of a second, and 'Z', which the layout does not have.
	var room [len(instantLayout)]byte
	if err != nil || string(t.AppendFormat(room[:0], instantLayout)) != text {
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
	switch {
	case d < 0:
		return 0, fmt.Errorf("%s is before the start", text)
	case uint64(d/time.Second) < last:
		return 0, fmt.Errorf("%s is before the one above it", text)
	}
	return uint64(d / time.Second), checkOffset(t)
}

// checkOffset reports an instant whose offset is not that of the local time it is meant to show.
func checkOffset(t time.Time) error {
	if _, have := t.Zone(); have != localOffset(t) {
		return fmt.Errorf("%s should have the offset of Europe/London: %s", t.Format(instantLayout), local(t).Format(instantLayout))
	}
	return nil
}

func readFit(j map[string]string) ([]spec.Input, error) {
	for _, word := range slices.Sorted(maps.Keys(j)) {
		if _, err := wire.ParseFitOption(word); err != nil {
			return nil, err
		}
	}
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
	}
	return fits, nil
}

// readNeeds returns the needs in the order of their names.
func readNeeds(j map[string]json.RawMessage) ([]Need, error) {
	var needs []Need
	for _, option := range slices.Sorted(maps.Keys(j)) {
		n := Need{Option: option}
		raw := j[option]
		var err error
		switch {
		case option == "boost-minutes":
			err = n.readBoosts(raw)
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
	return needs, nil
}

func (n *Need) readBoosts(raw json.RawMessage) error {
	if err := json.Unmarshal(raw, &n.Boosts); err != nil || len(n.Boosts) == 0 ||
		slices.Min(n.Boosts) < 1 || slices.Max(n.Boosts) > spec.MaxBoostMinutes {
		return fmt.Errorf("it should be a list of minutes, each 1 to %d", spec.MaxBoostMinutes)
	}
	return nil
}

func (n *Need) readWords(raw json.RawMessage) error {
	var one string
	if json.Unmarshal(raw, &one) == nil {
		n.Words = []string{one}
	} else if err := json.Unmarshal(raw, &n.Words); err != nil || len(n.Words) == 0 {
		return errors.New("it should be a word or a list of words")
	}
	for _, w := range n.Words {
		if values := wire.OptionWords(n.Option); !slices.Contains(values, w) {
			return fmt.Errorf("%q is none of its values, which are %s", w, strings.Join(values, ", "))
		}
	}
	return nil
}

func (n *Need) readNumber(raw json.RawMessage) error {
	var exact *int
	var bounds struct{ Min, Max *int }
	if err := json.Unmarshal(raw, &exact); err == nil {
		bounds.Min, bounds.Max = exact, exact
	} else if err := json.Unmarshal(raw, &bounds); err != nil {
		bounds.Min, bounds.Max = nil, nil
	}
	if bounds.Min == nil && bounds.Max == nil {
		return errors.New("it should be a whole number, or an object with min, max or both")
	}
	n.Min, n.Max = unbounded.Min, unbounded.Max
	for _, b := range [...]struct{ given, bound *int }{{bounds.Min, &n.Min}, {bounds.Max, &n.Max}} {
		if b.given == nil {
			continue
		}
		ics := spec.FullICS()
		if err := wire.SetOption(&ics, n.Option, strconv.Itoa(*b.given)); err != nil {
			return err
		}
		*b.bound = *b.given
	}
	if n.Min > n.Max {
		return fmt.Errorf("its min of %d is more than its max of %d", n.Min, n.Max)
	}
	return nil
}

// NoBound is the Max of a need without an upper bound; -NoBound - 1 is the Min of one without a lower.
const NoBound = 1<<31 - 1

// unbounded is a need that every number meets.
var unbounded = Need{Min: -NoBound - 1, Max: NoBound}
