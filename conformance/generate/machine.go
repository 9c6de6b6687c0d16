package generate

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/fsm"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// machine is a small closed world, its alphabet, and what its states are known by.
type machine struct {
	*world
	name  string
	about string // one sentence
	// letters are the alphabet: each is some lines of one second, or the wait.
	letters []letter
	// waits says how many seconds the wait takes; rule is the same in words.
	waits func(*emulator.Unit) uint64
	rule  string
	// clock says what of the clock matters, and words it. UTC counts from 2000-01-01.
	clock func(*emulator.Facts) (int64, string)
	extra int // states more than the machine's own that the suite allows a unit
}

// letter is one letter of an alphabet.
type letter struct {
	name  string
	lines []string // none: the wait
	apart uint64   // seconds between the lines
	// settles is for a letter whose last line may return power: if it does, a wait follows, or as many as take lead.
	settles bool
}

// lead is how long nothing is done, in seconds, after power has returned, at the start too.
const lead = calendar.Minute

// wait is the letter that lets time pass.
var wait = letter{name: "wait"}

// line is a letter of one line.
func line(text string) letter { return letter{name: text, lines: []string{text}} }

// maxStates is how many states a machine may have: more are no small world.
const maxStates = 400

// session is a unit in a machine's world, as package fsm explores it.
type session struct {
	m *machine
	u emulator.Unit
}

func (s *session) Clone() fsm.Session { c := *s; return &c }

// Key has the state in words first, and then everything that the unit remembers as far as it matters from here.
func (s *session) Key() string {
	f := s.u.Facts()
	return s.m.describe(&f) + "\x00" + fmt.Sprint(s.m.relative(f))
}

// inWords returns the words of a key.
func inWords(key string) string {
	words, _, _ := strings.Cut(key, "\x00")
	return words
}

// Step returns what a bench sees: the answers, each change and its second, and the levels at the end.
func (s *session) Step(input string) string {
	l := s.m.letter(input)
	began := s.u.Now()
	var changes []spec.Change
	var out strings.Builder
	if l.lines == nil {
		changes = s.u.Advance(s.m.waits(&s.u), changes)
	}
	dark := false
	for i, text := range l.lines {
		if i > 0 {
			changes = s.u.Advance(l.apart, changes)
		}
		dark = !s.u.Facts().Powered
		outcome, now, err := s.m.do(&s.u, text, changes)
		if err != nil {
			panic(fmt.Sprintf("machine %s: %v", s.m.name, err)) // its lines are constants
		}
		changes = now
		out.WriteString(wire.OutcomeWord(outcome) + " ")
	}
	for settled := s.u.Now() + lead; dark && l.settles && s.u.Now() < settled; {
		changes = s.u.Advance(s.m.waits(&s.u), changes)
	}
	for _, c := range changes {
		fmt.Fprintf(&out, "+%d %s %s ", c.At-began, wire.SignalWord(c.Signal), wire.LevelWord(c.Signal, c.Level))
	}
	for sig := range spec.Signal(spec.NumSignals) {
		fmt.Fprintf(&out, "%d", s.u.Level(sig))
	}
	return out.String()
}

func (m *machine) letter(name string) *letter {
	i := slices.IndexFunc(m.letters, func(l letter) bool { return l.name == name })
	return &m.letters[i]
}

// explore returns the machine's minimal state machine and the analysis of it.
func (m *machine) explore() (*fsm.Analysis, error) {
	begun, err := m.begin()
	if err != nil {
		return nil, err
	}
	begun.Advance(lead, nil)
	var names []string
	for _, l := range m.letters {
		names = append(names, l.name)
	}
	all, err := fsm.Explore(func() fsm.Session { return &session{m: m, u: begun} }, names, maxStates)
	if err != nil {
		return nil, err
	}
	return fsm.Analyse(all.Minimal())
}

// vectors returns the machine's suite as vectors, and what its file says of it.
func (m *machine) vectors(page *suite.Page) (about []string, list []*suite.Vector, err error) {
	a, err := m.explore()
	if err != nil {
		return nil, nil, err
	}
	s, err := a.HSIMethod(m.extra)
	if err != nil {
		return nil, nil, err
	}
	reader := newReader(a)
	for n, w := range s.Words() {
		t, err := m.tape()
		if err != nil {
			return nil, nil, err
		}
		t.wait(lead)
		for _, i := range w {
			if err := m.play(t, &m.letters[i]); err != nil {
				return nil, nil, err
			}
		}
		v := t.done(page)
		v.ID = fmt.Sprintf("GEN/%s-%d", m.name, n+1)
		v.Purpose, v.Catches = reader.explain(w)
		list = append(list, v)
	}
	return m.header(a, len(list)), list, nil
}

func (m *machine) play(t *tape, l *letter) error {
	if l.lines == nil {
		t.wait(m.waits(&t.u))
	}
	dark := false
	for i, text := range l.lines {
		if i > 0 && l.apart > 0 {
			t.wait(l.apart)
		}
		dark = !t.u.Facts().Powered
		if err := t.do(text); err != nil {
			return err
		}
	}
	for settled := t.u.Now() + lead; dark && l.settles && t.u.Now() < settled; {
		t.wait(m.waits(&t.u))
	}
	return nil
}

// header is what the machine's file says of it. Its last paragraph is package fsm's statement of what a suite guarantees.
func (m *machine) header(a *fsm.Analysis, vectors int) []string {
	fm := a.Machine()
	n := len(fm.StateNames())
	lines := []string{
		m.about,
		fmt.Sprintf("Alphabet: %s. A wait lasts %s.", strings.Join(fm.InputNames(), "; "), m.rule),
		fmt.Sprintf("Within it the clauses make a minimal machine of %s and %s. The suite of harmonized state identifiers for %s is these %d vectors.",
			count(n, "state"), count(n*len(m.letters), "transition"), count(m.extra, "extra state"), vectors),
		fmt.Sprintf("Guarantee: assume that `new` and what is given bring the unit to the same state each time, a minute later, that it is deterministic and answers every letter in every state, and that the unit, with waits as long as the clauses' state says, has at most %d states that the alphabet reaches and tells apart. "+
			"Then it passes all vectors of this file if and only if it answers every sequence over the alphabet, however long, as the clauses do. Nothing follows for inputs and waits outside the alphabet, nor for a unit for which some of these vectors are not applicable.", n+m.extra),
		"States: " + stateList(fm) + ".",
	}
	return lines
}

func stateList(fm *fsm.Machine) string {
	var names []string
	for _, key := range fm.StateNames() {
		names = append(names, inWords(key))
	}
	return strings.Join(names, " | ")
}

// reader says of a suite's words what they are for.
type reader struct {
	a     *fsm.Analysis
	fm    *fsm.Machine
	names []string
	cover []fsm.Word
}

func newReader(a *fsm.Analysis) *reader {
	r := &reader{a: a, fm: a.Machine(), cover: a.Machine().StateCover()}
	for _, key := range r.fm.StateNames() {
		r.names = append(r.names, inWords(key))
	}
	return r
}

// explain words a sequence: the transition that it tries, and which states what follows tells the transition's target from. Of a
// word that can be read in several ways it takes the one with the longest way there.
func (r *reader) explain(w fsm.Word) (purpose, catches string) {
	at := slices.MaxFunc(slices.Collect(r.coveredBy(w)), func(a, b int) int { return cmp.Compare(len(r.cover[a]), len(r.cover[b])) })
	way := len(r.cover[at])
	if way == len(w) { // a state to which no letter but its own cover leads further
		return fmt.Sprintf("Reaches '%s' by its shortest way.", r.names[at]), fmt.Sprintf("A unit that answers otherwise on its way to '%s'.", r.names[at])
	}
	_, to := r.fm.Step(at, w[way])
	rest := w[way+1:]
	others := r.toldApart(to, rest)
	name := r.fm.Names(w)[way]
	if len(others) == 0 {
		return fmt.Sprintf("'%s' in '%s' is answered, and shows, as it should.", name, r.names[at]), fmt.Sprintf("A unit that answers '%s' otherwise here.", name)
	}
	return fmt.Sprintf("'%s' in '%s' leads to '%s', which what follows tells from %s.", name, r.names[at], r.names[to], count(len(others), "other state")),
		fmt.Sprintf("A unit that is then in '%s', say.", r.names[r.nearest(to, others)])
}

// nearest returns, of some states, the one that takes most inputs to tell from a state: the mistake that hides best.
func (r *reader) nearest(to int, others []int) int {
	return slices.MaxFunc(others, func(a, b int) int {
		return cmp.Compare(len(r.a.Distinguish(to, a)), len(r.a.Distinguish(to, b)))
	})
}

func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// coveredBy yields the states whose cover begins a word.
func (r *reader) coveredBy(w fsm.Word) func(yield func(int) bool) {
	return func(yield func(int) bool) {
		for s, c := range r.cover {
			if len(c) <= len(w) && slices.Equal(c, w[:len(c)]) && !yield(s) {
				return
			}
		}
	}
}

// toldApart returns the states that answer a word otherwise than a state does.
func (r *reader) toldApart(state int, w fsm.Word) []int {
	want, _ := r.fm.Run(state, w)
	var others []int
	for s := range r.names {
		if got, _ := r.fm.Run(s, w); !slices.Equal(got, want) {
			others = append(others, s)
		}
	}
	return others
}
