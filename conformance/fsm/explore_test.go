package fsm

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// counter counts presses of "up" to a limit and down to 0, and keys itself as its key function says.
type counter struct {
	n, most int
	key     func(n int) string
}

func (c *counter) Step(input string) string {
	switch {
	case input == "up" && c.n < c.most:
		c.n++
	case input == "down" && c.n > 0:
		c.n--
	default:
		return "refused"
	}
	return "accepted"
}

func (c *counter) Key() string { return c.key(c.n) }

func (c *counter) Clone() Session {
	other := *c
	return &other
}

func newCounter(most int, key func(n int) string) func() Session {
	return func() Session { return &counter{most: most, key: key} }
}

func exact(n int) string { return fmt.Sprint(n) }

func TestExplore(t *testing.T) {
	m, err := Explore(newCounter(2, exact), []string{"up", "down"}, 3)
	require.NoError(t, err)
	assert.Equal(t, []string{"0", "1", "2"}, m.StateNames())
	assert.Equal(t, []string{"up", "down"}, m.InputNames())
	assert.Equal(t, []string{"accepted", "refused"}, m.OutputNames())
	different, err := m.Compare(build(t,
		"0: up/accepted 1, down/refused 0",
		"1: up/accepted 2, down/accepted 0",
		"2: up/refused 2, down/accepted 1"))
	require.NoError(t, err)
	assert.Nil(t, different)
}

func TestExploreRefuses(t *testing.T) {
	inputs := []string{"up", "down"}
	flips := 0
	for name, c := range map[string]struct {
		reset  func() Session
		inputs []string
		limit  int
		want   string
	}{
		"no reset":     {nil, inputs, 9, "there is no reset function to begin from"},
		"no limit":     {newCounter(2, exact), inputs, 0, "a limit of 0 states: give at least 1"},
		"no inputs":    {newCounter(2, exact), nil, 9, "there is no input"},
		"inputs alike": {newCounter(2, exact), []string{"up", "up"}, 9, `inputs 0 and 1 are both named "up"`},
		"limit passed": {newCounter(3, exact), inputs, 3,
			`more than 3 states: inputs ["up" "up" "up"] lead to one more, with the key "3": raise the limit, or leave out of the key what does not matter`},
		"reset at random": {func() Session {
			flips++
			return &counter{n: flips, most: 9, key: exact}
		}, inputs, 9, `reset leads to the key "1" and then to "2"`},
		// With 1 and 2 under one key, up leads from it to itself, but from 2 it is refused.
		"coarse key": {newCounter(2, func(n int) string { return fmt.Sprint(n > 0) }), inputs, 9,
			`the key "true" hides a difference: on input "up", it gives "accepted" and goes to "true" after inputs ["up"], but "refused" and "true" after ["up" "up"]: put into the key what differs`},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Explore(c.reset, c.inputs, c.limit)
			assert.ErrorContains(t, err, c.want)
		})
	}
}

// walker is a machine as a black box.
type walker struct {
	m     *Machine
	state int
}

func (w *walker) Step(input string) string {
	in, err := w.m.Word(input)
	if err != nil {
		panic(err)
	}
	outputs, last := w.m.Run(w.state, in)
	w.state = last
	return w.m.outputs[outputs[0]]
}

func (w *walker) Key() string { return w.m.states[w.state] }

func (w *walker) Clone() Session {
	other := *w
	return &other
}

func TestRandomExploreFindsTheMachine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawAny(t)
		found, err := Explore(func() Session { return &walker{m, m.initial} }, m.InputNames(), len(m.states))
		require.NoError(t, err)
		require.Equal(t, 0, found.Initial())
		require.ElementsMatch(t, m.StateNames(), found.StateNames())
		for s, name := range found.StateNames() {
			from := m.Initial()
			_, from = m.Run(from, found.StateCover()[s])
			require.Equal(t, name, m.states[from])
			for i := range m.inputs {
				gotOutput, gotNext := found.Step(s, i)
				wantOutput, wantNext := m.Step(from, i)
				require.Equal(t, m.outputs[wantOutput], found.outputs[gotOutput])
				require.Equal(t, m.states[wantNext], found.states[gotNext])
			}
		}
		if len(m.states) > 1 {
			_, err = Explore(func() Session { return &walker{m, m.initial} }, m.InputNames(), len(m.states)-1)
			require.ErrorContains(t, err, "raise the limit")
		}
	})
}
