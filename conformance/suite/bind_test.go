package suite

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

// unit returns a full unit with options changed, as "option=value"; one value of an option at the back is the one fitted, and
// "option=VALUES FITTED" says what there is too.
func unit(t testing.TB, changes ...string) *spec.ICS {
	t.Helper()
	ics := spec.FullICS()
	for _, change := range changes {
		name, value, _ := strings.Cut(change, "=")
		if o, err := wire.ParseFitOption(name); err == nil && !strings.Contains(value, " ") {
			v, err := wire.ParseFitValue(o, value)
			require.NoError(t, err)
			ics.Fitted, _ = ics.Fit(ics.Fitted, o, v)
			continue
		}
		require.NoError(t, wire.SetOption(&ics, name, value))
	}
	require.NoError(t, ics.Validate())
	return &ics
}

// vector is a vector with the given parts.
func vector(t testing.TB, needs, fit string, given []string, steps ...Step) *Vector {
	t.Helper()
	quoted := func(lines []string) string {
		if len(lines) == 0 {
			return ""
		}
		return `"` + strings.Join(lines, `", "`) + `"`
	}
	text := `{"format": 1, "family": "OVR", "vectors": [{"id": "OVR-2/x", "clauses": ["OVR-2"], "purpose": "p", "catches": "c",
		"needs": {` + needs + `}, "fit": {` + fit + `}, "start": "2026-06-10T05:07:00+01:00", "until": "2026-06-11T05:00:00+01:00",
		"given": [` + quoted(given) + `], "trace": []}]}`
	s := newSuite(t)
	require.NoError(t, s.Add("ovr.json", []byte(text)))
	v := s.Vectors[0]
	for _, step := range steps {
		require.NoError(t, new(lineChecker).check(step.Do, false))
		v.Steps = append(v.Steps, step)
	}
	return v
}

func lines(inputs []spec.Input) []string {
	var all []string
	for _, in := range inputs {
		all = append(all, string(wire.AppendInput(nil, in)))
	}
	return all
}

func bind(t testing.TB, v *Vector, ics *spec.ICS) *Bound {
	t.Helper()
	ok, why := v.Applies(ics)
	require.True(t, ok, why)
	b, err := v.Bind(ics)
	require.NoError(t, err)
	require.Same(t, v, b.Vector)
	return b
}

func TestAppliesByNeeds(t *testing.T) {
	cases := []struct{ needs, unit, want string }{ // want "" applies
		{`"holiday": "yes"`, "holiday=yes", ""},
		{`"holiday": "yes"`, "holiday=no", "needs holiday yes"},
		{`"lost-clock": ["unset", "restarts"]`, "lost-clock=restarts", ""},
		{`"lost-clock": ["unset", "restarts"]`, "lost-clock=resumes", "needs lost-clock unset or restarts"},
		{`"periods": 3`, "periods=3", ""},
		{`"periods": 3`, "periods=4", "needs periods 3"},
		{`"periods": 3`, "periods=2", "needs periods 3"},
		{`"periods": {"min": 2}`, "periods=2", ""},
		{`"periods": {"min": 2}`, "periods=6", ""},
		{`"periods": {"min": 2}`, "periods=1", "needs periods of at least 2"},
		{`"periods": {"max": 2}`, "periods=2", ""},
		{`"periods": {"max": 2}`, "periods=3", "needs periods of at most 2"},
		{`"reserve": {"min": 60, "max": 480}`, "reserve=60", ""},
		{`"reserve": {"min": 60, "max": 480}`, "reserve=480", ""},
		{`"reserve": {"min": 60, "max": 480}`, "reserve=481", "needs reserve from 60 to 480"},
		{`"reserve": {"min": 60, "max": 480}`, "reserve=59", "needs reserve from 60 to 480"},
		{`"zone": -60`, "zone=-60", ""},
		{`"zone": -60`, "zone=60", "needs zone -60"},
		{`"zone": 0`, "zone=0", ""},
		{`"boost-minutes": [60, 180]`, "boost-longest=180", ""},
		{`"boost-minutes": [60, 180]`, "boost-longest=120", "needs a boost of 180 minutes"},
		{`"boost-minutes": [30]`, "boost-step=60", "needs a boost of 30 minutes"},
		{`"boost-minutes": [60]`, "boost-longest=0", "needs a boost of 60 minutes"},
		{`"boost-step": {"max": 60}, "boost-longest": 180`, "boost-step=30", ""},
		{`"holiday": "yes", "lock": "yes"`, "lock=no", "needs lock yes"},
	}
	for _, c := range cases {
		ok, why := vector(t, c.needs, "", nil).Applies(unit(t, c.unit))
		assert.Equal(t, c.want, why, "%s on %s", c.needs, c.unit)
		assert.Equal(t, c.want == "", ok, "%s on %s", c.needs, c.unit)
	}
}

func TestAppliesByWhatIsFitted(t *testing.T) {
	// Units that are sold one way only.
	single, plain := "channels=hw hw", "coupling=independent independent"
	steps := func(lines ...string) (all []Step) {
		for _, l := range lines {
			all = append(all, Step{Do: l})
		}
		return all
	}
	unsupported := []Step{{Do: "power off"}, {Do: "fit coupling gravity", Want: spec.Unsupported}}
	cases := []struct {
		name, fit string
		given     []string
		steps     []Step
		unit      []string
		want      string
	}{
		{name: "a unit that lists the value", fit: `"coupling": "gravity"`},
		{name: "a unit that does not", fit: `"coupling": "gravity"`, unit: []string{plain}, want: "needs coupling gravity"},
		{name: "a cycle that it does not have", fit: `"cycle": "5/2"`, unit: []string{"cycle=24h,7day 7day"}, want: "needs cycle 5/2"},
		{name: "no channels named, one fitted", unit: []string{"channels=hw"}},
		{name: "gravity, one channel fitted", fit: `"coupling": "gravity"`, unit: []string{"channels=hw"}, want: "needs both channels"},
		{name: "shared, one channel fitted", fit: `"timing": "shared"`, unit: []string{"channels=ch"}, want: "needs both channels"},
		{name: "independent, one channel fitted", fit: `"coupling": "independent", "timing": "separate"`, unit: []string{"channels=ch"}},
		{name: "both channels and gravity named, one fitted", fit: `"channels": "both", "coupling": "gravity"`, unit: []string{"channels=hw"}},
		{name: "both channels named, one there is", fit: `"channels": "both"`, unit: []string{single}, want: "needs channels both"},
		{name: "one channel and gravity named", fit: `"channels": "hw", "coupling": "gravity"`},
		{name: "a step that fits", steps: steps("power off", "fit coupling gravity", "power on")},
		{name: "a step that fits what the unit does not list", steps: steps("power off", "fit coupling gravity", "power on"), unit: []string{plain}, want: "needs coupling gravity"},
		{name: "the same refused", steps: []Step{{Do: "fit coupling gravity", Want: spec.Refused}}, unit: []string{plain}, want: "needs coupling gravity"},
		{name: "the same unsupported", steps: unsupported, unit: []string{plain}},
		{name: "unsupported, but the unit lists it", steps: unsupported, want: "needs a unit that cannot be fitted with coupling gravity"},
		{name: "a given line that fits what the unit does not list", given: []string{"power off", "fit coupling gravity", "power on"}, unit: []string{plain}, want: "needs coupling gravity"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			ok, why := vector(t, "", c.fit, c.given, c.steps...).Applies(unit(t, c.unit...))
			assert.Equal(t, c.want, why)
			assert.Equal(t, c.want == "", ok)
		})
	}
}

func TestBindBegins(t *testing.T) {
	v := vector(t, "", `"timing": "shared"`, []string{"mode hw off"})
	b := bind(t, v, unit(t))
	assert.Equal(t, []string{"fit timing shared"}, lines(b.Fits))
	assert.Equal(t, []string{"power on", "clock 2026-06-10 05:07", "mode hw off"}, lines(b.Given), "the clock is set to the local time of the start")
	v.ClockUnset = true
	assert.Equal(t, []string{"power on", "mode hw off"}, lines(bind(t, v, unit(t)).Given))
}

func TestBindExpandsWords(t *testing.T) {
	week := func(table, rest string) (all []string) {
		for _, day := range []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"} {
			all = append(all, "period "+table+" "+day+" "+rest)
		}
		return all
	}
	cases := []struct {
		line string
		unit []string
		want []string
	}{
		{"period hw every 2 06:30 24:00", nil, week("hw", "2 06:30 24:00")},
		{"period hw every 2 06:30 24:00", []string{"cycle=5/2"}, []string{"period hw weekdays 2 06:30 24:00", "period hw weekend 2 06:30 24:00"}},
		{"period hw every 2 06:30 24:00", []string{"cycle=24h"}, []string{"period hw all 2 06:30 24:00"}},
		{"period both sat 2 06:30 09:00", []string{"cycle=24h"}, []string{"period hw sat 2 06:30 09:00", "period ch sat 2 06:30 09:00"}},
		{"period both every 9 24:00 06:00", []string{"cycle=24h", "timing=shared"}, []string{"period both all 9 24:00 06:00"}},
		{"period both every 1 06:30 09:00", nil, append(week("hw", "1 06:30 09:00"), week("ch", "1 06:30 09:00")...)},
		{"period ch wed 1 06:30 09:00", []string{"timing=shared", "cycle=24h"}, []string{"period ch wed 1 06:30 09:00"}},
		{"table ch every 06:30-09:00 17:00-24:00", []string{"cycle=24h", "periods=4"}, []string{
			"period ch all 1 06:30 09:00", "period ch all 2 17:00 24:00", "period ch all 3 00:00 00:00", "period ch all 4 00:00 00:00"}},
		{"table both weekend 06:30-09:00", []string{"cycle=5/2", "periods=2"}, []string{
			"period hw weekend 1 06:30 09:00", "period hw weekend 2 00:00 00:00", "period ch weekend 1 06:30 09:00", "period ch weekend 2 00:00 00:00"}},
		{"table both every none", []string{"cycle=24h", "periods=1", "timing=shared"}, []string{"period both all 1 00:00 00:00"}},
		{"table hw all 06:30-09:00 17:00-22:00", []string{"cycle=24h", "periods=1"}, []string{
			"period hw all 1 06:30 09:00", "period hw all 2 17:00 22:00"}}, // which the unit refuses: the vector lacks a need
		{"lock remove {credential}", []string{"credential=0009"}, []string{"lock remove 0009"}},
		{"lock remove {wrong}", []string{"credential=0009"}, []string{"lock remove 0000"}},
		{"lock remove {wrong}", nil, []string{"lock remove 246811"}},
		{"lock remove {wrong-first}", nil, []string{"lock remove 346810"}},
		{"lock remove {wrong-first}", []string{"credential=9009"}, []string{"lock remove 0009"}},
		{"lock remove {short}", nil, []string{"lock remove 24681"}},
		{"lock arm {credential} 30 7 none none none 20 08:00", nil, []string{"lock arm 246810 30 7 none none none 20 08:00"}},
	}
	for _, c := range cases {
		ics := unit(t, c.unit...)
		assert.Empty(t, cmp.Diff(c.want, lines(bind(t, vector(t, "", "", []string{c.line}), ics).Given[2:])), "%s on %v", c.line, c.unit)
	}
	none := unit(t, "lock=no")
	none.Credential = ""
	assert.Equal(t, []string{"lock remove 0000", "lock remove 0001", "lock remove 1000"},
		lines(bind(t, vector(t, "", "", []string{"lock remove {credential}", "lock remove {wrong}", "lock remove {wrong-first}"}), none).Given[2:]))
}

func TestBindNumbersSteps(t *testing.T) {
	v := vector(t, "", "", nil, Step{At: 5, Do: "override hw", Want: spec.Refused}, Step{At: 60, Do: "period both every 1 06:30 09:00"}, Step{At: 60, Do: "reset"})
	b := bind(t, v, unit(t, "cycle=5/2"))
	type row struct {
		At   uint64
		Line string
		Want spec.Outcome
		Step int
	}
	var have []row
	for _, s := range b.Steps {
		have = append(have, row{s.At, string(wire.AppendInput(nil, s.Input)), s.Want, s.Step})
	}
	assert.Equal(t, []row{
		{5, "override hw", spec.Refused, 0},
		{60, "period hw weekdays 1 06:30 09:00", spec.Accepted, 1}, {60, "period hw weekend 1 06:30 09:00", spec.Accepted, 1},
		{60, "period ch weekdays 1 06:30 09:00", spec.Accepted, 1}, {60, "period ch weekend 1 06:30 09:00", spec.Accepted, 1},
		{60, "reset", spec.Accepted, 2},
	}, have)
}

// What a step fits counts from the return of power (PWR-14), for the words of later lines too.
func TestBindFollowsWhatIsFitted(t *testing.T) {
	edit := "period both every 1 06:30 09:00"
	steps := func(lines ...string) (all []Step) {
		for _, l := range lines {
			step := Step{Do: l}
			step.Do, _ = strings.CutSuffix(l, " REFUSED")
			if step.Do != l {
				step.Want = spec.Refused
			}
			all = append(all, step)
		}
		return all
	}
	cases := []struct {
		name  string
		fit   string
		given []string
		steps []Step
		want  []string // of the last line
	}{
		{"fitted, power on", "", nil, steps("power off", "fit cycle 24h", "power on", edit), []string{"period hw all 1 06:30 09:00", "period ch all 1 06:30 09:00"}},
		{"fitted, still without power", `"cycle": "5/2", "timing": "shared"`, nil, steps("power off", "fit cycle 24h", edit+" REFUSED"),
			[]string{"period both weekdays 1 06:30 09:00", "period both weekend 1 06:30 09:00"}},
		{"fitting refused", `"cycle": "5/2", "timing": "shared"`, nil, steps("fit cycle 24h REFUSED", "power off", "power on", edit),
			[]string{"period both weekdays 1 06:30 09:00", "period both weekend 1 06:30 09:00"}},
		{"fitted twice", "", nil, steps("power off", "fit timing shared", "fit cycle 24h", "power on", edit), []string{"period both all 1 06:30 09:00"}},
		{"fitted as one channel: no shared table", `"timing": "shared", "cycle": "24h"`, nil, steps("power off", "fit channels ch", "power on", edit),
			[]string{"period hw all 1 06:30 09:00", "period ch all 1 06:30 09:00"}},
		{"among the given lines", "", []string{"power off", "fit cycle 24h", "fit timing shared", "power on"}, steps(edit), []string{"period both all 1 06:30 09:00"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			b := bind(t, vector(t, "", c.fit, c.given, c.steps...), unit(t))
			var have []string
			for _, s := range b.Steps {
				if s.Step == len(c.steps)-1 {
					have = append(have, string(wire.AppendInput(nil, s.Input)))
				}
			}
			assert.Equal(t, c.want, have)
		})
	}
}

// everyInput has each kind of input, for each channel where there is one.
var everyInput = []string{
	"mode hw off", "mode ch off", "override hw", "override ch", "boost hw 60", "boost ch 60", "period hw all 1 06:30 09:00", "period ch all 1 06:30 09:00",
	"period both all 1 06:30 09:00", "clock 2026-06-10 05:08", "holiday 3", "holiday cancel", "lock arm 246810 30 7 20 20 20 20 none", "lock remove 246810",
	"reset", "power off", "fit cycle 24h", "power on",
}

func TestBindLeavesOutTheChannelThatIsNotThere(t *testing.T) {
	v := vector(t, "", `"cycle": "24h"`, everyInput)
	for _, line := range everyInput {
		v.Steps = append(v.Steps, Step{Do: line})
	}
	v.Initial = [spec.NumSignals]spec.Level{1, 1, 2, 1}
	for s := range spec.Signal(spec.NumSignals) {
		v.Trace = append(v.Trace, spec.Change{At: 9, Signal: s, By: spec.ClauseOff})
	}
	cases := []struct {
		unit    string
		fit     string
		without string // inputs that contain this are left out
		gone    spec.Signal
		both    []string // what the edit of both tables is
	}{
		{unit: "channels=both", gone: spec.NumSignals, both: []string{"period hw all 1 06:30 09:00", "period ch all 1 06:30 09:00"}},
		{unit: "channels=hw", without: " ch ", gone: spec.SigCH, both: []string{"period hw all 1 06:30 09:00"}},
		{unit: "channels=ch", without: " hw ", gone: spec.SigHW, both: []string{"period ch all 1 06:30 09:00"}},
		// A vector that names its channels means every input, those that are unsupported too.
		{unit: "channels=both", fit: "hw", gone: spec.NumSignals, both: []string{"period hw all 1 06:30 09:00", "period ch all 1 06:30 09:00"}},
		{unit: "channels=hw", fit: "hw", gone: spec.NumSignals, both: []string{"period hw all 1 06:30 09:00", "period ch all 1 06:30 09:00"}},
	}
	for _, c := range cases {
		t.Run(c.unit+" "+c.fit, func(t *testing.T) {
			v := *v
			if c.fit != "" {
				value, err := wire.ParseFitValue(spec.FitChannels, c.fit)
				require.NoError(t, err)
				v.Fit = append([]spec.Input{{Kind: spec.Fit, FitOption: spec.FitChannels, FitValue: value}}, v.Fit...)
			}
			var want []string
			for _, line := range everyInput {
				switch {
				case strings.HasPrefix(line, "period both"):
					want = append(want, c.both...)
				case c.without == "" || !strings.Contains(line+" ", c.without):
					want = append(want, line)
				}
			}
			b := bind(t, &v, unit(t, c.unit, "cycle=24h"))
			assert.Equal(t, want, lines(b.Given[2:]))
			var steps []spec.Input
			for _, s := range b.Steps {
				steps = append(steps, s.Input)
			}
			assert.Equal(t, want, lines(steps))
			initial, trace := v.Initial, []spec.Change(nil)
			for _, change := range v.Trace {
				if change.Signal == c.gone {
					initial[change.Signal] = 0
				} else {
					trace = append(trace, change)
				}
			}
			assert.Equal(t, initial, b.Initial)
			assert.Equal(t, trace, b.Trace)
		})
	}
}

// Projection leaves out, of every published vector, the other channel and nothing else.
func TestProjectionOfThePublishedSet(t *testing.T) {
	s, err := Load(vectors.Files)
	require.NoError(t, err)
	full := spec.FullICS()
	projected := 0
	for _, channel := range []spec.Channel{spec.HW, spec.CH} {
		single := full
		single.Fitted.Channels = spec.OnlyHW + spec.Channels(channel)
		gone := spec.CH - channel
		of := func(in *spec.Input) bool { // is for the channel that is gone
			switch in.Kind {
			case spec.SetMode, spec.Override, spec.Boost:
				return in.Channel == gone
			case spec.SetPeriod:
				return in.Table == spec.TableID(gone)
			}
			return false
		}
		for _, v := range s.Vectors {
			fitsChannels := false
			for _, in := range v.Fit {
				fitsChannels = fitsChannels || in.FitOption == spec.FitChannels
			}
			if ok, _ := v.Applies(&single); !ok || fitsChannels {
				continue
			}
			projected++
			one, err := v.Bind(&single)
			require.NoError(t, err, v.ID)
			both, err := v.Bind(&full)
			require.NoError(t, err, v.ID)
			var given []spec.Input
			for _, in := range both.Given {
				if !of(&in) {
					given = append(given, in)
				}
			}
			var steps []BoundStep
			for _, step := range both.Steps {
				if !of(&step.Input) {
					steps = append(steps, step)
				}
			}
			var trace []spec.Change
			for _, c := range both.Trace {
				if c.Signal != spec.Signal(gone) {
					trace = append(trace, c)
				}
			}
			require.Equal(t, given, one.Given, v.ID)
			require.Equal(t, steps, one.Steps, v.ID)
			require.Equal(t, trace, one.Trace, v.ID)
		}
	}
	assert.Greater(t, projected, 200)
}

func TestExpandForAnyUnit(t *testing.T) {
	ics := unit(t, "periods=1")
	inputs, err := Expand(ics, spec.Fitted{Channels: spec.OnlyCH, Cycle: spec.Cycle52, Timing: spec.Shared}, "table both every none")
	require.NoError(t, err)
	assert.Equal(t, []string{
		"period hw weekdays 1 00:00 00:00", "period hw weekend 1 00:00 00:00", "period ch weekdays 1 00:00 00:00", "period ch weekend 1 00:00 00:00",
	}, lines(inputs), "one channel has no shared table")
	_, err = Expand(ics, spec.Fitted{}, "period hw never 1 00:00 00:00")
	assert.EqualError(t, err, "word 3 of 'period hw never 1 00:00 00:00': day is mon, tue, wed, thu, fri, sat, sun, weekdays, weekend or all")
}
