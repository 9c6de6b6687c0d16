package replaypage

import (
	"fmt"
	"strings"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/localtime"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
)

// signs say with a shape what colours say too.
var signs = [...]string{replay.CannotTell: "?", replay.Agrees: "✔", replay.Departs: "✘"}

// duration words a length of time in seconds.
func duration(seconds int64) string {
	days, rest := seconds/calendar.Day, seconds%calendar.Day
	hours, minutes := rest/calendar.Hour, rest%calendar.Hour/calendar.Minute
	switch {
	case days > 0:
		return fmt.Sprintf("%d d %d h %02d min", days, hours, minutes)
	case hours > 0:
		return fmt.Sprintf("%d h %02d min", hours, minutes)
	case minutes > 0:
		return fmt.Sprintf("%d min", minutes)
	default:
		return fmt.Sprintf("%d s", seconds)
	}
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// percent words a probability no more exactly than it is known.
func percent(p float64) string {
	switch {
	case p > 0.99:
		return "over 99 %"
	case p < 0.01:
		return "under 1 %"
	default:
		return fmt.Sprintf("%.0f %%", 100*p)
	}
}

// when writes the household's local time, with its offset where the reading comes twice.
func (p *page) when(at int64) string { return p.local(at, "Mon 2006-01-02 15:04:05") }

func (p *page) time(at int64) string { return p.local(at, "15:04:05") }

func (p *page) local(at int64, layout string) string {
	z := p.r.Complaint.LocalTime()
	if len(z.Instants(z.Reading(at))) > 1 {
		layout += " -07:00"
	}
	return z.At(at).Format(layout)
}

// observation returns what was sensed, or nil for a setting.
func (p *page) observation(h *replay.Held) *complaint.Observation {
	if h.Setting {
		return nil
	}
	return &p.r.Complaint.Sensed[h.Index]
}

// name names a statement.
func (p *page) name(h *replay.Held) string {
	if h.Setting {
		return fmt.Sprintf("the setting “%s”", p.r.Complaint.Settings[h.Index].Text)
	}
	return fmt.Sprintf("#%d, “%s”", h.Index+1, p.r.Complaint.Sensed[h.Index].Text)
}

// has says what the replay has where something was said, and by how much that is off. The observation is nil of a setting.
func (p *page) has(h *replay.Held, o *complaint.Observation) string {
	clock := o != nil && o.What == complaint.Display || o == nil && p.r.Complaint.Settings[h.Index].About == complaint.AboutClock
	switch {
	case h.Of == 0:
		return "the replay says nothing of it"
	case clock:
		reading, shown := p.r.History.Reading(h.At)
		if shown != replay.Readable {
			return fmt.Sprintf("the display is %s then", replay.LaneDisplay.Word(shown))
		}
		return fmt.Sprintf("the display reads %s then", localtime.Clock(reading).Format("Mon 2006-01-02 15:04:05"))
	case o == nil && h.Verdict == replay.Agrees:
		return "the unit has it so"
	case o == nil:
		return "the unit has it otherwise"
	}
	words := fmt.Sprintf("%s: %s", h.Lane, h.Lane.Word(p.r.History.Level(h.Lane, h.At)))
	throughout := o.Form == complaint.Never || o.Form == complaint.Is && len(o.When.Windows) > 0 && o.When.Windows[0].Throughout
	switch {
	case h.Verdict == replay.Agrees:
		words = "the replay has it so"
	case o.What == complaint.Click && o.Form == complaint.Never:
		words = fmt.Sprintf("a click at %s, of %s", p.time(h.At), h.Lane)
	case h.Near && throughout:
		words += fmt.Sprintf(" for %s of that time", duration(h.By))
	case h.Near && h.By < 0:
		words = fmt.Sprintf("the nearest comes %s before", duration(-h.By))
	case h.Near && h.By > 0:
		words = fmt.Sprintf("the nearest comes %s after", duration(h.By))
	case !h.Near && o.Form == complaint.Becomes:
		words = "nothing of the kind comes within twelve hours"
	default:
		words += " then"
	}
	if o.When.Rule {
		words += fmt.Sprintf("; %d of %d times as was said", h.Agree, h.Of)
	}
	return words
}

// because says why a lane is what it is where a statement departs.
func (p *page) because(h *replay.Held) string {
	if h.Setting || h.Lane == replay.LaneDisplay || h.Of == 0 {
		return ""
	}
	last := p.r.History.Last(h.Lane, h.At)
	if last == nil {
		return fmt.Sprintf("%s: %s since the beginning of the replay, %s", h.Lane, h.Lane.Word(p.r.History.Initial[h.Lane]), p.when(p.r.History.From))
	}
	return fmt.Sprintf("since %s: %s", p.when(last.At), p.r.History.Sentence([]*replay.Change{last}))
}

// sentence begins a sentence with a capital letter and ends it with a full stop.
func sentence(text string) string {
	if text == "" {
		return ""
	}
	text = strings.ToUpper(text[:1]) + text[1:]
	if strings.HasSuffix(text, ".") {
		return text
	}
	return text + "."
}
