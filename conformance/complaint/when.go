package complaint

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"example.org/hearthbench/conformance/document"
	"example.org/hearthbench/conformance/localtime"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// Blurs: by how much a stated time may be off, in seconds. Common sense, no source: people round to five minutes; 'about' is a quarter of
// an hour; who looks at a clock and a telephone at once is a minute off at most.
const (
	blurAbout      = 15 * calendar.Minute
	blurHousehold  = 5 * calendar.Minute
	blurIntegrator = 2 * calendar.Minute
	blurReading    = 1 * calendar.Minute
	blurLog        = 5
	blurPart       = 30 * calendar.Minute // of a part of the day, such as the evening
)

// pending is a time whose windows can be worked out only once it is known when the account begins.
type pending struct {
	node *document.Node
	when *When
	form timeForm
	blur int64
}

// whenKind is what a time may be in its place.
type whenKind uint8

const (
	anyWhen  whenKind = iota
	someWhen          // moments, once or by rule
	oneWhen           // a moment
)

// timeForm is a time as it was written, in readings of the local clock.
type timeForm struct {
	always, since bool
	rule          bool
	days          [7]bool
	dated         bool
	date, last    int // days since 2000-01-01: of a rule, the first and the last if dated and bounded
	bounded       bool
	about         bool
	moment        bool  // about some moment in it
	part          bool  // a part of the day, or the whole
	from, to      int64 // seconds of the day, or with exact, instants
	exact         bool
	seconds       bool // the time has seconds
}

const (
	datePart = `([0-9]{4}-[0-9]{2}-[0-9]{2})`
	timePart = `([0-9]{2}:[0-9]{2}(?::[0-9]{2})?)`
)

var (
	sincePattern  = regexp.MustCompile(`^since ` + datePart + `(?: ` + timePart + `)?$`)
	exactPattern  = regexp.MustCompile(`^` + datePart + `[ T]` + timePart + `(?: ?\+[0-9]{2}:[0-9]{2}| -[0-9]{2}:[0-9]{2}|Z)$`) // without its space, -18:00 would be where a stretch ends
	datedPattern  = regexp.MustCompile(`^` + datePart + `(?: (.+))?$`)
	rulePattern   = regexp.MustCompile(`^every ([a-z, ]+?)(?: ([0-9b].*?|about .+?|between .+?|all day|morning|afternoon|evening|night))?(?: (?:(since|from) ` + datePart + `)?(?: ?(?:to|until) ` + datePart + `)?)?$`)
	acrossPattern = regexp.MustCompile(`^` + datePart + `(?: (about))? ` + timePart + ` to ` + datePart + ` ` + timePart + `$`)

	spanPattern    = regexp.MustCompile(`^(?:(about) )?` + timePart + ` ?- ?` + timePart + `$`)
	betweenPattern = regexp.MustCompile(`^between ` + timePart + ` and ` + timePart + `$`)
	momentPattern  = regexp.MustCompile(`^(?:(about|around) )?` + timePart + `$`)
)

// parts are the parts of the day.
var parts = map[string][2]int64{
	"morning": {6 * calendar.Hour, 12 * calendar.Hour}, "afternoon": {12 * calendar.Hour, 18 * calendar.Hour},
	"evening": {18 * calendar.Hour, 23 * calendar.Hour}, "night": {23 * calendar.Hour, 30 * calendar.Hour},
}

const whenHelp = "write a time such as 2026-11-02 18:00, 2026-11-02 about 18:00, 2026-11-02 between 17:00 and 19:00, 2026-11-02 evening, " +
	"2026-11-02 06:30-07:30, since 2026-10-25, always, or every weekday 06:30-07:00"

// parseWhen reads a time.
func parseWhen(text string) (f timeForm, err error) {
	text = strings.Join(strings.Fields(text), " ")
	switch {
	case text == "always":
		return timeForm{always: true}, nil
	case text == "since" || strings.HasPrefix(text, "since "):
		m := sincePattern.FindStringSubmatch(text)
		if m == nil {
			return f, fmt.Errorf("write since and a date, such as since 2026-10-25, or since 2026-10-25 18:00")
		}
		f = timeForm{since: true, dated: true}
		if f.date, err = parseDate(m[1]); err == nil && m[2] != "" {
			f.from, f.seconds, err = parseClock(m[2])
		}
		return f, err
	case strings.HasPrefix(text, "every "):
		return parseRule(text)
	}
	if m := acrossPattern.FindStringSubmatch(text); m != nil {
		f = timeForm{dated: true, about: m[2] != ""}
		last := 0
		if f.date, err = parseDate(m[1]); err == nil {
			if last, err = parseDate(m[4]); err == nil {
				if f.from, _, err = parseClock(m[3]); err == nil {
					f.to, _, err = parseClock(m[5])
				}
			}
		}
		f.to += int64(last-f.date) * calendar.Day
		if err == nil && f.to <= f.from {
			err = fmt.Errorf("it ends before it begins; put the earlier time first")
		}
		return f, err
	}
	if m := exactPattern.FindStringSubmatch(text); m != nil {
		f = timeForm{exact: true, moment: true, seconds: len(m[2]) > len("15:04")}
		f.from, err = (localtime.Zone{}).Parse(text)
		f.to = f.from
		return f, err
	}
	m := datedPattern.FindStringSubmatch(text)
	if m == nil {
		return f, fmt.Errorf("%s is no time that can be read; %s", document.Quote(text), whenHelp)
	}
	date, err := parseDate(m[1])
	if err != nil {
		return f, err
	}
	if f, err = parseTimes(m[2]); err != nil {
		return f, err
	}
	f.dated, f.date = true, date
	return f, nil
}

// parseTimes reads what may follow a date or the days of a rule.
func parseTimes(text string) (f timeForm, err error) {
	switch part, ok := parts[text]; {
	case text == "":
		return timeForm{moment: true, part: true, to: calendar.Day}, nil
	case text == "all day":
		return timeForm{part: true, to: calendar.Day}, nil
	case ok:
		return timeForm{moment: true, part: true, from: part[0], to: part[1]}, nil
	}
	if m := spanPattern.FindStringSubmatch(text); m != nil {
		f = timeForm{about: m[1] != ""}
		return f, f.times(m[2], m[3])
	}
	if m := betweenPattern.FindStringSubmatch(text); m != nil {
		f = timeForm{moment: true}
		return f, f.times(m[1], m[2])
	}
	if m := momentPattern.FindStringSubmatch(text); m != nil {
		f = timeForm{about: m[1] != "", moment: true}
		f.from, f.seconds, err = parseClock(m[2])
		if f.from == calendar.Day {
			err = fmt.Errorf("24:00 is 00:00 of the day after; write that")
		}
		f.to = f.from
		return f, err
	}
	return f, fmt.Errorf("%s is no time of day; write 18:00, about 18:00, between 17:00 and 19:00, 06:30-07:30, morning, afternoon, evening, night or all day",
		document.Quote(text))
}

// times sets a stretch of the day; one that ends before it begins ends on the next day.
func (f *timeForm) times(from, to string) (err error) {
	if f.from, f.seconds, err = parseClock(from); err == nil {
		f.to, _, err = parseClock(to)
	}
	switch {
	case err != nil:
	case f.from == calendar.Day:
		err = fmt.Errorf("a time cannot begin at 24:00; begin it at 00:00 of the day after")
	case f.to == f.from:
		err = fmt.Errorf("it ends when it begins; let it last, or write one time")
	case f.to < f.from:
		f.to += calendar.Day
	}
	return err
}

func parseDate(text string) (days int, err error) {
	var f [3]int
	for i, word := range strings.Split(text, "-") {
		f[i], _ = strconv.Atoi(word)
	}
	switch {
	case f[0] < spec.FirstYear || f[0] > spec.LastYear:
		return 0, fmt.Errorf("%s is out of range; dates run from %d-01-01 to %d-12-31", text, spec.FirstYear, spec.LastYear)
	case !calendar.Valid(f[0], f[1], f[2]):
		return 0, fmt.Errorf("%s is not in the calendar; correct the date", text)
	}
	return calendar.Days(f[0], f[1], f[2]), nil
}

// parseClock reads a time of day, 24:00 among them.
func parseClock(text string) (second int64, withSeconds bool, err error) {
	var f [3]int64
	for i, word := range strings.Split(text, ":") {
		f[i], _ = strconv.ParseInt(word, 10, 64)
	}
	second = f[0]*calendar.Hour + f[1]*calendar.Minute + f[2]
	if f[1] > 59 || f[2] > 59 || second > calendar.Day {
		return 0, false, fmt.Errorf("%s is not a time of day; times run from 00:00 to 24:00", text)
	}
	return second, len(text) > len("15:04"), nil
}

var dayWords = [...]string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}

var longDays = [...]string{"monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"}

// parseRule reads a time that comes again and again.
func parseRule(text string) (f timeForm, err error) {
	m := rulePattern.FindStringSubmatch(text)
	if m == nil {
		return f, fmt.Errorf("%s is no rule that can be read; write one such as every weekday 06:30-07:00, every sat and sun about 08:00, "+
			"or every day evening since 2026-10-25", document.Quote(text))
	}
	var days [7]bool
	for _, word := range strings.FieldsFunc(m[1], func(r rune) bool { return r == ',' || r == ' ' }) {
		short := slices.Index(dayWords[:], word)
		long := slices.Index(longDays[:], strings.TrimSuffix(word, "s"))
		switch {
		case word == "and":
		case word == "day":
			days = [7]bool{true, true, true, true, true, true, true}
		case word == "weekday" || word == "weekdays":
			for d := range 5 {
				days[d] = true
			}
		case word == "weekend":
			days[5], days[6] = true, true
		case short >= 0:
			days[short] = true
		case long >= 0:
			days[long] = true
		default:
			return f, fmt.Errorf("%s is no day; days are day, weekday, weekend and mon to sun", document.Quote(word))
		}
	}
	if days == [7]bool{} {
		return f, fmt.Errorf("the rule names no day; write one such as every weekday 06:30-07:00")
	}
	if f, err = parseTimes(m[2]); err != nil {
		return f, err
	}
	f.rule, f.days = true, days
	if m[4] != "" {
		f.dated = true
		if f.date, err = parseDate(m[4]); err != nil {
			return f, err
		}
	}
	if m[5] != "" {
		f.bounded = true
		if f.last, err = parseDate(m[5]); err != nil {
			return f, err
		}
	}
	if f.dated && f.bounded && f.last < f.date {
		err = fmt.Errorf("the rule ends before it begins; put the earlier date first")
	}
	return f, err
}

// earliest returns the first instant that a time speaks of, if it names one.
func (f *timeForm) earliest(z localtime.Zone) (int64, bool) {
	switch {
	case f.exact:
		return f.from, true
	case f.dated:
		return instant(z, int64(f.date)*calendar.Day+f.from), true
	default:
		return 0, false
	}
}

// instant returns when the local clock first shows a reading, or where summer time skips it, the instant at which it does.
func instant(z localtime.Zone, reading int64) int64 {
	if all := z.Instants(reading); len(all) > 0 {
		return all[0]
	}
	return calendar.NextChange(reading - z.Standard - calendar.Hour)
}

// windows works out what a time means, within an account that runs from one instant to another.
func (f *timeForm) windows(z localtime.Zone, from, until, blur int64) []Window {
	switch {
	case f.always:
		return []Window{{From: from, To: until, Throughout: true}}
	case f.since:
		return []Window{{From: instant(z, int64(f.date)*calendar.Day+f.from), To: until, Throughout: true, Blur: blur}}
	case f.exact:
		return []Window{{From: f.from, To: f.to, Blur: blur}}
	case !f.rule:
		return []Window{f.window(z, f.date, until, blur)}
	}
	var all []Window
	first, last := calendar.DayOf(z.Reading(from)), calendar.DayOf(z.Reading(until))
	if f.dated {
		first = max(first, f.date)
	}
	if f.bounded {
		last = min(last, f.last)
	}
	for day := first; day <= last; day++ {
		if !f.days[calendar.Weekday(day)] {
			continue
		}
		if w := f.window(z, day, until, blur); w.From >= from && w.From <= until {
			all = append(all, w)
		}
	}
	return all
}

// window works out the window of one day. The part of it that is still to come does not count.
func (f *timeForm) window(z localtime.Zone, day int, until, blur int64) Window {
	w := Window{From: instant(z, int64(day)*calendar.Day+f.from), Throughout: !f.moment, Blur: blur}
	w.To = w.From
	if f.to > f.from {
		w.To = instant(z, int64(day)*calendar.Day+f.to)
		if w.To > until && w.From < until {
			w.To = until
		}
	}
	return w
}

// blurOf returns by how much the ends of a time may be off.
func (f *timeForm) blurOf(who Who, reading bool) int64 {
	switch {
	case f.about:
		return blurAbout
	case f.always:
		return 0
	case f.part && f.to-f.from < calendar.Day:
		return blurPart
	case f.part || f.since && f.from == 0:
		return 0
	case f.seconds, who == Log:
		return blurLog
	case reading:
		return blurReading
	case who == Integrator:
		return blurIntegrator
	default:
		return blurHousehold
	}
}
