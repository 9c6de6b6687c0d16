package plain

import (
	"time"

	"example.org/hearthbench/emulator/spec"
)

var accepted = spec.Reply{Outcome: spec.Accepted}

func refused(why spec.Refusal) spec.Reply {
	return spec.Reply{Outcome: spec.Refused, Refusal: why}
}

func unsupported(why spec.Refusal) spec.Reply {
	return spec.Reply{Outcome: spec.Unsupported, Refusal: why}
}

// Do gives the unit an input, at the current elapsed second and after all that the clocks have brought in it (OUT-4). The
// input may hold any values; what it may not do is refused or unsupported, and changes nothing.
func (u *Unit) Do(in spec.Input) spec.Reply {
	if in.Kind == spec.Fit {
		return u.fit(in) // shows nothing until power returns
	}
	if !u.has(in) {
		return unsupported(spec.UnsupportedInput) // INP-5, INP-6, with power or without
	}
	before := u.utc
	reply := u.take(in)
	if reply.Outcome != spec.Accepted {
		return reply // INP-1
	}
	after := otherInput
	if in.Kind == spec.SetClock && u.utc != before { // INP-2: set to what it reads, the clock comes to nothing new
		after = clockWasSet
	}
	u.settle(after) // OUT-5, OUT-6
	return reply
}

// has reports whether the unit has what an input is for.
func (u *Unit) has(in spec.Input) bool {
	hasChannel := in.Channel < spec.NumChannels && u.fitted.Channels.Has(in.Channel)
	switch in.Kind {
	case spec.SetMode:
		return hasChannel && in.Mode <= spec.Always
	case spec.Override:
		return hasChannel
	case spec.Boost:
		return hasChannel && u.ics.BoostLongest > 0
	case spec.SetPeriod:
		switch in.Table {
		case spec.HWTable:
			return u.fitted.Channels.Has(spec.HW)
		case spec.CHTable:
			return u.fitted.Channels.Has(spec.CH)
		default:
			return true // such a table is refused, not unsupported (TAB-17)
		}
	case spec.Holiday, spec.HolidayCancel:
		return u.ics.Holiday
	case spec.LockArm, spec.LockRemove:
		return u.ics.Lock
	default:
		return in.Kind < spec.NumKinds
	}
}

// take checks an input that the unit has and, if it accepts it, changes the facts.
func (u *Unit) take(in spec.Input) spec.Reply {
	if in.Kind == spec.PowerOn {
		return u.powerOn()
	}
	if !u.power {
		return refused(spec.NoPower) // PWR-2, PWR-13
	}
	switch in.Kind {
	case spec.PowerOff:
		return u.powerOff()
	case spec.SetClock:
		return u.setClock(in.Date, in.Minute)
	case spec.SetMode:
		return u.setMode(in.Channel, in.Mode)
	case spec.SetPeriod:
		return u.setPeriod(in)
	case spec.Override:
		return u.pressOverride(in.Channel)
	case spec.Boost:
		return u.boost(in.Channel, in.Amount)
	case spec.Holiday:
		return u.startHoliday(in.Amount)
	case spec.HolidayCancel:
		u.holiday = false // HOL-7
		return accepted
	case spec.LockArm:
		return u.arm(in.Credential, in.Terms)
	case spec.LockRemove:
		return u.removeLock(in.Credential)
	default:
		u.reset()
		return accepted
	}
}

func (u *Unit) fit(in spec.Input) spec.Reply {
	var supported uint8
	switch in.FitOption {
	case spec.FitChannels:
		supported = u.ics.Supported.Channels
	case spec.FitCycle:
		supported = u.ics.Supported.Cycle
	case spec.FitTiming:
		supported = u.ics.Supported.Timing
	case spec.FitCoupling:
		supported = u.ics.Supported.Coupling
	}
	if supported&(1<<in.FitValue) == 0 {
		return unsupported(spec.UnsupportedFitted)
	}
	if u.power {
		return refused(spec.PowerPresent) // PWR-14
	}
	switch in.FitOption {
	case spec.FitChannels:
		u.back.Channels = spec.Channels(in.FitValue)
	case spec.FitCycle:
		u.back.Cycle = spec.Cycle(in.FitValue)
	case spec.FitTiming:
		u.back.Timing = spec.Timing(in.FitValue)
	case spec.FitCoupling:
		u.back.Coupling = spec.Coupling(in.FitValue)
	}
	return accepted
}

func (u *Unit) powerOn() spec.Reply {
	if u.power {
		return accepted // PWR-13
	}
	u.power = true
	u.onReserve = 0 // PWR-8
	if !u.clockRuns {
		u.startLostClock() // PWR-9 to PWR-11, PWR-16
	}
	was := u.fitted
	u.fitted = effective(u.back) // PWR-14
	if u.fitted.Channels != was.Channels || u.fitted.Cycle != was.Cycle || u.fitted.Timing != was.Timing {
		u.defaults() // PWR-15
		u.cancelOverrides()
		u.cancelBoosts()
	}
	return accepted
}

func (u *Unit) powerOff() spec.Reply {
	u.power = false
	if !u.ics.KeptThroughCut {
		u.cancelOverrides() // PWR-3, PWR-12
		u.cancelBoosts()
	}
	if u.reserveSeconds() == 0 {
		u.loseClock() // PWR-7: the shortest cut is as long as no reserve
	}
	return accepted
}

func (u *Unit) setClock(date spec.Date, minute uint16) spec.Reply {
	// CLK-4, whatever the ICS does with bad values (INP-7).
	if date.Year < spec.FirstYear || date.Year > spec.LastYear || minute >= spec.MinutesPerDay {
		return refused(spec.BadDate)
	}
	reading := time.Date(int(date.Year), time.Month(date.Month), int(date.Day), 0, int(minute), 0, 0, time.UTC) // CLK-2
	if reading.Month() != time.Month(date.Month) || reading.Day() != int(date.Day) {
		return refused(spec.BadDate) // package time has carried 30 February over into March
	}
	utc, ok := u.instant(reading)
	if !ok {
		return refused(spec.SkippedReading) // CLK-9
	}
	u.clockSet = true
	u.utc = utc
	if u.holiday {
		// HOL-10. At or past the old end this leaves the old end, and the holiday is over (HOL-9).
		if end := midnight(reading).AddDate(0, 0, u.holidayDays); end.Before(u.holidayEnd) {
			u.holidayEnd = end
		}
	}
	return accepted
}

func (u *Unit) setMode(c spec.Channel, mode spec.Mode) spec.Reply {
	ch := &u.channel[c]
	if mode == ch.mode {
		return accepted // MOD-9
	}
	tableOrSpan := func(m spec.Mode) bool { return m == spec.Table || m == spec.Span }
	if !u.ics.OverrideKept || !tableOrSpan(ch.mode) || !tableOrSpan(mode) {
		ch.overridden = false // OVR-7, OVR-8; a change of s ends it too, as ever
	}
	ch.boostLeft = 0 // BST-7
	ch.mode = mode
	return accepted
}

func (u *Unit) setPeriod(in spec.Input) spec.Reply {
	var edited []spec.Channel
	switch {
	case u.fitted.Timing == spec.Separate && in.Table == spec.HWTable:
		edited = []spec.Channel{spec.HW} // TAB-12
	case u.fitted.Timing == spec.Separate && in.Table == spec.CHTable:
		edited = []spec.Channel{spec.CH}
	case u.fitted.Timing == spec.Shared && in.Table == spec.BothTables:
		edited = []spec.Channel{spec.HW, spec.CH} // TAB-13
	default:
		return refused(spec.NoSuchTable) // TAB-17
	}
	if !in.Day.In(u.fitted.Cycle) {
		return refused(spec.NoSuchTable) // TAB-17
	}
	if in.Slot < 1 || in.Slot > u.ics.Periods {
		return refused(spec.NoSuchSlot) // TAB-16, INP-7
	}
	p, good := u.goodPeriod(in.Period)
	if !good {
		return refused(spec.BadPeriod)
	}
	for _, c := range edited {
		for _, d := range days {
			if covers(in.Day, d) {
				u.channel[c].table[d][in.Slot-1] = p // TAB-14
			}
		}
	}
	return accepted
}

// covers reports whether the table named by a period edit is that of a day of the week (TAB-9 to TAB-11).
func covers(table, d spec.Day) bool {
	weekend := d == spec.Sat || d == spec.Sun
	switch table {
	case spec.All:
		return true
	case spec.Weekdays:
		return !weekend
	case spec.Weekend:
		return weekend
	default:
		return table == d
	}
}

// goodPeriod returns the period as it is accepted, clamped if the ICS says so, and whether it is.
func (u *Unit) goodPeriod(p spec.Period) (spec.Period, bool) {
	const lastOn, lastOff = spec.MinutesPerDay - 1, spec.MinutesPerDay
	clamped := p
	if clamped.On > lastOn { // TAB-3
		clamped.On = lastOn
	}
	if clamped.Off > lastOff || clamped.Off < clamped.On && !u.ics.Wrap { // TAB-6
		clamped.Off = lastOff
	}
	return clamped, clamped == p || u.ics.Clamp // INP-3, INP-4
}

func (u *Unit) pressOverride(c spec.Channel) spec.Reply {
	ch := &u.channel[c]
	switch {
	case ch.boostLeft > 0:
		ch.boostLeft = 0 // OVR-13
	case !u.clockSet:
		return refused(spec.ClockUnset) // CLK-11
	case u.holiday:
		return refused(spec.InHoliday) // HOL-4, HOL-5
	case !u.overrideCanEnd(c):
		return refused(spec.NoSwitchingPoint) // OVR-9, OVR-17
	case ch.overridden:
		ch.overridden = false // OVR-6
	default:
		ch.overridden = true
		ch.override = 1 - ch.s // OVR-1, OVR-15
	}
	return accepted
}

func (u *Unit) boost(c spec.Channel, minutes uint32) spec.Reply {
	ch := &u.channel[c]
	if minutes == 0 {
		ch.boostLeft = 0 // BST-10
		return accepted
	}
	if u.holiday && !u.ics.BoostInHoliday {
		return refused(spec.InHoliday) // HOL-4
	}
	longest, step := uint32(u.ics.BoostLongest), uint32(u.ics.BoostStep)
	if minutes > longest || minutes%step != 0 { // BST-9
		if !u.ics.Clamp {
			return refused(spec.BadBoost)
		}
		minutes = min(max(minutes-minutes%step, step), longest) // INP-4
	}
	length := uint64(minutes) * 60
	if u.ics.BoostExtends {
		length = min(ch.boostLeft+length, uint64(longest)*60) // BST-4
	}
	ch.boostLeft = length // BST-1, BST-3
	ch.overridden = false // BST-5
	return accepted
}

func (u *Unit) startHoliday(amount uint32) spec.Reply {
	if !u.clockSet {
		return refused(spec.ClockUnset) // CLK-11
	}
	if amount < 1 || amount > spec.MaxHolidayDays { // HOL-2
		if !u.ics.Clamp {
			return refused(spec.BadHoliday)
		}
		amount = min(max(amount, 1), spec.MaxHolidayDays) // INP-4
	}
	length := int(amount)
	end := midnight(u.reading()).AddDate(0, 0, length) // HOL-1
	if u.holiday && length == u.holidayDays && end.Equal(u.holidayEnd) {
		return accepted // HOL-8
	}
	u.holiday = true
	u.holidayDays = length
	u.holidayEnd = end
	u.cancelOverrides() // HOL-3
	u.cancelBoosts()
	return accepted
}

func (u *Unit) arm(credential string, terms spec.LockTerms) spec.Reply {
	if credential != u.ics.Credential {
		return refused(spec.WrongCredential) // LCK-6
	}
	if !goodTerms(terms) {
		return refused(spec.BadTerms) // LCK-5
	}
	u.armed = true
	u.terms = terms
	u.counted = 0 // LCK-2, LCK-7
	return accepted
}

func (u *Unit) removeLock(credential string) spec.Reply {
	if credential != u.ics.Credential {
		return refused(spec.WrongCredential) // LCK-6
	}
	if !u.armed {
		return refused(spec.LockDormant) // LCK-8
	}
	u.armed = false
	return accepted
}

// reset leaves the lock (LCK-9) and what is fitted (RST-6) as they are.
func (u *Unit) reset() {
	u.defaults()        // RST-1, RST-2
	u.cancelOverrides() // RST-3
	u.cancelBoosts()
	u.holiday = false
	if u.ics.ResetUnsetsClock {
		u.clockSet = false // RST-5
	}
}
