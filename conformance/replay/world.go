package replay

import (
	"slices"

	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// World is what is taken to be the case: the unit, its settings, its clock, the plant, and what was done. It is a plain value. A copy
// shares the slices, so change them through the methods, which copy first, or with [World.Clone].
//
// Instants are seconds of true UTC since 2000-01-01T00:00, at least 0.
type World struct {
	From, To   int64
	Zone       int16 // the household's standard offset from UTC in minutes; for reading times, the unit has its own
	SummerTime bool  // likewise

	Phases []Phase     // in order of time, at least one; the first holds from From on, whatever its own From says
	Warmth plant.Start // how warm everything is at From; At does not count
	Acts   []Act       // in order of time
}

// Phase is a time during which the set-up stays as it is.
type Phase struct {
	From  int64
	ICS   spec.ICS // with what is fitted at the back
	Plant plant.Installation
	// Start is how the unit begins the phase. Nil, which the first phase must not have, stands for the unit as the phase before left it: if
	// it is fitted otherwise, with a cut of 0 seconds in which that was done.
	Start *Start
}

// Start is the state in which a unit begins a phase. Treat it as read only once a World has it: worlds share it.
type Start struct {
	// Facts are the modes, tables, override, boost, holiday and lock. Now, Powered, ClockStopped, Stopped, ReserveLeft, Back, Fitted,
	// ClockSet, UTC and Shown do not count: they follow from the rest. The unit has power.
	Facts emulator.Facts

	ClockUnset bool
	ClockError int64 // s by which what the unit takes UTC to be is ahead of true UTC at the phase's beginning
	Drift      int32 // parts per million by which the unit's clock gains (loses, if negative); less than a million either way
}

// Deed is what kind of act an act is.
type Deed uint8

// The deeds. The comments name the fields of [Act] that count.
const (
	AtUnit       Deed = iota // Input: at the unit; spec.PowerOff and spec.PowerOn are the mains of the house
	AtIsolator               // On: the unit's own isolator; the plant keeps its supply where it has one of its own
	AtThermostat             // Contact, Setting: a thermostat of the plant is turned
	AtImmersion              // On: the immersion heater's switch, and its own circuit
	AtBoiler                 // the boiler is reset
	AtTap                    // Draw: hot water is drawn beyond the daily draws

	numDeeds = iota
)

// Act is something done, at one instant.
type Act struct {
	At      int64
	Deed    Deed
	Input   spec.Input
	Contact plant.Contact // RoomStatContact, RoomStat2Contact, CylinderStatCallsContact or FrostStatContact
	Setting plant.Temp
	On      bool
	Draw    plant.Draw

	Claim int // the index of the complaint's act that it comes from, or -1
}

// Clone returns a copy that shares nothing but the starts of phases.
func (w World) Clone() World {
	w.Phases = slices.Clone(w.Phases)
	w.Acts = slices.Clone(w.Acts)
	return w
}

// Add returns the world with an act more, after those of the same instant.
func (w World) Add(a Act) World {
	i := 0
	for i < len(w.Acts) && w.Acts[i].At <= a.At {
		i++
	}
	w.Acts = slices.Concat(w.Acts[:i], []Act{a}, w.Acts[i:])
	return w
}

// Without returns the world without the act with the index.
func (w World) Without(i int) World {
	w.Acts = slices.Concat(w.Acts[:i], w.Acts[i+1:])
	return w
}

// Replace returns the world with another act in place of the one with the index.
func (w World) Replace(i int, a Act) World { return w.Without(i).Add(a) }

// EachPhase returns the world with every phase changed.
func (w World) EachPhase(change func(*Phase)) World {
	w.Phases = slices.Clone(w.Phases)
	for i := range w.Phases {
		change(&w.Phases[i])
	}
	return w
}

// EachStart returns the world with the start of every phase that has one changed.
func (w World) EachStart(change func(*Start)) World {
	return w.EachPhase(func(p *Phase) {
		if p.Start != nil {
			start := *p.Start
			change(&start)
			p.Start = &start
		}
	})
}
