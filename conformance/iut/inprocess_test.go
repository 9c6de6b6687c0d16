package iut

import (
	"context"
	"errors"
	"strings"
	"testing"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// odd is the fake, but for one request.
type odd struct {
	fake
	do      func(spec.Input) []spec.Change
	advance func() []spec.Change
}

func (d *odd) Do(in spec.Input, buf []spec.Change) (spec.Reply, []spec.Change) {
	if d.do == nil || in.Kind != spec.Boost {
		return d.fake.Do(in, buf)
	}
	return spec.Reply{}, append(buf, d.do(in)...)
}

func (d *odd) Advance(seconds uint64, buf []spec.Change) []spec.Change {
	if d.advance == nil || d.elapsed > 0 {
		return d.fake.Advance(seconds, buf)
	}
	d.elapsed += seconds
	return append(buf, d.advance()...)
}

func TestOddDevices(t *testing.T) {
	on := func(changes ...spec.Change) func() []spec.Change { return func() []spec.Change { return changes } }
	flood := make([]spec.Change, 1000)
	for i := range flood {
		flood[i].Level = spec.Level(1 - i%2)
	}
	for _, test := range []struct {
		name     string
		device   odd
		kind     TroubleKind
		index    int
		detail   string
		received string
	}{
		{"panic", odd{do: func(spec.Input) []spec.Change { panic("oh no") }}, Died, 2, "panic: oh no", ""},
		{"flood", odd{do: func(spec.Input) []spec.Change { return flood }}, Flooded, 2, "more than 64 events",
			`61 events, "@0 hw 0" "@0 hw 1" "@0 hw 0" "@0 hw 1"`},
		{"past", odd{advance: on(spec.Change{Level: 1})}, Nonsense, 3, "an event of second 0, where it should be 1 to 100", `"@0 hw 1"`},
		{"future", odd{advance: on(spec.Change{At: 101, Level: 1})}, Nonsense, 3, "an event of second 101, where", `"@101 hw 1"`},
		{"no change", odd{advance: on(spec.Change{At: 5, Level: 1}, spec.Change{At: 6, Level: 1})}, Nonsense, 3, "hw was 1 already",
			`"@5 hw 1" "@6 hw 1"`},
		{"no signal", odd{advance: on(spec.Change{At: 5, Signal: 4, Level: 1})}, Nonsense, 3, "there is no such signal", `"@5 (4) 1"`},
	} {
		t.Run(test.name, func(t *testing.T) {
			first := true
			u := InProcess("odd", spec.FullICS(), func(ics spec.ICS) wire.Device {
				if !first {
					return newFake(ics)
				}
				first = false
				device := test.device
				return &device
			})
			got := collect(t, u, []Script{hostileScript, goodScript})
			checkTrouble(t, got[0].Trouble, test.kind, test.index, test.detail, "")
			if tr := got[0].Trouble; tr.Received != test.received {
				t.Errorf("received %s, want %s", tr.Received, test.received)
			}
			if len(got[0].Answers) != test.index || len(got[0].Changes) != 0 {
				t.Errorf("%d answers, %d changes", len(got[0].Answers), len(got[0].Changes))
			}
			if got[1].Trouble != nil {
				t.Errorf("second script: %v", got[1].Trouble)
			}
			if test.name == "panic" && !strings.Contains(strings.Join(got[0].Trouble.Ending.Stderr, "\n"), "inprocess_test.go") {
				t.Errorf("the stack does not show where: %q", got[0].Trouble.Ending.Stderr)
			}
		})
	}
}

func TestGoZeroHasNoEvents(t *testing.T) {
	u := InProcess("odd", spec.FullICS(), func(spec.ICS) wire.Device {
		return &odd{advance: func() []spec.Change { return []spec.Change{{Level: 1}} }}
	})
	got := collect(t, u, []Script{{{}, pass(0)}})
	checkTrouble(t, got[0].Trouble, Nonsense, 1, "go 0 has no events", "")
}

// TestChannelsFitted: a unit with one channel has no events of the other.
func TestChannelsFitted(t *testing.T) {
	fit := input(spec.Input{Kind: spec.Fit, FitOption: spec.FitChannels, FitValue: uint8(spec.OnlyCH)})
	ics := spec.FullICS()
	both, only := Script{{}, pass(10)}, Script{{}, fit, pass(10)}
	got := collect(t, InProcess("fake", ics, newFake), []Script{both, only, both})
	if got[0].Trouble != nil || got[2].Trouble != nil {
		t.Errorf("fitted with both: %v, %v", got[0].Trouble, got[2].Trouble)
	}
	checkTrouble(t, got[1].Trouble, Nonsense, 2, "the unit has no channel hw", "")
	ics.Fitted.Channels = spec.OnlyCH
	got = collect(t, InProcess("fake", ics, newFake), []Script{both})
	checkTrouble(t, got[0].Trouble, Nonsense, 1, "the unit has no channel hw", "")
}

func TestInProcessCancel(t *testing.T) {
	stop := errors.New("enough")
	ctx, cancel := context.WithCancelCause(t.Context())
	n := 0
	err := InProcess("fake", spec.FullICS(), newFake).Run(ctx, []Script{goodScript, goodScript}, func(int, *Observation) {
		n++
		cancel(stop)
	})
	if err != stop || n != 1 {
		t.Errorf("%v after %d scripts", err, n)
	}
}
