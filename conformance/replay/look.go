package replay

import (
	"fmt"
	"iter"
	"slices"
	"sort"

	"example.org/hearthbench/conformance/explain"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// Level returns a lane's level at a true second, after everything that happens in it.
func (h *History) Level(l Lane, at int64) spec.Level {
	changes := h.lanes[l]
	if i := after(changes, at); i > 0 {
		return changes[i-1].Level
	}
	return h.Initial[l]
}

// after returns the index of the first change after a true second.
func after(changes []Change, at int64) int {
	return sort.Search(len(changes), func(i int) bool { return changes[i].At > at })
}

// Reading returns what the unit's clock reads at a true second, in seconds since 2000-01-01T00:00 of its own civil time, and what is to be
// seen of it: with Dark or Flashing the reading says nothing.
func (h *History) Reading(at int64) (reading int64, shown spec.Level) {
	i := sort.Search(len(h.clocks), func(i int) bool { return h.clocks[i].from > at })
	run := &h.clocks[max(0, i-1)]
	if run.level != Readable {
		return 0, run.level
	}
	return run.base + int64(run.crystal.unitAt(max(at, run.from))), Readable
}

// State returns what the unit remembers at a true second, after everything that happens in it. Of its facts, what runs on by itself (time,
// boost, the lock's count) is as it was at the state's own At.
func (h *History) State(at int64) *State { return &h.States[h.stateAt(at)] }

func (h *History) stateAt(at int64) int {
	return max(0, sort.Search(len(h.States), func(i int) bool { return h.States[i].At > at })-1)
}

// All returns the changes from one true second up to and including another, in the order in which they came.
func (h *History) All(from, to int64) iter.Seq[*Change] {
	return func(yield func(*Change) bool) {
		var next [NumLanes]int
		for l := range next {
			next[l] = after(h.lanes[l], from-1)
		}
		for {
			var first *Change
			lane := 0
			for l := range next {
				if i := next[l]; i < len(h.lanes[l]) && (first == nil || h.lanes[l][i].Seq < first.Seq) {
					first, lane = &h.lanes[l][i], l
				}
			}
			if first == nil || first.At > to || !yield(first) {
				return
			}
			next[lane]++
		}
	}
}

// Why says in plain words why a change came about, as in "period 1 begins (MOD-2)", or for the plant with the chain of what is live
// through what.
func (h *History) Why(c *Change) string {
	phase := &h.World.Phases[c.Why.Phase]
	if p, ok := c.Lane.Point(); ok {
		return phase.Plant.Because(plant.Change{At: c.At, Point: p, Level: plant.Level(c.Level), Why: c.Why.Plant})
	}
	if c.Lane == LaneDisplay {
		return [...]string{
			Dark: "no power (PWR-1)", Flashing: "the clock is unset until somebody sets it (CLK-11)", Readable: "the clock is set and has power (CLK-1)",
		}[c.Level]
	}
	unit := explain.Unit{
		Coupling: h.State(c.At).Facts.Fitted.Coupling, Programmed: phase.ICS.OverrideProgrammed, Boosted: c.Why.Boosted, Before: h.before(c),
	}
	if a := c.Why.Act; a >= 0 && h.World.Acts[a].Deed == AtUnit {
		unit.Input = &h.World.Acts[a].Input
	}
	return explain.Change(c.Why.Unit, unit)
}

// before returns the unit's changes that came in the same second, and by the same act, before another.
func (h *History) before(c *Change) []spec.Change {
	var all []spec.Change
	for o := range h.All(c.At, c.At) {
		if o.Seq >= c.Seq {
			break
		}
		if o.Lane < LaneDisplay && o.Why.Act == c.Why.Act {
			all = append(all, o.Why.Unit)
		}
	}
	return all
}

// Refused says why the unit turned an act down, and "" of one that it accepted.
func (h *History) Refused(d Done) string {
	a := &h.World.Acts[d.Act]
	if a.Deed != AtUnit || d.Reply.Outcome == spec.Accepted {
		return ""
	}
	return explain.Refusal(d.Reply.Refusal, a.Input, &h.World.Phases[h.State(d.At).Phase].ICS)
}

// Clone returns a copy that lasts.
func (h *History) Clone() *History {
	c := *h
	c.World = h.World.Clone()
	c.Done, c.States, c.clocks = slices.Clone(h.Done), slices.Clone(h.States), slices.Clone(h.clocks)
	for l := range c.lanes {
		c.lanes[l] = slices.Clone(h.lanes[l])
	}
	return &c
}

// String returns the lane's name, such as "the heating relay" or "the radiators".
func (l Lane) String() string {
	if p, ok := l.Point(); ok {
		return p.String()
	}
	return laneNames[l]
}

var laneNames = [numUnitLanes]string{"the hot-water relay", "the heating relay", "the alert", "the sounder", "the display"}

// Word returns a level in words as the lane has it, such as "closed" or "warm".
func (l Lane) Word(level spec.Level) string {
	if p, ok := l.Point(); ok {
		return p.Word(plant.Level(level))
	}
	if l == LaneAlert {
		return wire.LevelWord(spec.SigAlert, level)
	}
	if words := levelWords[l]; int(level) < len(words) {
		return words[level]
	}
	return fmt.Sprintf("at %d", level)
}

var levelWords = [numUnitLanes][]string{
	LaneHW:      {"open", "closed"},
	LaneCH:      {"open", "closed"},
	LaneSounder: {"silent", "sounding"},
	LaneDisplay: {"dark", "flashing", "readable"},
}
