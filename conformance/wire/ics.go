package wire

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/hearthbench/emulator/spec"
)

// option is one option of the conformance statement whose value is one word.
type option struct {
	name string
	// words are the option's values in the order of their numbers, nil if the value is a number or the credential.
	words    []string
	fallback string // the value if the option is left out; "" if it must be stated
	optional bool   // may be left out though it has no default: whether it is needed depends on other options
	want     string // what the value is, for messages
	get      func(*spec.ICS) string
	set      func(*spec.ICS, string) bool
}

// options are all options but the four of what is fitted, in the order of vectors/BEHAVIOUR.md.
var options = []option{
	stated(numeric("periods", 1, spec.MaxPeriods, func(s *spec.ICS) *uint8 { return &s.Periods })),
	stated(numeric("boost-longest", 0, spec.MaxBoostMinutes, func(s *spec.ICS) *uint16 { return &s.BoostLongest })),
	stated(numeric("boost-step", 1, spec.MaxBoostStep, func(s *spec.ICS) *uint16 { return &s.BoostStep })),
	stated(choice("holiday", "no", "yes", func(s *spec.ICS) *bool { return &s.Holiday })),
	stated(choice("summer-time", "none", "automatic", func(s *spec.ICS) *bool { return &s.SummerTime })),
	numeric("zone", spec.MinZone, spec.MaxZone, func(s *spec.ICS) *int16 { return &s.Zone }),
	stated(choice("lock", "no", "yes", func(s *spec.ICS) *bool { return &s.Lock })),
	credentialOption,
	stated(numeric("reserve", 0, spec.MaxReserve, func(s *spec.ICS) *uint32 { return &s.Reserve })),

	choice("override-on-mode-change", "cancelled", "kept", func(s *spec.ICS) *bool { return &s.OverrideKept }),
	choice("override-end", "change", "programmed", func(s *spec.ICS) *bool { return &s.OverrideProgrammed }),
	choice("second-boost", "replaces", "extends", func(s *spec.ICS) *bool { return &s.BoostExtends }),
	choice("boost-in-holiday", "refused", "allowed", func(s *spec.ICS) *bool { return &s.BoostInHoliday }),
	choice("clock-after-reset", "kept", "unset", func(s *spec.ICS) *bool { return &s.ResetUnsetsClock }),
	lostClockOption,
	choice("through-cut", "dropped", "kept", func(s *spec.ICS) *bool { return &s.KeptThroughCut }),
	choice("past-midnight", "refused", "wrap", func(s *spec.ICS) *bool { return &s.Wrap }),
	choice("bad-value", "refused", "clamped", func(s *spec.ICS) *bool { return &s.Clamp }),

	tolerance("late-power-on", "2", func(s *spec.ICS) *uint16 { return &s.Tolerances.LatePowerOn }),
	tolerance("late-scan", "0", func(s *spec.ICS) *uint16 { return &s.Tolerances.LateScan }),
	tolerance("stagger", "0", func(s *spec.ICS) *uint16 { return &s.Tolerances.Stagger }),
	tolerance("boost-rate", "0", func(s *spec.ICS) *uint32 { return &s.Tolerances.BoostRate }),
	tolerance("clock-rate", "0", func(s *spec.ICS) *uint32 { return &s.Tolerances.ClockRate }),
	tolerance("lock-grain", "1", func(s *spec.ICS) *uint16 { return &s.Tolerances.LockGrain }),
}

var credentialOption = option{
	name:     "credential",
	optional: true,
	want:     "credential is 4 to 8 digits",
	get:      func(s *spec.ICS) string { return s.Credential },
	set: func(s *spec.ICS, value string) bool {
		if !spec.ValidCredential(value) {
			return false
		}
		s.Credential = strings.Clone(value)
		return true
	},
}

var lostClockOption = option{
	name:     lostClocks.what,
	words:    lostClocks.words,
	fallback: lostClocks.words[0],
	want:     lostClocks.want(),
	get:      func(s *spec.ICS) string { return lostClocks.word(s.LostClock) },
	set: func(s *spec.ICS, value string) (ok bool) {
		s.LostClock, ok = lostClocks.find(value)
		return ok
	},
}

// stated makes of an option one that has no default.
func stated(o option) option {
	o.fallback = ""
	return o
}

// choice is an option of two words, of which the first is the default and the zero value.
func choice(name, zero, one string, field func(*spec.ICS) *bool) option {
	words := []string{zero, one}
	return option{
		name:     name,
		words:    words,
		fallback: zero,
		want:     name + " is " + orList(words),
		get: func(s *spec.ICS) string {
			if *field(s) {
				return one
			}
			return zero
		},
		set: func(s *spec.ICS, value string) bool {
			*field(s) = value == one
			return value == zero || value == one
		},
	}
}

// numeric is an option that is a number, with default 0.
func numeric[T uint8 | uint16 | uint32 | int16](name string, least, most int64, field func(*spec.ICS) *T) option {
	return option{
		name:     name,
		fallback: "0",
		want:     fmt.Sprintf("%s is a number from %d to %d without leading zeros", name, least, most),
		get:      func(s *spec.ICS) string { return strconv.FormatInt(int64(*field(s)), 10) },
		set: func(s *spec.ICS, value string) bool {
			sign := int64(1)
			if least < 0 && strings.HasPrefix(value, "-") && value != "-0" {
				sign, value = -1, value[1:]
			}
			magnitude, ok := number(value, uint64(max(most, -least)))
			n := sign * int64(magnitude)
			if !ok || n < least || n > most {
				return false
			}
			*field(s) = T(n)
			return true
		},
	}
}

// tolerance is a number as large as its field can hold.
func tolerance[T uint16 | uint32](name, fallback string, field func(*spec.ICS) *T) option {
	o := numeric(name, 0, int64(^T(0)), field)
	o.fallback = fallback
	return o
}

func findOption(name string) *option {
	for i := range options {
		if options[i].name == name {
			return &options[i]
		}
	}
	return nil
}

// fitting is where an ICS holds one of the four options of what is fitted at the back.
type fitting struct {
	supported *uint8
	fitted    *uint8
}

func fittingOf(s *spec.ICS, o spec.FitOption) fitting {
	switch o {
	case spec.FitChannels:
		return fitting{&s.Supported.Channels, (*uint8)(&s.Fitted.Channels)}
	case spec.FitCycle:
		return fitting{&s.Supported.Cycle, (*uint8)(&s.Fitted.Cycle)}
	case spec.FitTiming:
		return fitting{&s.Supported.Timing, (*uint8)(&s.Fitted.Timing)}
	default:
		return fitting{&s.Supported.Coupling, (*uint8)(&s.Fitted.Coupling)}
	}
}

// OptionNames returns the names of the options whose value is one word, in the order of vectors/BEHAVIOUR.md. The four of
// what is fitted at the back, which have a list of values and a fitted one, are not among them: see [FitOptionWord].
func OptionNames() []string {
	names := make([]string, len(options))
	for i := range options {
		names[i] = options[i].name
	}
	return names
}

// OptionWords returns the words that an option can have, default first where there is one, or nil for a number, for the
// credential and for a name that is none of [OptionNames].
func OptionWords(name string) []string {
	if o := findOption(name); o != nil {
		return slices.Clone(o.words)
	}
	return nil
}

// OptionDefault returns the value that an option has when it is left out, and whether it may be left out. The credential may,
// where there is no lock, and then is empty.
func OptionDefault(name string) (value string, ok bool) {
	o := findOption(name)
	if o == nil {
		return "", false
	}
	return o.fallback, o.fallback != "" || o.optional
}

// Option returns the value of an option as the protocol words it, "VALUES FITTED" for the four of what is fitted, and "" for
// a credential that is not set and for a name that is no option's.
func Option(s spec.ICS, name string) string {
	if f, ok := fitOptions.find(name); ok {
		return fitOption(&s, f)
	}
	if o := findOption(name); o != nil {
		return o.get(&s)
	}
	return ""
}

func fitOption(s *spec.ICS, o spec.FitOption) string {
	f := fittingOf(s, o)
	var values []string
	for value, word := range fitWords(o) {
		if *f.supported&(1<<value) != 0 {
			values = append(values, word)
		}
	}
	return strings.Join(values, ",") + " " + FitValueWord(o, *f.fitted)
}

// SetOption sets an option from the value that the protocol words: one word, or "VALUES FITTED" for the four of what is
// fitted. It reports a name that is no option's, and a value that the option does not have by itself; what depends on other
// options, such as a longest boost in whole steps, is for spec.ICS.Validate. With an error the ICS is unchanged.
func SetOption(s *spec.ICS, name, value string) error {
	if f, ok := fitOptions.find(name); ok {
		values, fitted, ok := strings.Cut(value, " ")
		if !ok {
			return fmt.Errorf("ICS option %s: %s is wrong: it should be the values joined by commas, a space, and the fitted one",
				name, quote(value))
		}
		return SetFitted(s, f, strings.Split(values, ","), fitted)
	}
	o := findOption(name)
	if o == nil {
		return fmt.Errorf("ICS option %s is unknown: the options are %s, %s", quote(name),
			strings.Join(fitOptions.words, ", "), strings.Join(OptionNames(), ", "))
	}
	changed := *s
	if !o.set(&changed, value) {
		return fmt.Errorf("ICS option %s: %s is wrong: %s", name, quote(value), o.want)
	}
	*s = changed
	return nil
}

// SetFitted sets what an option of the back can be, in any order, and which of that is fitted as the unit leaves the
// factory. With an error the ICS is unchanged.
func SetFitted(s *spec.ICS, o spec.FitOption, values []string, fitted string) error {
	name := fitOptions.word(o)
	var supported uint8
	for _, word := range values {
		value, ok := findFitValue(o, word)
		if !ok {
			return fmt.Errorf("ICS option %s: value %s is wrong: %s", name, quote(word), fitValueWant(o))
		}
		if supported&(1<<value) != 0 {
			return fmt.Errorf("ICS option %s: value %s is listed twice", name, word)
		}
		supported |= 1 << value
	}
	value, ok := findFitValue(o, fitted)
	if !ok {
		return fmt.Errorf("ICS option %s: fitted value %s is wrong: %s", name, quote(fitted), fitValueWant(o))
	}
	if supported&(1<<value) == 0 {
		return fmt.Errorf("ICS option %s: fitted value %s is not among the values listed", name, fitted)
	}
	f := fittingOf(s, o)
	*f.supported, *f.fitted = supported, value
	return nil
}

const icsPrefix = "ics "

// AppendICS appends all lines of a conformance statement, each with its LF: the reply to "hello" but for its closing line.
// Options with a default are written too.
func AppendICS(dst []byte, s spec.ICS) []byte {
	line := func(name, value string) {
		dst = append(dst, icsPrefix...)
		dst = append(dst, name...)
		dst = append(appendWord(dst, value), '\n')
	}
	for o, name := range fitOptions.words {
		line(name, fitOption(&s, spec.FitOption(o)))
	}
	for i := range options {
		if value := options[i].get(&s); value != "" {
			line(options[i].name, value)
		}
	}
	return dst
}

// ICSReader puts a conformance statement together from its options, one by one and in any order. Its zero value is ready.
type ICSReader struct {
	ics  spec.ICS
	seen []string
}

// Line takes an "ics" line, without LF. It reports a line that is none, an unknown option, a wrong value, and an option that
// has been given before.
func (r *ICSReader) Line(line string) error {
	if len(line) > MaxLine {
		return &ParseError{Line: line, Want: tooLong}
	}
	name, value, ok := strings.Cut(strings.TrimPrefix(line, icsPrefix), " ")
	if !ok || !strings.HasPrefix(line, icsPrefix) {
		return &ParseError{Line: line, Want: "a line of the conformance statement is ics OPTION VALUE"}
	}
	if err := r.Set(name, value); err != nil {
		return fmt.Errorf("line %s: %w", quote(line), err)
	}
	return nil
}

// Set takes an option as SetOption does, and reports one that has been given before.
func (r *ICSReader) Set(name, value string) error {
	if slices.Contains(r.seen, name) {
		return fmt.Errorf("ICS option %s is given twice", name)
	}
	if err := SetOption(&r.ics, name, value); err != nil {
		return err
	}
	r.seen = append(r.seen, strings.Clone(name))
	return nil
}

// ICS returns the statement, with the defaults of what has been left out. It reports every option that is missing and
// everything that spec.ICS.Validate finds.
func (r *ICSReader) ICS() (spec.ICS, error) {
	s := r.ics
	var errs []error
	missing := func(name string) {
		errs = append(errs, fmt.Errorf("ICS option %s is missing, and has no default", name))
	}
	for _, name := range fitOptions.words {
		if !slices.Contains(r.seen, name) {
			missing(name)
		}
	}
	for i := range options {
		o := &options[i]
		switch {
		case slices.Contains(r.seen, o.name):
		case o.fallback != "":
			o.set(&s, o.fallback)
		case !o.optional:
			missing(o.name)
		}
	}
	if len(errs) == 0 {
		return s, s.Validate()
	}
	return spec.ICS{}, errors.Join(errs...)
}
