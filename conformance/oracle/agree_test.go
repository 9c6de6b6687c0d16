package oracle_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

func pick[T any](t *rapid.T, what string, values ...T) T {
	return rapid.SampledFrom(values).Draw(t, what)
}

// anyICS draws a statement with every option and choice. Tolerances are for boards; models are exact.
func anyICS(t *rapid.T) spec.ICS {
	flag := func(what string) bool { return rapid.Bool().Draw(t, what) }
	s := spec.FullICS()
	s.Fitted = spec.Fitted{
		Channels: pick(t, "channels", spec.BothChannels, spec.BothChannels, spec.BothChannels, spec.OnlyHW, spec.OnlyCH),
		Cycle:    pick(t, "cycle", spec.Cycle24h, spec.Cycle52, spec.Cycle7Day),
		Timing:   pick(t, "timing", spec.Separate, spec.Shared),
		Coupling: pick(t, "coupling", spec.Independent, spec.Gravity),
	}
	s.Periods = uint8(rapid.IntRange(1, spec.MaxPeriods).Draw(t, "periods"))
	s.BoostStep = pick[uint16](t, "boost-step", 60, 30, 7)
	s.BoostLongest = s.BoostStep * pick[uint16](t, "boost-longest", 3, 3, 1, 4, 0)
	s.Holiday = !flag("no holiday")
	s.SummerTime = !flag("no summer time")
	s.Zone = pick[int16](t, "zone", 0, 0, 60, -60, -120, 345)
	s.Lock = !flag("no lock")
	s.Reserve = pick[uint32](t, "reserve", 480, 0, 1, 60)
	s.OverrideKept = flag("override kept")
	s.OverrideProgrammed = flag("override programmed")
	s.BoostExtends = flag("boost extends")
	s.BoostInHoliday = flag("boost in holiday")
	s.ResetUnsetsClock = flag("reset unsets clock")
	s.LostClock = pick(t, "lost-clock", spec.LostUnset, spec.LostResumes, spec.LostRestarts)
	s.KeptThroughCut = flag("kept through cut")
	s.Wrap = flag("wrap")
	s.Clamp = flag("clamp")
	return s
}

// times are few, so that they meet.
var times = []uint16{0, 30, 60, 90, 120, 150, 390, 540, 1020, 1320, 1380, 1410, 1439, 1440}

// dates lie around the changes of summer time, week's ends, month's ends and the leap day.
var dates = []spec.Date{
	{Year: 2026, Month: 1, Day: 14}, {Year: 2026, Month: 3, Day: 28}, {Year: 2026, Month: 3, Day: 29}, {Year: 2026, Month: 10, Day: 24},
	{Year: 2026, Month: 10, Day: 25}, {Year: 2026, Month: 5, Day: 31}, {Year: 2028, Month: 2, Day: 28}, {Year: 2027, Month: 12, Day: 31},
	{Year: 2026, Month: 2, Day: 29}, {Year: 1999, Month: 12, Day: 31}, {Year: 2099, Month: 12, Day: 31}, {Year: 2100, Month: 1, Day: 1},
}

// Most inputs need power and a clock that is set, so what takes them away is rare and soon mended.
var (
	powerless = []spec.Kind{spec.PowerOn, spec.PowerOn, spec.PowerOn, spec.Fit, spec.Override, spec.SetClock}
	clockless = []spec.Kind{
		spec.SetClock, spec.SetClock, spec.SetClock, spec.SetMode, spec.Boost, spec.Override, spec.SetPeriod, spec.Holiday, spec.LockArm, spec.PowerOff,
	}
	usual = []spec.Kind{
		spec.PowerOff, spec.PowerOn, spec.Fit, spec.SetClock, spec.SetClock, spec.SetMode, spec.SetMode, spec.SetMode, spec.SetPeriod, spec.SetPeriod,
		spec.SetPeriod, spec.SetPeriod, spec.Override, spec.Override, spec.Override, spec.Override, spec.Override, spec.Boost, spec.Boost, spec.Boost, spec.Boost,
		spec.Holiday, spec.HolidayCancel, spec.LockArm, spec.LockArm, spec.LockRemove, spec.Reset, spec.PowerOff,
	}
)

func anyInput(t *rapid.T, ics *spec.ICS, kinds []spec.Kind) spec.Input {
	channel := pick(t, "channel", spec.HW, spec.CH)
	minute := func() uint16 { return rapid.SampledFrom(times).Draw(t, "time") }
	switch k := rapid.SampledFrom(kinds).Draw(t, "kind"); k {
	case spec.Fit:
		option := pick(t, "option", spec.FitChannels, spec.FitCycle, spec.FitTiming, spec.FitCoupling)
		return spec.Input{Kind: k, FitOption: option, FitValue: uint8(rapid.IntRange(0, len(wire.FitWords(option))-1).Draw(t, "value"))}
	case spec.SetClock:
		return spec.Input{Kind: k, Date: rapid.SampledFrom(dates).Draw(t, "date"), Minute: minute()}
	case spec.SetMode:
		return spec.Input{Kind: k, Channel: channel, Mode: pick(t, "mode", spec.Table, spec.Span, spec.Off, spec.Always)}
	case spec.SetPeriod:
		in := spec.Input{Kind: k, Table: spec.TableID(channel), Slot: uint8(rapid.IntRange(1, 3).Draw(t, "slot"))}
		if pick(t, "whole table", true, true, true, false) == (ics.Fitted.Effective().Timing == spec.Shared) {
			in.Table = spec.BothTables
		}
		var days []spec.Day
		for d := spec.Mon; d <= spec.All; d++ {
			if d.In(ics.Fitted.Cycle) {
				days = append(days, d)
			}
		}
		days = append(days, spec.All)
		in.Day = rapid.SampledFrom(days).Draw(t, "day")
		in.Period = spec.Period{On: minute(), Off: minute()}
		return in
	case spec.Override:
		return spec.Input{Kind: k, Channel: channel}
	case spec.Boost:
		return spec.Input{Kind: k, Channel: channel, Amount: pick[uint32](t, "minutes", uint32(ics.BoostStep), uint32(ics.BoostLongest), uint32(ics.BoostStep), 0, 61, 5, 1441)}
	case spec.Holiday:
		return spec.Input{Kind: k, Amount: pick[uint32](t, "days", 1, 2, 14, 0, 99, 100)}
	case spec.LockArm:
		allowance := func() uint8 { return pick[uint8](t, "allowance", 10, 20, 60, spec.NoAllowance, 35) }
		in := spec.Input{Kind: k, Credential: pick(t, "credential", ics.Credential, ics.Credential, ics.Credential, "0000"), Terms: spec.LockTerms{
			Days: pick[uint16](t, "days", 1, 2, 999, 0, 1000), NoticeDays: pick[uint16](t, "notice days", 0, 1, 2, 3),
			Notice: [2]uint8{allowance(), allowance()}, Restricted: [2]uint8{allowance(), allowance()},
			Sounders: uint8(rapid.IntRange(0, 4).Draw(t, "sounders")),
		}}
		for i := range in.Terms.Sounders {
			in.Terms.Sounder[i] = minute()
		}
		return in
	case spec.LockRemove:
		return spec.Input{Kind: k, Credential: pick(t, "credential", ics.Credential, "0000")}
	default:
		return spec.Input{Kind: k}
	}
}

// anyWait draws seconds to wait: around the next instant of change, or a length that means something.
func anyWait(t *rapid.T, u *emulator.Unit) uint64 {
	if next, ok := u.Next(); ok && rapid.Bool().Draw(t, "near") && next-u.Now() < 40*86400 {
		return max(next+1, u.Now()+2) - 2 + uint64(rapid.IntRange(0, 2).Draw(t, "around")) - u.Now()
	}
	return pick[uint64](t, "wait", 0, 0, 0, 1, 59, 60, 599, 1800, 3599, 3600, 3601, 4*3600, 8*3600, 86399, 86400, 3*86400)
}

// Whatever the unit and whatever is done to it, the two models show the same changes with the same reasons, and take and
// refuse the same inputs.
func TestModelsAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ics := anyICS(t)
		fast, slow := oracle.Emulator(ics).(*emulator.Unit), oracle.SecondModel(ics)
		var story strings.Builder
		do := func(in spec.Input) {
			fmt.Fprintf(&story, "@%d %s\n", fast.Now(), wire.AppendInput(nil, in))
			ra, a := fast.Do(in, nil)
			rb, b := slow.Do(in, nil)
			if ra.Outcome != rb.Outcome {
				t.Fatalf("%s%s: emulator %v, second model %v", story.String(), wire.AppendInput(nil, in), ra, rb)
			}
			compare(t, &story, a, b)
		}
		powered := true
		do(spec.Input{Kind: spec.PowerOn})
		do(spec.Input{Kind: spec.SetClock, Date: rapid.SampledFrom(dates).Draw(t, "date"), Minute: rapid.SampledFrom(times).Draw(t, "time")})
		for range rapid.IntRange(1, 40).Draw(t, "inputs") {
			wait := anyWait(t, fast)
			compare(t, &story, fast.Advance(wait, nil), slow.Advance(wait, nil))
			if rapid.Bool().Draw(t, "by way of its facts") {
				facts := fast.Facts()
				fast.Restore(&facts)
			}
			kinds := usual
			if _, _, clock := fast.Reading(); !powered {
				kinds = powerless
			} else if !clock {
				kinds = clockless
			}
			in := anyInput(t, &ics, kinds)
			do(in)
			switch in.Kind {
			case spec.PowerOff:
				powered = false
			case spec.PowerOn:
				powered = true
			}
		}
		compare(t, &story, fast.Advance(2*86400, nil), slow.Advance(2*86400, nil))
	})
}

func compare(t *rapid.T, story fmt.Stringer, fast, slow []spec.Change) {
	t.Helper()
	if d := cmp.Diff(slow, fast, cmpopts.IgnoreFields(spec.Change{}, "Cause", "Slot"), cmpopts.EquateEmpty()); d != "" {
		t.Fatalf("%s-second model +emulator\n%s", story, d)
	}
}
