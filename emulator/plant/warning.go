package plant

import "strings"

// WarningKind is a dangerous or harmful set-up.
type WarningKind uint8

// The warnings.
const (
	ImmersionOnRelay  WarningKind = iota
	TwoSupplies                   // two supplies without one isolator
	LiveWithoutUnit               // the unit's outputs stay live with the unit's own mains off
	BackFed                       // an output of the unit is live that its relay does not feed, and would not be in a sound plant
	UnventedOnGravity             // an unvented cylinder whose heat no valve stops
	Scalding                      // hot water is stored so hot that a tap scalds
	TepidCylinder                 // hot water is stored cooler than hygiene asks
	NoFrostProtection             // a holiday, or an empty house, without a frost thermostat
	NoInterlock                   // see CheckInterlock

	NumWarnings = iota
)

// Use is how the house is used, as far as warnings depend on it.
type Use struct {
	Holiday bool // a holiday is set, or the house stands empty
}

// Warning is one of them, with words.
type Warning struct {
	Kind    WarningKind
	Danger  bool   // to persons; else harm to the plant, or waste
	Words   string // what it is, why it matters, what to do
	Caution string // what to heed before anything is opened, and who may do it
}

// Caution stands beside every warning, and belongs wherever advice leads to a wiring centre or a boiler.
const Caution = "Isolate every supply and prove dead before anything is opened. Mains wiring is for competent persons, gas and unvented " +
	"hot water for registered ones. Local codes rule."

// Stored hot water: 60 °C against legionella, and above 65 °C taps need protection against scalding. From memory of what health and
// safety authorities advise.
const (
	hygienic = 60 * Celsius
	scalding = 65 * Celsius
)

// Warnings returns everything dangerous or harmful in the installation, faults included, dangers first. It allocates.
func Warnings(in *Installation, use Use) ([]Warning, error) {
	lock, err := CheckInterlock(in)
	if err != nil {
		return nil, err
	}
	var dangers, others []Warning
	warn := func(k WarningKind, danger, applies bool, words string) {
		switch w := (Warning{Kind: k, Danger: danger, Words: words, Caution: Caution}); {
		case applies && danger:
			dangers = append(dangers, w)
		case applies:
			others = append(others, w)
		}
	}
	warn(ImmersionOnRelay, true, in.Immersion.Wired == OnHWRelay,
		"An immersion heater hangs on the unit's hot-water relay. A heater of 3 kW draws some 13 A, which welds or burns a relay rated for valves "+
			"and a pump; a welded relay heats without end. Take it off, and give it a circuit, a double-pole switch and a safety thermostat of its own.")
	warn(TwoSupplies, true, in.Supply == VoltFreeApart,
		"Unit and plant have two supplies, and no one isolator parts both: with the unit isolated its terminals are still live. Feed both from one "+
			"double-pole isolator, and until then label both covers.")
	if live := in.liveWithoutUnit(); live != 0 {
		warn(LiveWithoutUnit, true, true, "With mains off at the unit alone, these are still live: "+live.String()+". A dark display does not mean a dead unit.")
	}
	if fed := in.backFed(); fed != 0 {
		warn(BackFed, true, true, "These are live at times when their relay does not feed them: "+fed.String()+". Something is bridged, crossed or stuck; find it.")
	}
	warn(UnventedOnGravity, true, in.Unvented && in.Plan == GravityUnvalved,
		"An unvented cylinder is heated by gravity circulation with no valve: nothing stops the heat when the cylinder is hot. Take it out of use until "+
			"a registered person has fitted a thermal cut-out with a motor valve.")
	hottest, coolest := in.stored()
	warn(Scalding, true, hottest > scalding,
		"Hot water is stored above 65 °C: taps scald. Lower the thermostat to 60 °C, or fit mixing valves.")
	warn(TepidCylinder, true, coolest < hygienic,
		"Hot water is stored below 60 °C, at which legionella is not held down. Set the cylinder thermostat to 60 °C, with mixing valves where "+
			"children or frail people use the taps.")
	warn(NoFrostProtection, false, use.Holiday && !in.Frost.Fitted,
		"The house stands empty with both channels off and nothing calls for heat in frost: pipes may burst. Fit a frost thermostat, or leave "+
			"heating in its table with the room thermostat turned down.")
	warn(NoInterlock, false, !lock.Holds(), "There is no boiler interlock: "+lock.words()+". It wastes fuel, and can overheat the plant.")
	return append(dangers, others...), nil
}

// words says why there is no interlock.
func (i Interlock) words() string {
	var why []string
	if i.Unsatisfied {
		why = append(why, "with hot water on, nothing stops the boiler when the cylinder is hot")
	}
	if i.Unroomed {
		why = append(why, "with heating on, nothing stops the boiler when the room is warm")
	}
	for _, l := range i.Leaks {
		if !l.Meant {
			words := l.Load.String() + " runs with both relays at rest"
			if len(l.Path) > 0 {
				var names []string
				for _, c := range l.Path {
					names = append(names, c.String())
				}
				words += ", through " + and(names)
			}
			why = append(why, words)
		}
	}
	return strings.Join(why, "; ")
}

// outputs are the terminals that the unit's relays feed.
var outputs = terminals(HWOn, HWOff, CHOn, CHOff)

// liveWithoutUnit returns the unit's terminals that are live with mains off at the unit alone.
func (in *Installation) liveWithoutUnit() (s Terminals) {
	if in.Supply == SwitchesMains {
		return 0
	}
	in.each(false, func(f forced) {
		p, _, _ := in.stand(Inputs{PlantPower: true}, f, Inputs{PlantPower: true}, f)
		s |= p.Live() & (outputs | terminals(HWCommon, CHCommon, UnitLive))
	})
	return s
}

// backFed returns the unit's outputs that are live at some time though their relay does not feed them, and are not so in a sound plant.
func (in *Installation) backFed() (s Terminals) {
	if in.Faults == [MaxFaults]Fault{} {
		return 0
	}
	sound := *in
	sound.Faults = [MaxFaults]Fault{}
	for _, inputs := range in.demands() {
		in.each(false, func(f forced) {
			p, _, _ := in.stand(inputs, calling, inputs, f)
			q, _, _ := sound.stand(inputs, calling, inputs, f)
			s |= p.unfed() &^ q.unfed()
		})
	}
	return s
}

// unfed returns the outputs that are live though the relay contact that feeds them is at the other side, or its common dead.
func (p *Plant) unfed() (s Terminals) {
	for _, c := range []Contact{HWRelayOn, HWRelayOff, CHRelayOn, CHRelayOff} {
		common, out := c.Ends()
		if p.nets.has(p.live, out) && !(p.relays.Has(c) && p.nets.has(p.live, common)) {
			s |= 1 << out
		}
	}
	return s
}

// stored returns the highest and the lowest temperature at which hot water is kept by a thermostat; none counts as hygienic.
func (in *Installation) stored() (hottest, coolest Temp) {
	hottest, coolest = hygienic, hygienic
	see := func(t Temp) { hottest, coolest = max(hottest, t), min(coolest, t) }
	if in.Has(CylinderStat) {
		see(in.Cylinder.Setting)
	}
	if in.Has(ImmersionHeat) {
		see(in.Immersion.Setting)
	}
	return hottest, coolest
}
