package replay

import (
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// Lane is one thing that a history tells of: a signal of the unit, whether its display can be read, or a point of the plant.
type Lane uint8

// The lanes of the unit. They are followed by the points of the plant: see [PointLane].
const (
	LaneHW      Lane = iota // the hot-water relay
	LaneCH                  // the heating relay
	LaneAlert               // its levels are spec.Stages
	LaneSounder             //
	LaneDisplay             // Dark, Flashing or Readable

	numUnitLanes = iota
)

// NumLanes is how many lanes a history has.
const NumLanes = numUnitLanes + plant.NumPoints

// Levels of LaneDisplay.
const (
	Dark     spec.Level = iota // no power: nothing to be seen
	Flashing                   // the clock is unset
	Readable                   // the clock shows a reading
)

// SignalLane returns the lane of a signal of the unit.
func SignalLane(s spec.Signal) Lane { return Lane(s) }

// PointLane returns the lane of a point of the plant.
func PointLane(p plant.Point) Lane { return numUnitLanes + Lane(p) }

// Point returns the point of the plant that the lane is, if it is one.
func (l Lane) Point() (p plant.Point, ok bool) {
	if l < numUnitLanes {
		return 0, false
	}
	return plant.Point(l - numUnitLanes), true
}
