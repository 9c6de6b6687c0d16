package realtime

import (
	"math/rand/v2"
	"slices"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/tolerance"
	"example.org/hearthbench/emulator/spec"
)

// Steady reports whether a unit that is right would show the same, within the slack in seconds, whenever within the slack the inputs of
// a script come. That cannot be tried for all times: what is tried is all inputs as late as can be, all as early, those of one second
// spread over the slack, every other second's moved this way and the next that way, and eight times by chance, always the same.
func Steady(ics *spec.ICS, script iut.Script, slack uint64) bool {
	if slack == 0 {
		return true
	}
	var n int // inputs
	for i := range script {
		if script[i].Kind == iut.Do {
			n++
		}
	}
	exact, outcomes := course(ics, script, make([]int64, n))
	rules := tolerance.New(ics, spec.Tolerances{})
	rules.Slack = slack
	now, do := uint64(0), 0
	for i := range script {
		switch r := &script[i]; r.Kind {
		case iut.Go:
			now += r.Seconds
		case iut.Do:
			if outcomes[do] == spec.Accepted {
				rules.Did(now, &r.Input)
			}
			do++
		}
	}
	for _, moves := range plans(script, n, int64(slack)) {
		moved, replies := course(ics, script, moves)
		if !slices.Equal(outcomes, replies) {
			return false
		}
		for s := spec.Signal(0); s < spec.NumSignals; s++ {
			if !rules.Match(0, of(s, exact), of(s, moved), now).Whole {
				return false
			}
		}
	}
	return true
}

func of(s spec.Signal, changes []spec.Change) (own []*spec.Change) {
	for i := range changes {
		if changes[i].Signal == s {
			own = append(own, &changes[i])
		}
	}
	return own
}

// plans are ways in which inputs may be moved: for each input by how many seconds.
func plans(script iut.Script, inputs int, slack int64) (all [][]int64) {
	// For each input: which of its second's it is, of how many, and the number of its second among those that have any.
	type place struct{ index, of, second int }
	places := make([]place, 0, inputs)
	first, second := 0, -1
	for i := range script {
		r := &script[i]
		if r.Kind == iut.Go && r.Seconds > 0 {
			first = len(places)
		}
		if r.Kind != iut.Do {
			continue
		}
		if len(places) == first {
			second++
		}
		places = append(places, place{index: len(places) - first, second: second})
		for j := first; j < len(places); j++ {
			places[j].of = len(places) - first
		}
	}
	random := rand.New(rand.NewPCG(1, 2))
	chance := func(place) int64 { return random.Int64N(2*slack+1) - slack }
	either := func(even, odd int64) func(place) int64 {
		return func(p place) int64 {
			if p.second%2 == 0 {
				return even
			}
			return odd
		}
	}
	for _, move := range []func(place) int64{
		either(slack, slack), either(-slack, -slack),
		func(p place) int64 { return slack * int64(p.index) / int64(max(1, p.of-1)) },
		either(slack, 0), either(0, slack), either(slack, -slack), either(-slack, slack),
		chance, chance, chance, chance, chance, chance, chance, chance,
	} {
		moves := make([]int64, 0, inputs)
		for _, p := range places {
			moves = append(moves, move(p))
		}
		all = append(all, moves)
	}
	return all
}

// course returns what the emulator shows and answers if each input comes so many seconds later, or earlier, but not before the one
// before it.
func course(ics *spec.ICS, script iut.Script, moves []int64) (changes []spec.Change, outcomes []spec.Outcome) {
	device := oracle.Emulator(*ics)
	var now, asked, total uint64 // the device's second, the script's, and its end
	total = seconds(script)
	advance := func(to uint64) {
		if to = min(to, total); to > now {
			changes = device.Advance(to-now, changes)
			now = to
		}
	}
	for i := range script {
		switch r := &script[i]; r.Kind {
		case iut.Go:
			asked += r.Seconds
		case iut.Do:
			advance(uint64(max(0, int64(asked)+moves[len(outcomes)])))
			var reply spec.Reply
			reply, changes = device.Do(r.Input, changes)
			outcomes = append(outcomes, reply.Outcome)
		}
	}
	advance(total)
	return changes, outcomes
}
