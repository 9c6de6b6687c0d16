package replay

import (
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// Change is one lane's change.
type Change struct {
	At    int64  // true second
	Seq   uint32 // orders all changes of a history, those of one instant included
	Lane  Lane
	Level spec.Level // of a point of the plant, its plant.Level
	Why   Why
}

// Why is the reason of a change. [History.Why] puts it into words.
type Why struct {
	Unit    spec.Change // of a lane of the unit; its At is the unit's own elapsed second
	Plant   plant.Why   // of a point of the plant
	Act     int32       // the index of the act under way, or -1
	Phase   int32       // the index of the phase under way
	Boosted bool        // the act is an override that came while a boost ran on its channel
}

// Done is what became of an act.
type Done struct {
	Act   int // its index
	At    int64
	Reply spec.Reply // of an act at the unit; of others it is accepted
}

// State is what a unit remembers and can be made to show, from an instant on. One is entered wherever any of it may have changed.
type State struct {
	At    int64
	Phase int
	Facts emulator.Facts
}

// History is all that happened in a world. Only [Run] makes one. It belongs to the [Buffers] it was made with, and is good until those
// are used again: [History.Clone] makes one that lasts.
type History struct {
	World    World
	From, To int64
	Initial  [NumLanes]spec.Level // at From, before any act
	Has      [NumLanes]bool       // whether the lane is there in any phase
	Done     []Done               // in the order of the acts; those outside the history are not done
	States   []State              // in order of time; the first at From
	Work     int                  // what living through it took: in how many seconds something was due in the plant

	lanes  [NumLanes][]Change
	clocks []clockRun
}

// clockRun is a stretch in which the unit's clock runs on evenly.
type clockRun struct {
	from    int64 // true second
	crystal crystal
	base    int64 // the reading is base + the unit's elapsed second
	level   spec.Level
}

// Changes returns the changes of a lane in order. They are read only.
func (h *History) Changes(l Lane) []Change { return h.lanes[l] }
