package complaint

import (
	"strconv"
	"strings"

	"example.org/hearthbench/conformance/document"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// settings reads settings as found. Without more they were read off the unit when the account was taken.
func (r *reader) settings(n *document.Node) []Claim {
	if n == nil {
		return nil
	}
	all := make([]Claim, len(n.Items))
	for i, item := range n.Items {
		c := &all[i]
		line := item
		c.Source, c.Sure = Read, Read.Sure()
		if item.Form == document.Mapping {
			line = item.Get("is")
			c.Source, c.Sure = r.source(item, Read)
		}
		if e := item.Get("when"); e != nil {
			r.when(e, &c.When, Integrator, true, oneWhen)
		} else {
			c.When = When{Text: "now", Windows: []Window{{From: r.c.Asked, To: r.c.Asked, Blur: blurReading}}}
		}
		c.Place = place(line)
		l := newLine(r, line)
		c.Text = strings.Join(l.Words, " ")
		l.claim(c)
	}
	return all
}

var settingWords = []string{"mode", "table", "clock", "holiday", "lock", "alert", "override", "boost"}

// claim reads a line about a setting.
func (l *line) claim(c *Claim) {
	var ok bool
	switch l.Word(1) {
	case "mode":
		c.About = AboutMode
		c.Channel, ok = l.channel(2)
		if ok {
			c.Mode, ok = parseWord(l, 3, wire.ParseMode)
		}
		l.end(ok, 3)
	case "table":
		c.About = AboutTable
		l.table(c)
	case "clock":
		c.About = AboutClock
		c.Reading, _ = l.reading(2)
	case "holiday":
		c.About = AboutHoliday
		c.Amount, ok = l.count(2, spec.MaxHolidayDays, "days")
		l.end(ok, 2)
	case "alert":
		c.About = AboutAlert
		c.Stage, ok = parseWord(l, 2, wire.ParseStage)
		l.end(ok, 2)
	case "lock":
		c.About = AboutLock
		l.lock(c)
	case "override", "boost":
		c.About = AboutOverride
		if l.Word(1) == "boost" {
			c.About = AboutBoost
		}
		c.Channel, ok = l.channel(2)
		switch c.Amount = 1; {
		case !ok:
		case l.Word(3) == noneWord:
			c.Amount = 0
			l.end(true, 3)
		default:
			l.end(true, 2)
		}
	default:
		l.unknown("setting", settingWords)
	}
}

// table reads a table line from its second word on.
func (l *line) table(c *Claim) bool {
	t, ok := parseWord(l, 2, wire.ParseTable)
	if !ok {
		return false
	}
	c.Table = t
	switch word := l.Word(3); word {
	case "":
		l.Wrong(3, "the line ends too soon: write the days, such as every, weekdays or sat")
		return false
	case "every":
		c.Every = true
	default:
		day, err := wire.ParseDay(word)
		if err != nil {
			l.Wrong(3, "%v, or every", err)
			return false
		}
		c.Days = day
	}
	rest := l.Words[3:]
	switch {
	case len(rest) == 0:
		l.Wrong(4, "the line ends too soon: write periods such as 06:30-08:30, or none")
		return false
	case len(rest) == 1 && rest[0] == noneWord:
		return true
	case len(rest) > spec.MaxPeriods:
		l.Wrong(4+spec.MaxPeriods, "there are more than %d periods, and no unit has more; leave some out", spec.MaxPeriods)
		return false
	}
	for i, text := range rest {
		on, off, cut := strings.Cut(text, "-")
		from, err1 := wire.ParseTime(on)
		to, err2 := wire.ParseTime(off)
		switch {
		case !cut || err1 != nil || err2 != nil:
			l.Wrong(4+i, "%s is not a period such as 06:30-08:30", document.Quote(text))
			return false
		case from == spec.MinutesPerDay:
			l.Wrong(4+i, "a period cannot begin at 24:00; begin it at 00:00 of the day after")
			return false
		}
		c.Periods = append(c.Periods, spec.Period{On: from, Off: to})
	}
	return true
}

// reading reads what a clock shows, from a word on: 07:12, sun 07:12, 2026-11-03 07:12, unset or blank.
func (l *line) reading(word int) (r Reading, ok bool) {
	switch l.Word(word) {
	case "unset", "flashing":
		return Reading{Unset: true}, l.end(true, word)
	case "blank", "dark":
		return Reading{Blank: true}, l.end(true, word)
	}
	if date, err := wire.ParseDate(l.Word(word)); err == nil {
		if _, err := parseDate(l.Word(word)); err != nil {
			l.Wrong(word, "%v", err)
			return r, false
		}
		r.HasDate, r.Date = true, date
		word++
	} else if day, err := wire.ParseDay(l.Word(word)); err == nil && day <= spec.Sun {
		r.HasDay, r.Day = true, day
		word++
	}
	if text := l.Word(word); text != "" || !r.HasDay && !r.HasDate {
		minute, err := wire.ParseTime(text)
		if err != nil || minute >= spec.MinutesPerDay {
			l.Wrong(word, "write what the clock shows: 07:12, sun 07:12, 2026-11-03 07:12, unset (it flashes) or blank (nothing is to be seen)")
			return r, false
		}
		r.HasMinute, r.Minute = true, int16(minute)
	}
	return r, l.end(true, word)
}

// lock reads a lock line: its stage, and where they are known the allowances and sounder times of that stage and when it began.
func (l *line) lock(c *Claim) {
	stage, ok := parseWord(l, 2, wire.ParseStage)
	if !ok {
		return
	}
	c.Stage = stage
	c.Terms = spec.LockTerms{Days: spec.MaxLockDays}
	none := [spec.NumChannels]uint8{spec.NoAllowance, spec.NoAllowance}
	c.Terms.Notice, c.Terms.Restricted = none, none
	for i := 3; i <= len(l.Words); i += 2 {
		value := l.Word(i + 1)
		switch key := l.Word(i); key {
		case "hw", "ch":
			minutes := uint8(spec.NoAllowance)
			if value != noneWord {
				n, err := strconv.Atoi(value)
				if err != nil || n < spec.MinAllowance || n > spec.MaxAllowance {
					l.Wrong(i+1, "an allowance is %d to %d minutes an hour, or none", spec.MinAllowance, spec.MaxAllowance)
					return
				}
				minutes = uint8(n)
			}
			ch, _ := wire.ParseChannel(key)
			c.TermsKnown = true
			if stage == spec.Notice {
				c.Terms.Notice[ch] = minutes
			} else {
				c.Terms.Restricted[ch] = minutes
			}
		case "sounder":
			if !l.sounder(i+1, c) {
				return
			}
		case "since":
			if _, err := parseDate(value); !dateShape.MatchString(value) || err != nil {
				l.Wrong(i+1, "write the date on which the stage began, such as 2026-10-28")
				return
			}
			date, _ := wire.ParseDate(value)
			c.Since, c.SinceKnown = date, true
		default:
			l.Wrong(i, "write lock STAGE, and where known hw MINUTES, ch MINUTES (or none), sounder TIMES and since DATE, such as lock restricted ch 10 since 2026-10-28")
			return
		}
	}
}

func (l *line) sounder(word int, c *Claim) bool {
	times := strings.Split(l.Word(word), ",")
	if len(times) > spec.MaxSounderTimes {
		l.Wrong(word, "there are at most %d sounder times", spec.MaxSounderTimes)
		return false
	}
	for i, text := range times {
		minute, err := wire.ParseTime(text)
		if err != nil || minute >= spec.MinutesPerDay {
			l.Wrong(word, "sounder times are such as 08:00,18:30")
			return false
		}
		c.Terms.Sounder[i] = minute
	}
	c.Terms.Sounders = uint8(len(times))
	c.TermsKnown = true
	return true
}

// Inputs returns the inputs by which a person gives a unit that is fitted so the table of a claim. Slots that it leaves out become
// inactive.
func (c *Claim) Inputs(ics *spec.ICS, fitted spec.Fitted) []spec.Input {
	var all []spec.Input
	fitted = fitted.Effective()
	tables := []spec.TableID{c.Table}
	switch {
	case fitted.Timing == spec.Shared:
		tables = []spec.TableID{spec.BothTables}
	case c.Table == spec.BothTables:
		tables = []spec.TableID{spec.HWTable, spec.CHTable}
	}
	for _, t := range tables {
		if t != spec.BothTables && !fitted.Channels.Has(spec.Channel(t)) {
			continue
		}
		for day := spec.Mon; day <= spec.All; day++ {
			if !day.In(fitted.Cycle) || !c.touches(day) {
				continue
			}
			for slot := range max(int(ics.Periods), len(c.Periods)) {
				in := spec.Input{Kind: spec.SetPeriod, Table: t, Day: day, Slot: uint8(slot + 1)}
				if slot < len(c.Periods) {
					in.Period = c.Periods[slot]
				}
				all = append(all, in)
			}
		}
	}
	return all
}

// touches reports whether the table for a day, or for several, is one that the claim is about.
func (c *Claim) touches(day spec.Day) bool {
	switch day {
	case spec.All:
		return c.Covers(int(spec.Mon))
	case spec.Weekdays:
		return c.Covers(int(spec.Mon))
	case spec.Weekend:
		return c.Covers(int(spec.Sat))
	default:
		return c.Covers(int(day))
	}
}

// String says what a claim is about, such as "mode ch".
func (a About) String() string {
	return [...]string{
		"mode", "table", "clock", "holiday", "lock", "alert", "override", "boost",
	}[min(int(a), int(AboutBoost))]
}

// count reads a number of things up to a limit, or none.
func (l *line) count(word, most int, things string) (int, bool) {
	text := l.Word(word)
	if text == noneWord {
		return 0, true
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > most {
		l.Wrong(word, "write a number of %s from 1 to %d, or none", things, most)
		return 0, false
	}
	return n, true
}
