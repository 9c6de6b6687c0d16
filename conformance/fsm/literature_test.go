package fsm

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// plenty is a limit that no machine here comes near.
const plenty = 10_000

// gill is the five-state machine of A. P. Mathur, Foundations of Software Testing, chapter on test generation from
// finite-state models, there after A. Gill, Introduction to the Theory of Finite-State Machines, 1962 (from memory).
func gill(t testing.TB) *Machine {
	return build(t,
		"q1: a/0 q1, b/1 q4",
		"q2: a/0 q1, b/1 q5",
		"q3: a/0 q5, b/1 q1",
		"q4: a/1 q3, b/1 q4",
		"q5: a/1 q2, b/1 q5")
}

// The transition cover and W are the book's (from memory).
func TestGillTransitionCoverAndW(t *testing.T) {
	m := gill(t)
	assert.Equal(t, []string{"-", "b", "ba", "baa", "baaa"}, words(m, []Word{
		m.StateCover()[state(t, m, "q1")], m.StateCover()[state(t, m, "q4")], m.StateCover()[state(t, m, "q3")],
		m.StateCover()[state(t, m, "q5")], m.StateCover()[state(t, m, "q2")]}))
	assert.Equal(t, []string{"-", "a", "b", "ba", "bb", "baa", "bab", "baaa", "baab", "baaaa", "baaab"}, words(m, m.TransitionCover()))

	assert.True(t, m.Characterizes(read(t, m, "a", "aa", "aaa", "baaa")))
	assert.True(t, m.Characterizes(read(t, m, "aaa", "baaa")), "a word shows all that its prefixes do")
	assert.False(t, m.Characterizes(read(t, m, "aaa")), "q1 and q2 both answer 000")
	assert.False(t, m.Characterizes(read(t, m, "baaa")), "q1 and q4 both answer 1101")
	assert.False(t, m.Characterizes(nil))
}

// Derived by hand from the table. q1 and q2 go to q1 on a with one output, so only b can part them; it takes them to q4 and q5,
// which only aaa parts: four inputs, the most that five states can need.
func TestGillDistinguish(t *testing.T) {
	m := gill(t)
	a, err := Analyse(m)
	require.NoError(t, err)
	for pair, want := range map[[2]string]string{
		{"q1", "q2"}: "baaa", {"q1", "q3"}: "aa", {"q2", "q3"}: "aa", {"q4", "q5"}: "aaa",
		{"q1", "q4"}: "a", {"q1", "q5"}: "a", {"q2", "q4"}: "a", {"q2", "q5"}: "a", {"q3", "q4"}: "a", {"q3", "q5"}: "a",
	} {
		s, u := state(t, m, pair[0]), state(t, m, pair[1])
		assert.Equal(t, want, spell(m, a.Distinguish(s, u)), "%v", pair)
		assert.Equal(t, want, spell(m, a.Distinguish(u, s)), "%v", pair)
	}
	assert.Nil(t, a.Distinguish(0, 0))
}

// Derived by hand: aa parts {q1 q2} {q3} {q4 q5}; baaa parts q1 from q2 and q4 from q5, and aa alone or baaa alone does not do.
// In the identifiers q3 is told from all others by aa, and the others need all of baaa.
func TestGillOwnWAndIdentifiers(t *testing.T) {
	m := gill(t)
	a, err := Analyse(m)
	require.NoError(t, err)
	assert.Equal(t, []string{"aa", "baaa"}, words(m, a.W()))
	for name, want := range map[string][]string{
		"q1": {"aa", "baaa"}, "q2": {"aa", "baaa"}, "q3": {"aa"}, "q4": {"a", "baaa"}, "q5": {"a", "baaa"},
	} {
		assert.Equal(t, want, words(m, a.Identifiers()[state(t, m, name)]), name)
	}
}

// Derived by hand: a merges q1 with q2, and b merges q1 with q4 and q2 with q5, each without a difference, so that no input may
// come first in a distinguishing sequence, and none in a UIO sequence of q1 or q2.
func TestGillHasNoDistinguishingSequence(t *testing.T) {
	m := gill(t)
	_, found, err := m.Preset(plenty)
	require.NoError(t, err)
	assert.False(t, found)
	_, found = m.Adaptive()
	assert.False(t, found)
	for name, want := range map[string]string{"q1": "", "q2": "", "q3": "aa", "q4": "aaa", "q5": "aaa"} {
		w, found, err := m.Unique(state(t, m, name), plenty)
		require.NoError(t, err)
		assert.Equal(t, want != "", found, name)
		if found {
			assert.Equal(t, want, spell(m, w), name)
		}
	}
}

// cycle3 is the three-state machine on which D. Lee and M. Yannakakis, 1996, explain distinguishing sequences (figure 1, from
// memory; there s2 and s3 have each other's names), and M. Krichen in "State Identification", Lecture Notes in Computer
// Science 3472, 2005 (machine M5, figure 2.6: the text and table 2.1 there fix all of it but whether a keeps s1 and s2 or
// exchanges them).
func cycle3(t testing.TB) *Machine {
	return build(t,
		"s1: a/0 s1, b/1 s3",
		"s2: a/0 s2, b/0 s1",
		"s3: a/1 s3, b/1 s2")
}

// Krichen's table 2.1: ab is a preset distinguishing sequence, with the responses 01, 00 and 11; and his trace of it: {s1 s2 s3}
// goes on a to {s1 s2} with 0 and {s3} with 1, and on b to {s3} with 01, {s1} with 00 and {s2} with 11.
func TestCycle3PresetDistinguishingSequence(t *testing.T) {
	m := cycle3(t)
	w, found, err := m.Preset(plenty)
	require.NoError(t, err)
	require.True(t, found)
	assert.Equal(t, "ab", spell(m, w))
	ends := map[string]string{}
	for _, s := range []string{"s1", "s2", "s3"} {
		_, last := m.Run(state(t, m, s), w)
		ends[answers(t, m, s, "ab")] = m.StateNames()[last]
	}
	assert.Equal(t, map[string]string{"01": "s3", "00": "s1", "11": "s2"}, ends)
	assert.Equal(t, []string{"01", "00", "11"}, []string{answers(t, m, "s1", "ab"), answers(t, m, "s2", "ab"), answers(t, m, "s3", "ab")})
}

// Derived by hand: on a only s3 answers 1, and on b only s2 answers 0; s1 shares its answer to either with one other.
func TestCycle3UniqueAndAdaptive(t *testing.T) {
	m := cycle3(t)
	for name, want := range map[string]string{"s1": "ab", "s2": "b", "s3": "a"} {
		w, found, err := m.Unique(state(t, m, name), plenty)
		require.NoError(t, err)
		require.True(t, found, name)
		assert.Equal(t, want, spell(m, w), name)
	}
	adaptive, found := m.Adaptive()
	require.True(t, found)
	assert.Equal(t, 2, adaptive.Depth())
	identifiesAll(t, m, adaptive)
}

// The suites are derived by hand. W is {a, b}; the transition cover is -, a, b, ba, bb, bba, bbb. The identifier of s3 is {a},
// as a tells it from both others; s1 and s2 need both words. The methods apply to s3 after b and ba only, so that all they save is
// bab.
func TestCycle3Suites(t *testing.T) {
	m := cycle3(t)
	a, err := Analyse(m)
	require.NoError(t, err)
	assert.Equal(t, []string{"a", "b"}, words(m, a.W()))
	assert.Equal(t, []string{"a", "b"}, words(m, a.Identifiers()[state(t, m, "s1")]))
	assert.Equal(t, []string{"a", "b"}, words(m, a.Identifiers()[state(t, m, "s2")]))
	assert.Equal(t, []string{"a"}, words(m, a.Identifiers()[state(t, m, "s3")]))

	w, err := a.WMethod(0)
	require.NoError(t, err)
	assert.Equal(t, []string{"aa", "ab", "baa", "bab", "bbaa", "bbab", "bbba", "bbbb"}, words(m, w.Words()))
	assert.Equal(t, 8, w.Len())
	assert.Equal(t, 26, w.Length())

	hsi, err := a.HSIMethod(0)
	require.NoError(t, err)
	assert.Equal(t, []string{"aa", "ab", "baa", "bbaa", "bbab", "bbba", "bbbb"}, words(m, hsi.Words()))
	assert.Equal(t, 23, hsi.Length())

	inputs, outputs := hsi.Test(6)
	assert.Equal(t, []string{"b", "b", "b", "b"}, inputs)
	assert.Equal(t, []string{"1", "1", "0", "1"}, outputs)
}

// Machine M4 of M. Krichen, "State Identification", Lecture Notes in Computer Science 3472, 2005, section 2.2, as far as its text
// tells: a alternates between {s1 s2} with output 0 and {s3 s4}, b merges s1 and s2 into s1 with output 0 and tells s3 from s4. So
// there is no preset distinguishing sequence, but an adaptive one: a; after 0, b; after 1, a and b. The text leaves open where
// b leads from s3 and s4, and which of them answers 1; that is chosen here.
func TestAdaptiveWithoutPreset(t *testing.T) {
	m := build(t,
		"s1: a/0 s3, b/0 s1",
		"s2: a/0 s4, b/0 s1",
		"s3: a/1 s1, b/0 s4",
		"s4: a/1 s2, b/1 s3")
	_, found, err := m.Preset(plenty)
	require.NoError(t, err)
	assert.False(t, found)

	adaptive, found := m.Adaptive()
	require.True(t, found)
	leaf := func(name string) *Adaptive { return &Adaptive{State: state(t, m, name)} }
	const a, b = 0, 1 // the inputs
	const o0, o1 = 0, 1
	assert.Equal(t, &Adaptive{State: -1, Input: a, Next: map[int]*Adaptive{
		o0: {State: -1, Input: b, Next: map[int]*Adaptive{o0: leaf("s1"), o1: leaf("s2")}},
		o1: {State: -1, Input: a, Next: map[int]*Adaptive{
			o0: {State: -1, Input: b, Next: map[int]*Adaptive{o0: leaf("s3"), o1: leaf("s4")}},
		}},
	}}, adaptive)
	assert.Equal(t, 3, adaptive.Depth())
	identifiesAll(t, m, adaptive)
	_, ok := adaptive.Identify(func(int) int { return 7 })
	assert.False(t, ok, "no state answers 7")
}

// Machine M1 of Z. Kohavi, Switching and Finite Automata Theory, chapter 13 (from memory, and so in J. W. Lockwood's lecture notes
// on state identification, Washington University, 2006). Derived by hand: 0 takes C and D to D with one output, so that no
// distinguishing sequence may begin with 0, nor a UIO sequence of C or D; 1 only permutes the states with one output, so that
// none may begin with 1 either, and a UIO sequence that begins with 1 goes on with one of the next state.
func TestKohavi(t *testing.T) {
	m := build(t,
		"A: 0/0 B, 1/0 D",
		"B: 0/0 A, 1/0 B",
		"C: 0/1 D, 1/0 A",
		"D: 0/1 D, 1/0 C")
	_, found, err := m.Preset(plenty)
	require.NoError(t, err)
	assert.False(t, found)
	_, found = m.Adaptive()
	assert.False(t, found)
	for name, want := range map[string]string{"A": "010", "B": "010", "C": "1010", "D": "11010"} {
		w, found, err := m.Unique(state(t, m, name), plenty)
		require.NoError(t, err)
		require.True(t, found, name)
		assert.Equal(t, want, spell(m, w), name)
	}
	a, err := Analyse(m)
	require.NoError(t, err)
	assert.Equal(t, []string{"0", "10"}, words(m, a.W()))
}

// Each state alone answers one input with 1, but that input merges the two others: all have UIO sequences, and there is no
// distinguishing sequence of any kind. (The machine is made for this; that it can be so is in D. Lee and M. Yannakakis, 1996.)
func TestUniqueWithoutAdaptive(t *testing.T) {
	m := build(t,
		"1: a/1 2, b/0 1, c/0 1",
		"2: a/0 3, b/1 1, c/0 1",
		"3: a/0 3, b/0 1, c/1 1")
	_, found := m.Adaptive()
	assert.False(t, found)
	for name, want := range map[string]string{"1": "a", "2": "b", "3": "c"} {
		w, found, err := m.Unique(state(t, m, name), plenty)
		require.NoError(t, err)
		require.True(t, found)
		assert.Equal(t, want, spell(m, w))
	}
}

func identifiesAll(t require.TestingT, m *Machine, a *Adaptive) {
	for s := range m.StateNames() {
		at := s
		got, ok := a.Identify(func(input int) (output int) {
			output, at = m.Step(at, input)
			return output
		})
		require.True(t, ok)
		require.Equal(t, s, got)
	}
}

func TestSearchesRefuse(t *testing.T) {
	m := gill(t)
	_, _, err := m.Preset(0)
	assert.EqualError(t, err, "a limit of 0 sets of states: give at least 1")
	_, _, err = m.Unique(0, -1)
	assert.EqualError(t, err, "a limit of -1 sets of states: give at least 1")
	_, _, err = m.Unique(state(t, m, "q4"), 3) // it looks at the sets after -, a, aa and ab before aaa
	assert.EqualError(t, err, "no answer within 3 sets of states, with words of up to 2 inputs: raise the limit")
	w, found, err := m.Unique(state(t, m, "q4"), 4)
	require.NoError(t, err)
	require.True(t, found)
	assert.Equal(t, "aaa", spell(m, w))
}

func TestOneState(t *testing.T) {
	m := build(t, "s: a/0 s, b/1 s")
	w, found, err := m.Preset(1)
	require.NoError(t, err)
	assert.True(t, found)
	assert.Empty(t, w)
	w, found, err = m.Unique(0, 1)
	require.NoError(t, err)
	assert.True(t, found)
	assert.Empty(t, w)
	adaptive, found := m.Adaptive()
	assert.True(t, found)
	assert.Equal(t, &Adaptive{State: 0}, adaptive)
	a, err := Analyse(m)
	require.NoError(t, err)
	assert.Empty(t, a.W())
	suite, err := a.HSIMethod(1)
	require.NoError(t, err)
	assert.Equal(t, []string{"aa", "ab", "ba", "bb"}, words(m, suite.Words()))
}
