package diagnosis

import (
	"fmt"

	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/plant"
)

// wiring are the faults that the installation can have, from the beginning or from some time on.
func (b *builder) wiring() {
	last := &b.base.Phases[len(b.base.Phases)-1]
	faults := last.Plant.PossibleFaults()
	count := map[plant.FaultKind]float64{} // by shares
	for _, f := range faults {
		count[f.Kind] += usual(f)
	}
	room := true
	for i := range b.base.Phases {
		room = room && free(&b.base.Phases[i].Plant)
	}
	if !room {
		return
	}
	at := b.onsets()
	for _, f := range faults {
		var variants []variant
		sizes := sizes(f)
		for _, o := range at {
			for _, g := range sizes {
				words := b.since(o)
				if g != f {
					words = fmt.Sprintf("by %v %s", g.By, words)
				}
				variants = append(variants, simply(words, func(w replay.World) replay.World {
					return from(w, o.at, func(p *replay.Phase) { p.Plant = withFault(p.Plant, g) })
				}).of(o.share/float64(len(sizes))))
			}
		}
		family, weight := faultWeight(f.Kind)
		b.add(cause{
			id: faultID(f), family: family, words: f.String(), weight: weight * usual(f) / count[f.Kind], cure: faultCure(f),
		}, variants...)
	}
}

// usual is how usual a fault is among those of its kind: motors of valves fail more often than what else is driven or lit.
func usual(f plant.Fault) float64 {
	if f.Kind == plant.Dead && (f.Load == plant.PumpLoad || f.Load == plant.BoilerLoad) {
		return 0.35
	}
	return 1
}

// sizes returns the fault in the sizes that it may have. Of how far a thermostat is out only the way is anybody's guess.
func sizes(f plant.Fault) []plant.Fault {
	if f.Kind != plant.StatReads {
		return []plant.Fault{f}
	}
	more := f
	more.By *= 2
	return []plant.Fault{f, more}
}

// free reports whether the installation has room for two faults more: a pair of hypotheses may need both.
func free(in *plant.Installation) bool {
	n := 0
	for _, f := range in.Faults {
		if f.Kind == plant.NoFault {
			n++
		}
	}
	return n >= 2
}

// withFault returns the installation with a fault more, if there is room.
func withFault(in plant.Installation, f plant.Fault) plant.Installation {
	for _, g := range in.Faults {
		if g.Kind == plant.NoFault {
			return in.With(f)
		}
	}
	return in
}

func faultWeight(k plant.FaultKind) (Family, float64) {
	switch k {
	case plant.ConductorOpen:
		return Wiring, weightOpen
	case plant.Bridged:
		return Wiring, weightBridged
	case plant.Crossed:
		return Wiring, weightCrossed
	case plant.StuckOpen:
		return Wiring, weightStuckOpen
	case plant.StuckClosed:
		return Wiring, weightStuckClosed
	case plant.Dead:
		return Part, weightDead
	case plant.ValveStuck:
		return Part, weightValve
	case plant.StatReads:
		return Control, weightStatReads
	case plant.IgnitionFails:
		return Part, weightIgnition
	default:
		return Part, weightImmersion
	}
}

// faultID returns a short name that is a fault's own.
func faultID(f plant.Fault) string {
	switch f.Kind {
	case plant.ConductorOpen:
		return fmt.Sprintf("wiring/open/%v/%v", f.A, f.B)
	case plant.Bridged:
		return fmt.Sprintf("wiring/bridged/%v/%v", f.A, f.B)
	case plant.Crossed:
		return fmt.Sprintf("wiring/crossed/%v/%v", f.A, f.B)
	case plant.StuckOpen:
		return fmt.Sprintf("wiring/stuck-open/%v", f.Contact)
	case plant.StuckClosed:
		return fmt.Sprintf("wiring/stuck-closed/%v", f.Contact)
	case plant.Dead:
		return fmt.Sprintf("part/dead/%v", f.Load)
	case plant.ValveStuck:
		return fmt.Sprintf("part/stuck/%v/%d", f.Load, f.Position)
	case plant.StatReads:
		return fmt.Sprintf("control/reads/%v/%v", f.Contact, f.By)
	case plant.IgnitionFails:
		return "part/ignition"
	default:
		return "part/immersion"
	}
}

// faultCure says who goes there and for what.
func faultCure(f plant.Fault) cure {
	c := cure{Visit: true, Who: Competent, Part: f.String(), Wiring: true}
	switch {
	case f.Kind == plant.StuckOpen || f.Kind == plant.StuckClosed:
		switch f.Contact {
		case plant.HWRelayOn, plant.HWRelayOff, plant.CHRelayOn, plant.CHRelayOff:
			c.Part = "the programmer: " + f.String()
		}
	case f.Kind == plant.Dead && f.Load == plant.BoilerLoad, f.Kind == plant.IgnitionFails:
		c.Who, c.Boiler = Registered, true
	case f.Kind == plant.Dead || f.Kind == plant.ValveStuck:
		c.Who = HeatingTech
	case f.Kind == plant.StatReads:
		c.Words = "Move what warms or cools the thermostat; if it cannot be moved, have it placed elsewhere."
	}
	return c
}
