package plant

import "math/bits"

// nets is the wiring with everything that never moves merged: terminals that conductors join are one net, and only contacts are left
// between nets. A set of nets is a uint64.
type nets struct {
	of      [NumTerminals]uint8 // the net of each terminal
	ends    [NumContacts][2]uint8
	present Contacts
	open    Contacts // stuck open, or on a changeover that is stuck on its other side
	closed  Contacts // stuck closed
}

// compile merges the installation's wires.
func (in *Installation) compile() (n nets) {
	w := in.sound()
	w.faulty(&in.Faults)
	n.present = w.contacts
	var within [NumTerminals]Terminals // the terminals of each net
	for t := range n.of {
		n.of[t] = uint8(t)
		within[t] = 1 << t
	}
	for _, c := range w.list[:w.n] {
		a, b := n.of[c.A], n.of[c.B]
		if a != b {
			for left := within[b]; left != 0; left &= left - 1 {
				n.of[bits.TrailingZeros64(uint64(left))] = a
			}
			within[a] |= within[b]
		}
	}
	for c := range Contact(NumContacts) {
		a, b := c.Ends()
		n.ends[c] = [2]uint8{n.of[a], n.of[b]}
	}
	for _, f := range in.Faults {
		switch f.Kind {
		case StuckOpen:
			n.open |= 1 << f.Contact
		case StuckClosed:
			n.closed |= 1 << f.Contact
			if mate := contacts[f.Contact].mate; mate != f.Contact {
				n.open |= 1 << mate
			}
		}
	}
	return n
}

// conducting returns the contacts that conduct where the sound ones would be as given.
func (n *nets) conducting(c Contacts) Contacts { return (c&^n.open | n.closed) & n.present }

// reach returns the nets that are live: those of the supplies, and those that closed contacts join to a live one.
func (n *nets) reach(live uint64, closed Contacts) uint64 {
	for {
		before := live
		for left := closed; left != 0; left &= left - 1 {
			e := &n.ends[bits.TrailingZeros32(uint32(left))]
			both := (live>>(e[0]&63) | live>>(e[1]&63)) & 1
			live |= both<<(e[0]&63) | both<<(e[1]&63)
		}
		if live == before {
			return live
		}
	}
}

// beyond returns the nets that closed contacts join to one, none of them and no way to them through the nets out of bounds.
func (n *nets) beyond(from uint64, closed Contacts, out uint64) uint64 {
	for c := range Contact(NumContacts) {
		if closed.Has(c) && (1<<n.ends[c][0]|1<<n.ends[c][1])&out != 0 {
			closed &^= 1 << c
		}
	}
	return n.reach(from, closed)
}

// has reports whether the terminal is in a live net.
func (n *nets) has(live uint64, t Terminal) bool { return live>>(n.of[t]&63)&1 != 0 }

// terminals returns the terminals of a set of nets.
func (n *nets) terminals(live uint64) (s Terminals) {
	for t := range Terminal(NumTerminals) {
		if n.has(live, t) {
			s |= 1 << t
		}
	}
	return s
}
