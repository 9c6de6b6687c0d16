package plant

// Point is something of the plant that can be sensed or measured.
type Point uint8

// The points, and their levels: Off and On unless something else is said.
const (
	UnitMains     Point = iota // mains at the unit's own terminals: Off, and the display lives on its reserve
	RoomStat                   // On: its contact calls
	RoomStat2                  // likewise, zone 2
	CylinderStat               // likewise
	FrostStat                  // likewise
	SecondTime                 // the second time control, likewise
	HWValve                    // Shut, Moving, Open
	CHValve                    // likewise
	Zone2Valve                 // likewise
	ThreePort                  // mid-position valve or diverter: AtHotWater, Moving, AtMiddle, AtHeating
	Call                       // the boiler's call terminal is live
	Flame                      // the burner burns
	Lockout                    // the boiler has locked out
	Pump                       // the pump turns
	ImmersionHeat              // the immersion heater draws current
	Radiators                  // warm to the touch; with TwoZones those of zone 1
	Radiators2                 // zone 2
	Tap                        // the hot tap runs hot (or would)
	NumPoints     = iota
)

// Level is what a point shows.
type Level uint8

// The levels of points that are on or off.
const (
	Off Level = 0
	On  Level = 1
)

// The levels of valves.
const (
	Shut       Level = 0
	Open       Level = 1
	Moving     Level = 2 // between its positions, under way or held there
	AtHotWater Level = 3
	AtMiddle   Level = 4
	AtHeating  Level = 5
)

// Change is one point's change, with its reason.
type Change struct {
	At    int64 // second since 2000-01-01T00:00 UTC
	Point Point
	Level Level
	Why   Why
}

var points = [NumPoints]struct{ name, off, on string }{
	UnitMains: {"mains at the unit", "off", "on"},
	RoomStat:  {"the room thermostat", "satisfied", "calling"}, RoomStat2: {"zone 2's room thermostat", "satisfied", "calling"},
	CylinderStat: {"the cylinder thermostat", "satisfied", "calling"}, FrostStat: {"the frost thermostat", "satisfied", "calling"},
	SecondTime: {"the second time control", "off", "on"},
	HWValve:    {"the hot-water valve", "shut", "open"}, CHValve: {"the heating valve", "shut", "open"}, Zone2Valve: {"zone 2's valve", "shut", "open"},
	ThreePort: {"the three-port valve", "", ""},
	Call:      {"the boiler's call", "off", "on"}, Flame: {"the flame", "out", "burning"}, Lockout: {"the boiler's lockout", "off", "on"},
	Pump: {"the pump", "off", "running"}, ImmersionHeat: {"the immersion heater", "off", "heating"},
	Radiators: {"the radiators", "cold", "warm"}, Radiators2: {"zone 2's radiators", "cold", "warm"}, Tap: {"the hot tap", "cold", "hot"},
}

// String returns the point's name, such as "the heating valve".
func (p Point) String() string {
	if p < NumPoints {
		return points[p].name
	}
	return "no point"
}

// Word returns the level in words as the point has it, such as "warm" for Radiators.
func (p Point) Word(l Level) string {
	switch {
	case l == Moving:
		return "between positions"
	case l == AtHotWater:
		return "at hot water"
	case l == AtMiddle:
		return "in the middle"
	case l == AtHeating:
		return "at heating"
	case p >= NumPoints:
		return ""
	case l == Off:
		return points[p].off
	default:
		return points[p].on
	}
}

// levels holds the level of every point, three bits each.
type levels uint64

func (l levels) of(p Point) Level { return Level(l >> (3 * p) & 7) }

// on returns the point on, if it is.
func on(p Point, is bool) levels {
	if is {
		return 1 << (3 * p)
	}
	return 0
}
