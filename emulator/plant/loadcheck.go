package plant

import "fmt"

// Ampere is 1000 mA.
const Ampere = 1000

// Loads is what each load draws while live, in mA.
type Loads [NumLoads]Rating

// DefaultLoads returns usual loads at so many volts; 0 stands for 230. An immersion heater has 3 kW. Common practice, no source.
func DefaultLoads(volts uint32) Loads {
	if volts == 0 {
		volts = 230
	}
	draws := func(watts uint32) uint32 { return (watts*1000 + volts - 1) / volts }
	valve := Rating{Inductive: draws(6)}
	return Loads{
		HWValveLoad: valve, CHValveLoad: valve, Zone2ValveLoad: valve, MidValveLoad: valve, DiverterLoad: valve,
		PumpLoad:      {Inductive: draws(90)},  // a pump of the older kind
		BoilerLoad:    {Inductive: draws(100)}, // fan and gas valve
		ImmersionLoad: {Resistive: draws(3000)},
	}
}

// Board is what a unit's contacts may carry.
type Board struct {
	Contact Rating // each relay's
	Common  Rating // the common link, which carries both channels
}

// Carried is what one contact, or the common link, carries at worst.
type Carried struct {
	Contact Contact // HWRelayOn, HWRelayOff, CHRelayOn or CHRelayOff
	Common  bool    // the common link; Contact does not count
	Amount  Rating
	Limit   Rating
	By      []Load
	Refused bool
}

// String says what carries what, and whether it may.
func (c Carried) String() string {
	name := c.Contact.String()
	if c.Common {
		name = "the common link"
	}
	if len(c.By) == 0 {
		return name + " carries nothing"
	}
	var by []string
	for _, l := range c.By {
		by = append(by, l.String())
	}
	verdict := "within its"
	if c.Refused {
		verdict = "more than its"
	}
	return fmt.Sprintf("%s carries %s A resistive and %s A inductive (%s), %s %v",
		name, amperes(c.Amount.Resistive), amperes(c.Amount.Inductive), and(by), verdict, c.Limit)
}

// CheckLoads sums the loads through each relay contact and through the common link over every demand and state of the other contacts,
// and holds the worst against the board: resistive and inductive current together may not exceed the resistive rating, nor inductive
// current the inductive one. A load that is fed on two ways counts on both. It allocates.
func CheckLoads(in *Installation, loads Loads, board Board) ([]Carried, error) {
	if err := in.Validate(); err != nil {
		return nil, err
	}
	relays := []Contact{HWRelayOn, HWRelayOff, CHRelayOn, CHRelayOff}
	worst := make([]Carried, len(relays)+1)
	for i, c := range relays {
		worst[i] = Carried{Contact: c, Limit: board.Contact}
	}
	common := &worst[len(relays)]
	*common = Carried{Common: true, Limit: board.Common}
	for _, inputs := range in.demands() {
		in.each(true, func(f forced) {
			p, _, _ := in.stand(inputs, calling, inputs, f)
			var all uint16
			for i, c := range relays {
				through := p.carried(c)
				all |= through
				worst[i].raise(through, &loads)
			}
			common.raise(all, &loads)
		})
	}
	for i := range worst {
		c := &worst[i]
		c.Refused = c.Amount.Resistive+c.Amount.Inductive > c.Limit.Resistive || c.Amount.Inductive > c.Limit.Inductive
	}
	return worst, nil
}

// carried returns a bit for each load that current through the contact can reach without passing a supply.
func (p *Plant) carried(c Contact) (set uint16) {
	if !p.closed.Has(c) {
		return 0
	}
	without := p.closed &^ (1 << c)
	common, out := c.Ends()
	live := p.nets.reach(p.fed, without)
	if !p.nets.has(live, common) || p.fed>>p.nets.of[out]&1 != 0 {
		return 0
	}
	beyond := p.nets.beyond(1<<p.nets.of[out], without, p.fed)
	for l := range Load(NumLoads) {
		for t := range Terminal(NumTerminals) {
			if l.Terminals().Has(t) && p.nets.has(beyond, t) {
				set |= 1 << l
			}
		}
	}
	return set
}

// raise takes a set of loads if they come to more.
func (c *Carried) raise(set uint16, loads *Loads) {
	var amount Rating
	var by []Load
	for l := range Load(NumLoads) {
		if set>>l&1 != 0 {
			amount.Resistive += loads[l].Resistive
			amount.Inductive += loads[l].Inductive
			by = append(by, l)
		}
	}
	if amount.Resistive+amount.Inductive > c.Amount.Resistive+c.Amount.Inductive {
		c.Amount, c.By = amount, by
	}
}
