package plant

import "slices"

// edge is a way between two terminals: a conductor or a contact.
type edge struct {
	a, b    Terminal
	contact Contact // NumContacts for a conductor
	fault   Fault   // what made or moved this conductor, or broke it
	lacks   int     // 0: it conducts; 1: a contact that is open, or a broken conductor
}

// graph is the installation's wiring with its contacts as they stood at an instant, terminal by terminal.
type graph struct {
	edges    []edge
	supplies [NumTerminals]bool // those with mains
	all      Terminals          // every supply
}

// graph draws the wiring with the contacts and supplies of w. It is for explaining what the nets have decided, and decides nothing.
func (in *Installation) graph(w Why) *graph {
	wires := in.sound()
	g := &graph{all: wires.supplies}
	sound := wires
	faults := in.Faults
	for i := range faults { // what is open keeps its place in the drawing, so that a path can be shown to lack it
		if faults[i].Kind == ConductorOpen {
			faults[i] = Fault{}
		}
	}
	wires.faulty(&faults)
	for i, c := range wires.list[:wires.n] {
		e := edge{a: c.A, b: c.B, contact: NumContacts}
		if i >= sound.n {
			e.fault = Bridge(c.A, c.B)
		} else if c != sound.list[i] {
			for _, f := range in.Faults {
				if f.Kind == Crossed && (f.A == sound.list[i].A || f.A == sound.list[i].B || f.B == sound.list[i].A || f.B == sound.list[i].B) {
					e.fault = f
				}
			}
		}
		if i < sound.n {
			if open := OpenAt(sound.list[i].A, sound.list[i].B); slices.Contains(in.Faults[:], open) {
				e.fault, e.lacks = open, 1
			}
		}
		g.edges = append(g.edges, e)
	}
	for c := range Contact(NumContacts) {
		if wires.contacts.Has(c) {
			a, b := c.Ends()
			e := edge{a: a, b: b, contact: c}
			if !w.Closed.Has(c) {
				e.lacks = 1
			}
			g.edges = append(g.edges, e)
		}
	}
	g.supplies[UnitSupply] = w.Fed.UnitPower
	g.supplies[PlantSupply] = w.Fed.PlantPower && in.Supply != SwitchesMains
	g.supplies[ImmersionFeed] = in.Immersion.Wired == OwnCircuit && (w.Fed.UnitPower || w.Fed.PlantPower)
	return g
}

// hop is an edge as a path takes it: from a to b, or back.
type hop struct {
	edge
	back bool
}

// unfed is what a path lacks that begins at a supply without mains: more than any wiring can.
const unfed = 1000

// path returns the way from a supply to the terminal that lacks least, shortest first, and what it lacks.
func (g *graph) path(to Terminal) (hops []hop, lacks int) {
	const far = 1 << 20
	type state struct {
		lacks, hops int
		by          int // edge, -1 at a supply
		from        Terminal
	}
	var at [NumTerminals]state
	for t := range at {
		at[t] = state{lacks: far, by: -1}
		if g.all.Has(Terminal(t)) {
			at[t].lacks = unfed
			if g.supplies[t] {
				at[t].lacks = 0
			}
		}
	}
	for changed := true; changed; {
		changed = false
		for i, e := range g.edges {
			for _, way := range [2][2]Terminal{{e.a, e.b}, {e.b, e.a}} {
				from, to := at[way[0]], &at[way[1]]
				if l, h := from.lacks+e.lacks, from.hops+1; from.lacks < far && (l < to.lacks || l == to.lacks && h < to.hops) {
					*to = state{l, h, i, way[0]}
					changed = true
				}
			}
		}
	}
	for t := to; at[t].by >= 0; t = at[t].from {
		e := g.edges[at[t].by]
		hops = append(hops, hop{edge: e, back: at[t].from != e.a})
	}
	slices.Reverse(hops)
	return hops, at[to].lacks
}

// live returns the terminals that are live.
func (g *graph) live() Terminals { return g.spread(func(t Terminal) bool { return g.supplies[t] }) }

// spread returns the terminals that what conducts joins to those given.
func (g *graph) spread(begin func(Terminal) bool) (s Terminals) {
	for t := range Terminal(NumTerminals) {
		if begin(t) {
			s |= 1 << t
		}
	}
	for {
		before := s
		for _, e := range g.edges {
			if e.lacks == 0 && s&terminals(e.a, e.b) != 0 {
				s |= terminals(e.a, e.b)
			}
		}
		if s == before {
			return s
		}
	}
}

// gaps returns the edges any one of which, closed, would make the terminal live; where there is none, those that the path lacks that
// lacks least. A contact that would only feed backwards is no gap: a sound plant does not wait for it.
func (g *graph) gaps(to Terminal) (gaps []edge) {
	live, near := g.live(), g.spread(func(t Terminal) bool { return t == to })
	for _, e := range g.edges {
		forward := live.Has(e.a) && near.Has(e.b)
		back := live.Has(e.b) && near.Has(e.a) && (e.contact == NumContacts || e.contact == HWValveEndOpenContact)
		if e.lacks > 0 && (forward || back) {
			gaps = append(gaps, e)
		}
	}
	if len(gaps) > 0 {
		return gaps
	}
	hops, _ := g.path(to)
	for _, h := range hops {
		if h.lacks > 0 {
			gaps = append(gaps, h.edge)
		}
	}
	return gaps
}

// Path returns the contacts through which the terminal is live at that instant, from the supply on; if it is not live, live is
// false and the path holds the contacts that are open on the way that lacks the fewest. It allocates.
func (in *Installation) Path(w Why, t Terminal) (path []Contact, live bool) {
	hops, lacks := in.graph(w).path(t)
	for _, h := range hops {
		if h.contact < NumContacts && (lacks == 0 || h.lacks > 0) {
			path = append(path, h.contact)
		}
	}
	return path, lacks == 0
}
