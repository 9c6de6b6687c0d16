// Package emulator is the behaviour of a two-channel heating programmer as a pure state machine.
//
// A [Unit] takes inputs ([Unit.Do]) and elapsed time ([Unit.Advance]), and reports every change of what it shows, with its
// reason. It reads no clock, starts no goroutine, draws no random number and allocates nothing per step: the same inputs
// at the same seconds give the same changes, always.
//
// Time is jumped, never ticked: a unit knows the next instant at which anything of it can change, and goes there. A unit is
// a plain value, so a copy of it is a snapshot, and assigning the copy back restores it.
//
// What it does is laid down in vectors/BEHAVIOUR.md; comments name the clauses. The files follow that page: clock.go,
// schedule.go (tables and modes), demand.go (override, boost, holiday), lock.go, power.go, outputs.go, inputs.go.
package emulator
