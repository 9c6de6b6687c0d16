package diagnosis

import (
	"slices"
	"strings"
)

// cure is what puts a cause right.
type cure struct {
	Visit bool
	Who   Doer
	Part  string
	Words string
	// What the advice leads to, for cautions.
	Wiring, Boiler, Restricted, HotWater bool
}

// Action is what to do: no visit, with the words to say, or which trade and which part.
type Action struct {
	Visit    bool     `json:"visit"`
	Who      Doer     `json:"who"`
	Part     string   `json:"part,omitempty"`
	Words    string   `json:"words,omitempty"`
	Cautions []string `json:"cautions,omitempty"`
}

// The cautions that go with actions.
const (
	cautionWiring     = "Work on mains wiring is isolated and proved dead first, every supply of it, and is for competent persons; local codes rule."
	cautionBoiler     = "Work on a gas boiler is for registered engineers; the householder resets it once at most."
	cautionRestricted = "Restricting heat can harm people who depend on it: ask who lives there, and provide heat until the service is done. 10 minutes an hour is 4 hours a day at most."
	cautionHotWater   = "Stored hot water is kept hot enough against legionella and not so hot at the tap that it scalds; follow local guidance before a cylinder thermostat is set lower."
)

func (c cure) action() Action {
	a := Action{Visit: c.Visit, Who: c.Who, Part: c.Part, Words: c.Words}
	if a.Who == "" {
		a.Who = Householder
	}
	for _, x := range []struct {
		on    bool
		words string
	}{{c.Wiring, cautionWiring}, {c.Boiler, cautionBoiler}, {c.Restricted, cautionRestricted}, {c.HotWater, cautionHotWater}} {
		if x.on {
			a.Cautions = append(a.Cautions, x.words)
		}
	}
	return a
}

// and returns the action for two causes at once.
func (a Action) and(b Action) Action {
	join := func(x, y, by string) string {
		if x == "" || y == "" || x == y {
			return x + strings.TrimPrefix(y, x)
		}
		return x + by + y
	}
	both := Action{Visit: a.Visit || b.Visit, Who: a.Who, Part: join(a.Part, b.Part, "; "), Words: join(a.Words, b.Words, " ")}
	if !a.Visit && b.Visit || rank(b.Who) > rank(a.Who) {
		both.Who = b.Who
	}
	for _, c := range slices.Concat(a.Cautions, b.Cautions) {
		if !slices.Contains(both.Cautions, c) {
			both.Cautions = append(both.Cautions, c)
		}
	}
	return both
}

// rank orders doers by what they may do.
func rank(d Doer) int {
	return slices.Index([]Doer{Householder, Landlord, HeatingTech, Competent, Registered}, d)
}

// share is how much of a set's probability must come to a visit before somebody is sent.
const share = 0.5

// together is what to do about a set: what its causes have in common, or else, since the evidence cannot tell them apart, what the first
// of them asks for without sending anybody until the next question is answered.
func together(causes []Cause) Action {
	a := causes[0].Action
	total, visit := 0.0, 0.0
	for i := range causes {
		total += causes[i].Probability
		if causes[i].Action.Visit {
			visit += causes[i].Probability
		}
	}
	if visit < share*total {
		for i := range causes {
			if !causes[i].Action.Visit {
				return causes[i].Action
			}
		}
	}
	if a.Visit && len(causes) > 1 {
		for i := 1; i < len(causes); i++ {
			b := causes[i].Action
			if !b.Visit || causes[i].Probability < causes[0].Probability/4 {
				continue
			}
			if b.Who != a.Who || b.Part != a.Part {
				a = a.and(Action{Visit: true, Who: b.Who, Cautions: b.Cautions, Part: b.Part})
			}
			if strings.Count(a.Part, ";") >= 3 {
				break
			}
		}
	}
	return a
}
