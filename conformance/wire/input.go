package wire

import (
	"strconv"
	"strings"

	"example.org/hearthbench/emulator/spec"
)

// MaxSlot is the highest slot that a line can name; units have fewer, and refuse the rest (clause TAB-16).
const MaxSlot = 9

// AppendInput appends the line of an input, without LF. The input must be one that a line can say, as those that ParseInput
// returns are: a value outside its enumeration becomes a number in brackets, which no unit accepts. Of more sounder times
// than spec.MaxSounderTimes an Input holds only the number, so those above it are written as 00:00.
func AppendInput(dst []byte, in spec.Input) []byte {
	dst = append(dst, kinds.word(in.Kind)...)
	switch in.Kind {
	case spec.Fit:
		dst = appendWord(dst, fitOptions.word(in.FitOption))
		dst = appendWord(dst, FitValueWord(in.FitOption, in.FitValue))
	case spec.SetClock:
		dst = AppendDate(append(dst, ' '), in.Date)
		dst = AppendTime(append(dst, ' '), in.Minute)
	case spec.SetMode:
		dst = appendWord(dst, channels.word(in.Channel))
		dst = appendWord(dst, modes.word(in.Mode))
	case spec.SetPeriod:
		dst = appendWord(dst, tables.word(in.Table))
		dst = appendWord(dst, days.word(in.Day))
		dst = appendNumber(dst, uint64(in.Slot))
		dst = AppendTime(append(dst, ' '), in.Period.On)
		dst = AppendTime(append(dst, ' '), in.Period.Off)
	case spec.Override:
		dst = appendWord(dst, channels.word(in.Channel))
	case spec.Boost:
		dst = appendWord(dst, channels.word(in.Channel))
		dst = appendNumber(dst, uint64(in.Amount))
	case spec.Holiday:
		dst = appendNumber(dst, uint64(in.Amount))
	case spec.LockArm:
		dst = appendWord(dst, in.Credential)
		dst = appendTerms(dst, &in.Terms)
	case spec.LockRemove:
		dst = appendWord(dst, in.Credential)
	}
	return dst
}

func appendTerms(dst []byte, terms *spec.LockTerms) []byte {
	dst = appendNumber(dst, uint64(terms.Days))
	dst = appendNumber(dst, uint64(terms.NoticeDays))
	for _, stage := range [...]*[spec.NumChannels]uint8{&terms.Notice, &terms.Restricted} {
		for _, allowance := range stage {
			if allowance == spec.NoAllowance {
				dst = appendWord(dst, none)
			} else {
				dst = appendNumber(dst, uint64(allowance))
			}
		}
	}
	if terms.Sounders == 0 {
		return appendWord(dst, none)
	}
	for i := range int(terms.Sounders) {
		if i == 0 {
			dst = append(dst, ' ')
		} else {
			dst = append(dst, ',')
		}
		var minute uint16
		if i < len(terms.Sounder) {
			minute = terms.Sounder[i]
		}
		dst = AppendTime(dst, minute)
	}
	return dst
}

const none = "none"

func appendWord(dst []byte, word string) []byte {
	dst = append(dst, ' ')
	return append(dst, word...)
}

func appendNumber(dst []byte, value uint64) []byte {
	return strconv.AppendUint(append(dst, ' '), value, 10)
}

// ParseInput parses the line of an input, without LF. An error is a [*ParseError]. What a line can say and a unit must
// refuse parses: a date that is not in the calendar, an off before its on, the table of another timing.
func ParseInput(line string) (spec.Input, error) {
	var in spec.Input
	c := cursor{line: line}
	if len(line) > MaxLine {
		return spec.Input{}, &ParseError{Line: strings.Clone(line), Want: tooLong}
	}
	switch c.next() {
	case "power":
		switch c.next() {
		case "on":
			in.Kind = spec.PowerOn
		case "off":
			in.Kind = spec.PowerOff
		default:
			c.fail("power is on or off")
		}
	case "fit":
		in.Kind = spec.Fit
		in.FitOption = wordOf(&c, &fitOptions)
		value, ok := findFitValue(in.FitOption, c.next())
		if !ok {
			c.fail(fitValueWant(in.FitOption))
		}
		in.FitValue = value
	case "clock":
		in.Kind = spec.SetClock
		day, ok := date(c.next())
		if !ok {
			c.fail(dateWant)
		}
		in.Date = day
		in.Minute = c.time()
	case "mode":
		in.Kind = spec.SetMode
		in.Channel = wordOf(&c, &channels)
		in.Mode = wordOf(&c, &modes)
	case "period":
		in.Kind = spec.SetPeriod
		in.Table = wordOf(&c, &tables)
		in.Day = wordOf(&c, &days)
		slot, ok := number(c.next(), MaxSlot)
		if !ok || slot == 0 {
			c.fail("slot is 1 to 9")
		}
		in.Slot = uint8(slot)
		in.Period.On = c.time()
		in.Period.Off = c.time()
	case "override":
		in.Kind = spec.Override
		in.Channel = wordOf(&c, &channels)
	case "boost":
		in.Kind = spec.Boost
		in.Channel = wordOf(&c, &channels)
		in.Amount = uint32(c.number("minutes", maxAmount))
	case "holiday":
		in.Kind = spec.Holiday
		word := c.next()
		if word == "cancel" {
			in.Kind = spec.HolidayCancel
			break
		}
		amount, ok := number(word, maxAmount)
		if !ok {
			c.fail("days is cancel, or a number from 0 to 4294967295 without sign or leading zeros")
		}
		in.Amount = uint32(amount)
	case "lock":
		switch c.next() {
		case "arm":
			in.Kind = spec.LockArm
			in.Credential = c.credential()
			c.terms(&in.Terms)
		case "remove":
			in.Kind = spec.LockRemove
			in.Credential = c.credential()
		default:
			c.fail("lock is arm or remove")
		}
	case "reset":
		in.Kind = spec.Reset
	default:
		c.fail("an input is power, fit, clock, mode, period, override, boost, holiday, lock or reset")
	}
	if !c.end() {
		return spec.Input{}, c.error()
	}
	return in, nil
}

const (
	maxAmount = 1<<32 - 1
	tooLong   = "a line has at most 120 bytes"
)

// credential reads digits, any number of them: a wrong credential is for the unit to refuse.
func (c *cursor) credential() string {
	word := c.next()
	for i := 0; i < len(word); i++ {
		if word[i] < '0' || word[i] > '9' {
			word = ""
		}
	}
	if word == "" {
		c.fail("credential is decimal digits")
	}
	return strings.Clone(word)
}

func (c *cursor) terms(terms *spec.LockTerms) {
	terms.Days = uint16(c.number("days", 1<<16-1))
	terms.NoticeDays = uint16(c.number("notice days", 1<<16-1))
	for _, stage := range [...]*[spec.NumChannels]uint8{&terms.Notice, &terms.Restricted} {
		for channel := range stage {
			stage[channel] = c.allowance()
		}
	}
	c.sounder(terms)
}

func (c *cursor) allowance() uint8 {
	word := c.next()
	if word == none {
		return spec.NoAllowance
	}
	minutes, ok := number(word, uint64(spec.NoAllowance)-1)
	if !ok {
		c.fail("an allowance is none, or a number of minutes from 0 to 254 without sign or leading zeros")
	}
	return uint8(minutes)
}

func (c *cursor) sounder(terms *spec.LockTerms) {
	word := c.next()
	if word == none {
		return
	}
	const width = len("hh:mm")
	for {
		if len(word) < width || len(word) > width && word[width] != ',' {
			break
		}
		minute, ok := clockTime(word[:width])
		if !ok {
			break
		}
		if int(terms.Sounders) < len(terms.Sounder) {
			terms.Sounder[terms.Sounders] = minute
		}
		terms.Sounders++
		if len(word) == width {
			return
		}
		word = word[width+1:]
	}
	c.fail("sounder is none, or times hh:mm from 00:00 to 24:00 joined by commas")
}
