package scenario

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/spec"
)

// Every place below was counted in the file, and every message is what a person should be told.

const head = "title: x\nstart: 2026-01-14 05:00\nuntil: 2026-01-15 05:00\n" // three lines

// step is a file whose line 5 does one thing; it begins in column 32.
func step(line string) string { return head + "steps:\n  - {at: 2026-01-14 08:00, do: " + line + "}\n" }

func given(line string) string { return head + "given:\n- " + line + "\n" } // line 5, column 3

func TestBadFiles(t *testing.T) {
	for name, c := range map[string]struct{ file, want string }{
		"empty":               {"", "1:1: the file is empty; a scenario is a mapping with title, start and until"},
		"comments only":       {"# nothing\n", "1:1: the file is empty"},
		"text":                {"hello", "1:1: the file holds 'hello'; a scenario is a mapping"},
		"list":                {"- a\n- b\n", "1:1: the file holds a list; a scenario is a mapping"},
		"open bracket":        {head + "given: [reset\n", "4:8: this is not YAML"},
		"tab":                 {"title: x\n\tstart: y\n", "2:1: this is not YAML"},
		"unclosed quote":      {head + "given: [\"reset]\n", "4:9: this is not YAML"},
		"two documents":       {head + "---\ntitle: y\n", "5:1: a second document begins here"},
		"not UTF-8":           {"title: caf\xe9\n", "1:11: byte 0xe9 is not UTF-8"},
		"NUL":                 {"title: a\x00b\n", "1:9: the character U+0000"},
		"escape":              {"title: \"a\\x1bb\"\n", "1:8: the text has a control character"},
		"too long":            {strings.Repeat("#\n", MaxSize/2) + "#", "1:1: the file is too long"},
		"too many brackets":   {strings.Repeat("[", 5000), "1:101: too many brackets"},
		"too deep":            {"\n" + strings.Repeat("- ", 20) + "a", "2:1: this nests too deep"},
		"too deep in braces":  {"a: " + strings.Repeat("{a: ", 20) + strings.Repeat("}", 20), "this nests too deep"},
		"anchor":              {head + "given: &a [reset]\n", "4:8: anchors, aliases and tags"},
		"alias":               {head + "given: *a\n", "4:8: anchors, aliases and tags"},
		"tag":                 {head + "given: !!seq [reset]\n", "4:8: anchors, aliases and tags"},
		"merge key":           {head + "<<: {given: [reset]}\n", "4:1: unknown key '<<'"},
		"key that is none":    {head + "? given\n: [reset]\n", "4:1: this is no key"},
		"duplicate":           {head + "title: y\n", "4:1: key 'title' stands on line 1 already"},
		"duplicate in a step": {head + "steps:\n- {at: +01:00:00, at: +02:00:00, do: reset}\n", "5:19: key 'at' stands on line 5 already"},

		"near key":        {head + "stpes: []\n", "4:1: unknown key 'stpes'; is steps meant?"},
		"far key":         {head + "weather: fine\n", "4:1: unknown key 'weather'; the scenario is a mapping with title"},
		"near key inside": {step("reset, expcet: refused"), "5:39: unknown key 'expcet'; is expect meant?"},
		"missing keys":    {"title: x\n", "1:1: the scenario lacks start; add it: a local time such as"},
		"missing do":      {head + "steps:\n- at: +01:00:00\n", "5:3: the step lacks do; add it: an input line such as override ch"},
		"steps a text":    {head + "steps: reset\n", "4:8: steps is 'reset'; it should be a list of steps"},
		"step a text":     {head + "steps:\n- reset\n", "5:3: the step is 'reset'; it should be a mapping with at and do"},
		"given a number":  {given("5"), "5:3: the line is the number '5'; it should be an input line"},
		"given a text":    {head + "given: reset\n", "4:8: given is 'reset'; it should be a list of input lines"},
		"no value":        {head + "steps:\n", "4:1: steps is empty; it should be a list"},
		"title a number":  {"title: 3\nstart: 2026-01-14 05:00\nuntil: +01:00:00\n", "1:8: title is the number '3'"},
		"title of lines":  {"title: |\n  a\n  b\nstart: 2026-01-14 05:00\nuntil: +01:00:00\n", "1:8: the title has more than one line"},
		"expect":          {step("reset, expect: denied"), "5:47: expect is 'denied'; it should be accepted, refused or unsupported"},
		"clock":           {head + "clock: set\n", "4:8: clock is 'set'; it should be unset"},

		"option unknown":      {head + "unit: {cupling: gravity}\n", "4:8: unknown key 'cupling'; is coupling meant?"},
		"option a tolerance":  {head + "unit: {late-scan: 3}\n", "4:8: late-scan is a tolerance"},
		"option value":        {head + "unit: {cycle: 8day}\n", "4:15: cycle is '8day'; it should be what is fitted: 24h, 5/2 or 7day"},
		"option true":         {head + "unit: {lock: true}\n", "4:14: lock is 'true'; it should be yes or no"},
		"option out of range": {head + "unit: {periods: 7}\n", "4:17: periods is the number '7'; it should be a number of periods a day from 1 to 6"},
		"option not a number": {head + "unit: {reserve: 0480}\n", "4:17: reserve is '0480'; it should be a number of minutes"},
		"zone":                {head + "unit: {zone: 7}\n", "4:14: zone is the number '7'; it should be the standard offset"},
		"credential":          {head + "unit: {credential: 12}\n", "4:20: credential is the number '12'; it should be 4 to 8 digits"},
		"longest not steps":   {head + "unit: {boost-longest: 45}\n", "4:23: boost-longest: 45 is not 0 to 1440 minutes in whole steps of 60"},
		"step of another":     {head + "unit:\n  periods: 2\n  boost-step: 50\n", "6:15: boost-longest: 180 is not 0 to 1440 minutes in whole steps of 50"},

		"30 February":        {"title: x\nstart: 2026-02-30 05:00\nuntil: +01:00:00\n", "2:8: 2026-02-30 is not in the calendar"},
		"29 February":        {"title: x\nstart: 2026-02-29 05:00\nuntil: +01:00:00\n", "2:8: 2026-02-29 is not in the calendar"},
		"date only":          {"title: x\nstart: 2026-01-14\nuntil: +01:00:00\n", "2:8: start is '2026-01-14'; it should be a local time"},
		"time only":          {step("reset") + "  - {at: 09:00, do: reset}\n", "6:10: at is '09:00'; it should be a local time"},
		"24:00":              {"title: x\nstart: 2026-01-14 24:00\nuntil: +01:00:00\n", "2:8: 24:00 is 00:00 of the day after"},
		"25:00":              {"title: x\nstart: 2026-01-14 25:00\nuntil: +01:00:00\n", "2:8: 25:00 is not a time of day"},
		"out of range":       {"title: x\nstart: 1999-01-14 05:00\nuntil: +01:00:00\n", "2:8: 1999-01-14 is out of range"},
		"runs out of range":  {"title: x\nstart: 2099-12-31 05:00\nuntil: +20:00:00\n", "3:8: this is out of range"},
		"offset":             {"title: x\nstart: 2026-01-14 05:00 +25:00\nuntil: +01:00:00\n", "2:8: +25:00 is not an offset"},
		"skipped":            {"title: x\nstart: 2026-03-29 01:30\nuntil: +01:00:00\n", "2:8: summer time skips this reading: 2026-03-29 00:59:59 is followed by 02:00:00"},
		"start is a second":  {"title: x\nstart: 2026-10-25 01:30 +00:00\nuntil: +01:00:00\n", "2:8: setting a clock to a reading that comes twice means the first"},
		"start with seconds": {"title: x\nstart: 2026-01-14 05:00:30\nuntil: +01:00:00\n", "2:8: the start has seconds"},
		"ends at once":       {"title: x\nstart: 2026-01-14 05:00\nuntil: +00:00:00\n", "3:8: the scenario ends when it starts"},
		"until first":        {"title: x\nstart: 2026-01-14 05:00\nuntil: 2026-01-14 04:00\n", "3:8: '2026-01-14 04:00' is before the start, which is at 2026-01-14 05:00:00 +00:00"},
		"until before step":  {"title: x\nstart: 2026-01-14 05:00\nuntil: 2026-01-14 07:00\nsteps:\n- {at: 2026-01-14 08:00, do: reset}\n", "3:8: '2026-01-14 07:00' is before the last step"},
		"step before start":  {head + "steps:\n- {at: 2026-01-14 04:59, do: reset}\n", "5:8: '2026-01-14 04:59' is before the start"},
		"steps out of order": {step("reset") + "  - {at: 2026-01-14 07:00, do: reset}\n", "6:10: '2026-01-14 07:00' is before step 1"},
		"minutes after":      {step("reset") + "  - {at: +00:90:00, do: reset}\n", "6:10: +00:90:00 has more than 59 minutes"},
		"too short after":    {step("reset") + "  - {at: +01:30, do: reset}\n", "6:10: at is '+01:30'; it should be a local time"},

		"near input":         {step("boots ch 60"), "5:32: unknown input 'boots'; is boost meant?"},
		"far input":          {step("hello 1"), "5:32: unknown input 'hello'; the inputs are power, fit, clock"},
		"boost of 0":         {step("boost ch 0"), "5:41: a boost of 0 minutes cancels; write cancel in its place"},
		"boost not steps":    {step("boost ch 45"), "5:41: 45 minutes is not whole steps: the unit's boosts are whole steps of 60 minutes up to 180; if that is meant, say expect: refused"},
		"boost too long":     {step("boost ch 240"), "5:41: 240 minutes is too long"},
		"boost of nothing":   {step("boost ch"), "5:40: the line ends too soon: write minutes, such as 60, or cancel"},
		"boost of too much":  {step("boost ch 60 70"), "5:44: '70' is wrong: the line should have ended before it"},
		"boost not had":      {head + "unit: {boost-longest: 0}\nsteps:\n- {at: +01:00:00, do: boost ch 60}\n", "6:23: the unit has no boost; say boost-longest in unit; if that is meant, say expect: unsupported"},
		"channel":            {step("override xx"), "5:41: 'xx' is wrong: channel is hw or ch"},
		"channel not had":    {head + "unit: {channels: ch}\nsteps:\n- {at: +01:00:00, do: override hw}\n", "6:32: the unit has no such channel: channels is \"ch\" in unit"},
		"mode":               {step("mode ch tabel"), "5:40: 'tabel' is wrong: mode is off, table, span or always"},
		"day of another":     {step("period ch all 1 06:00 07:00"), "5:42: with cycle 7day the days are mon, tue"},
		"table of another":   {head + "unit: {timing: shared}\ngiven: [period ch mon 1 06:00 07:00]\n", "5:16: with timing shared there is one table; write both"},
		"slot":               {step("period ch mon 7 06:00 07:00"), "5:46: the unit has 6 periods a day"},
		"on of 24:00":        {step("period ch mon 1 24:00 07:00"), "5:48: a period cannot begin at 24:00"},
		"off before on":      {step("period ch mon 1 09:00 07:00"), "5:54: the period ends before it begins"},
		"time":               {step("period ch mon 1 09:00 7:00"), "5:54: '7:00' is wrong: a time is hh:mm"},
		"holiday of 0":       {step("holiday 0"), "5:40: a holiday is 1 to 99 days, not 0"},
		"holiday of 100":     {step("holiday 100"), "5:40: a holiday is 1 to 99 days, not 100"},
		"holiday of what":    {step("holiday"), "5:39: the line ends too soon: write days from 1 to 99, or cancel"},
		"holiday not had":    {head + "unit: {holiday: no}\nsteps:\n- {at: +01:00:00, do: holiday 3}\n", "6:23: the unit has no holiday; say holiday: yes"},
		"lock of what":       {step("lock"), "5:36: the line ends too soon: lock is arm or remove"},
		"no credential":      {step("lock arm 30 7 none none none 20 none"), "5:68: arming has 10 words, this line 9: write lock arm CREDENTIAL DAYS"},
		"wrong credential":   {step("lock remove 1111"), "5:44: this is not the unit's credential"},
		"lock days":          {step("'lock arm {credential} 0 0 none none none none none'"), "5:55: the days are 1 to 999, not 0"},
		"notice days":        {step("'lock arm {credential} 3 4 none none none none none'"), "5:57: the notice days are 0 to the days, 3, not 4"},
		"allowance":          {step("'lock arm {credential} 3 1 none none none 5 none'"), "5:74: an allowance is 10 to 60 minutes an hour, or none, not 5"},
		"sounder":            {step("'lock arm {credential} 3 1 none none none none 24:00'"), "5:79: there are at most 4 sounder times"},
		"lock not had":       {head + "unit: {lock: no}\nsteps:\n- {at: +01:00:00, do: lock remove 1234}\n", "6:23: the unit has no lock"},
		"braces":             {step("lock remove {credential}"), "5:44: this is not YAML: ',' or '}' must be specified; put a line that has braces or commas of its own in quotes"},
		"comma":              {step("lock arm 246810 3 1 none none none none 08:00,18:30"), "5:78: unknown key '18'; a line that has a comma of its own stands in quotes"},
		"clock 30 February":  {step("clock 2026-02-30 10:00"), "5:38: 2026-02-30 is not in the calendar"},
		"clock 2100":         {step("clock 2100-01-01 10:00"), "5:38: a clock takes dates from 2000-01-01 to 2099-12-31"},
		"clock 24:00":        {step("clock 2026-02-20 24:00"), "5:49: no clock can be set to 24:00"},
		"clock skipped":      {step("clock 2026-03-29 01:15"), "5:49: summer time skips this reading"},
		"fit value":          {step("fit cycle 8day"), "5:42: '8day' is wrong: cycle is 24h, 5/2 or 7day"},
		"table in a step":    {step("table ch every none"), "5:32: a table line is for given"},
		"table too short":    {given("table ch every"), "5:17: the line ends too soon: write table TABLE DAY"},
		"table of what":      {given("table xx every none"), "5:9: 'xx' is wrong: table is hw, ch or both"},
		"table day":          {given("table ch someday none"), "5:12: 'someday' is wrong: day is mon"},
		"table period":       {given("table ch every 06:00-07:00 8-9"), "5:30: '8-9' is not a period such as 06:30-09:00"},
		"table too many":     {head + "unit: {periods: 1}\ngiven:\n- table ch every 06:00-07:00 08:00-09:00\n", "6:30: the unit has 1 periods a day, the line 2"},
		"table ends first":   {given("table ch every 06:00-07:00 09:00-08:00"), "5:30: the period ends before it begins"},
		"table from 24:00":   {given("table ch every 24:00-24:00"), "5:18: a period cannot begin at 24:00"},
		"words far apart":    {step("boost   ch    45"), "5:46: 45 minutes is not whole steps"},
		"line in quotes":     {step("\"boost ch 45\""), "5:42: 45 minutes is not whole steps"},
		"folded line":        {head + "given:\n- >\n  boost\n  ch 45\n", "5:3: 45 minutes is not whole steps"},
		"given not accepted": {head + "given: [mode ch off, override ch]\n", "4:22: the unit answers refused: the schedule never changes by itself; what is given must be accepted"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Parse("f.yaml", []byte(c.file))
			require.Error(t, err)
			places(t, err)
			assert.Contains(t, err.Error(), c.want)
			if c.want[0] >= '0' && c.want[0] <= '9' {
				assert.Contains(t, strings.Split(err.Error(), "\n")[0], "f.yaml:"+c.want)
			}
		})
	}
}

// places checks that an error has what every error of this package has.
func places(t *testing.T, err error) {
	t.Helper()
	var all Errors
	require.True(t, errors.As(err, &all), "%T", err)
	require.NotEmpty(t, all)
	for i, e := range all {
		assert.Positive(t, e.Line)
		assert.Positive(t, e.Column)
		assert.NotEmpty(t, e.Message)
		if i > 0 {
			before := all[i-1]
			assert.False(t, e.Line < before.Line || e.Line == before.Line && e.Column < before.Column, "out of order: %v", err)
		}
	}
}

func TestAllErrorsAreReported(t *testing.T) {
	_, err := Parse("f.yaml", []byte(head+`given: [boots ch, table xx every none]
steps:
- {at: 2026-01-14 03:00, do: boost ch 45}
- {at: 2026-01-14 08:00, do: mode ch}
`))
	var all Errors
	require.True(t, errors.As(err, &all))
	var at []string
	for _, e := range all {
		at = append(at, fmt.Sprintf("%d:%d", e.Line, e.Column))
	}
	assert.Equal(t, []string{"4:9", "4:25", "6:8", "6:39", "7:37"}, at)
	assert.Len(t, errors.Join(err).(interface{ Unwrap() []error }).Unwrap(), 1)
	var one *Error
	assert.True(t, errors.As(err, &one))
}

func TestManyErrorsAreCutShort(t *testing.T) {
	_, err := Parse("f.yaml", []byte(head+"given:\n"+strings.Repeat("- nonsense\n", 25)))
	require.Error(t, err)
	lines := strings.Split(err.Error(), "\n")
	assert.Len(t, lines, 21)
	assert.Equal(t, "and 5 more", lines[20])
}

func TestWhatIsMeantIsNoError(t *testing.T) {
	for name, file := range map[string]string{
		"bad value expected":         head + "steps:\n- {at: +01:00:00, do: boost ch 45, expect: refused}\n",
		"missing feature expected":   head + "unit: {holiday: no}\nsteps:\n- {at: +01:00:00, do: holiday 3, expect: unsupported}\n",
		"bad value clamped":          head + "unit: {bad-value: clamped}\nsteps:\n- {at: +01:00:00, do: boost ch 45}\n- {at: +01:00:00, do: holiday 100}\n",
		"wrapping period":            head + "unit: {past-midnight: wrap}\ngiven: [table ch every 22:00-06:00]\n",
		"refused by its state":       head + "steps:\n- {at: +01:00:00, do: mode ch off}\n- {at: +00:00:00, do: override ch}\n",
		"both on a single channel":   head + "unit: {channels: ch, cycle: 5/2}\ngiven: [table both every 06:00-07:00, mode ch span]\n",
		"both on a shared table":     head + "unit: {timing: shared, cycle: 24h}\ngiven: [table both every 06:00-07:00, period both all 2 09:00 10:00]\n",
		"fitted on the way":          head + "steps:\n- {at: +01:00:00, do: power off}\n- {at: +00:01:00, do: fit cycle 24h}\n- {at: +00:01:00, do: power on}\n- {at: +00:00:00, do: period ch all 1 06:00 07:00}\n",
		"credential with zeros":      head + "unit: {credential: 0123}\nsteps: [{at: +01:00:00, do: lock remove 0123}]\n",
		"credential wrong in front":  head + "unit: {credential: 0123}\nsteps: [{at: +01:00:00, do: 'lock remove {wrong-first}', expect: refused}]\n",
		"credential as a number":     head + "unit: {credential: 12345678}\nsteps: [{at: +01:00:00, do: lock remove 12345678}]\n",
		"instants":                   "title: x\nstart: 2026-07-01T05:00+01:00\nuntil: 2026-07-01T05:00:00Z\n",
		"second time round, unset":   "title: x\nclock: unset\nstart: 2026-10-25 01:30 +00:00\nuntil: +01:00:00\n",
		"a byte order mark":          "\ufeff" + head,
		"carriage returns":           strings.ReplaceAll(head+"steps:\n- {at: +01:00:00, do: reset}\n", "\n", "\r\n"),
		"a document marked":          "---\n" + head + "...\n",
		"JSON":                       `{"title": "x", "start": "2026-01-14 05:00", "until": "+01:00:00", "given": ["mode ch off"]}`,
		"one second for many inputs": head + "steps:\n- {at: 2026-01-14 08:00, do: override ch}\n- {at: 2026-01-14 08:00, do: override ch}\n",
	} {
		t.Run(name, func(t *testing.T) {
			s, err := Parse("f.yaml", []byte(file))
			require.NoError(t, err)
			assert.NotEmpty(t, s.Run().Scenario.Title)
		})
	}
}

func TestMoments(t *testing.T) {
	// Europe/London in 2026: summer time from 29 March 01:00 UTC to 25 October 01:00 UTC.
	s, err := Parse("f.yaml", []byte(`title: moments
start: 2026-10-25 00:30
steps:
- {at: 2026-10-25 01:30, do: reset}          # the first, an hour on
- {at: 2026-10-25 01:30 +01:00, do: reset}   # the same
- {at: 2026-10-25 01:30 +00:00, do: reset}   # the second
- {at: +00:00:30, do: reset}
- {at: 2026-10-25T03:00:00+01:00, do: reset} # another zone's way to say 02:00 UTC
- {at: 2026-10-25T02:30:00Z, do: reset}
- {at: 2026-10-25 03:00, do: reset}
until: +100:00:00
`))
	require.NoError(t, err)
	var at []uint64
	for _, step := range s.Steps {
		at = append(at, step.At)
	}
	const hour = 3600
	assert.Equal(t, []uint64{hour, hour, 2 * hour, 2*hour + 30, 2*hour + 1800, 3 * hour, 3*hour + 1800}, at)
	assert.EqualValues(t, 3*hour+1800+100*hour, s.Until)
	assert.Equal(t, "2026-10-25 01:30:00 +01:00", format(s.At(hour)))
	assert.Equal(t, "2026-10-25 01:30:00 +00:00", format(s.At(2*hour)))
}

func TestMomentsElsewhere(t *testing.T) {
	// Standard time an hour ahead of UTC: the change comes at 02:00, which is followed by 03:00.
	_, err := Parse("f.yaml", []byte("title: x\nunit: {zone: 60}\nstart: 2026-03-29 02:30\nuntil: +01:00:00\n"))
	require.ErrorContains(t, err, "2026-03-29 01:59:59 is followed by 03:00:00")
	s, err := Parse("f.yaml", []byte("title: x\nunit: {zone: 60}\nstart: 2026-03-29 01:30\nuntil: 2026-03-29 03:30\n"))
	require.NoError(t, err)
	assert.EqualValues(t, 3600, s.Until)
	// Without summer time every reading comes once.
	s, err = Parse("f.yaml", []byte("title: x\nunit: {summer-time: none}\nstart: 2026-03-29 00:30\nuntil: 2026-03-29 02:30\n"))
	require.NoError(t, err)
	assert.EqualValues(t, 7200, s.Until)
}

func TestUnit(t *testing.T) {
	s, err := Parse("f.yaml", []byte(head+"unit: {coupling: gravity, cycle: 5/2, periods: 3, credential: 0123, override-end: programmed, lost-clock: restarts}\n"))
	require.NoError(t, err)
	want := spec.FullICS()
	want.Fitted = spec.Fitted{Cycle: spec.Cycle52, Coupling: spec.Gravity}
	want.Periods = 3
	want.Credential = "0123"
	want.OverrideProgrammed = true
	want.LostClock = spec.LostRestarts
	assert.Equal(t, want, s.ICS)
}

func FuzzParse(f *testing.F) {
	files, err := filepath.Glob("../../testdata/scenarios/*.yaml")
	require.NoError(f, err)
	require.NotEmpty(f, files)
	for _, name := range files {
		data, err := os.ReadFile(name)
		require.NoError(f, err)
		f.Add(data)
	}
	f.Add([]byte(step("\"boost ch 45\"")))
	f.Add([]byte(head + "given: [reset, table both every none, 5]\n? a\n: &b [*b]\n"))
	f.Add([]byte("title: |\n  x\nstart: 2026-10-25T01:30Z\nuntil: +00:00:01\nclock: unset\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := Parse("f.yaml", data)
		if err != nil {
			places(t, err)
			return
		}
		if s.Title == "" || s.Until == 0 {
			t.Fatalf("no title or no end: %+v", s)
		}
		if s.Until < 100*24*3600 {
			s.Run()
		}
	})
}
