package identify

import (
	"math/bits"
	"slices"

	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// asker makes the questions that can be asked as far as is known.
type asker struct {
	*Space
	hand    bool
	longest uint64 // s that one question may wait; 0 for any
	cannot  map[string]bool
}

// Times at which scripts begin, in minutes since 2000-01-01T00:00. Each is in winter.
var (
	morning     = at(2026, 1, 21, 8*60) // a Wednesday: by the default table both modes ask for 1 at 08:00, whatever the cycle and the periods
	noon        = at(2026, 1, 21, 12*60)
	lateAtNight = at(2026, 1, 21, 24*60-1)
	spring      = at(2026, 3, 28, 12*60)  // before summer time begins in every zone
	autumn      = at(2025, 10, 28, 12*60) // after it has ended
)

const wednesday = 2 // of the week, from Monday

// questions returns the questions about a factor, of those that divide it best one at least.
func (a *asker) questions(f Factor) []Question {
	if f > Coupling && !a.settled(Channels) || a.Idle(f) != "" {
		return nil
	}
	if a.hand {
		if list := a.front(f); list != nil {
			return a.of(f, list)
		}
	}
	if f <= Coupling {
		list := a.fitted(f)
		if !a.hand {
			list = append(list, a.supported(f)...)
		}
		return a.of(f, list)
	}
	k := a.setting()
	base := a.settled(Cycle, Timing, Periods)
	switch {
	case f == Boost, f == Holiday, f == Lock, f == SecondBoost:
	case f == Periods:
		base = a.settled(Cycle, Timing)
		fallthrough
	default:
		if !base {
			return nil
		}
	}
	return a.of(f, makers[f](a, k))
}

// of fills in the factor and leaves out what takes too long or cannot be done.
func (a *asker) of(f Factor, list []Question) (able []Question) {
	for _, q := range list {
		q.Factor = f
		if (a.longest == 0 || q.Waits() <= a.longest) && (!a.hand || !a.cannot[q.key()]) {
			able = append(able, q)
		}
	}
	return able
}

// makers has what makes the questions about each factor, once what they need to know is settled.
var makers = [NumFactors]func(*asker, *setting) []Question{
	Periods: askPeriods, Boost: askBoost, Holiday: askHoliday, SummerTime: askSummerTime, Lock: askLock, Reserve: askReserve,
	ModeChange: askModeChange, OverrideEnd: askOverrideEnd, SecondBoost: askSecondBoost, BoostInHoliday: askBoostInHoliday,
	AfterReset: askAfterReset, LostClock: askLostClock, ThroughCut: askThroughCut, PastMidnight: askPastMidnight, BadValue: askBadValue,
}

// setting is the unit as it left the factory, as far as that is settled.
func (a *asker) setting() *setting {
	f := spec.Fitted{
		Channels: spec.Channels(fittedOf(a.the(Channels))), Cycle: spec.Cycle(fittedOf(a.the(Cycle))),
		Timing: spec.Timing(fittedOf(a.the(Timing))),
	}.Effective()
	k := &setting{hand: a.hand, fitted: f, periods: int(a.the(Periods)), channel: spec.CH}
	if f.Channels == spec.OnlyHW {
		k.channel = spec.HW
	}
	return k
}

// common returns a value as which the unit can be fitted by every hypothesis.
func (a *asker) common(f Factor) (fit uint8, ok bool) {
	sets := value(-1)
	for _, v := range a.values[f] {
		sets &= v >> 2
	}
	return uint8(bits.TrailingZeros32(uint32(sets))), sets != 0
}

var fitOptions = [...]spec.FitOption{Channels: spec.FitChannels, Cycle: spec.FitCycle, Timing: spec.FitTiming, Coupling: spec.FitCoupling}

// bare is for scripts that cannot know which channels there are.
func bare() *script { return (&setting{hand: true}).newScript() }

// supported asks as what the unit can be fitted.
func (a *asker) supported(f Factor) (list []Question) {
	for fit := range uint8(3) {
		some, all := false, true
		for _, v := range a.values[f] {
			some, all = some || supports(v, fit), all && supports(v, fit)
		}
		if some && !all {
			s, look := bare().fit(fitOptions[f], fit).has()
			list = append(list, Question{Script: s, Look: look, Clauses: []string{"PWR-14"}})
		}
	}
	return list
}

// dayOf has a day of each cycle that no other has.
var dayOf = [...]spec.Day{spec.Cycle24h: spec.All, spec.Cycle52: spec.Weekdays, spec.Cycle7Day: spec.Mon}

// fitted asks what is fitted.
func (a *asker) fitted(f Factor) (list []Question) {
	const on, off = 6 * 60, 7 * 60
	if f == Channels {
		for c := range spec.Channel(spec.NumChannels) {
			s, look := bare().do(spec.Input{Kind: spec.PowerOn}).mode(c, spec.Off).has()
			list = append(list, Question{Script: s, Look: look, Clauses: []string{"INP-5"}})
		}
		return list
	}
	if !a.settled(Channels) {
		return nil
	}
	k := a.setting()
	s := k.newScript()
	if f == Cycle {
		if k.fitted.Channels == spec.BothChannels {
			timing, ok := a.common(Timing)
			if !ok {
				return nil
			}
			k.fitted.Timing = spec.Timing(timing)
			s.fit(spec.FitTiming, timing)
		}
		s.do(spec.Input{Kind: spec.PowerOn})
		for _, day := range dayOf {
			one := &script{k: k, list: slices.Clone(s.list)}
			list1, look := one.period(day, 1, on, off).accepted()
			list = append(list, Question{Script: list1, Look: look, Clauses: []string{"TAB-17"}})
		}
		return list
	}
	// Timing and coupling count with both channels only.
	if !supports(a.the(Channels), uint8(spec.BothChannels)) {
		return nil
	}
	if !a.hand {
		s.fit(spec.FitChannels, uint8(spec.BothChannels))
	}
	if f == Coupling {
		if a.hand {
			s = k.power()
		} else {
			s.do(spec.Input{Kind: spec.PowerOn})
		}
		list1, look := s.mode(spec.HW, spec.Off).mode(spec.CH, spec.Always).closed()
		look.Channel = spec.HW
		return []Question{{Script: list1, Look: look, Clauses: []string{"CPL-1", "CPL-5"}}}
	}
	cycle, ok := a.common(Cycle)
	if !ok {
		return nil
	}
	list1, look := s.fit(spec.FitCycle, cycle).do(spec.Input{Kind: spec.PowerOn}).do(spec.Input{
		Kind: spec.SetPeriod, Table: spec.BothTables, Day: dayOf[cycle], Slot: 1, Period: spec.Period{On: on, Off: off},
	}).accepted()
	return []Question{{Script: list1, Look: look, Clauses: []string{"TAB-13", "TAB-17"}}}
}

func askPeriods(a *asker, k *setting) (list []Question) {
	for slot := 2; slot <= spec.MaxPeriods; slot++ {
		s := k.power()
		script, look := s.period(k.days(wednesday, wednesday)[0], slot, 6*60, 7*60).accepted()
		list = append(list, Question{Script: script, Look: look, Clauses: []string{"TAB-16"}})
	}
	return list
}

func askHoliday(_ *asker, k *setting) []Question {
	s, look := k.power().do(spec.Input{Kind: spec.HolidayCancel}).has()
	return []Question{{Script: s, Look: look, Clauses: []string{"INP-6"}}}
}

// askLock never tries a credential that it has not been given: without one it asks only what is refused in any case.
func askLock(a *asker, k *setting) (list []Question) {
	s, look := k.power().do(spec.Input{Kind: spec.LockRemove, Credential: anotherThan(a.credential)}).has()
	list = append(list, Question{Script: s, Look: look, Clauses: []string{"INP-6", "LCK-8"}})
	if a.credential != "" {
		none := [spec.NumChannels]uint8{spec.NoAllowance, spec.NoAllowance}
		s, look := k.power().do(spec.Input{
			Kind: spec.LockArm, Credential: a.credential, Terms: spec.LockTerms{Days: 30, Notice: none, Restricted: none},
		}).accepted()
		list = append(list, Question{Script: s, Look: look, Clauses: []string{"LCK-2", "LCK-6"}})
	}
	return list
}

func askBadValue(a *asker, k *setting) []Question {
	s, look := k.power().period(k.days(wednesday, wednesday)[0], 1, spec.MinutesPerDay, spec.MinutesPerDay).accepted()
	return []Question{{Script: s, Look: look, Clauses: []string{"TAB-3", "INP-3", "INP-4"}}}
}

func askPastMidnight(a *asker, k *setting) []Question {
	const on, off = 22 * 60, 6 * 60
	if !a.hand && !a.settled(BadValue) {
		return nil
	}
	clauses := []string{"TAB-6", "TAB-7", "INP-4"}
	if !a.hand && a.the(BadValue) == 0 {
		s, look := k.power().period(k.days(wednesday, wednesday)[0], 1, on, off).accepted()
		return []Question{{Script: s, Look: look, Clauses: clauses}}
	}
	s, look := k.power().clock(lateAtNight).only(wednesday, wednesday, on, off).wait(90).closed()
	return []Question{{Script: s, Look: look, Clauses: clauses}}
}

func askModeChange(_ *asker, k *setting) []Question {
	s, look := k.power().clock(morning).override().mode(k.channel, spec.Span).closed()
	return []Question{{Script: s, Look: look, Clauses: []string{"OVR-7", "OVR-8"}}}
}

// A table that is full has no switching point, but it has programmed times.
func askOverrideEnd(_ *asker, k *setting) []Question {
	s, look := k.power().clock(morning).only(0, 6, 0, spec.MinutesPerDay).override().accepted()
	return []Question{{Script: s, Look: look, Clauses: []string{"OVR-9", "OVR-17"}}}
}

func askAfterReset(_ *asker, k *setting) []Question {
	s, look := k.power().clock(noon).do(spec.Input{Kind: spec.Reset}).override().accepted()
	return []Question{{Script: s, Look: look, Clauses: []string{"RST-4", "RST-5", "CLK-11"}}}
}

func askSecondBoost(a *asker, k *setting) []Question {
	if !a.settled(Boost) {
		return nil
	}
	_, step := boostOf(a.the(Boost))
	s, look := k.power().mode(k.channel, spec.Off).boost(step).boost(step).minutes(step).wait(afterPower).closed()
	return []Question{{Script: s, Look: look, Clauses: []string{"BST-3", "BST-4"}}}
}

func askBoostInHoliday(a *asker, k *setting) []Question {
	if !a.settled(Boost, Holiday) {
		return nil
	}
	_, step := boostOf(a.the(Boost))
	s, look := k.power().clock(noon).do(spec.Input{Kind: spec.Holiday, Amount: 1}).boost(step).accepted()
	return []Question{{Script: s, Look: look, Clauses: []string{"HOL-4", "HOL-5"}}}
}

// askThroughCut has a cut of ten seconds: any reserve but none outlasts it.
func askThroughCut(a *asker, k *setting) []Question {
	if a.the(Reserve) == 0 || a.hand && a.the(Reserve) == a.reserves[0].value {
		return nil // some hypothesis, of those that are in order first, has none, or perhaps none
	}
	s := k.power().clock(morning).override()
	script, look := s.do(spec.Input{Kind: spec.PowerOff}).wait(10).do(spec.Input{Kind: spec.PowerOn}).wait(afterPower).closed()
	return []Question{{Script: script, Look: look, Clauses: []string{"PWR-3", "PWR-4"}}}
}

// median returns a value such that as many of those that remain are above it as are not, or nearly.
func median(list []value) int { return int(list[len(list)/2-1]) }

// askSummerTime runs the clock to the minutes after the change of spring in one zone, with a table that asks for 1 in just these: in this
// zone and in those east of it the reading has gone past them.
func askSummerTime(a *asker, k *setting) []Question {
	const after, width = 7, 15
	if len(a.values[SummerTime]) < 2 {
		return nil
	}
	change := at(2026, 3, 29, 60) + median(a.values[SummerTime])
	clauses := []string{"CLK-5", "CLK-7", "CLK-14"}
	if a.hand {
		s := k.power().clock(spring).clock(change - 1).minutes(2)
		return []Question{{Script: s.list, Look: Look{Kind: Reads, Minute: (change + 1) % spec.MinutesPerDay}, Clauses: clauses}}
	}
	on := change % spec.MinutesPerDay
	s, look := k.power().clock(spring).only(5, 6, on, on+width).minutes(change - spring + after).closed()
	return []Question{{Script: s, Look: look, Clauses: clauses}}
}

// askLostClock needs a cut that loses every clock that remains, but for a unit whose clock runs as it comes out of the box.
func askLostClock(a *asker, k *setting) (list []Question) {
	clauses := []string{"PWR-9", "PWR-10", "PWR-11", "PWR-16"}
	longest := int(slices.Max(a.values[Reserve]))
	if a.hand {
		if longest == spec.MaxReserve {
			return nil
		}
		for _, r := range a.reserves {
			if int(r.value) == longest {
				longest = r.to
			}
		}
		s := k.power().clock(noon).cut(longest)
		return []Question{
			{Script: s.list, Look: Look{Kind: Unset}, Clauses: clauses},
			{Script: s.list, Look: Look{Kind: Reads}, Clauses: clauses},
		}
	}
	s, look := k.power().override().accepted()
	list = append(list, Question{Script: s, Look: look, Clauses: clauses})
	s, look = k.power().clock(noon).cut(longest).override().accepted()
	return append(list, Question{Script: s, Look: look, Clauses: clauses})
}

// askReserve asks whether the clock outlives a cut.
func askReserve(a *asker, k *setting) (list []Question) {
	values := a.values[Reserve]
	clauses := []string{"PWR-6", "PWR-7"}
	switch {
	case len(values) < 2:
		return nil
	case a.hand:
		for _, r := range a.reserves {
			if slices.Contains(values, r.value) && r.to < spec.MaxReserve {
				s := k.power().clock(morning - r.to).cut(r.to)
				list = append(list, Question{Script: s.list, Look: Look{Kind: Reads, Minute: 8 * 60}, Clauses: clauses})
			}
		}
		return list
	case !a.settled(LostClock):
		return nil
	case spec.LostClock(a.the(LostClock)) == spec.LostResumes:
		if a.settled(SummerTime) {
			return a.askResumed(k)
		}
		return nil
	}
	cut := median(values)
	if limit := int(a.longest / calendar.Minute); a.longest > 0 && cut >= limit {
		cut = limit - 1 // the script waits a little besides
	}
	if cut < int(values[0]) {
		return nil
	}
	// Half past eight by a clock that has not been moved on or back on the way, half past seven by one that has: by the default
	// table it is on in both, while a clock that starts afresh at midnight, or not at all, leaves it off.
	begin := morning + 30 - cut
	if _, month, day := calendar.Date(begin / spec.MinutesPerDay); month == 3 && day > 23 {
		begin += 14 * spec.MinutesPerDay // not the night in which readings are skipped
	}
	s, look := k.power().clock(begin).cut(cut).closed()
	return []Question{{Script: s, Look: look, Clauses: clauses, block: func(v value) int32 {
		if int(v) > cut {
			return 1
		}
		return 0
	}}}
}

// askResumed is for a clock that goes on from where its reserve ran out. What time of day that was is asked first, after a year's
// cut; then, by cuts half a day off, how many days there were before.
func (a *asker) askResumed(k *setting) []Question {
	resumed := a.resumedReading()
	values := a.values[Reserve]
	var readings [spec.MinutesPerDay]int // how many values stand for each
	for _, v := range values {
		readings[resumed(int(v))]++
	}
	first := slices.IndexFunc(readings[:], func(n int) bool { return n > 0 })
	begin := func() *script { return k.power().mode(spec.HW, spec.Off).mode(spec.CH, spec.Off).clock(autumn) }
	look := func(s *script) (q Question) {
		q.Script, q.Look = s.mode(k.channel, spec.Table).closed()
		q.Clauses = []string{"PWR-7", "PWR-10"}
		return q
	}
	if readings[first] < len(values) {
		off, below := first, 0
		for off == first || 2*below < len(values) && below+readings[off] < len(values) {
			below += readings[off]
			off++
		}
		// Without need of a cut that is longer than any reserve that remains.
		cut := int(slices.Max(values))
		q := look(begin().only(0, 6, first, off).cut(cut))
		q.block = func(v value) int32 { return int32(resumed(int(v))) }
		return []Question{q}
	}
	const half, quarter = spec.MinutesPerDay / 2, spec.MinutesPerDay / 4
	cut := median(values) + half
	q := look(begin().only(0, 6, max(first-quarter, 0), min(first+quarter, spec.MinutesPerDay)).cut(cut))
	q.block = func(v value) int32 {
		if int(v) > cut {
			return 1
		}
		return 0
	}
	return []Question{q}
}

// resumedReading returns the minute of the day that a clock set to [autumn] reads after so many minutes, summer time included.
func (a *asker) resumedReading() func(minutes int) int {
	v := a.the(SummerTime)
	if v == noSummerTime {
		return func(minutes int) int { return (autumn + minutes) % spec.MinutesPerDay }
	}
	utc := autumn - int(v)
	forward := int(calendar.NextChange(int64(utc)*calendar.Minute) / calendar.Minute)
	back := int(calendar.NextChange(int64(forward)*calendar.Minute) / calendar.Minute)
	return func(minutes int) int {
		reading := autumn + minutes
		if t := utc + minutes; t >= forward && t < back {
			reading += 60
		}
		return reading % spec.MinutesPerDay
	}
}

// askBoost asks for a boost that about half of what remains have; where bad values are clamped, it asks how long one comes to.
func askBoost(a *asker, k *setting) []Question {
	values := a.values[Boost]
	if len(values) < 2 || !a.settled(BadValue) {
		return nil
	}
	if a.the(BadValue) == 0 {
		tries := boostsOfHalf(values)
		s := k.power()
		if len(tries) == 1 {
			list, look := s.boost(tries[0]).accepted()
			return []Question{{Script: list, Look: look, Clauses: []string{"BST-9"}}}
		}
		s.mode(k.channel, spec.Off)
		for _, m := range tries {
			s.boost(m)
		}
		list, look := s.closed()
		return []Question{{Script: list, Look: look, Clauses: []string{"BST-9", "INP-1"}}}
	}
	// Length clamped as INP-4 has it: first the longest, then how far below it the next whole step is.
	ask := spec.MaxBoostMinutes
	if longest, _ := boostOf(values[0]); !slices.ContainsFunc(values, func(v value) bool { l, _ := boostOf(v); return l != longest }) {
		ask = longest - 1
	}
	lengths := make([]int, len(values))
	for i, v := range values {
		if longest, step := boostOf(v); longest > 0 {
			lengths[i] = max(step, min(ask, longest)/step*step)
		}
	}
	slices.Sort(lengths)
	wait := lengths[len(lengths)/2]
	if wait != lengths[0] {
		wait = lengths[slices.Index(lengths, wait)-1]
	}
	s, look := k.power().mode(k.channel, spec.Off).boost(ask).minutes(wait).wait(afterPower).closed()
	return []Question{{Script: s, Look: look, Clauses: []string{"BST-1", "INP-4"}}}
}

// maxTries is how many boosts one script tries: a refused one changes nothing (INP-1), so one look tells whether any was accepted.
const maxTries = 200

// boostsOfHalf returns boosts of which at least one is accepted by half the values, or as nearly as so many tries come to that.
func boostsOfHalf(values []value) (tries []int) {
	left := slices.Clone(values) // which accept none of the tries
	off := len(values)
	for len(tries) < maxTries {
		var have [spec.MaxBoostMinutes + 1]int // of those left
		for _, v := range left {
			longest, step := boostOf(v)
			for m := step; m <= longest; m += step {
				have[m]++
			}
		}
		best := 0
		for m, n := range have {
			rest := len(left) - n
			if d := max(2*rest-len(values), len(values)-2*rest); m > 0 && d < off {
				best, off = m, d
			}
		}
		if best == 0 {
			break
		}
		tries = append(tries, best)
		left = slices.DeleteFunc(left, func(v value) bool { longest, step := boostOf(v); return best <= longest && best%step == 0 })
	}
	return tries
}

// controls are scripts on what the questions have come near to and not touched, once everything is settled: a year of default tables, which
// a change of summer time on another day or a week that begins on another day moves; the reserve to the second, where questions go by
// the minute; the longest boost to its last second, one that is longer, and one upon another.
func (a *asker) controls() []Question {
	k := a.setting()
	control := func(s *script, clauses ...string) Question { return Question{Script: s.list, Clauses: clauses} }
	list := []Question{control(k.power().clock(autumn).minutes(366*spec.MinutesPerDay), "TAB-18", "CLK-5", "CLK-6")}
	if reserve := uint64(a.the(Reserve)) * calendar.Minute; reserve > 0 {
		for _, cut := range []uint64{reserve - 1, reserve} {
			s := k.power().clock(morning).do(spec.Input{Kind: spec.PowerOff}).wait(cut).do(spec.Input{Kind: spec.PowerOn}).wait(afterPower)
			list = append(list, control(s.override().minutes(spec.MinutesPerDay), "PWR-7"))
		}
	}
	if longest, step := boostOf(a.the(Boost)); longest > 0 {
		s := k.power().mode(k.channel, spec.Off).boost(longest).minutes(longest).boost(longest + step).minutes(longest + step)
		s.boost(longest).minutes(1).boost(longest).minutes(2 * longest) // which ends alike whether it replaces or extends
		list = append(list, control(s, "BST-1", "BST-3", "BST-4", "BST-9"))
	}
	return a.of(NumFactors, list)
}
