package replay

import (
	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// Verdict is what comes of holding a statement against a history.
type Verdict uint8

// The verdicts.
const (
	CannotTell Verdict = iota // the history comes so near that lag and blur leave it open, or it says nothing of the kind
	Agrees                    // the history has it so
	Departs                   // the history has it otherwise
)

// Comparison is a statement held against a history.
type Comparison struct {
	Verdict Verdict
	Grade   float64 // 0 the history has it otherwise altogether, 1 it has it just so
	// Likelihood is the probability, given the history, that this source would say this rather than its contrary: see [Likelihood].
	Likelihood float64
	At         int64 // when the history first has it otherwise; of an event or a moment, the middle of the window
	// By is how far off the history is, in seconds, if Near is set: of an event, and of a state at some moment, how long before (negative) or
	// after the window the nearest one came, 0 if blur and lag explain it; of a state throughout, for how much of the window it was not so; of
	// a clock, by how much its reading is ahead of the stated one.
	By    int64
	Near  bool
	Lane  Lane // where to look
	Agree int  // of a rule, how many of its instances agree
	Of    int  // how many of the windows lie within the history
}

// unknown is the comparison with a history that says nothing of the kind.
var unknown = Comparison{Verdict: CannotTell, Grade: 0.5, Likelihood: 0.5}

// Error rates: the probability that a statement is wrong although the source believes it, by how sure the source is. From common sense,
// no source: of a hundred things that people are sure of, some five are not so; of those they are not sure of, three in ten; in between,
// about one in eight.
var mistaken = [complaint.NumSures]float64{complaint.Measured: 0.01, complaint.Certain: 0.05, complaint.Fairly: 0.12, complaint.Unsure: 0.30}

// Likelihood is the model of what a statement is worth: a source that is so sure makes a statement with the probability 1 - e where the
// history has it just so (grade 1), and e where the history has it otherwise (grade 0), with e the rate at which such statements are
// wrong; in between it goes in proportion. 0.5 is worth nothing. Statements are taken to be wrong independently of each other; a rule such
// as 'every weekday' is one statement, however many days it covers.
func Likelihood(sure complaint.Sure, grade float64) float64 {
	e := mistaken[sure]
	return e + (1-2*e)*grade
}

// sense is what a person means by a level: a set of levels of a lane.
type sense struct {
	lane  Lane
	set   uint8 // bit l: level l counts
	click bool  // any change of either relay
}

func (s sense) has(l spec.Level) bool { return s.set>>l&1 == 1 }

func (s sense) not() sense {
	s.set = ^s.set
	return s
}

// senseOf returns where a history has what was sensed, or false if its plant has nothing of the kind.
func (h *History) senseOf(o *complaint.Observation) (sense, bool) {
	s := sense{set: 1 << o.Level}
	switch o.What {
	case complaint.Display:
		s.lane, s.set = LaneDisplay, 1<<Readable
		switch {
		case o.Reading.Blank:
			s.set = 1 << Dark
		case o.Reading.Unset:
			s.set = 1 << Flashing
		}
	case complaint.Click:
		s.click = true
	case complaint.HWValve, complaint.CHValve:
		return h.valve(o)
	case complaint.Room:
		// A thermostat that senses wrongly says nothing of the room, and there is no other witness.
		for i := range h.World.Phases {
			for _, f := range h.World.Phases[i].Plant.Faults {
				if f.Kind == plant.StatReads && f.Contact == plant.RoomStatContact {
					return s, false
				}
			}
		}
		s.lane = PointLane(plant.RoomStat)
		s = sense{lane: s.lane, set: 1 << (1 - o.Level)} // it calls while the room is colder than it asks
	default:
		s.lane = laneOf[o.What]
	}
	// A relay that a unit has not does not close.
	return s, s.click || h.Has[s.lane] || o.What == complaint.HWRelay || o.What == complaint.CHRelay
}

var laneOf = [complaint.NumWhats]Lane{
	complaint.HWRelay: LaneHW, complaint.CHRelay: LaneCH, complaint.Alert: LaneAlert, complaint.Sounder: LaneSounder,
	complaint.Zone2Valve: PointLane(plant.Zone2Valve), complaint.Pump: PointLane(plant.Pump), complaint.Call: PointLane(plant.Call),
	complaint.Flame: PointLane(plant.Flame), complaint.Lockout: PointLane(plant.Lockout), complaint.Immersion: PointLane(plant.ImmersionHeat),
	complaint.Radiators: PointLane(plant.Radiators), complaint.Radiators2: PointLane(plant.Radiators2), complaint.Tap: PointLane(plant.Tap),
}

// valve finds a two-port valve, or what a three-port valve lets through.
func (h *History) valve(o *complaint.Observation) (sense, bool) {
	own, at := PointLane(plant.HWValve), uint8(1<<plant.AtHotWater|1<<plant.AtMiddle)
	if o.What == complaint.CHValve {
		own, at = PointLane(plant.CHValve), 1<<plant.AtHeating|1<<plant.AtMiddle
	}
	s := sense{lane: own, set: 1 << plant.Open}
	if three := PointLane(plant.ThreePort); !h.Has[own] && h.Has[three] {
		s = sense{lane: three, set: at}
	}
	if o.Level == 0 {
		s = s.not()
	}
	return s, h.Has[s.lane]
}

// Compare holds an observation against a history. A rule is held against it instance by instance: it agrees altogether if nine in ten of
// them do, and not at all if half of them or fewer do, since 'every day' is loosely said.
func Compare(h *History, o *complaint.Observation) Comparison {
	return h.compare(o, func(s sense, w complaint.Window) instance { return h.one(o, s, w, notice(o, w)) })
}

// CompareWish holds what is wanted against a history, as [Compare] does an observation; but what is wanted throughout is wanted all of the
// time, and what is wanted off or cold is wanted so throughout: nobody who wants hot water off every day means three quarters of each, or some
// moment. What is wanted at a moment is wanted then: neither memory nor the plant's lag excuses what comes later.
func CompareWish(h *History, o *complaint.Observation) Comparison {
	return h.compare(o, func(s sense, w complaint.Window) instance {
		w.Throughout = w.Throughout || o.Form == complaint.Is && o.Level == 0
		if o.Form == complaint.Is && o.What != complaint.Display && !s.click && w.To-w.From <= 2*w.Blur {
			return h.present(s, w)
		}
		return h.one(o, s, w, leastNoticed(o))
	})
}

// compare compares the windows of an observation one by one.
func (h *History) compare(o *complaint.Observation, one func(sense, complaint.Window) instance) Comparison {
	s, ok := h.senseOf(o)
	if !ok {
		return unknown
	}
	return h.each(&o.When, o.Sure, s.lane, func(w complaint.Window) instance { return one(s, w) })
}

// instance is what comes of one window.
type instance struct {
	grade float64
	at    int64
	by    int64
	near  bool
	lane  Lane
}

// each compares the windows that lie within the history, and sums up.
func (h *History) each(when *complaint.When, sure complaint.Sure, lane Lane, compare func(complaint.Window) instance) Comparison {
	c := Comparison{Lane: lane}
	sum, worst := 0.0, 2.0
	for _, w := range when.Windows {
		if w.To < h.From || w.From > h.To {
			continue
		}
		w.From, w.To = max(w.From, h.From), min(w.To, h.To)
		in := compare(w)
		c.Of++
		sum += in.grade
		if in.grade >= agrees {
			c.Agree++
		}
		// Of a rule the first instance that departs is shown.
		if in.grade < worst && (worst > departs || c.Of == 1) {
			worst = in.grade
			c.At, c.By, c.Near, c.Lane = in.at, in.by, in.near, in.lane
		}
	}
	if c.Of == 0 {
		return unknown
	}
	c.Grade = sum / float64(c.Of)
	if when.Rule && c.Of > 1 {
		c.Grade = min(1, max(0, (c.Grade-0.5)/0.4))
	}
	c.Likelihood = Likelihood(sure, c.Grade)
	switch {
	case c.Grade >= agrees:
		c.Verdict = Agrees
	case c.Grade <= departs:
		c.Verdict = Departs
	}
	return c
}

// Grades from agrees up agree, and up to departs depart.
const (
	agrees  = 0.75
	departs = 0.25
)

// one compares one window, of which so much may go unnoticed.
func (h *History) one(o *complaint.Observation, s sense, w complaint.Window, unnoticed int64) instance {
	switch {
	case s.click:
		return h.clicks(o, w)
	case o.What == complaint.Display && !o.Reading.Blank && !o.Reading.Unset && o.Form != complaint.Becomes:
		in := h.clock(&o.Reading, w)
		if o.Form == complaint.Never {
			in.grade = 1 - in.grade
		}
		return in
	case o.Form == complaint.Becomes:
		return h.event(s, w)
	case o.Form == complaint.Never:
		return h.throughout(s.not(), w, unnoticed)
	case w.Throughout && w.To-w.From > 2*w.Blur:
		return h.throughout(s, w, unnoticed)
	default:
		return h.moment(s, w)
	}
}

// notice is for how much of a window something may be otherwise without anybody's noticing, in seconds. What an instrument logs it misses
// by no more than its own clock; lights and clicks are missed by who looks elsewhere; nobody feels radiators all the time. 'Throughout' is
// said of an evening that is so for three quarters of it, but 'never' of nothing that lasted.
func notice(o *complaint.Observation, w complaint.Window) int64 {
	least := leastNoticed(o)
	if o.Who == complaint.Log || o.Sure == complaint.Measured || o.Form == complaint.Never {
		return least
	}
	return max(least, (w.To-w.From)/4)
}

// leastNoticed is what is noticed of something that is to be so all of a time, however short that is.
func leastNoticed(o *complaint.Observation) int64 {
	switch {
	case o.Who == complaint.Log || o.Sure == complaint.Measured:
		return 30
	case o.What >= complaint.Radiators:
		return 15 * calendar.Minute
	default:
		return 5 * calendar.Minute
	}
}

// lag is by how much what was sensed may come before or after the change that a history has.
func (s sense) lag(to spec.Level) (early, late int64) {
	if p, ok := s.lane.Point(); ok {
		l := plant.LagOf(p, plant.Level(to))
		return int64(l.Early), int64(l.Late)
	}
	return 0, 0
}

// stretches calls yield with each stretch, from and up to, not including, its end, in which the lane is at a level of the set, as far as it
// lies within a reach of the window. The levels are those to which the lane comes at either end.
func (h *History) stretches(s sense, from, to int64, yield func(stretch) bool) {
	changes := h.lanes[s.lane]
	i := after(changes, from)
	level, since := h.Initial[s.lane], h.From
	if i > 0 {
		level, since = changes[i-1].Level, changes[i-1].At
		// What the lane was before may be of the set too.
		for j := i - 1; j >= 0 && s.has(level); j-- {
			before := h.Initial[s.lane]
			if j > 0 {
				before = changes[j-1].Level
			}
			if !s.has(before) {
				break
			}
			if since = h.From; j > 0 {
				since = changes[j-1].At
			}
		}
	}
	on := s.has(level)
	current := stretch{from: since, in: level, open: since == h.From}
	for ; i < len(changes) && changes[i].At <= to; i++ {
		c := &changes[i]
		switch now := s.has(c.Level); {
		case now && !on:
			current, on = stretch{from: c.At, in: c.Level}, true
		case !now && on:
			current.to, current.out = c.At, c.Level
			if on = false; current.to > current.from && !yield(current) {
				return
			}
		}
	}
	if on {
		// How it ends beyond the reach does not matter.
		current.to = h.To + 1
		current.endless = true
		yield(current)
	}
}

// stretch is a time in which a lane is at levels of a set.
type stretch struct {
	from, to int64      // up to, not including, to
	in, out  spec.Level // to which the lane comes at from and at to
	open     bool       // it began before the history
	endless  bool       // it ends after all that matters
}

// throughout compares a state that held for all of a window: the time in which the history has it otherwise, less what lag and blur
// explain, against what may go unnoticed.
func (h *History) throughout(s sense, w complaint.Window, unnoticed int64) instance {
	in := instance{grade: 1, at: w.Middle(), lane: s.lane}
	off := s.not()
	var missing, bare int64
	first := true
	h.stretches(off, w.From, w.To, func(st stretch) bool {
		var begins, ends int64
		if !st.open {
			_, begins = s.lag(st.in)
		}
		if !st.endless {
			ends, _ = s.lag(st.out)
		}
		// A blurred end says nothing of the time next to it.
		from, to := max(st.from, w.From+w.Blur), min(st.to, w.To+1-w.Blur)
		if d := to - from; d > 0 {
			bare += d
		}
		from, to = max(st.from+begins, w.From+w.Blur), min(st.to-ends, w.To+1-w.Blur)
		if d := to - from; d > 0 {
			missing += d
			if first {
				in.at, first = from, false
			}
		}
		return true
	})
	in.by, in.near = missing, missing > 0
	in.grade = max(0, 1-float64(missing)/float64(max(1, unnoticed)))
	if missing == 0 && bare > unnoticed {
		in.grade = agrees // lag alone explains it: it agrees, but no better than that
	}
	return in
}

// reach is how far beyond a window something that nearly falls into it is looked for.
const reach = 12 * calendar.Hour

// moment compares a state that held at some moment of a window.
func (h *History) moment(s sense, w complaint.Window) instance {
	n := nearestTo(w)
	h.stretches(s, w.From-reach, w.To+reach, func(st stretch) bool {
		early, late := int64(0), int64(0)
		if !st.open {
			early, _ = s.lag(st.in)
		}
		if !st.endless {
			_, late = s.lag(st.out)
		}
		n.offer(st.from, st.to-1, early, late)
		return true
	})
	return n.instance(s.lane)
}

// present compares a state that is to be there at some moment of a window, which the history has or has not.
func (h *History) present(s sense, w complaint.Window) instance {
	in := h.moment(s, w)
	in.grade = 0
	h.stretches(s, w.From, w.To, func(st stretch) bool {
		if st.from <= w.To && st.to > w.From {
			in.grade = 1
		}
		return in.grade == 0
	})
	return in
}

// event compares a change that came at some moment of a window.
func (h *History) event(s sense, w complaint.Window) instance {
	n := nearestTo(w)
	h.stretches(s, w.From-reach, w.To+reach, func(st stretch) bool {
		if !st.open && st.from >= w.From-reach {
			early, late := s.lag(st.in)
			n.offer(st.from, st.from, early, late)
		}
		return true
	})
	return n.instance(s.lane)
}

// clicks compares a click, or that there was none.
func (h *History) clicks(o *complaint.Observation, w complaint.Window) instance {
	if o.Form == complaint.Never {
		in := instance{grade: 1, at: w.Middle(), lane: LaneCH}
		for _, l := range [...]Lane{LaneHW, LaneCH} {
			changes := h.lanes[l]
			for i := after(changes, w.From+w.Blur-1); i < len(changes) && changes[i].At <= w.To-w.Blur; i++ {
				if in.grade > 0 || changes[i].At < in.at {
					in = instance{grade: 0, at: changes[i].At, lane: l}
				}
				break
			}
		}
		return in
	}
	best := instance{grade: -1}
	for _, l := range [...]Lane{LaneHW, LaneCH} {
		n := nearestTo(w)
		changes := h.lanes[l]
		for i := after(changes, w.From-reach); i < len(changes) && changes[i].At <= w.To+reach; i++ {
			n.offer(changes[i].At, changes[i].At, 0, 0)
		}
		if in := n.instance(l); in.grade > best.grade {
			best = in
		}
	}
	return best
}

// nearest finds what comes nearest to a window.
type nearest struct {
	window complaint.Window
	best   int64 // how far it is off, blur and lag allowed for
	by     int64 // how far it is off the stated window, signed; 0 within blur and lag
	lag    int64 // on its side
}

func nearestTo(w complaint.Window) nearest { return nearest{window: w, best: calendar.Never} }

// offer considers what lasted from one second to another and may have been sensed so much earlier and later.
func (n *nearest) offer(from, to, early, late int64) {
	var by, lag int64
	switch {
	case to < n.window.From:
		by, lag = to-n.window.From, late
	case from > n.window.To:
		by, lag = from-n.window.To, early
	}
	d := max(0, abs(by)-n.window.Blur-lag)
	if d == 0 {
		by = 0
	}
	if d < n.best || d == n.best && abs(by) < abs(n.by) {
		n.best, n.by, n.lag = d, by, lag
	}
}

func (n *nearest) instance(l Lane) instance {
	in := instance{at: n.window.Middle(), lane: l}
	if n.best == calendar.Never {
		return in
	}
	in.by, in.near = n.by, true
	// Just outside nobody can tell: within as much again as lag or blur, or within a minute.
	in.grade = max(0, 1-float64(n.best)/float64(max(calendar.Minute, n.window.Blur, n.lag)))
	return in
}

func abs(n int64) int64 { return max(n, -n) }
