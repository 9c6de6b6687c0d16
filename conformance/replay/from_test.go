package replay

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// asked is a complaint of Wednesday, 4 November 2026, 18:00.
func asked(t testing.TB, rest string) *complaint.Complaint {
	t.Helper()
	c, err := complaint.Parse("f.yaml", []byte("title: x\nasked: 2026-11-04 18:00\nsafety: no\n"+rest))
	require.NoError(t, err)
	return c
}

func world(t testing.TB, rest string) World {
	t.Helper()
	w, err := FromComplaint(asked(t, rest))
	require.NoError(t, err)
	_, err = Run(&w, nil)
	require.NoError(t, err)
	return w
}

func TestSettingsAsFound(t *testing.T) {
	w := world(t, `settings:
- mode ch span
- {is: mode ch off, when: 2026-11-01 12:00}   # the earliest holds from the beginning
- table ch weekdays 06:30-08:30 16:00-22:00
- table hw every none
`)
	require.Len(t, w.Phases, 1)
	f := &w.Phases[0].Start.Facts
	assert.Equal(t, spec.Off, f.Channels[spec.CH].Mode)
	assert.Equal(t, spec.Table, f.Channels[spec.HW].Mode, "the default, where nothing is said (PWR-16)")
	assert.Equal(t, spec.Cycle52, w.Phases[0].ICS.Fitted.Cycle)
	weekday := [spec.MaxPeriods]spec.Period{{On: 390, Off: 510}, {On: 960, Off: 1320}}
	assert.Equal(t, weekday, f.Channels[spec.CH].Table[spec.Fri])
	assert.Equal(t, spec.Period{On: 420, Off: 1380}, f.Channels[spec.CH].Table[spec.Sat][0], "the default table's weekend (TAB-18)")
	assert.Equal(t, [spec.MaxPeriods]spec.Period{}, f.Channels[spec.HW].Table[spec.Mon])
}

func TestHowFarAClockWasOut(t *testing.T) {
	for setting, want := range map[string]int64{
		"clock 18:00":            0,
		"clock 18:01":            0, // what is read off one minute is noted the next
		"clock 17:59":            0,
		"clock 17:55":            -5 * minute,
		"clock 19:00":            hour,
		"clock 06:00":            -12 * hour, // or twelve hours on, which nobody can tell
		"clock tue 18:00":        -24 * hour,
		"clock sat 18:00":        3 * 24 * hour,
		"clock wed":              0,
		"clock 2026-11-04 18:00": 0,
		"clock 2025-11-04 18:00": -365 * 24 * hour,
		"{is: clock 17:00, when: 2026-11-02 18:00}": -hour,
	} {
		w := world(t, "settings: ["+setting+"]\n")
		assert.Equal(t, want, w.Phases[0].Start.ClockError, setting)
		assert.False(t, w.Phases[0].Start.ClockUnset)
	}
	// A unit without summer time that shows what it showed in summer is an hour ahead of UTC, and so it was in summer.
	w := world(t, "from: 2026-10-20 00:00\nunit: {summer-time: none}\nsettings: [clock 19:00]\n")
	assert.EqualValues(t, hour, w.Phases[0].Start.ClockError)
	h := run(t, w)
	reading, _ := h.Reading(at(t, "2026-10-21 12:00"))
	assert.Equal(t, london.Reading(at(t, "2026-10-21 12:00")), reading, "right in summer")
	// Found unset, and nothing says since when.
	assert.True(t, world(t, "settings: [clock unset]\n").Phases[0].Start.ClockUnset)
	// What was done in between may have moved it: then the reading says nothing of the beginning.
	w = world(t, "settings: [clock 19:00]\ndone: [{when: 2026-11-02 12:00, do: clock 13:00}]\n")
	assert.Zero(t, w.Phases[0].Start.ClockError)
	assert.Equal(t, spec.Date{Year: 2026, Month: 11, Day: 2}, w.Acts[0].Input.Date, "the date was left to the day")
}

// A clock that was found unset was lost in the power cut that somebody remembers, which was longer than the reserve.
func TestALostClock(t *testing.T) {
	w := world(t, "settings: [clock unset]\nchanged: [{what: power cut, when: 2026-11-01 02:00}]\n")
	assert.False(t, w.Phases[0].Start.ClockUnset)
	require.Len(t, w.Acts, 2)
	assert.Equal(t, at(t, "2026-11-01 02:00"), w.Acts[0].At)
	assert.Equal(t, int64(481*calendar.Minute), w.Acts[1].At-w.Acts[0].At)
	h := run(t, w)
	_, shown := h.Reading(h.To)
	assert.Equal(t, Flashing, shown)
	// Without that there was no cut to speak of.
	assert.Empty(t, world(t, "changed: [{what: power cut, when: 2026-11-01 02:00}]\n").Acts)
}

func TestWhenActsAreDone(t *testing.T) {
	w := world(t, `done:
- {when: 2026-11-03 between 17:00 and 19:00, do: override ch}
- {when: 2026-11-02 14:00-16:30, do: power cut}
- {when: 2026-11-03 about 09:00, do: room thermostat 22.5}
- {when: every day about 22:00 since 2026-11-02, do: boost hw 60}
`)
	type act struct {
		at    string
		kind  spec.Kind
		claim int
	}
	var got []act
	for _, a := range w.Acts {
		got = append(got, act{london.At(a.At).Format("2 15:04"), a.Input.Kind, a.Claim})
	}
	assert.Equal(t, []act{
		{"2 14:00", spec.PowerOff, 1}, {"2 16:30", spec.PowerOn, 1}, {"2 22:00", spec.Boost, 3},
		{"3 09:00", spec.PowerOff, 2}, {"3 18:00", spec.Override, 0}, {"3 22:00", spec.Boost, 3},
	}, got)
	assert.Equal(t, AtThermostat, w.Acts[3].Deed)
	assert.EqualValues(t, 22_500, w.Acts[3].Setting)
}

// Restricted since Wednesday, 28 October, with 10 minutes an hour: from 00:00 on the heating may call in the first ten minutes of each hour
// since (LCK-13).
func TestALockAsFound(t *testing.T) {
	w := world(t, "from: 2026-10-26 00:00\nsettings: [mode ch always, mode hw off, lock restricted ch 10 since 2026-10-28]\ninstallation: {room-thermostat: 40}\n")
	h := run(t, w)
	alert := lane(h, LaneAlert)
	assert.Equal(t, []string{"28 00:00:00 +00 restricted"}, alert)
	assert.EqualValues(t, spec.Notice, h.Initial[LaneAlert], "with notice before it")
	changes := lane(h, LaneCH)
	assert.Equal(t, []string{"28 00:10:00 +00 open", "28 01:00:00 +00 closed", "28 01:10:00 +00 open"}, changes[:3])
	assert.Equal(t, "this hour's allowance is used up (LCK-13)", h.Why(&h.Changes(LaneCH)[0]))
	// Since before the account: the windows are those of the stage's hours all the same.
	w = world(t, "from: 2026-11-01 00:30\nsettings: [mode ch always, lock restricted ch 10 since 2026-10-28]\n")
	assert.Equal(t, "1 01:00:00 +00 closed", lane(run(t, w), LaneCH)[0])
	// An alert alone says the stage, and nothing of its terms.
	w = world(t, "settings: [mode ch always, alert notice]\n")
	assert.Equal(t, spec.Notice, w.Phases[0].Start.Facts.Lock.Stage)
	assert.Empty(t, lane(run(t, w), LaneCH))
	assert.Equal(t, spec.Dormant, world(t, "settings: [alert none]\n").Phases[0].Start.Facts.Lock.Stage)
}

func TestAHolidayAsFound(t *testing.T) {
	// Three days left on Wednesday: it ends at 00:00 on Saturday, and was on all the time, unless somebody says when it was begun.
	w := world(t, "settings: [holiday 3, mode ch always]\n")
	assert.True(t, w.Phases[0].Start.Facts.Holiday.On)
	assert.Equal(t, calendar.Days(2026, 11, 7), w.Phases[0].Start.Facts.Holiday.EndDate)
	assert.Empty(t, lane(run(t, w), LaneCH))
	w = world(t, "settings: [holiday 3, mode ch always]\ndone: [{when: 2026-11-03 08:00, do: holiday 4}]\n")
	assert.False(t, w.Phases[0].Start.Facts.Holiday.On)
	assert.Equal(t, []string{"3 08:00:00 +00 open"}, lane(run(t, w), LaneCH))
}

func TestASetUpThatChanges(t *testing.T) {
	w := world(t, `unit: {coupling: independent}
installation: {plan: two valves}
settings: [mode ch always, mode hw off]
changed:
- {what: set-up, when: 2026-11-02 12:00, before: {unit: {coupling: gravity}}}
- {what: programmer, when: 2026-11-03 12:00, before: {settings: [mode ch off]}}
`)
	require.Len(t, w.Phases, 3)
	assert.Equal(t, spec.Gravity, w.Phases[0].ICS.Fitted.Coupling)
	assert.Nil(t, w.Phases[1].Start, "the same unit")
	require.NotNil(t, w.Phases[2].Start)
	assert.Equal(t, spec.Off, w.Phases[0].Start.Facts.Channels[spec.CH].Mode)
	assert.Equal(t, []string{"3 12:00:00 +00 closed"}, lane(run(t, w), LaneCH))
}

func samples(t testing.TB) map[string]*complaint.Complaint {
	files, err := filepath.Glob("../../testdata/complaints/*.yaml")
	require.NoError(t, err)
	all := map[string]*complaint.Complaint{}
	for _, file := range files {
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		c, err := complaint.ParseIn(os.DirFS(filepath.Dir(file)), filepath.Base(file), data)
		require.NoError(t, err)
		all[strings.TrimSuffix(filepath.Base(file), ".yaml")] = c
	}
	return all
}

// What the comments at the head of each file say of it, worked out there.
func TestSamples(t *testing.T) {
	all := samples(t)
	report := func(name string) *Report {
		require.Contains(t, all, name)
		r, err := NewReport(all[name])
		require.NoError(t, err)
		return r
	}
	// The unit does what its clauses say.
	r := report("off-at-four")
	assert.True(t, r.Explained())
	var opened *Change
	for i, c := range r.History.Changes(LaneCH) {
		if london.At(c.At).Format("2 15:04") == "3 16:00" {
			opened = &r.History.Changes(LaneCH)[i]
		}
	}
	require.NotNil(t, opened)
	assert.Equal(t, "the heating relay opened because period 2 ends (MOD-2)", r.History.Sentence([]*Change{opened}))

	// An hour late, because the clock is an hour behind: what is wanted is otherwise.
	r = report("an-hour-late")
	assert.True(t, r.Explained())
	assert.EqualValues(t, -hour, r.History.World.Phases[0].Start.ClockError)
	require.Len(t, r.Wants, 1)
	assert.Equal(t, Departs, r.Wants[0].Verdict)

	// Radiators and heating valve, with the heating relay open: the unit's side agrees, the plant's departs.
	r = report("only-hot-water")
	assert.False(t, r.Explained())
	for i, want := range []Verdict{Agrees, Agrees, Departs, Departs, Departs} {
		assert.Equal(t, want, r.Held[i].Verdict, i)
	}
	first := r.Departing()[0]
	assert.Equal(t, 2, first.Index)
	assert.Equal(t, "11 07:15", london.At(first.At).Format("2 15:04"))
	// With the two on terminals bridged nothing departs.
	w := r.History.World.EachPhase(func(p *Phase) {
		p.Plant = p.Plant.With(plant.Bridge(plant.HWOn, plant.CHOn))
	})
	h := run(t, w)
	for i := range r.Complaint.Sensed {
		assert.NotEqual(t, Departs, Compare(h, &r.Complaint.Sensed[i]).Verdict, r.Complaint.Sensed[i].Text)
	}
}
