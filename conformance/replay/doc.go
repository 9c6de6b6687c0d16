// Package replay lets the emulator and the plant around it live through what a complaint says, and holds what was sensed against it.
//
// A [World] is what is taken to be the case. [Run] turns it into a [History]: one trace of the unit, of the plant and of what a household
// senses, every change with its reason. [Compare] holds an observation against it and says whether the two agree.
package replay
