package identify

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"time"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// Hand is what a person settles at a unit on a wall, with a watch: nothing is opened, so that what is fitted is asked, and not as what
// else it could be. Every question begins with a reset, so what was set is lost.
type Hand struct {
	now  pick
	past []pick // before each answer
	said []Step
}

// Caution is what a person has to be told before the first question.
const Caution = `Before you begin: write down the times and modes that are set, for a reset clears them. Make sure that nobody depends on heat or hot
water meanwhile. Nothing is opened. Power is cut at the isolator only, by whoever may do so; if there is none, or you are in doubt, say
that you can't. Boiler, pump and valves will be switched: somebody has to be able to switch them off. This tells how a time control
behaves; it says nothing of whether an installation is safe.`

// handBoosts are the boosts that are looked for by hand, longest and step in minutes.
var handBoosts = func() (list []value) {
	list = []value{boostValue(0, 1)}
	for _, step := range []int{5, 10, 15, 30, 60, 120} {
		for _, longest := range []int{30, 60, 90, 120, 180, 240, 360, 480, 720, 1440} {
			if longest%step == 0 {
				list = append(list, boostValue(longest, step))
			}
		}
	}
	slices.Sort(list)
	return list
}()

// handCuts are the cuts that are tried by hand, in minutes. After a shorter one than the first, a clock that stood still is not told
// from one that ran.
var handCuts = []int{3, 15, 30, 60, 120, 240, 480, 720, 1440}

// handSlack is what a question may take besides a wait of the longest that a person allows, in seconds.
const handSlack = 90

// HandSpace returns the hypotheses among which a person decides who waits no longer than this for one answer: boosts, zones and
// reserves are fewer, and what the unit could be fitted as besides is left out.
func HandSpace(longest time.Duration) *Space {
	s, err := NewSpace("")
	if err != nil {
		panic(err)
	}
	for f := Channels; f <= Coupling; f++ {
		s.values[f] = slices.DeleteFunc(s.values[f], func(v value) bool { return v>>2 != 1<<fittedOf(v) })
	}
	s.values[Boost] = handBoosts
	s.values[SummerTime] = []value{0, 60, 120, noSummerTime}
	s.values[Reserve] = nil
	last := 0
	for _, cut := range handCuts {
		if time.Duration(cut)*time.Minute <= longest {
			s.reserves = append(s.reserves, cutRange{last, cut, value(last+cut) / 2})
			last = cut
		}
	}
	s.reserves = append(s.reserves, cutRange{last, spec.MaxReserve, spec.MaxReserve})
	for _, r := range s.reserves {
		s.values[Reserve] = append(s.values[Reserve], r.value)
	}
	return s
}

// NewHand begins. The space is one that HandSpace has made, perhaps narrowed by Space.Give.
func NewHand(space *Space, longest time.Duration) *Hand {
	h := &Hand{now: pick{asker: asker{Space: space.clone(), hand: true, longest: uint64(longest/time.Second) + handSlack, cannot: map[string]bool{}}}}
	h.now.drop()
	return h
}

// Next returns the next question, nil if nothing more can be asked.
func (h *Hand) Next() (*Question, error) {
	c, err := h.now.next()
	if c == nil || err != nil {
		return nil, err
	}
	return &c.Question, nil
}

// keep keeps what is known before an answer.
func (h *Hand) keep() {
	before := h.now
	before.Space = before.clone()
	h.past = append(h.past, before)
}

// Answer answers the question that Next returns.
func (h *Hand) Answer(yes bool) (Step, error) {
	c, err := h.now.next()
	if err != nil {
		return Step{}, err
	}
	h.keep()
	step := h.now.answered(c, yes)
	h.now.drop()
	h.said = append(h.said, step)
	return step, nil
}

// Cannot passes over the question that Next returns, and over others that do the same.
func (h *Hand) Cannot() error {
	c, err := h.now.next()
	if err != nil {
		return err
	}
	h.keep()
	h.now.cannot = maps.Clone(h.now.cannot)
	h.now.cannot[c.key()] = true
	h.now.ready = [NumFactors]bool{}
	h.said = append(h.said, Step{Question: &c.Question, Left: h.now.words(c.Factor), Bits: h.now.bits()})
	return nil
}

// Back takes the last answer back. It reports whether there was one.
func (h *Hand) Back() bool {
	n := len(h.past)
	if n == 0 {
		return false
	}
	h.now, h.past, h.said = h.past[n-1], h.past[:n-1], h.said[:n-1]
	return true
}

// Result returns what has been settled so far. There is no departure: only what is looked at is known.
func (h *Hand) Result() *Result {
	r := &Result{Steps: slices.Clone(h.said)}
	p := h.now
	p.Space = p.clone()
	full := HandSpace(time.Duration(p.longest-handSlack) * time.Second)
	for f := range Factor(NumFactors) {
		if why := p.Idle(f); why != "" {
			r.Idle = append(r.Idle, full.open(f, why))
		}
	}
	p.finish(r)
	if p.settled(Reserve) {
		r.Unsettled = append(r.Unsettled, p.open(Reserve, "by hand it is settled only between two cuts; the statement has one between them"))
	}
	return r
}

// key tells questions apart of which one can be done where another cannot.
func (q *Question) key() string { return fmt.Sprint(q.Factor, q.Look.Kind, q.Front, q.Waits()) }

// front asks what can be read off a unit on a wall; nil where something has to be tried.
func (a *asker) front(f Factor) (list []Question) {
	ask := func(words string, has func(value) bool) {
		list = append(list, Question{Front: words, has: has})
	}
	is := func(fit uint8) func(value) bool { return func(v value) bool { return fittedOf(v) == fit } }
	switch f {
	case Channels:
		ask("Does the unit switch hot water: are there a setting and a light or a word on the display for it?", func(v value) bool {
			return spec.Channels(fittedOf(v)).Has(spec.HW)
		})
		ask("Does the unit switch central heating: are there a setting and a light or a word on the display for it?", func(v value) bool {
			return spec.Channels(fittedOf(v)).Has(spec.CH)
		})
	case Cycle:
		ask("Is there one set of times for every day alike?", is(uint8(spec.Cycle24h)))
		ask("Is there one set of times for Monday to Friday and another for the weekend, and no more?", is(uint8(spec.Cycle52)))
	case Timing:
		ask("Is there only one set of times, which hot water and heating share?", is(uint8(spec.Shared)))
	case Boost:
		for _, m := range []int{5, 10, 15, 30, 45, 60, 90, 120, 180, 240, 360, 480, 720, 1440} {
			ask(fmt.Sprintf("Is a boost of %s offered: can it be set to just that?", minutesWords(uint64(m)*60)), func(v value) bool {
				longest, step := boostOf(v)
				return m <= longest && m%step == 0
			})
		}
	case Holiday:
		ask("Is there a holiday setting, a number of days for which all stays off?", func(v value) bool { return v == 1 })
	case Lock:
		ask("Do the unit's papers speak of an interval lock, a countdown to a service visit? (Try no codes.)", func(v value) bool { return v != lockNo })
	}
	return list
}

// HandLines returns what a person does before the question is put, a line each.
func (q *Question) HandLines() (lines []string) {
	for i, r := range q.Script {
		if r.Kind == iut.Go {
			lines = append(lines, "Wait "+minutesWords(r.Seconds)+".")
		} else if r.Kind == iut.Do && i > 1 {
			lines = append(lines, handLine(&r.Input))
		}
	}
	return lines
}

// HandQuestion returns the look as a question to a person.
func (q *Question) HandQuestion() string {
	switch {
	case q.Front != "":
		return q.Front
	case q.Look.Kind == Accepted:
		return "Did the unit take that last entry (even if it has put another value in its place)?"
	case q.Look.Kind == Closed:
		return "Is " + channelWords[q.Look.Channel] + " on?"
	case q.Look.Kind == Reads:
		return fmt.Sprintf("Does the clock show %s or %s?", wire.AppendTime(nil, uint16(q.Look.Minute)), wire.AppendTime(nil, uint16(q.Look.Minute+1)))
	case q.Look.Kind == Unset:
		return "Is the clock unset: does it flash, or show no time?"
	default:
		panic("nothing that a person is asked")
	}
}

var (
	channelWords = [...]string{spec.HW: "hot water", spec.CH: "heating"}
	tableWords   = [...]string{spec.HWTable: "hot water's", spec.CHTable: "heating's", spec.BothTables: "the common"}
	modeWords    = [...]string{
		spec.Off: "off", spec.Table: "follow the times (table)", spec.Span: "on from the day's first on to its last off (span)", spec.Always: "on always",
	}
	dayWords = [...]string{
		spec.Mon: "for Monday", spec.Tue: "for Tuesday", spec.Wed: "for Wednesday", spec.Thu: "for Thursday", spec.Fri: "for Friday", spec.Sat: "for Saturday", spec.Sun: "for Sunday",
		spec.Weekdays: "for Monday to Friday", spec.Weekend: "for the weekend", spec.All: "for every day",
	}
)

func handLine(in *spec.Input) string {
	switch in.Kind {
	case spec.PowerOff:
		return "Switch off at the isolator."
	case spec.PowerOn:
		return "Switch on again."
	case spec.Reset:
		return "Reset the unit to its default times and modes."
	case spec.SetClock:
		d := time.Date(int(in.Date.Year), time.Month(in.Date.Month), int(in.Date.Day), 0, 0, 0, 0, time.UTC)
		return fmt.Sprintf("Set the clock to %s on %s.", wire.AppendTime(nil, in.Minute), d.Format("Monday 2 January 2006"))
	case spec.SetMode:
		return fmt.Sprintf("Set %s to: %s.", channelWords[in.Channel], modeWords[in.Mode])
	case spec.SetPeriod:
		if in.Period.On == in.Period.Off && in.Period.On == 0 {
			return fmt.Sprintf("Clear period %d of %s times %s: on and off both 00:00.", in.Slot, tableWords[in.Table], dayWords[in.Day])
		}
		return fmt.Sprintf("Set period %d of %s times %s: on %s, off %s.", in.Slot, tableWords[in.Table], dayWords[in.Day],
			wire.AppendTime(nil, in.Period.On), wire.AppendTime(nil, in.Period.Off))
	case spec.Override:
		return "Press override for " + channelWords[in.Channel] + "."
	case spec.Boost:
		return fmt.Sprintf("Give %s a boost of %s.", channelWords[in.Channel], minutesWords(uint64(in.Amount)*60))
	case spec.Holiday:
		return fmt.Sprintf("Start a holiday of %d day(s).", in.Amount)
	default:
		panic("nothing that a person is asked to do")
	}
}

func minutesWords(seconds uint64) string {
	if seconds < 2*calendar.Minute && seconds != calendar.Minute {
		return strconv.FormatUint(seconds, 10) + " seconds"
	}
	text := ""
	if h := seconds / calendar.Hour; h > 0 {
		text = fmt.Sprintf("%d h ", h)
	}
	if m := seconds % calendar.Hour / calendar.Minute; m > 0 {
		text += fmt.Sprintf("%d min ", m)
	}
	if s := seconds % calendar.Minute; s > 0 {
		text += fmt.Sprintf("%d s ", s)
	}
	return text[:len(text)-1]
}

// Asked returns how many questions have been answered or passed over.
func (h *Hand) Asked() int { return len(h.said) }
