package plant

import (
	"math/bits"
	"strings"
)

// Terminal is a place where conductors and contacts meet. Which of them a plant has depends on its Plan and on what is fitted:
// see Installation.Terminals.
type Terminal uint8

// The terminals.
const (
	UnitSupply  Terminal = iota // the live side of the unit's isolator: a supply
	PlantSupply                 // the live side of the plant's own isolator, where it has one: a supply
	PlantLive                   // permanent live in the wiring centre
	UnitLive                    // at the unit, for its clock and its relay coils
	HWCommon
	HWOn
	HWOff
	CHCommon
	CHOn
	CHOff
	RoomStatFeed
	RoomStatOut
	RoomStat2Feed // zone 2
	RoomStat2Out
	CylinderStatFeed
	CylinderStatCalls
	CylinderStatSatisfied
	FrostStatFeed
	FrostStatOut
	FrostStatOut2 // second pole, where the boiler needs a feed of its own: GravityUnvalved
	SecondControlFeed
	SecondControlOut
	HWValveMotor
	HWValveEndFeed // the moving side of the end switch
	HWValveEndOpen // the side that is made when the valve stands open
	HWValveEndShut // the side that is made when it does not: GravityValved
	CHValveMotor
	CHValveEndFeed
	CHValveEndOpen
	Zone2ValveMotor
	Zone2ValveEndFeed
	Zone2ValveEndOpen
	MidHeatingFeed // mid-position valve: moves it to the middle
	MidHoldFeed    // with the heating feed, moves it on to heating; alone, holds it
	MidEnd         // fed from the heating feed when it stands at heating
	DiverterMotor
	DiverterEndHW      // joined to the boiler when the diverter stands at hot water
	DiverterEndHeating // joined to the boiler when it stands at heating
	DiverterEndOut
	BoilerLive // permanent live of the boiler
	BoilerCall
	BoilerPump // the boiler's pump output, with pump overrun
	PumpLive
	ImmersionFeed // with OwnCircuit: a supply, see Inputs
	ImmersionLive

	NumTerminals = iota
)

var terminalNames = [NumTerminals]string{
	UnitSupply: "the unit's supply", PlantSupply: "the plant's supply", PlantLive: "the permanent live of the wiring centre",
	UnitLive: "the unit's live terminal", HWCommon: "the unit's hot-water common", HWOn: "the unit's hot-water-on terminal",
	HWOff: "the unit's hot-water-off terminal", CHCommon: "the unit's heating common", CHOn: "the unit's heating-on terminal",
	CHOff: "the unit's heating-off terminal", RoomStatFeed: "the room thermostat's feed", RoomStatOut: "the room thermostat's output",
	RoomStat2Feed: "the feed of zone 2's room thermostat", RoomStat2Out: "the output of zone 2's room thermostat",
	CylinderStatFeed: "the cylinder thermostat's feed", CylinderStatCalls: "the cylinder thermostat's calling side",
	CylinderStatSatisfied: "the cylinder thermostat's satisfied side", FrostStatFeed: "the frost thermostat's feed",
	FrostStatOut: "the frost thermostat's output", FrostStatOut2: "the frost thermostat's second output",
	SecondControlFeed: "the second time control's feed", SecondControlOut: "the second time control's output",
	HWValveMotor: "the hot-water valve's motor", HWValveEndFeed: "the moving side of the hot-water valve's end switch",
	HWValveEndOpen: "the open side of the hot-water valve's end switch", HWValveEndShut: "the shut side of the hot-water valve's end switch",
	CHValveMotor: "the heating valve's motor", CHValveEndFeed: "the feed of the heating valve's end switch",
	CHValveEndOpen: "the open side of the heating valve's end switch", Zone2ValveMotor: "zone 2's valve motor",
	Zone2ValveEndFeed: "the feed of zone 2's end switch", Zone2ValveEndOpen: "the open side of zone 2's end switch",
	MidHeatingFeed: "the mid-position valve's heating feed", MidHoldFeed: "the mid-position valve's hold feed",
	MidEnd: "the mid-position valve's end switch output", DiverterMotor: "the diverter's motor",
	DiverterEndHW:      "the hot-water side of the diverter's end switch",
	DiverterEndHeating: "the heating side of the diverter's end switch", DiverterEndOut: "the moving side of the diverter's end switch",
	BoilerLive: "the boiler's permanent live", BoilerCall: "the boiler's call terminal", BoilerPump: "the boiler's pump output",
	PumpLive: "the pump", ImmersionFeed: "the immersion heater's feed", ImmersionLive: "the immersion heater",
}

// String returns the terminal's name, such as "the unit's heating-on terminal".
func (t Terminal) String() string {
	if t < NumTerminals {
		return terminalNames[t]
	}
	return "no terminal"
}

// Terminals is a set of terminals.
type Terminals uint64

// Has reports whether t is in the set.
func (s Terminals) Has(t Terminal) bool { return s>>t&1 != 0 }

// Len returns how many terminals are in the set.
func (s Terminals) Len() int { return bits.OnesCount64(uint64(s)) }

// String lists the terminals' names, parted by commas.
func (s Terminals) String() string {
	var names []string
	for t := range Terminal(NumTerminals) {
		if s.Has(t) {
			names = append(names, t.String())
		}
	}
	return strings.Join(names, ", ")
}

func terminals(ts ...Terminal) (s Terminals) {
	for _, t := range ts {
		s |= 1 << t
	}
	return s
}
