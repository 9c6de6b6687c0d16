package emulator

import "example.org/hearthbench/emulator/spec"

// Do gives the unit an input in this second, after everything that the clocks bring in it (OUT-4), and appends what changes
// to changes. An input that is not accepted changes nothing at all (INP-1).
func (u *Unit) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	return u.Give(&in, changes)
}

// Give is [Unit.Do] with an input that is not copied, which is long; it stays as it is.
func (u *Unit) Give(in *spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	if r := u.unsupported(in); r != spec.NoRefusal {
		return spec.Reply{Outcome: spec.Unsupported, Refusal: r}, changes
	}
	if !u.power.on && in.Kind != spec.PowerOn && in.Kind != spec.Fit {
		return spec.Reply{Outcome: spec.Refused, Refusal: spec.NoPower}, changes // PWR-2
	}
	if r := u.act(in); r != spec.NoRefusal {
		return spec.Reply{Outcome: spec.Refused, Refusal: r}, changes
	}
	return spec.Reply{}, u.Settle(changes)
}

// unsupported says whether the unit lacks what the input is for (INP-5, INP-6).
func (u *Unit) unsupported(in *spec.Input) spec.Refusal {
	lacks := false
	switch in.Kind {
	case spec.Fit:
		if _, ok := u.ics.Fit(u.back, in.FitOption, in.FitValue); !ok {
			return spec.UnsupportedFitted
		}
	case spec.SetMode, spec.Override:
		lacks = !u.fitted.Channels.Has(in.Channel)
	case spec.Boost:
		lacks = !u.fitted.Channels.Has(in.Channel) || u.ics.BoostLongest == 0
	case spec.SetPeriod:
		lacks = in.Table != spec.BothTables && !u.fitted.Channels.Has(spec.Channel(in.Table))
	case spec.Holiday, spec.HolidayCancel:
		lacks = !u.ics.Holiday
	case spec.LockArm, spec.LockRemove:
		lacks = !u.ics.Lock
	}
	if lacks {
		return spec.UnsupportedInput
	}
	return spec.NoRefusal
}

func (u *Unit) act(in *spec.Input) spec.Refusal {
	switch in.Kind {
	case spec.PowerOff:
		u.cutPower()
	case spec.PowerOn:
		u.returnPower()
	case spec.Fit:
		return u.fit(in.FitOption, in.FitValue)
	case spec.SetClock:
		return u.setClock(in.Date, in.Minute)
	case spec.SetMode:
		u.setMode(in.Channel, in.Mode)
	case spec.SetPeriod:
		return u.setPeriod(in.Table, in.Day, in.Slot, in.Period)
	case spec.Override:
		return u.override(in.Channel)
	case spec.Boost:
		return u.boost(in.Channel, in.Amount)
	case spec.Holiday:
		return u.startHoliday(in.Amount)
	case spec.HolidayCancel:
		u.holiday = holiday{ends: never}
	case spec.LockArm:
		return u.arm(in.Credential, in.Terms)
	case spec.LockRemove:
		return u.remove(in.Credential)
	case spec.Reset:
		u.reset()
	}
	return spec.NoRefusal
}
