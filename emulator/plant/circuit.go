package plant

// circuit is what the wiring makes of closed contacts and supplies: what is live, and what follows from that and from nothing else.
type circuit struct {
	closed Contacts
	fed    uint64 // the nets of the supplies that have mains
	live   uint64 // the nets that are live
	shows  levels // of thermostats, supply, call and pump
}

// circuits are those that a plant has come to last, each in a place that its contacts decide. Two weeks go through the same few again and
// again, and to look one up takes a fraction of the time that it takes to follow the wires. The zero value is right: with no contact closed
// and no supply nothing is live.
type circuits [1 << circuitBits]circuit

const circuitBits = 4

// place returns where a circuit is kept. The factor is the golden section of 2^32, which parts sets that differ in one contact.
func place(closed Contacts) Contacts { return closed * 0x9e3779b1 >> (32 - circuitBits) }

// close closes the contacts, and no others, on the supplies that there are.
func (p *Plant) close(closed Contacts) {
	c := &p.circuits[place(closed)]
	if c.closed != closed || c.fed != p.source {
		*c = circuit{closed: closed, fed: p.source, live: p.nets.reach(p.source, closed)}
		c.shows = on(UnitMains, p.nets.has(c.fed, UnitLive)) |
			on(RoomStat, closed.Has(RoomStatContact)) | on(RoomStat2, closed.Has(RoomStat2Contact)) |
			on(CylinderStat, closed.Has(CylinderStatCallsContact)) | on(FrostStat, closed.Has(FrostStatContact)) |
			on(SecondTime, closed.Has(SecondControlContact)) |
			on(Call, p.nets.has(c.live, BoilerCall)) | on(Pump, !p.deadPump && p.nets.has(c.live, PumpLive))
	}
	p.circuit = *c
}

// called reports whether the boiler's call terminal is live.
func (c *circuit) called() bool { return c.shows.of(Call) == On }

// pumpTurns reports whether the pump moves water.
func (c *circuit) pumpTurns() bool { return c.shows.of(Pump) == On }
