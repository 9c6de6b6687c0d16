package generate

import (
	"io/fs"
	"path"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

// The published files are what this program writes, to the byte, and there are no others.
func TestThePublishedFilesAreWhatIsGenerated(t *testing.T) {
	files, err := Files(vectors.Files)
	require.NoError(t, err)
	published, err := fs.Glob(vectors.Files, "generated/*.json")
	require.NoError(t, err)
	var names []string
	size := 0
	for _, f := range files {
		names = append(names, "generated/"+f.Name)
		size += len(f.Data)
		data, err := vectors.Files.ReadFile("generated/" + f.Name)
		require.NoError(t, err)
		if string(data) != string(f.Data) {
			t.Errorf("%s is not what is generated now; 'hearthbench vectors generate' writes it anew", f.Name)
		}
	}
	slices.Sort(names)
	assert.Equal(t, published, names)
	assert.Less(t, size, 3_600_000, "the set stays small enough to embed")
}

var load = sync.OnceValues(func() (*suite.Suite, error) { return suite.Load(vectors.Files) })

// inFile returns the published vectors of a generated file.
func inFile(t *testing.T, name string) []*suite.Vector {
	t.Helper()
	s, err := load()
	require.NoError(t, err)
	var list []*suite.Vector
	for _, v := range s.Vectors {
		if v.IsGenerated() && path.Base(v.File) == name {
			list = append(list, v)
		}
	}
	require.NotEmpty(t, list)
	return list
}

func machineNamed(t *testing.T, name string) *machine {
	t.Helper()
	all, err := machines()
	require.NoError(t, err)
	i := slices.IndexFunc(all, func(m *machine) bool { return m.name == name })
	require.GreaterOrEqual(t, i, 0)
	return all[i]
}

// What the guarantee says, tried on units: for every state, every input and every other state that shows the same, a unit that goes
// there by mistake fails a vector of the published file. Waits in these worlds depend on the reading and the power alone, in which the two
// states agree, so that each such unit has the states of the machine and no more. (For waits, the mistake would need a unit that
// knows when the bench has finished waiting.)
func TestAUnitThatGoesToAWrongStateFails(t *testing.T) {
	for _, name := range [...]string{"override", "holiday-refused", "gravity", "reset-unset", "autumn"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			m := machineNamed(t, name)
			var published []*suite.Bound
			for _, v := range inFile(t, name+".json") {
				b, err := v.Bind(&m.ics)
				require.NoError(t, err)
				published = append(published, b)
			}
			states := statesOf(t, m)
			tried := 0
			for from := range states.facts {
				for i := range m.letters {
					if m.letters[i].lines == nil {
						continue
					}
					to := states.next(from, i)
					for wrong := range states.facts {
						if wrong == to || !sameOutside(m, &states.facts[to], &states.facts[wrong]) {
							continue
						}
						tried++
						f := &lost{m: m, states: states, from: from, letter: i, to: wrong}
						if !f.caught(published) {
							t.Errorf("'%s' in '%s' may lead to '%s'", m.letters[i].name, states.names[from], states.names[wrong])
						}
					}
				}
			}
			assert.Greater(t, tried, 50)
		})
	}
}

// states are a machine's states, each with the facts of a unit that is in it.
type states struct {
	names []string
	facts []emulator.Facts
	of    map[emulator.Facts]int // by relative facts: several may be one state
	next  func(state, letter int) int
}

func statesOf(t *testing.T, m *machine) *states {
	t.Helper()
	a, err := m.explore()
	require.NoError(t, err)
	fm := a.Machine()
	begun, err := m.begin()
	require.NoError(t, err)
	begun.Advance(lead, nil)
	s := &states{names: newReader(a).names, of: map[emulator.Facts]int{}, next: func(state, letter int) int {
		_, to := fm.Step(state, letter)
		return to
	}}
	for _, w := range fm.StateCover() {
		at := session{m: m, u: begun}
		for _, i := range w {
			at.Step(m.letters[i].name)
		}
		s.facts = append(s.facts, at.u.Facts())
	}
	// Every key that the machine can come to, and the state it is.
	type arrival struct {
		at    session
		state int
	}
	queue := []arrival{{session{m: m, u: begun}, fm.Initial()}}
	s.of[m.relative(begun.Facts())] = fm.Initial()
	for ; len(queue) > 0; queue = queue[1:] {
		for i := range m.letters {
			at := queue[0].at
			at.Step(m.letters[i].name)
			key := m.relative(at.u.Facts())
			if _, known := s.of[key]; !known {
				to := s.next(queue[0].state, i)
				s.of[key] = to
				queue = append(queue, arrival{at, to})
			}
		}
	}
	return s
}

// sameOutside reports whether two states look alike, and waits in them are alike.
func sameOutside(m *machine, a, b *emulator.Facts) bool {
	clock := func(f *emulator.Facts) int64 {
		if !f.ClockSet {
			return -1
		}
		at, _ := m.clock(f)
		return at
	}
	return a.Shown == b.Shown && a.Powered == b.Powered && a.ReserveLeft == b.ReserveLeft && clock(a) == clock(b)
}

// lost is a unit that, in one state and on one letter, goes to a wrong state.
type lost struct {
	m      *machine
	states *states
	from   int
	letter int
	to     int

	u *emulator.Unit
}

func (l *lost) Level(s spec.Signal) spec.Level { return l.u.Level(s) }

func (l *lost) Advance(seconds uint64, changes []spec.Change) []spec.Change {
	return l.u.Advance(seconds, changes)
}

func (l *lost) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	inputs := l.m.lines[l.m.letters[l.letter].lines[0]]
	astray := in == inputs[len(inputs)-1]
	if astray {
		state, known := l.states.of[l.m.relative(l.u.Facts())]
		astray = known && state == l.from
	}
	r, changes := l.u.Do(in, changes)
	if astray {
		f := l.states.facts[l.to]
		now := l.u.Now()
		f.Stopped, f.Now = now, now
		if mine := l.u.Facts(); f.ClockSet && mine.ClockSet {
			f.UTC, f.Holiday.EndDate = mine.UTC, f.Holiday.EndDate+l.m.today(&mine)-l.m.today(&f)
		}
		l.u.Restore(&f)
	}
	return r, changes
}

// caught reports whether the unit fails one of the vectors.
func (l *lost) caught(published []*suite.Bound) bool {
	for _, b := range published {
		l.u = oracle.Emulator(l.m.ics).(*emulator.Unit)
		if departure(b, oracle.Play(b, b.Vector.Until, l)) != "" {
			return true
		}
	}
	return false
}

// A vector is published only if the second model gives its trace.
func TestFinishRefusesWhatTheSecondModelDoesNotShow(t *testing.T) {
	w, err := newWorld(wednesday+"07:00:00Z", nil, "table both every 07:00-09:00")
	require.NoError(t, err)
	record := func() *suite.Vector {
		tape, err := w.tape()
		require.NoError(t, err)
		tape.wait(3600)
		require.NoError(t, tape.do("override ch"))
		tape.wait(7200)
		v := tape.done(page(t))
		v.ID = "GEN/x-1"
		return v
	}
	require.NoError(t, finish(record(), &w.ics))
	late := record()
	late.Trace[1].At++
	require.EqualError(t, finish(late, &w.ics), "GEN/x-1: the second model does not agree with the emulator: change 2 is @7200 hw 0, not @7201 hw 0")
	refused := record()
	refused.Steps[0].Want = spec.Refused
	require.EqualError(t, finish(refused, &w.ics), "GEN/x-1: the second model does not agree with the emulator: step 1 is accepted, not refused")
	bright := record()
	bright.Initial[spec.SigHW] = 0
	require.EqualError(t, finish(bright, &w.ics), "GEN/x-1: the second model does not agree with the emulator: it begins with [1 1 0 0], not [0 1 0 0]")
	short := record()
	short.Trace = short.Trace[:1]
	require.EqualError(t, finish(short, &w.ics), "GEN/x-1: the second model does not agree with the emulator: it has 2 changes, not 1")
	unready := record()
	unready.Given = []string{"override ch", "holiday 0"}
	require.EqualError(t, finish(unready, &w.ics), "GEN/x-1: the second model does not agree with the emulator: given input 8 is not accepted")
}

func page(t *testing.T) *suite.Page {
	t.Helper()
	s, err := load()
	require.NoError(t, err)
	return s.Page
}
