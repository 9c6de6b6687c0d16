package spec

import (
	"errors"
	"fmt"
)

// FullICS returns the statement of a unit that has everything and can be fitted as anything, with the default of every
// choice: six periods a day, boosts of one to three hours, a reserve of eight hours. Its credential is 246810.
func FullICS() ICS {
	return ICS{
		Fitted: Fitted{Cycle: Cycle7Day},
		Supported: Supported{
			Channels: 1<<BothChannels | 1<<OnlyHW | 1<<OnlyCH,
			Cycle:    1<<Cycle24h | 1<<Cycle52 | 1<<Cycle7Day,
			Timing:   1<<Separate | 1<<Shared,
			Coupling: 1<<Independent | 1<<Gravity,
		},
		Periods:      MaxPeriods,
		BoostLongest: 180,
		BoostStep:    60,
		Holiday:      true,
		SummerTime:   true,
		Lock:         true,
		Credential:   "246810",
		Reserve:      480,
		Tolerances:   Tolerances{LatePowerOn: 2, LockGrain: 1},
	}
}

// Validate reports everything in the statement that BEHAVIOUR.md's table of the ICS does not allow, one error for each option.
func (s ICS) Validate() error {
	var errs []error
	bad := func(option, format string, args ...any) {
		errs = append(errs, fmt.Errorf("ICS option %s: %s", option, fmt.Sprintf(format, args...)))
	}
	fitted := func(option string, values int, supported, value uint8) {
		switch {
		case supported == 0 || supported >= 1<<values:
			bad(option, "lists no value, or one that does not exist")
		case int(value) >= values || supported&(1<<value) == 0:
			bad(option, "the fitted value is not among the supported ones")
		}
	}
	fitted("channels", 3, s.Supported.Channels, uint8(s.Fitted.Channels))
	fitted("cycle", 3, s.Supported.Cycle, uint8(s.Fitted.Cycle))
	fitted("timing", 2, s.Supported.Timing, uint8(s.Fitted.Timing))
	fitted("coupling", 2, s.Supported.Coupling, uint8(s.Fitted.Coupling))
	if s.Periods < 1 || s.Periods > MaxPeriods {
		bad("periods", "%d is not 1 to %d", s.Periods, MaxPeriods)
	}
	if s.BoostStep < 1 || s.BoostStep > MaxBoostStep {
		bad("boost-step", "%d is not 1 to %d minutes", s.BoostStep, MaxBoostStep)
	} else if s.BoostLongest > MaxBoostMinutes || s.BoostLongest%s.BoostStep != 0 {
		bad("boost-longest", "%d is not 0 to %d minutes in whole steps of %d", s.BoostLongest, MaxBoostMinutes, s.BoostStep)
	}
	if s.Zone < MinZone || s.Zone > MaxZone || s.Zone%ZoneStep != 0 {
		bad("zone", "%d is not %d to %d minutes in steps of %d", s.Zone, MinZone, MaxZone, ZoneStep)
	}
	if s.Lock && !ValidCredential(s.Credential) {
		bad("credential", "a unit with a lock needs one of 4 to 8 digits")
	}
	if s.Reserve > MaxReserve {
		bad("reserve", "%d is more than %d minutes", s.Reserve, MaxReserve)
	}
	if s.LostClock > LostRestarts {
		bad("lost-clock", "no such value")
	}
	return errors.Join(errs...)
}

// ValidCredential reports whether a text can be a credential: 4 to 8 decimal digits.
func ValidCredential(text string) bool {
	if len(text) < 4 || len(text) > 8 {
		return false
	}
	for _, r := range []byte(text) {
		if r < '0' || r > '9' {
			return false
		}
	}
	return true
}

// Fit returns the fitted values with one of them changed, and whether the ICS supports the new one.
func (s ICS) Fit(f Fitted, option FitOption, value uint8) (Fitted, bool) {
	var supported uint8
	switch option {
	case FitChannels:
		supported, f.Channels = s.Supported.Channels, Channels(value)
	case FitCycle:
		supported, f.Cycle = s.Supported.Cycle, Cycle(value)
	case FitTiming:
		supported, f.Timing = s.Supported.Timing, Timing(value)
	case FitCoupling:
		supported, f.Coupling = s.Supported.Coupling, Coupling(value)
	}
	return f, value < 8 && supported&(1<<value) != 0
}

// Effective returns what the fitted values amount to: a single channel is independent and has a table of its own.
func (f Fitted) Effective() Fitted {
	if f.Channels != BothChannels {
		f.Coupling, f.Timing = Independent, Separate
	}
	return f
}
