package replaypage

import (
	"cmp"
	"slices"

	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
)

// mostDays is how many days a page draws.
const mostDays = 4

// day is one local day of the household.
type day struct {
	from, to int64 // true seconds, up to, not including, to
	number   int   // days since 2000-01-01
}

func dayOf(r *replay.Report, at int64) day {
	n := calendar.DayOf(r.Complaint.LocalTime().Reading(at))
	return day{number: n, from: midnight(r, n), to: midnight(r, n+1)}
}

// midnight returns the first instant of a day; where summer time skips its 00:00, the instant at which it does.
func midnight(r *replay.Report, number int) int64 {
	z := r.Complaint.LocalTime()
	reading := int64(number) * calendar.Day
	if all := z.Instants(reading); len(all) > 0 {
		return all[0]
	}
	return calendar.NextChange(reading - z.Standard - calendar.Hour)
}

// days returns the days that matter, in order of time, and how many more there would be. A day matters if the replay first departs from a
// statement on it, then if something was done or was sensed on it, then if a rule begins on it.
func days(r *replay.Report) (shown []day, left int) {
	var at, rules []int64
	for _, h := range r.Departing() {
		at = append(at, h.At)
	}
	for i := range r.History.Done {
		at = append(at, r.History.Done[i].At)
	}
	for i := range r.Complaint.Sensed {
		when := &r.Complaint.Sensed[i].When
		switch {
		case len(when.Windows) == 0:
		case when.Rule || when.Windows[0].To-when.Windows[0].From > 2*calendar.Day:
			rules = append(rules, when.Windows[0].From)
		default:
			for _, w := range when.Windows {
				at = append(at, w.Middle())
			}
		}
	}
	seen := map[int]bool{}
	for _, t := range append(at, rules...) {
		d := dayOf(r, min(max(t, r.History.From), r.History.To-1))
		switch {
		case seen[d.number]:
			continue
		case len(shown) < mostDays:
			shown = append(shown, d)
		default:
			left++
		}
		seen[d.number] = true
	}
	if len(shown) == 0 {
		shown = append(shown, dayOf(r, r.History.To-1))
	}
	slices.SortFunc(shown, func(a, b day) int { return cmp.Compare(a.number, b.number) })
	return shown, left
}
