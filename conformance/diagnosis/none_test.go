package diagnosis

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/replay"
)

// held returns the evidence of a house with what its account by itself comes to.
func held(t *testing.T, h house) (*evidence, verdicts) {
	t.Helper()
	c := h.complaint(t)
	base, err := replay.FromComplaint(c)
	require.NoError(t, err)
	history, err := replay.Run(&base, nil)
	require.NoError(t, err)
	e := gather(c, nil)
	return e, e.hold(history, subject{}, nil).verdicts[:len(c.Sensed)]
}

// Radiators that stay cold when they should be warm, and all else as it should be.
func TestSomethingSteady(t *testing.T) {
	e, base := held(t, house{sensed: []string{
		"{what: radiators, is: cold, when: 2026-11-10 19:00}", "{what: radiators, is: cold, when: 2026-11-11 19:00}",
		"{what: radiators, is: cold, when: 2026-11-11 13:00}", "{what: tap, is: hot, when: 2026-11-11 20:00}",
	}})
	require.Equal(t, verdicts{replay.Departs, replay.Departs, replay.Agrees, replay.Agrees}, base)
	whole, best, vs := e.steady(base, math.MinInt64)
	assert.Zero(t, vs.departures(), "one kind of thing is the contrary: what should be warm")
	assert.Less(t, whole, best)
	// By hand: radiators that should be warm, otherwise (0.88 and, counting less, 0.88 to the power of 0.85); radiators that should be cold and
	// the tap, as they are. All that is not so, and of it the account itself, is under a tenth of that.
	again := math.Pow(0.88, again)
	byHand := math.Log(turned*0.88*again) + math.Log((1-turned)*again) + math.Log((1-turned)*0.88)
	assert.InDelta(t, byHand, whole, 0.1)
	// Had it begun later, the first evening would be a mistake.
	_, _, vs = e.steady(base, e.c.Sensed[1].When.Windows[0].From)
	assert.Equal(t, verdicts{replay.Departs, replay.CannotTell, replay.CannotTell, replay.CannotTell}, vs)
}

// That nothing is otherwise is the account, and not something else.
func TestSomethingSteadyIsNotTheAccount(t *testing.T) {
	e, base := held(t, house{sensed: []string{"{what: radiators, is: warm, when: 2026-11-10 19:00}", "{what: tap, is: hot, when: 2026-11-11 20:00}"}})
	require.Zero(t, base.departures())
	whole, _, _ := e.steady(base, math.MinInt64)
	assert.Less(t, whole, math.Log(2*turned*0.15/0.85)+0.3)
	e, base = held(t, house{})
	whole, _, _ = e.steady(base, math.MinInt64)
	assert.True(t, math.IsInf(whole, -1), "of nothing that was sensed nothing can be otherwise")
}

// An event at another time than the account has it could have come at any time: nothing steady has it just then.
func TestEventsHaveNoContrary(t *testing.T) {
	events, base := held(t, house{sensed: []string{"{what: ch relay, becomes: on, when: 2026-11-10 03:00, who: log}"}})
	require.Equal(t, 1, base.departures())
	_, best, _ := events.steady(base, math.MinInt64)
	assert.InDelta(t, math.Log(byChance), best, 1e-9)
	states, base := held(t, house{sensed: []string{"{what: ch relay, is: on, when: 2026-11-10 03:00, who: log}"}})
	require.Equal(t, 1, base.departures())
	_, best, _ = states.steady(base, math.MinInt64)
	assert.Greater(t, best, math.Log(0.8))
	assert.InDelta(t, -math.Log(2), states.erratic(base), 1e-9, "one of one, by Laplace's rule")
	assert.True(t, math.IsInf(states.erratic(verdicts{replay.Agrees}), -1))
	assert.InDelta(t, math.Log(byChance)-math.Log(2), events.erratic(base), 1e-9)
}

// What nothing else explains is 'none of these', and that is never called certain: it is no cause that somebody could put right.
func TestNoneIsOneOfASetOnlyWhereNothingExplainsMore(t *testing.T) {
	r := valveAndClock.diagnose(t)
	for _, c := range r.Sets[0].Causes {
		assert.NotEqual(t, NoneOfThese, c.Family, "%s", write(t, r))
	}
	ways := 0
	for i := range r.Sets {
		for _, c := range r.Sets[i].Causes {
			if c.Family == NoneOfThese {
				ways += len(c.Worlds())
			}
		}
	}
	assert.Zero(t, ways, "nobody knows its world")
}

// The first mistake costs what it costs; each further one a hundred times as much besides, however sure they are. Logs are not mistaken but wrong.
func TestFurtherMistakes(t *testing.T) {
	log := "{what: ch relay, is: on, when: 2026-11-10 03:00, who: log}"
	said := "{what: ch relay, is: on, when: 2026-11-10 03:00}"
	unsure := "{what: ch relay, is: on, when: 2026-11-10 03:00, sure: unsure}"
	e, base := held(t, house{sensed: []string{log, log, said, said, unsure}})
	require.Equal(t, 5, base.departures())
	assert.InDelta(t, 2*math.Log(0.01), e.further(base, base), 1e-9)
	other := verdicts{replay.Departs, replay.Departs, replay.Departs, replay.Agrees, replay.Agrees}
	assert.Zero(t, e.further(base, other), "of two hypotheses together only what both have otherwise is mistaken")
	assert.InDelta(t, e.hold(historyOf(t, e), subject{}, nil).likelihood, sum(e.hold(historyOf(t, e), subject{}, nil).each)+2*math.Log(0.01), 1e-5)
}

func historyOf(t *testing.T, e *evidence) *replay.History {
	t.Helper()
	base, err := replay.FromComplaint(e.c)
	require.NoError(t, err)
	h, err := replay.Run(&base, nil)
	require.NoError(t, err)
	return h
}

func sum(all []float32) (s float64) {
	for _, x := range all {
		s += float64(x)
	}
	return s
}
