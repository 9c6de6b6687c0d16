package explore

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// winter is the full unit without summer time, with some changes.
func winter(change func(*spec.ICS)) spec.ICS {
	ics := spec.FullICS()
	ics.SummerTime = false
	if change != nil {
		change(&ics)
	}
	return ics
}

func boundsOf(t testing.TB, ics spec.ICS, groups string) Bounds {
	b, err := ForGroups(ics, strings.Split(groups, ","))
	require.NoError(t, err)
	return b
}

// The invariants hold in every state within small worlds of every choice.
func TestInvariantsHold(t *testing.T) {
	const soon = 75 * calendar.Minute // over all switching points, and the end of a boost begun at the first of them
	for _, test := range []struct {
		name, groups string
		horizon      uint64
		change       func(*spec.ICS)
	}{
		{"defaults", "mode,override,reset", 0, nil},
		{"gravity", "override,boost,fit,power", soon, func(s *spec.ICS) { s.Fitted.Coupling = spec.Gravity }},
		{"holiday", "override,holiday,reset", 0, nil},
		{"lock", "override,lock,reset", soon, nil},
		{"a lock to its end", "override,reset", 0, nil},
		{"tables", "override,table,reset", 0, func(s *spec.ICS) { s.Fitted.Timing = spec.Separate }},
		{"kept on a mode change", "mode,override", 0, func(s *spec.ICS) { s.OverrideKept = true }},
		{"programmed ends", "override,table", 0, func(s *spec.ICS) { s.OverrideProgrammed = true; s.Fitted.Timing = spec.Separate }},
		{"boosts extend", "override,boost", soon, func(s *spec.ICS) { s.BoostExtends = true }},
		{"boost in a holiday", "boost,holiday", soon, func(s *spec.ICS) { s.BoostInHoliday = true }},
		{"kept through a cut", "override,boost,power", soon, func(s *spec.ICS) { s.KeptThroughCut = true; s.Reserve = 30 }},
		{"a clock that resumes", "override,power,reset", 0, func(s *spec.ICS) { s.LostClock, s.Reserve = spec.LostResumes, 20 }},
		{"a clock that restarts", "override,power,holiday", soon, func(s *spec.ICS) { s.LostClock, s.Reserve = spec.LostRestarts, 0 }},
		{"reset unsets the clock", "override,reset,clock", soon, func(s *spec.ICS) { s.ResetUnsetsClock = true }},
		{"one channel", "mode,override,boost,power", soon, func(s *spec.ICS) { s.Fitted.Channels = spec.OnlyCH }},
		{"a night in which summer time ends", "override,mode", 0, nil},
	} {
		t.Run(test.name, func(t *testing.T) {
			ics := winter(test.change)
			b := boundsOf(t, ics, test.groups)
			if strings.HasPrefix(test.name, "a night") {
				ics.SummerTime = true
				b = boundsOf(t, ics, test.groups)
				b.Given, b.Horizon = given(t, ics, "power on", "clock 2026-10-25 00:20", "table both every 00:30-01:10 01:40-02:10"), 4*calendar.Hour
			}
			if test.name == "a lock to its end" {
				b.Given = append(b.Given, given(t, ics, "lock arm {credential} 2 1 none 30 20 15 08:00")...)
			}
			b.Horizon = max(b.Horizon, test.horizon)
			b.States = 100_000
			r, err := Run(t.Context(), b, Options{Workers: 2})
			require.NoError(t, err)
			require.Nil(t, r.Counterexample, "%+v", r.Counterexample)
			require.True(t, r.Complete, r.Stopped)
			require.Greater(t, r.States, 10)
			t.Logf("%d states, %d steps, depth %d", r.States, r.Transitions, r.Depth)
		})
	}
}

func given(t testing.TB, ics spec.ICS, lines ...string) (letters []Letter) {
	for _, line := range lines {
		l, err := ParseLetter(&ics, line)
		require.NoError(t, err)
		letters = append(letters, l)
	}
	return letters
}

// A plain search, on a map of whole facts, sees the same states.
func TestAPlainSearchSeesTheSameStates(t *testing.T) {
	for _, test := range []struct {
		groups  string
		horizon uint64
	}{
		{"override,boost", 75 * calendar.Minute},
		{"mode,override", 75 * calendar.Minute},
		{"power,override,holiday,reset", 75 * calendar.Minute},
		{"lock,reset", 75 * calendar.Minute},
		{"clock,override,table", 75 * calendar.Minute},
		{"override,holiday,reset", 0},
		{"override,mode,reset", 0},
	} {
		groups := test.groups
		b := boundsOf(t, winter(nil), groups)
		b.Horizon = test.horizon
		r, err := Run(t.Context(), b, Options{})
		require.NoError(t, err)
		require.True(t, r.Complete)

		states, steps := plainSearch(t, b)
		require.Equal(t, states, r.States, groups)
		require.Equal(t, steps, r.Transitions, groups)
	}
}

// The result does not depend on the number of processors, nor a counterexample on chance.
func TestWorkersDoNotMatter(t *testing.T) {
	b := boundsOf(t, winter(nil), "override,boost")
	b.Horizon = 2 * calendar.Hour
	one, err := Run(t.Context(), b, Options{Workers: 1})
	require.NoError(t, err)
	three, err := Run(t.Context(), b, Options{Workers: 3})
	require.NoError(t, err)
	require.Equal(t, [4]any{one.States, one.Transitions, one.Depth, one.Complete}, [4]any{three.States, three.Transitions, three.Depth, three.Complete})

	spoil := func(u *emulator.Unit, before *emulator.Facts, in *spec.Input, _ *spec.Reply) {
		if f := u.Facts(); in == nil && before.Channels[spec.CH].BoostLeft > 0 && before.Channels[spec.HW].Override {
			f.Channels[spec.HW].BoostLeft = 5
			put(u, f)
		}
	}
	var first *Counterexample
	for workers := range 4 {
		r, err := run(t.Context(), b, Options{Workers: workers + 1}, spoil)
		require.NoError(t, err)
		require.NotNil(t, r.Counterexample)
		if first == nil {
			first = r.Counterexample
		}
		require.Equal(t, first.Steps, r.Counterexample.Steps)
	}
}

// A level whose states fill its blocks to the last ends in a block of none. Workers that have fallen asleep are woken.
func TestEachThingIsDoneOnce(t *testing.T) {
	c := newCrew([]*worker{{}, {}, {}})
	defer c.end()
	for n := range 500 {
		if n%50 == 0 {
			time.Sleep(5 * time.Millisecond)
		}
		n %= 8
		done := make([]int, n)
		c.each(n, func(_ *worker, i int) {
			if n == 7 && i == 3 {
				time.Sleep(time.Millisecond) // for which the others wait asleep
			}
			done[i]++
		})
		for i := range done {
			require.Equal(t, 1, done[i])
		}
	}
}

// put makes a unit show and remember what facts say.
func put(u *emulator.Unit, f emulator.Facts) {
	u.Restore(&f)
	u.Settle(nil)
}

// show makes a unit show something that does not follow.
func show(u *emulator.Unit, s spec.Signal, l spec.Level) {
	f := u.Facts()
	f.Shown[s] = l
	u.Restore(&f)
}

// Each invariant is broken by a mistake, and the way there is as short as it can be.
func TestEachInvariantCanBreak(t *testing.T) {
	type spoil = func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, reply *spec.Reply)
	gravity := func(s *spec.ICS) { s.Fitted.Coupling = spec.Gravity }
	is := func(in *spec.Input, k spec.Kind) bool { return in != nil && in.Kind == k }
	for _, test := range []struct {
		invariant string
		groups    string
		steps     int // by hand
		change    func(*spec.ICS)
		spoil     spoil
	}{
		{"heating never without hot water", "boost", 1, gravity, func(u *emulator.Unit, _ *emulator.Facts, in *spec.Input, _ *spec.Reply) {
			if is(in, spec.Boost) && in.Channel == spec.CH && in.Amount > 0 {
				show(u, spec.SigHW, 0)
			}
		}},
		{"no relay, alert or sounder without power", "power,lock", 2, nil, func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, _ *spec.Reply) {
			if is(in, spec.PowerOff) && was.Lock.Stage == spec.Counting {
				show(u, spec.SigAlert, 1)
			}
		}},
		// The first switching point, 06:10, is one wait from the start.
		{"each relay is what the formula says", "override", 1, nil, func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, _ *spec.Reply) {
			if in == nil && was.Shown[spec.SigCH] == 0 && u.Level(spec.SigCH) == 1 {
				show(u, spec.SigCH, 0)
			}
		}},
		{"an override is gone when", "override", 2, nil, func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, _ *spec.Reply) {
			if f := u.Facts(); in == nil && was.Channels[spec.CH].Override && !f.Channels[spec.CH].Override {
				f.Channels[spec.CH].Override = true
				put(u, f)
			}
		}},
		{"no override without power", "override,holiday", 2, nil, func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, _ *spec.Reply) {
			if f := u.Facts(); is(in, spec.Holiday) && was.Channels[spec.HW].Override {
				f.Channels[spec.HW].Override = true
				put(u, f)
			}
		}},
		{"an override is never begun by time", "boost,mode", 2, nil, func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, _ *spec.Reply) {
			if f := u.Facts(); in == nil && was.Channels[spec.HW].Mode == spec.Off && was.Channels[spec.HW].BoostLeft == 0 {
				f.Channels[spec.HW].Override = true
				put(u, f)
			}
		}},
		{"a boost counts elapsed seconds down", "boost", 2, nil, func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, _ *spec.Reply) {
			if f := u.Facts(); in == nil && f.Channels[spec.CH].BoostLeft > 1 {
				f.Channels[spec.CH].BoostLeft--
				put(u, f)
			}
		}},
		{"no boost without power", "boost,power", 2, nil, func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, _ *spec.Reply) {
			if f := u.Facts(); is(in, spec.PowerOff) && was.Channels[spec.CH].BoostLeft > 0 {
				f.Channels[spec.CH].BoostLeft = was.Channels[spec.CH].BoostLeft
				put(u, f)
			}
		}},
		{"nothing but the credential moves the lock", "lock,reset", 2, nil, func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, _ *spec.Reply) {
			if f := u.Facts(); is(in, spec.Reset) && f.Lock.Stage != spec.Dormant {
				f.Lock = emulator.LockFacts{}
				put(u, f)
			}
		}},
		{"the lock counts the seconds", "lock,power", 3, nil, func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, _ *spec.Reply) {
			// Frozen in a power cut. It takes arming, the cut, and a wait.
			if f := u.Facts(); in == nil && !was.Powered && f.Lock.Stage == spec.Counting {
				f.Lock = was.Lock
				put(u, f)
			}
		}},
		{"an input that is not accepted changes nothing", "lock", 2, nil, func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, r *spec.Reply) {
			if f := u.Facts(); is(in, spec.LockRemove) && r.Outcome == spec.Refused && f.Lock.Stage != spec.Dormant {
				f.Channels[spec.HW].BoostLeft = 3
				put(u, f)
			}
		}},
		{"without power every input is refused", "power,reset", 2, nil, func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, r *spec.Reply) {
			if is(in, spec.Reset) && !was.Powered {
				r.Outcome = spec.Accepted
			}
		}},
		{"a mode that is set already changes nothing", "mode,boost", 2, nil, func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, _ *spec.Reply) {
			if f := u.Facts(); is(in, spec.SetMode) && in.Channel == spec.CH && in.Mode == was.Channels[spec.CH].Mode && f.Channels[spec.CH].BoostLeft > 0 {
				f.Channels[spec.CH].BoostLeft = 0
				put(u, f)
			}
		}},
		{"a reset is idempotent", "override,reset", 1, nil, func(u *emulator.Unit, _ *emulator.Facts, in *spec.Input, _ *spec.Reply) {
			if f := u.Facts(); is(in, spec.Reset) { // which a second one would mend, and nothing shows
				f.Channels[spec.CH].Mode = spec.Span
				put(u, f)
			}
		}},
		{"a reset is idempotent", "reset,fit,power", 1, nil, func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, _ *spec.Reply) {
			if f := u.Facts(); is(in, spec.Reset) {
				f.Back.Coupling = spec.Gravity
				put(u, f)
			}
		}},
		{"tables and modes are changed by inputs alone", "override", 1, nil, func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, _ *spec.Reply) {
			if f := u.Facts(); in == nil {
				f.Channels[spec.HW].Table[3][5] = spec.Period{On: 5, Off: 6}
				put(u, f)
			}
		}},
		{"a holiday is over at its end", "holiday", 1, nil, func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, _ *spec.Reply) {
			if f := u.Facts(); is(in, spec.Holiday) {
				f.Holiday.EndDate = calendar.DayOf(f.UTC)
				u.Restore(&f)
			}
		}},
		// The relays do as the formula says, but a relay's change is not told.
		{"what is reported is what has changed", "mode", 1, nil, func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, _ *spec.Reply) {
			if f := u.Facts(); is(in, spec.SetMode) && in.Channel == spec.CH && in.Mode == spec.Off {
				f.Channels[spec.CH].Mode = spec.Always
				put(u, f)
			}
		}},
	} {
		t.Run(test.invariant, func(t *testing.T) {
			b := boundsOf(t, winter(test.change), test.groups)
			r, err := run(t.Context(), b, Options{Workers: 2}, test.spoil)
			require.NoError(t, err)
			require.NotNil(t, r.Counterexample)
			require.False(t, r.Complete)
			require.Contains(t, r.Counterexample.Invariant.Name, test.invariant)
			require.Len(t, r.Counterexample.Steps, test.steps)
		})
	}
}

// A permit that adds a call breaks the formula too, which is looked at first: it is asked by itself.
func TestAPermitThatAddsACall(t *testing.T) {
	for _, inv := range Invariants() {
		if !strings.HasPrefix(inv.Name, "a permit never adds") {
			continue
		}
		ics := winter(nil)
		u, err := emulator.New(ics)
		require.NoError(t, err)
		f := u.Facts()
		f.Powered, f.ClockStopped, f.Shown[spec.SigHW] = true, false, 1
		f.Channels[spec.HW].Mode = spec.Off
		require.False(t, inv.holds(&step{ics: &ics, before: &f, after: &f}))
		f.Channels[spec.HW].Mode = spec.Always
		require.True(t, inv.holds(&step{ics: &ics, before: &f, after: &f}))
		return
	}
	t.Fatal("there is no such invariant")
}

// Every invariant is named once, and names clauses that are published.
func TestInvariantsAreNamed(t *testing.T) {
	page := clauses(t)
	seen := map[string]bool{}
	for _, inv := range Invariants() {
		require.False(t, seen[inv.Name])
		seen[inv.Name] = true
		require.NotEmpty(t, inv.Clauses)
		for _, id := range inv.Clauses {
			require.Contains(t, page, id, inv.Name)
		}
	}
}

// A counterexample is told on the unit's own days, though states of other days were taken for the same.
func TestACounterexampleHasItsOwnDates(t *testing.T) {
	b := boundsOf(t, winter(nil), "clock,boost")
	spoil := func(u *emulator.Unit, was *emulator.Facts, in *spec.Input, _ *spec.Reply) {
		// Only ever with a clock set while it was past the evening, so that a night goes by first.
		if f := u.Facts(); in != nil && in.Kind == spec.SetClock && was.Channels[spec.HW].BoostLeft > 0 && calendar.SecondOfDay(was.UTC) == 6*calendar.Hour+10*calendar.Minute && was.Channels[spec.CH].BoostLeft == 0 {
			f.Shown[spec.SigHW] = 0
			u.Restore(&f)
		}
	}
	r, err := run(t.Context(), b, Options{}, spoil)
	require.NoError(t, err)
	require.NotNil(t, r.Counterexample)
	u, err := b.start()
	require.NoError(t, err)
	for _, s := range r.Counterexample.Steps {
		require.Equal(t, u.Now(), s.At)
		u.Advance(s.Wait, nil)
		for _, in := range s.Inputs {
			reply, _ := u.Do(in, nil)
			require.Equal(t, spec.Accepted, reply.Outcome, "%s", wire.AppendInput(nil, in))
		}
	}
}

func TestBounds(t *testing.T) {
	full := spec.FullICS()
	for _, test := range []struct {
		name   string
		change func(*Bounds)
		words  string
	}{
		{"no letters", func(b *Bounds) { b.Letters = nil }, "no inputs"},
		{"summer time without a horizon", func(b *Bounds) { b.ICS = full }, "needs a horizon"},
		{"too long", func(b *Bounds) { b.Horizon = 1 << 60 }, "horizon of"},
		{"too many states", func(b *Bounds) { b.States = MaxStates + 1 }, "at most 50000000"},
		{"a statement that is none", func(b *Bounds) { b.ICS.Periods = 0 }, "periods"},
		{"given that is refused", func(b *Bounds) { b.Given = b.Given[1:] }, "and 'clock 2026-11-16 06:00' is not"},
	} {
		b := boundsOf(t, winter(nil), "override")
		test.change(&b)
		_, err := Run(t.Context(), b, Options{})
		require.ErrorContains(t, err, test.words, test.name)
	}
	_, err := ForGroups(full, []string{"overides"})
	require.ErrorContains(t, err, "'overides' is no group of inputs; there are mode, override,")

	b := boundsOf(t, winter(nil), "mode,override,boost")
	b.States = 1000
	r, err := Run(t.Context(), b, Options{})
	require.NoError(t, err)
	require.False(t, r.Complete)
	require.Equal(t, "there are more than 1000 states", r.Stopped)

	ctx, cancel := context.WithCancel(t.Context())
	r, err = Run(ctx, b, Options{Progress: func(int, int) { cancel() }})
	require.NoError(t, err)
	require.False(t, r.Complete)
	require.NotEmpty(t, r.Stopped)
}

// What a unit does not have is left out of its alphabet.
func TestGroupsLeaveOutWhatAUnitDoesNotHave(t *testing.T) {
	ics := winter(func(s *spec.ICS) { s.Fitted.Channels = spec.OnlyHW; s.Holiday = false })
	b := boundsOf(t, ics, "mode,override,boost,holiday")
	var texts []string
	for _, l := range b.Letters {
		texts = append(texts, l.Text)
	}
	require.Equal(t, "[mode hw off mode hw table mode hw span mode hw always override hw boost hw 60 boost hw 0]", fmt.Sprint(texts))
}
