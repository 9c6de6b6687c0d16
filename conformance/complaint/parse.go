package complaint

import (
	"io/fs"
	"strings"

	"example.org/hearthbench/conformance/document"
	"example.org/hearthbench/conformance/localtime"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// Limits of an account.
const (
	mostDays = 400 // from its beginning to when it was asked for
	runIn    = 1   // day before the first thing that is said, for the plant to warm up in
	quiet    = 14  // days, where nothing says when it began
)

// LocalTime returns the household's zone.
func (c *Complaint) LocalTime() localtime.Zone {
	return localtime.Zone{Standard: int64(c.Zone.Minutes) * calendar.Minute, SummerTime: c.Zone.SummerTime}
}

// Parse reads a complaint file that names no log; the name is for messages. An error is of type [Errors] and reports everything that is
// wrong: first the YAML, then what departs from [Schema], then what cannot be meant.
func Parse(name string, data []byte) (*Complaint, error) { return ParseIn(nil, name, data) }

// ParseIn is [Parse] of a complaint file that may name logs. They lie in the folder of the file or below it, and nothing else is read of
// it: a complaint that comes from elsewhere must not reach other files, so the folder should not lead out by links either, as that of an
// os.Root does not.
func ParseIn(folder fs.FS, name string, data []byte) (*Complaint, error) {
	read, root := fileFormat.Read(name, data)
	if root == nil {
		return nil, read.Err()
	}
	c := &Complaint{File: name, Title: root.Get("title").Text, Zone: Zone{SummerTime: true}}
	r := &reader{Reader: read, c: c, folder: folder}
	if title := root.Get("title"); strings.Contains(c.Title, "\n") {
		r.FailAt(title, "the title has more than one line; keep the first, and put the rest into comments")
	}
	if n := root.Get("zone"); n != nil {
		c.Zone.Minutes = int16(number(n))
	}
	if n := root.Get("summer-time"); n != nil {
		c.Zone.SummerTime = n.Text == "yes"
	}
	asked, ok := r.moment(root.Get("asked"))
	c.Asked, c.Until = asked, asked
	if !ok {
		return nil, r.Err()
	}
	c.Safety = r.safety(root.Get("safety"))
	c.Unit = r.unit(root.Get("unit"))
	c.Installation = r.installation(root.Get("installation"))
	c.Settings = r.settings(root.Get("settings"))
	c.Changed = r.changed(root.Get("changed"))
	ics := c.ICS()
	c.Acts = r.acts(&ics, root.Get("done"))
	c.Sensed = r.sensed(root.Get("sensed"))
	c.Wanted = r.wanted(root.Get("wanted"))
	r.logs(root.Get("logs"))
	r.settle(root)
	if !r.Failed() {
		r.observe()
	}
	if err := r.Err(); err != nil {
		return nil, err
	}
	c.sortTurns()
	if r.checkPlants(); r.Failed() {
		return nil, r.Err()
	}
	return c, nil
}

func number(n *document.Node) int {
	v, sign := 0, 1
	for _, d := range n.Text {
		if d == '-' {
			sign = -1
			continue
		}
		v = 10*v + int(d-'0')
	}
	return sign * v
}

func place(n *document.Node) Place { return Place{Line: n.Line, Column: n.Column} }

// moment reads a local time that is written out in full.
func (r *reader) moment(n *document.Node) (int64, bool) {
	z := r.c.LocalTime()
	at, err := z.Parse(n.Text)
	switch {
	case err != nil:
		r.FailAt(n, "%v", err)
	case at < 0 || !z.Dated(at):
		r.FailAt(n, "this is out of range; dates run from %d-01-01 to %d-12-31", spec.FirstYear, spec.LastYear)
	default:
		return at, true
	}
	return 0, false
}

// when reads a time. Its windows follow once it is known when the account begins; what it is a time of says with whose clock, and
// whether it was compared with another at once.
func (r *reader) when(n *document.Node, into *When, who Who, reading bool, kind whenKind) {
	*into = When{Text: n.Text}
	if n.Text == "now" {
		into.Windows = []Window{{From: r.c.Asked, To: r.c.Asked, Blur: blurReading}}
		return
	}
	form, err := parseWhen(n.Text)
	switch {
	case err != nil:
		r.FailAt(n, "%v", err)
		return
	case kind != anyWhen && (form.always || form.since):
		r.FailAt(n, "%s is no time at which something is done; %s", document.Quote(n.Text), "write one such as 2026-11-02 about 18:00")
		return
	case kind == oneWhen && form.rule:
		r.FailAt(n, "a rule has no place here; write one time, such as 2026-11-02 about 18:00")
		return
	}
	into.Rule = form.rule
	r.whens = append(r.whens, pending{node: n, when: into, form: form, blur: form.blurOf(who, reading)})
}

// settle finds out when the account begins, and works out every time in it.
func (r *reader) settle(root *document.Node) {
	c, z := r.c, r.c.LocalTime()
	first := c.Asked
	named := false
	for i := range r.whens {
		if at, ok := r.whens[i].form.earliest(z); ok {
			named = true
			first = min(first, at-r.whens[i].blur)
		}
	}
	for _, p := range r.pending {
		named = true
		first = min(first, p.log.From-p.log.Blur)
	}
	back := int64(runIn)
	if !named {
		back = quiet
	}
	c.From = instant(z, (int64(calendar.DayOf(z.Reading(first)))-back)*calendar.Day)
	if n := root.Get("from"); n != nil {
		at, ok := r.moment(n)
		if !ok {
			return
		}
		if c.From = at; at >= c.Asked {
			r.FailAt(n, "the account begins when it was asked for, or later; let from be before asked")
			return
		}
	}
	c.From = max(0, c.From)
	if c.Until-c.From > mostDays*calendar.Day {
		at := root.Get("from")
		for i := range r.whens {
			if e, ok := r.whens[i].form.earliest(z); ok && at == nil && e-r.whens[i].blur <= first {
				at = r.whens[i].node
			}
		}
		for _, p := range r.pending {
			if at == nil && p.log.From-p.log.Blur <= first {
				at = p.node
			}
		}
		if at == nil {
			at = root.Get("asked")
		}
		r.FailAt(at, "the account goes back more than %d days before it was asked for; correct the date, or keep to what is near", mostDays)
		return
	}
	if c.Until <= c.From {
		r.FailAt(root.Get("asked"), "there is no time before this; let it be later")
		return
	}
	for i := range r.whens {
		r.windows(&r.whens[i], z)
	}
}

func (r *reader) windows(p *pending, z localtime.Zone) {
	c := r.c
	all := p.form.windows(z, c.From, c.Until, p.blur)
	switch {
	case len(all) == 0:
		r.FailAt(p.node, "no such day lies between %s and when it was asked", z.At(c.From).Format("2006-01-02"))
	case all[0].From+p.blur < c.From:
		r.FailAt(p.node, "this is before %s, where the account begins; correct the date, or let from be earlier", z.At(c.From).Format("2006-01-02 15:04"))
	case all[0].From-p.blur > c.Until:
		r.FailAt(p.node, "this is after %s, when the account was asked for; correct the date, or let asked be later", z.At(c.Until).Format("2006-01-02 15:04"))
	}
	p.when.Windows = all
}
