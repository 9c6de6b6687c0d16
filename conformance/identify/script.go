package identify

import (
	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// afterPower is how long a script waits before it looks at what the return of power has done: boards may be late by their
// late-power-on, and nobody at a wall is quick.
const afterPower = 30

// setting is what scripts have to know of the unit that they are for: all of it is settled.
type setting struct {
	hand    bool
	fitted  spec.Fitted // as it counts
	periods int
	channel spec.Channel // that is tried
}

// table returns the table that the tried channel follows.
func (k *setting) table() spec.TableID {
	if k.fitted.Timing == spec.Shared {
		return spec.BothTables
	}
	return spec.TableID(k.channel)
}

// days returns the days of the cycle whose tables hold on the weekdays from first to last, Monday being 0.
func (k *setting) days(first, last int) (days []spec.Day) {
	switch k.fitted.Cycle {
	case spec.Cycle24h:
		return []spec.Day{spec.All}
	case spec.Cycle52:
		if first < 5 {
			days = append(days, spec.Weekdays)
		}
		if last >= 5 {
			days = append(days, spec.Weekend)
		}
		return days
	}
	for d := first; d <= last; d++ {
		days = append(days, spec.Day(d))
	}
	return days
}

// script builds an iut.Script.
type script struct {
	k    *setting
	list iut.Script
}

// newScript begins a script: a unit as it left the factory. What the unit left it with is fitted once more, which changes nothing, but
// tells whoever reads the answers which channels there are: the unit's own statement may have it wrong.
func (k *setting) newScript() *script {
	s := &script{k: k, list: iut.Script{{Kind: iut.New}}}
	if !k.hand {
		s.fit(spec.FitChannels, uint8(k.fitted.Channels))
	}
	return s
}

// power begins a script with power, and default tables. A person has a unit that is in use.
func (k *setting) power() *script {
	s := k.newScript().do(spec.Input{Kind: spec.PowerOn})
	if k.hand {
		s.do(spec.Input{Kind: spec.Reset})
	}
	return s
}

func (s *script) do(in spec.Input) *script {
	s.list = append(s.list, iut.Request{Kind: iut.Do, Input: in})
	return s
}

func (s *script) wait(seconds uint64) *script {
	s.list = append(s.list, iut.Request{Kind: iut.Go, Seconds: seconds})
	return s
}

func (s *script) minutes(minutes int) *script { return s.wait(uint64(minutes) * calendar.Minute) }

func (s *script) fit(o spec.FitOption, v uint8) *script {
	return s.do(spec.Input{Kind: spec.Fit, FitOption: o, FitValue: v})
}

// clock sets the clock, to a reading in minutes since 2000-01-01T00:00.
func (s *script) clock(reading int) *script {
	year, month, day := calendar.Date(reading / spec.MinutesPerDay)
	return s.do(spec.Input{
		Kind: spec.SetClock, Date: spec.Date{Year: uint16(year), Month: uint8(month), Day: uint8(day)},
		Minute: uint16(reading % spec.MinutesPerDay),
	})
}

func (s *script) mode(c spec.Channel, m spec.Mode) *script {
	return s.do(spec.Input{Kind: spec.SetMode, Channel: c, Mode: m})
}

func (s *script) override() *script {
	return s.do(spec.Input{Kind: spec.Override, Channel: s.k.channel})
}

func (s *script) boost(minutes int) *script {
	return s.do(spec.Input{Kind: spec.Boost, Channel: s.k.channel, Amount: uint32(minutes)})
}

func (s *script) period(day spec.Day, slot, on, off int) *script {
	return s.do(spec.Input{
		Kind: spec.SetPeriod, Table: s.k.table(), Day: day, Slot: uint8(slot), Period: spec.Period{On: uint16(on), Off: uint16(off)},
	})
}

// only makes a period the only one on the weekdays from first to last.
func (s *script) only(first, last, on, off int) *script {
	for _, day := range s.k.days(first, last) {
		s.period(day, 1, on, off)
		if s.k.periods > 1 {
			s.period(day, 2, 0, 0)
		}
	}
	return s
}

// cut is a cut of so many minutes and the time that the unit may take afterwards.
func (s *script) cut(minutes int) *script {
	return s.do(spec.Input{Kind: spec.PowerOff}).minutes(minutes).do(spec.Input{Kind: spec.PowerOn}).wait(afterPower)
}

func (s *script) closed() (iut.Script, Look)   { return s.list, Look{Kind: Closed, Channel: s.k.channel} }
func (s *script) accepted() (iut.Script, Look) { return s.list, Look{Kind: Accepted} }
func (s *script) has() (iut.Script, Look)      { return s.list, Look{Kind: Has} }

// at returns a reading in minutes since 2000-01-01T00:00.
func at(year, month, day, minute int) int {
	return calendar.Days(year, month, day)*spec.MinutesPerDay + minute
}
