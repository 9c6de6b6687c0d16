package wasm

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"

	"example.org/hearthbench/conformance/iut"
)

// AppendState appends all that tells the unit's future from now on: its memory, but for its buffers, and its global variables. Units of one
// module that have the same state behave alike. An error is as of [Unit.Snapshot].
func (u *Unit) AppendState(dst []byte) ([]byte, error) {
	if hidden := u.module.metered.hidden; hidden != "" {
		return dst, fmt.Errorf("%s cannot be put back into an earlier state: it has %s, which cannot be copied", u.name, hidden)
	}
	if u.in == nil {
		return dst, errors.New("after trouble there is no state to keep: ask new first")
	}
	for part := range u.in.parts() {
		dst = append(dst, part...)
	}
	for _, g := range u.in.globals {
		dst = binary.LittleEndian.AppendUint64(dst, g.Get())
	}
	return dst, nil
}

// SetState gives the unit a state that AppendState has returned of a unit of the same module; what is known of it otherwise is standing. An
// error says that it is the state of none, or is the end of ctx.
func (u *Unit) SetState(ctx context.Context, state []byte, standing iut.Standing) error {
	if u.in == nil {
		in, err := u.module.instantiate(ctx)
		if err != nil {
			return err
		}
		u.in = in
	}
	size := 8 * len(u.in.globals)
	for part := range u.in.parts() {
		size += len(part)
	}
	if len(state) != size {
		return fmt.Errorf("%s: a state of %d bytes, and it has %d; memory that grows cannot be put back", u.name, len(state), size)
	}
	for part := range u.in.parts() {
		state = state[copy(part, state):]
	}
	for i, g := range u.in.globals {
		g.Set(binary.LittleEndian.Uint64(state[8*i:]))
	}
	u.reader.SetStanding(standing)
	return nil
}
