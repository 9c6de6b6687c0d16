package rapidtest

import (
	"pgregory.net/rapid"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Input draws inputs of a kind for a unit with a statement: every value that a clause tells from others, and values that it refuses.
func Input(ics *spec.ICS, kind spec.Kind) *rapid.Generator[spec.Input] {
	switch kind {
	case spec.PowerOff, spec.PowerOn, spec.HolidayCancel, spec.Reset:
		return rapid.Just(spec.Input{Kind: kind})
	}
	return rapid.Custom(func(t *rapid.T) spec.Input {
		number := func(what string, from, to int) int { return rapid.IntRange(from, to).Draw(t, what) }
		channel := func() spec.Channel { return rapid.SampledFrom([]spec.Channel{spec.HW, spec.CH}).Draw(t, "channel") }
		in := spec.Input{Kind: kind}
		switch kind {
		case spec.Fit:
			in.FitOption = spec.FitOption(number("option", int(spec.FitChannels), int(spec.FitCoupling)))
			in.FitValue = uint8(number("value", 0, len(wire.FitWords(in.FitOption))-1))
		case spec.SetClock:
			in.Date = spec.Date{
				Year: uint16(number("year", spec.FirstYear-1, spec.LastYear+1)), Month: uint8(number("month", 1, 12)), Day: uint8(number("day", 1, 31)),
			}
			in.Minute = uint16(number("minute", 0, spec.MinutesPerDay))
		case spec.SetMode:
			in.Channel = channel()
			in.Mode = spec.Mode(number("mode", int(spec.Off), int(spec.Always)))
		case spec.SetPeriod:
			in.Table = spec.TableID(number("table", int(spec.HWTable), int(spec.BothTables)))
			in.Day = spec.Day(number("day", int(spec.Mon), int(spec.All)))
			in.Slot = uint8(number("slot", 1, wire.MaxSlot))
			in.Period = spec.Period{On: uint16(number("on", 0, spec.MinutesPerDay)), Off: uint16(number("off", 0, spec.MinutesPerDay))}
		case spec.Override:
			in.Channel = channel()
		case spec.Boost:
			in.Channel = channel()
			in.Amount = uint32(number("minutes", 0, spec.MaxBoostMinutes+1))
			if step := uint32(ics.BoostStep); rapid.Bool().Draw(t, "whole steps") {
				in.Amount = step * uint32(number("steps", 0, int(uint32(ics.BoostLongest)/step)+1))
			}
		case spec.Holiday:
			in.Amount = uint32(number("days", 0, spec.MaxHolidayDays+1))
		case spec.LockArm:
			in.Credential = credential(t, ics)
			in.Terms = terms(t)
		case spec.LockRemove:
			in.Credential = credential(t, ics)
		}
		return in
	})
}

// credential draws the unit's, mostly.
func credential(t *rapid.T, ics *spec.ICS) string {
	if ics.Credential == "" || rapid.IntRange(0, 3).Draw(t, "wrong") == 3 {
		return "0000"
	}
	return ics.Credential
}

func terms(t *rapid.T) spec.LockTerms {
	number := func(what string, from, to int) int { return rapid.IntRange(from, to).Draw(t, what) }
	allowance := func(what string) uint8 {
		if rapid.Bool().Draw(t, what+" none") {
			return spec.NoAllowance
		}
		return uint8(number(what, spec.MinAllowance-1, spec.MaxAllowance+1))
	}
	terms := spec.LockTerms{Days: uint16(number("days", 0, spec.MaxLockDays+1))}
	terms.NoticeDays = uint16(number("notice days", 0, int(terms.Days)+1))
	terms.Notice = [spec.NumChannels]uint8{allowance("notice hw"), allowance("notice ch")}
	terms.Restricted = [spec.NumChannels]uint8{allowance("restricted hw"), allowance("restricted ch")}
	terms.Sounders = uint8(number("sounder times", 0, spec.MaxSounderTimes))
	for i := range terms.Sounders {
		terms.Sounder[i] = uint16(number("sounder", 0, spec.MinutesPerDay))
	}
	return terms
}
