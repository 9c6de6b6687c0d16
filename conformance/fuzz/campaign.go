package fuzz

import (
	"context"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// Options are how a campaign is run. The zero value is one shard of seed 0, without end.
type Options struct {
	Seed  uint64
	Shard int // from 0
	// Steps is how many inputs and waits to put to the unit, those of shortening apart; 0: no limit.
	Steps uint64
	// Stop, if set, is asked between scripts whether to end.
	Stop func() bool
	// Batch is how many scripts are put to the unit at once: more for one that takes long to answer. Default 1. It changes what
	// is tried.
	Batch int
	// Patience is how many seconds of the unit's time a step may let pass on average, 0 for any number. A unit that lives through every
	// second needs some; see [Ticking]. It changes what is tried.
	Patience uint64
	// Corpus are scripts of an earlier campaign to begin with.
	Corpus []iut.Script
	// Found is called with each cause when it is found, and again if a shorter sequence for it has been found.
	Found func(*Finding) error
	// Progress is called between scripts.
	Progress func(Progress)
	// Other, if set, returns a unit of the same make with another statement, which is valid: a failure is then shown on the plainest
	// statement with which it comes.
	Other func(spec.ICS) iut.IUT
	// First ends the campaign with the first cause.
	First bool
}

// Ticking is the patience for firmware that lives through every second, and Jumping for a model that goes from change to change.
const (
	Ticking = 150
	Jumping = 2 * calendar.Hour
)

// ahead is for how many steps a campaign may use its patience ahead of time: at first long waits find most.
const ahead = 2000

// Progress is how far a campaign has come.
type Progress struct {
	Steps, Scripts uint64
	Places         int // of the state, by kind of step, that have been reached
	ClausePairs    int
	Kept           int // scripts
	Failures       uint64
	Findings       int
}

// Campaign looks for departures of one unit.
type Campaign struct {
	options  Options
	unit     iut.IUT
	ics      spec.ICS
	gen      *generator
	judge    *oracle // for what is shortened
	designs  []*oracle
	kept     []entry
	known    map[symptom]*suspicion
	findings []*Finding
	progress Progress

	batch   []iut.Script
	made    []made
	scratch iut.Script
	listed  []Departure
}

// made is what is known of a script that has been put to the unit.
type made struct {
	classes []class
	fresh   int
	prediction
}

// symptom is what is seen of a failure before it is shortened.
type symptom struct {
	kind   runner.DepartureKind
	clause string
	signal spec.Signal
	by     class // of the step: its kind
	after  bool  // the script had departed before
}

// suspicion is how often a symptom has come, and what was behind it.
type suspicion struct {
	times    uint64
	findings []*Finding
}

// oftenExcused is how often a symptom is looked at behind which nothing has been found.
const oftenExcused = 1000

// minKept is how many scripts must be kept before they are varied, and freshPair what a new clause pair counts for in keeping one.
const (
	minKept   = 8
	freshPair = 8
	maxKept   = 4096
)

// New returns a campaign on a unit.
func New(unit iut.IUT, o Options) (*Campaign, error) {
	ics := unit.ICS()
	gen, err := newGenerator(&ics, newRandom(o.Seed, o.Shard))
	if err != nil {
		return nil, err
	}
	judge, err := newOracle(ics)
	if err != nil {
		return nil, err
	}
	o.Batch = max(1, o.Batch)
	gen.patience, gen.credit = o.Patience, ahead*o.Patience
	return &Campaign{
		options: o, unit: unit, ics: ics, gen: gen, judge: judge, known: map[symptom]*suspicion{},
		batch: make([]iut.Script, o.Batch), made: make([]made, o.Batch),
	}, nil
}

// Progress returns how far the campaign has come.
func (c *Campaign) Progress() Progress { return c.progress }

// Findings returns the causes found, in the order in which they were.
func (c *Campaign) Findings() []*Finding { return c.findings }

// Corpus returns the scripts that have been kept because they reached something new.
func (c *Campaign) Corpus() []iut.Script {
	scripts := make([]iut.Script, len(c.kept))
	for i := range c.kept {
		scripts[i] = c.kept[i].script
	}
	return scripts
}

// Run runs the campaign to its end. An error is the end of ctx, or one of Found; what has been found until then is kept.
func (c *Campaign) Run(ctx context.Context) error {
	for _, script := range c.options.Corpus {
		c.gen.replay(script)
		if err := c.put(ctx, 1, func(int) {}); err != nil {
			return err
		}
	}
	for !c.over() {
		err := c.put(ctx, len(c.batch), func(int) { c.gen.make(c.kept) })
		if err != nil {
			return err
		}
	}
	return nil
}

func (c *Campaign) over() bool {
	p := &c.progress
	return c.options.Steps > 0 && p.Steps >= c.options.Steps || c.options.First && len(c.findings) > 0 || c.options.Stop != nil && c.options.Stop()
}

// put makes scripts, puts them to the unit and looks at what comes of them.
func (c *Campaign) put(ctx context.Context, n int, make func(int)) error {
	for i := range n {
		make(i)
		g, m := c.gen, &c.made[i]
		// The generator's script and prediction become those of the batch, and what was there is overwritten next.
		c.batch[i], g.script = g.script, c.batch[i]
		m.classes, g.classes = g.classes, m.classes
		m.prediction, g.prediction = g.prediction, m.prediction
		m.fresh = g.fresh
	}
	var failed []int
	var seen []*iut.Observation
	err := c.unit.Run(ctx, c.batch[:n], func(i int, o *iut.Observation) {
		if !c.made[i].same(o) {
			failed = append(failed, i)
			seen = append(seen, keep(o))
		}
	})
	if err != nil {
		return err
	}
	next := 0
	for i := range n {
		m := &c.made[i]
		fails := next < len(failed) && failed[next] == i
		if m.fresh >= freshPair && len(c.kept) < maxKept {
			c.kept = append(c.kept, entry{slices.Clone(c.batch[i]), slices.Clone(m.classes)})
		}
		limit := uint64(len(c.batch[i]) - 1)
		if fails {
			if err := c.failure(ctx, i, seen[next]); err != nil {
				return err
			}
			next++
		}
		c.progress.Steps += limit
		c.progress.Scripts++
		if c.options.First && len(c.findings) > 0 {
			break
		}
	}
	p := &c.progress
	p.Places, p.ClausePairs, p.Kept, p.Findings = c.gen.coverage.reached, c.gen.coverage.clauses, len(c.kept), len(c.findings)
	if c.options.Progress != nil {
		c.options.Progress(*p)
	}
	return nil
}

// keep makes an observation one's own.
func keep(o *iut.Observation) *iut.Observation {
	return &iut.Observation{Answers: slices.Clone(o.Answers), Changes: slices.Clone(o.Changes), Trouble: o.Trouble}
}

// failure looks at a script that failed.
func (c *Campaign) failure(ctx context.Context, i int, o *iut.Observation) error {
	c.progress.Failures++
	script, m := c.batch[i], &c.made[i]
	c.listed = m.departures(script, o, c.listed[:0])
	for _, d := range slices.Clone(c.listed) {
		d.blame(c.judge, &c.ics, script)
		s := symptom{kind: d.sort(), clause: d.Clause, signal: d.Signal, by: kindOf(&script[d.Request]), after: d.Follows}
		k := c.known[s]
		if k == nil {
			k = &suspicion{}
			c.known[s] = k
		}
		if n := &c.gen.coverage.shunned[m.classes[d.Request]]; *n < 200 {
			*n++
		}
		// Every time is shortened at first, and then ever more seldom: what looks alike need not have one cause. What the unit's
		// tolerances excuse is looked at as often as may be, since it costs little.
		k.times++
		if k.times > 2 && k.times&(k.times-1) != 0 && (d.Follows || k.findings != nil || k.times > oftenExcused) {
			continue
		}
		before := c.progress.Steps + uint64(d.Request)
		f, err := c.investigate(ctx, script, d, before)
		if err != nil {
			return err
		}
		if f != nil && !slices.Contains(k.findings, f) {
			k.findings = append(k.findings, f)
		}
		if c.options.First && f != nil {
			return nil
		}
	}
	return nil
}

// sort is the departure's kind, where what is late is what is missing: the end of the script decides which it is.
func (d *Departure) sort() runner.DepartureKind {
	if d.Kind == runner.Late {
		return runner.Missing
	}
	return d.Kind
}

// plainest finds the plainest statement with which a finding fails as it does, option by option the full unit's, and returns a campaign
// on a unit that has it.
func (c *Campaign) plainest(ctx context.Context, f *Finding) (*Campaign, error) {
	on := c
	if c.options.Other == nil {
		return on, nil
	}
	full := spec.FullICS()
	names := wire.OptionNames()
	for o := spec.FitChannels; o <= spec.FitCoupling; o++ {
		names = append(names, wire.FitOptionWord(o))
	}
	for _, name := range names {
		ics := f.ICS
		if name == "boost-step" || name == "boost-longest" { // which only go together
			ics.BoostStep, ics.BoostLongest = full.BoostStep, full.BoostLongest
		} else if o, err := wire.ParseFitOption(name); err == nil {
			ics.Supported = full.Supported
			ics.Fitted, _ = ics.Fit(ics.Fitted, o, [...]uint8{uint8(full.Fitted.Channels), uint8(full.Fitted.Cycle), uint8(full.Fitted.Timing), uint8(full.Fitted.Coupling)}[o])
		} else if value := wire.Option(full, name); wire.SetOption(&ics, name, value) != nil {
			continue
		}
		if ics == f.ICS || ics.Validate() != nil {
			continue
		}
		other, err := New(c.options.Other(ics), Options{})
		if err != nil {
			return nil, err
		}
		list, err := other.watch(ctx, &f.story)
		if err != nil {
			return nil, err
		}
		if len(list) > 0 && f.like(list[0]) && list[0].Request == f.Request {
			f.ICS, f.Departure, on = ics, list[0], other
		}
	}
	return on, nil
}

// alone reports whether no cause that is known already shows in a story beside the departure. Else whatever is left out, the known one
// might be what remains.
func (c *Campaign) alone(ctx context.Context, s *story, d Departure) (bool, error) {
	list, err := c.watch(ctx, s)
	for i := range list {
		if list[i].like(d) {
			continue
		}
		for _, f := range c.findings {
			if f.like(list[i]) {
				return false, err
			}
		}
	}
	return true, err
}

// like reports whether another departure is of the same sort from the same clause.
func (d *Departure) like(e Departure) bool {
	return e.sort() == d.sort() && e.Clause == d.Clause && (e.Trouble != nil) == (d.Trouble != nil)
}

func kindOf(r *iut.Request) class {
	if r.Kind == iut.Go {
		return class(spec.NumKinds)
	}
	return class(r.Input.Kind)
}

// watch puts a story to the unit and returns where it departs, by more than its tolerances allow.
func (c *Campaign) watch(ctx context.Context, s *story) ([]Departure, error) {
	c.scratch = s.script(c.scratch)
	c.judge.play(c.scratch)
	var list []Departure
	err := c.unit.Run(ctx, []iut.Script{c.scratch}, func(_ int, o *iut.Observation) {
		if !c.judge.same(o) {
			list = c.judge.departures(c.scratch, o, nil)
		}
	})
	if err != nil || len(list) == 0 {
		return nil, err
	}
	if c.ics.Tolerances != (spec.Tolerances{}) && list[0].Trouble == nil {
		r, err := c.verdict(ctx, s)
		if err != nil || r == nil || r.Verdict != runner.Fail {
			return nil, err
		}
		list[0].adopt(s, r)
	}
	for i := range list {
		list[i].blame(c.judge, &c.ics, c.scratch)
	}
	return list, nil
}

// verdict is the ordinary runner's on a story as a vector; nil if there is no such vector.
func (c *Campaign) verdict(ctx context.Context, s *story) (last *runner.Result, err error) {
	for _, setByStep := range [...]bool{false, true} {
		v, ok := s.vector(&c.ics, setByStep)
		if !ok {
			continue
		}
		if err := runner.Run(ctx, c.unit, []*suite.Vector{v}, func(r *runner.Result) { last = r }); err != nil {
			return nil, err
		}
		if last.Verdict == runner.Fail || last.Trouble != nil {
			return last, nil
		}
	}
	return last, nil
}

// adopt makes the departure the one that a verdict tells.
func (d *Departure) adopt(s *story, r *runner.Result) {
	e := r.Departure
	d.At, d.Kind = e.At, e.Kind
	switch {
	case e.Kind == runner.WrongReply || e.Kind == runner.ClaimMissing:
		return
	case e.Observed != nil && (e.Kind == runner.Unexpected || e.Expected == nil):
		d.Signal = e.Observed.Signal
	default:
		d.Signal = e.Expected.Signal
	}
	d.Request = s.requestAt(d.At)
}

// requestAt returns the request of the story's script in which a second falls: the wait that comes to it, or the last input of it.
func (s *story) requestAt(second uint64) int {
	at, n := uint64(0), 0
	for i := range s.inputs {
		if t := &s.inputs[i]; t.wait > 0 {
			if at+t.wait > second {
				if at < second {
					n++
				}
				return n
			}
			at += t.wait
			n++
		}
		n++
	}
	if s.end > 0 && at < second {
		n++
	}
	return n
}

// investigate shortens a failing script, and holds it against what is known. It returns the cause, nil if there is none after all.
func (c *Campaign) investigate(ctx context.Context, script iut.Script, d Departure, steps uint64) (*Finding, error) {
	var failed error
	first := func(match func(*Departure) bool) func(*story) (Departure, bool) {
		return func(s *story) (Departure, bool) {
			list, err := c.watch(ctx, s)
			if err != nil {
				failed = err
			}
			for i := range list {
				if !list[i].Follows && match(&list[i]) {
					return list[i], true
				}
			}
			return Departure{}, false
		}
	}
	// The departure may be one that a vector does not tell apart, since the next input makes up for it within the second, or that the
	// unit's tolerances excuse for a while. So what comes after it is left out, and time passes instead; else the script goes on.
	s := shortener{ics: &c.ics, at: d, left: maxTries}
	if tol := &c.ics.Tolerances; *tol != (spec.Tolerances{}) {
		s.slack = uint64(tol.LatePowerOn) + uint64(tol.LateScan) + uint64(tol.Stagger) + 1
	}
	if d.Trouble != nil && d.Trouble.Kind == iut.Hung {
		s.left = maxHangs
	}
	found := false
	for _, more := range [...]uint64{0, calendar.Minute, calendar.Day, far} {
		s.best = storyOf(script)
		if more < far {
			s.best = storyOf(script[:d.Request+1])
			s.best.end += more
		}
		list, err := c.watch(ctx, &s.best)
		if err != nil {
			return nil, err
		}
		if found = len(list) > 0; found {
			if !d.Follows && !slices.ContainsFunc(list, d.like) {
				d = list[0]
			}
			break
		}
	}
	if !found {
		return nil, nil
	}
	s.fails = first(func(e *Departure) bool { return d.like(*e) })
	if !s.try(s.best) && !s.separate() {
		return nil, failed
	}
	s.shorten()
	if alone, err := c.alone(ctx, &s.best, s.at); err != nil {
		return nil, err
	} else if alone {
		origin := s.at
		s.known = func(e Departure) bool {
			return !e.like(origin) && slices.ContainsFunc(c.findings, func(f *Finding) bool { return f.like(e) })
		}
		s.fails = first(func(*Departure) bool { return true })
		s.canonical = true
		s.shorten()
	}
	if failed != nil {
		return nil, failed
	}
	f := &Finding{Departure: s.at, Script: s.best.script(nil), ICS: c.ics, Step: steps, Times: 1, story: s.best}
	f.Group = f.group()
	i := slices.IndexFunc(c.findings, func(known *Finding) bool { return subsumes(known.Group, f.Group) })
	if i >= 0 && (c.findings[i].Group != f.Group || !f.less(c.findings[i])) {
		c.findings[i].Times++
		return c.findings[i], nil
	}
	if i < 0 {
		causes, err := c.suspect(ctx, f)
		if err != nil {
			return nil, err
		}
		f.causes = causes
		for _, known := range c.findings {
			if both := common(known.causes, f.causes); len(both) > 0 {
				known.causes = both
				known.Times++
				return known, nil
			}
		}
	}
	on, err := c.plainest(ctx, f)
	if err != nil {
		return nil, err
	}
	if err := on.confirm(ctx, f); err != nil || f.Result == nil {
		return nil, err
	}
	if i >= 0 {
		known := c.findings[i]
		f.Times, f.Step, f.causes = known.Times+1, known.Step, known.causes
		*known = *f
		f = known
	} else {
		c.findings = append(c.findings, f)
	}
	if c.options.Found != nil {
		return f, c.options.Found(f)
	}
	return f, nil
}

// group words what failures of one cause have in common when they have been shortened: the clause, in what way it is violated, and the
// inputs, but for the power and the clock at the start, which nearly all have.
func (f *Finding) group() string {
	way := "relay"
	switch {
	case f.Trouble != nil:
		way = f.Trouble.Kind.String()
	case f.isReply():
		way = wire.OutcomeWord(f.Reply)
	case f.Kind == runner.WrongOrder:
		way = "order"
	case f.Signal == spec.SigAlert || f.Signal == spec.SigSounder:
		way = wire.SignalWord(f.Signal)
	}
	var words []string
	clock := false
	for i := range f.story.inputs {
		in := &f.story.inputs[i].in
		switch {
		case in.Kind == spec.PowerOn && len(words) == 0:
		case in.Kind == spec.SetClock && !clock:
			clock = true
		case f.Clause == "PWR-2" && i == len(f.story.inputs)-1:
			// Of the keys that are dead without power one is as good as another.
		default:
			words = append(words, wire.KindWord(in.Kind))
		}
	}
	return f.Clause + " " + way + groupSeparator + strings.Join(words, ", ")
}

const groupSeparator = ": "

// subsumes reports whether a cause explains another: it violates the same clause in the same way by some of the same inputs.
func subsumes(known, group string) bool {
	head, inputs, _ := strings.Cut(known, groupSeparator)
	otherHead, otherInputs, _ := strings.Cut(group, groupSeparator)
	if head != otherHead {
		return false
	}
	if inputs == "" {
		return otherInputs == ""
	}
	rest := strings.Split(otherInputs, ", ")
	for _, word := range strings.Split(inputs, ", ") {
		i := slices.Index(rest, word)
		if i < 0 {
			return false
		}
		rest = rest[i+1:]
	}
	return true
}
