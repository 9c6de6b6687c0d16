package wire

import (
	"fmt"
	"slices"
	"strconv"

	"example.org/hearthbench/emulator/spec"
)

// vocabulary is the words of one enumeration, indexed by value.
type vocabulary[T ~uint8] struct {
	what  string // the enumeration's name, as messages have it
	words []string
}

var (
	signals = vocabulary[spec.Signal]{"signal", []string{
		spec.SigHW: "hw", spec.SigCH: "ch", spec.SigAlert: "alert", spec.SigSounder: "sounder"}}
	channels = vocabulary[spec.Channel]{"channel", []string{spec.HW: "hw", spec.CH: "ch"}}
	modes    = vocabulary[spec.Mode]{"mode", []string{
		spec.Off: "off", spec.Table: "table", spec.Span: "span", spec.Always: "always"}}
	tables = vocabulary[spec.TableID]{"table", []string{spec.HWTable: "hw", spec.CHTable: "ch", spec.BothTables: "both"}}
	days   = vocabulary[spec.Day]{"day", []string{
		spec.Mon: "mon", spec.Tue: "tue", spec.Wed: "wed", spec.Thu: "thu", spec.Fri: "fri", spec.Sat: "sat", spec.Sun: "sun",
		spec.Weekdays: "weekdays", spec.Weekend: "weekend", spec.All: "all"}}
	stages = vocabulary[spec.Stage]{"stage", []string{
		spec.Dormant: "none", spec.Counting: "counting", spec.Notice: "notice", spec.Restricted: "restricted"}}
	outcomes = vocabulary[spec.Outcome]{"reply", []string{
		spec.Accepted: "accepted", spec.Refused: "refused", spec.Unsupported: "unsupported"}}

	fitOptions = vocabulary[spec.FitOption]{"option", []string{
		spec.FitChannels: "channels", spec.FitCycle: "cycle", spec.FitTiming: "timing", spec.FitCoupling: "coupling"}}
	channelSets = vocabulary[spec.Channels]{"channels", []string{
		spec.BothChannels: "both", spec.OnlyHW: "hw", spec.OnlyCH: "ch"}}
	cycles    = vocabulary[spec.Cycle]{"cycle", []string{spec.Cycle24h: "24h", spec.Cycle52: "5/2", spec.Cycle7Day: "7day"}}
	timings   = vocabulary[spec.Timing]{"timing", []string{spec.Separate: "separate", spec.Shared: "shared"}}
	couplings = vocabulary[spec.Coupling]{"coupling", []string{
		spec.Independent: "independent", spec.Gravity: "gravity"}}
	lostClocks = vocabulary[spec.LostClock]{"lost-clock", []string{
		spec.LostUnset: "unset", spec.LostResumes: "resumes", spec.LostRestarts: "restarts"}}

	kinds = vocabulary[spec.Kind]{"input", []string{
		spec.PowerOff: "power off", spec.PowerOn: "power on", spec.Fit: "fit", spec.SetClock: "clock", spec.SetMode: "mode",
		spec.SetPeriod: "period", spec.Override: "override", spec.Boost: "boost", spec.Holiday: "holiday",
		spec.HolidayCancel: "holiday cancel", spec.LockArm: "lock arm", spec.LockRemove: "lock remove", spec.Reset: "reset"}}
	refusals = vocabulary[spec.Refusal]{"refusal", []string{
		spec.NoRefusal:         "",
		spec.NoPower:           "no power",
		spec.PowerPresent:      "changed at the back only without power",
		spec.BadDate:           "no date or time from 2000 to 2099",
		spec.SkippedReading:    "summer time skips this reading",
		spec.NoSuchSlot:        "no such slot",
		spec.NoSuchTable:       "no such table or day",
		spec.BadPeriod:         "not a good on and off",
		spec.NoSwitchingPoint:  "the schedule never changes by itself",
		spec.ClockUnset:        "the clock is unset",
		spec.InHoliday:         "a holiday is running",
		spec.BadBoost:          "not a whole number of steps up to the longest boost",
		spec.BadHoliday:        "not 1 to 99 days",
		spec.BadTerms:          "terms out of range",
		spec.WrongCredential:   "wrong credential",
		spec.LockDormant:       "the lock is dormant",
		spec.UnsupportedInput:  "the unit does not have this",
		spec.UnsupportedFitted: "the unit cannot be fitted so",
	}}

	switched = vocabulary[spec.Level]{"level", []string{"0", "1"}} // of relays and sounder
)

// word returns the word of a value. A value outside the enumeration gives its number in brackets, which nothing parses.
func (v *vocabulary[T]) word(value T) string {
	if int(value) < len(v.words) {
		return v.words[value]
	}
	return "(" + strconv.Itoa(int(value)) + ")"
}

func (v *vocabulary[T]) find(word string) (T, bool) {
	for i, w := range v.words {
		if w == word {
			return T(i), true
		}
	}
	return 0, false
}

func (v *vocabulary[T]) parse(word string) (T, error) {
	value, ok := v.find(word)
	if !ok {
		return 0, fmt.Errorf("%s is wrong: %s", quote(word), v.want())
	}
	return value, nil
}

// want says what the vocabulary's words are: "mode is off, table, span or always".
func (v *vocabulary[T]) want() string { return v.what + " is " + orList(v.words) }

// orList joins words as a sentence does: "a, b or c".
func orList(words []string) string {
	text := ""
	for i, w := range words {
		switch {
		case i == 0:
		case i == len(words)-1:
			text += " or "
		default:
			text += ", "
		}
		text += w
	}
	return text
}

// quote puts text from outside in single quotes, with everything unprintable escaped, cut to what a message can bear.
func quote(text string) string {
	cut := ""
	if len(text) > MaxLine {
		text, cut = text[:MaxLine], "…"
	}
	inside := strconv.QuoteToASCII(text)
	return "'" + inside[1:len(inside)-1] + cut + "'"
}

// The Word functions return the word of a value, and the Parse functions the value of a word. For a value outside its
// enumeration a Word function returns the number in brackets; a Parse function's error lists the words there are.

// SignalWord returns hw, ch, alert or sounder.
func SignalWord(s spec.Signal) string { return signals.word(s) }

// ParseSignal parses hw, ch, alert or sounder.
func ParseSignal(word string) (spec.Signal, error) { return signals.parse(word) }

// LevelWord returns the word of a signal's level: 0 or 1, for the alert a stage.
func LevelWord(s spec.Signal, l spec.Level) string {
	if s == spec.SigAlert {
		return stages.word(spec.Stage(l))
	}
	return switched.word(l)
}

// ParseLevel parses the word of a signal's level: 0 or 1, for the alert a stage.
func ParseLevel(s spec.Signal, word string) (spec.Level, error) {
	if s == spec.SigAlert {
		stage, err := stages.parse(word)
		return spec.Level(stage), err
	}
	return switched.parse(word)
}

// ChannelWord returns hw or ch.
func ChannelWord(c spec.Channel) string { return channels.word(c) }

// ParseChannel parses hw or ch.
func ParseChannel(word string) (spec.Channel, error) { return channels.parse(word) }

// ModeWord returns off, table, span or always.
func ModeWord(m spec.Mode) string { return modes.word(m) }

// ParseMode parses off, table, span or always.
func ParseMode(word string) (spec.Mode, error) { return modes.parse(word) }

// TableWord returns hw, ch or both.
func TableWord(t spec.TableID) string { return tables.word(t) }

// ParseTable parses hw, ch or both.
func ParseTable(word string) (spec.TableID, error) { return tables.parse(word) }

// DayWord returns mon to sun, weekdays, weekend or all.
func DayWord(d spec.Day) string { return days.word(d) }

// ParseDay parses mon to sun, weekdays, weekend or all.
func ParseDay(word string) (spec.Day, error) { return days.parse(word) }

// StageWord returns none (dormant), counting, notice or restricted.
func StageWord(s spec.Stage) string { return stages.word(s) }

// ParseStage parses none (dormant), counting, notice or restricted.
func ParseStage(word string) (spec.Stage, error) { return stages.parse(word) }

// OutcomeWord returns accepted, refused or unsupported, the words of vectors and reports. A closing line has "ok" for
// accepted: see [AppendClosing].
func OutcomeWord(o spec.Outcome) string { return outcomes.word(o) }

// ParseOutcome parses accepted, refused or unsupported.
func ParseOutcome(word string) (spec.Outcome, error) { return outcomes.parse(word) }

// FitOptionWord returns channels, cycle, timing or coupling.
func FitOptionWord(o spec.FitOption) string { return fitOptions.word(o) }

// ParseFitOption parses channels, cycle, timing or coupling.
func ParseFitOption(word string) (spec.FitOption, error) { return fitOptions.parse(word) }

// FitValueWord returns the word of a value of an option that can be changed at the back.
func FitValueWord(o spec.FitOption, value uint8) string {
	switch o {
	case spec.FitChannels:
		return channelSets.word(spec.Channels(value))
	case spec.FitCycle:
		return cycles.word(spec.Cycle(value))
	case spec.FitTiming:
		return timings.word(spec.Timing(value))
	default:
		return couplings.word(spec.Coupling(value))
	}
}

// ParseFitValue parses the word of a value of an option that can be changed at the back.
func ParseFitValue(o spec.FitOption, word string) (uint8, error) {
	value, ok := findFitValue(o, word)
	if !ok {
		return 0, fmt.Errorf("%s is wrong: %s", quote(word), fitValueWant(o))
	}
	return value, nil
}

func findFitValue(o spec.FitOption, word string) (uint8, bool) {
	switch o {
	case spec.FitChannels:
		v, ok := channelSets.find(word)
		return uint8(v), ok
	case spec.FitCycle:
		v, ok := cycles.find(word)
		return uint8(v), ok
	case spec.FitTiming:
		v, ok := timings.find(word)
		return uint8(v), ok
	default:
		v, ok := couplings.find(word)
		return uint8(v), ok
	}
}

func fitValueWant(o spec.FitOption) string {
	return fitOptions.word(o) + " is " + orList(fitWords(o))
}

func fitWords(o spec.FitOption) []string {
	switch o {
	case spec.FitChannels:
		return channelSets.words
	case spec.FitCycle:
		return cycles.words
	case spec.FitTiming:
		return timings.words
	default:
		return couplings.words
	}
}

// FitWords returns the words of every value of an option that can be changed at the back, indexed by value.
func FitWords(o spec.FitOption) []string { return slices.Clone(fitWords(o)) }

// ChannelsWord returns both, hw or ch.
func ChannelsWord(c spec.Channels) string { return channelSets.word(c) }

// ParseChannels parses both, hw or ch.
func ParseChannels(word string) (spec.Channels, error) { return channelSets.parse(word) }

// CycleWord returns 24h, 5/2 or 7day.
func CycleWord(c spec.Cycle) string { return cycles.word(c) }

// ParseCycle parses 24h, 5/2 or 7day.
func ParseCycle(word string) (spec.Cycle, error) { return cycles.parse(word) }

// TimingWord returns separate or shared.
func TimingWord(t spec.Timing) string { return timings.word(t) }

// ParseTiming parses separate or shared.
func ParseTiming(word string) (spec.Timing, error) { return timings.parse(word) }

// CouplingWord returns independent or gravity.
func CouplingWord(c spec.Coupling) string { return couplings.word(c) }

// ParseCoupling parses independent or gravity.
func ParseCoupling(word string) (spec.Coupling, error) { return couplings.parse(word) }

// LostClockWord returns unset, resumes or restarts.
func LostClockWord(l spec.LostClock) string { return lostClocks.word(l) }

// ParseLostClock parses unset, resumes or restarts.
func ParseLostClock(word string) (spec.LostClock, error) { return lostClocks.parse(word) }

// KindWord returns the words with which a line of the kind begins, such as "lock arm".
func KindWord(k spec.Kind) string { return kinds.word(k) }

// ParseKind parses the words with which a line of the kind begins, such as "lock arm".
func ParseKind(words string) (spec.Kind, error) { return kinds.parse(words) }

// RefusalWords returns why an input was refused, in words for the reader: "" for NoRefusal. Units word their reasons as
// they like, so nothing parses them.
func RefusalWords(r spec.Refusal) string { return refusals.word(r) }
