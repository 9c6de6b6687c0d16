package complaint

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.org/hearthbench/conformance/document"
	"example.org/hearthbench/conformance/localtime"
	"example.org/hearthbench/conformance/recording"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// Limits of logs.
const (
	// MaxLogSize is the most bytes that a log may have: a fortnight of a row each second.
	MaxLogSize = 32 << 20
	// MaxChanges is how many changes the logs of a complaint may have between them, bounce taken out, where they count. Each is held against
	// every possibility that a diagnosis lives through, as is the stretch behind it.
	MaxChanges = 250
)

// pendingLog is a log that has been read, and whose observations can be made once it is known when the account begins.
type pendingLog struct {
	node    *document.Node
	columns []*document.Node // of the log's tracks
	log     *LogFile
	sure    Sure              // Measured, if nothing is said
	lines   []*recording.Line // likewise
	length  time.Duration
	second  int64 // true second of the first sample, rounded down
	nano    int64
}

// logs reads the logs beside the file.
func (r *reader) logs(n *document.Node) {
	if n == nil {
		return
	}
	for i, item := range n.Items {
		p := &pendingLog{node: item, log: &LogFile{Place: place(item), Number: i + 1}}
		if e := item.Get("sure"); e != nil {
			p.sure, _ = sureWords.find(e.Text)
		}
		if e := item.Get("note"); e != nil {
			p.log.Note = e.Text
		}
		r.c.Logs = append(r.c.Logs, p.log)
		if r.tracks(p, item.Get("columns")) && r.record(p) {
			r.pending = append(r.pending, p)
		}
	}
}

// tracks reads which column is which thing.
func (r *reader) tracks(p *pendingLog, n *document.Node) (ok bool) {
	ok = true
	for _, e := range n.Entries {
		t := Track{}
		t.What, _ = whatWords.find(e.Key) // the schema knows the words
		t.Column, t.Inverted = strings.CutPrefix(strings.TrimSpace(e.Value.Text), "!")
		same := slices.IndexFunc(p.log.Tracks, func(o Track) bool { return o.Column == t.Column })
		switch {
		case t.Column == "":
			r.FailAt(e.Value, "this names no column; write what its heading, or its variable, is called")
			ok = false
		case same >= 0:
			r.FailAt(e.Value, "the column %s is %s already; one column is one thing", t.Column, p.log.Tracks[same].What)
			ok = false
		case t.What == Alert && t.Inverted:
			r.FailAt(e.Value, "the alert has four levels and cannot be active low; leave ! out")
			ok = false
		}
		p.log.Tracks = append(p.log.Tracks, t)
		p.columns = append(p.columns, e.Value)
	}
	return ok
}

// record reads the file of a log.
func (r *reader) record(p *pendingLog) bool {
	n := p.node.Get("file")
	p.log.File = n.Text
	switch ext := strings.ToUpper(strings.TrimPrefix(path.Ext(n.Text), ".")); {
	case !fs.ValidPath(n.Text) || strings.Contains(n.Text, `\`):
		r.FailAt(n, "a log lies in the folder of the complaint or below it; write its path from there on, with / between folders, such as logs/boiler.csv")
		return false
	case ext != "CSV" && ext != "VCD":
		r.FailAt(n, "%s ends neither in .csv nor in .vcd; a log is one of them", document.Quote(n.Text))
		return false
	case r.folder == nil:
		r.FailAt(n, "this complaint comes without a folder, so its logs cannot be found; put it into a file beside them")
		return false
	default:
		p.log.Format = ext
	}
	info, err := fs.Stat(r.folder, n.Text)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		r.FailAt(n, "there is no %s in the folder of the complaint", document.Quote(n.Text))
		return false
	case err == nil && !info.Mode().IsRegular():
		r.FailAt(n, "%s is no file", document.Quote(n.Text))
		return false
	case err == nil && info.Size() > MaxLogSize:
		r.FailAt(n, "the log is too long; one has at most %d bytes, so cut it to the days that matter", MaxLogSize)
		return false
	}
	var in fs.File
	if err == nil {
		in, err = r.folder.Open(n.Text)
	}
	if err != nil {
		r.FailAt(n, "the log cannot be read: %v", err)
		return false
	}
	defer in.Close()
	found := true
	read, err := recording.Read(n.Text, p.log.Format, in, recording.DefaultBounce, func(cs recording.Columns) (picks []recording.Pick, err error) {
		if picks, found = r.picks(p, cs); !found {
			err = errors.New("a column cannot be told") // which has been entered where it is named
		}
		return picks, err
	})
	switch {
	case !found:
		return false
	case err != nil:
		r.FailAt(n, "the log cannot be read: %v", err)
		return false
	}
	p.lines, p.length = read.Lines, read.Length
	for i, line := range read.Lines {
		t := &p.log.Tracks[i]
		t.Column, t.Bounces = line.Name, line.Bounce.Count+line.Bounce.Glitches
	}
	return r.clock(p, &read.About)
}

// picks finds the columns of the tracks, or enters what is wrong with them.
func (r *reader) picks(p *pendingLog, cs recording.Columns) (picks []recording.Pick, ok bool) {
	ok = true
	for i, t := range p.log.Tracks {
		at, wrong := cs.Find(t.Column)
		switch {
		case wrong != nil:
			r.FailAt(p.columns[i], "%v of %s; say which", wrong, p.log.File)
			ok = false
		case at < 0:
			r.FailAt(p.columns[i], "%s has no column %s; there are %s", p.log.File, document.Quote(t.Column), cs)
			ok = false
		case slices.ContainsFunc(picks, func(o recording.Pick) bool { return o.Column == at }):
			r.FailAt(p.columns[i], "the column %s is another thing already; one column is one thing", cs.Name(at))
			ok = false
		}
		most := spec.Level(1)
		if t.What == Alert {
			most = spec.Level(spec.Restricted)
		}
		picks = append(picks, recording.Pick{Column: at, Inverted: t.Inverted, Most: most})
	}
	return picks, ok
}

// clock works out when the log began, and which part of it counts.
func (r *reader) clock(p *pendingLog, about *recording.About) bool {
	l := p.log
	fast, rough, ok := r.clockOut(p.node.Get("clock-out"))
	l.Fast = fast
	from, wellFrom := r.bound(p.node.Get("from"), 0)
	until, wellUntil := r.bound(p.node.Get("until"), r.c.Asked)
	until = min(until, r.c.Asked)
	switch {
	case !ok || !wellFrom || !wellUntil:
		return false
	case from >= until:
		r.FailAt(p.node, "from is not before until, nor before the account was asked for, so nothing of the log counts; correct them")
		return false
	}
	z := r.c.LocalTime()
	begins, dated := p.node.Get("begins"), !about.Origin.IsZero()
	l.Blur = blurLog
	switch {
	case begins != nil:
		form, err := parseWhen(begins.Text)
		at, named := form.earliest(z)
		if err == nil && (!named || !form.moment || form.part || form.to != form.from || form.rule) {
			err = fmt.Errorf("%s is no moment at which a log begins; write one such as 2026-11-03 06:00, or 2026-11-03 about 06:00", document.Quote(begins.Text))
		}
		if err != nil {
			r.FailAt(begins, "%v", err)
			return false
		}
		p.second, l.Blur = at-fast, form.blurOf(Integrator, false)
	case !dated:
		r.FailAt(p.node, "the times of %s have no date; add begins: when its first line was written, such as 2026-11-03 06:00", l.File)
		return false
	default:
		p.second, p.nano = localtime.Second(about.Origin)-fast, int64(about.Origin.Nanosecond())
	}
	if p.second < 0 || p.second+int64(p.length/time.Second) > lastSecond {
		r.FailAt(p.node, "%s runs out of the calendar, which has %d to %d; say with begins when its first line was written", l.File, spec.FirstYear, spec.LastYear)
		return false
	}
	if begins == nil && !about.Zoned {
		// What its clock showed is the household's time; on which side of a change of summer time that is, the part that counts says.
		at, err := z.First(p.second)
		if from > 0 {
			at, err = p.second-z.Offset(from), nil
		}
		if err != nil {
			r.FailAt(p.node.Get("file"), "%s begins when there was no such time: %v", l.File, err)
			return false
		}
		p.second = at
	}
	l.Blur += rough
	if !about.Sampled {
		l.Blur += int64(about.Resolution / time.Second)
	}
	l.From, l.To = max(from, p.at(0)), min(until, p.at(p.length))
	if l.From > l.To {
		r.FailAt(p.node, "nothing of %s counts: it runs from %s to %s, and what counts from %s to %s; correct begins, from or until", l.File,
			localWords(z, p.at(0)), localWords(z, p.at(p.length)), localWords(z, from), localWords(z, until))
		return false
	}
	if dated && !about.Zoned && z.Offset(l.From) != z.Offset(l.To) {
		r.FailAt(p.node, "the times of %s have no offset from UTC, and summer time begins or ends in it, before %s, so they cannot be told; give them one such as +00:00, "+
			"or keep to one side of it with from or until", l.File, localWords(z, calendar.NextChange(l.From)))
		return false
	}
	return true
}

// lastSecond ends the calendar, with a day to spare for zones.
var lastSecond = int64(calendar.Days(spec.LastYear, 12, 31)) * calendar.Day

// bound reads an end of the part of a log that counts.
func (r *reader) bound(n *document.Node, without int64) (at int64, ok bool) {
	if n == nil {
		return without, true
	}
	return r.moment(n)
}

func localWords(z localtime.Zone, at int64) string { return z.At(at).Format(time.DateTime) }

var clockOutPattern = regexp.MustCompile(`^([0-9]{1,4}) ?(s|min|h) (fast|slow)$`)

// clockOut reads by how many seconds a clock was fast, and how much that leaves open.
func (r *reader) clockOut(n *document.Node) (fast, rough int64, ok bool) {
	if n == nil {
		return 0, 0, true
	}
	m := clockOutPattern.FindStringSubmatch(strings.Join(strings.Fields(n.Text), " "))
	if m == nil {
		r.FailAt(n, "%s does not say how far out the logger's clock was; write such as 90 s fast, 2 min slow or 1 h fast", document.Quote(n.Text))
		return 0, 0, false
	}
	fast, _ = strconv.ParseInt(m[1], 10, 64) // four digits
	fast *= map[string]int64{"s": 1, "min": calendar.Minute, "h": calendar.Hour}[m[2]]
	if m[2] != "s" {
		rough = blurReading // nobody looked at the seconds
	}
	if m[3] == "slow" {
		fast = -fast
	}
	return fast, rough, true
}

// at returns the true second of an instant of the recording.
func (p *pendingLog) at(d time.Duration) int64 {
	rest := time.Duration(p.nano) + d%time.Second
	return p.second + int64(d/time.Second) + int64(rest.Round(time.Second)/time.Second)
}

// observe makes observations of the logs: each change, and each stretch at one level between changes, gaps and the ends.
func (r *reader) observe() {
	c, z, left := r.c, r.c.LocalTime(), MaxChanges
	for _, p := range r.pending {
		p.log.From = max(p.log.From, c.From) // it does not end after the account: that ends when it was asked for
		if p.log.From > p.log.To {
			r.FailAt(p.node, "nothing of %s counts: it ends at %s, before %s, where the account begins; correct begins, or let from be earlier", p.log.File,
				localWords(z, p.log.To), localWords(z, c.From))
			continue
		}
		for i := range p.lines {
			all := p.observations(i, z)
			t := &p.log.Tracks[i]
			if left -= t.Changes; left < 0 {
				r.FailAt(p.columns[i], "the logs have more than %d changes, %d of them those of %s in %s; keep to the hours that matter with from and until, "+
					"or leave a column out", MaxChanges, t.Changes, t.What, p.log.File)
				return
			}
			if len(all) == 0 {
				r.FailAt(p.columns[i], "the column %s of %s has no level from %s to %s; correct begins, from or until, or leave it out", t.Column, p.log.File,
					localWords(z, p.log.From), localWords(z, p.log.To))
			}
			c.Sensed = append(c.Sensed, all...)
		}
	}
}

// observations returns what one track tells, in order of time, and counts its changes.
func (p *pendingLog) observations(track int, z localtime.Zone) (all []Observation) {
	t, line, l := &p.log.Tracks[track], p.lines[track], p.log
	add := func(s *recording.Stretch, form Form, w Window) {
		w.Blur = l.Blur
		o := Observation{
			Place: l.Place, What: t.What, Form: form, Level: s.Level, Who: Log, Sure: p.sure, Logged: Logged{Log: l, Column: t.Column, Line: s.Row},
			When: When{Text: windowWords(z, w), Windows: []Window{w}},
		}
		o.Text = fmt.Sprintf("%s %s%s, %s", o.What, formText[form], levelWord(o.What, o.Level), o.When.Text)
		all = append(all, o)
	}
	for k := range line.Levels {
		s := &line.Levels[k]
		if s.Level == recording.Unknown {
			continue
		}
		from, to := p.at(s.From), p.at(p.length)
		if k+1 < len(line.Levels) {
			to = p.at(line.Levels[k+1].After)
		}
		if after := p.at(s.After); k > 0 && line.Levels[k-1].Level != recording.Unknown && after >= l.From && from <= l.To {
			t.Changes++
			add(s, Becomes, Window{From: after, To: from})
		}
		if from, to = max(from, l.From), min(to, l.To); from <= to {
			add(s, Is, Window{From: from, To: to, Throughout: to > from})
		}
	}
	return all
}

// windowWords writes a window as a complaint could have it.
func windowWords(z localtime.Zone, w Window) string {
	const date, clock = time.DateOnly, time.TimeOnly
	from, to := z.At(w.From), z.At(w.To)
	_, offset := from.Zone()
	_, later := to.Zone()
	switch {
	case offset != later || len(z.Instants(z.Reading(w.From))) > 1:
		const zoned = date + " " + clock + " -07:00" // where readings come twice
		if w.From == w.To {
			return from.Format(zoned)
		}
		return from.Format(zoned) + " to " + to.Format(zoned)
	case w.From == w.To:
		return from.Format(date + " " + clock)
	case !w.Throughout:
		return fmt.Sprintf("%s between %s and %s", from.Format(date), from.Format(clock), to.Format(clock))
	case from.YearDay() == to.YearDay() && w.To-w.From < calendar.Day:
		return from.Format(date+" "+clock) + "-" + to.Format(clock)
	default:
		return from.Format(date+" "+clock) + " to " + to.Format(date+" "+clock)
	}
}

// levelWord returns the word for a level that a log can have.
func levelWord(w What, l spec.Level) string {
	if w == Alert {
		return wire.StageWord(spec.Stage(l))
	}
	return levels[w][l][0]
}
