package wasm

import (
	"encoding/binary"

	"example.org/hearthbench/conformance/iut"
)

// InPlace is a unit's state where it lies: all that tells its future, for one who looks at it after every request and changes little of it.
// Units of one module that have the same state behave alike. What is written to the memory is the unit's.
type InPlace struct {
	Memory  [][]byte // the parts of the memory between the buffers
	Globals []byte   // a copy of the global variables, eight bytes each

	of   *instance // whose memory it is
	size int       // that it had
}

// InPlace puts the unit's state into s, over what was there. It holds until the unit is next asked anything, for memory can grow; moved says
// whether the slices are others than s had. An error is as of [Unit.Snapshot].
func (u *Unit) InPlace(s *InPlace) (moved bool, err error) {
	if u.in == nil || s.of != u.in || s.size != len(u.in.linear.bytes) {
		if err := u.keepable(); err != nil {
			return false, err
		}
		moved = true
		s.of, s.size, s.Memory, s.Globals = u.in, len(u.in.linear.bytes), s.Memory[:0], make([]byte, 8*len(u.in.globals))
		for part := range u.in.parts() {
			s.Memory = append(s.Memory, part)
		}
	}
	for i, g := range u.in.globals {
		binary.LittleEndian.PutUint64(s.Globals[8*i:], g.Get())
	}
	return moved, nil
}

// SetGlobals gives the global variables the values that InPlace has returned of a unit of the same module.
func (u *Unit) SetGlobals(values []byte) {
	for i, g := range u.in.globals {
		g.Set(binary.LittleEndian.Uint64(values[8*i:]))
	}
}

// SetStanding makes the bench take the unit for one of which it knew this: it goes with a state that has been written in place.
func (u *Unit) SetStanding(standing iut.Standing) { u.reader.SetStanding(standing) }
