package replay

import (
	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// CompareClaim holds a setting that was said, read or measured against a history.
func CompareClaim(h *History, c *complaint.Claim) Comparison {
	lane := LaneDisplay
	switch c.About {
	case complaint.AboutClock:
		return h.each(&c.When, c.Sure, lane, func(w complaint.Window) instance {
			if c.Reading.Blank || c.Reading.Unset {
				want := Dark
				if c.Reading.Unset {
					want = Flashing
				}
				return h.moment(sense{lane: LaneDisplay, set: 1 << want}, w)
			}
			return h.clock(&c.Reading, w)
		})
	case complaint.AboutAlert:
		lane = LaneAlert
		return h.each(&c.When, c.Sure, lane, func(w complaint.Window) instance {
			return h.moment(sense{lane: lane, set: 1 << c.Stage}, w)
		})
	}
	return h.each(&c.When, c.Sure, lane, func(w complaint.Window) instance {
		in := instance{at: w.Middle(), lane: lane}
		from, to := w.From-w.Blur, w.To+w.Blur
		for i := h.stateAt(from); in.grade == 0 && i < len(h.States); i++ {
			if h.States[i].At > max(to, h.From) {
				break
			}
			if claimHolds(&h.States[i], c) {
				in.grade = 1
			}
		}
		return in
	})
}

// claimHolds reports whether a unit remembers what a claim says.
func claimHolds(s *State, c *complaint.Claim) bool {
	f := &s.Facts
	ch := &f.Channels[c.Channel]
	switch c.About {
	case complaint.AboutMode:
		return ch.Mode == c.Mode
	case complaint.AboutTable:
		return tableHolds(f.Channels[:], c)
	case complaint.AboutHoliday:
		return f.Holiday.On == (c.Amount > 0)
	case complaint.AboutLock:
		return f.Lock.Stage == c.Stage && (!c.TermsKnown || f.Lock.Terms == c.Terms)
	case complaint.AboutOverride:
		return ch.Override == (c.Amount > 0)
	case complaint.AboutBoost:
		return (ch.BoostLeft > 0) == (c.Amount > 0)
	default:
		return false
	}
}

// tableHolds compares the active periods of the days that a claim covers; in which slots they stand does not matter (TAB-15).
func tableHolds(channels []emulator.ChannelFacts, c *complaint.Claim) bool {
	for ch := range channels {
		if c.Table != spec.BothTables && int(c.Table) != ch {
			continue
		}
		for day := range channels[ch].Table {
			if c.Covers(day) && !sameDay(channels[ch].Table[day][:], c.Periods) {
				return false
			}
		}
	}
	return true
}

// sameDay reports whether two days have the same active periods, each as often.
func sameDay(a, b []spec.Period) bool {
	return within(a, b, a) && within(a, b, b)
}

// within reports whether each active period of some stands in a as often as in b.
func within(a, b, some []spec.Period) bool {
	for _, p := range some {
		if p.On != p.Off && count(a, p) != count(b, p) {
			return false
		}
	}
	return true
}

func count(periods []spec.Period, p spec.Period) (n int) {
	for _, q := range periods {
		if q == p {
			n++
		}
	}
	return n
}

// clock compares what a display reads at some moment of a window.
func (h *History) clock(r *complaint.Reading, w complaint.Window) instance {
	at := w.Middle()
	in := instance{at: at, lane: LaneDisplay}
	reading, shown := h.Reading(at)
	if shown != Readable {
		return in
	}
	in.grade = 1
	if r.HasMinute {
		const half = calendar.Day / 2
		ahead := (reading-int64(r.Minute)*calendar.Minute+half)%calendar.Day - half
		if ahead < -half {
			ahead += calendar.Day
		}
		// Neither display nor telephone was noted with its seconds.
		slack := calendar.Minute - 1 + w.Blur + (w.To-w.From)/2
		if in.grade = 1; abs(ahead) > slack {
			in.grade = max(0, 1-float64(abs(ahead)-slack)/float64(max(calendar.Minute, w.Blur)))
		}
		in.by, in.near = ahead, true
		reading -= ahead // the date is that of the stated time
	}
	day := calendar.DayOf(reading)
	if r.HasDay && calendar.Weekday(day) != int(r.Day) {
		in.grade = 0
	}
	if r.HasDate && day != calendar.Days(int(r.Date.Year), int(r.Date.Month), int(r.Date.Day)) {
		in.grade = 0
	}
	return in
}
