package identify

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/sample"
	"example.org/hearthbench/conformance/wasm"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

const credential = "246810"

func whole(tb testing.TB) *Space {
	s, err := NewSpace(credential)
	require.NoError(tb, err)
	return s
}

// small has few reserves and boosts, those of a full unit among them, so that many units can be tried.
func small(tb testing.TB) *Space {
	s := whole(tb)
	s.values[Reserve] = append([]value{0, 1, 2}, upTo(470, 490)...)
	s.values[Boost] = handBoosts
	return s
}

// anyValues draws a combination of what remains, every one being as probable as every other.
func (s *Space) anyValues(r *rand.Rand) (values [NumFactors]value) {
	for f, list := range s.values {
		values[f] = list[r.IntN(len(list))]
	}
	return values
}

// byClass draws an ICS so that every class of those that can be told apart is as probable as every other.
func (s *Space) byClass(r *rand.Rand) spec.ICS {
	for {
		if values := s.anyValues(r); s.canonical(values) == values {
			return s.ics(&values)
		}
	}
}

// byOption draws each option by itself: whether there is a boost, then its step, then the longest; whether there is summer time, then the
// zone; and reserves so that each number of digits is as probable as every other.
func (s *Space) byOption(r *rand.Rand) spec.ICS {
	values := s.anyValues(r)
	values[Boost] = boostValue(0, 1)
	if r.IntN(2) == 0 {
		step := 1 + r.IntN(spec.MaxBoostStep)
		values[Boost] = boostValue(step*(1+r.IntN(spec.MaxBoostMinutes/step)), step)
	}
	if r.IntN(2) == 0 {
		values[SummerTime] = noSummerTime
	}
	values[Reserve] = value(math.Pow(10, r.Float64()*math.Log10(spec.MaxReserve+1))) - 1
	return s.ics(&values)
}

func unitOf(ics spec.ICS, device func(spec.ICS) oracle.Device) iut.IUT {
	return iut.InProcess("a unit", ics, func(ics spec.ICS) wire.Device { return device(ics) })
}

func emulated(ics spec.ICS) iut.IUT { return unitOf(ics, oracle.Emulator) }

// requireFound requires that a unit was found to be what it is, but for what cannot be told.
func requireFound(tb testing.TB, s *Space, ics spec.ICS, r *Result) {
	tb.Helper()
	require.Nil(tb, r.Departure)
	require.Equal(tb, s.canonical(s.valuesOf(&ics)), s.canonical(s.valuesOf(&r.ICS)))
	if ics.Lock && ics.Credential != s.credential {
		require.Len(tb, r.Unsettled, 1)
		require.Equal(tb, []string{"credential"}, r.Unsettled[0].Options)
		require.Empty(tb, r.ICS.Credential)
	} else {
		require.Empty(tb, r.Unsettled)
		require.True(tb, r.Settled())
		require.NoError(tb, r.ICS.Validate())
	}
}

// The figure: in the mean at most 1.5 times the information bound. Each question has two answers, so each counts as one.
func TestQuestionsInTheMean(t *testing.T) {
	s := whole(t)
	bound := s.Classes()
	t.Logf("classes of ICSs that can be told apart: 2^%.2f; each question is answered with yes or no and counts as one, and so does each control", bound)
	t.Logf("%-26s %6s %6s %6s %6s %14s", "prior", "units", "fewest", "mean", "most", "mean to bound")
	for _, prior := range []struct {
		name string
		draw func(*Space, *rand.Rand) spec.ICS
		n    int
	}{{"every class alike", (*Space).byClass, 30}, {"every option by itself", (*Space).byOption, 15}} {
		r := rand.New(rand.NewPCG(6, 3))
		sum, fewest, most := 0, math.MaxInt, 0
		for range prior.n {
			ics := prior.draw(s, r)
			found, err := Run(t.Context(), emulated(ics), s, Options{})
			require.NoError(t, err)
			requireFound(t, s, ics, found)
			n := len(found.Steps) + found.Controls
			sum, fewest, most = sum+n, min(fewest, n), max(most, n)
		}
		mean := float64(sum) / float64(prior.n)
		t.Logf("%-26s %6d %6d %6.2f %6d %14.3f", prior.name, prior.n, fewest, mean, most, mean/bound)
		require.LessOrEqual(t, mean, 1.5*bound)
	}
}

// A question is about its factor alone: whatever the others that are not settled are, the answer is the one by which its values were
// divided. And both answers are possible.
func TestNothingElseMovesTheLook(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	for _, s := range []*Space{small(t), whole(t), small(t), small(t), small(t), small(t), small(t), small(t)} {
		ics := s.byClass(r)
		p := &pick{asker: asker{Space: s.clone()}}
		require.Positive(t, questionsHold(t, r, p, func(c *choice) bool { return c.predict(ics) }))
	}
}

// questionsHold goes through all questions to one unit, and tries each on units of every kind that remains. It returns how many there were.
func questionsHold(t *testing.T, r *rand.Rand, p *pick, answer func(*choice) bool) (n int) {
	t.Helper()
	for ; ; n++ {
		c, err := p.next()
		require.NoError(t, err)
		if c == nil {
			return n
		}
		require.NotEmpty(t, c.yes)
		require.NotEmpty(t, c.no)
		for range 30 {
			if c.has != nil {
				break // asked of what stands on the unit's front
			}
			values := p.anyValues(r)
			require.Equal(t, slices.Contains(c.yes, values[c.Factor]), c.predict(p.ics(&values)), "%s: %s: %+v", c.Factor, c.Words(), p.ics(&values))
		}
		p.answered(c, answer(c))
		p.drop()
	}
}

// The formula for the number of classes, against counting them.
func TestClasses(t *testing.T) {
	s := whole(t)
	s.values[Reserve] = upTo(0, 2)
	s.values[Boost] = []value{boostValue(0, 1), boostValue(60, 60), boostValue(120, 60), boostValue(30, 10)}
	s.values[Periods], s.values[SummerTime], s.values[Cycle] = upTo(1, 1), s.values[SummerTime][:1], s.values[Cycle][:1]
	for _, f := range []Factor{ModeChange, OverrideEnd, AfterReset, LostClock, PastMidnight, BadValue, Lock} {
		s.values[f] = s.values[f][:1]
	}
	n := 0
	var values [NumFactors]value
	var count func(f Factor)
	count = func(f Factor) {
		if f == NumFactors {
			if s.canonical(values) == values {
				n++
			}
			return
		}
		for _, v := range s.values[f] {
			values[f] = v
			count(f + 1)
		}
	}
	count(0)
	require.InDelta(t, math.Log2(float64(n)), s.Classes(), 1e-9)
	require.InDelta(t, 64.07, whole(t).Classes(), 0.01)
}

// What is said to make no difference makes none, whatever is done.
func TestIdleMakesNoDifference(t *testing.T) {
	lines := []string{
		"power on", "power off", "clock 2026-03-29 00:30", "clock 2026-10-25 00:30", "clock 2026-01-21 06:30", "mode hw off", "mode ch span", "mode ch table",
		"mode hw always", "override hw", "override ch", "boost hw 60", "boost ch 60", "boost ch 120", "boost ch 7", "boost hw 0", "holiday 1", "holiday cancel", "reset",
		"period hw all 1 22:00 06:00", "period both all 1 01:00 03:00", "period ch mon 1 06:00 07:00", "period ch weekdays 1 24:00 24:00",
		"fit channels hw", "fit channels ch", "fit channels both", "fit timing shared", "fit timing separate", "fit coupling gravity", "fit coupling independent",
		"lock arm 246810 2 1 10 20 10 20 08:00", "lock remove 246810",
	}
	s := small(t)
	s.values[Boost] = []value{boostValue(0, 1), boostValue(0, 5), boostValue(60, 60), boostValue(120, 60)}
	r := rand.New(rand.NewPCG(5, 5))
	tried := [NumFactors]int{}
	for n := 0; n < 400; {
		values := s.anyValues(r)
		if r.IntN(2) == 0 {
			values[Reserve] = 0
		}
		other := s.canonical(values)
		if other == values {
			continue
		}
		n++
		for f := range values {
			if values[f] != other[f] {
				tried[f]++
			}
		}
		one, err := emulator.New(s.ics(&values))
		require.NoError(t, err)
		two, err := emulator.New(s.ics(&other))
		require.NoError(t, err)
		for range 60 {
			line := lines[r.IntN(len(lines))]
			if r.IntN(4) == 0 {
				line = "power on"
			}
			in, err := wire.ParseInput(line)
			if r.IntN(3) > 0 {
				wait := uint64(r.IntN(3) * r.IntN(100_000))
				require.Equal(t, one.Advance(wait, nil), two.Advance(wait, nil))
				continue
			}
			require.NoError(t, err)
			a, changesA := one.Do(in, nil)
			b, changesB := two.Do(in, nil)
			require.Equal(t, a.Outcome, b.Outcome, line)
			require.Equal(t, changesA, changesB, line)
		}
	}
	for _, f := range []Factor{Timing, Coupling, Boost, SecondBoost, BoostInHoliday, ThroughCut} {
		require.Greater(t, tried[f], 5, f)
	}
}

// What the questions look at is so by the second model too.
func TestSecondModel(t *testing.T) {
	s := small(t)
	r := rand.New(rand.NewPCG(7, 7))
	for range 12 {
		ics := s.byClass(r)
		found, err := Run(t.Context(), unitOf(ics, oracle.SecondModel), s, Options{})
		require.NoError(t, err)
		requireFound(t, s, ics, found)
	}
}

func TestSample(t *testing.T) {
	u, err := wasm.Open(t.Context(), "the sample", sample.Module, wasm.Options{})
	require.NoError(t, err)
	defer u.Close()
	s := whole(t)
	first, err := Run(t.Context(), u, s, Options{})
	require.NoError(t, err)
	require.True(t, first.Settled())
	require.Empty(t, first.Compare(s, u.ICS()))
	same := u.ICS()
	same.Tolerances = first.ICS.Tolerances
	require.Equal(t, same, first.ICS)

	second, err := Run(t.Context(), u, s, Options{})
	require.NoError(t, err)
	require.Equal(t, len(first.Steps), len(second.Steps))
	for i := range first.Steps {
		require.Equal(t, first.Steps[i].Question.Script, second.Steps[i].Question.Script)
	}
}

// Nothing hangs on what the unit states of itself, not even which channels it states.
func TestWrongStatement(t *testing.T) {
	s := small(t)
	ics := spec.FullICS()
	ics.KeptThroughCut, ics.BoostLongest, ics.BoostStep = true, 60, 10
	ics.Supported.Channels, ics.Fitted.Channels = 1<<spec.BothChannels, spec.BothChannels
	states := spec.FullICS()
	states.Fitted.Channels, states.Supported.Channels = spec.OnlyHW, 1<<spec.OnlyHW
	unit := iut.InProcess("a liar", states, func(spec.ICS) wire.Device { return oracle.Emulator(ics) })
	found, err := Run(t.Context(), unit, s, Options{})
	require.NoError(t, err)
	requireFound(t, s, ics, found)
	var names []string
	for _, d := range found.Compare(s, states) {
		names = append(names, d.Options...)
	}
	require.Equal(t, []string{"channels", "boost-longest", "boost-step", "through-cut"}, names)
	require.Equal(t, ics, As(unit, ics).ICS())
}

func TestPatienceLeavesTheReserveOpen(t *testing.T) {
	s := small(t)
	found, err := Run(t.Context(), emulated(spec.FullICS()), s, Options{Longest: 3600e9})
	require.NoError(t, err)
	require.False(t, found.Settled())
	var open []string
	for _, o := range found.Unsettled {
		open = append(open, o.Options...)
		require.NotEmpty(t, o.Why)
	}
	require.Contains(t, open, "reserve")
	require.Contains(t, open, "lost-clock")
	for _, step := range found.Steps {
		require.LessOrEqual(t, step.Question.Waits(), uint64(3600))
	}
}

func TestNoCredentialIsTried(t *testing.T) {
	s, err := NewSpace("")
	require.NoError(t, err)
	s.values[Reserve], s.values[Boost] = small(t).values[Reserve], handBoosts
	found, err := Run(t.Context(), emulated(spec.FullICS()), s, Options{})
	require.NoError(t, err)
	require.Nil(t, found.Departure)
	require.True(t, found.ICS.Lock)
	require.Len(t, found.Unsettled, 1)
	for _, step := range found.Steps {
		for _, r := range step.Question.Script {
			require.NotEqual(t, spec.LockArm, r.Input.Kind)
		}
	}
	_, err = NewSpace("123")
	require.ErrorContains(t, err, "4 to 8 digits")
}

func TestTroubleIsNoAnswer(t *testing.T) {
	unit := iut.InProcess("one that dies", spec.FullICS(), func(spec.ICS) wire.Device { return nil })
	_, err := Run(t.Context(), unit, small(t), Options{})
	require.ErrorContains(t, err, "question 1: ")
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = Run(ctx, emulated(spec.FullICS()), small(t), Options{})
	require.ErrorIs(t, err, context.Canceled)
}

// tardy is a unit whose relays follow two seconds after the return of power.
type tardy struct {
	oracle.Device
	held []spec.Change
}

func (d *tardy) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	if in.Kind != spec.PowerOn {
		return d.Device.Do(in, changes)
	}
	reply, held := d.Device.Do(in, nil)
	d.held = held
	return reply, changes
}

func (d *tardy) Advance(seconds uint64, changes []spec.Change) []spec.Change {
	for _, c := range d.held {
		c.At += 2
		changes = append(changes, c)
	}
	d.held = nil
	return d.Device.Advance(seconds, changes)
}

func TestTolerances(t *testing.T) {
	s := small(t)
	unit := unitOf(spec.FullICS(), func(ics spec.ICS) oracle.Device { return &tardy{Device: oracle.Emulator(ics)} })
	found, err := Run(t.Context(), unit, s, Options{})
	require.NoError(t, err)
	requireFound(t, s, spec.FullICS(), found)
	require.EqualValues(t, 2, found.ICS.Tolerances.LatePowerOn)

	found, err = Run(t.Context(), unit, s, Options{Tolerances: &spec.Tolerances{}})
	require.NoError(t, err)
	require.NotNil(t, found.Departure)
	require.Contains(t, found.Departure.What, "should come (MOD-2)")
}
