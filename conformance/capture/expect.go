package capture

import (
	"strings"

	"example.org/hearthbench/conformance/scenario"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/tolerance"
	"example.org/hearthbench/emulator/spec"
)

// expectation is what a scenario says of one signal.
type expectation struct {
	signal  spec.Signal
	initial spec.Level
	changes []expected
}

// expected is a change that a unit should show, and how far from its second it may come.
type expected struct {
	*spec.Change
	why string
	// By the unit's clock, its drift counts from the last time that something outside set it going: at least so long ago, in
	// seconds. 0 is a change that the very input brings.
	running float64
	// In seconds: drift is allowed either way, lateness beyond it. Both are the ICS's.
	drift, late float64
}

// expect returns what a trace says of every signal, and until when outputs may lag after its start, in seconds.
func expect(t *scenario.Trace, claims *spec.Tolerances) (all [spec.NumSignals]expectation, ready float64) {
	ics := &t.Scenario.ICS
	rules := tolerance.New(ics, *claims)
	rules.Did(0, &spec.Input{Kind: spec.PowerOn})
	for i := range t.Scenario.Given {
		did(rules, ics, 0, t.Scenario.Given[i].Text)
	}
	for i := range t.Entries {
		if d := t.Entries[i].Input; d != nil && d.Reply.Outcome == spec.Accepted {
			did(rules, ics, t.Entries[i].At, d.Step.Text)
		}
	}
	for sig := range all {
		all[sig] = expectation{signal: spec.Signal(sig), initial: t.Initial[sig]}
	}
	for i := range t.Entries {
		if e := &t.Entries[i]; e.Input == nil {
			x := &all[e.Change.Signal]
			x.changes = append(x.changes, allow(rules, claims, &e.Change, e.Why))
		}
	}
	return all, float64(rules.Ready(0))
}

// did tells the rules of a line of the scenario. Tables do not matter to them.
func did(rules *tolerance.Rules, ics *spec.ICS, at uint64, text string) {
	words := strings.Fields(text)
	switch {
	case words[0] == "table" || words[0] == "period":
		return
	case words[0] == "boost" && words[len(words)-1] == "cancel":
		words[len(words)-1] = "0"
	}
	// The scenario has been read: there is nothing wrong with the line.
	inputs, _ := suite.Expand(ics, ics.Fitted, strings.Join(words, " "))
	for i := range inputs {
		rules.Did(at, &inputs[i])
	}
}

// allow says how far from its second a change may come.
func allow(rules *tolerance.Rules, claims *spec.Tolerances, c *spec.Change, why string) expected {
	a := rules.Allow(c)
	return expected{
		Change: c, why: why,
		// A boost is timed by the same crystal as the clock.
		running: float64(max(a.Running, a.Boost)),
		drift:   float64(a.Boost) * float64(claims.BoostRate) / 1e6,
		late:    float64(a.Late),
	}
}
