package suite

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

// goodFile is a file that holds one vector, which begins in line 5, column 5.
const goodFile = `{
  "format": 1,
  "family": "OVR",
  "vectors": [
    {
      "id": "OVR-2/ends",
      "clauses": ["OVR-2", "OVR-1"],
      "purpose": "An override ends with the period.",
      "catches": "An override that never ends.",
      "derivation": "None needed.",
      "needs": {"periods": {"min": 2}, "boost-minutes": [60], "holiday": "yes", "lost-clock": ["unset", "resumes"], "reserve": 480},
      "fit": {"coupling": "independent", "cycle": "24h"},
      "start": "2026-03-28T05:00:00+00:00",
      "given": ["mode hw off", "table both every 06:30-09:00 17:00-22:00"],
      "steps": [
        {"at": "2026-03-28T08:00:00+00:00", "do": "override ch"},
        {"at": "2026-03-29T08:00:00+01:00", "do": "boost ch 7", "reply": "refused"}
      ],
      "until": "2026-03-29T09:30:00+01:00",
      "initial": {"alert": "counting", "hw": 1},
      "trace": [
        {"at": "2026-03-28T06:30:00+00:00", "ch": 1, "by": "MOD-2"},
        {"at": "2026-03-29T02:00:00+01:00", "alert": "none", "by": "LCK-8"}
      ]
    }
  ]
}
`

func newSuite(t testing.TB) *Suite {
	t.Helper()
	s, err := New(vectors.Files)
	require.NoError(t, err)
	return s
}

func TestAddReadsAVector(t *testing.T) {
	s := newSuite(t)
	require.NoError(t, s.Add("folder/ovr.json", []byte(goodFile)))
	require.Len(t, s.Vectors, 1)
	v := s.Vector("OVR-2/ends")
	require.Same(t, s.Vectors[0], v)
	assert.Nil(t, s.Vector("OVR-2/other"))

	want := &Vector{
		ID: "OVR-2/ends", File: "ovr.json", Clauses: []string{"OVR-2", "OVR-1"},
		Purpose: "An override ends with the period.", Catches: "An override that never ends.", Derivation: "None needed.",
		Needs: []Need{
			{Option: "boost-minutes", Boosts: []int{60}},
			{Option: "holiday", Words: []string{"yes"}},
			{Option: "lost-clock", Words: []string{"unset", "resumes"}},
			{Option: "periods", Min: 2, Max: 1<<31 - 1},
			{Option: "reserve", Min: 480, Max: 480},
		},
		Fit: []spec.Input{
			{Kind: spec.Fit, FitOption: spec.FitCycle, FitValue: uint8(spec.Cycle24h)},
			{Kind: spec.Fit, FitOption: spec.FitCoupling, FitValue: uint8(spec.Independent)},
		},
		Start: v.Start,
		Given: []string{"mode hw off", "table both every 06:30-09:00 17:00-22:00"},
		// Summer time begins on 29 March at 01:00 UTC, so the second day's 08:00 is 26 hours after the first day's 05:00.
		Steps:   []Step{{At: 3 * 3600, Do: "override ch"}, {At: 26 * 3600, Do: "boost ch 7", Want: spec.Refused}},
		Until:   27*3600 + 1800,
		Initial: [spec.NumSignals]spec.Level{spec.SigHW: 1, spec.SigAlert: spec.Level(spec.Counting)},
		Trace: []spec.Change{
			{At: 5400, Signal: spec.SigCH, Level: 1, By: spec.ClauseTable},
			{At: 20 * 3600, Signal: spec.SigAlert, Level: spec.Level(spec.Dormant), By: spec.ClauseDormant},
		},
	}
	assert.Empty(t, cmp.Diff(want, v))
	assert.Equal(t, "2026-03-28T05:00:00+00:00", v.Start.Format(instantLayout))
	assert.Equal(t, "2026-03-29T00:59:59+00:00", v.At(20*3600-1).Format(instantLayout))
	assert.Equal(t, "2026-03-29T02:00:00+01:00", v.At(20*3600).Format(instantLayout))
	assert.Equal(t, []Row{
		{5400, "  -> ch 1 by MOD-2"}, {3 * 3600, "override ch  (accepted)"}, {20 * 3600, "  -> alert none by LCK-8"}, {26 * 3600, "boost ch 7  (refused)"},
	}, v.Story())
	assert.Equal(t, []string{
		"boosts of 60 minutes", "holiday yes", "lost-clock unset or resumes", "periods of at least 2", "reserve 480", "cycle 24h fitted", "coupling independent fitted",
	}, v.Requirements())
}

// Each case replaces one text of goodFile, which stands in it once, by another, and is told what is wrong with the result.
func TestAddNamesThePlaceOfWhatIsWrong(t *testing.T) {
	const vector = "f.json:5:5: vector 1 (OVR-2/ends): "
	cases := []struct{ name, old, new, want string }{
		{"bad JSON", `"fit": {`, `"fit": {,`, "f.json:12:15: invalid character ',' looking for beginning of object key string"},
		{"JSON cut off", goodFile[len(goodFile)-6:], "", "f.json:26:1: unexpected end of JSON input"},
		{"empty file", goodFile, "", "f.json:1:1: unexpected end of JSON input"},
		{"only a line feed", goodFile, "\n", "f.json:2:1: unexpected end of JSON input"},
		{"more after the object", "  ]\n}\n", "  ]\n}\n{}", "f.json:28:1: invalid character '{' after top-level value"},
		{"not an object", goodFile, "[1]", "f.json:1:1: the file is a JSON array; it should be an object"},
		{"null", goodFile, "null", "f.json: format is 0; this program reads format 1"},
		{"format 2", `"format": 1`, `"format": 2, "colour": "red"`, "f.json: format is 2; this program reads format 1"},
		{"format of a wrong type", `"format": 1`, `"format": "1"`, "f.json:2:15: format is a JSON string; it should be a whole number"},
		{"no format", `"format": 1,`, ``, "f.json: format is 0; this program reads format 1"},
		{"no vectors", goodFile, `{"format": 1, "family": "OVR", "vectors": []}`, "f.json: it holds no vectors"},
		{"null as a vector", goodFile, `{"format": 1, "family": "OVR", "vectors": [null]}`, "f.json: a vector is an object, and null is none"},
		{"wrong type", `"clauses": ["OVR-2", "OVR-1"]`, `"clauses": "OVR-2"`, "f.json:7:24: vectors.clauses is a JSON string; it should be a list"},
		{"wrong type in a list", `"mode hw off", `, `7, `, "f.json:14:17: vectors.given is a JSON number; it should be a string"},
		{"level of a wrong type", `"hw": 1}`, `"hw": "on"}`, "f.json:20:49: vectors.initial.hw is a JSON string; it should be a whole number"},

		{"unknown key of the file", `"format": 1,`, `"format": 1, "version": 3,`, `f.json:2:16: key "version" is unknown; the keys here are about, family, format, vectors`},
		{"unknown key of a vector", `"derivation"`, `"because"`, `f.json:10:7: key "because" is unknown; the keys here are ` +
			"catches, clauses, clock, derivation, fit, given, id, initial, kept, needs, purpose, start, steps, trace, until"},
		{"key in capitals", `"given"`, `"Given"`, `f.json:14:7: key "Given" is unknown; the keys here are ` +
			"catches, clauses, clock, derivation, fit, given, id, initial, kept, needs, purpose, start, steps, trace, until"},
		{"unknown key of a step", `"reply"`, `"answer"`, `f.json:17:65: key "answer" is unknown; the keys here are at, do, reply`},
		{"unknown key of initial", `"hw": 1}`, `"pump": 1}`, `f.json:20:40: key "pump" is unknown; the keys here are alert, ch, hw, sounder`},
		{"unknown key of a change", `"by": "LCK-8"`, `"why": "LCK-8"`, `f.json:23:62: key "why" is unknown; the keys here are alert, at, by, ch, hw, sounder`},
		{"unknown key of a need", `{"min": 2}`, `{"least": 2}`, `f.json:11:29: key "least" is unknown; the keys here are max, min`},
		{"key twice", `"derivation": "None needed.",`, `"purpose": "Another.",`, `f.json:10:7: key "purpose" stands twice in its object`},
		{"need twice", `"reserve": 480`, `"periods": 3`, `f.json:11:117: key "periods" stands twice in its object`},
		{"key with an escape, twice", `"derivation": "None needed.",`, `"\u0069d": "Another.",`, `f.json:10:7: key "id" stands twice in its object`},

		{"no clauses", `["OVR-2", "OVR-1"]`, `[]`, vector + "it names no clauses"},
		{"unknown clause", `"OVR-1"]`, `"OVR-99"]`, vector + "clause OVR-99 is not in BEHAVIOUR.md"},
		{"id not of its first clause", `["OVR-2", "OVR-1"]`, `["OVR-1", "OVR-2"]`, vector + "the id should begin with its first clause: OVR-1/…"},
		{"id without words", `"OVR-2/ends"`, `"OVR-2"`, "f.json:5:5: vector 1 (OVR-2): the id should begin with its first clause: OVR-2/…"},
		{"wrong family's file", `"family": "OVR"`, `"family": "BST"`, vector + `it belongs in the file of family OVR; this file's family is "BST"`},
		{"no purpose", `"purpose": "An override ends with the period.",`, ``, vector + "purpose and catches are needed"},
		{"no catches", `"catches": "An override that never ends.",`, ``, vector + "purpose and catches are needed"},
		{"unknown clock", `"derivation": "None needed."`, `"clock": "set"`, vector + `clock is "set"; it can only be "unset"`},

		{"no start", `"start": "2026-03-28T05:00:00+00:00",`, ``, vector + `start: "" is not an instant such as 2026-01-14T06:30:00+00:00`},
		{"impossible start", `"start": "2026-03-28`, `"start": "2026-02-29`, vector + `start: "2026-02-29T05:00:00+00:00" is not an instant such as 2026-01-14T06:30:00+00:00`},
		{"seconds in start", `T05:00:00`, `T05:00:01`, vector + "start: its seconds should be 00, since that is what setting the clock makes them"},
		{"fraction in start", `T05:00:00`, `T05:00:00.5`, vector + `start: "2026-03-28T05:00:00.5+00:00" is not an instant such as 2026-01-14T06:30:00+00:00`},
		{"start that no clock can be set to", `"start": "2026-03-28`, `"start": "1999-03-28`, vector + "start: a clock can be set to dates from 2000 to 2099 only (CLK-4)"},
		{"offset of start", `T05:00:00+00:00`, `T06:00:00+01:00`, vector + "start: 2026-03-28T06:00:00+01:00 should have the offset of Europe/London: 2026-03-28T05:00:00+00:00"},
		{"offset of a step", `29T08:00:00+01:00`, `29T07:00:00+00:00`, vector + "step 2: 2026-03-29T07:00:00+00:00 should have the offset of Europe/London: 2026-03-29T08:00:00+01:00"},
		{"until before the start", `"until": "2026-03-29T09:30:00+01:00"`, `"until": "2026-03-28T04:59:59+00:00"`, vector + "until: 2026-03-28T04:59:59+00:00 is before the start"},
		{"until too late", `"until": "2026-03-29T09:30:00+01:00"`, `"until": "2066-03-29T09:30:00+01:00"`, vector + "until: it is more than 1000000000 seconds after the start"},
		{"until before the last step", `"until": "2026-03-29T09:30:00+01:00"`, `"until": "2026-03-29T07:59:59+01:00"`, vector + "until: it is before the last step"},
		{"until before the last change", `29T02:00:00+01:00`, `29T09:30:01+01:00`, vector + "until: it is before the last change"},

		{"steps out of order", `28T08:00:00`, `30T08:00:00`, vector + "step 1: 2026-03-30T08:00:00+00:00 should have the offset of Europe/London: 2026-03-30T09:00:00+01:00"},
		{"steps out of order by a second", `29T08:00:00+01:00`, `28T07:59:59+00:00`, vector + "step 2: 2026-03-28T07:59:59+00:00 is before the one above it"},
		{"step before the start", `28T08:00:00`, `28T04:59:59`, vector + "step 1: 2026-03-28T04:59:59+00:00 is before the start"},
		{"impossible time of a step", `28T08:00:00`, `28T24:00:00`, vector + `step 1: "2026-03-28T24:00:00+00:00" is not an instant such as 2026-01-14T06:30:00+00:00`},
		{"unknown input", `"override ch"`, `"press ch"`, vector + "step 1: word 1 of 'press ch': an input is power, fit, clock, mode, period, override, boost, holiday, lock or reset"},
		{"unknown channel", `"override ch"`, `"override dhw"`, vector + "step 1: word 2 of 'override dhw': channel is hw or ch"},
		{"unknown reply", `"reply": "refused"`, `"reply": "no"`, vector + "step 2: 'no' is wrong: reply is accepted, refused or unsupported"},
		{"table line in a step", `"override ch"`, `"table ch every none"`, vector + "step 1: a table line is for 'given' only; name the periods"},
		{"table line without periods", `"mode hw off"`, `"table ch every"`, vector + "given 1: a table line is 'table TABLE DAY PERIODS'"},
		{"table line with a bad period", `06:30-09:00`, `06:30`, vector + `given 2: "06:30" is not a period such as 06:30-09:00`},
		{"table line with a bad time", `06:30-09:00`, `06:30-9:00`, vector + "given 2: word 6 of 'period both mon 1 06:30 9:00': a time is hh:mm from 00:00 to 24:00"},
		{"table line with a bad table", `table both every`, `table all every`, vector + "given 2: word 2 of 'period all mon 1 00:00 00:00': table is hw, ch or both"},
		{"table line with a bad day", `table both every`, `table both always`, vector +
			"given 2: word 3 of 'period both always 1 00:00 00:00': day is mon, tue, wed, thu, fri, sat, sun, weekdays, weekend or all"},

		{"unknown option in needs", `"reserve": 480`, `"colour": "red"`, vector + "needs: colour: no such option"},
		{"tolerance in needs", `"reserve": 480`, `"late-scan": 0`, vector + "needs: late-scan: no such option"},
		{"unknown value in needs", `"holiday": "yes"`, `"holiday": "maybe"`, vector + `needs: holiday: "maybe" is none of its values, which are no, yes`},
		{"one unknown value in needs", `"resumes"]`, `"stops"]`, vector + `needs: lost-clock: "stops" is none of its values, which are unset, resumes, restarts`},
		{"no value in needs", `["unset", "resumes"]`, `[]`, vector + "needs: lost-clock: it should be a word or a list of words"},
		{"number for a word in needs", `"holiday": "yes"`, `"holiday": 1`, vector + "needs: holiday: it should be a word or a list of words"},
		{"word for a number in needs", `{"min": 2}`, `"two"`, vector + "needs: periods: it should be a whole number, or an object with min, max or both"},
		{"null for a number in needs", `{"min": 2}`, `null`, vector + "needs: periods: it should be a whole number, or an object with min, max or both"},
		{"no bound in needs", `{"min": 2}`, `{}`, vector + "needs: periods: it should be a whole number, or an object with min, max or both"},
		{"fraction in needs", `{"min": 2}`, `2.5`, vector + "needs: periods: it should be a whole number, or an object with min, max or both"},
		{"number in needs that no unit has", `{"min": 2}`, `{"min": 7}`, vector +
			"needs: periods: ICS option periods: '7' is wrong: periods is a number from 1 to 6 without leading zeros"},
		{"min above max", `{"min": 2}`, `{"min": 3, "max": 2}`, vector + "needs: periods: its min of 3 is more than its max of 2"},
		{"no boosts in needs", `[60]`, `[]`, vector + "needs: boost-minutes: it should be a list of minutes, each 1 to 1440"},
		{"boost of 0 in needs", `[60]`, `[60, 0]`, vector + "needs: boost-minutes: it should be a list of minutes, each 1 to 1440"},
		{"boost in needs that no unit has", `[60]`, `[70000]`, vector + "needs: boost-minutes: it should be a list of minutes, each 1 to 1440"},

		{"unknown option in fit", `"cycle": "24h"`, `"colour": "red"`, vector + "fit: 'colour' is wrong: option is channels, cycle, timing or coupling"},
		{"unknown value in fit", `"cycle": "24h"`, `"cycle": "5+2"`, vector + "fit: '5+2' is wrong: cycle is 24h, 5/2 or 7day"},

		{"initial level", `"hw": 1}`, `"hw": 2}`, vector + "initial: '2' is wrong: level is 0 or 1"},
		{"initial stage", `{"alert": "counting"`, `{"alert": "dormant"`, vector + "initial: 'dormant' is wrong: stage is none, counting, notice or restricted"},
		{"change that changes nothing", `"ch": 1, "by"`, `"hw": 1, "by"`, vector + "trace entry 1: hw is 1 already"},
		{"change of two signals", `"ch": 1, "by"`, `"ch": 1, "hw": 0, "by"`, vector + "trace entry 1: it has 2 signals; each entry has one"},
		{"change of no signal", `"ch": 1, "by"`, `"by"`, vector + "trace entry 1: it has 0 signals; each entry has one"},
		{"level of a change", `"ch": 1, "by"`, `"ch": -1, "by"`, vector + "trace entry 1: '-1' is wrong: level is 0 or 1"},
		{"change by a clause that settles nothing", `"by": "MOD-2"`, `"by": "OVR-2"`, vector +
			"trace entry 1: by: clause \"OVR-2\" settles no level; see 'The formula' in BEHAVIOUR.md"},
		{"change by nothing", `"by": "MOD-2"`, `"by": ""`, vector + "trace entry 1: by: clause \"\" settles no level; see 'The formula' in BEHAVIOUR.md"},
		{"changes out of order", `29T02:00:00+01:00`, `28T06:29:59+00:00`, vector + "trace entry 2: 2026-03-28T06:29:59+00:00 is before the one above it"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, 1, strings.Count(goodFile, c.old), "the text to replace should stand in the file once")
			s := newSuite(t)
			assert.EqualError(t, s.Add("f.json", []byte(strings.Replace(goodFile, c.old, c.new, 1))), c.want)
			assert.Empty(t, s.Vectors)
		})
	}
}

// file returns goodFile with vectors that differ in the words of their ids.
func file(words ...string) []byte {
	begin, end := strings.Index(goodFile, "    {"), strings.Index(goodFile, "  ]\n}\n")
	var all []string
	for _, w := range words {
		all = append(all, strings.Replace(strings.TrimSuffix(goodFile[begin:end], "\n"), "OVR-2/ends", "OVR-2/"+w, 1))
	}
	return []byte(goodFile[:begin] + strings.Join(all, ",\n") + "\n" + goodFile[end:])
}

func TestAddRefusesAnIDTwice(t *testing.T) {
	s := newSuite(t)
	require.EqualError(t, s.Add("one.json", file("a", "b", "a")), "one.json:47:5: vector 3 (OVR-2/a): another vector of this file has this id")
	assert.Empty(t, s.Vectors, "with an error nothing is added")
	require.NoError(t, s.Add("one.json", file("a", "b")))
	require.EqualError(t, s.Add("two.json", file("c", "b")), "two.json:26:5: vector 2 (OVR-2/b): a vector of one.json has this id")
	assert.Len(t, s.Vectors, 2)
	assert.Nil(t, s.Vector("OVR-2/c"))
}

func TestAddReportsAllThatItFinds(t *testing.T) {
	s := newSuite(t)
	words := make([]string, 30)
	for i := range words {
		words[i] = fmt.Sprintf("v%d", i)
	}
	text := string(file(words...))
	err := s.Add("f.json", []byte(strings.ReplaceAll(text, `"ch": 1`, `"ch": 0`)))
	lines := strings.Split(err.Error(), "\n")
	require.Len(t, lines, maxFaults+1)
	assert.Equal(t, "f.json:5:5: vector 1 (OVR-2/v0): trace entry 1: ch is 0 already", lines[0])
	assert.Equal(t, "f.json:404:5: vector 20 (OVR-2/v19): trace entry 1: ch is 0 already", lines[maxFaults-1])
	assert.Equal(t, "and 10 more", lines[maxFaults])
}

func TestLoad(t *testing.T) {
	page, err := vectors.Files.ReadFile("BEHAVIOUR.md")
	require.NoError(t, err)
	behaviour := &fstest.MapFile{Data: page}
	_, err = Load(fstest.MapFS{})
	require.EqualError(t, err, "open BEHAVIOUR.md: file does not exist")
	_, err = Load(fstest.MapFS{"BEHAVIOUR.md": {Data: []byte("# Nothing\n")}})
	require.EqualError(t, err, "BEHAVIOUR.md: there are no clauses in it")
	_, err = Load(fstest.MapFS{"BEHAVIOUR.md": behaviour})
	require.EqualError(t, err, "there are no vector files hand/*.json")
	_, err = Load(fstest.MapFS{"BEHAVIOUR.md": behaviour, "hand/a.json": {Data: []byte("{")}, "hand/b.json": {Data: []byte("}")}})
	require.EqualError(t, err, "hand/a.json:1:1: unexpected end of JSON input\nhand/b.json:1:1: invalid character '}' looking for beginning of value")
	s, err := Load(fstest.MapFS{"BEHAVIOUR.md": behaviour, "hand/b.json": {Data: file("b")}, "hand/a.json": {Data: file("a")}})
	require.NoError(t, err)
	require.Len(t, s.Vectors, 2)
	assert.Equal(t, "a.json", s.Vectors[0].File, "files are read in the order of their names")
}

func TestThePublishedSetLoads(t *testing.T) {
	s, err := Load(vectors.Files)
	require.NoError(t, err)
	full := spec.FullICS()
	applicable := 0
	for _, v := range s.Vectors {
		ok, _ := v.Applies(&full)
		if !ok {
			continue
		}
		applicable++
		b, err := v.Bind(&full)
		require.NoError(t, err, v.ID)
		require.Equal(t, v.Trace, b.Trace, "%s: a unit with both channels leaves nothing out", v.ID)
	}
	assert.Greater(t, applicable, 400)
}

// FuzzAdd looks for a panic, and for an error that does not say where.
func FuzzAdd(f *testing.F) {
	f.Add([]byte(goodFile))
	f.Add(file("a", "b"))
	f.Add([]byte(`{"format":1,"family":"OVR","vectors":[{"id":"OVR-2/x","clauses":["OVR-2"],"purpose":"p","catches":"c","clock":"unset",` +
		`"start":"0001-01-01T00:00:00+00:00","until":"0001-01-01T00:00:00+00:00","needs":{"zone":{"max":-60}},"given":["table hw every none","period both every 1 00:00 24:00"]}]}`))
	f.Add([]byte(`{"format":1,"vectors":[{"needs":{"periods":{"min":-9223372036854775808}}}]}`))
	f.Add([]byte(`[{},{"":"\\\""}]`))
	f.Add([]byte(`{"format":1,"a\ud800":{"vectors":[[]]},"vectors":[[{}]]}`))
	f.Add([]byte("\xff{\"format\":\r\n1}"))
	empty := newSuite(f)
	units := []spec.ICS{spec.FullICS(), spec.FullICS()}
	units[1].Fitted.Channels, units[1].Periods, units[1].BoostLongest = spec.OnlyHW, 1, 0
	f.Fuzz(func(t *testing.T, data []byte) {
		s := &Suite{Page: empty.Page, byID: map[string]*Vector{}}
		if err := s.Add("f.json", data); err != nil {
			for _, line := range strings.Split(err.Error(), "\n") {
				if !strings.HasPrefix(line, "f.json") && !strings.HasPrefix(line, "and ") {
					t.Fatalf("%q does not name its place", line)
				}
			}
			if len(s.Vectors) > 0 {
				t.Fatal("with an error nothing is added")
			}
			return
		}
		for _, v := range s.Vectors {
			v.Story()
			v.Requirements()
			for i := range units {
				if ok, _ := v.Applies(&units[i]); ok {
					if _, err := v.Bind(&units[i]); err != nil {
						t.Fatalf("a vector that was read cannot be bound: %v", err)
					}
				}
			}
		}
	})
}
