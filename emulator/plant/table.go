package plant

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
)

// Row is one line of a live-terminal table: what stands live, and what runs, once everything has come to rest.
type Row struct {
	Inputs                Inputs
	Room, Room2, Cylinder bool // the thermostat calls; false where none is fitted
	Live                  Terminals
	Pump, Call            bool     // the pump is live, the boiler is called
	Valves                [4]Level // of HWValve, CHValve, Zone2Valve, ThreePort
	// Held is set where a mid-position valve holds: it stays where it last was, and the row shows it where the same demand with every
	// thermostat calling had brought it.
	Held bool
	// Unsettled is set where the wiring undoes itself, as with an end switch that feeds its own motor, and never comes to rest.
	Unsettled bool
}

// LiveTable returns a row for each demand (supplies, hw, ch) and state of the thermostats that are fitted, each after the row's own
// demand with the thermostats calling. A frost thermostat is satisfied and a second time control off. It allocates.
func LiveTable(in *Installation) ([]Row, error) {
	if err := in.Validate(); err != nil {
		return nil, err
	}
	var rows []Row
	for _, inputs := range in.demands() {
		in.each(false, func(f forced) {
			p, rests, _ := in.stand(inputs, calling, inputs, f)
			rows = append(rows, p.row(f, rests))
		})
	}
	return rows, nil
}

// demands returns every demand with mains everywhere, and each way to lack mains.
func (in *Installation) demands() (list []Inputs) {
	for _, hw := range []bool{false, true} {
		for _, ch := range []bool{false, true} {
			list = append(list, Inputs{HW: hw, CH: ch, UnitPower: true, PlantPower: true})
		}
	}
	switch in.Supply {
	case VoltFree:
		list = append(list, Inputs{PlantPower: true})
	case VoltFreeApart:
		list = append(list, Inputs{PlantPower: true}, Inputs{UnitPower: true})
	}
	return append(list, Inputs{})
}

func (p *Plant) row(f forced, rests bool) Row {
	r := Row{
		Inputs: p.inputs, Live: p.Live(), Pump: p.nets.has(p.live, PumpLive), Call: p.called(),
		Room: f.room, Room2: f.room2, Cylinder: f.cylinder, Unsettled: !rests,
	}
	for i := range p.valves {
		if p.fitted>>i&1 != 0 {
			r.Valves[i] = p.valveLevel(i)
		}
	}
	r.Held = p.in.Plan == MidPosition && r.Live.Has(MidHoldFeed) && !r.Live.Has(MidHeatingFeed)
	return r
}

// columns are the terminals that a printed table shows.
var columns = []struct {
	t    Terminal
	head string
}{
	{HWOn, "hw-on"}, {HWOff, "hw-off"}, {CHOn, "ch-on"}, {CHOff, "ch-off"},
	{HWValveMotor, "hw-motor"}, {CHValveMotor, "ch-motor"}, {Zone2ValveMotor, "zone2-motor"},
	{MidHeatingFeed, "heating-feed"}, {MidHoldFeed, "hold-feed"}, {DiverterMotor, "diverter"},
	{BoilerCall, "call"}, {PumpLive, "pump"}, {ImmersionLive, "immersion"},
}

// WriteTable writes a live-terminal table as text, a line for each row: the mains of unit and plant, the demand of hw and ch, which
// thermostats call, which terminals are live ("L"), and where the valves stand. It fails if w does.
func WriteTable(w io.Writer, in *Installation, rows []Row) error {
	tab := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	line := func(cells []string) { fmt.Fprintln(tab, strings.TrimRight(strings.Join(cells, "\t"), " \t")) }
	has := in.Terminals()
	stats := []struct {
		p    Point
		head string
		of   func(*Row) bool
	}{
		{RoomStat, "room", func(r *Row) bool { return r.Room }}, {RoomStat2, "room2", func(r *Row) bool { return r.Room2 }},
		{CylinderStat, "cylinder", func(r *Row) bool { return r.Cylinder }},
	}
	head := []string{"mains", "hw", "ch"}
	for _, s := range stats {
		if in.Has(s.p) {
			head = append(head, s.head)
		}
	}
	for _, c := range columns {
		if has.Has(c.t) {
			head = append(head, c.head)
		}
	}
	line(append(head, "valves"))
	for i := range rows {
		r := &rows[i]
		cells := []string{r.mains(in), digit(r.Inputs.HW), digit(r.Inputs.CH)}
		for _, s := range stats {
			if in.Has(s.p) {
				cells = append(cells, map[bool]string{true: "calls", false: "satisfied"}[s.of(r)])
			}
		}
		for _, c := range columns {
			if has.Has(c.t) {
				cells = append(cells, map[bool]string{true: "L", false: "-"}[r.Live.Has(c.t)])
			}
		}
		line(append(cells, r.valves(in)))
	}
	return tab.Flush()
}

func digit(on bool) string {
	if on {
		return "1"
	}
	return "0"
}

func (r *Row) mains(in *Installation) string {
	switch {
	case !r.Inputs.UnitPower && !r.Inputs.PlantPower:
		return "none"
	case in.Supply == SwitchesMains || r.Inputs.UnitPower && r.Inputs.PlantPower:
		return "on"
	case r.Inputs.UnitPower:
		return "unit only"
	default:
		return "plant only"
	}
}

func (r *Row) valves(in *Installation) string {
	var words []string
	for i, p := range valvePoints {
		if in.Has(p) {
			words = append(words, p.String()+" "+p.Word(r.Valves[i]))
		}
	}
	if r.Held {
		words = append(words, "held where it was")
	}
	if r.Unsettled {
		words = append(words, "never comes to rest")
	}
	return strings.Join(words, ", ")
}
