package replay

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/localtime"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// SafetyNote is what everybody has to know who acts on a report.
const SafetyNote = "This models time control and the plant around it; it replaces no safety control and no competent person. A householder reads displays " +
	"and never opens a cover. Before any work on wiring isolate the supply and prove it dead; gas work is for registered engineers; local codes rule."

// WriteText writes the report for a terminal so many columns wide: what was said of safety, what everything was taken to be, the days that
// matter on one time axis with what was said, the relay changes of those days with their reasons, and how each statement compares. Who
// shows it adds [SafetyNote].
func (r *Report) WriteText(w io.Writer, width int) error {
	t := &page{r: r, width: max(width, minWidth)}
	t.line("", r.Complaint.Title)
	t.blank()
	t.safety()
	t.taken()
	t.departure()
	t.daysThatMatter()
	t.statements()
	_, err := io.WriteString(w, t.String())
	return err
}

// WriteCaution writes [SafetyNote] so many columns wide.
func WriteCaution(w io.Writer, width int) error {
	t := &page{width: max(width, minWidth)}
	t.line("", SafetyNote)
	_, err := io.WriteString(w, t.String())
	return err
}

// page is a report being written.
type page struct {
	strings.Builder
	r     *Report
	width int
}

func (t *page) blank() { t.WriteByte('\n') }

// line writes a text behind a head, wrapped.
func (t *page) line(head, text string) { t.WriteString(Wrap(head, text, t.width)) }

// Wrap returns a text behind a head, in lines at most so wide where words allow it, what follows the first line under its text.
func Wrap(head, text string, width int) string {
	var b strings.Builder
	at := 0
	for i, word := range strings.Fields(text) {
		switch {
		case i == 0:
			b.WriteString(head)
			at = len(head)
		case at+1+len(word) > width:
			b.WriteString("\n" + strings.Repeat(" ", len(head)))
			at = len(head)
		default:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(word)
		at += len(word)
	}
	b.WriteByte('\n')
	return b.String()
}

const headWidth = 10

func (t *page) item(head, text string) { t.line(fmt.Sprintf("%-*s", headWidth, head), text) }

// safety comes first: what was answered with yes, and what has not been asked.
func (t *page) safety() {
	var open []string
	said := false
	for _, d := range t.r.Complaint.Safety {
		switch d.Answer {
		case complaint.Yes:
			t.item("FIRST", fmt.Sprintf("%s Yes. %s", d.Peril.Question(), d.Peril.Do()))
			said = true
		case complaint.Unanswered:
			open = append(open, d.Peril.Question())
		}
	}
	if len(open) > 0 {
		t.item("FIRST ask", strings.Join(open, " "))
		said = true
	}
	for _, w := range t.r.Warnings {
		if w.Danger {
			t.item("DANGER", w.Words+" "+w.Caution)
			said = true
		}
	}
	if said {
		t.blank()
	}
}

// taken says what everything was taken to be, and how each is known.
func (t *page) taken() {
	c, h := t.r.Complaint, t.r.History
	if c.Wanted.Words != "" {
		t.item("wanted", c.Wanted.Words)
	}
	p := &h.World.Phases[len(h.World.Phases)-1]
	t.item("unit", t.unit(&p.ICS))
	t.item("plant", t.plant(p))
	for _, w := range t.r.Warnings {
		if !w.Danger {
			t.item("amiss", w.Words+" "+w.Caution)
		}
	}
	t.item("clock", clockWords(h.World.Phases[0].Start)+t.read(complaint.AboutClock))
	for i := range c.Settings {
		s := &c.Settings[i]
		t.item(first(i, "settings"), fmt.Sprintf("%s (%s)", s.Text, s.Source))
	}
	if assumed := t.assumed(); assumed != "" {
		t.item("assumed", assumed)
	}
	for i := range c.Acts {
		t.item(first(i, "acts"), fmt.Sprintf("%d  %s, %s%s", i+1, c.Acts[i].Text, c.Acts[i].When.Text, t.reply(i)))
	}
	for i := range c.Changed {
		text := fmt.Sprintf("%s, %s", c.Changed[i].Kind, c.Changed[i].When.Text)
		if note := c.Changed[i].Note; note != "" {
			text += ": " + note
		}
		t.item(first(i, "changed"), text)
	}
	for i, l := range c.Logs {
		t.item(first(i, "logs"), fmt.Sprintf("%d %s, %s to %s: %s", l.Number, l.File, t.when(l.From), t.when(l.To), LogWords(l)))
	}
	t.item("replayed", fmt.Sprintf("%s to %s", t.when(h.From), t.when(h.To)))
	t.blank()
}

// LogWords says what a log is of, and how its clock was.
func LogWords(l *complaint.LogFile) string {
	var words []string
	for i := range l.Tracks {
		track := &l.Tracks[i]
		text := fmt.Sprintf("%s (column %s", track.What, track.Column)
		if track.Inverted {
			text += ", active low"
		}
		text += fmt.Sprintf(", changes %d", track.Changes)
		if track.Bounces > 0 {
			text += fmt.Sprintf(", bounces taken out %d", track.Bounces)
		}
		words = append(words, text+")")
	}
	text := strings.Join(words, ", ")
	switch {
	case l.Fast > 0:
		text += fmt.Sprintf("; its clock was %s fast, which is put right", lengthWords(l.Fast))
	case l.Fast < 0:
		text += fmt.Sprintf("; its clock was %s slow, which is put right", lengthWords(-l.Fast))
	}
	text += fmt.Sprintf("; within %s", lengthWords(l.Blur))
	if l.Note != "" {
		text += "; " + l.Note
	}
	return text
}

// lengthWords writes a length of time to the second.
func lengthWords(seconds int64) string {
	if seconds%calendar.Minute == 0 {
		return Duration(seconds)
	}
	return fmt.Sprintf("%d s", seconds)
}

// read says that a setting was assumed where none of its kind was noted.
func (t *page) read(about complaint.About) string {
	if slices.ContainsFunc(t.r.Complaint.Settings, func(s complaint.Claim) bool { return s.About == about }) {
		return ""
	}
	return " (assumed)"
}

// assumed says which tables and modes nobody noted.
func (t *page) assumed() string {
	var words []string
	for c := range spec.Channel(spec.NumChannels) {
		if !t.r.History.Has[SignalLane(spec.Signal(c))] {
			continue
		}
		about := func(about complaint.About) bool {
			return slices.ContainsFunc(t.r.Complaint.Settings, func(s complaint.Claim) bool {
				return s.About == about && (about == complaint.AboutMode && s.Channel == c ||
					about == complaint.AboutTable && (s.Table == spec.BothTables || spec.Channel(s.Table) == c))
			})
		}
		if !about(complaint.AboutMode) {
			words = append(words, fmt.Sprintf("mode %s table", wire.ChannelWord(c)))
		}
		if !about(complaint.AboutTable) {
			words = append(words, fmt.Sprintf("the default table of %s (TAB-18)", wire.ChannelWord(c)))
		}
	}
	return strings.Join(words, ", ")
}

func first(i int, head string) string {
	if i == 0 {
		return head
	}
	return ""
}

// unit says what the unit was taken to be: what is fitted, and what is known or not the default.
func (t *page) unit(ics *spec.ICS) string {
	var words []string
	known := map[string]complaint.Source{}
	for i := range t.r.Complaint.Unit {
		known[t.r.Complaint.Unit[i].Name] = t.r.Complaint.Unit[i].Source
	}
	add := func(name, value string) {
		how := "assumed"
		if s := known[name]; s != complaint.NotKnown {
			how = s.String()
		}
		words = append(words, fmt.Sprintf("%s %s (%s)", name, value, how))
	}
	for o, value := range fittedValues(ics.Fitted.Effective()) {
		add(wire.FitOptionWord(spec.FitOption(o)), wire.FitValueWord(spec.FitOption(o), value))
	}
	for _, name := range wire.OptionNames() {
		value := wire.Option(*ics, name)
		standard, defaulted := wire.OptionDefault(name)
		if name != "credential" && (known[name] != complaint.NotKnown || defaulted && value != standard) {
			add(name, value)
		}
	}
	return strings.Join(words, ", ")
}

func (t *page) plant(p *Phase) string {
	how := "assumed"
	var more []string
	for i := range t.r.Complaint.Installation {
		switch f := &t.r.Complaint.Installation[i]; {
		case f.Source == complaint.NotKnown:
		case f.Name == "plan":
			how = f.Source.String()
		default:
			more = append(more, fmt.Sprintf("%s %s (%s)", f.Name, f.Value, f.Source))
		}
	}
	return strings.Join(append([]string{fmt.Sprintf("%s (%s), %s", p.Plant.Plan, how, p.Plant.Supply)}, more...), ", ")
}

func clockWords(s *Start) string {
	words := "right"
	switch {
	case s.ClockUnset:
		words = "unset"
	case s.ClockError > 0:
		words = Duration(s.ClockError) + " fast"
	case s.ClockError < 0:
		words = Duration(-s.ClockError) + " slow"
	}
	if s.Drift != 0 {
		words += fmt.Sprintf(", and it gains %d parts per million", s.Drift)
	}
	return words + " at the beginning"
}

// Duration writes a length of time in seconds as a person says it.
func Duration(seconds int64) string {
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

// reply says what became of an act of the complaint, if the unit turned it down.
func (t *page) reply(claim int) string {
	h := t.r.History
	for i := range h.Done {
		d := h.Done[i]
		if h.World.Acts[d.Act].Claim != claim || d.Reply.Outcome == spec.Accepted {
			continue
		}
		return fmt.Sprintf(": the unit turns it down: %s", h.Refused(d))
	}
	return ""
}

func (t *page) when(at int64) string { return t.r.Local(at, "Mon 2006-01-02 15:04:05") }

// departure says where the history first departs, and why it is as it is there.
func (t *page) departure() {
	departing := t.r.Departing()
	if len(departing) == 0 {
		t.line("", "The replay departs from nothing that was said.")
		t.blank()
		return
	}
	d := &departing[0]
	t.item("departs", fmt.Sprintf("first at %s: %s; %s", t.when(d.At), t.name(d), t.howFar(d, t.r.Observation(d))))
	if why := t.because(d); why != "" {
		t.item("because", why)
	}
	t.blank()
}

// name names a statement.
func (t *page) name(d *Held) string {
	if d.Setting {
		return fmt.Sprintf("setting '%s'", t.r.Complaint.Settings[d.Index].Text)
	}
	o := &t.r.Complaint.Sensed[d.Index]
	if o.Logged.Log != nil {
		return fmt.Sprintf("#%d %s (%s)", d.Index+1, o.Text, o.Logged)
	}
	return fmt.Sprintf("#%d %s", d.Index+1, o.Text)
}

// because says why a lane is what it is where a statement departs.
func (t *page) because(d *Held) string {
	h := t.r.History
	if d.Setting || d.Lane == LaneDisplay {
		return ""
	}
	last := h.Last(d.Lane, d.At)
	if last == nil {
		return fmt.Sprintf("%s: %s since the beginning", d.Lane, d.Lane.Word(h.Initial[d.Lane]))
	}
	return fmt.Sprintf("%s: %s", t.when(last.At), h.Sentence([]*Change{last}))
}

// howFar says by how much a statement departs, or nearly does.
func (t *page) howFar(d *Held, o *complaint.Observation) string {
	h := t.r.History
	clock := d.Lane == LaneDisplay
	switch {
	case d.Of == 0:
		return "the replay says nothing of it"
	case clock && o != nil || d.Setting && t.r.Complaint.Settings[d.Index].About == complaint.AboutClock:
		reading, shown := h.Reading(d.At)
		if shown != Readable {
			return fmt.Sprintf("the display is %s then", LaneDisplay.Word(shown))
		}
		return fmt.Sprintf("the display reads %s then", localtime.Clock(reading).Format("Mon 2006-01-02 15:04:05"))
	case d.Setting:
		return "the unit has it otherwise"
	}
	state := fmt.Sprintf("%s: %s", d.Lane, d.Lane.Word(h.Level(d.Lane, d.At)))
	of := ""
	if o.When.Rule {
		of = fmt.Sprintf(" (%d of %d times it is as was said)", d.Agree, d.Of)
	}
	switch {
	case d.Near && o.Form != complaint.Becomes && (o.Form == complaint.Never || len(o.When.Windows) > 0 && o.When.Windows[0].Throughout):
		return fmt.Sprintf("%s for %s of that time%s", state, Duration(d.By), of)
	case d.Near && d.By < 0:
		return fmt.Sprintf("the nearest comes %s before%s", Duration(-d.By), of)
	case d.Near && d.By > 0:
		return fmt.Sprintf("the nearest comes %s after%s", Duration(d.By), of)
	case !d.Near && o.Form == complaint.Becomes:
		return "nothing of the kind comes within twelve hours" + of
	default:
		return state + " then" + of
	}
}

// daysThatMatter draws the days that matter, each with the unit's changes and their reasons.
func (t *page) daysThatMatter() {
	shown, left := t.r.Days(false, t.r.History.To)
	for _, d := range shown {
		t.line("", t.r.Complaint.LocalTime().At(d.From).Format("Monday 2006-01-02"))
		t.r.drawDay(t, d, t.width)
		t.changes(d)
		t.blank()
	}
	t.line("", legend+"; numbers after acts: acts")
	if left > 0 {
		t.line("", fmt.Sprintf("%d more days on which something was done or said are left out; --format json has them all.", left))
	}
	t.blank()
}

// mostShown is how many instants of a day are told.
const mostShown = 12

// changes writes what the unit did on a day, and why; and of the plant what departs.
func (t *page) changes(d Day) {
	h := t.r.History
	var at int64
	var together []*Change
	told, left := 0, 0
	flush := func() {
		switch {
		case len(together) == 0:
		case told == mostShown:
			left++
		default:
			told++
			t.line(t.r.Complaint.LocalTime().At(at).Format("  15:04:05  "), h.Sentence(together))
		}
		together = nil
	}
	for c := range h.All(d.From, d.To-1) {
		if c.Lane > LaneDisplay {
			continue
		}
		if c.At != at {
			flush()
		}
		at = c.At
		together = append(together, c)
	}
	flush()
	if told == 0 {
		t.line("  ", "The unit changes nothing on this day.")
	}
	if left > 0 {
		t.line("  ", fmt.Sprintf("and at %d more times", left))
	}
	blamed := map[*Change]bool{} // by what was logged: one change of the plant can make many statements depart
	for _, dep := range t.r.Departing() {
		if dep.At < d.From || dep.At >= d.To || dep.Lane <= LaneDisplay || dep.Setting {
			continue
		}
		last := h.Last(dep.Lane, dep.At)
		if t.r.Observation(&dep).Logged.Log != nil {
			if blamed[last] || len(blamed) == mostTold {
				continue // the picture shows where
			}
			blamed[last] = true
		}
		if last != nil {
			t.line(fmt.Sprintf("  #%-7d ", dep.Index+1), fmt.Sprintf("%s %s", t.r.Complaint.LocalTime().At(last.At).Format("15:04:05"), h.Sentence([]*Change{last})))
		}
	}
}

// statements lists how each statement compares.
func (t *page) statements() {
	if len(t.r.Held) == 0 {
		t.line("", "Nothing was sensed and no setting was noted, so there is nothing to compare.")
		t.blank()
		return
	}
	if len(t.r.Wants) > 0 {
		t.line("", "What is wanted, and the replay:")
		for i := range t.r.Wants {
			h, o := &t.r.Wants[i], &t.r.Complaint.Wanted.Means[i]
			text := o.Text
			if h.Verdict != Agrees {
				text += "; " + t.howFar(h, o)
			}
			t.line(fmt.Sprintf("  %-12s", [...]string{"cannot tell", "as wanted", "otherwise"}[h.Verdict]), text)
		}
		t.blank()
	}
	t.line("", "What was said, and the replay:")
	for _, v := range [...]Verdict{Departs, CannotTell, Agrees} {
		for i := range t.r.Held {
			h := &t.r.Held[i]
			if o := t.r.Observation(h); h.Verdict != v || o != nil && o.Logged.Log != nil {
				continue
			}
			t.line(fmt.Sprintf("  %-12s", v), t.held(h))
		}
		for _, track := range t.r.Tracks() {
			t.track(&track, v)
		}
	}
	t.blank()
}

// held says what a statement is, and unless it agrees, how far it is off.
func (t *page) held(h *Held) string {
	text := t.name(h)
	if h.Verdict != Agrees {
		text += "; " + t.howFar(h, t.r.Observation(h))
	}
	return text
}

// mostTold is how many statements of a log are told one by one.
const mostTold = 3

// track says how many statements of a log compare so, and tells the first of those that do not agree.
func (t *page) track(track *Track, v Verdict) {
	var so []*Held
	for _, i := range track.Held {
		if h := &t.r.Held[i]; h.Verdict == v {
			so = append(so, h)
		}
	}
	if len(so) == 0 {
		return
	}
	t.line(fmt.Sprintf("  %-12s", v), fmt.Sprintf("log %d (%s), %s: %d of %d statements", track.Log.Number, track.Log.File, track.What, len(so), len(track.Held)))
	if v == Agrees {
		return
	}
	for i, h := range so {
		if i == mostTold {
			t.line("      ", fmt.Sprintf("and %d more; --format json has them all", len(so)-i))
			break
		}
		t.line("      ", t.held(h))
	}
}

// String returns agrees, departs or cannot tell.
func (v Verdict) String() string { return [...]string{"cannot tell", "agrees", "departs"}[v] }
