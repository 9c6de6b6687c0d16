package generate

import (
	"fmt"
	"strings"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// relative returns facts from which the instant has been taken away, as far as it does not matter: equal ones are one state. That
// nothing that matters is lost is what fsm.Explore checks.
func (m *machine) relative(f emulator.Facts) emulator.Facts {
	f.Now, f.Stopped = 0, 0
	if f.ClockSet {
		if f.Holiday.On {
			f.Holiday.EndDate -= m.today(&f)
		}
		f.UTC, _ = m.clock(&f)
	}
	if l := &f.Lock; l.Stage == spec.Restricted {
		l.Counted = 0
		l.InStage %= calendar.Hour
	}
	return f
}

// today returns the date that the clock reads, in days since 2000-01-01.
func (m *machine) today(f *emulator.Facts) int {
	return calendar.DayOf(m.reading(f.UTC))
}

// reading returns what a clock shows at an instant of UTC, in seconds since 2000-01-01T00:00.
func (w *world) reading(utc int64) int64 {
	reading := utc + int64(w.ics.Zone)*calendar.Minute
	if w.ics.SummerTime && calendar.SummerTime(utc) {
		reading += calendar.Hour
	}
	return reading
}

// describe words a state: the time, the power, what the channels do, holiday and lock.
func (m *machine) describe(f *emulator.Facts) string {
	var parts []string
	add := func(format string, args ...any) { parts = append(parts, fmt.Sprintf(format, args...)) }
	if f.ClockSet {
		if _, text := m.clock(f); text != "" {
			add("%s", text)
		}
	} else if !m.unset {
		add("clock unset")
	}
	switch {
	case f.ClockStopped:
		add("no power, reserve run out")
	case !f.Powered:
		add("no power, reserve for %s", length(f.ReserveLeft))
	}
	for c := range f.Channels {
		ch := &f.Channels[c]
		if ch.Mode == spec.Off && ch.BoostLeft == 0 {
			continue
		}
		text := wire.ChannelWord(spec.Channel(c)) + " " + wire.ModeWord(ch.Mode)
		if m.edits() {
			text += tableWords(ch)
		}
		if ch.Override {
			text += " overridden"
		}
		if ch.BoostLeft > 0 {
			text += " boosted for " + length(ch.BoostLeft)
		}
		add("%s", text)
	}
	if f.Holiday.On {
		add("holiday for %d days", f.Holiday.EndDate-m.today(f))
	}
	switch l := &f.Lock; l.Stage {
	case spec.Dormant:
	case spec.Restricted:
		add("restricted, %s into the hour", length(l.InStage%calendar.Hour))
	default:
		add("%s for %s", wire.StageWord(l.Stage), length(l.InStage))
	}
	if len(parts) == 0 {
		return "all off"
	}
	return strings.Join(parts, ", ")
}

// edits reports whether the alphabet changes tables.
func (m *machine) edits() bool {
	for _, l := range m.letters {
		for _, text := range l.lines {
			if strings.HasPrefix(text, "period ") {
				return true
			}
		}
	}
	return false
}

// tableWords words a channel's table for Monday, which in these worlds is every day's.
func tableWords(ch *emulator.ChannelFacts) string {
	text := ""
	for _, p := range ch.Table[0] {
		if p.On != p.Off {
			text += " " + string(wire.AppendTime(nil, p.On)) + "-" + string(wire.AppendTime(nil, p.Off))
		}
	}
	if text == "" {
		return " empty"
	}
	return text
}

// length words a number of seconds.
func length(seconds uint64) string {
	switch {
	case seconds%calendar.Hour == 0:
		return fmt.Sprintf("%d h", seconds/calendar.Hour)
	case seconds%calendar.Minute == 0:
		return fmt.Sprintf("%d min", seconds/calendar.Minute)
	default:
		return fmt.Sprintf("%d s", seconds)
	}
}

// timeOfDay is for worlds in which every day is alike.
func (w *world) timeOfDay(f *emulator.Facts) (int64, string) {
	second := calendar.SecondOfDay(w.reading(f.UTC))
	return second, clockText(second)
}

func clockText(second int64) string {
	text := string(wire.AppendTime(nil, uint16(second/calendar.Minute)))
	if s := second % calendar.Minute; s != 0 {
		text += fmt.Sprintf(":%02d", s)
	}
	return text
}

// noClock is for worlds in which the time does not matter.
func noClock(*emulator.Facts) (int64, string) { return 0, "" }

// idle is how long a wait is where no instant is ahead.
const idle = calendar.Hour

// toReading makes waits last until the clock next comes to one of some readings, hh:mm or hh:mm:ss, or until the reserve has run out.
func toReading(readings ...string) (func(*emulator.Unit) uint64, string) {
	var marks []int64
	for _, r := range readings {
		var h, m, s int64
		if n, _ := fmt.Sscanf(r, "%d:%d:%d", &h, &m, &s); n < 2 {
			panic("not a reading: " + r)
		}
		marks = append(marks, h*calendar.Hour+m*calendar.Minute+s)
	}
	waits := func(u *emulator.Unit) uint64 {
		_, now, ok := u.Reading()
		left := uint64(idle)
		if ok {
			left = calendar.Day
			for _, mark := range marks {
				if ahead := mark - int64(now); ahead > 0 {
					left = min(left, uint64(ahead))
				} else {
					left = min(left, uint64(ahead+calendar.Day))
				}
			}
		}
		return withinReserve(u, left)
	}
	return waits, fmt.Sprintf("until the clock next reads %s, or the reserve has run out; %s with no clock running", orList(readings), length(idle))
}

// withinReserve shortens a wait to the reserve's end.
func withinReserve(u *emulator.Unit, seconds uint64) uint64 {
	if f := u.Facts(); f.ReserveLeft > 0 {
		return min(seconds, f.ReserveLeft)
	}
	return seconds
}

func orList(words []string) string {
	if len(words) == 1 {
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}
