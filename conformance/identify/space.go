package identify

import (
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strconv"
	"strings"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Factor is what is settled by itself: one or two options of the ICS.
type Factor uint8

// The factors. The first four are what can be fitted, together with what is.
const (
	Channels Factor = iota
	Cycle
	Timing
	Coupling
	Periods
	Boost // boost-longest and boost-step
	Holiday
	SummerTime // summer-time and zone
	Lock       // lock, and whether the credential that is known is the unit's
	Reserve
	ModeChange
	OverrideEnd
	SecondBoost
	BoostInHoliday
	AfterReset
	LostClock
	ThroughCut
	PastMidnight
	BadValue

	NumFactors = iota
)

// optionsOf has the options of each factor as the protocol words them.
var optionsOf = [NumFactors][]string{
	Channels: {"channels"}, Cycle: {"cycle"}, Timing: {"timing"}, Coupling: {"coupling"}, Periods: {"periods"},
	Boost: {"boost-longest", "boost-step"}, Holiday: {"holiday"}, SummerTime: {"summer-time", "zone"}, Lock: {"lock", "credential"},
	Reserve: {"reserve"}, ModeChange: {"override-on-mode-change"}, OverrideEnd: {"override-end"}, SecondBoost: {"second-boost"},
	BoostInHoliday: {"boost-in-holiday"}, AfterReset: {"clock-after-reset"}, LostClock: {"lost-clock"}, ThroughCut: {"through-cut"},
	PastMidnight: {"past-midnight"}, BadValue: {"bad-value"},
}

// Options returns the options of the ICS that the factor settles.
func (f Factor) Options() []string { return slices.Clone(optionsOf[f]) }

// String returns the options with 'and' between them.
func (f Factor) String() string { return strings.Join(optionsOf[f], " and ") }

// A value of a factor is a number: see the functions below. Choices are 0 for the default and 1, lost-clock is as in spec.
type value = int32

const (
	noSummerTime value = spec.MaxZone + spec.ZoneStep // beyond every zone: so late that it never comes
	lockNo       value = 0
	lockYes      value = 1
	lockOther    value = 2 // it has a lock, and another credential than the one that is known
)

func fittedValue(supported, fitted uint8) value { return value(supported)<<2 | value(fitted) }
func supports(v value, fit uint8) bool          { return v>>2&(1<<fit) != 0 }
func fittedOf(v value) uint8                    { return uint8(v & 3) }
func boostValue(longest, step int) value        { return value(longest)<<8 | value(step) }
func boostOf(v value) (longest, step int)       { return int(v >> 8), int(v & 255) }

// Space is a set of hypotheses: every combination of the values that remain.
type Space struct {
	values     [NumFactors][]value
	credential string
	reserves   []cutRange // by hand, which reserves a value stands for; nil if each stands for itself
}

// cutRange is a stretch of reserves, in minutes, that are not told apart, and the one that stands for it.
type cutRange struct {
	from, to int
	value    value
}

// NewSpace returns every hypothesis. The credential is that of the unit's interval lock if it has one; "" if it is not known. The error
// is a credential that could be none.
func NewSpace(credential string) (*Space, error) {
	if credential != "" && !spec.ValidCredential(credential) {
		return nil, fmt.Errorf("credential '%s': it should be 4 to 8 digits", credential)
	}
	s := &Space{credential: credential}
	for f, n := range map[Factor]int{Channels: 3, Cycle: 3, Timing: 2, Coupling: 2} {
		for supported := uint8(1); supported < 1<<n; supported++ {
			for fit := range uint8(n) {
				if supported&(1<<fit) != 0 {
					s.values[f] = append(s.values[f], fittedValue(supported, fit))
				}
			}
		}
	}
	s.values[Periods] = upTo(1, spec.MaxPeriods)
	s.values[Boost] = []value{boostValue(0, 1)}
	for step := 1; step <= spec.MaxBoostStep; step++ {
		for longest := step; longest <= spec.MaxBoostMinutes; longest += step {
			s.values[Boost] = append(s.values[Boost], boostValue(longest, step))
		}
	}
	for zone := value(spec.MinZone); zone <= spec.MaxZone; zone += spec.ZoneStep {
		s.values[SummerTime] = append(s.values[SummerTime], zone)
	}
	s.values[SummerTime] = append(s.values[SummerTime], noSummerTime)
	s.values[Lock] = []value{lockNo, lockYes}
	if credential != "" {
		s.values[Lock] = append(s.values[Lock], lockOther)
	}
	s.values[Reserve] = upTo(0, spec.MaxReserve)
	s.values[LostClock] = upTo(0, value(spec.LostRestarts))
	for _, f := range []Factor{Holiday, ModeChange, OverrideEnd, SecondBoost, BoostInHoliday, AfterReset, ThroughCut, PastMidnight, BadValue} {
		s.values[f] = []value{0, 1}
	}
	return s, nil
}

func upTo(first, last value) []value {
	list := make([]value, 0, last-first+1)
	for v := first; v <= last; v++ {
		list = append(list, v)
	}
	return list
}

// clone returns a copy that can be narrowed apart. The lists themselves are never written to.
func (s *Space) clone() *Space { c := *s; return &c }

// settled reports whether the factors have one value each.
func (s *Space) settled(factors ...Factor) bool {
	for _, f := range factors {
		if len(s.values[f]) != 1 {
			return false
		}
	}
	return true
}

// the returns the value of a factor that is settled, and any of those that remain of another.
func (s *Space) the(f Factor) value { return s.values[f][0] }

// Idle says why the factor's values cannot be told apart by whatever is done to a unit, as far as the other factors are settled, or "".
// Each reason is a clause's: the option has nothing to act on.
func (s *Space) Idle(f Factor) string {
	both := false
	for _, v := range s.values[Channels] {
		both = both || supports(v, uint8(spec.BothChannels))
	}
	longest, step := boostOf(s.the(Boost))
	switch f {
	case Timing, Coupling:
		if !both && s.canBeEither(f) {
			return "the unit cannot be fitted with both channels, and one alone is independent and has a table of its own whatever is fitted (The ICS)"
		}
	case SecondBoost:
		if s.settled(Boost) && longest == 0 {
			return "the unit has no boost"
		}
		if s.settled(Boost) && longest == step {
			return "the unit has boosts of one length, which end alike whether they replace or extend (BST-3, BST-4)"
		}
	case BoostInHoliday:
		if s.settled(Boost) && longest == 0 {
			return "the unit has no boost"
		}
		if s.settled(Holiday) && s.the(Holiday) == 0 {
			return "the unit has no holiday"
		}
	case ThroughCut:
		if s.settled(Reserve) && s.the(Reserve) == 0 {
			return "with a reserve of 0 every cut loses the clock, and that cancels override and boost (PWR-4, PWR-7)"
		}
	}
	return ""
}

// canBeEither reports whether all that remains is which of the supported values is fitted.
func (s *Space) canBeEither(f Factor) bool {
	for _, v := range s.values[f] {
		if v>>2 != s.the(f)>>2 {
			return false
		}
	}
	return true
}

// drop leaves of idle factors the default. It returns them with the reason.
func (s *Space) drop() (idle []Open) {
	for f := range Factor(NumFactors) {
		if why := s.Idle(f); why != "" && len(s.values[f]) > 1 {
			idle = append(idle, s.open(f, why))
			s.values[f] = s.values[f][:1]
		}
	}
	return idle
}

// bits returns the binary logarithm of the number of combinations that remain.
func (s *Space) bits() float64 {
	sum := 0.0
	for _, list := range s.values {
		sum += math.Log2(float64(len(list)))
	}
	return sum
}

// ics returns the ICS with these values.
func (s *Space) ics(values *[NumFactors]value) spec.ICS {
	longest, step := boostOf(values[Boost])
	yes := func(f Factor) bool { return values[f] != 0 }
	ics := spec.ICS{
		Fitted: spec.Fitted{
			Channels: spec.Channels(fittedOf(values[Channels])), Cycle: spec.Cycle(fittedOf(values[Cycle])),
			Timing: spec.Timing(fittedOf(values[Timing])), Coupling: spec.Coupling(fittedOf(values[Coupling])),
		},
		Supported: spec.Supported{
			Channels: uint8(values[Channels] >> 2), Cycle: uint8(values[Cycle] >> 2),
			Timing: uint8(values[Timing] >> 2), Coupling: uint8(values[Coupling] >> 2),
		},
		Periods: uint8(values[Periods]), BoostLongest: uint16(longest), BoostStep: uint16(step), Holiday: yes(Holiday),
		SummerTime: values[SummerTime] != noSummerTime, Lock: yes(Lock), Reserve: uint32(values[Reserve]),
		OverrideKept: yes(ModeChange), OverrideProgrammed: yes(OverrideEnd), BoostExtends: yes(SecondBoost), BoostInHoliday: yes(BoostInHoliday),
		ResetUnsetsClock: yes(AfterReset), LostClock: spec.LostClock(values[LostClock]), KeptThroughCut: yes(ThroughCut),
		Wrap: yes(PastMidnight), Clamp: yes(BadValue), Tolerances: spec.FullICS().Tolerances,
	}
	if ics.SummerTime {
		ics.Zone = int16(values[SummerTime])
	}
	if ics.Lock {
		ics.Credential = s.credential
		if values[Lock] == lockOther || s.credential == "" {
			ics.Credential = anotherThan(s.credential)
		}
	}
	return ics
}

func anotherThan(credential string) string {
	if credential == "0000" {
		return "1111"
	}
	return "0000"
}

// anyICS returns an ICS of those that remain, with one factor's value chosen.
func (s *Space) anyICS(f Factor, v value) spec.ICS {
	var values [NumFactors]value
	for g := range values {
		values[g] = s.values[g][0]
	}
	values[f] = v
	return s.ics(&values)
}

// valuesOf returns the values that an ICS has.
func (s *Space) valuesOf(ics *spec.ICS) (values [NumFactors]value) {
	flag := func(f Factor, set bool) {
		if set {
			values[f] = 1
		}
	}
	values[Channels] = fittedValue(ics.Supported.Channels, uint8(ics.Fitted.Channels))
	values[Cycle] = fittedValue(ics.Supported.Cycle, uint8(ics.Fitted.Cycle))
	values[Timing] = fittedValue(ics.Supported.Timing, uint8(ics.Fitted.Timing))
	values[Coupling] = fittedValue(ics.Supported.Coupling, uint8(ics.Fitted.Coupling))
	values[Periods] = value(ics.Periods)
	values[Boost] = boostValue(int(ics.BoostLongest), int(ics.BoostStep))
	values[SummerTime] = noSummerTime
	if ics.SummerTime {
		values[SummerTime] = value(ics.Zone)
	}
	flag(Lock, ics.Lock)
	if ics.Lock && s.credential != "" && ics.Credential != s.credential {
		values[Lock] = lockOther
	}
	values[Reserve] = value(ics.Reserve)
	values[LostClock] = value(ics.LostClock)
	for f, set := range map[Factor]bool{
		Holiday: ics.Holiday, ModeChange: ics.OverrideKept, OverrideEnd: ics.OverrideProgrammed, SecondBoost: ics.BoostExtends,
		BoostInHoliday: ics.BoostInHoliday, AfterReset: ics.ResetUnsetsClock, ThroughCut: ics.KeptThroughCut, PastMidnight: ics.Wrap,
		BadValue: ics.Clamp,
	} {
		flag(f, set)
	}
	return values
}

// canonical returns the values of the ICS that stands for its class: what makes no difference is the first that it could be.
func (s *Space) canonical(values [NumFactors]value) [NumFactors]value {
	var one Space
	for f, v := range values {
		one.values[f] = []value{v}
	}
	if longest, _ := boostOf(values[Boost]); longest == 0 {
		values[Boost] = boostValue(0, 1)
	}
	for f := range Factor(NumFactors) {
		if one.Idle(f) == "" {
			continue
		}
		values[f] = 0
		if f == Timing || f == Coupling {
			supported := uint8(one.the(f) >> 2)
			values[f] = fittedValue(supported, uint8(bits.TrailingZeros8(supported)))
		}
	}
	return values
}

// Classes returns how many classes of ICSs there are that can be told apart, as a binary logarithm: the fewest yes-or-no questions that
// tell them apart in the mean, all being equally probable. It holds for all hypotheses only, not for what remains of them.
func (s *Space) Classes() float64 {
	fitted := 0
	for _, c := range s.values[Channels] {
		n := [2]int{}
		for i, f := range []Factor{Timing, Coupling} {
			sets := map[value]bool{}
			for _, v := range s.values[f] {
				sets[v>>2] = true
			}
			n[i] = len(sets)
			if supports(c, uint8(spec.BothChannels)) {
				n[i] = len(s.values[f])
			}
		}
		fitted += n[0] * n[1]
	}
	boosts := 0 // with holiday, second-boost and boost-in-holiday
	for _, v := range s.values[Boost] {
		switch longest, step := boostOf(v); {
		case longest == 0:
			boosts += 2
		case longest == step:
			boosts += 1 + 2
		default:
			boosts += 2 * (1 + 2)
		}
	}
	reserves := 2*len(s.values[Reserve]) - 1 // with through-cut
	sum := math.Log2(float64(fitted)) + math.Log2(float64(boosts)) + math.Log2(float64(reserves))
	for _, f := range []Factor{Cycle, Periods, SummerTime, Lock, ModeChange, OverrideEnd, AfterReset, LostClock, PastMidnight, BadValue} {
		sum += math.Log2(float64(len(s.values[f])))
	}
	return sum
}

// words returns what the values that remain of a factor are, as the protocol words them.
func (s *Space) words(f Factor) string {
	list := s.values[f]
	if f == Reserve {
		return s.reserveWords()
	}
	const shown = 6
	var all []string
	for _, v := range list {
		if text := s.word(f, v); !slices.Contains(all, text) {
			all = append(all, text)
		}
	}
	if n := len(all); n > shown {
		return fmt.Sprintf("%s or %d others", strings.Join(all[:shown-1], ", "), n-shown+1)
	}
	return strings.Join(all, " or ")
}

func (s *Space) word(f Factor, v value) string {
	ics := s.anyICS(f, v)
	var words []string
	for _, name := range optionsOf[f] {
		switch {
		case name == "zone" && v == noSummerTime, name == "boost-step" && ics.BoostLongest == 0, name == "credential" && v != lockOther:
		case name == "credential":
			words = append(words, "with another credential")
		default:
			words = append(words, wire.Option(ics, name))
		}
	}
	if f == Boost && ics.BoostLongest != 0 {
		return fmt.Sprintf("%s in steps of %s", words[0], words[1])
	}
	if f == SummerTime && v != noSummerTime {
		return fmt.Sprintf("%s in zone %s", words[0], words[1])
	}
	return strings.Join(words, " ")
}

func (s *Space) reserveWords() string {
	list := s.values[Reserve]
	if s.reserves == nil {
		if first, last := int(list[0]), int(list[len(list)-1]); first != last {
			return fmt.Sprintf("%d values from %d to %d", len(list), first, last)
		}
		return strconv.Itoa(int(list[0]))
	}
	from, to := -1, -1
	for _, r := range s.reserves {
		if slices.Contains(list, r.value) {
			if from < 0 {
				from = r.from
			}
			to = r.to
		}
	}
	if to == spec.MaxReserve {
		return fmt.Sprintf("more than %d", from)
	}
	if from == 0 {
		return fmt.Sprintf("at most %d", to)
	}
	return fmt.Sprintf("more than %d, at most %d", from, to)
}

func (s *Space) open(f Factor, why string) Open {
	return Open{Options: f.Options(), Values: s.words(f), Why: why}
}
