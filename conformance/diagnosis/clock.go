package diagnosis

import (
	"fmt"
	"slices"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

var cureClock = cure{Words: "Read the clock off the display, date and day of the week too, and set it to the true time."}

// clockWords words an instant in the household's time, such as "Tue 3 Nov 16:05".
func clockWords(z complaint.Zone, at int64) string {
	local := localOf(z, at)
	_, month, day := calendar.Date(calendar.DayOf(local))
	second := calendar.SecondOfDay(local)
	return fmt.Sprintf("%s %d %s %02d:%02d", dayNames[calendar.Weekday(calendar.DayOf(local))][:3], day, months[month-1], second/3600, second/60%60)
}

var months = [12]string{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}

// ahead is a variant in which the unit's clock is so much ahead of what the account has, all the time.
func ahead(seconds int64, words string) variant {
	return simply(words, func(w replay.World) replay.World {
		return w.EachStart(func(s *replay.Start) { s.ClockError += seconds })
	})
}

// clock are the causes that lie in the unit's clock.
func (b *builder) clock() {
	add := func(id, words string, weight float64, variants ...variant) {
		b.add(cause{id: "clock/" + id, family: Clock, words: words, weight: weight, cure: cureClock, subject: ofClock}, variants...)
	}
	b.summerTime(add)
	add("half-day", "the unit's clock is twelve hours out", weightHalfClock, ahead(12*calendar.Hour, "ahead"), ahead(-12*calendar.Hour, "behind"))
	for k := int64(1); k <= 3; k++ {
		s := ""
		if k > 1 {
			s = "s"
		}
		add(fmt.Sprintf("day/+%d", k), fmt.Sprintf("the unit's date and weekday are %d day%s ahead", k, s), weightWeekday/6, ahead(k*calendar.Day, ""))
		add(fmt.Sprintf("day/-%d", k), fmt.Sprintf("the unit's date and weekday are %d day%s behind", k, s), weightWeekday/6, ahead(-k*calendar.Day, ""))
	}
	b.minutesOut(add)
	b.drift(add)
	b.unset(add)
	b.stopped(add)
}

type addClock = func(id, words string, weight float64, variants ...variant)

// summerTime are clocks that do not follow summer time, or follow it twice.
func (b *builder) summerTime(add addClock) {
	if !b.c.Zone.SummerTime {
		return
	}
	ics := b.ics()
	summer := calendar.SummerTime(b.base.From)
	changes := calendar.NextChange(b.base.From) <= b.base.To
	// A clock that is an hour out is put right before long.
	season := summerTimeLater
	if calendar.NextChange(b.base.To-summerTimeSeason) <= b.base.To {
		season = summerTimeSoon
	}
	// A unit without automatic summer time whose clock is right at the beginning reads the household's time then.
	manual := func(w replay.World, hours int64) replay.World {
		return w.EachPhase(func(p *replay.Phase) {
			p.ICS.SummerTime = false
			if p.Start != nil {
				start := *p.Start
				if calendar.SummerTime(max(p.From, w.From)) {
					hours++
				}
				start.ClockError += hours * calendar.Hour
				p.Start = &start
			}
		})
	}
	if ics.SummerTime {
		var variants []variant
		if changes {
			left := int64(calendar.Hour)
			if !summer {
				left = -left
			}
			if out := b.facts().ClockError - left; out > -5*calendar.Minute && out < 5*calendar.Minute {
				// It was found as the change left it: before, it was right.
				variants = append(variants, simply("it was right until the change in this history", func(w replay.World) replay.World {
					return manual(w.EachStart(func(s *replay.Start) { s.ClockError -= left }), 0)
				}))
			}
			variants = append(variants, simply("it is not set for the change in this history", func(w replay.World) replay.World { return manual(w, 0) }))
		}
		if summer {
			variants = append(variants, ahead(-calendar.Hour, "it still shows winter time"))
		} else {
			variants = append(variants, ahead(calendar.Hour, "it still shows summer time"))
		}
		add("summer-time", "the unit's clock has not followed the change to or from summer time", weightSummerTime*season*max(b.unitSays("summer-time"), 0.5), variants...)
	}
	var twice []variant
	if summer {
		twice = append(twice, ahead(calendar.Hour, ""))
	} else {
		twice = append(twice, ahead(-calendar.Hour, ""))
	}
	if changes {
		at := calendar.NextChange(b.base.From)
		for _, later := range []int64{8 * calendar.Hour, 20 * calendar.Hour} {
			twice = append(twice, variant{words: "set by hand after the change", apply: func(w replay.World) (replay.World, bool) {
				by := int64(calendar.Hour)
				if summer {
					by = -by
				}
				if at+later >= w.To {
					return w, false
				}
				return input(w, at+later, b.setClock(at+later, by)), true
			}})
		}
	}
	add("summer-time-twice", "the change to or from summer time was made twice: by the unit, and by hand", weightTwice*season, twice...)
}

// setClock is the input that sets the clock so many seconds ahead of the household's time.
func (b *builder) setClock(at, ahead int64) spec.Input {
	local := b.local(at) + ahead
	year, month, day := calendar.Date(calendar.DayOf(local))
	return spec.Input{
		Kind: spec.SetClock, Date: spec.Date{Year: uint16(year), Month: uint8(month), Day: uint8(day)},
		Minute: uint16(calendar.SecondOfDay(local) / calendar.Minute),
	}
}

// mostMinutes bounds by how many different times a clock may be ahead, or behind.
const mostMinutes = 24

// minutesOut are clocks that are some minutes or hours out, by what the statements of the complaint suggest.
func (b *builder) minutesOut(add addClock) {
	out := []int64{-20, -10, 10, 20}
	for by := int64(30); by <= 240; by += 15 {
		out = append(out, by, -by)
	}
	for i := range b.c.Sensed {
		if o := &b.c.Sensed[i]; o.Form == complaint.Becomes {
			for _, window := range o.When.Windows[:min(len(o.When.Windows), 3)] {
				for c := range spec.Channel(spec.NumChannels) {
					for _, at := range b.switchings(c) {
						if by := (at - window.Middle()) / calendar.Minute; by > -360 && by < 360 && (by > 5 || by < -5) {
							out = append(out, by)
						}
					}
				}
			}
		}
	}
	slices.Sort(out)
	out = slices.Compact(out)
	// The nearest ones first: a clock is more often a little out than much.
	slices.SortStableFunc(out, func(a, b int64) int { return int(max(a, -a) - max(b, -b)) })
	var early, late []variant
	for _, by := range out {
		if by > 0 && len(early) < mostMinutes {
			early = append(early, ahead(by*calendar.Minute, fmt.Sprintf("by about %d min", by)))
		} else if by < 0 && len(late) < mostMinutes {
			late = append(late, ahead(by*calendar.Minute, fmt.Sprintf("by about %d min", -by)))
		}
	}
	add("ahead", "the unit's clock was set ahead of the true time", weightMinutes/2, early...)
	add("behind", "the unit's clock was set behind the true time", weightMinutes/2, late...)
}

// drift are clocks that gain or lose.
func (b *builder) drift(add addClock) {
	for _, way := range []struct {
		id, words string
		sign      int64
	}{{"gains", "the unit's clock gains", 1}, {"loses", "the unit's clock loses", -1}} {
		var variants []variant
		if error, ppm, ok := b.fitClock(); ok && ppm*way.sign > 0 && max(ppm, -ppm) <= 20_000 {
			words := fmt.Sprintf("by about %.1f min a day", float64(max(ppm, -ppm))*float64(calendar.Day)/60e6)
			variants = append(variants, variant{words: words, share: 10, apply: simply("", func(w replay.World) replay.World {
				return w.EachStart(func(s *replay.Start) {
					s.Drift += int32(ppm)
					s.ClockError += error
				})
			}).apply})
		}
		for _, ppm := range []int64{350, 700, 1400, 3500, 7000} {
			for _, days := range []int64{0, 14, 60} {
				error := way.sign * ppm * days * calendar.Day / 1_000_000
				if error > 4*calendar.Hour || error < -4*calendar.Hour {
					continue
				}
				words := fmt.Sprintf("by about %.1f min a day", float64(ppm)*float64(calendar.Day)/60e6)
				variants = append(variants, simply(words, func(w replay.World) replay.World {
					return w.EachStart(func(s *replay.Start) {
						s.Drift += int32(way.sign * ppm)
						s.ClockError += error
					})
				}))
			}
		}
		b.add(cause{
			id: "clock/" + way.id, family: Clock, words: way.words, weight: weightDrift / 2, subject: ofClock,
			cure: cure{Words: "Set the clock, and read it again after a week; if it is out by minutes again the unit is worn out.", Visit: true, Who: Competent, Part: "the programmer", Wiring: true},
		}, variants...)
	}
}

// unset are clocks that were lost, in a cut that somebody told of or that nobody did.
func (b *builder) unset(add addClock) {
	add("unset", "the unit's clock is unset, so its tables do not run (CLK-11)", weightUnset, simply("all the time", func(w replay.World) replay.World {
		return w.EachStart(func(s *replay.Start) { s.ClockUnset = true })
	}))
	var variants []variant
	for _, o := range b.onsets()[1:] {
		variants = append(variants, variant{words: clockWords(b.c.Zone, o.at), share: o.share, apply: func(w replay.World) (replay.World, bool) {
			w = w.EachPhase(func(p *replay.Phase) { p.ICS.Reserve, p.ICS.LostClock = 0, spec.LostUnset })
			return cut(w, o.at, calendar.Minute), true
		}})
	}
	add("lost", "the unit lost its clock in a power cut that nobody noticed", weightLost, variants...)
	for i := range b.c.Acts {
		if b.c.Acts[i].Deed == complaint.DoCut {
			add("lost-in-cut", "the cut that was told of lost the unit's clock: its reserve was too short, or its cell is worn out", weightLostInCut,
				b.lostClocks(func(s *spec.ICS) { s.Reserve = 0 })...)
			break
		}
	}
}

// cut returns the world with a power cut more.
func cut(w replay.World, at, seconds int64) replay.World {
	return input(input(w, at, spec.Input{Kind: spec.PowerOff}), at+seconds, spec.Input{Kind: spec.PowerOn})
}

// stopped are clocks that stood still for the length of a cut, or began anew after one.
func (b *builder) stopped(add addClock) {
	var stood, anew []variant
	for _, o := range b.onsets() {
		words := clockWords(b.c.Zone, o.at)
		for _, hours := range []int64{1, 3, 8} {
			stood = append(stood, variant{words: fmt.Sprintf("for %d h on %s", hours, words), share: o.share / 3, apply: func(w replay.World) (replay.World, bool) {
				w = w.EachPhase(func(p *replay.Phase) { p.ICS.Reserve, p.ICS.LostClock = 0, spec.LostResumes })
				return cut(w, o.at, hours*calendar.Hour), true
			}})
		}
		anew = append(anew, variant{words: words, share: o.share, apply: func(w replay.World) (replay.World, bool) {
			w = w.EachPhase(func(p *replay.Phase) { p.ICS.Reserve, p.ICS.LostClock = 0, spec.LostRestarts })
			return cut(w, o.at, calendar.Minute), true
		}})
	}
	add("stopped", "the unit's clock stood still in a cut and went on from there (PWR-10)", weightStopped/2, stood...)
	add("restarted", "the unit's clock began anew after a cut (PWR-11)", weightStopped/2, anew...)
}
