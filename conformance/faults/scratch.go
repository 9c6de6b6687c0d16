package faults

import (
	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// scratch is a right unit of the same statement, put wherever facts say, to ask what it would do.
type scratch struct {
	ics  spec.ICS // what the faulty unit claims
	unit *emulator.Unit
	new  emulator.Facts // as it left the factory
}

// with makes hooks that ask a scratch unit.
func with(f func(s *scratch) hooks) func() hooks {
	return func() hooks {
		s := &scratch{}
		h := f(s)
		design := h.design
		h.design = func(ics *spec.ICS) {
			s.ics = *ics
			s.unit = oracle.Emulator(*ics).(*emulator.Unit)
			s.new = s.unit.Facts()
			if design != nil {
				design(ics)
			}
		}
		return h
	}
}

// levels returns what a unit shows by the facts, which need not agree with what they say is shown.
func (s *scratch) levels(f emulator.Facts) (levels [spec.NumSignals]spec.Level) {
	s.unit.Restore(&f)
	s.unit.Settle(nil)
	for sig := range levels {
		levels[sig] = s.unit.Level(spec.Signal(sig))
	}
	return levels
}

// scheduled returns the channel's scheduled level.
func (s *scratch) scheduled(f emulator.Facts, c spec.Channel) spec.Level {
	f.Powered, f.ClockStopped = true, false
	f.Fitted.Coupling, f.Fitted.Channels = spec.Independent, spec.BothChannels
	f.Channels[c].Override, f.Channels[c].BoostLeft = false, 0
	f.Holiday, f.Lock = emulator.HolidayFacts{}, emulator.LockFacts{}
	return s.levels(f)[c]
}

// calls returns each channel's own call for its relay, coupling apart.
func (s *scratch) calls(f *emulator.Facts) [spec.NumSignals]spec.Level {
	g := *f
	g.Fitted.Coupling = spec.Independent
	return s.levels(g)
}

// do gives a unit with the facts an input, and changes the facts accordingly.
func (s *scratch) do(f *emulator.Facts, in spec.Input) spec.Reply {
	s.unit.Restore(f)
	r, _ := s.unit.Do(in, nil)
	*f = s.unit.Facts()
	return r
}

// defaults returns the facts of a unit that is fitted so and has just been reset.
func (s *scratch) defaults(fitted spec.Fitted) [spec.NumChannels]emulator.ChannelFacts {
	f := s.new
	f.Powered, f.ClockStopped, f.Fitted = true, false, fitted
	s.do(&f, spec.Input{Kind: spec.Reset})
	return f.Channels
}
