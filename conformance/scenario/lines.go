package scenario

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/hearthbench/conformance/document"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// commands are the words that a line can begin with, beside those of the bench alone.
var commands = []string{"power", "fit", "clock", "mode", "period", "table", "override", "boost", "holiday", "lock", "reset"}

const armForm = "lock arm CREDENTIAL DAYS NOTICE NHW NCH RHW RCH SOUNDER"

// line is an input line being read.
type line struct {
	*document.Line
	given bool
	// allowed is set where a step says that it expects to be turned down: then a bad value is what it is about.
	allowed bool
}

// inputs returns what the line means for a unit that is fitted so, or nil after reporting what is wrong with it.
func (l *line) inputs(ics *spec.ICS, fitted spec.Fitted) []spec.Input {
	if len(l.Words) == 0 {
		l.Wrong(1, "the line is empty; write an input such as override ch")
		return nil
	}
	text := strings.Join(l.Words, " ")
	switch {
	case !slices.Contains(commands, l.Words[0]):
		if near := document.Nearest(l.Words[0], slices.Clone(commands)); near != "" {
			l.Wrong(1, "unknown input %s; is %s meant?", document.Quote(l.Words[0]), near)
		} else {
			l.Wrong(1, "unknown input %s; the inputs are %s", document.Quote(l.Words[0]), strings.Join(commands, ", "))
		}
		return nil
	case l.Words[0] == "table":
		if !l.table(ics) {
			return nil
		}
	case l.Words[0] == "boost" && len(l.Words) == 3 && l.Words[2] == "0":
		l.Wrong(3, "a boost of 0 minutes cancels; write cancel in its place")
		return nil
	case l.Words[0] == "boost" && len(l.Words) == 3 && l.Words[2] == "cancel":
		text = strings.Join(l.Words[:2], " ") + " 0"
	case strings.HasPrefix(text, "lock arm") && len(l.Words) != len(strings.Fields(armForm)):
		l.Wrong(len(strings.Fields(armForm))+1, "arming has %d words, this line %d: write %s", len(strings.Fields(armForm)), len(l.Words), armForm)
		return nil
	}
	inputs, err := suite.Expand(ics, fitted, text)
	var parse *wire.ParseError
	switch {
	case errors.As(err, &parse) && parse.Missing:
		l.Wrong(parse.Word, "the line ends too soon: %s", l.want(parse))
	case errors.As(err, &parse) && parse.Word >= 1 && parse.Word <= len(l.Words):
		l.Wrong(parse.Word, "%s is wrong: %s", document.Quote(l.Words[parse.Word-1]), l.want(parse))
	case errors.As(err, &parse):
		l.Wrong(1, "%s", parse.Want)
	case err != nil:
		l.Wrong(1, "%v", err)
	}
	if err != nil {
		return nil
	}
	if len(l.Words) > 1 && l.Words[1] == wire.TableWord(spec.BothTables) {
		// "both" means those that there are.
		inputs = slices.DeleteFunc(inputs, func(in spec.Input) bool {
			return in.Kind == spec.SetPeriod && in.Table != spec.BothTables && !fitted.Channels.Has(spec.Channel(in.Table))
		})
	}
	if !l.allowed && !l.goodValues(ics, fitted, inputs) {
		return nil
	}
	return inputs
}

// want says what a word should be. Where the protocol's range is wider than what any unit takes, a person is told the latter.
func (l *line) want(e *wire.ParseError) string {
	switch {
	case l.Words[0] == "boost" && e.Word == 3:
		return "write minutes, such as 60, or cancel"
	case l.Words[0] == "holiday" && e.Word == 2:
		return fmt.Sprintf("write days from 1 to %d, or cancel", spec.MaxHolidayDays)
	default:
		return e.Want
	}
}

// table checks the words of a table line.
func (l *line) table(ics *spec.ICS) bool {
	if !l.given {
		l.Wrong(1, "a table line is for given, since it edits slot by slot; name the periods here: period TABLE DAY SLOT ON OFF")
		return false
	}
	if len(l.Words) < 4 {
		l.Wrong(len(l.Words)+1, "the line ends too soon: write table TABLE DAY and periods such as 06:30-09:00, or none")
		return false
	}
	if _, err := wire.ParseTable(l.Words[1]); err != nil {
		l.Wrong(2, "%v", err)
		return false
	}
	if _, err := wire.ParseDay(l.Words[2]); err != nil && l.Words[2] != "every" {
		l.Wrong(3, "%v, or every", err)
		return false
	}
	periods := l.Words[3:]
	if len(periods) == 1 && periods[0] == "none" {
		return true
	}
	if len(periods) > int(ics.Periods) {
		l.Wrong(4+int(ics.Periods), "the unit has %d periods a day, the line %d; leave some out, or say periods in unit", ics.Periods, len(periods))
		return false
	}
	for i, p := range periods {
		on, off, ok := strings.Cut(p, "-")
		_, err1 := wire.ParseTime(on)
		_, err2 := wire.ParseTime(off)
		if !ok || err1 != nil || err2 != nil {
			l.Wrong(4+i, "%s is not a period such as 06:30-09:00", document.Quote(p))
			return false
		}
	}
	return true
}

// goodValues puts the inputs to a fresh unit that has power and its clock set, where only a bad value is a reason to turn them down.
func (l *line) goodValues(ics *spec.ICS, fitted spec.Fitted, inputs []spec.Input) bool {
	fresh := *ics
	fresh.Fitted = fitted
	u, err := emulator.New(fresh)
	if err != nil {
		panic(fmt.Sprintf("an ICS that was not validated: %v", err))
	}
	u.Do(spec.Input{Kind: spec.PowerOn}, nil)
	u.Do(spec.Input{Kind: spec.SetClock, Date: spec.Date{Year: spec.FirstYear, Month: 1, Day: 1}}, nil)
	for i := range inputs {
		probe := u
		reply, _ := probe.Do(inputs[i], nil)
		word, problem := l.problem(ics, fitted, &inputs[i], reply.Refusal)
		if problem == "" {
			continue
		}
		if !l.given {
			problem += "; if that is meant, say expect: " + wire.OutcomeWord(reply.Outcome)
		}
		l.Wrong(word, "%s", problem)
		return false
	}
	return true
}

// problem says which word of the line has a value that the unit turns down, and why; "" if it is no value that it minds.
func (l *line) problem(ics *spec.ICS, fitted spec.Fitted, in *spec.Input, refusal spec.Refusal) (word int, text string) {
	switch refusal {
	case spec.BadDate:
		return l.badDate(in)
	case spec.SkippedReading:
		return 3, "summer time skips this reading, so no clock can be set to it; set one that happens"
	case spec.NoSuchSlot:
		return 4, fmt.Sprintf("the unit has %d periods a day; name a slot from 1 to %d, or say periods in unit", ics.Periods, ics.Periods)
	case spec.NoSuchTable:
		return l.badTable(fitted, in)
	case spec.BadPeriod:
		return l.badPeriod(in)
	case spec.BadBoost:
		text = fmt.Sprintf("the unit's boosts are whole steps of %d minutes up to %d", ics.BoostStep, ics.BoostLongest)
		if in.Amount > uint32(ics.BoostLongest) {
			return 3, fmt.Sprintf("%d minutes is too long: %s", in.Amount, text)
		}
		return 3, fmt.Sprintf("%d minutes is not whole steps: %s", in.Amount, text)
	case spec.BadHoliday:
		return 2, fmt.Sprintf("a holiday is 1 to %d days, not %d", spec.MaxHolidayDays, in.Amount)
	case spec.BadTerms:
		return badTerms(&in.Terms)
	case spec.WrongCredential:
		return 3, "this is not the unit's credential; write {credential} in its place (the whole line in quotes), or say credential in unit"
	case spec.UnsupportedInput:
		return l.lacks(ics, fitted, in)
	default:
		return 0, ""
	}
}

func (l *line) badDate(in *spec.Input) (word int, text string) {
	switch year := int(in.Date.Year); {
	case year < spec.FirstYear || year > spec.LastYear:
		return 2, fmt.Sprintf("a clock takes dates from %d-01-01 to %d-12-31", spec.FirstYear, spec.LastYear)
	case !calendar.Valid(year, int(in.Date.Month), int(in.Date.Day)):
		return 2, fmt.Sprintf("%s is not in the calendar; correct the date", wire.AppendDate(nil, in.Date))
	default:
		return 3, "no clock can be set to 24:00; set it to 00:00 of the day after"
	}
}

func (l *line) badTable(fitted spec.Fitted, in *spec.Input) (word int, text string) {
	if in.Day.In(fitted.Cycle) {
		if fitted.Timing == spec.Shared {
			return 2, "with timing shared there is one table; write both"
		}
		return 2, "with timing separate each channel has a table; write hw or ch, or both for the two"
	}
	var days []string
	for d := spec.Mon; d <= spec.All; d++ {
		if d.In(fitted.Cycle) {
			days = append(days, wire.DayWord(d))
		}
	}
	return 3, fmt.Sprintf("with cycle %s the days are %s, and every for each of them", wire.CycleWord(fitted.Cycle), strings.Join(days, ", "))
}

func (l *line) badPeriod(in *spec.Input) (word int, text string) {
	on, off := 5, 6
	if l.Words[0] == "table" {
		on = 3 + int(in.Slot)
		off = on
	}
	if in.Period.On == spec.MinutesPerDay {
		return on, "a period cannot begin at 24:00; begin it at 00:00 of the day after"
	}
	return off, "the period ends before it begins; end it at 24:00 and begin another at 00:00 of the day after, or say past-midnight: wrap in unit"
}

func badTerms(t *spec.LockTerms) (word int, text string) {
	if t.Days < 1 || t.Days > spec.MaxLockDays {
		return 4, fmt.Sprintf("the days are 1 to %d, not %d", spec.MaxLockDays, t.Days)
	}
	if t.NoticeDays > t.Days {
		return 5, fmt.Sprintf("the notice days are 0 to the days, %d, not %d", t.Days, t.NoticeDays)
	}
	for i, a := range []uint8{t.Notice[spec.HW], t.Notice[spec.CH], t.Restricted[spec.HW], t.Restricted[spec.CH]} {
		if a != spec.NoAllowance && (a < spec.MinAllowance || a > spec.MaxAllowance) {
			return 6 + i, fmt.Sprintf("an allowance is %d to %d minutes an hour, or none, not %d", spec.MinAllowance, spec.MaxAllowance, a)
		}
	}
	return 10, fmt.Sprintf("there are at most %d sounder times, each from 00:00 to 23:59", spec.MaxSounderTimes)
}

func (l *line) lacks(ics *spec.ICS, fitted spec.Fitted, in *spec.Input) (word int, text string) {
	switch in.Kind {
	case spec.Holiday, spec.HolidayCancel:
		return 1, "the unit has no holiday; say holiday: yes in unit"
	case spec.LockArm, spec.LockRemove:
		return 1, "the unit has no lock; say lock: yes in unit"
	case spec.Boost:
		if ics.BoostLongest == 0 {
			return 1, "the unit has no boost; say boost-longest in unit"
		}
	}
	return 2, "the unit has no such channel: channels is " + strconv.Quote(wire.ChannelsWord(fitted.Channels)) + " in unit"
}
