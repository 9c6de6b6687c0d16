package replay

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// begin is the second at which the histories below begin: Monday, 3 January 2000.
const begin = 2 * 24 * 3600

// told is a history of one lane, which changes between 0 and 1 at the seconds after begin. It ends after a week.
func told(l Lane, changes ...int64) *History {
	h := &History{From: begin, To: begin + 7*24*hour}
	h.Has[l] = true
	level := spec.Level(0)
	for i, at := range changes {
		level = 1 - level
		h.lanes[l] = append(h.lanes[l], Change{At: begin + at, Seq: uint32(i + 1), Lane: l, Level: level})
	}
	h.clocks = []clockRun{{from: begin, crystal: crystal{at: begin}, base: begin - birth, level: Readable}}
	return h
}

func seen(what complaint.What, form complaint.Form, level spec.Level, windows ...complaint.Window) *complaint.Observation {
	for i := range windows {
		windows[i].From += begin
		windows[i].To += begin
	}
	return &complaint.Observation{
		What: what, Form: form, Level: level, Sure: complaint.Certain, When: complaint.When{Windows: windows, Rule: len(windows) > 1},
	}
}

func moment(at, blur int64) complaint.Window { return complaint.Window{From: at, To: at, Blur: blur} }

func throughout(from, to, blur int64) complaint.Window {
	return complaint.Window{From: from, To: to, Throughout: true, Blur: blur}
}

// A relay closes at 1000 s and opens at 2000 s. Nothing lags behind a relay, so the blur alone decides, and a minute beyond it.
func TestEventsAtTheEdgesOfWindows(t *testing.T) {
	h := told(LaneCH, 1000, 2000)
	for _, c := range []struct {
		name   string
		window complaint.Window
		level  spec.Level
		want   Verdict
		by     int64
	}{
		{"at the second", moment(1000, 0), 1, Agrees, 0},
		{"at the window's beginning", complaint.Window{From: 1000, To: 1500}, 1, Agrees, 0},
		{"at the window's end", complaint.Window{From: 500, To: 1000}, 1, Agrees, 0},
		{"a second before the window", complaint.Window{From: 1001, To: 1500}, 1, Agrees, -1},
		{"half a minute before it", moment(1030, 0), 1, CannotTell, -30},
		{"half a minute after it", moment(970, 0), 1, CannotTell, 30},
		{"a minute before it", moment(1060, 0), 1, Departs, -60},
		{"the blur's last second", moment(1300, 300), 1, Agrees, 0},
		{"beyond the blur", moment(1450, 300), 1, CannotTell, -450},
		{"twice the blur", moment(1600, 300), 1, Departs, -600},
		{"the other event", moment(2000, 0), 0, Agrees, 0},
		{"the other way", moment(1000, 0), 0, Departs, 1000},
	} {
		got := Compare(h, seen(complaint.CHRelay, complaint.Becomes, c.level, c.window))
		assert.Equal(t, c.want, got.Verdict, "%s: %+v", c.name, got)
		assert.Equal(t, c.by, got.By, c.name)
		assert.True(t, got.Near, c.name)
		assert.Equal(t, LaneCH, got.Lane)
	}
	none := Compare(told(LaneCH), seen(complaint.CHRelay, complaint.Becomes, 1, moment(1000, 900)))
	assert.Equal(t, Departs, none.Verdict)
	assert.False(t, none.Near, "nothing of the kind comes at all")
	far := Compare(told(LaneCH, 1000), seen(complaint.CHRelay, complaint.Becomes, 1, moment(1000+13*hour, 0)))
	assert.False(t, far.Near)
	// What a lane is from the beginning on is no event.
	h = told(LaneCH)
	h.Initial[LaneCH] = 1
	assert.Equal(t, Departs, Compare(h, seen(complaint.CHRelay, complaint.Becomes, 1, moment(0, 900))).Verdict)
}

func TestStatesAtSomeMoment(t *testing.T) {
	h := told(LaneCH, 1000, 2000)
	is := func(level spec.Level, w complaint.Window) Comparison {
		return Compare(h, seen(complaint.CHRelay, complaint.Is, level, w))
	}
	assert.Equal(t, Agrees, is(1, moment(1000, 0)).Verdict)
	assert.Equal(t, Agrees, is(1, moment(1999, 0)).Verdict)
	assert.Equal(t, Agrees, is(0, moment(2000, 0)).Verdict)
	assert.Equal(t, Agrees, is(1, moment(700, 300)).Verdict, "the blur reaches it")
	assert.Equal(t, Departs, is(1, moment(400, 300)).Verdict)
	assert.Equal(t, Agrees, is(1, complaint.Window{From: 0, To: 5000}).Verdict)
	assert.Equal(t, Agrees, is(0, complaint.Window{From: 1500, To: 5000}).Verdict)
	got := is(1, moment(5000, 60))
	assert.Equal(t, Departs, got.Verdict)
	assert.EqualValues(t, 1999-5000, got.By, "how long before the window it last was so")
}

func TestStatesThroughout(t *testing.T) {
	// On from 1 h to 2 h.
	h := told(LaneCH, 1*hour, 2*hour)
	is := func(level spec.Level, from, to, blur int64) Comparison {
		return Compare(h, seen(complaint.CHRelay, complaint.Is, level, throughout(from, to, blur)))
	}
	assert.Equal(t, Agrees, is(1, 1*hour, 2*hour-1, 0).Verdict)
	assert.EqualValues(t, 1, is(1, 1*hour, 2*hour-1, 0).Grade)
	assert.Equal(t, Agrees, is(1, 1*hour-300, 2*hour+300, 300).Verdict, "the blurred ends say nothing")
	assert.EqualValues(t, 1, is(1, 1*hour-300, 2*hour+300, 301).Grade)
	// Of two hours an hour is otherwise: a quarter would have gone unnoticed.
	got := is(0, 0, 2*hour, 0)
	assert.Equal(t, Departs, got.Verdict)
	assert.EqualValues(t, 1*hour, got.By)
	assert.EqualValues(t, begin+1*hour, got.At)
	// Of eight hours, an hour: half of what might have gone unnoticed.
	got = is(0, 0, 8*hour, 0)
	assert.Equal(t, CannotTell, got.Verdict)
	assert.InDelta(t, 0.5, got.Grade, 0.001)
	// An instrument misses nothing.
	logged := seen(complaint.CHRelay, complaint.Is, 0, throughout(0, 8*hour, 5))
	logged.Who = complaint.Log
	assert.Equal(t, Departs, Compare(h, logged).Verdict)
}

func TestAbsence(t *testing.T) {
	h := told(LaneCH, 1*hour, 1*hour+120, 3*hour, 4*hour)
	never := func(from, to int64) Comparison {
		return Compare(h, seen(complaint.CHRelay, complaint.Never, 1, throughout(from, to, 0)))
	}
	assert.Equal(t, Agrees, never(2*hour, 3*hour-1).Verdict)
	assert.EqualValues(t, 1, never(2*hour, 3*hour-1).Grade)
	assert.Equal(t, CannotTell, never(0, 2*hour).Verdict, "two minutes may go unnoticed, but need not")
	got := never(2*hour, 6*hour)
	assert.Equal(t, Departs, got.Verdict)
	assert.EqualValues(t, begin+3*hour, got.At)
	// Clicks are events: one is enough, whichever relay it is of.
	click := func(form complaint.Form, w complaint.Window) Comparison {
		return Compare(h, seen(complaint.Click, form, 1, w))
	}
	assert.Equal(t, Agrees, click(complaint.Never, throughout(2*hour, 3*hour-1, 0)).Verdict)
	assert.Equal(t, Departs, click(complaint.Never, throughout(2*hour, 3*hour, 0)).Verdict)
	assert.Equal(t, Agrees, click(complaint.Never, throughout(2*hour, 3*hour, 1)).Verdict, "it was in the blur")
	assert.Equal(t, Agrees, click(complaint.Is, moment(4*hour+100, 120)).Verdict)
	assert.Equal(t, Departs, click(complaint.Is, moment(5*hour, 120)).Verdict)
	h = told(LaneHW, 3*hour)
	assert.Equal(t, LaneHW, click(complaint.Is, moment(3*hour, 0)).Lane)
	assert.Equal(t, LaneHW, click(complaint.Never, throughout(2*hour, 4*hour, 0)).Lane)
}

// Radiators feel warm from early before to late after the moment that the plant has.
func TestLag(t *testing.T) {
	l := PointLane(plant.Radiators)
	on, off := plant.LagOf(plant.Radiators, plant.On), plant.LagOf(plant.Radiators, plant.Off)
	h := told(l, 10*hour, 20*hour)
	is := func(level spec.Level, w complaint.Window) Verdict {
		return Compare(h, seen(complaint.Radiators, complaint.Is, level, w)).Verdict
	}
	assert.Equal(t, Agrees, is(1, moment(10*hour-int64(on.Early), 0)))
	assert.Equal(t, CannotTell, is(1, moment(10*hour-int64(on.Early)-int64(on.Early)/2, 0)))
	assert.Equal(t, Departs, is(1, moment(10*hour-2*int64(on.Early), 0)))
	assert.Equal(t, Agrees, is(0, moment(10*hour+int64(on.Late)-1, 0)), "still cold")
	assert.Equal(t, Departs, is(0, moment(10*hour+2*int64(on.Late), 0)))
	assert.Equal(t, Agrees, is(1, moment(20*hour+int64(off.Late)-1, 0)), "still warm")
	assert.Equal(t, Agrees, is(0, moment(20*hour-int64(off.Early), 0)))
	event := func(at int64) Verdict {
		return Compare(h, seen(complaint.Radiators, complaint.Becomes, 1, moment(at, 0))).Verdict
	}
	assert.Equal(t, Agrees, event(10*hour-int64(on.Early)))
	assert.Equal(t, Agrees, event(10*hour+int64(on.Late)))
	assert.Equal(t, Departs, event(10*hour+3*int64(on.Late)))
	// Throughout: what lag explains is not missing.
	assert.Equal(t, Agrees, is(1, throughout(10*hour-int64(on.Early), 20*hour+int64(off.Late)-1, 0)))
	assert.Equal(t, Agrees, is(0, throughout(8*hour, 10*hour+int64(on.Late)-1, 0)))
}

// A fortnight of days of which some are as was said: nine in ten are 'every day', half are not.
func TestRules(t *testing.T) {
	for agreeing, want := range map[int]Verdict{10: Agrees, 9: Agrees, 7: CannotTell, 5: Departs, 0: Departs} {
		var changes []int64
		var windows []complaint.Window
		for day := range int64(10) {
			if int(day) < agreeing {
				changes = append(changes, day*12*hour, day*12*hour+hour)
			}
			windows = append(windows, throughout(day*12*hour, day*12*hour+hour-1, 0))
		}
		h := told(LaneCH, changes...)
		got := Compare(h, seen(complaint.CHRelay, complaint.Is, 1, windows...))
		assert.Equal(t, want, got.Verdict, agreeing)
		assert.Equal(t, agreeing, got.Agree)
		assert.Equal(t, 10, got.Of)
		if agreeing < 10 {
			assert.EqualValues(t, begin+int64(agreeing)*12*hour, got.At, "where it first departs")
		}
	}
}

func TestWhatAHistorySaysNothingOf(t *testing.T) {
	h := told(LaneCH, 1000)
	for _, o := range []*complaint.Observation{
		seen(complaint.CHRelay, complaint.Is, 1, moment(8*24*hour, 0)),          // after it
		seen(complaint.CHRelay, complaint.Is, 1, throughout(-2*hour, -hour, 0)), // before it
		seen(complaint.Radiators2, complaint.Is, 1, moment(1000, 0)),            // no second zone
		seen(complaint.HWValve, complaint.Is, 1, moment(1000, 0)),               // no such valve
	} {
		got := Compare(h, o)
		assert.Equal(t, CannotTell, got.Verdict)
		assert.EqualValues(t, 0.5, got.Likelihood)
		assert.Zero(t, got.Of)
	}
}

// A relay is on from 1000 s to 2000 s of each of two days. Of a whole day that is little, and goes unnoticed; but who wants it off every day
// wants it off then too. What is wanted on for 100 minutes and is so for 85 is what was seen, and not what is wanted.
func TestWhatIsWantedIsWantedThroughout(t *testing.T) {
	h := told(LaneCH, 1000, 2000, 24*hour+1000, 24*hour+2000, 48*hour+900, 48*hour+6000)
	days := func() []complaint.Window {
		return []complaint.Window{{From: 0, To: 24*hour - 1}, {From: 24 * hour, To: 48*hour - 1}}
	}
	off := seen(complaint.CHRelay, complaint.Is, 0, days()...)
	assert.Equal(t, Agrees, Compare(h, off).Verdict, "at some moment of the day it was off")
	assert.Equal(t, Departs, CompareWish(h, off).Verdict)
	on := seen(complaint.CHRelay, complaint.Is, 1, days()...)
	assert.Equal(t, Agrees, CompareWish(h, on).Verdict, "who wants it on some time of each day has that")

	morning := seen(complaint.CHRelay, complaint.Is, 1, throughout(48*hour, 48*hour+6000, 0))
	assert.NotEqual(t, Departs, Compare(h, morning).Verdict, "15 of 100 minutes go unnoticed")
	assert.Equal(t, Departs, CompareWish(h, morning).Verdict, "15 minutes are more than the 5 within which anybody would say that it is so")
	assert.Equal(t, Agrees, CompareWish(h, seen(complaint.CHRelay, complaint.Is, 1, throughout(48*hour+900, 48*hour+5900, 0))).Verdict)
	// The relay comes on a quarter of an hour after the two days: whoever remembers it as on at the hour is not mistaken, whoever wants it so has not got it.
	atOnce := seen(complaint.CHRelay, complaint.Is, 1, moment(48*hour, 15*60))
	assert.Equal(t, Agrees, Compare(h, atOnce).Verdict)
	assert.Equal(t, Departs, CompareWish(h, atOnce).Verdict)
	assert.Equal(t, Agrees, CompareWish(h, seen(complaint.CHRelay, complaint.Is, 1, moment(48*hour+900, 15*60))).Verdict, "the second in which it comes on is one")
	assert.Equal(t, Departs, CompareWish(h, seen(complaint.CHRelay, complaint.Is, 0, moment(48*hour+900, 15*60))).Verdict)
	assert.Equal(t, CannotTell, CompareWish(h, seen(complaint.Radiators2, complaint.Is, 0, throughout(0, 100, 0))).Verdict, "no second zone")
}

func TestThreePortValves(t *testing.T) {
	l := PointLane(plant.ThreePort)
	h := told(l)
	open := func(what complaint.What, level spec.Level, position plant.Level) Verdict {
		h.Initial[l] = spec.Level(position)
		return Compare(h, seen(what, complaint.Is, level, moment(hour, 0))).Verdict
	}
	for _, c := range []struct {
		position plant.Level
		hw, ch   Verdict
	}{{plant.AtHotWater, Agrees, Departs}, {plant.AtMiddle, Agrees, Agrees}, {plant.AtHeating, Departs, Agrees}} {
		assert.Equal(t, c.hw, open(complaint.HWValve, 1, c.position), c.position)
		assert.Equal(t, c.ch, open(complaint.CHValve, 1, c.position), c.position)
	}
	assert.Equal(t, Agrees, open(complaint.HWValve, 0, plant.AtHeating))
	assert.Equal(t, Departs, open(complaint.HWValve, 0, plant.AtMiddle))
}

// A thermostat that calls tells that the room is cold, unless it senses wrongly: then nobody can tell.
func TestTheRoom(t *testing.T) {
	h := told(PointLane(plant.RoomStat), 10*hour)
	h.World.Phases = []Phase{{}}
	is := func(level spec.Level) Verdict {
		return Compare(h, seen(complaint.Room, complaint.Is, level, moment(60*hour, 0))).Verdict
	}
	assert.Equal(t, Agrees, is(0))
	assert.Equal(t, Departs, is(1))
	h.World.Phases[0].Plant.Faults[0] = plant.Reads(plant.RoomStatContact, 5*plant.Celsius)
	assert.Equal(t, CannotTell, is(0))
}

// The display of the histories here is right, and its seconds are not seen.
func TestDisplays(t *testing.T) {
	h := told(LaneDisplay)
	h.Initial[LaneDisplay] = Readable
	reads := func(r complaint.Reading, at int64) Comparison {
		o := seen(complaint.Display, complaint.Is, 1, moment(at, 60))
		o.Reading = r
		return Compare(h, o)
	}
	at := func(minute int16) complaint.Reading { return complaint.Reading{HasMinute: true, Minute: minute} }
	assert.Equal(t, Agrees, reads(at(7*60), 7*hour).Verdict)
	assert.Equal(t, Agrees, reads(at(6*60+59), 7*hour).Verdict, "within a minute of blur and the seconds")
	assert.Equal(t, Agrees, reads(at(7*60+1), 7*hour).Verdict)
	got := reads(at(6*60), 7*hour)
	assert.Equal(t, Departs, got.Verdict)
	assert.EqualValues(t, hour, got.By, "it is an hour ahead of what was said")
	got = reads(at(19*60), 7*hour)
	assert.EqualValues(t, 12*hour, abs(got.By))
	assert.EqualValues(t, -30*minute, reads(at(10), 23*hour+40*minute).By, "over midnight")
	// Day and date: the histories begin on Monday, 3 January 2000.
	day := at(7 * 60)
	day.HasDay, day.Day = true, spec.Mon
	assert.Equal(t, Agrees, reads(day, 7*hour).Verdict)
	day.Day = spec.Tue
	assert.Equal(t, Departs, reads(day, 7*hour).Verdict)
	assert.Equal(t, Agrees, reads(complaint.Reading{HasDay: true, Day: spec.Tue}, 30*hour).Verdict)
	date := at(7 * 60)
	date.HasDate, date.Date = true, spec.Date{Year: 2000, Month: 1, Day: 3}
	assert.Equal(t, Agrees, reads(date, 7*hour).Verdict)
	date.Date.Day = 2
	assert.Equal(t, Departs, reads(date, 7*hour).Verdict)
	// A minute to midnight read on the other side of it is of the day before.
	late := complaint.Reading{HasMinute: true, Minute: 23*60 + 59, HasDay: true, Day: spec.Mon}
	assert.Equal(t, Agrees, reads(late, 24*hour).Verdict)
	// Not: it never read that.
	o := seen(complaint.Display, complaint.Never, 1, moment(7*hour, 60))
	o.Reading = at(7 * 60)
	assert.Equal(t, Departs, Compare(h, o).Verdict)
	// Flashing and dark.
	assert.Equal(t, Departs, reads(complaint.Reading{Unset: true}, 7*hour).Verdict)
	assert.Equal(t, Departs, reads(complaint.Reading{Blank: true}, 7*hour).Verdict)
	h.clocks[0].level, h.Initial[LaneDisplay] = Flashing, Flashing
	assert.Equal(t, Agrees, reads(complaint.Reading{Unset: true}, 7*hour).Verdict)
	assert.Equal(t, Departs, reads(at(7*60), 7*hour).Verdict)
}

func TestLikelihood(t *testing.T) {
	// Of a hundred certain statements five are wrong.
	assert.InDelta(t, 0.95, Likelihood(complaint.Certain, 1), 1e-9)
	assert.InDelta(t, 0.05, Likelihood(complaint.Certain, 0), 1e-9)
	assert.InDelta(t, 0.99, Likelihood(complaint.Measured, 1), 1e-9)
	assert.InDelta(t, 0.12, Likelihood(complaint.Fairly, 0), 1e-9)
	assert.InDelta(t, 0.70, Likelihood(complaint.Unsure, 1), 1e-9)
	for s := range complaint.Sure(complaint.NumSures) {
		assert.InDelta(t, 0.5, Likelihood(s, 0.5), 1e-9, "what leaves it open is worth nothing")
		assert.InDelta(t, 1, Likelihood(s, 0)+Likelihood(s, 1), 1e-9)
	}
}

func TestClaims(t *testing.T) {
	w := house(t, "2026-11-02 00:00", "2026-11-03 00:00")
	w.Phases[0].Start.table(spec.CH, morning)
	noon := at(t, "2026-11-02 12:00")
	w.Acts = []Act{
		input(spec.Input{Kind: spec.SetMode, Channel: spec.HW, Mode: spec.Always}, noon),
		input(spec.Input{Kind: spec.Override, Channel: spec.CH}, noon),
		input(spec.Input{Kind: spec.Boost, Channel: spec.HW, Amount: 60}, noon),
		input(spec.Input{Kind: spec.Holiday, Amount: 3}, noon+6*hour),
	}
	h := run(t, w)
	claim := func(c complaint.Claim, when int64) Verdict {
		c.Sure = complaint.Certain
		c.When.Windows = []complaint.Window{{From: when, To: when, Blur: 60}}
		return CompareClaim(h, &c).Verdict
	}
	mode := complaint.Claim{About: complaint.AboutMode, Channel: spec.HW, Mode: spec.Always}
	assert.Equal(t, Departs, claim(mode, noon-61))
	assert.Equal(t, Agrees, claim(mode, noon-60), "the blur reaches it")
	assert.Equal(t, Agrees, claim(mode, noon+hour))
	table := complaint.Claim{About: complaint.AboutTable, Table: spec.CHTable, Every: true, Periods: []spec.Period{{On: 60, Off: 60}, morning}}
	assert.Equal(t, Agrees, claim(table, noon), "an inactive period does not count, nor does the slot (TAB-15)")
	table.Periods = []spec.Period{{On: morning.On, Off: morning.Off + 1}}
	assert.Equal(t, Departs, claim(table, noon))
	table.Periods, table.Table = []spec.Period{morning}, spec.HWTable
	assert.Equal(t, Departs, claim(table, noon))
	table.Table, table.Every, table.Days, table.Periods = spec.HWTable, false, spec.Weekend, nil
	assert.Equal(t, Agrees, claim(table, noon))
	assert.Equal(t, Agrees, claim(complaint.Claim{About: complaint.AboutOverride, Channel: spec.CH, Amount: 1}, noon+hour))
	assert.Equal(t, Departs, claim(complaint.Claim{About: complaint.AboutOverride, Channel: spec.HW, Amount: 1}, noon+hour))
	assert.Equal(t, Agrees, claim(complaint.Claim{About: complaint.AboutBoost, Channel: spec.HW, Amount: 1}, noon+1800))
	assert.Equal(t, Departs, claim(complaint.Claim{About: complaint.AboutBoost, Channel: spec.HW, Amount: 1}, noon+2*hour))
	assert.Equal(t, Departs, claim(complaint.Claim{About: complaint.AboutHoliday, Amount: 3}, noon))
	assert.Equal(t, Agrees, claim(complaint.Claim{About: complaint.AboutHoliday, Amount: 3}, noon+7*hour))
	assert.Equal(t, Agrees, claim(complaint.Claim{About: complaint.AboutAlert}, noon))
	assert.Equal(t, Departs, claim(complaint.Claim{About: complaint.AboutAlert, Stage: spec.Notice}, noon))
	assert.Equal(t, Agrees, claim(complaint.Claim{About: complaint.AboutLock}, noon))
	clock := complaint.Claim{About: complaint.AboutClock, Reading: complaint.Reading{HasMinute: true, Minute: 12 * 60, HasDay: true, Day: spec.Mon}}
	assert.Equal(t, Agrees, claim(clock, noon))
	assert.Equal(t, Departs, claim(clock, noon+hour))
	assert.Equal(t, Departs, claim(complaint.Claim{About: complaint.AboutClock, Reading: complaint.Reading{Unset: true}}, noon))
}
