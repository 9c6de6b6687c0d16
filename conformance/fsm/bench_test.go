package fsm

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// large makes a minimal machine of about 200 states and 15 inputs in which, as in a control unit, most inputs in most states
// answer the same and change nothing.
func large(t testing.TB) *Machine {
	const states, inputs, outputs = 220, 15, 6
	random := rand.New(rand.NewPCG(1, 2))
	r := raw{inputs: inputs}
	for s := range states {
		for i := range inputs {
			to, output := s, 0
			switch {
			case i == 0:
				to = (s + 1) % states // so that all are reached
			case random.IntN(3) == 0:
				to, output = random.IntN(states), random.IntN(outputs)
			}
			r.next, r.output = append(r.next, to), append(r.output, output)
		}
	}
	table := r.table(outputs)
	for s := range table.States {
		table.States[s] = fmt.Sprint(s)
	}
	m, err := New(table)
	require.NoError(t, err)
	return m.Minimal()
}

func TestLargeMachine(t *testing.T) {
	m := large(t)
	require.GreaterOrEqual(t, len(m.states), 200)
	a, err := Analyse(m)
	require.NoError(t, err)
	require.True(t, m.Characterizes(a.W()))
	w, err := a.WMethod(0)
	require.NoError(t, err)
	hsi, err := a.HSIMethod(0)
	require.NoError(t, err)
	require.Less(t, hsi.Length(), w.Length())
	different, err := hsi.Check(rawOf(m).run(m))
	require.NoError(t, err)
	require.Nil(t, different)
}

func BenchmarkMinimal(b *testing.B) {
	m := large(b)
	for b.Loop() {
		m.Minimal()
	}
}

func BenchmarkAnalyse(b *testing.B) {
	m := large(b)
	for b.Loop() {
		if _, err := Analyse(m); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAdaptive(b *testing.B) {
	m := large(b)
	for b.Loop() {
		m.Adaptive()
	}
}

func BenchmarkSuite(b *testing.B) {
	a, err := Analyse(large(b))
	require.NoError(b, err)
	for _, method := range []struct {
		name string
		make func(extra int) (*Suite, error)
	}{{"W", a.WMethod}, {"HSI", a.HSIMethod}} {
		for extra := range 2 {
			b.Run(fmt.Sprintf("%s/extra=%d", method.name, extra), func(b *testing.B) {
				var suite *Suite
				for b.Loop() {
					var err error
					if suite, err = method.make(extra); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(suite.Len()), "sequences")
				b.ReportMetric(float64(suite.Length()), "inputs")
			})
		}
	}
}

func BenchmarkExplore(b *testing.B) {
	m := large(b)
	inputs := m.InputNames()
	for b.Loop() {
		if _, err := Explore(func() Session { return &walker{m, m.initial} }, inputs, 1000); err != nil {
			b.Fatal(err)
		}
	}
}
