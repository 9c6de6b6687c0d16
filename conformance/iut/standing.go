package iut

import "example.org/hearthbench/emulator/spec"

// StandingOf returns what a reader knows, at an elapsed second, of a unit that shows these levels and is fitted with these channels.
func StandingOf(elapsed uint64, levels [spec.NumSignals]spec.Level, fitted spec.Channels) Standing {
	return Standing{standing{elapsed: elapsed, levels: levels, fitted: fitted}}
}
