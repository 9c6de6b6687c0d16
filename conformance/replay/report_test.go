package replay

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/complaint"
)

func reported(t testing.TB, file string) *Report {
	t.Helper()
	c, err := complaint.Parse("f.yaml", []byte(file))
	require.NoError(t, err)
	r, err := NewReport(c)
	require.NoError(t, err)
	return r
}

func text(t testing.TB, r *Report, width int) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, r.WriteText(&b, width))
	return b.String()
}

const cold = `title: x
asked: 2026-11-04 18:00
safety: no
installation: {room-thermostat: 40}
settings: [table ch every 06:30-08:30, mode hw off, table hw every none]
sensed:
- {what: ch relay, is: on, when: 2026-11-03 06:45-08:15}
- {what: ch relay, becomes: on, when: 2026-11-03 07:30}
- {what: click, never: heard, when: 2026-11-03 12:00-13:00}
done:
- {when: 2026-11-03 12:30, do: override hw}
`

// With columns of a quarter of an hour, 06:30 is the 26th and 08:30 the 34th.
func TestADayIsDrawn(t *testing.T) {
	r := reported(t, cold)
	rows := map[string]string{}
	inDay := false
	for _, line := range strings.Split(text(t, r, 110), "\n") {
		if strings.HasPrefix(line, "Tuesday 2026-11-03") {
			inDay = true
		} else if line == "" {
			inDay = false
		}
		if inDay && len(line) > 12 {
			rows[strings.TrimSpace(line[:11])] = line[12:]
		}
	}
	blank := strings.Repeat(" ", 96)
	assert.Equal(t, strings.Repeat("_", 26)+strings.Repeat("#", 8)+strings.Repeat("_", 62), rows["ch relay"])
	assert.Equal(t, strings.Repeat("_", 96), rows["hw relay"])
	assert.Equal(t, blank[:27]+strings.Repeat("=", 7), rows["said #1"])
	assert.Equal(t, blank[:30]+"!", rows["said #2"], "it came an hour before")
	assert.Equal(t, blank[:48]+strings.Repeat("=", 5), rows["said #3"])
	assert.Equal(t, blank[:50]+"1", rows["acts"])
	assert.True(t, strings.HasPrefix(rows[""], "|00 |01 |02 "), rows[""])
}

func TestTheNightOfTheChangeIsDrawn(t *testing.T) {
	r := reported(t, "title: x\nasked: 2026-10-26 18:00\nsafety: no\nsettings: [table ch every 01:30-02:00, mode hw off]\n"+
		"sensed: [{what: ch relay, is: on, when: 2026-10-25 01:45}]\n")
	var b bytes.Buffer
	r.drawDay(&b, r.DayOf(at(t, "2026-10-25 12:00")), 120)
	lines := strings.Split(b.String(), "\n")
	assert.True(t, strings.HasPrefix(lines[0][12:], "|00 |01 |01 |02 |03 "), lines[0])
	for _, line := range lines {
		if strings.HasPrefix(line, "ch relay") {
			// Quarters: the first 01:30 is the 6th, and closes for two; the second is the 10th.
			assert.Equal(t, strings.Repeat("_", 6)+"##__##"+strings.Repeat("_", 88), line[12:])
		}
	}
}

func TestSafetyComesFirst(t *testing.T) {
	r := reported(t, strings.Replace(cold, "safety: no", "safety: {gas-smell: yes, burning: no, scalding: no, vulnerable-without-heat: not known}", 1))
	out := text(t, r, 100)
	gas, ask, unit := strings.Index(out, "Does anybody smell gas? Yes."), strings.Index(out, "FIRST ask"), strings.Index(out, "\nunit")
	assert.True(t, 0 < gas && gas < ask && ask < unit, "%d %d %d", gas, ask, unit)
	assert.Contains(t, out, "carbon monoxide alarm")
	assert.NotContains(t, text(t, reported(t, cold), 100), "FIRST")
	for p := range complaint.Peril(complaint.NumPerils) {
		assert.NotEmpty(t, p.Question())
		assert.NotEmpty(t, p.Do())
	}
}

// An immersion heater on the relay is a danger whatever else is known; what is merely amiss is told of a plan that is known.
func TestDangersComeFirst(t *testing.T) {
	out := text(t, reported(t, strings.Replace(cold, "room-thermostat: 40", "room-thermostat: 40, immersion: on the relay", 1)), 100)
	danger, unit := strings.Index(out, "DANGER"), strings.Index(out, "\nunit")
	assert.True(t, 0 < danger && danger < unit, "%d %d", danger, unit)
	assert.Contains(t, strings.Join(strings.Fields(out), " "), "prove dead")
	known := reported(t, strings.Replace(cold, "room-thermostat: 40", "plan: two valves, room-thermostat: none", 1))
	unknown := reported(t, strings.Replace(cold, "room-thermostat: 40", "room-thermostat: none", 1))
	assert.Greater(t, len(known.Warnings), len(unknown.Warnings))
	assert.NotContains(t, text(t, known, 100), "DANGER")
	assert.Contains(t, text(t, known, 100), "\namiss ")
	assert.Len(t, known.JSON().Warnings, len(known.Warnings))
}

func TestTheReportInWords(t *testing.T) {
	r := reported(t, cold)
	out := strings.Join(strings.Fields(text(t, r, 100)), " ")
	for _, want := range []string{
		"room-thermostat 40 (read)",
		"coupling independent (assumed)",
		"1 override hw, 2026-11-03 12:30: the unit turns it down: the schedule never changes by itself (OVR-9)",
		"departs first at Tue 2026-11-03 07:30:00: #2 ch relay becomes on, 2026-11-03 07:30; the nearest comes 1 h 00 min before",
		"because Tue 2026-11-03 06:30:00: the heating relay closed because period 1 begins (MOD-2)",
		"06:30:00 the heating relay closed because period 1 begins (MOD-2)",
		"agrees #1 ch relay on, 2026-11-03 06:45-08:15",
		"agrees setting 'mode hw off'",
		"clock right at the beginning (assumed)",
		"assumed mode ch table",
	} {
		assert.Contains(t, out, want)
	}
	assert.Contains(t, text(t, reported(t, "title: x\nasked: 2026-11-04 18:00\nsafety: no\n"), 100), "there is nothing to compare")
}

func TestNoLineIsWiderThanAsked(t *testing.T) {
	for name, c := range samples(t) {
		r, err := NewReport(c)
		require.NoError(t, err)
		for _, width := range []int{0, 60, 96, 200} {
			for _, line := range strings.Split(text(t, r, width), "\n") {
				assert.LessOrEqual(t, len(line), max(width, minWidth), "%s: %s", name, line)
			}
		}
	}
}

// More days than are shown are counted, and those on which something departs go first.
func TestDaysLeftOut(t *testing.T) {
	var b strings.Builder
	b.WriteString("title: x\nasked: 2026-11-04 18:00\nsafety: no\nsettings: [mode ch always]\nsensed:\n")
	for _, day := range []string{"20", "21", "22", "23", "24", "25", "26"} {
		b.WriteString("- {what: ch relay, is: on, when: 2026-10-" + day + " 12:00}\n")
	}
	b.WriteString("- {what: ch relay, is: off, when: 2026-10-28 12:00}\n")
	r := reported(t, b.String())
	shown, left := r.Days(false, r.History.To)
	require.Len(t, shown, mostDays)
	assert.Equal(t, 4, left)
	assert.Equal(t, "28", london.At(shown[3].From).Format("2"))
	assert.Contains(t, text(t, r, 100), "4 more days on which something was done or said are left out")
}

func TestJSONHasEverything(t *testing.T) {
	r := reported(t, cold+"wanted: {words: warm, means: [{what: radiators, is: warm, when: every day 07:00-08:00}]}\n")
	data, err := json.Marshal(r.JSON())
	require.NoError(t, err)
	var j JSON
	require.NoError(t, json.Unmarshal(data, &j))
	assert.Equal(t, 1, j.Format)
	assert.Len(t, j.Statements, 6)
	assert.Len(t, j.Wants, 1)
	require.NotNil(t, j.Departs)
	assert.Equal(t, 1, *j.Departs)
	assert.Equal(t, "departs", j.Statements[1].Verdict)
	require.NotNil(t, j.Statements[1].By)
	assert.EqualValues(t, -60*60, *j.Statements[1].By)
	assert.Len(t, j.Acts, 1)
	assert.Equal(t, "refused", j.Acts[0].Reply)
	changes := 0
	for _, l := range j.Lanes {
		for _, c := range l.Changes {
			assert.NotEmpty(t, c.Why, "%s at %s", l.Name, c.At)
		}
		changes += len(l.Changes)
		if l.Name == "the heating relay" {
			assert.Equal(t, ChangeJSON{At: "2026-11-02T06:30:00Z", Level: "closed", Why: "period 1 begins (MOD-2)", Clause: "MOD-2", Order: l.Changes[0].Order}, l.Changes[0])
		}
	}
	n := 0
	for range r.History.All(r.History.From, r.History.To) {
		n++
	}
	assert.Equal(t, n, changes)
	assert.NotContains(t, string(data), complaintCredential(r), "a credential is nobody else's business")
}

func complaintCredential(r *Report) string {
	return `"` + r.History.World.Phases[0].ICS.Credential + `"`
}

// A relay's log of one evening, of which the table's on time is an hour late: by it the relay closed at 18:00 and opened at 22:00, and nothing is known
// between 20:00 and 21:00. Of its six statements the replay has two otherwise: open until 18:00, and the close.
func TestLogsAreToldAsOne(t *testing.T) {
	const file = "title: x\nasked: 2026-11-04 23:00\nsafety: no\nunit: {channels: ch}\nsettings: [mode ch table, table ch every 17:00-22:00]\n" +
		"sensed: [{what: radiators, is: warm, when: 2026-11-04 21:00}]\n" +
		"logs: [{file: l/relay.csv, columns: {ch relay: K1}, clock-out: 1 min slow, note: volt-free}]\n"
	const log = "time,K1\n2026-11-04T15:59:00Z,0\n2026-11-04T17:59:00Z,1\n2026-11-04T17:59:00.010Z,0\n2026-11-04T17:59:00.020Z,1\n2026-11-04T19:59:00Z,\n" +
		"2026-11-04T20:59:00Z,1\n2026-11-04T21:59:00Z,0\n2026-11-04T22:30:00Z,0\n"
	c, err := complaint.ParseIn(fstest.MapFS{"l/relay.csv": {Data: []byte(log)}}, "f.yaml", []byte(file))
	require.NoError(t, err)
	r, err := NewReport(c)
	require.NoError(t, err)
	tracks := r.Tracks()
	require.Len(t, tracks, 1)
	assert.Equal(t, []int{1, 2, 3, 4, 5, 6}, tracks[0].Held)
	assert.Equal(t, "ch relay (column K1, changes 2, bounces taken out 1); its clock was 1 min slow, which is put right; within 65 s; volt-free", LogWords(c.Logs[0]))

	out := text(t, r, 140)
	for _, want := range []string{
		"\nlogs      1 l/relay.csv, Wed 2026-11-04 16:00:00 to Wed 2026-11-04 22:31:00: ch relay (column K1, ",
		"\ndeparts   first at Wed 2026-11-04 17:00:00: #2 ch relay open, 2026-11-04 16:00:00-18:00:00 (l/relay.csv:2, column K1); ",
		"\n  departs     log 1 (l/relay.csv), ch relay: 2 of 6 statements\n      #2 ch relay open, 2026-11-04 16:00:00-18:00:00 (l/relay.csv:2, column K1); the heating relay: closed for 58 min of that time\n" +
			"      #3 ch relay becomes closed, 2026-11-04 18:00:00 (l/relay.csv:3, column K1); the nearest comes 1 h 00 min before\n",
		"\n  agrees      log 1 (l/relay.csv), ch relay: 4 of 6 statements\n",
	} {
		assert.Contains(t, out, want)
	}
	// A column is a quarter of an hour: what the log has, how that compares, and nothing where it is silent.
	assert.Regexp(t, `\nch relay    _{68}#{20}_*\nlog 1 {71}_{8}#{9} {3}#{4}_{3}\ncompared {68}x{4}!x{3}!={8} {3}={7}\n`, out)
	assert.NotContains(t, out, "said #2")

	j := r.JSON()
	require.Len(t, j.Logs, 1)
	assert.Equal(t, LogJSON{
		Number: 1, Line: 7, File: "l/relay.csv", Format: "CSV", From: "2026-11-04T16:00:00Z", To: "2026-11-04T22:31:00Z", Fast: -60, Blur: 65, Note: "volt-free",
		Tracks: []TrackJSON{{What: "ch relay", Column: "K1", Changes: 2, Bounces: 1}},
	}, j.Logs[0])
	assert.Nil(t, j.Statements[0].Logged)
	assert.Equal(t, &LoggedJSON{Log: 1, File: "l/relay.csv", Line: 3, Column: "K1"}, j.Statements[2].Logged)
}
