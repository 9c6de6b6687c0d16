package scenario

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

func parse(t *testing.T, file string) *Scenario {
	t.Helper()
	s, err := Parse("f.yaml", []byte(file))
	require.NoError(t, err)
	return s
}

// rows writes a trace as short lines: second, then an input with its reply, or a change with its reason.
func rows(trace *Trace) []string {
	var all []string
	for _, e := range trace.Entries {
		what := signalWords(e.Change.Signal, e.Change.Level, false) + " " + e.Change.By.String()
		if e.Input != nil {
			what = e.Input.Step.Text + " " + wire.OutcomeWord(e.Input.Reply.Outcome)
		}
		all = append(all, fmt.Sprintf("%d %s %s", e.At, e.Display.beside(e.Local), what))
	}
	return all
}

func TestDisplayFollowsTheUnitNotTheTruth(t *testing.T) {
	trace := parse(t, `title: x
clock: unset
start: 2026-01-14 05:00
until: +13:00:00
given: [mode hw off, table ch every 06:00-07:00]
steps:
- {at: +01:00:00, do: override ch}
- {at: +00:00:00, do: clock 2026-02-01 05:50}
- {at: +00:30:00, do: power off}
- {at: +09:00:00, do: power on}
`).Run()
	assert.Equal(t, []string{
		"3600 unset override ch refused",
		"3600 unset clock 2026-02-01 05:50 accepted",
		"4200 2026-02-01 06:00:00 ch closes MOD-2", // ten minutes after the setting
		"5400 2026-02-01 06:20:00 power off accepted",
		"5400 no power ch opens PWR-1",
		"37800 no power power on accepted", // nine hours on: the reserve of eight has run out
	}, rows(trace))
	assert.Equal(t, "the clock is unset (CLK-11)", trace.Entries[0].Why)
}

func TestExpectations(t *testing.T) {
	s := parse(t, head+`unit: {channels: ch, bad-value: clamped}
steps:
- {at: +01:00:00, do: override ch, expect: refused}
- {at: +00:00:00, do: override hw, expect: unsupported}
- {at: +00:00:00, do: boost ch 45, expect: accepted}
`)
	trace := s.Run()
	assert.False(t, trace.Holds())
	unmet := trace.Unmet()
	require.Len(t, unmet, 1)
	assert.Equal(t, 1, unmet[0].Number)
	var b strings.Builder
	require.NoError(t, trace.WriteTable(&b, 96))
	assert.Contains(t, b.String(), "override ch: accepted, not refused")
	assert.Contains(t, b.String(), "Does not hold: input 1 (f.yaml:6:23) expects refused, and was accepted.")
	assert.Contains(t, b.String(), "the unit does not have this (INP-5)")
	assert.NotContains(t, b.String(), "hw ") // no lane, no level
}

func TestInputsOfOneLineMeetTheirExpectationTogether(t *testing.T) {
	// Both edits are accepted, and so is the line. The first of them closes hw, the second ch: each input shows its own change (OUT-5).
	trace := parse(t, head+`given: [table both every none]
steps:
- {at: 2026-01-14 06:30, do: period both wed 1 06:00 07:00, expect: accepted}
`).Run()
	assert.True(t, trace.Holds())
	assert.Equal(t, []string{
		"5400 06:30:00 period both wed 1 06:00 07:00 accepted", "5400 06:30:00 hw closes MOD-2", "5400 06:30:00 ch closes MOD-2",
		"7200 07:00:00 ch opens MOD-2", "7200 07:00:00 hw opens MOD-2", // OUT-3
	}, rows(trace))
}

func TestInitialLevels(t *testing.T) {
	trace := parse(t, strings.Replace(head, "05:00", "08:00", 1)+"given: [table ch every 06:30-09:00, mode hw off]\n").Run()
	assert.Equal(t, [spec.NumSignals]spec.Level{spec.SigCH: 1}, trace.Initial)
	assert.Equal(t, []string{"3600 09:00:00 ch opens MOD-2"}, rows(trace))
}

func TestLimits(t *testing.T) {
	// notice from the start, with 30 minutes for heating; restricted a day later, 15 minutes for hot water; then armed without any.
	trace := parse(t, `title: x
start: 2026-01-14 05:00
until: +80:00:00
given: ["lock arm {credential} 1 1 none 30 15 60 none"]
steps:
- {at: +30:00:00, do: "lock arm {credential} 1 1 none none none none none"}
`).Run()
	none := spec.NoAllowance
	assert.Equal(t, []Limit{
		{Stage: spec.Notice, Allowances: [2]uint8{none, 30}},
		{Stage: spec.Restricted, Allowances: [2]uint8{15, none}},
	}, trace.Limits)
	var b strings.Builder
	require.NoError(t, trace.WriteTable(&b, 96))
	assert.Contains(t, b.String(), "Stage notice of the lock limits ch to 30 minutes an hour, so that at most 720 minutes of heat a day remain.")
	assert.Contains(t, b.String(), "Stage restricted of the lock limits hw to 15 minutes an hour, so that at most 360 minutes of heat a day remain.")
	assert.Contains(t, b.String(), "take advice where tenants are concerned")
}

func TestNoLimitNoAdvice(t *testing.T) {
	trace := parse(t, head+"given: [\"lock arm {credential} 1 1 none none none none none\"]\n").Run()
	assert.Empty(t, trace.Limits)
	var b strings.Builder
	require.NoError(t, trace.WriteTable(&b, 96))
	assert.NotContains(t, b.String(), "tenants")
	assert.Contains(t, b.String(), "time control only")
}

func TestJSON(t *testing.T) {
	trace := parse(t, `title: x
unit: {coupling: gravity}
start: 2026-01-14 05:00
until: 2026-01-14 08:00
given: [mode hw off, table ch every 06:30-09:00]
steps:
- {at: 2026-01-14 07:00, do: override ch}
- {at: 2026-01-14 07:30, do: override hw, expect: refused}
`).Run()
	var b bytes.Buffer
	require.NoError(t, trace.WriteJSON(&b))
	var got map[string]any
	require.NoError(t, json.Unmarshal(b.Bytes(), &got))
	assert.Equal(t, "2026-01-14T05:00:00Z", got["start"])
	assert.Equal(t, "gravity", got["unit"].(map[string]any)["coupling"])
	assert.NotContains(t, got["unit"], "credential")
	assert.Equal(t, map[string]any{"hw": 0.0, "ch": 0.0, "alert": "none", "sounder": 0.0}, got["initial"])
	assert.Equal(t, true, got["holds"])
	list := got["trace"].([]any)
	require.Len(t, list, 6)
	assert.Equal(t, map[string]any{
		"at": 5400.0, "local": "2026-01-14T06:30:00Z", "display": "2026-01-14 06:30:00", "signal": "ch", "level": 1.0,
		"clause": "MOD-2", "cause": "period", "slot": 1.0, "why": "period 1 begins (MOD-2)",
	}, list[1])
	assert.Equal(t, map[string]any{
		"at": 7200.0, "local": "2026-01-14T07:00:00Z", "display": "2026-01-14 07:00:00", "number": 1.0, "input": "override ch", "reply": "accepted",
	}, list[2])
	assert.Equal(t, map[string]any{
		"at": 9000.0, "local": "2026-01-14T07:30:00Z", "display": "2026-01-14 07:30:00", "number": 2.0, "input": "override hw", "reply": "refused",
		"why": "the schedule never changes by itself (OVR-9)", "clause": "OVR-9", "expected": "refused",
	}, list[5])
}

func TestSchemaHasTheWordsOfTheProtocol(t *testing.T) {
	var s struct {
		Properties struct {
			Unit struct {
				Properties map[string]struct {
					Enum             []string
					Minimum, Maximum *int
				}
			}
		}
	}
	require.NoError(t, json.Unmarshal(Schema, &s))
	options := s.Properties.Unit.Properties
	ics := spec.FullICS()
	tolerances := 0
	for _, name := range wire.OptionNames() {
		o, ok := options[name]
		switch words := wire.OptionWords(name); {
		case !ok:
			tolerances++
		case words != nil:
			assert.ElementsMatch(t, words, o.Enum, name)
		case name != "credential":
			require.NotNil(t, o.Maximum, name)
			assert.NoError(t, wire.SetOption(&ics, name, fmt.Sprint(*o.Minimum)), name)
			assert.NoError(t, wire.SetOption(&ics, name, fmt.Sprint(*o.Maximum)), name)
			assert.Error(t, wire.SetOption(&ics, name, fmt.Sprint(*o.Minimum-1)), name)
			assert.Error(t, wire.SetOption(&ics, name, fmt.Sprint(*o.Maximum+1)), name)
		}
	}
	assert.Equal(t, 6, tolerances)
	for o := spec.FitChannels; o <= spec.FitCoupling; o++ {
		assert.Equal(t, wire.FitWords(o), options[wire.FitOptionWord(o)].Enum)
	}
	assert.Len(t, options, len(wire.OptionNames())-tolerances+4)
	var outcomes []string
	for o := spec.Accepted; o <= spec.Unsupported; o++ {
		outcomes = append(outcomes, wire.OutcomeWord(o))
	}
	for _, word := range outcomes {
		assert.Contains(t, string(Schema), `"`+word+`"`)
	}
}

func TestCommandsAreThoseOfTheProtocol(t *testing.T) {
	for _, c := range commands {
		if c == "table" {
			continue
		}
		_, err := wire.ParseInput(c + " nonsense")
		var parse *wire.ParseError
		require.ErrorAs(t, err, &parse)
		assert.Equal(t, 2, parse.Word, c)
	}
	for k := spec.Kind(0); k < spec.NumKinds; k++ {
		first, _, _ := strings.Cut(wire.KindWord(k), " ")
		assert.True(t, slices.Contains(commands, first), first)
	}
}
