// Package rapidtest lets whoever implements a heating programmer in Go test it against the clauses from 'go test', as a property
// over pgregory.net/rapid: whatever is done to it, it answers and shows what the emulator does. A failure is shrunk by rapid, and told
// step by step with the clause that settles what should have been.
//
// It compares to the second: an ICS's tolerances are for boards, and 'hearthbench fuzz' and 'check' apply them.
package rapidtest

import (
	"fmt"
	"strings"

	"pgregory.net/rapid"

	"example.org/hearthbench/conformance/explain"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// Check checks that devices with a conformance statement behave as the clauses say. newDevice returns one as it left the factory. How
// long it goes on is rapid's to say: -rapid.checks and -rapid.steps. It fails the test at once if the statement is not valid.
func Check(t rapid.TB, ics spec.ICS, newDevice func(spec.ICS) wire.Device) {
	t.Helper()
	if err := ics.Validate(); err != nil {
		t.Fatalf("the conformance statement is not valid: %v", err)
	}
	rapid.Check(t, Property(ics, newDevice))
}

// Property is what Check checks, for those who run it themselves, as with [rapid.MakeFuzz]. The statement must be valid.
func Property(ics spec.ICS, newDevice func(spec.ICS) wire.Device) func(*rapid.T) {
	return func(t *rapid.T) {
		unit, err := emulator.New(ics)
		if err != nil {
			t.Fatalf("the conformance statement is not valid: %v", err)
		}
		p := pair{t: t, ics: &ics, right: unit, tested: newDevice(ics)}
		p.do(spec.Input{Kind: spec.PowerOn})
		if rapid.SampledFrom([]bool{true, true, true, false}).Draw(t, "clock set") {
			p.do(Input(&ics, spec.SetClock).Draw(t, "input"))
		}
		actions := map[string]func(*rapid.T){"wait": func(*rapid.T) { p.wait() }}
		for k := range spec.Kind(spec.NumKinds) {
			actions[wire.KindWord(k)] = func(t *rapid.T) { p.do(Input(&ics, k).Draw(t, "input")) }
		}
		t.Repeat(actions)
		p.advance(2 * calendar.Day)
	}
}

// pair is the device under test beside the emulator.
type pair struct {
	t      *rapid.T
	ics    *spec.ICS
	right  emulator.Unit
	tested wire.Device
	story  strings.Builder
	have   []spec.Change
	want   []spec.Change
	last   [spec.NumSignals]spec.Change // of each signal, as it should be; NoClause if there has been none
}

func (p *pair) do(in spec.Input) {
	fmt.Fprintf(&p.story, "@%d %s\n", p.right.Now(), wire.AppendInput(nil, in))
	var want, have spec.Reply
	want, p.want = p.right.Do(in, p.want[:0])
	have, p.have = p.tested.Do(in, p.have[:0])
	if have.Outcome != want.Outcome {
		why := explain.Refusal(want.Refusal, in, p.ics)
		if why != "" {
			why = ": " + why
		}
		p.t.Fatalf("%sanswered with %s; it should be %s%s", p.story.String(), wire.OutcomeWord(have.Outcome), wire.OutcomeWord(want.Outcome), why)
	}
	p.compare()
}

// wait draws a wait to or around an instant at which something can change, or of a length that means something.
func (p *pair) wait() {
	seconds := rapid.SampledFrom([]uint64{1, 30, 60, 600, 3600, 8 * calendar.Hour, calendar.Day, 7 * calendar.Day}).Draw(p.t, "seconds")
	if next, ok := p.right.Next(); ok && next-p.right.Now() < 40*calendar.Day && rapid.Bool().Draw(p.t, "to the next change") {
		seconds = max(1, next-p.right.Now())
		seconds += rapid.SampledFrom([]uint64{1, 0, 2, 61}).Draw(p.t, "around it") - 1
	}
	p.advance(seconds)
}

func (p *pair) advance(seconds uint64) {
	fmt.Fprintf(&p.story, "@%d go %d\n", p.right.Now(), seconds)
	p.want = p.right.Advance(seconds, p.want[:0])
	p.have = p.tested.Advance(seconds, p.have[:0])
	p.compare()
}

func (p *pair) compare() {
	for i := range max(len(p.want), len(p.have)) {
		switch {
		case i == len(p.have):
			p.t.Fatalf("%s'%s' is missing, by %s", p.story.String(), wire.AppendChange(nil, p.want[i]), p.want[i].By)
		case i == len(p.want):
			p.t.Fatalf("%s'%s' should not have come: %s", p.story.String(), wire.AppendChange(nil, p.have[i]), p.stands(p.have[i].Signal))
		}
		if w, h := &p.want[i], &p.have[i]; w.At != h.At || w.Signal != h.Signal || w.Level != h.Level {
			p.t.Fatalf("%s'%s' came; it should have been '%s', by %s", p.story.String(), wire.AppendChange(nil, *h), wire.AppendChange(nil, *w), w.By)
		}
		p.last[p.want[i].Signal] = p.want[i]
	}
}

// stands tells how a signal should be, and why.
func (p *pair) stands(s spec.Signal) string {
	if last := &p.last[s]; last.By != spec.NoClause {
		return fmt.Sprintf("the last change was to be '%s', by %s", wire.AppendChange(nil, *last), last.By)
	}
	return fmt.Sprintf("nothing has been done by which %s changes", wire.SignalWord(s))
}
