// Package realtime tests units whose time cannot be injected: their clock runs by itself, as fast as time does or, in a build with a
// time lapse, so many times faster.
//
// Nothing in real time comes in the very second of a script: inputs take time on the line, and the unit's seconds are not the
// bench's. So everything may be some seconds off, a script on which that would tell is not put to the unit at all, and neither is one
// for which there is no time. What is not put is inconclusive, never a pass.
package realtime
