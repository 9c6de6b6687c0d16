package replay

import (
	"time"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// JSON is a report for machines. Field names stay; more may come. Times are ISO 8601 with the household's offset.
type JSON struct {
	Format     int             `json:"format"` // 1
	File       string          `json:"file"`
	Title      string          `json:"title"`
	From       string          `json:"from"`
	Until      string          `json:"until"`
	Safety     []SafetyJSON    `json:"safety"`
	Wanted     string          `json:"wanted,omitempty"`
	Phases     []PhaseJSON     `json:"phases"`
	Acts       []ActJSON       `json:"acts"`
	Logs       []LogJSON       `json:"logs"`
	Statements []StatementJSON `json:"statements"`
	Wants      []StatementJSON `json:"wants"`
	Departs    *int            `json:"departs"` // the index of the statement from which the replay first departs; null if from none
	Lanes      []LaneJSON      `json:"lanes"`
	Warnings   []WarningJSON   `json:"warnings"`
	Caution    string          `json:"caution"`
}

// WarningJSON is something dangerous or amiss in the installation.
type WarningJSON struct {
	Danger  bool   `json:"danger"`
	Words   string `json:"words"`
	Caution string `json:"caution"`
}

// SafetyJSON is a safety question with its answer.
type SafetyJSON struct {
	Peril    string `json:"peril"`
	Question string `json:"question"`
	Answer   string `json:"answer"` // yes, no or not known
	Do       string `json:"do,omitempty"`
}

// PhaseJSON is a set-up: what the unit and the plant were taken to be.
type PhaseJSON struct {
	From       string            `json:"from"`
	Unit       map[string]string `json:"unit"` // ICS options; of what is fitted, the fitted value
	Plan       string            `json:"plan"`
	Supply     string            `json:"supply"`
	ClockError *int64            `json:"clock_error_s,omitempty"` // s by which the clock is fast where the unit begins anew
	ClockUnset bool              `json:"clock_unset,omitempty"`
	Drift      int32             `json:"drift_ppm,omitempty"`
}

// ActJSON is something done.
type ActJSON struct {
	Claim int    `json:"claim"` // the index of the file's act; -1 for one that was taken to have happened
	At    string `json:"at"`
	Text  string `json:"text"`
	Reply string `json:"reply"`
	Why   string `json:"why,omitempty"`
}

// LogJSON is a log beside the complaint's file.
type LogJSON struct {
	Number int         `json:"number"`
	Line   int         `json:"line"` // in the complaint's file
	File   string      `json:"file"`
	Format string      `json:"format"` // CSV or VCD
	From   string      `json:"from"`   // what counts of it
	To     string      `json:"to"`
	Fast   int64       `json:"clock_fast_s"`
	Blur   int64       `json:"blur_s"`
	Note   string      `json:"note,omitempty"`
	Tracks []TrackJSON `json:"tracks"`
}

// TrackJSON is a column of a log.
type TrackJSON struct {
	What     string `json:"what"`
	Column   string `json:"column"`
	Inverted bool   `json:"inverted"`
	Changes  int    `json:"changes"`
	Bounces  int    `json:"bounces"`
}

// LoggedJSON is where in a log a statement stands.
type LoggedJSON struct {
	Log    int    `json:"log"` // its number
	File   string `json:"file"`
	Line   int    `json:"line"`
	Column string `json:"column"`
}

// StatementJSON is a statement held against the replay.
type StatementJSON struct {
	Kind       string       `json:"kind"` // sensed, setting or wanted
	Number     int          `json:"number"`
	Line       int          `json:"line,omitempty"` // in the file
	Text       string       `json:"text"`
	Who        string       `json:"who,omitempty"`
	Sure       string       `json:"sure,omitempty"`
	Logged     *LoggedJSON  `json:"logged,omitempty"`
	Windows    []WindowJSON `json:"windows"`
	Verdict    string       `json:"verdict"` // agrees, departs or cannot tell
	Grade      float64      `json:"grade"`
	Likelihood float64      `json:"likelihood"`
	At         string       `json:"at,omitempty"`
	By         *int64       `json:"by_s,omitempty"`
	Lane       string       `json:"lane,omitempty"`
}

// WindowJSON is a stretch of time.
type WindowJSON struct {
	From       string `json:"from"`
	To         string `json:"to"`
	Throughout bool   `json:"throughout"`
	Blur       int64  `json:"blur_s"`
}

// LaneJSON is one lane with all its changes.
type LaneJSON struct {
	Name    string       `json:"name"`
	Initial string       `json:"initial"`
	Changes []ChangeJSON `json:"changes"`
}

// ChangeJSON is a change with its reason.
type ChangeJSON struct {
	At     string `json:"at"`
	Level  string `json:"level"`
	Why    string `json:"why"`
	Clause string `json:"clause,omitempty"` // of a lane of the unit
	Order  uint32 `json:"order"`            // among all changes
}

// JSON returns the report for machines.
func (r *Report) JSON() *JSON {
	c, h := r.Complaint, r.History
	j := &JSON{
		Format: 1, File: c.File, Title: c.Title, From: r.iso(h.From), Until: r.iso(h.To), Wanted: c.Wanted.Words, Caution: SafetyNote,
		Safety: []SafetyJSON{}, Acts: []ActJSON{}, Logs: []LogJSON{}, Statements: []StatementJSON{}, Wants: []StatementJSON{}, Warnings: []WarningJSON{}, Lanes: []LaneJSON{},
	}
	for _, d := range c.Safety {
		s := SafetyJSON{Peril: d.Peril.String(), Question: d.Peril.Question(), Answer: d.Answer.String()}
		if d.Answer == complaint.Yes {
			s.Do = d.Peril.Do()
		}
		j.Safety = append(j.Safety, s)
	}
	for _, w := range r.Warnings {
		j.Warnings = append(j.Warnings, WarningJSON{Danger: w.Danger, Words: w.Words, Caution: w.Caution})
	}
	for i := range h.World.Phases {
		j.Phases = append(j.Phases, r.phaseJSON(i))
	}
	for i := range h.Done {
		j.Acts = append(j.Acts, r.actJSON(h.Done[i]))
	}
	for _, l := range c.Logs {
		one := LogJSON{
			Number: l.Number, Line: l.Line, File: l.File, Format: l.Format, From: r.iso(l.From), To: r.iso(l.To), Fast: l.Fast, Blur: l.Blur, Note: l.Note,
		}
		for i := range l.Tracks {
			t := &l.Tracks[i]
			one.Tracks = append(one.Tracks, TrackJSON{t.What.String(), t.Column, t.Inverted, t.Changes, t.Bounces})
		}
		j.Logs = append(j.Logs, one)
	}
	for i := range r.Held {
		j.Statements = append(j.Statements, r.saidJSON(&r.Held[i]))
	}
	for i := range r.Wants {
		o := &c.Wanted.Means[i]
		w := r.statementJSON(&r.Wants[i], &o.When)
		w.Kind, w.Line, w.Text = "wanted", o.Line, o.Text
		j.Wants = append(j.Wants, w)
	}
	if departing := r.Departing(); len(departing) > 0 {
		for i := range r.Held {
			if r.Held[i].Setting == departing[0].Setting && r.Held[i].Index == departing[0].Index {
				j.Departs = &i
			}
		}
	}
	for l := range Lane(NumLanes) {
		if h.Has[l] {
			j.Lanes = append(j.Lanes, r.laneJSON(l))
		}
	}
	return j
}

func (r *Report) iso(at int64) string { return r.Complaint.LocalTime().At(at).Format(time.RFC3339) }

func (r *Report) phaseJSON(i int) PhaseJSON {
	h := r.History
	p := &h.World.Phases[i]
	from := p.From
	if i == 0 {
		from = h.From
	}
	j := PhaseJSON{From: r.iso(from), Unit: map[string]string{}, Plan: p.Plant.Plan.String(), Supply: p.Plant.Supply.String()}
	for o, value := range fittedValues(p.ICS.Fitted.Effective()) {
		j.Unit[wire.FitOptionWord(spec.FitOption(o))] = wire.FitValueWord(spec.FitOption(o), value)
	}
	for _, name := range wire.OptionNames() {
		if name != "credential" {
			j.Unit[name] = wire.Option(p.ICS, name)
		}
	}
	if s := p.Start; s != nil {
		j.ClockUnset, j.Drift = s.ClockUnset, s.Drift
		if !s.ClockUnset {
			j.ClockError = &s.ClockError
		}
	}
	return j
}

func (r *Report) actJSON(d Done) ActJSON {
	a := &r.History.World.Acts[d.Act]
	return ActJSON{Claim: a.Claim, At: r.iso(d.At), Text: a.words(), Reply: wire.OutcomeWord(d.Reply.Outcome), Why: r.History.Refused(d)}
}

// saidJSON is what was sensed, or a setting.
func (r *Report) saidJSON(h *Held) StatementJSON {
	if h.Setting {
		s := &r.Complaint.Settings[h.Index]
		j := r.statementJSON(h, &s.When)
		j.Kind, j.Line, j.Text, j.Sure = "setting", s.Line, s.Text, s.Sure.String()
		return j
	}
	o := &r.Complaint.Sensed[h.Index]
	j := r.statementJSON(h, &o.When)
	j.Kind, j.Line, j.Text, j.Who, j.Sure = "sensed", o.Line, o.Text, o.Who.String(), o.Sure.String()
	if l := o.Logged; l.Log != nil {
		j.Logged = &LoggedJSON{l.Log.Number, l.Log.File, l.Line, l.Column}
	}
	return j
}

func (r *Report) statementJSON(h *Held, when *complaint.When) StatementJSON {
	j := StatementJSON{
		Number: h.Index + 1, Verdict: h.Verdict.String(), Grade: h.Grade, Likelihood: h.Likelihood, Windows: []WindowJSON{},
	}
	for _, w := range when.Windows {
		j.Windows = append(j.Windows, WindowJSON{From: r.iso(w.From), To: r.iso(w.To), Throughout: w.Throughout, Blur: w.Blur})
	}
	if h.Of > 0 {
		j.At, j.Lane = r.iso(h.At), h.Lane.String()
		if h.Near {
			j.By = &h.By
		}
	}
	return j
}

func (r *Report) laneJSON(l Lane) LaneJSON {
	h := r.History
	j := LaneJSON{Name: l.String(), Initial: l.Word(h.Initial[l]), Changes: []ChangeJSON{}}
	for i := range h.lanes[l] {
		c := &h.lanes[l][i]
		change := ChangeJSON{At: r.iso(c.At), Level: l.Word(c.Level), Why: h.Why(c), Order: c.Seq}
		if l < LaneDisplay {
			change.Clause = c.Why.Unit.By.String()
		}
		j.Changes = append(j.Changes, change)
	}
	return j
}

// words says what an act is, in the words of the adapter protocol as far as it has them. A credential is nobody else's business.
func (a *Act) words() string {
	switch a.Deed {
	case AtUnit:
		in := a.Input
		if in.Credential != "" {
			return wire.KindWord(in.Kind)
		}
		return string(wire.AppendInput(nil, in))
	case AtIsolator:
		return "isolator " + onOff(a.On)
	case AtImmersion:
		return "immersion " + onOff(a.On)
	case AtThermostat:
		return a.Contact.String() + " to " + a.Setting.String()
	case AtBoiler:
		return "boiler reset"
	default:
		return "hot water drawn"
	}
}

func onOff(on bool) string {
	if on {
		return "on"
	}
	return "off"
}
