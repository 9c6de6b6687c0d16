package tolerance

import "example.org/hearthbench/emulator/spec"

// Matching says which of a signal's observed changes are which of those expected of it.
type Matching struct {
	// Came has the index of the observed change for each expected one, or -1 for one that did not show.
	Came []int
	// Whole says that nothing is left over. If it is not, the matching is one of those that come farthest: the expected change
	// and the observed one with these indexes, either of which may be past the last, cannot be matched, and nothing after
	// them has been.
	Whole              bool
	Expected, Observed int
	At                 uint64 // the second in which that comes to light
}

// state is one way to take the changes so far: so many observed ones are used.
type state struct {
	used    int
	shown   int    // how many of them are expected changes
	off     uint64 // by how many seconds they are off, in all
	from    int    // index of the state before
	matched bool   // the last expected change is the last observed one
}

// better reports whether a way is to be preferred to another that comes to the same: more has shown, and nearer to its second.
func (s *state) better(o *state) bool {
	return s.shown > o.shown || s.shown == o.shown && s.off < o.off
}

// Match matches the changes of one signal that were observed, up to the second until, with those expected, in their order. The signal
// began at the initial level. Every observed change must be an expected one within its allowance. An expected change need not show
// where the next takes its place before it is due, or where it may come after the end; nor where the level is there already, as the one
// before did not show. Of several matchings it returns the one in which most changes show and are least off.
func (r *Rules) Match(initial spec.Level, expected, observed []*spec.Change, until uint64) Matching {
	m := Matching{Came: make([]int, len(expected))}
	last := 0 // state in which m ends
	all := make([][]state, len(expected)+1)
	all[0] = []state{{}}
	stuck := func(e, i int, at uint64) {
		if at > m.At || at == m.At && e >= m.Expected {
			m.Expected, m.Observed, m.At, last = e, all[e][i].used, at, i
		}
	}
	allowances, drifts, most := make([]Allowance, len(expected)), make([]uint64, len(expected)), uint64(0)
	for e, want := range expected {
		allowances[e] = r.allow(want, r.beforeCut(expected, e))
		drifts[e] = r.Drift(allowances[e])
		most = max(most, drifts[e])
	}
	for e, want := range expected {
		a, drift := allowances[e], drifts[e]
		mayMiss := want.At+drift+a.Late > until
		if e+1 < len(expected) {
			late := drift + a.Late
			if a.Civil && allowances[e+1].Civil {
				late = r.Slack + a.Late
			}
			mayMiss = late > 0 && expected[e+1].At-want.At <= late
		}
		to := &all[e+1]
		for i := range all[e] {
			s := all[e][i]
			level := initial
			if s.used > 0 {
				level = observed[s.used-1].Level
			}
			on := false
			if s.used < len(observed) {
				if got := observed[s.used]; got.Level == want.Level && got.At+drift >= want.At && got.At <= want.At+drift+a.Late {
					on = true
					reach(to, state{s.used + 1, s.shown + 1, s.off + max(got.At, want.At) - min(got.At, want.At), i, true})
				}
			}
			// Nothing from here on can be an observed change that has come so early.
			lost := s.used < len(observed) && observed[s.used].At+most < want.At
			if (level == want.Level || mayMiss) && !lost {
				on = true
				reach(to, state{s.used, s.shown, s.off, i, false})
			}
			switch {
			case on:
			case s.used == len(observed):
				stuck(e, i, want.At)
			default:
				stuck(e, i, min(want.At, observed[s.used].At))
			}
		}
	}
	for i := range all[len(expected)] {
		if used := all[len(expected)][i].used; used < len(observed) {
			stuck(len(expected), i, observed[used].At)
			continue
		}
		m.Whole, m.Expected, m.Observed, m.At, last = true, len(expected), len(observed), 0, i
		break
	}
	for e := range m.Came {
		m.Came[e] = -1
	}
	for e := m.Expected; e > 0; e-- {
		s := &all[e][last]
		if s.matched {
			m.Came[e-1] = s.used - 1
		}
		last = s.from
	}
	return m
}

// beforeCut reports whether an expected change comes before a cut of its own second, so that no return of power in that second bears on it:
// the next change is the relay's opening for want of power, and it is the first such of the second.
func (r *Rules) beforeCut(expected []*spec.Change, e int) bool {
	at := expected[e].At
	if e+1 == len(expected) || expected[e+1].At != at || expected[e+1].By != spec.ClausePower {
		return false
	}
	for i := e; i >= 0 && expected[i].At == at; i-- {
		if expected[i].By == spec.ClausePower {
			return false
		}
	}
	for _, p := range r.power {
		if p.at == at {
			return !p.on
		}
	}
	return false
}

// reach adds a state, or puts it in place of one that comes to the same and is not as good.
func reach(states *[]state, s state) {
	for i := range *states {
		if o := &(*states)[i]; o.used == s.used {
			if s.better(o) {
				*o = s
			}
			return
		}
	}
	*states = append(*states, s)
}
