package evidence_test

import (
	"slices"
	"testing"
	"time"

	"github.com/robfig/cron/v3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/teambition/rrule-go"

	"example.org/hearthbench/emulator/spec"
)

// day is one day's table in both notations: as periods, and as the recurrences (RFC 5545, section 3.3.10) of their ons and offs.
type day struct {
	day       spec.Day
	periods   []string
	ons, offs []string
}

// week is the tables of one cycle.
type week struct {
	name   string
	cycle  spec.Cycle
	hw, ch []day
}

const (
	fiveDays = "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR;"
	twoDays  = "FREQ=WEEKLY;BYDAY=SA,SU;"
)

// weeks have no on and no off from 01:00 up to, not including, 02:00, the readings that a change of summer time in Europe/London skips or
// repeats; some have periods over that hour. So clauses and recurrences mean the same instants, and everything is compared.
var weeks = []week{
	{
		name: "24h", cycle: spec.Cycle24h,
		hw: []day{{
			spec.All, []string{"05:45-06:15", "17:30-18:00"},
			[]string{"FREQ=DAILY;BYHOUR=5;BYMINUTE=45", "FREQ=DAILY;BYHOUR=17;BYMINUTE=30"},
			[]string{"FREQ=DAILY;BYHOUR=6;BYMINUTE=15", "FREQ=DAILY;BYHOUR=18;BYMINUTE=0"},
		}},
		ch: []day{{
			spec.All, []string{"06:30-09:00", "17:00-22:00", "00:30-02:30"}, // over the changes of summer time
			[]string{"FREQ=DAILY;BYHOUR=6;BYMINUTE=30", "FREQ=DAILY;BYHOUR=17;BYMINUTE=0", "FREQ=DAILY;BYHOUR=0;BYMINUTE=30"},
			[]string{"FREQ=DAILY;BYHOUR=9;BYMINUTE=0", "FREQ=DAILY;BYHOUR=22;BYMINUTE=0", "FREQ=DAILY;BYHOUR=2;BYMINUTE=30"},
		}},
	},
	{
		name: "5-2", cycle: spec.Cycle52,
		hw: []day{
			{
				spec.Weekdays, []string{"16:00-19:00", "18:00-22:30", "22:30-23:15"}, // overlap and touch
				[]string{fiveDays + "BYHOUR=16,18;BYMINUTE=0", fiveDays + "BYHOUR=22;BYMINUTE=30"},
				[]string{fiveDays + "BYHOUR=19;BYMINUTE=0", fiveDays + "BYHOUR=22;BYMINUTE=30", fiveDays + "BYHOUR=23;BYMINUTE=15"},
			},
			{
				spec.Weekend, []string{"00:00-00:45", "23:00-24:00"}, // touch over Saturday's midnight
				[]string{twoDays + "BYHOUR=0,23;BYMINUTE=0"},
				[]string{twoDays + "BYHOUR=0;BYMINUTE=45", "FREQ=WEEKLY;BYDAY=SU,MO;BYHOUR=0;BYMINUTE=0"},
			},
		},
		ch: []day{
			{
				spec.Weekdays, []string{"06:30-09:00"},
				[]string{fiveDays + "BYHOUR=6;BYMINUTE=30"}, []string{fiveDays + "BYHOUR=9;BYMINUTE=0"},
			},
			{
				spec.Weekend, []string{"08:00-12:30", "02:00-02:05"},
				[]string{twoDays + "BYHOUR=8,2;BYMINUTE=0"},
				[]string{twoDays + "BYHOUR=12;BYMINUTE=30", twoDays + "BYHOUR=2;BYMINUTE=5"},
			},
		},
	},
	{
		name: "7day", cycle: spec.Cycle7Day, // periods past midnight
		hw: []day{
			{spec.Mon, []string{"07:00-08:00"}, []string{"FREQ=WEEKLY;BYDAY=MO;BYHOUR=7;BYMINUTE=0"}, []string{"FREQ=WEEKLY;BYDAY=MO;BYHOUR=8;BYMINUTE=0"}},
			{spec.Tue, nil, nil, nil},
			{spec.Wed, []string{"00:00-24:00"}, []string{"FREQ=WEEKLY;BYDAY=WE;BYHOUR=0;BYMINUTE=0"}, []string{"FREQ=WEEKLY;BYDAY=TH;BYHOUR=0;BYMINUTE=0"}},
			{spec.Thu, []string{"12:01-12:02"}, []string{"FREQ=WEEKLY;BYDAY=TH;BYHOUR=12;BYMINUTE=1"}, []string{"FREQ=WEEKLY;BYDAY=TH;BYHOUR=12;BYMINUTE=2"}},
			{spec.Fri, nil, nil, nil},
			{spec.Sat, []string{"23:00-03:00"}, []string{"FREQ=WEEKLY;BYDAY=SA;BYHOUR=23;BYMINUTE=0"}, []string{"FREQ=WEEKLY;BYDAY=SU;BYHOUR=3;BYMINUTE=0"}},
			{spec.Sun, []string{"22:00-06:00"}, []string{"FREQ=WEEKLY;BYDAY=SU;BYHOUR=22;BYMINUTE=0"}, []string{"FREQ=WEEKLY;BYDAY=MO;BYHOUR=6;BYMINUTE=0"}},
		},
		ch: []day{
			{spec.Mon, nil, nil, nil},
			{spec.Tue, []string{"06:10-07:20"}, []string{"FREQ=WEEKLY;BYDAY=TU;BYHOUR=6;BYMINUTE=10"}, []string{"FREQ=WEEKLY;BYDAY=TU;BYHOUR=7;BYMINUTE=20"}},
			{spec.Wed, []string{"18:00-21:00"}, []string{"FREQ=WEEKLY;BYDAY=WE;BYHOUR=18;BYMINUTE=0"}, []string{"FREQ=WEEKLY;BYDAY=WE;BYHOUR=21;BYMINUTE=0"}},
			{spec.Thu, nil, nil, nil},
			{spec.Fri, []string{"22:00-06:00"}, []string{"FREQ=WEEKLY;BYDAY=FR;BYHOUR=22;BYMINUTE=0"}, []string{"FREQ=WEEKLY;BYDAY=SA;BYHOUR=6;BYMINUTE=0"}},
			{spec.Sat, []string{"05:00-09:30"}, []string{"FREQ=WEEKLY;BYDAY=SA;BYHOUR=5;BYMINUTE=0"}, []string{"FREQ=WEEKLY;BYDAY=SA;BYHOUR=9;BYMINUTE=30"}},
			{spec.Sun, []string{"02:00-04:00"}, []string{"FREQ=WEEKLY;BYDAY=SU;BYHOUR=2;BYMINUTE=0"}, []string{"FREQ=WEEKLY;BYDAY=SU;BYHOUR=4;BYMINUTE=0"}},
		},
	},
}

// years are those over which tables are compared: five, two of them leap years.
func years(loc *time.Location) (from, to time.Time) {
	return time.Date(2024, 1, 1, 0, 0, 0, 0, loc), time.Date(2029, 1, 1, 0, 0, 0, 0, loc)
}

// turn is an instant at which a level changes.
type turn struct {
	at    string
	level spec.Level
}

const turnLayout = "Mon 2006-01-02 15:04:05 -0700"

// expand returns the turns in (from, to] of what the recurrences ask for: 1 while more periods have begun than ended.
func expand(t *testing.T, days []day, from, to time.Time) (turns []turn) {
	t.Helper()
	step := map[int64]int{}
	add := func(rules []string, by int) {
		for _, text := range rules {
			option, err := rrule.StrToROptionInLocation(text+";BYSECOND=0", from.Location())
			require.NoError(t, err, text)
			option.Dtstart = from.AddDate(0, 0, -7) // what is under way at the beginning began in the week before
			option.Until = to
			rule, err := rrule.NewRRule(*option)
			require.NoError(t, err, text)
			for _, at := range rule.All() {
				step[at.Unix()] += by
			}
		}
	}
	for _, d := range days {
		add(d.ons, 1)
		add(d.offs, -1)
	}
	var instants []int64
	for at := range step {
		instants = append(instants, at)
	}
	slices.Sort(instants)
	// An off in the first days may be that of an on before the first.
	under, least := 0, 0
	for _, at := range instants {
		if at > from.Unix() {
			break
		}
		under += step[at]
		least = min(least, under)
	}
	under -= least
	for _, at := range instants {
		if at <= from.Unix() {
			continue
		}
		was := under
		under += step[at]
		require.GreaterOrEqual(t, under, 0)
		if (was > 0) != (under > 0) {
			level := spec.Level(0)
			if under > 0 {
				level = 1
			}
			turns = append(turns, turn{time.Unix(at, 0).In(from.Location()).Format(turnLayout), level})
		}
	}
	return turns
}

// turns returns those of one relay after the bench's start.
func (b *bench) turns(s spec.Signal) (turns []turn) {
	for _, c := range b.changes {
		if c.Signal == s && c.At > 0 {
			turns = append(turns, turn{b.at(c.At).Format(turnLayout), c.Level})
		}
	}
	return turns
}

func (w *week) bench(t *testing.T, m model, from time.Time) *bench {
	t.Helper()
	ics := fitted(w.cycle)
	ics.Wrap = true
	b := newBench(t, m, ics, from)
	for _, d := range w.hw {
		b.table(spec.HWTable, d.day, periods(d.periods...)...)
	}
	for _, d := range w.ch {
		b.table(spec.CHTable, d.day, periods(d.periods...)...)
	}
	return b
}

// Source: RFC 5545, expanded by a general recurrence library. A period is a pair of recurrences, and a switching point is where the number
// of periods under way goes to or from none.
func TestSwitchingPointsAreRecurrences(t *testing.T) {
	from, to := years(zone(t, "Europe/London"))
	for _, w := range weeks {
		t.Run(w.name, func(t *testing.T) {
			t.Parallel()
			onBoth(t, func(t *testing.T, m model) {
				b := w.bench(t, m, from)
				b.goTo(to)
				for signal, days := range [...][]day{spec.SigHW: w.hw, spec.SigCH: w.ch} {
					want := expand(t, days, from, to)
					require.Greater(t, len(want), 5*52*2)
					require.Equal(t, want, b.turns(spec.Signal(signal)))
				}
			})
		})
	}
}

// At readings that summer time skips or repeats, clauses and recurrences part. RFC 5545 ignores a recurrence at a reading that does
// not exist (section 3.3.10) and takes a repeated one at its first occurrence (section 3.3.5; both from memory). The library moves a
// skipped one an hour on, to the instant that section 3.3.5 gives an explicit date-time, and takes a repeated one at its second
// occurrence. For the unit the level is that of the reading that follows a skip, and repeated readings count twice (CLK-5, CLK-6). So
// what falls within an hour of a change, before or after, is left out of the comparison, and both sides are held to what is said here;
// the rest agrees exactly.
func TestRecurrencesAtSkippedAndRepeatedReadings(t *testing.T) {
	loc := zone(t, "Europe/London")
	from, to := years(loc)
	w := week{
		cycle: spec.Cycle24h,
		hw: []day{{
			spec.All, []string{"01:15-01:45", "12:00-13:00"},
			[]string{"FREQ=DAILY;BYHOUR=1;BYMINUTE=15", "FREQ=DAILY;BYHOUR=12;BYMINUTE=0"},
			[]string{"FREQ=DAILY;BYHOUR=1;BYMINUTE=45", "FREQ=DAILY;BYHOUR=13;BYMINUTE=0"},
		}},
		ch: []day{{
			spec.All, []string{"00:30-01:30"},
			[]string{"FREQ=DAILY;BYHOUR=0;BYMINUTE=30"}, []string{"FREQ=DAILY;BYHOUR=1;BYMINUTE=30"},
		}},
	}
	var changes []time.Time
	for _, c := range changesOfOffset(t, loc) {
		if c.After(from) && c.Before(to) {
			changes = append(changes, c)
		}
	}
	require.Len(t, changes, 10)
	// near returns the change within an hour of the turn.
	near := func(x turn) (change time.Time, ok bool) {
		at, err := time.Parse(turnLayout, x.at)
		require.NoError(t, err)
		for _, c := range changes {
			if d := at.Sub(c); d >= -time.Hour && d <= time.Hour {
				return c, true
			}
		}
		return time.Time{}, false
	}
	// part returns the turns away from every change, and those near the changes in spring and in autumn, in minutes from the change.
	type minute struct {
		at    int
		level spec.Level
	}
	part := func(turns []turn) (away []turn, spring, autumn [][]minute) {
		at := map[int64][]minute{}
		for _, x := range turns {
			if c, ok := near(x); ok {
				instant, _ := time.Parse(turnLayout, x.at)
				at[c.Unix()] = append(at[c.Unix()], minute{int(instant.Sub(c) / time.Minute), x.level})
			} else {
				away = append(away, x)
			}
		}
		for _, c := range changes {
			if c.UTC().Month() == time.March {
				spring = append(spring, at[c.Unix()])
			} else {
				autumn = append(autumn, at[c.Unix()])
			}
		}
		return away, spring, autumn
	}
	each := func(m ...minute) [][]minute { return [][]minute{m, m, m, m, m} }

	onBoth(t, func(t *testing.T, m model) {
		b := w.bench(t, m, from)
		b.goTo(to)

		away, spring, autumn := part(b.turns(spec.SigHW))
		assert.Equal(t, each(), spring, "01:15 and 01:45 do not happen")
		assert.Equal(t, each(minute{-45, 1}, minute{-15, 0}, minute{15, 1}, minute{45, 0}), autumn, "they happen twice")
		theirs, theirSpring, theirAutumn := part(expand(t, w.hw, from, to))
		assert.Equal(t, each(minute{15, 1}, minute{45, 0}), theirSpring)
		assert.Equal(t, each(minute{15, 1}, minute{45, 0}), theirAutumn)
		assert.Equal(t, theirs, away)
		assert.Len(t, away, 4*(5*365+2)-10*2)

		away, spring, autumn = part(b.turns(spec.SigCH))
		assert.Equal(t, each(minute{-30, 1}, minute{0, 0}), spring, "the reading that follows 00:59 is 02:00, past the period")
		assert.Equal(t, each(minute{-30, 0}, minute{0, 1}, minute{30, 0}), autumn, "back at 01:00 the period is asked for again")
		theirs, theirSpring, theirAutumn = part(expand(t, w.ch, from, to))
		assert.Equal(t, each(minute{-30, 1}, minute{30, 0}), theirSpring)
		assert.Equal(t, each(minute{30, 0}), theirAutumn)
		assert.Equal(t, theirs, away)
	})
}

// cronTables is a 5/2 table in cron's notation. 01:15 to 01:45 on Sundays is skipped in spring and comes twice in autumn: the library
// takes both as the unit does, since it runs nothing at a reading that is skipped and looks at each hour that passes.
var cronTables = struct {
	weekdays, weekend []string
	ons, offs         []string
}{
	weekdays: []string{"06:30-09:00", "17:00-22:00"},
	weekend:  []string{"01:15-01:45", "08:00-24:00"},
	ons:      []string{"30 6 * * 1-5", "0 17 * * 1-5", "15 1 * * 6,0", "0 8 * * 6,0"},
	offs:     []string{"0 9 * * 1-5", "0 22 * * 1-5", "45 1 * * 6,0", "0 0 * * 0,1"},
}

// cronEntries are the table's ons and offs, by the level that they bring.
func cronEntries(t *testing.T) (entries [2][]cron.Schedule) {
	t.Helper()
	for level, specs := range [...][]string{cronTables.offs, cronTables.ons} {
		for _, text := range specs {
			schedule, err := cron.ParseStandard("CRON_TZ=Europe/London " + text)
			require.NoError(t, err, text)
			entries[level] = append(entries[level], schedule)
		}
	}
	return entries
}

// nextByCron returns the first switching point after an instant.
func nextByCron(entries [2][]cron.Schedule, after time.Time) (at time.Time, level spec.Level) {
	for l, schedules := range entries {
		for _, s := range schedules {
			if next := s.Next(after); at.IsZero() || next.Before(at) {
				at, level = next, spec.Level(l)
			}
		}
	}
	return at, level
}

func cronBench(t *testing.T, m model, start time.Time) *bench {
	t.Helper()
	b := newBench(t, m, fitted(spec.Cycle52), start)
	b.mode(spec.HW, spec.Off)
	b.table(spec.CHTable, spec.Weekdays, periods(cronTables.weekdays...)...)
	b.table(spec.CHTable, spec.Weekend, periods(cronTables.weekend...)...)
	return b
}

// Source: a general cron library. Nothing is left out, the changes of summer time included.
func TestNextSwitchingPointIsCrons(t *testing.T) {
	loc := zone(t, "Europe/London")
	entries := cronEntries(t)
	t.Run("one after the other", func(t *testing.T) {
		from, to := years(loc)
		onBoth(t, func(t *testing.T, m model) {
			b := cronBench(t, m, from)
			b.goTo(to)
			var want []turn
			for at := from; ; {
				var level spec.Level
				at, level = nextByCron(entries, at)
				if at.After(to) {
					break
				}
				want = append(want, turn{at.In(loc).Format(turnLayout), level})
			}
			require.Greater(t, len(want), 5*365*2)
			require.Equal(t, want, b.turns(spec.SigCH))
		})
	})
	t.Run("from wherever the clock is set", func(t *testing.T) {
		onBoth(t, func(t *testing.T, m model) {
			step, steps := 7*time.Hour+13*time.Minute, 2500
			start := time.Date(2026, 1, 1, 0, 0, 0, 0, loc)
			if m.slow {
				step, steps = 5*step, steps/5
			}
			set := 0
			for n := range steps {
				at := start.Add(time.Duration(n) * step)
				if minuteOf(at) == minuteOf(at.Add(-time.Hour)) {
					continue // the second of two: setting the clock means the first
				}
				set++
				b := cronBench(t, m, at)
				b.forget()
				want, level := nextByCron(entries, at)
				b.goTo(want)
				require.Equal(t, []string{b.line(uint64(want.Sub(at)/time.Second), spec.SigCH, level)}, b.told())
			}
			require.Greater(t, set, steps*9/10)
		})
	})
}
