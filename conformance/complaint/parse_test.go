package complaint

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// Every place below was counted in the file, and every message is what a person should be told.

const head = "title: x\nasked: 2026-11-04 18:00\nsafety: no\n" // three lines

func unit(text string) string    { return head + "unit: {" + text + "}\n" }         // line 4, column 8
func around(text string) string  { return head + "installation: {" + text + "}\n" } // line 4, column 16
func setting(text string) string { return head + "settings:\n- " + text + "\n" }    // line 5, column 3

// done is a file whose line 5 tells of one act; it begins in column 38.
func done(text string) string {
	return head + "done:\n- {when: 2026-11-02 about 18:00, do: " + text + "}\n"
}

// sensed is a file whose line 5 has one observation; when stands in column 10.
func sensed(when, rest string) string {
	return head + "sensed:\n- {when: " + when + ", " + rest + "}\n"
}

func TestBadFiles(t *testing.T) {
	for name, c := range map[string]struct{ file, want string }{
		"empty":          {"", "1:1: the file is empty; a complaint is a mapping with title, asked and safety"},
		"text":           {"cold", "1:1: the file holds 'cold'; a complaint is a mapping"},
		"not YAML":       {head + "done: [a\n", "4:7: this is not YAML"},
		"two documents":  {head + "---\ntitle: y\n", "5:1: a second document begins here; a file holds one complaint"},
		"duplicate":      {head + "title: y\n", "4:1: key 'title' stands on line 1 already"},
		"near key":       {head + "sensd: []\n", "4:1: unknown key 'sensd'; is sensed meant?"},
		"until":          {head + "until: 2026-11-05 18:00\n", "4:1: a complaint ends when it was asked; say asked"},
		"no safety":      {"title: x\nasked: 2026-11-04 18:00\n", "1:1: the complaint lacks safety; add it: no if all five questions were asked"},
		"no title":       {"asked: 2026-11-04 18:00\nsafety: no\n", "1:1: the complaint lacks title"},
		"safety of what": {"title: x\nasked: 2026-11-04 18:00\nsafety: fine\n", "3:9: safety is 'fine'; it should be no if all five"},
		"gas smell":      {"title: x\nasked: 2026-11-04 18:00\nsafety: {gas-smell: maybe}\n", "3:21: gas-smell is 'maybe'; it should be yes, no or not known"},
		"lines":          {"title: |\n  a\n  b\nasked: 2026-11-04 18:00\nsafety: no\n", "1:8: the title has more than one line"},
		"asked a date":   {"title: x\nasked: 2026-11-04\nsafety: no\n", "2:8: asked is '2026-11-04'; it should be the local time at which"},
		"asked 31 Nov":   {"title: x\nasked: 2026-11-31 18:00\nsafety: no\n", "2:8: 2026-11-31 is not in the calendar"},
		"asked too soon": {"title: x\nasked: 1999-11-30 18:00\nsafety: no\n", "2:8: 1999-11-30 is out of range"},
		"asked skipped":  {"title: x\nasked: 2026-03-29 01:30\nsafety: no\n", "2:8: summer time skips this reading"},
		"asked at once":  {"title: x\nasked: 2000-01-01 00:00\nsafety: no\n", "2:8: there is no time before this"},
		"zone":           {head + "zone: 7\n", "4:7: zone is the number '7'; it should be the household's standard offset"},
		"summer time":    {head + "summer-time: automatic\n", "4:14: summer-time is 'automatic'; it should be yes or no"},
		"from late":      {head + "from: 2026-11-04 18:00\n", "4:7: the account begins when it was asked for, or later"},

		"option unknown":    {unit("cupling: gravity"), "4:8: unknown key 'cupling'; is coupling meant?"},
		"option tolerance":  {unit("late-scan: 3"), "4:8: late-scan is a tolerance"},
		"option value":      {unit("cycle: 8day"), "4:15: cycle is '8day'; it should be 24h, 5/2 or 7day"},
		"option range":      {unit("periods: 7"), "4:17: periods is '7'; it should be a number of periods a day from 1 to 6"},
		"option in mapping": {unit("cycle: {is: 8day, source: said}"), "4:20: cycle is '8day'"},
		"option without is": {unit("cycle: {source: said}"), "4:15: cycle lacks is; add it: a value, or not known"},
		"option source":     {unit("cycle: {is: 7day, source: guessed}"), "4:34: source is 'guessed'; it should be said, read or measured"},
		"option sure":       {unit("cycle: {is: 7day, sure: quite}"), "4:32: sure is 'quite'; it should be sure, fairly or unsure, or measured"},
		"option a list":     {unit("cycle: [7day]"), "4:15: cycle is a list; it should be 24h, 5/2 or 7day"},
		"zone of the unit":  {unit("zone: 7"), "4:14: zone is '7'; it should be the standard offset"},
		"boosts together":   {unit("boost-longest: 100, boost-step: 60"), "4:40: boost-longest is not whole boost-steps"},

		"plan":           {around("plan: three valves"), "4:22: plan is 'three valves'; it should be gravity, gravity with valve, two valves"},
		"thermostat":     {around("room-thermostat: warm"), "4:33: room-thermostat is 'warm'; it should be degrees such as 20 or 20.5, or none"},
		"hot thermostat": {around("room-thermostat: 200"), "4:33: room-thermostat is '200'"},
		"second control": {around("second-control: '05:00-06:00'"), "4:33: second-control is '05:00-06:00'; it should be a second time control such as ch 05:00-06:00"},
		"overrun":        {around("pump-overrun: 61"), "4:30: pump-overrun is '61'; it should be a number of minutes from 0 (none) to 60"},
		"overrun by gravity": {
			around("plan: gravity, pump-overrun: 5"), "4:45: this cannot be: installation: overrun 300 s",
		},

		"setting unknown":   {setting("mod ch table"), "5:3: unknown setting 'mod'; is mode meant?"},
		"setting far":       {setting("hello"), "5:3: unknown setting 'hello'; it begins with mode, table, clock"},
		"setting a number":  {setting("5"), "5:3: the setting is the number '5'; it should be a setting such as mode ch table"},
		"mode of what":      {setting("mode"), "5:7: the line ends too soon: channel is hw or ch"},
		"mode channel":      {setting("mode xx off"), "5:8: 'xx' is wrong: channel is hw or ch"},
		"mode word":         {setting("mode ch auto"), "5:11: 'auto' is wrong: mode is off, table, span or always"},
		"mode and more":     {setting("mode ch off now"), "5:15: the line should have ended before 'now'"},
		"table day":         {setting("table ch someday 06:00-07:00"), "5:12: 'someday' is wrong: day is mon"},
		"table nothing":     {setting("table ch every"), "5:17: the line ends too soon: write periods such as 06:30-08:30, or none"},
		"table no day":      {setting("table ch"), "5:11: the line ends too soon: write the days"},
		"table period":      {setting("table ch every 6-7"), "5:18: '6-7' is not a period such as 06:30-08:30"},
		"table from 24:00":  {setting("table ch every 24:00-24:00"), "5:18: a period cannot begin at 24:00"},
		"table seven":       {setting("table ch every" + strings.Repeat(" 06:00-07:00", 7)), "5:90: there are more than 6 periods"},
		"clock of what":     {setting("clock"), "5:8: write what the clock shows: 07:12, sun 07:12"},
		"clock 24:00":       {setting("clock 24:00"), "5:9: write what the clock shows"},
		"clock date":        {setting("clock 2026-02-30 07:00"), "5:9: 2026-02-30 is not in the calendar"},
		"clock and more":    {setting("clock unset now"), "5:15: the line should have ended before 'now'"},
		"holiday":           {setting("holiday 0"), "5:11: write a number of days from 1 to 99, or none"},
		"alert":             {setting("alert soon"), "5:9: 'soon' is wrong: stage is none, counting, notice or restricted"},
		"lock allowance":    {setting("lock restricted ch 5"), "5:22: an allowance is 10 to 60 minutes an hour, or none"},
		"lock word":         {setting("lock restricted for ever"), "5:19: write lock STAGE, and where known hw MINUTES"},
		"lock sounder":      {setting("lock notice sounder 8"), "5:23: sounder times are such as 08:00,18:30"},
		"lock since":        {setting("lock notice since october"), "5:21: write the date on which the stage began"},
		"override and more": {setting("override ch on"), "5:15: the line should have ended before 'on'"},
		"setting when":      {setting("{is: mode ch off, when: always}"), "5:27: 'always' is no time at which something is done"},
		"setting is":        {setting("{when: now}"), "5:3: the setting lacks is; add it: a setting, such as mode ch table"},

		"act unknown":       {done("overide ch"), "5:38: unknown act 'overide'; is override meant?"},
		"act far":           {done("prayed"), "5:38: unknown act 'prayed'; it begins with override, boost"},
		"act channel":       {done("override both"), "5:47: 'both' is wrong: channel is hw or ch"},
		"act nothing":       {done("boost ch"), "5:46: the line ends too soon: write minutes, such as 60, or cancel"},
		"act power":         {done("power down"), "5:44: write power cut, power off or power on"},
		"act thermostat":    {done("room thermostat up"), "5:54: write the degrees to which it was turned, such as 20.5"},
		"act stat of what":  {done("room up"), "5:43: write room thermostat and the degrees"},
		"act clock":         {done("clock seven"), "5:44: write what it was set to: clock 07:00"},
		"act immersion":     {done("immersion"), "5:47: write immersion off or immersion on"},
		"act boiler":        {done("boiler kick"), "5:45: write boiler reset"},
		"act draw":          {done("draw 101"), "5:43: write how many hundredths of the cylinder, from 1 to 100"},
		"cut without end":   {done("power cut"), "5:10: a power cut has a length; write from when to when"},
		"cut of nothing":    {done("power cut, for: '00:00'"), "5:55: the cut has no length"},
		"cut length":        {done("power cut, for: 2h"), "5:54: for is '2h'; it should be a length of time in hours and minutes"},
		"length of a press": {done("override ch, for: '02:00'"), "5:57: only a power cut has a length; leave for out"},
		"act who":           {done("override ch, who: dog"), "5:56: who is 'dog'; it should be household, integrator or log"},
		"act when":          {head + "done:\n- {when: always, do: reset}\n", "5:10: 'always' is no time at which something is done"},
		"act without when":  {head + "done:\n- {do: reset}\n", "5:3: the act lacks when; add it: a time: 2026-11-02 18:00"},

		"no such stat":     {around("plan: combination") + "done:\n- {when: now, do: cylinder thermostat 50}\n", "6:19: the installation is taken to have no such thing (combination"},
		"no own immersion": {around("immersion: none") + "done:\n- {when: now, do: immersion on}\n", "6:19: the installation is taken to have no such thing"},

		"changed what":    {head + "changed:\n- {what: weather, when: 2026-10-25}\n", "5:10: what is 'weather'; it should be programmer, boiler, valve"},
		"changed by rule": {head + "changed:\n- {what: boiler, when: every day 07:00}\n", "5:24: a rule has no place here"},
		"before":          {head + "changed:\n- {what: boiler, when: 2026-10-25, before: {unit: {cycle: 9day}}}\n", "5:59: cycle is '9day'"},

		"sensed what":       {sensed("now", "what: heating, is: on"), "5:21: what is 'heating'; it should be display, click, hw relay"},
		"sensed nothing":    {sensed("now", "what: radiators"), "5:3: the observation lacks what it was like; add is, becomes or never, such as is: warm"},
		"sensed twice":      {sensed("now", "what: radiators, is: warm, never: cold"), "5:42: the observation has is and never; keep one of them"},
		"sensed level":      {sensed("now", "what: radiators, is: lukewarm"), "5:36: radiators is 'lukewarm'; it should be warm, hot, on, cold or off"},
		"sensed click":      {sensed("now", "what: click, is: off"), "5:32: click is 'off'; it should be heard"},
		"sensed alert":      {sensed("now", "what: alert, is: on"), "5:32: 'on' is wrong: stage is none, counting, notice or restricted"},
		"sensed display":    {sensed("now", "what: display, is: seven"), "5:34: write what the clock shows"},
		"display becomes":   {sensed("now", "what: display, becomes: 07:00"), "5:39: of a reading say is; becomes and never go with unset and blank"},
		"when of what":      {sensed("yesterday", "what: tap, is: hot"), "5:10: 'yesterday' is no time that can be read; write a time such as 2026-11-02 18:00"},
		"when 30 Feb":       {sensed("2026-02-30 18:00", "what: tap, is: hot"), "5:10: 2026-02-30 is not in the calendar"},
		"when 1999":         {sensed("1999-11-30 18:00", "what: tap, is: hot"), "5:10: 1999-11-30 is out of range"},
		"when 25:00":        {sensed("2026-11-02 25:00", "what: tap, is: hot"), "5:10: 25:00 is not a time of day"},
		"when 24:00":        {sensed("2026-11-02 24:00", "what: tap, is: hot"), "5:10: 24:00 is 00:00 of the day after"},
		"when noon":         {sensed("2026-11-02 noon", "what: tap, is: hot"), "5:10: 'noon' is no time of day; write 18:00, about 18:00"},
		"when empty":        {sensed("2026-11-02 07:00-07:00", "what: tap, is: hot"), "5:10: it ends when it begins"},
		"when backwards":    {sensed("2026-11-02 07:00 to 2026-11-01 07:00", "what: tap, is: hot"), "5:10: it ends before it begins"},
		"when since":        {sensed("since october", "what: tap, is: hot"), "5:10: write since and a date"},
		"when no rule":      {sensed("every 07:00", "what: tap, is: hot"), "5:10: 'every 07:00' is no rule that can be read"},
		"when no day":       {sensed("every fortnight 07:00", "what: tap, is: hot"), "5:10: 'fortnight' is no day; days are day, weekday, weekend and mon to sun"},
		"when no such day":  {sensed("every sun 07:00 from 2026-11-02 to 2026-11-04", "what: tap, is: hot"), "5:10: no such day lies between"},
		"when rule reverse": {sensed("every sun 07:00 from 2026-11-04 to 2026-11-02", "what: tap, is: hot"), "5:10: the rule ends before it begins"},
		"when too late":     {sensed("2026-11-05 18:00", "what: tap, is: hot"), "5:10: this is after 2026-11-04 18:00, when the account was asked for"},
		"when too early":    {sensed("2026-11-01 18:00", "what: tap, is: hot") + "from: 2026-11-02 00:00\n", "5:10: this is before 2026-11-02 00:00, where the account begins"},
		"when long ago":     {sensed("2025-09-01 18:00", "what: tap, is: hot"), "5:10: the account goes back more than 400 days"},
		"from long ago":     {head + "from: 2025-09-01 18:00\n", "4:7: the account goes back more than 400 days"},

		"wanted a list":    {head + "wanted: [heat]\n", "4:9: wanted is a list; it should be what the household wants in its own words"},
		"wanted words":     {head + "wanted: {means: []}\n", "4:9: wanted lacks words; add it"},
		"wanted of what":   {head + "wanted: {words: heat, means: [{what: tap, is: tepid, when: always}]}\n", "4:47: tap is 'tepid'; it should be hot or cold"},
		"means is no list": {head + "wanted: {words: heat, means: heat}\n", "4:30: means is 'heat'; it should be a list of what was sensed"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Parse("f.yaml", []byte(c.file))
			require.Error(t, err)
			places(t, err)
			assert.Contains(t, strings.Split(err.Error(), "\n")[0], "f.yaml:"+c.want)
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
	_, err := Parse("f.yaml", []byte(head+`unit: {cycle: 8day, periods: 9}
installation: {plan: none}
settings: [mode xx off, {is: mode ch off, when: tomorrow}]
done: [{when: 2026-11-02 25:00, do: overide ch}]
sensed: [{what: tap, is: tepid, when: noon}]
`))
	var all Errors
	require.True(t, errors.As(err, &all))
	var at []string
	for _, e := range all {
		at = append(at, fmt.Sprintf("%d:%d", e.Line, e.Column))
	}
	assert.Equal(t, []string{"4:15", "4:30", "5:22", "6:17", "6:49", "7:15", "7:37", "8:26", "8:39"}, at)
}

func parse(t *testing.T, file string) *Complaint {
	t.Helper()
	c, err := Parse("f.yaml", []byte(file))
	require.NoError(t, err)
	return c
}

func TestTheTemplateIsAGoodFile(t *testing.T) {
	c := parse(t, string(Template))
	assert.NotEmpty(t, c.Title)
	for _, d := range c.Safety {
		assert.Equal(t, Unanswered, d.Answer, d.Peril)
	}
	// Everything in it that is commented out is good too, once its comment sign is gone.
	var lines []string
	for line := range strings.Lines(string(Template)) {
		line = strings.TrimSuffix(line, "\n")
		bare := strings.TrimLeft(line, " ")
		switch rest, commented := strings.CutPrefix(bare, "# "); {
		case commented && (strings.HasPrefix(rest, "- ") || optional(rest)):
			lines = append(lines, strings.TrimSuffix(line, bare)+rest)
		case strings.HasSuffix(line, ": []"):
			lines = append(lines, strings.TrimSuffix(line, " []"))
		default:
			lines = append(lines, line)
		}
	}
	filled := strings.Join(lines, "\n") + "\n"
	c, err := ParseIn(fstest.MapFS{"logs/boiler.csv": {Data: []byte("time,F,D1\n0,0,1\n40000,1,0\n")}}, "f.yaml", []byte(filled))
	require.NoError(t, err)
	assert.Len(t, c.Settings, 9)
	assert.Len(t, c.Acts, 5)
	assert.Len(t, c.Changed, 1)
	assert.Len(t, c.Sensed, 4+2*3)
	assert.Len(t, c.Logs, 1)
	assert.Len(t, c.Installation, 7)
	assert.Len(t, c.Unit, 8)
	require.NoError(t, c.ICS().Validate())
}

// optional reports whether a comment of the template is a key that may be filled in.
func optional(text string) bool {
	key, _, ok := strings.Cut(text, ": ")
	return ok && !strings.ContainsAny(key, " .,`") && key == strings.ToLower(key) && !strings.HasPrefix(text, "coupling")
}

func TestWhatIsNotKnown(t *testing.T) {
	c := parse(t, head+"unit: {cycle: not known, periods: {is: 3, source: said, sure: unsure}, coupling: gravity}\ninstallation: {plan: not known, supply: mains}\n")
	require.Len(t, c.Unit, 3)
	assert.Equal(t, Option{Place: Place{4, 15}, Name: "cycle", Source: NotKnown, Sure: Unsure}, c.Unit[0])
	assert.Equal(t, Option{Place: Place{4, 40}, Name: "periods", Value: "3", Source: Said, Sure: Unsure}, c.Unit[1])
	assert.Equal(t, Option{Place: Place{4, 82}, Name: "coupling", Value: "gravity", Source: Read, Sure: Certain}, c.Unit[2])
	ics := c.ICS()
	assert.Equal(t, spec.Gravity, ics.Fitted.Coupling)
	assert.Equal(t, spec.Cycle7Day, ics.Fitted.Cycle)
	assert.EqualValues(t, 3, ics.Periods)
	// A unit that is set to gravity works a gravity plant, where nothing else is known.
	assert.Equal(t, plant.GravityUnvalved, c.Plant().Plan)
}

// What the lines of a complaint imply of a unit that nobody has looked at the back of.
func TestWhatIsImplied(t *testing.T) {
	ics := func(file string) spec.ICS {
		s := parse(t, head+file).ICS()
		require.NoError(t, s.Validate())
		return s
	}
	assert.Equal(t, spec.Cycle52, ics("settings: [table ch weekdays 06:00-07:00]\n").Fitted.Cycle)
	assert.Equal(t, spec.Cycle24h, ics("settings: [table ch all 06:00-07:00]\n").Fitted.Cycle)
	assert.Equal(t, spec.Cycle7Day, ics("settings: [table ch weekdays 06:00-07:00, table ch sat none]\n").Fitted.Cycle)
	assert.Equal(t, spec.Cycle7Day, ics("settings: [table ch every 06:00-07:00]\n").Fitted.Cycle)
	assert.Equal(t, spec.Cycle7Day, ics("unit: {cycle: 7day}\nsettings: [table ch weekdays 06:00-07:00]\n").Fitted.Cycle, "what is stated holds")
	assert.True(t, ics("settings: [table ch every 22:00-06:00]\n").Wrap)
	assert.Equal(t, spec.Gravity, ics("installation: {plan: gravity}\n").Fitted.Coupling)
	assert.Equal(t, spec.Independent, ics("unit: {coupling: independent}\ninstallation: {plan: gravity}\n").Fitted.Coupling)
	for boosts, want := range map[string][2]uint16{
		"60":  {60, 180},
		"90":  {30, 180},
		"240": {60, 240},
		"45":  {15, 180},
	} {
		s := ics("done: [{when: 2026-11-02 18:00, do: boost ch " + boosts + "}]\n")
		assert.Equal(t, want, [2]uint16{s.BoostStep, s.BoostLongest}, boosts)
	}
	s := ics("unit: {boost-step: 60}\ndone: [{when: 2026-11-02 18:00, do: boost ch 90}]\n")
	assert.EqualValues(t, 60, s.BoostStep, "what is stated holds: the unit turns the boost down")
	// The unit keeps the household's zone, unless it is said to keep another.
	assert.EqualValues(t, 60, ics("zone: 60\n").Zone)
	assert.EqualValues(t, 0, ics("zone: 60\nunit: {zone: 0}\n").Zone)
}

func TestActs(t *testing.T) {
	c := parse(t, head+`installation: {plan: two zones}
done:
- {when: 2026-11-02 18:00, do: boost ch cancel, who: integrator}
- {when: 2026-11-02 18:00, do: clock 07:00}
- {when: 2026-11-02 18:00, do: clock 2026-11-03 07:00, who: log}
- {when: 2026-11-02 14:00-16:30, do: power cut}
- {when: 2026-11-02 about 14:00, do: power cut, for: "2:05"}
- {when: 2026-11-02 18:00, do: room 2 thermostat 19.5, sure: unsure}
- {when: every weekday about 22:00 since 2026-11-02, do: override ch}
- {when: 2026-11-02 18:00, do: table ch every 06:00-07:00}
- {when: 2026-11-02 18:00, do: 'lock remove {credential}'}
`)
	require.Len(t, c.Acts, 9)
	assert.Equal(t, []spec.Input{{Kind: spec.Boost, Channel: spec.CH}}, c.Acts[0].Inputs)
	assert.Equal(t, Certain, c.Acts[0].Sure)
	assert.Equal(t, []spec.Input{{Kind: spec.SetClock, Minute: 420}}, c.Acts[1].Inputs)
	assert.True(t, c.Acts[1].Today)
	assert.Equal(t, Fairly, c.Acts[1].Sure)
	assert.Equal(t, spec.Date{Year: 2026, Month: 11, Day: 3}, c.Acts[2].Inputs[0].Date)
	assert.Equal(t, Measured, c.Acts[2].Sure)
	assert.EqualValues(t, 9000, c.Acts[3].Seconds)
	assert.Equal(t, DoCut, c.Acts[4].Deed)
	assert.EqualValues(t, 2*3600+300, c.Acts[4].Seconds)
	assert.Equal(t, "room-2-thermostat", c.Acts[5].Fitting.Name)
	assert.Equal(t, "19.5", c.Acts[5].Fitting.Value)
	assert.Equal(t, Unsure, c.Acts[5].Sure)
	assert.Len(t, c.Acts[6].When.Windows, 2, "Monday and Tuesday: Wednesday at 22:00 is still to come")
	assert.Len(t, c.Acts[7].Inputs, 7*spec.MaxPeriods)
	assert.Equal(t, c.ICS().Credential, c.Acts[8].Inputs[0].Credential)
}

// What was worked is there, where nobody says that it is not.
func TestWhatWasWorkedIsThere(t *testing.T) {
	in := parse(t, head+"done: [{when: now, do: immersion on}, {when: now, do: frost thermostat 6}]\n").Plant()
	assert.Equal(t, plant.OwnCircuit, in.Immersion.Wired)
	assert.True(t, in.Frost.Fitted)
	assert.EqualValues(t, 6000, in.Frost.Setting)
	require.NoError(t, in.Validate())
}

// The inputs with which a table is set are those of the unit's own days and tables.
func TestTableInputs(t *testing.T) {
	claim := Claim{About: AboutTable, Table: spec.CHTable, Days: spec.Weekdays, Periods: []spec.Period{{On: 360, Off: 420}}}
	ics := spec.FullICS()
	ics.Periods = 2
	words := func(fitted spec.Fitted) (lines []string) {
		for _, in := range claim.Inputs(&ics, fitted) {
			lines = append(lines, string(wire.AppendInput(nil, in)))
		}
		return lines
	}
	assert.Equal(t, []string{"period ch weekdays 1 06:00 07:00", "period ch weekdays 2 00:00 00:00"}, words(spec.Fitted{Cycle: spec.Cycle52}))
	assert.Len(t, words(spec.Fitted{Cycle: spec.Cycle7Day}), 10)
	assert.Equal(t, []string{"period both all 1 06:00 07:00", "period both all 2 00:00 00:00"}, words(spec.Fitted{Cycle: spec.Cycle24h, Timing: spec.Shared}))
	assert.Empty(t, words(spec.Fitted{Channels: spec.OnlyHW}))
}

func TestObservations(t *testing.T) {
	c := parse(t, head+`sensed:
- {what: radiators, is: hot, when: now}
- {what: ch relay, becomes: "off", when: now, who: log}
- {what: display, is: sun 07:12, when: now, who: integrator, sure: fairly}
- {what: display, becomes: flashing, when: now}
- {what: click, never: heard, when: 2026-11-04 06:00-07:00}
- {what: alert, is: restricted, when: always}
`)
	assert.Equal(t, Observation{
		Place: Place{5, 3}, Text: "radiators hot, now", What: Radiators, Level: 1, Who: Household, Sure: Fairly,
		When: When{Text: "now", Windows: []Window{{From: c.Asked, To: c.Asked, Blur: 60}}},
	}, c.Sensed[0])
	assert.Equal(t, "ch relay becomes off, now", c.Sensed[1].Text)
	assert.Equal(t, Measured, c.Sensed[1].Sure)
	assert.Equal(t, Reading{HasDay: true, Day: spec.Sun, HasMinute: true, Minute: 432}, c.Sensed[2].Reading)
	assert.Equal(t, Fairly, c.Sensed[2].Sure)
	assert.Equal(t, Becomes, c.Sensed[3].Form)
	assert.True(t, c.Sensed[3].Reading.Unset)
	assert.Equal(t, Never, c.Sensed[4].Form)
	assert.EqualValues(t, spec.Restricted, c.Sensed[5].Level)
	assert.Equal(t, []Window{{From: c.From, To: c.Until, Throughout: true}}, c.Sensed[5].When.Windows)
}

// What was otherwise before a change holds up to it, and what the file says from then on.
func TestArrangements(t *testing.T) {
	c := parse(t, head+`unit: {coupling: independent, cycle: 5/2}
installation: {plan: two valves}
settings: [mode ch table]
changed:
- {what: boiler, when: 2026-10-30 12:00, note: no word of before}
- {what: programmer, when: 2026-10-28 12:00, before: {unit: {coupling: gravity}, settings: [mode ch always]}}
- {what: valve, when: 2026-11-01 12:00, before: {installation: {plan: gravity}}}
`)
	assert.Equal(t, []Kind{NewProgrammer, NewBoiler, NewValve}, []Kind{c.Changed[0].Kind, c.Changed[1].Kind, c.Changed[2].Kind}, "in order of time")
	all := c.Arrangements()
	require.Len(t, all, 3)
	assert.Equal(t, spec.Gravity, all[0].ICS.Fitted.Coupling)
	assert.Equal(t, plant.GravityUnvalved, all[0].Plant.Plan)
	assert.Len(t, all[0].Settings, 2)
	assert.True(t, all[0].Renewed)
	assert.Equal(t, spec.Independent, all[1].ICS.Fitted.Coupling)
	assert.Equal(t, plant.GravityUnvalved, all[1].Plant.Plan)
	assert.True(t, all[1].Renewed, "a new programmer begins anew")
	assert.Equal(t, plant.TwoValves, all[2].Plant.Plan)
	assert.False(t, all[2].Renewed, "a new valve leaves the unit as it is")
	assert.Less(t, all[1].From, all[2].From)
	for i := range all {
		require.NoError(t, all[i].ICS.Validate())
		require.NoError(t, all[i].Plant.Validate())
	}
}

func FuzzParse(f *testing.F) {
	logs := os.DirFS("../../testdata/complaints")
	files, err := filepath.Glob("../../testdata/complaints/*.yaml")
	require.NoError(f, err)
	require.NotEmpty(f, files)
	for _, name := range files {
		data, err := os.ReadFile(name)
		require.NoError(f, err)
		f.Add(data)
	}
	f.Add(Template)
	f.Add([]byte(sensed("every weekend between 23:00 and 01:00 until 2026-11-02", "what: tap, never: hot")))
	f.Add([]byte(sensed("2026-10-25 about 01:30-02:30", "what: display, is: 2026-10-25 01:30")))
	f.Add([]byte(setting("lock notice hw none ch 20 sounder 08:00,18:30 since 2026-10-28")))
	f.Add([]byte(done("table both weekdays 22:00-06:00")))
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := ParseIn(logs, "f.yaml", data)
		if err != nil {
			places(t, err)
			return
		}
		if c.Title == "" || c.From >= c.Until || c.From < 0 {
			t.Fatalf("no title or no time: %+v", c)
		}
		for i := range c.Sensed {
			for _, w := range c.Sensed[i].When.Windows {
				if w.To < w.From {
					t.Fatalf("%s ends before it begins: %+v", c.Sensed[i].When.Text, w)
				}
			}
			if len(c.Sensed[i].When.Windows) == 0 {
				t.Fatalf("%s is no time", c.Sensed[i].When.Text)
			}
		}
		for _, a := range c.Arrangements() {
			if err := a.ICS.Validate(); err != nil {
				t.Fatal(err)
			}
			if err := a.Plant.Validate(); err != nil {
				t.Fatal(err)
			}
		}
	})
}
