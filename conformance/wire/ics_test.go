package wire

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/hearthbench/emulator/spec"
)

// otherICS differs from the zero ICS in every field.
func otherICS() spec.ICS {
	s := spec.FullICS()
	s.Fitted = spec.Fitted{Channels: spec.OnlyCH, Cycle: spec.Cycle52, Timing: spec.Shared, Coupling: spec.Gravity}
	s.Zone = -735 + 15
	s.OverrideKept, s.OverrideProgrammed, s.BoostExtends, s.BoostInHoliday, s.ResetUnsetsClock = true, true, true, true, true
	s.LostClock, s.KeptThroughCut, s.Wrap, s.Clamp = spec.LostRestarts, true, true, true
	s.Tolerances = spec.Tolerances{LatePowerOn: 1, LateScan: 2, Stagger: 3, BoostRate: 4, ClockRate: 5, LockGrain: 6}
	return s
}

// TestICSFieldsAreAllOptions finds a field of spec.ICS that no option of the table sets.
func TestICSFieldsAreAllOptions(t *testing.T) {
	want := otherICS()
	var check func(path string, v reflect.Value)
	check = func(path string, v reflect.Value) {
		if v.Kind() != reflect.Struct {
			if v.IsZero() {
				t.Errorf("field %s is zero in the test's own ICS", path)
			}
			return
		}
		for i := range v.NumField() {
			check(path+"."+v.Type().Field(i).Name, v.Field(i))
		}
	}
	check("ICS", reflect.ValueOf(want))
	got := readICS(t, string(AppendICS(nil, want)))
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
}

func readICS(t *testing.T, lines string) spec.ICS {
	t.Helper()
	var r ICSReader
	for line := range strings.Lines(lines) {
		if err := r.Line(strings.TrimSuffix(line, "\n")); err != nil {
			t.Fatal(err)
		}
	}
	s, err := r.ICS()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// conversation is the ICS of ADAPTER.md's conversation.
const conversation = `ics channels both both
ics cycle 24h,7day 24h
ics timing separate separate
ics coupling independent,gravity independent
ics periods 3
ics boost-longest 180
ics boost-step 60
ics holiday yes
ics summer-time automatic
ics lock no
ics reserve 480
`

func TestICSOfThePage(t *testing.T) {
	want := spec.ICS{
		Fitted: spec.Fitted{Channels: spec.BothChannels, Cycle: spec.Cycle24h, Timing: spec.Separate, Coupling: spec.Independent},
		Supported: spec.Supported{
			Channels: 1 << spec.BothChannels,
			Cycle:    1<<spec.Cycle24h | 1<<spec.Cycle7Day,
			Timing:   1 << spec.Separate,
			Coupling: 1<<spec.Independent | 1<<spec.Gravity,
		},
		Periods: 3, BoostLongest: 180, BoostStep: 60, Holiday: true, SummerTime: true, Reserve: 480,
		Tolerances: spec.Tolerances{LatePowerOn: 2, LockGrain: 1},
	}
	if diff := cmp.Diff(want, readICS(t, conversation)); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
	written := string(AppendICS(nil, want))
	for line := range strings.Lines(conversation) {
		if !strings.Contains(written, line) {
			t.Errorf("AppendICS leaves out %q:\n%s", line, written)
		}
	}
	if strings.Contains(written, "credential") {
		t.Errorf("AppendICS writes a credential that is not there:\n%s", written)
	}
}

func TestBadICSLines(t *testing.T) {
	for _, test := range []struct{ line, want string }{
		{"ics", "line 'ics': a line of the conformance statement is ics OPTION VALUE"},
		{"ok", "line 'ok': a line of the conformance statement is ics OPTION VALUE"},
		{"ics periods", "line 'ics periods': a line of the conformance statement is ics OPTION VALUE"},
		{"ics  periods 3", "line 'ics  periods 3': ICS option '' is unknown: the options are channels, cycle"},
		{"ics colour red", "line 'ics colour red': ICS option 'colour' is unknown: the options are channels, cycle"},
		{"ics periods 3 ", "line 'ics periods 3 ': ICS option periods: '3 ' is wrong: periods is a number from 1 to 6"},
		{"ics periods 0", "periods is a number from 1 to 6 without leading zeros"},
		{"ics periods 7", "periods is a number from 1 to 6 without leading zeros"},
		{"ics periods 03", "periods is a number from 1 to 6 without leading zeros"},
		{"ics boost-longest 1441", "boost-longest is a number from 0 to 1440 without leading zeros"},
		{"ics reserve 525601", "reserve is a number from 0 to 525600 without leading zeros"},
		{"ics zone -0", "zone is a number from -720 to 840 without leading zeros"},
		{"ics zone --60", "zone is a number from -720 to 840 without leading zeros"},
		{"ics zone -735", "zone is a number from -720 to 840 without leading zeros"},
		{"ics zone 855", "zone is a number from -720 to 840 without leading zeros"},
		{"ics periods -3", "periods is a number from 1 to 6 without leading zeros"},
		{"ics holiday maybe", "holiday is no or yes"},
		{"ics lost-clock forgets", "lost-clock is unset, resumes or restarts"},
		{"ics credential 123", "credential is 4 to 8 digits"},
		{"ics credential 123456789", "credential is 4 to 8 digits"},
		{"ics channels both", "'both' is wrong: it should be the values joined by commas, a space, and the fitted one"},
		{"ics channels both,hw ch", "fitted value ch is not among the values listed"},
		{"ics channels both,hw,both hw", "value both is listed twice"},
		{"ics channels both, both", "value '' is wrong: channels is both, hw or ch"},
		{"ics cycle 24h 24h 24h", "fitted value '24h 24h' is wrong: cycle is 24h, 5/2 or 7day"},
		{"ics late-power-on 65536", "late-power-on is a number from 0 to 65535 without leading zeros"},
		{"ics " + strings.Repeat("x", 130), "a line has at most 120 bytes"},
	} {
		var r ICSReader
		err := r.Line(test.line)
		if err == nil {
			t.Errorf("%q is accepted, want the error %q", test.line, test.want)
		} else if !strings.Contains(err.Error(), test.want) {
			t.Errorf("%q\n got %q\nwant %q", test.line, err, test.want)
		}
	}
}

func TestICSTwice(t *testing.T) {
	var r ICSReader
	for _, line := range []string{"ics lock no", "ics channels hw hw"} {
		if err := r.Line(line); err != nil {
			t.Fatal(err)
		}
		err := r.Line(line)
		if want := " is given twice"; err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q again: %v, want an error with %q", line, err, want)
		}
	}
}

func TestICSMissing(t *testing.T) {
	lines := slices.Collect(strings.Lines(conversation))
	for i, left := range lines {
		var r ICSReader
		for _, line := range slices.Concat(lines[:i], lines[i+1:]) {
			if err := r.Line(strings.TrimSpace(line)); err != nil {
				t.Fatal(err)
			}
		}
		want := "ICS option " + strings.Fields(left)[1] + " is missing, and has no default"
		if _, err := r.ICS(); err == nil || err.Error() != want {
			t.Errorf("without %q: %v, want %q", left, err, want)
		}
	}
	var r ICSReader
	for line := range strings.Lines(strings.Replace(conversation, "lock no", "lock yes", 1)) {
		if err := r.Line(strings.TrimSpace(line)); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := r.ICS(); err == nil || !strings.Contains(err.Error(), "credential") {
		t.Errorf("a lock without a credential: %v", err)
	}
}

func TestOptions(t *testing.T) {
	full := otherICS()
	for _, name := range OptionNames() {
		value := Option(full, name)
		var s spec.ICS
		if err := SetOption(&s, name, value); err != nil {
			t.Error(err)
		} else if got := Option(s, name); got != value {
			t.Errorf("option %s set to %q reads %q", name, value, got)
		}
		for _, word := range OptionWords(name) {
			if err := SetOption(&s, name, word); err != nil || Option(s, name) != word {
				t.Errorf("option %s: word %q: %v, reads %q", name, word, err, Option(s, name))
			}
		}
		before := s
		if err := SetOption(&s, name, "nonsense"); err == nil || s != before {
			t.Errorf("option %s: a wrong value gives %v and changes %v to %v", name, err, before, s)
		}
	}
	if got := Option(full, "cycle"); got != "24h,5/2,7day 5/2" {
		t.Errorf("option cycle reads %q", got)
	}
	if got := Option(full, "colour"); got != "" {
		t.Errorf("an unknown option reads %q", got)
	}
	for name, want := range map[string]string{"zone": "0", "override-end": "change", "lost-clock": "unset", "late-power-on": "2",
		"lock-grain": "1", "stagger": "0", "bad-value": "refused", "credential": ""} {
		if got, ok := OptionDefault(name); !ok || got != want {
			t.Errorf("default of %s is %q, %v, want %q", name, got, ok, want)
		}
	}
	for _, name := range []string{"periods", "holiday", "lock", "reserve", "summer-time", "boost-step", "boost-longest", "colour"} {
		if got, ok := OptionDefault(name); ok {
			t.Errorf("default of %s is %q, want none", name, got)
		}
	}
}

func FuzzICS(f *testing.F) {
	f.Add(conversation)
	f.Add(string(AppendICS(nil, otherICS())))
	f.Add(string(AppendICS(nil, spec.FullICS())))
	f.Fuzz(func(t *testing.T, text string) {
		var r ICSReader
		for line := range strings.Lines(text) {
			if r.Line(strings.TrimSuffix(line, "\n")) != nil {
				return
			}
		}
		s, err := r.ICS()
		if err != nil {
			return
		}
		if again := readICS(t, string(AppendICS(nil, s))); again != s {
			t.Errorf("%+v becomes %+v", s, again)
		}
	})
}
