package diagnosis

import (
	"math"
	"slices"
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

// Who wants warm radiators at the minute at which the programme begins has something to complain of though nothing is wrong. One cold tap besides is
// then rather a mistake than what is the matter, unless it is told of too; of who wants nothing of the kind it is what they complain of.
func TestWhatNobodyAsksIsRatherMistaken(t *testing.T) {
	x := house{source: "read", sensed: []string{
		"{what: radiators, is: cold, when: 2026-11-10 06:32}", "{what: radiators, is: warm, when: 2026-11-10 about 07:15}",
		"{what: tap, is: cold, when: 2026-11-10 10:00-17:00, sure: unsure}",
	}}
	const tap = 2
	explained := func() (p float64) {
		for _, s := range x.diagnose(t).Sets {
			if slices.Contains(s.Explains, tap) {
				p += s.Probability
			}
		}
		return p
	}
	// How far the prior of a valve that does not work is from what it is by itself, alone and beside what is told or normal.
	less := func() (alone, told, normal float64) {
		alone, told, normal = math.Inf(-1), math.Inf(-1), math.Inf(-1)
		c := x.complaint(t)
		base, err := replay.FromComplaint(c)
		require.NoError(t, err)
		s := &search{c: c, base: base, evidence: gather(c, nil)}
		require.NoError(t, s.begin())
		require.NoError(t, s.singles())
		s.pairs()
		for i := range s.found {
			f := &s.found[i]
			if s.causes[f.first.cause].id != "part/dead/the hot-water valve" {
				continue
			}
			switch d := f.prior - f.first.prior; {
			case f.second == nil:
				alone = max(alone, d) // a valve that failed after all of it explains nothing
			case s.causes[f.second.cause].told:
				told = max(told, d)
			case s.causes[f.second.cause].id == "normal/unit":
				normal = max(normal, d)
			}
		}
		return alone, told, normal
	}
	assert.Greater(t, explained(), 0.5)
	alone, _, _ := less()
	assert.Zero(t, alone)

	x.wanted = "{words: warm radiators when the programme begins, means: [{what: radiators, is: warm, when: 2026-11-10 06:30}]}"
	assert.Less(t, explained(), 0.1)
	alone, told, normal := less()
	assert.InDelta(t, math.Log(unasked/2), alone, 1e-9, "it shares what it has with its pairs")
	assert.InDelta(t, math.Log(unasked/2), normal, 1e-9)
	assert.Equal(t, math.Inf(-1), told, "the relay is on at 06:30: no table was meant otherwise for the plant's lag")
	first := x.diagnose(t).Sets[0].Causes[0]
	assert.Equal(t, "normal/plant", first.ID)
	assert.Contains(t, first.Words, "; besides, one statement is mistaken")

	// Where the table itself fails what is wanted, both may be complained of.
	x.wanted = "{words: warm at half past three, means: [{what: ch relay, is: on, when: 2026-11-10 15:30-17:00}]}"
	_, told, normal = less()
	assert.InDelta(t, math.Log(unasked), normal-told, 1e-9)
	for _, s := range x.diagnose(t).Sets {
		for _, c := range s.Causes {
			assert.NotRegexp(t, "half-day/(on|both)/ch/monday-to-friday/2", c.ID, "05:00-22:00 was not meant beside 06:30-08:30")
		}
	}
}
