package plain

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/hearthbench/emulator/spec"
)

// drawICS draws any ICS, with every value supported.
func drawICS(t *rapid.T) spec.ICS {
	flag := func(name string) bool { return rapid.Bool().Draw(t, name) }
	step := rapid.SampledFrom([]uint16{1, 15, 30, 60}).Draw(t, "boost step")
	return spec.ICS{
		Fitted: spec.Fitted{
			Channels: spec.Channels(rapid.SampledFrom([]uint8{0, 0, 0, 1, 2}).Draw(t, "channels")),
			Cycle:    spec.Cycle(rapid.Uint8Range(0, 2).Draw(t, "cycle")),
			Timing:   spec.Timing(rapid.Uint8Range(0, 1).Draw(t, "timing")),
			Coupling: spec.Coupling(rapid.Uint8Range(0, 1).Draw(t, "coupling")),
		},
		Supported:          spec.Supported{Channels: 0b111, Cycle: 0b111, Timing: 0b11, Coupling: 0b11},
		Periods:            rapid.Uint8Range(1, spec.MaxPeriods).Draw(t, "periods"),
		BoostStep:          step,
		BoostLongest:       step * rapid.Uint16Range(0, 3).Draw(t, "boost steps"),
		Holiday:            true,
		SummerTime:         flag("summer time"),
		Zone:               rapid.SampledFrom([]int16{0, 0, 60, -60, -105, 345, 840, -720}).Draw(t, "zone"),
		Lock:               true,
		Credential:         "2468",
		Reserve:            rapid.SampledFrom([]uint32{0, 1, 90, 1440}).Draw(t, "reserve"),
		OverrideKept:       flag("override kept"),
		OverrideProgrammed: flag("override programmed"),
		BoostExtends:       flag("boost extends"),
		BoostInHoliday:     flag("boost in holiday"),
		ResetUnsetsClock:   flag("reset unsets clock"),
		LostClock:          spec.LostClock(rapid.Uint8Range(0, 2).Draw(t, "lost clock")),
		KeptThroughCut:     flag("kept through cut"),
		Wrap:               flag("wrap"),
		Clamp:              flag("clamp"),
	}
}

// drawInput draws an input that the unit may well accept, and now and then one that makes no sense.
func drawInput(t *rapid.T) spec.Input {
	minutes := rapid.Custom(func(t *rapid.T) uint16 { return 30 * rapid.Uint16Range(0, 48).Draw(t, "half hours") })
	kind := spec.Kind(rapid.Uint8Range(0, spec.NumKinds-1).Draw(t, "kind"))
	if rapid.Bool().Draw(t, "lively") { // most of what can go wrong begins with one of these
		kind = rapid.SampledFrom([]spec.Kind{spec.Override, spec.Boost, spec.SetPeriod, spec.PowerOn, spec.LockArm}).Draw(t, "lively kind")
	}
	in := spec.Input{
		Kind:       kind,
		Channel:    spec.Channel(rapid.Uint8Range(0, 1).Draw(t, "channel")),
		Mode:       spec.Mode(rapid.Uint8Range(0, 3).Draw(t, "mode")),
		Table:      spec.TableID(rapid.Uint8Range(0, 2).Draw(t, "table")),
		Day:        spec.Day(rapid.Uint8Range(0, 9).Draw(t, "day")),
		Slot:       rapid.Uint8Range(0, 4).Draw(t, "slot"),
		Period:     spec.Period{On: minutes.Draw(t, "on"), Off: minutes.Draw(t, "off")},
		Amount:     rapid.SampledFrom([]uint32{0, 1, 2, 30, 60, 90}).Draw(t, "amount"),
		Minute:     minutes.Draw(t, "minute"),
		FitOption:  spec.FitOption(rapid.Uint8Range(0, 3).Draw(t, "fit option")),
		FitValue:   rapid.Uint8Range(0, 2).Draw(t, "fit value"),
		Credential: rapid.SampledFrom([]string{"2468", "2468", "1111"}).Draw(t, "credential"),
		Terms: spec.LockTerms{
			Days:       rapid.SampledFrom([]uint16{1, 1, 2, 0}).Draw(t, "days"),
			NoticeDays: rapid.SampledFrom([]uint16{1, 0, 2}).Draw(t, "notice days"),
			Sounder:    [spec.MaxSounderTimes]uint16{minutes.Draw(t, "sounder"), 600},
			Sounders:   rapid.Uint8Range(0, 2).Draw(t, "sounders"),
		},
	}
	allowance := rapid.SampledFrom([]uint8{10, 25, 60, spec.NoAllowance})
	for _, c := range channels {
		in.Terms.Notice[c] = allowance.Draw(t, "notice")
		in.Terms.Restricted[c] = allowance.Draw(t, "restricted")
	}
	in.Date = drawDate(t)
	if rapid.Uint8Range(0, 19).Draw(t, "nonsense") == 19 {
		in.Kind = spec.Kind(rapid.Uint8().Draw(t, "any kind"))
		in.Channel = spec.Channel(rapid.Uint8().Draw(t, "any channel"))
		in.Mode = spec.Mode(rapid.Uint8().Draw(t, "any mode"))
		in.Table = spec.TableID(rapid.Uint8().Draw(t, "any table"))
		in.Day = spec.Day(rapid.Uint8().Draw(t, "any day"))
		in.Slot = rapid.Uint8().Draw(t, "any slot")
		in.Period = spec.Period{On: rapid.Uint16().Draw(t, "any on"), Off: rapid.Uint16().Draw(t, "any off")}
		in.Amount = rapid.Uint32().Draw(t, "any amount")
		in.Date = spec.Date{Year: rapid.Uint16().Draw(t, "any year"), Month: rapid.Uint8().Draw(t, "any month"), Day: rapid.Uint8().Draw(t, "any day")}
		in.Minute = rapid.Uint16().Draw(t, "any minute")
		in.FitOption = spec.FitOption(rapid.Uint8().Draw(t, "any option"))
		in.FitValue = rapid.Uint8().Draw(t, "any value")
		in.Terms.Sounders = rapid.Uint8().Draw(t, "any sounders")
	}
	return in
}

// drawDate draws a day on which something may happen: around the changes of summer time, a Friday, the calendar's end; or no
// day at all.
func drawDate(t *rapid.T) spec.Date {
	return rapid.SampledFrom([]spec.Date{
		{Year: 2026, Month: 3, Day: 28}, {Year: 2026, Month: 3, Day: 29}, {Year: 2026, Month: 10, Day: 24},
		{Year: 2026, Month: 10, Day: 25}, {Year: 2026, Month: 1, Day: 16}, {Year: 2099, Month: 12, Day: 31},
		{Year: 2026, Month: 2, Day: 30},
	}).Draw(t, "date")
}

func drawClock(t *rapid.T) spec.Input {
	return spec.Input{Kind: spec.SetClock, Date: drawDate(t), Minute: 60 * rapid.Uint16Range(0, 23).Draw(t, "hour")}
}

// drawSpan draws some seconds: about a boundary, or about as long as things last.
func drawSpan(t *rapid.T) uint64 {
	about := rapid.SampledFrom([]uint64{1, 60, 1800, 3600, 8 * 3600, 36 * 3600}).Draw(t, "about")
	return about + rapid.SampledFrom([]uint64{0, 0, 1, 17}).Draw(t, "more") - rapid.SampledFrom([]uint64{0, 1}).Draw(t, "less")
}

func TestStridesChangeNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ics := drawICS(t)
		seconds, strides := New(ics), New(ics)
		for _, in := range []spec.Input{{Kind: spec.PowerOn}, drawClock(t)} {
			seconds.Do(in)
			strides.Do(in)
		}
		for range rapid.IntRange(1, 20).Draw(t, "steps") {
			in := drawInput(t)
			require.Equal(t, seconds.Do(in), strides.Do(in))
			span := drawSpan(t)
			seconds.Advance(span)
			strides.AdvanceByMinutes(span)
			require.Equal(t, seconds, strides)
		}
	})
}

// What holds whatever happens: INP-1, and the shape of what is written down.
func TestWhateverHappens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := New(drawICS(t))
		u.Do(spec.Input{Kind: spec.PowerOn})
		u.Do(drawClock(t))
		for range rapid.IntRange(1, 30).Draw(t, "steps") {
			in := drawInput(t)
			before := *u
			if reply := u.Do(in); reply.Outcome != spec.Accepted {
				require.NotEqual(t, spec.NoRefusal, reply.Refusal)
				require.Equal(t, before, *u)
			}
			again := *u
			switch in.Kind {
			case spec.SetMode, spec.SetPeriod, spec.SetClock, spec.Holiday, spec.HolidayCancel, spec.Reset, spec.PowerOn, spec.Fit:
				u.Do(in) // INP-2, RST-7, PWR-13
				require.Equal(t, again, *u)
			}
			u.AdvanceByMinutes(drawSpan(t))

			gravity := u.fitted.Coupling == spec.Gravity
			if gravity && u.shown[spec.SigCH] == 1 {
				require.EqualValues(t, 1, u.shown[spec.SigHW]) // CPL-1
			}
			if !u.power {
				require.Zero(t, u.shown) // PWR-1
			}
		}
		shown := [spec.NumSignals]spec.Level{}
		at := uint64(0)
		for _, c := range u.Changes() {
			require.GreaterOrEqual(t, c.At, at)
			require.NotEqual(t, shown[c.Signal], c.Level)
			require.NotEqual(t, spec.NoClause, c.By)
			at, shown[c.Signal] = c.At, c.Level
		}
		require.Equal(t, u.shown, shown)
	})
}

// What a second costs: nothing is running, and nothing is skipped.
func BenchmarkSecond(b *testing.B) {
	u := New(designICS())
	u.Do(spec.Input{Kind: spec.PowerOn})
	u.Do(clock("2026-03-14 08:30"))
	b.ResetTimer()
	u.Advance(uint64(b.N))
}

func BenchmarkYearByMinutes(b *testing.B) {
	u := New(designICS())
	u.Do(spec.Input{Kind: spec.PowerOn})
	u.Do(clock("2026-01-01 00:00"))
	for b.Loop() {
		u.AdvanceByMinutes(365 * 86400)
	}
}
