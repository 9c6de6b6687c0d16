package wasm

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"example.org/hearthbench/conformance/iut"
)

// Snapshot is the whole state of a unit between two requests. The zero value is none, and room for one.
type Snapshot struct {
	unit     *module
	size     int    // of the module's memory
	memory   []byte // the module's memory, but for its buffers
	globals  []uint64
	standing iut.Standing
}

// Snapshot keeps the unit's state in s, over what was there, so that [Unit.Restore] brings it back, of this unit only.
//
// It copies the module's memory but for its buffers and scratch memory, in which nothing lies between requests, and its global variables. An error
// says that the module has state elsewhere, or that it has to be brought into a state first.
func (u *Unit) Snapshot(s *Snapshot) error {
	if err := u.keepable(); err != nil {
		return err
	}
	s.unit, s.standing = u.module, u.reader.Standing()
	s.size = len(u.in.linear.bytes)
	s.memory = s.memory[:0]
	for part := range u.in.parts() {
		s.memory = append(s.memory, part...)
	}
	s.globals = s.globals[:0]
	for _, g := range u.in.globals {
		s.globals = append(s.globals, g.Get())
	}
	return nil
}

// ErrNoState is the error of one who wants the state of a unit that has none.
var ErrNoState = errors.New("after trouble there is no state to keep: ask new first")

// keepable says why the unit's state cannot be kept; nil: it can.
func (u *Unit) keepable() error {
	if hidden := u.module.metered.hidden; hidden != "" {
		return fmt.Errorf("%s cannot be put back into an earlier state: it has %s, which cannot be copied", u.name, hidden)
	}
	if u.in == nil {
		return ErrNoState
	}
	return nil
}

// Restore brings back the state that s keeps. An error says that s is none of this unit's, or is the end of ctx.
func (u *Unit) Restore(ctx context.Context, s *Snapshot) error {
	if s.unit != u.module {
		return errors.New("the snapshot is none of this unit's")
	}
	// Memory can grow and not shrink, and a module can tell.
	if u.in == nil || len(u.in.linear.bytes) > s.size {
		u.drop()
		in, err := u.module.instantiate(ctx)
		if err != nil {
			return err
		}
		u.in = in
	}
	if missing := s.size - len(u.in.linear.bytes); missing > 0 {
		if _, ok := u.in.memory.Grow(uint32(missing / pageSize)); !ok {
			return fmt.Errorf("%s: its memory cannot grow to the %d bytes of the snapshot", u.name, s.size)
		}
	}
	rest := s.memory
	for part := range u.in.parts() {
		rest = rest[copy(part, rest):]
	}
	for i, g := range u.in.globals {
		g.Set(s.globals[i])
	}
	u.reader.SetStanding(s.standing)
	return nil
}

// parts are the parts of the memory between the buffers.
func (in *instance) parts() func(yield func([]byte) bool) {
	return func(yield func([]byte) bool) {
		at := uint32(0)
		for _, hole := range in.holes {
			if hole.at > at && !yield(in.linear.bytes[at:hole.at]) {
				return
			}
			at = max(at, hole.at+hole.size)
		}
		yield(in.linear.bytes[at:])
	}
}

// findHoles puts the buffers into the order in which they lie.
func (in *instance) findHoles() {
	in.holes = []area{in.request, in.reply, in.events, in.scratch}
	slices.SortFunc(in.holes, func(a, b area) int { return int(int64(a.at) - int64(b.at)) })
}
