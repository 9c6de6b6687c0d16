package plant

// Practice is how fast things happen and how warm they get. The zero value stands for DefaultPractice.
type Practice struct {
	ValveOpens uint16 // s, motor: from one end to the other; at least 1, likewise the next five
	ValveShuts uint16 // s, spring
	Ignition   uint16 // s from call to flame
	Trial      uint16 // s from call to lockout where no flame comes
	DeadHead   uint16 // s of flame until the boiler's own thermostat stops it where no water carries its heat away
	Relight    uint16 // s after which it relights

	Flow            Temp   // water leaving the boiler
	RadiatorsTau    uint32 // s, time constant of radiators, 60 to 1000000; likewise the others
	RoomTau         uint32 // s, of the house
	RoomLift        Temp   // how far above outdoors the room would settle with heating always on
	CylinderTau     uint32 // s, pumped
	GravityTau      uint32 // s, by gravity circulation
	CylinderLossTau uint32 // s
	ImmersionTau    uint32 // s
	Cold            Temp   // mains water
	Indoors         Temp   // round radiators and cylinder
	Warm, Cool      Temp   // radiators feel warm from Warm up, cold from Cool down
	TapHot, TapCold Temp   // the tap runs hot from TapHot up, cold from TapCold down
}

// DefaultPractice returns usual values. All are common practice, no source, chosen so that radiators are warm some seven minutes after
// the flame, a cylinder of 120 l takes an hour from cold, an immersion heater of 3 kW two hours, and a house that has cooled overnight
// two hours.
func DefaultPractice() Practice {
	return Practice{
		ValveOpens: 20, ValveShuts: 8, Ignition: 15, Trial: 60, DeadHead: 180, Relight: 600,
		Flow: 70 * Celsius, RadiatorsTau: 15 * 60, RoomTau: 18 * 3600, RoomLift: 60 * Celsius,
		CylinderTau: 35 * 60, GravityTau: 70 * 60, CylinderLossTau: 60 * 3600, ImmersionTau: 2 * 3600,
		Cold: 12 * Celsius, Indoors: 20 * Celsius, Warm: 38 * Celsius, Cool: 30 * Celsius, TapHot: 43 * Celsius, TapCold: 38 * Celsius,
	}
}

// Lag is by how much a sensed change may come before or after the modelled one, s.
type Lag struct{ Early, Late uint32 }

// LagOf returns the tolerance band of a point's change to a level: by how much houses and hands differ from DefaultPractice. A
// comparison that falls within it agrees; one that falls outside it by less than as much again cannot tell. Common practice, no source.
func LagOf(p Point, to Level) Lag {
	const minute = 60
	switch p {
	case Radiators, Radiators2:
		if to == On {
			return Lag{Early: 6 * minute, Late: 25 * minute}
		}
		return Lag{Early: 15 * minute, Late: 60 * minute}
	case Tap:
		if to == On {
			return Lag{Early: 30 * minute, Late: 90 * minute}
		}
		return Lag{Early: 4 * 60 * minute, Late: 12 * 60 * minute}
	case RoomStat, RoomStat2:
		return Lag{Early: 90 * minute, Late: 180 * minute}
	case CylinderStat, ImmersionHeat:
		return Lag{Early: 40 * minute, Late: 90 * minute}
	case Flame:
		// A boiler's own thermostat cycles it under a call, and its purge takes longer on one than on another.
		return Lag{Early: 1 * minute, Late: 10 * minute}
	case HWValve, CHValve, Zone2Valve, ThreePort:
		return Lag{Early: 30, Late: 2 * minute}
	case Pump:
		return Lag{Early: 30, Late: 10 * minute}
	default:
		return Lag{Early: 5, Late: 2 * minute}
	}
}
