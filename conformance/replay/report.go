package replay

import (
	"cmp"
	"slices"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
)

// Held is a statement of a complaint, held against the history.
type Held struct {
	Comparison
	Setting bool // one of the complaint's Settings, else one of what was Sensed
	Index   int  // there
}

// Report is a complaint, replayed: what it was taken to be, what came of it, and how what was said compares.
type Report struct {
	Complaint *complaint.Complaint
	History   *History
	Held      []Held // what was sensed, then the settings, each in the file's order
	// Wants are what the household wants, as far as the complaint says it so, held against the history: what departs is no evidence, but
	// where the unit does what its clauses say it is the complaint. Index is that of Wanted.Means.
	Wants []Held
	// Warnings are the dangers in the installation as it is taken to be at the end, and where its plan is known what else is amiss.
	Warnings []plant.Warning
}

// NewReport replays a complaint. It fails if the complaint cannot be made a world of, or the world cannot be.
func NewReport(c *complaint.Complaint) (*Report, error) {
	w, err := FromComplaint(c)
	if err != nil {
		return nil, err
	}
	h, err := Run(&w, nil)
	if err != nil {
		return nil, err
	}
	r := &Report{Complaint: c, History: h}
	for i := range c.Sensed {
		r.Held = append(r.Held, Held{Comparison: Compare(h, &c.Sensed[i]), Index: i})
	}
	for i := range c.Settings {
		r.Held = append(r.Held, Held{Comparison: CompareClaim(h, &c.Settings[i]), Setting: true, Index: i})
	}
	for i := range c.Wanted.Means {
		r.Wants = append(r.Wants, Held{Comparison: CompareWish(h, &c.Wanted.Means[i]), Index: i})
	}
	r.Warnings, err = r.warnings()
	return r, err
}

func (r *Report) warnings() ([]plant.Warning, error) {
	h := r.History
	use := plant.Use{Holiday: slices.ContainsFunc(h.States, func(s State) bool { return s.Facts.Holiday.On })}
	all, err := plant.Warnings(&h.World.Phases[len(h.World.Phases)-1].Plant, use)
	planned := slices.ContainsFunc(r.Complaint.Installation, func(f complaint.Fitting) bool {
		return f.Name == "plan" && f.Source != complaint.NotKnown
	})
	return slices.DeleteFunc(all, func(w plant.Warning) bool { return !w.Danger && !planned }), err
}

// Track is what one column of a log tells, held against the history.
type Track struct {
	Log  *complaint.LogFile
	What complaint.What
	Held []int // indices of Report.Held, in order of time
}

// Tracks returns what the logs tell, in their order.
func (r *Report) Tracks() []Track {
	var all []Track
	for i := range r.Held {
		o := r.Observation(&r.Held[i])
		if o == nil || o.Logged.Log == nil {
			continue
		}
		if n := len(all); n == 0 || all[n-1].Log != o.Logged.Log || all[n-1].What != o.What {
			all = append(all, Track{Log: o.Logged.Log, What: o.What})
		}
		t := &all[len(all)-1]
		t.Held = append(t.Held, i)
	}
	return all
}

// Departing returns the statements from which the history departs, in order of time.
func (r *Report) Departing() []Held {
	var all []Held
	for _, h := range r.Held {
		if h.Verdict == Departs {
			all = append(all, h)
		}
	}
	slices.SortStableFunc(all, func(a, b Held) int { return cmp.Compare(a.At, b.At) })
	return all
}

// Explained reports whether the history departs from nothing that was said: the unit and the plant do what the account has them do.
func (r *Report) Explained() bool { return len(r.Departing()) == 0 }

// Local writes an instant in the household's local time, in a layout of package time, with its offset where the reading comes twice.
func (r *Report) Local(at int64, layout string) string {
	z := r.Complaint.LocalTime()
	if len(z.Instants(z.Reading(at))) > 1 {
		layout += " -07:00"
	}
	return z.At(at).Format(layout)
}

// Observation returns what was sensed, or nil for a setting.
func (r *Report) Observation(h *Held) *complaint.Observation {
	if h.Setting {
		return nil
	}
	return &r.Complaint.Sensed[h.Index]
}

// Day is one local day of the household.
type Day struct {
	From, To int64 // true seconds, up to, not including, To
	Number   int   // days since 2000-01-01
}

// DayOf returns the day in which an instant lies.
func (r *Report) DayOf(at int64) Day {
	n := calendar.DayOf(r.Complaint.LocalTime().Reading(at))
	return Day{Number: n, From: r.midnight(n), To: r.midnight(n + 1)}
}

// midnight returns the first instant of a day; where summer time skips its 00:00, the instant at which it does.
func (r *Report) midnight(day int) int64 {
	z := r.Complaint.LocalTime()
	reading := int64(day) * calendar.Day
	if all := z.Instants(reading); len(all) > 0 {
		return all[0]
	}
	return calendar.NextChange(reading - z.Standard - calendar.Hour)
}

// mostDays is how many days a report shows.
const mostDays = 4

// Days returns the days that matter, in order, and how many more there would be: the days on which the history first departs from a
// statement, then those on which something was done or was sensed, then the first instances of rules. Of what was sensed at several times
// each counts, or the first alone. An instant past the last counts for the last.
func (r *Report) Days(each bool, last int64) (shown []Day, left int) {
	var at []int64
	for _, h := range r.Departing() {
		at = append(at, h.At)
	}
	for i := range r.History.Done {
		at = append(at, r.History.Done[i].At)
	}
	rules := []int64{}
	for i := range r.Complaint.Sensed {
		w := &r.Complaint.Sensed[i].When
		switch {
		case len(w.Windows) == 0:
		case w.Rule || w.Windows[0].To-w.Windows[0].From > 2*calendar.Day:
			rules = append(rules, w.Windows[0].From)
		case each:
			for _, window := range w.Windows {
				at = append(at, window.Middle())
			}
		default:
			at = append(at, w.Windows[0].Middle())
		}
	}
	seen := map[int]bool{}
	for _, t := range append(at, rules...) {
		d := r.DayOf(min(max(t, r.History.From), last))
		switch {
		case seen[d.Number]:
			continue
		case len(shown) < mostDays:
			shown = append(shown, d)
		default:
			left++
		}
		seen[d.Number] = true
	}
	if len(shown) == 0 {
		shown = append(shown, r.DayOf(r.History.To-1))
	}
	slices.SortFunc(shown, func(a, b Day) int { return cmp.Compare(a.Number, b.Number) })
	return shown, left
}
