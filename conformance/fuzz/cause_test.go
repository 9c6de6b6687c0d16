package fuzz

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

func after(k spec.Kind, outcome spec.Outcome) sort { return sort(k)<<1 | sort(outcome) }

// Steps that are chosen with care settle many more doubts than as many that are not.
func TestCareSettlesDoubts(t *testing.T) {
	const steps = 500
	careful, careless := 0, 0
	for seed := range uint64(3) {
		settled := func(fill func(g *generator)) (n int) {
			ics := spec.FullICS()
			g, err := newGenerator(&ics, newRandom(seed, 0))
			require.NoError(t, err)
			fill(g)
			for _, times := range g.doubts.bySort {
				n += int(min(1, times))
			}
			return n
		}
		careful += settled(func(g *generator) {
			for g.careful < steps {
				g.makeCarefully()
			}
		})
		careless += settled(func(g *generator) {
			for done := 0; done < steps; done += len(g.script) {
				g.start()
				g.purse = g.credit
				g.doubts.open = g.doubts.open[:0]
				g.firstSteps()
				for range longestCareful {
					g.putCarefully(g.draw())
				}
			}
		})
	}
	t.Logf("settled with care %d, without %d", careful, careless)
	assert.Greater(t, careful, careless*6/5)
}

// slipping is a unit with causes.
type slipping struct {
	*oracle
	causes []cause
}

func (s *slipping) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	was := s.unit.Facts()
	s.changes = s.changes[:0]
	r := s.do(in)
	request := iut.Request{Kind: iut.Do, Input: in}
	for _, c := range s.causes {
		s.err(c, s.sortOf(&request, r, nil, nil), &was, channelFor(&request), 0)
	}
	return r, append(changes, s.changes...)
}

func (s *slipping) Advance(seconds uint64, changes []spec.Change) []spec.Change {
	s.changes = s.changes[:0]
	request := iut.Request{Kind: iut.Go, Seconds: seconds}
	s.pieces(seconds, func(was *emulator.Facts, from int) {
		now := s.unit.Facts()
		for _, c := range s.causes {
			s.err(c, s.sortOf(&request, spec.Reply{}, was, &now), was, spec.HW, from)
		}
	})
	return append(changes, s.changes...)
}

func withCauses(tb testing.TB, causes ...cause) iut.IUT {
	return iut.InProcess("slipping", spec.FullICS(), func(ics spec.ICS) wire.Device {
		o, err := newOracle(ics)
		require.NoError(tb, err)
		return &slipping{o, causes}
	})
}

// One mistake that shows in many ways is told once, and two mistakes are told apart, though they do the same after two kinds of input.
func TestCausesAreToldOnce(t *testing.T) {
	mode := cause{after: after(spec.SetMode, spec.Accepted), slip: mistakeOf(slipBoost, leaves)}
	reset := cause{after: after(spec.Reset, spec.Accepted), slip: mistakeOf(slipBoost, leaves)}
	clock := cause{after: after(spec.SetClock, spec.Refused), slip: mistakeOf(slipClock, drops)}
	for _, c := range []struct {
		what   string
		causes []cause
	}{
		{"none", nil},
		{"a boost outlives a change of mode", []cause{mode}},
		{"a refused set unsets the clock", []cause{clock}},
		{"a boost outlives a change of mode, and a reset", []cause{mode, reset}},
	} {
		campaign := run(t, withCauses(t, c.causes...), Options{Seed: 1, Steps: 20_000, Patience: Jumping})
		assert.Len(t, campaign.Findings(), len(c.causes), "%s: %s", c.what, told(campaign))
		for _, want := range c.causes {
			assert.True(t, slices.ContainsFunc(campaign.Findings(), func(f *Finding) bool { return slices.Contains(f.causes, want) }), "%s: %s", c.what, told(campaign))
		}
	}
}

// A unit that has another option than it states is told once.
func TestOtherDesignIsOneCause(t *testing.T) {
	c := run(t, faulty(fault(t, "CLK/zone-sign-wrong")), Options{Seed: 1, Steps: 20_000, Patience: Jumping})
	assert.Len(t, c.Findings(), 1, told(c))
}
