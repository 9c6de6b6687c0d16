package replaypage

import (
	"fmt"
	"strings"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/localtime"
	"example.org/hearthbench/conformance/replay"
)

// signs say with a shape what colours say too.
var signs = [...]string{replay.CannotTell: "?", replay.Agrees: "✔", replay.Departs: "✘"}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func (p *page) when(at int64) string { return p.r.Local(at, "Mon 2006-01-02 15:04:05") }

func (p *page) time(at int64) string { return p.r.Local(at, "15:04:05") }

// name names a statement.
func (p *page) name(h *replay.Held) string {
	if h.Setting {
		return fmt.Sprintf("the setting “%s”", p.r.Complaint.Settings[h.Index].Text)
	}
	o := &p.r.Complaint.Sensed[h.Index]
	if o.Logged.Log != nil {
		return fmt.Sprintf("#%d, “%s” (%s)", h.Index+1, o.Text, o.Logged)
	}
	return fmt.Sprintf("#%d, “%s”", h.Index+1, o.Text)
}

// witness says who says so, how sure that is, and where in a log it stands.
func witness(o *complaint.Observation) string {
	words := fmt.Sprintf("%s, %s", o.Who, o.Sure)
	if o.Logged.Log != nil {
		words += ", " + o.Logged.String()
	}
	return words
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
		words += fmt.Sprintf(" for %s of that time", replay.Duration(h.By))
	case h.Near && h.By < 0:
		words = fmt.Sprintf("the nearest comes %s before", replay.Duration(-h.By))
	case h.Near && h.By > 0:
		words = fmt.Sprintf("the nearest comes %s after", replay.Duration(h.By))
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
