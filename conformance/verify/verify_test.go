package verify

import (
	"errors"
	"io/fs"
	"maps"
	"strconv"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

// The gate: everything that is published holds. 'hearthbench vectors seal' mends index and checksums after a change.
func TestThePublishedSetVerifies(t *testing.T) {
	s, err := suite.Load(vectors.Files)
	require.NoError(t, err)
	assert.NoError(t, errors.Join(Files(vectors.Files)...))
	assert.NoError(t, errors.Join(Index(vectors.Files, s)...))
	assert.NoError(t, errors.Join(Coverage(s)...))
	const workers = 4
	var wait sync.WaitGroup
	for worker := range workers {
		wait.Go(func() {
			for i := worker; i < len(s.Vectors); i += workers {
				if err := Vector(s.Vectors[i]); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wait.Wait()
}

var (
	copyOnce sync.Once
	copied   fstest.MapFS
)

// published returns a copy of what is published, with the index and the checksums that it should have.
func published(t *testing.T) fstest.MapFS {
	t.Helper()
	copyOnce.Do(func() { copied = copyOf(t) })
	return maps.Clone(copied)
}

func copyOf(t *testing.T) fstest.MapFS {
	t.Helper()
	files := fstest.MapFS{}
	require.NoError(t, fs.WalkDir(vectors.Files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := vectors.Files.ReadFile(name)
		files[name] = &fstest.MapFile{Data: data}
		return err
	}))
	seal(t, files)
	return files
}

func seal(t *testing.T, files fstest.MapFS) {
	t.Helper()
	files[IndexFile] = &fstest.MapFile{Data: []byte(IndexText(load(t, files)))}
	sums, err := Sums(files)
	require.NoError(t, err)
	files[SumsFile] = &fstest.MapFile{Data: []byte(sums)}
}

func load(t *testing.T, files fs.FS) *suite.Suite {
	t.Helper()
	s, err := suite.Load(files)
	require.NoError(t, err)
	return s
}

// replace replaces the first occurrence of a text in a file.
func replace(t *testing.T, files fstest.MapFS, name, old, new string) {
	t.Helper()
	text := string(files[name].Data)
	require.Contains(t, text, old)
	files[name] = &fstest.MapFile{Data: []byte(strings.Replace(text, old, new, 1))}
}

func TestASealedCopyHolds(t *testing.T) {
	files := published(t)
	assert.Empty(t, Files(files))
	assert.Empty(t, Index(files, load(t, files)))
}

func TestFilesFindsAChange(t *testing.T) {
	cases := []struct {
		name   string
		change func(*testing.T, fstest.MapFS)
		want   string // what the only error contains
	}{
		{"a clause reworded", func(t *testing.T, files fstest.MapFS) {
			replace(t, files, "BEHAVIOUR.md", "**OUT-1** Each", "**OUT-1** Every")
		}, `SHA256SUMS: line 2 is "`},
		{"a vector edited", func(t *testing.T, files fstest.MapFS) {
			replace(t, files, "hand/ovr.json", `"purpose": "`, `"purpose": "Once more: `)
		}, `  hand/ovr.json"; 'hearthbench vectors seal' writes it anew, after the change has been read`},
		{"a file added", func(t *testing.T, files fstest.MapFS) {
			files["hand/zzz.json"] = &fstest.MapFile{Data: files["hand/ovr.json"].Data}
		}, `  hand/zzz.json"; 'hearthbench`},
		{"a file removed", func(_ *testing.T, files fstest.MapFS) { delete(files, "hand/ovr.json") }, `  hand/ovr.json", should not be there`},
		{"a checksum edited", func(t *testing.T, files fstest.MapFS) {
			line := strings.Split(string(files[SumsFile].Data), "\n")[0]
			replace(t, files, SumsFile, line, strings.Repeat("0", 64)+"  ADAPTER.md")
		}, `SHA256SUMS: line 1 is "` + strings.Repeat("0", 64) + `  ADAPTER.md"; it should be "`},
		{"a checksum removed", func(t *testing.T, files fstest.MapFS) {
			replace(t, files, SumsFile, strings.SplitAfter(string(files[SumsFile].Data), "\n")[1], "")
		}, "SHA256SUMS: line 2 is missing; it should be \""},
		{"a checksum twice", func(t *testing.T, files fstest.MapFS) {
			line := strings.SplitAfter(string(files[SumsFile].Data), "\n")[1]
			replace(t, files, SumsFile, line, line+line)
		}, "SHA256SUMS: line 3, \""},
		{"no checksums", func(_ *testing.T, files fstest.MapFS) { delete(files, SumsFile) }, "open SHA256SUMS: file does not exist"},
		{"no page", func(_ *testing.T, files fstest.MapFS) { delete(files, "VECTORS.md") }, "open VECTORS.md: file does not exist"},
		{"no schema", func(_ *testing.T, files fstest.MapFS) { delete(files, "schema.json") }, "open schema.json: file does not exist"},
		{"no JSON schema", func(_ *testing.T, files fstest.MapFS) { files["schema.json"] = &fstest.MapFile{Data: []byte("{")} }, "schema.json: "},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			files := published(t)
			c.change(t, files)
			errs := Files(files)
			require.Len(t, errs, 1)
			assert.ErrorContains(t, errs[0], c.want)
		})
	}
}

const goodVector = `{"format": 1, "family": "OVR", "vectors": [{
	"id": "OVR-2/ends", "clauses": ["OVR-2"], "purpose": "An override ends with the period.", "catches": "An override that never ends.",
	"needs": {"periods": {"min": 2}, "boost-minutes": [60], "second-boost": "replaces"}, "fit": {"coupling": "independent"},
	"start": "2026-01-14T05:00:00+00:00", "given": ["mode hw off", "table both every 06:30-09:00 17:00-22:00"],
	"steps": [
		{"at": "2026-01-14T08:00:00+00:00", "do": "override ch"},
		{"at": "2026-01-14T10:00:00+00:00", "do": "boost ch 60"},
		{"at": "2026-01-14T10:30:00+00:00", "do": "boost ch 60"},
		{"at": "2026-01-14T10:30:00+00:00", "do": "boost ch 7000", "reply": "refused"}
	],
	"until": "2026-01-14T23:00:00+00:00", "initial": {},
	"trace": [
		{"at": "2026-01-14T06:30:00+00:00", "ch": 1, "by": "MOD-2"},
		{"at": "2026-01-14T08:00:00+00:00", "ch": 0, "by": "OVR-1"},
		{"at": "2026-01-14T10:00:00+00:00", "ch": 1, "by": "BST-1"},
		{"at": "2026-01-14T11:30:00+00:00", "ch": 0, "by": "MOD-2"},
		{"at": "2026-01-14T17:00:00+00:00", "ch": 1, "by": "MOD-2"},
		{"at": "2026-01-14T22:00:00+00:00", "ch": 0, "by": "MOD-2"}
	]}]}
`

func read(t *testing.T, text string) *suite.Vector {
	t.Helper()
	s, err := suite.New(vectors.Files)
	require.NoError(t, err)
	require.NoError(t, s.Add("ovr.json", []byte(text)))
	return s.Vectors[0]
}

// Of "bad-value", the vector needs neither: 7000 minutes would be clamped.
func TestVectorFindsAMissingNeedOfItsReply(t *testing.T) {
	assert.EqualError(t, Vector(read(t, goodVector)), "OVR-2/ends: the emulator answers step 4 ('boost ch 7000' at 2026-01-14T10:30:00+00:00) with "+
		"accepted (), not refused\n  though it holds on other units; an option is missing from 'needs' or 'fit'. This unit has bad-value=clamped")
}

func TestVectorFindsWhatIsWrong(t *testing.T) {
	good := strings.Replace(goodVector, `"second-boost": "replaces"`, `"second-boost": "replaces", "bad-value": "refused"`, 1)
	require.NoError(t, Vector(read(t, good)))
	const other = "\n  though it holds on other units; an option is missing from 'needs' or 'fit'. This unit has "
	cases := []struct{ name, old, new, want string }{
		{"a second early", "08:00:00+00:00\", \"ch\"", "07:59:59+00:00\", \"ch\"", "the emulator shows '2026-01-14T08:00:00+00:00 ch 0 by OVR-1' where the trace has '2026-01-14T07:59:59+00:00 ch 0 by OVR-1'"},
		{"a second late", "17:00:00", "17:00:01", "the emulator shows '2026-01-14T17:00:00+00:00 ch 1 by MOD-2' where the trace has '2026-01-14T17:00:01+00:00 ch 1 by MOD-2'"},
		{"a wrong reason", `"BST-1"`, `"MOD-2"`, "the emulator shows '2026-01-14T10:00:00+00:00 ch 1 by BST-1' where the trace has '2026-01-14T10:00:00+00:00 ch 1 by MOD-2'"},
		{"a change too few", ",\n\t\t{\"at\": \"2026-01-14T22:00:00+00:00\", \"ch\": 0, \"by\": \"MOD-2\"}", "", "the emulator shows '2026-01-14T22:00:00+00:00 ch 0 by MOD-2', which the trace has not"},
		{"a change too many", `"ch": 0, "by": "MOD-2"}` + "\n", `"ch": 0, "by": "MOD-2"}, {"at": "2026-01-14T22:30:00+00:00", "ch": 1, "by": "OVR-1"}`,
			"the emulator does not show trace entry '2026-01-14T22:30:00+00:00 ch 1 by OVR-1'"},
		{"a wrong reply", `, "reply": "refused"`, ``, "the emulator answers step 4 ('boost ch 7000' at 2026-01-14T10:30:00+00:00) with refused (not a whole number of steps up to the longest boost), not accepted"},
		{"a wrong level at the start", `"initial": {}`, `"initial": {"hw": 1}`, "the emulator begins with hw 0, not 1"},
		{"a given input that is refused", `"mode hw off"`, `"mode hw off", "fit coupling independent"`, "the emulator does not accept given input 'fit coupling independent': refused (changed at the back only without power)"},
		{"no periods in needs", `"periods": {"min": 2}, `, ``, "the emulator does not accept given input 'period hw mon 2 17:00 22:00': refused (no such slot)" + other + "periods=1"},
		{"no coupling in fit", `"coupling": "independent"`, ``, "the emulator shows '2026-01-14T06:30:00+00:00 hw 1 by CPL-1' where the trace has '2026-01-14T06:30:00+00:00 ch 1 by MOD-2'" + other + "coupling=gravity"},
		{"no choice in needs", `"second-boost": "replaces", `, ``, "the emulator shows '2026-01-14T12:00:00+00:00 ch 0 by MOD-2' where the trace has '2026-01-14T11:30:00+00:00 ch 0 by MOD-2'" + other + "second-boost=extends"},
		{"no boost in needs", `"boost-minutes": [60], `, ``, "the emulator answers step 2 ('boost ch 60' at 2026-01-14T10:00:00+00:00) with refused (not a whole number of steps up to the longest boost), not accepted" + other + "boost-longest=135 boost-step=45"},
		{"steps that fit against each other", `"do": "override ch"}`, `"do": "fit coupling gravity"}, {"at": "2026-01-14T08:00:00+00:00", "do": "fit coupling gravity", "reply": "unsupported"}`,
			"no unit meets its needs"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, 1, strings.Count(good, c.old), "the text to replace should stand there once")
			assert.EqualError(t, Vector(read(t, strings.Replace(good, c.old, c.new, 1))), "OVR-2/ends: "+c.want)
		})
	}
}

func TestSchemaNamesThePlace(t *testing.T) {
	require.NoError(t, Schema(vectors.Files, "f.json", []byte(goodVector)))
	const vector = "f.json: vector 1 (OVR-2/ends), /"
	cases := []struct{ name, old, new, want string }{
		{"not JSON", goodVector, `{`, "f.json: unexpected EOF"},
		{"unknown key", `"format"`, `"colour": "red", "format"`, "f.json: additional properties 'colour' not allowed"},
		{"unknown family", `"family": "OVR"`, `"family": "XYZ"`, "f.json: /family: value must be one of 'CLK', 'TAB', 'MOD', 'OVR', 'BST', 'HOL', 'CPL', 'LCK', 'PWR', 'RST', 'OUT', 'INP', 'GEN'"},
		{"unknown key of a vector", `"purpose"`, `"colour": "red", "purpose"`, vector + ": additional properties 'colour' not allowed"},
		{"capitals in the id", `OVR-2/ends`, `OVR-2/Ends`, "f.json: vector 1 (OVR-2/Ends), /id: 'OVR-2/Ends' does not match pattern '^([A-Z]{3}-[1-9][0-9]?/[a-z0-9]+(-[a-z0-9]+)*|GEN/[a-z0-9]+(-[a-z0-9]+)*-[1-9][0-9]*)$'"},
		{"impossible instant", `"2026-01-14T17`, `"2026-02-30T17`, vector + "trace/4/at: '2026-02-30T17:00:00+00:00' is not valid date-time: invalid date element: parsing time \"2026-02-30\": day out of range"},
		{"unknown reply", `"reply": "refused"`, `"reply": "no"`, vector + "steps/3/reply: value must be one of 'accepted', 'refused', 'unsupported'"},
		{"two spaces in a line", `"mode hw off"`, `"mode hw  off"`, vector + "given/0: 'mode hw  off' does not match pattern '^[!-~]+( [!-~]+)*$'"},
		{"unknown need", `"periods": {"min": 2}`, `"periods": {"least": 2}`, vector + "needs/periods: got object, want integer\n" + vector + "needs/periods: additional properties 'least' not allowed"},
		{"no end", `"until": "2026-01-14T23:00:00+00:00", `, ``, vector + ": missing property 'until'"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, 1, strings.Count(goodVector, c.old))
			text := strings.Replace(goodVector, c.old, c.new, 1)
			assert.EqualError(t, Schema(vectors.Files, "f.json", []byte(text)), c.want)
		})
	}
	files := published(t)
	replace(t, files, "hand/ovr.json", `"purpose"`, `"porpoise"`)
	errs := Files(files)
	require.Len(t, errs, 2, "the schema and the checksum")
	assert.ErrorContains(t, errs[0], "hand/ovr.json: vector 1 (OVR-")
	assert.ErrorContains(t, errs[0], "additional properties 'porpoise' not allowed")
	assert.ErrorContains(t, errs[0], "missing property 'purpose'")
}

func TestIndexFindsALine(t *testing.T) {
	files := published(t)
	text := string(files[IndexFile].Data)
	line := "- `OVR-"
	first := text[strings.Index(text, line):]
	first = first[:strings.IndexByte(first, '\n')+1]
	number := strings.Count(text[:strings.Index(text, first)], "\n") + 1
	cases := []struct{ name, old, new, want string }{
		{"a line removed", first, "", " is missing; it should be \"" + strings.TrimSpace(first) + "\""},
		{"a line edited", first, strings.Replace(first, ": ", "; ", 1), " is \"" + strings.TrimSpace(strings.Replace(first, ": ", "; ", 1)) + "\"; it should be \"" + strings.TrimSpace(first) + "\""},
		{"a line too many", first, "- `OVR-99/none` (ovr.json): Nothing.\n" + first, ", \"- `OVR-99/none` (ovr.json): Nothing.\", should not be there"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			files := published(t)
			replace(t, files, IndexFile, c.old, c.new)
			errs := Index(files, load(t, files))
			require.Len(t, errs, 1)
			want := strings.ReplaceAll(c.want, "\\", "")
			assert.ErrorContains(t, errs[0], "INDEX.md: line ")
			assert.ErrorContains(t, errs[0], want)
			assert.ErrorContains(t, errs[0], "INDEX.md: line "+strconv.Itoa(number))
			assert.ErrorContains(t, errs[0], "; 'hearthbench vectors seal' writes it anew")
		})
	}
	delete(files, IndexFile)
	assert.EqualError(t, errors.Join(Index(files, load(t, vectors.Files))...), "open INDEX.md: file does not exist")
}

func TestCoverageFindsAClauseWithTwo(t *testing.T) {
	s := load(t, vectors.Files)
	have := map[string]int{}
	kept := s.Vectors[:0:0]
	for _, v := range s.Vectors {
		lists := false
		for _, id := range v.Clauses {
			lists = lists || id == "RST-7"
		}
		if have["RST-7"] < 2 || !lists {
			kept = append(kept, v)
		}
		if lists {
			have["RST-7"]++
		}
	}
	require.Greater(t, have["RST-7"], 2)
	const want = "clause RST-7 is listed by 2 vectors; each needs 3"
	for _, err := range Coverage(s) {
		assert.NotEqual(t, want, err.Error())
	}
	s.Vectors = kept
	assert.Contains(t, errors.Join(Coverage(s)...).Error()+"\n", want+"\n")
}

func TestFirstDifference(t *testing.T) {
	cases := []struct{ have, want, difference string }{
		{"", "", ""},
		{"a\nb\n", "a\nb\n", ""},
		{"a\n\nb\n", "a\n\nb\n", ""}, // empty lines that agree are no difference
		{"a\nb\n", "a\nc\n", `line 2 is "b"; it should be "c"`},
		{"a\n", "a\nc\n", `line 2 is missing; it should be "c"`},
		{"b\n", "a\nb\n", `line 1 is missing; it should be "a"`},
		{"a\nb\nc\n", "a\nc\n", `line 2, "b", should not be there`},
		{"a\nb\n", "a\n", `line 2, "b", should not be there`},
		{"b\na\n", "a\nb\n", `line 1 is "b"; it should be "a"`},
		{"a", "a\n", `line 2 is missing; it should be ""`},
		{"a\n", "a", `line 2, "", should not be there`},
	}
	for _, c := range cases {
		assert.Equal(t, c.difference, firstDifference(c.have, c.want), "%q, %q", c.have, c.want)
	}
}

// The units on which a vector is tried have, of each option that its needs leave open, every value; all are valid statements.
func TestUnitsSpread(t *testing.T) {
	v := read(t, goodVector)
	seen := map[string]map[string]bool{}
	for _, ics := range units(v) {
		if ok, _ := v.Applies(&ics); !ok || ics.Validate() != nil {
			continue
		}
		for _, name := range append(wire.OptionNames(), "channels", "cycle", "timing", "coupling") {
			if seen[name] == nil {
				seen[name] = map[string]bool{}
			}
			seen[name][wire.Option(ics, name)] = true
		}
	}
	for _, name := range wire.OptionNames() {
		for _, word := range wire.OptionWords(name) {
			if name != "second-boost" {
				assert.True(t, seen[name][word], "%s %s", name, word)
			}
		}
	}
	assert.Equal(t, map[string]bool{"replaces": true}, seen["second-boost"])
	for name, least := range map[string]int{"periods": 5, "zone": 5, "reserve": 6, "credential": 2, "boost-longest": 5, "boost-step": 5} {
		assert.GreaterOrEqual(t, len(seen[name]), least, name)
	}
	assert.Equal(t, map[string]bool{
		"both,hw,ch both": true, "both,hw,ch hw": true, "both,hw,ch ch": true, "both both": true, "hw hw": true, "ch ch": true,
	}, seen["channels"])
	for name, least := range map[string]int{"cycle": 6, "timing": 4, "coupling": 2} {
		assert.GreaterOrEqual(t, len(seen[name]), least, name)
	}
}

func TestMeetMakesValidUnits(t *testing.T) {
	needs := []string{
		`"boost-minutes": [1440]`, `"boost-minutes": [7, 11]`, `"boost-minutes": [45, 90], "boost-longest": {"max": 90}`, `"boost-step": 50`,
		`"boost-step": {"min": 61}`, `"periods": 1`, `"zone": {"max": -60}`, `"reserve": {"min": 481}`, `"lock": "no"`, `"lost-clock": ["restarts", "unset"]`,
	}
	for _, n := range needs {
		text := strings.Replace(goodVector, `"periods": {"min": 2}, "boost-minutes": [60], "second-boost": "replaces"`, n, 1)
		v := read(t, text)
		base := units(v)[0]
		require.NoError(t, base.Validate(), n)
		if ok, why := v.Applies(&base); !ok {
			// Such needs are met by another unit of the spread.
			assert.Contains(t, n, "max\": 90", why)
		}
	}
	full := spec.FullICS()
	assert.Equal(t, full, units(read(t, strings.Replace(goodVector, `"periods": {"min": 2}, "boost-minutes": [60], "second-boost": "replaces"`, ``, 1)))[0])
}
