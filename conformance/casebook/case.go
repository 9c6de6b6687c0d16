package casebook

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// Kind is what kind of case is made up.
type Kind struct {
	Two   bool // two things are the matter at once
	False bool // one statement is false
}

// ordinary draws how many statements an account has of what is as it should be. Where the matter is not plain, people are asked for more:
// a false statement among two could not be told from a true one.
func (k Kind) ordinary(h *house, least, most int) int {
	if k != (Kind{}) {
		return h.between(least+3, most+3)
	}
	return h.between(least, most)
}

// Case is a complaint that was made up, and what is the case.
type Case struct {
	Seed   uint64
	Kind   Kind
	Truths []Truth // one or two
	False  string  // the statement that is false, as the file has it; "" if none is

	File      []byte // the complaint file
	Complaint *complaint.Complaint
	World     replay.World // what is the case
	// Beyond is set if what is sensed is not all that the world says: the world cannot answer for it.
	Beyond bool

	alone bool // it is about what the household expects: what was sensed need not depart from anything
}

// New makes up a case. The same seed and kind make the same case. It is an error if the casebook cannot make a complaint of it, which is a
// fault of the casebook.
func New(seed uint64, kind Kind) (*Case, error) {
	pcg := rand.NewPCG(seed, 0x6c61726b666f6c64)
	r := rand.New(pcg)
	var last error
	for range 40 {
		drawn := []*ail{draw(r, func(a *ail) bool { return (!kind.Two || !a.alone) && (kind == Kind{} || !a.outside) })}
		if kind.Two {
			drawn = append(drawn, draw(r, func(a *ail) bool { return !a.alone && !a.outside && a.group != drawn[0].group }))
			if drawn[1].group == "clock" { // which may move the history to where summer time changes
				drawn[0], drawn[1] = drawn[1], drawn[0]
			}
		}
		// Not every ail can befall every house, or shows in it. Its rate is that of complaints about it, so the house is drawn anew and the
		// ail stays.
		for range 60 {
			c, err := try(pcg, drawn, kind)
			if err != nil {
				last = err
			} else if c != nil {
				c.Seed = seed
				return c, nil
			}
		}
	}
	return nil, fmt.Errorf("seed %d: no house was found in which this shows: %w", seed, last)
}

// draw draws an ail by its weight.
func draw(r *rand.Rand, fits func(*ail) bool) *ail {
	sum := 0
	for i := range ails {
		if fits(&ails[i]) {
			sum += ails[i].weight
		}
	}
	n := r.IntN(sum)
	for i := range ails {
		if !fits(&ails[i]) {
			continue
		}
		if n -= ails[i].weight; n < 0 {
			return &ails[i]
		}
	}
	panic("the weights of the ails do not sum up")
}

// try makes up a house in which some ails show, or returns nil.
func try(pcg *rand.PCG, drawn []*ail, kind Kind) (*Case, error) {
	first := *pcg
	h := newHouse(rand.New(pcg))
	c := &Case{Kind: kind, alone: drawn[0].alone}
	for i, a := range drawn {
		if i == 1 {
			// The second befalls the same house without the first, by the same draws.
			draws := *pcg
			other := h.again(first, &draws)
			if _, ok := a.strike(other); !ok {
				return nil, nil
			}
			h.alone = [2]state{h.is.clone(), other.is}
		}
		same, ok := a.strike(h)
		if !ok {
			return nil, nil
		}
		c.Truths = append(c.Truths, Truth{Name: a.name, Group: a.group, Outside: a.outside, families: a.families, same: same})
		if a.alone {
			h.wish, h.shown = h.is.clone(), h.is.clone()
		}
	}
	var err error
	if c.World, err = h.is.world(h.from, h.to); err != nil {
		return nil, err
	}
	true1, err := live(c.World)
	if err != nil {
		return nil, err
	}
	wish, err := h.wish.world(h.from, h.to)
	if err != nil {
		return nil, err
	}
	wished, err := live(wish)
	if err != nil {
		return nil, err
	}
	others := []*replay.History{wished.history}
	if len(drawn) > 1 {
		if others, err = without(h, drawn); err != nil || others == nil {
			return nil, err
		}
	}
	told := len(h.sensed)
	if drawn[0].alone {
		ordinary := h.stretches(true1.history, wished.history, false)
		for range min(kind.ordinary(h, 0, 2), len(ordinary)) {
			h.see("%s", h.say(true1.history, ordinary[h.IntN(len(ordinary))]))
		}
	} else if !h.witness(true1.history, others, kind) {
		return nil, nil
	}
	if kind.False && !h.lie(c, told) {
		return nil, nil
	}
	h.visit(true1.history)
	if h.chance(12) {
		h.logged(true1.history)
	}
	if h.unsettled(true1.history) {
		h.see("{what: display, is: unset, when: %s}", h.now(0))
	}
	switch {
	case len(h.means) > 0:
	case kind.Two: // one of them may be in the account as it is, and then it shows only against all that is wanted
		for c := range spec.Channel(spec.NumChannels) {
			if h.has(c) {
				h.meanTable(c)
				h.mean("{what: %s relay, is: off, when: every day 00:00-04:45}", channelWord(c))
			}
		}
	case h.chance(60):
		h.meanTable(h.channel())
	}
	c.Beyond = h.veil != nil
	c.File = h.file(true1.history)
	c.Complaint, err = complaint.Parse("made-up.yaml", c.File)
	if err != nil {
		return nil, fmt.Errorf("%w in\n%s", err, c.File)
	}
	shows, err := c.shows(true1, others)
	if err != nil || !shows {
		return nil, err
	}
	if kind.Two && c.oneExplains(first, h) {
		return nil, nil
	}
	return c, nil
}

// account is what the complaint itself says, lived through.
func (c *Case) account() (*lived, error) {
	w, err := replay.FromComplaint(c.Complaint)
	if err != nil {
		return nil, err
	}
	return live(w)
}

// again returns the same house, in which nothing is the matter yet, on the days of this one; what befalls it is drawn from a source of its own.
func (h *house) again(first rand.PCG, draws *rand.PCG) *house {
	other := newHouse(rand.New(&first))
	other.from, other.to, other.days = h.from, h.to, h.days
	other.is.warmth.At = h.from
	other.Rand = rand.New(draws)
	return other
}

// strikes is how many times each ail befalls the house alone, each time in another way.
const strikes = 100

// oneExplains reports whether one thing alone, of all that is on the list, explains the account about as well: then nobody could tell that
// there are two, and whoever says that it is the one is right by all that was said. As for a thing that shows, one statement is not enough to
// tell against it.
func (c *Case) oneExplains(first rand.PCG, h *house) bool {
	var buffers replay.Buffers
	for i := range ails {
		a := &ails[i]
		if a.alone || a.outside {
			continue
		}
		for k := range uint64(strikes) {
			other := h.again(first, rand.NewPCG(uint64(i), k))
			if _, ok := a.strike(other); !ok {
				continue
			}
			w, err := other.is.world(h.from, h.to)
			if err != nil {
				continue
			}
			l, err := replay.Run(&w, &buffers)
			if err == nil && c.departures(l) < 2 {
				return true
			}
		}
	}
	return false
}

// departures returns how many statements, of what was sensed and what was read off, depart from a history.
func (c *Case) departures(h *replay.History) (n int) {
	for i := range c.Complaint.Sensed {
		if replay.Compare(h, &c.Complaint.Sensed[i]).Verdict == replay.Departs {
			n++
		}
	}
	for i := range c.Complaint.Settings {
		if s := &c.Complaint.Settings[i]; s.Source == complaint.Read && replay.CompareClaim(h, s).Verdict == replay.Departs {
			n++
		}
	}
	return n
}

// shows reports whether the complaint speaks of what is the matter. A thing that the account has as it is speaks for itself. Of any other
// a true statement has to depart from what would be without it, lag and blur allowed for: where none does nobody could find it, and nobody
// would complain. Where two things are the matter, or one statement is false, it has to be two: one alone could as well be mistaken itself.
func (c *Case) shows(truth *lived, others []*replay.History) (bool, error) {
	account, err := c.account()
	if err != nil {
		return false, err
	}
	if c.False != "" && !slices.ContainsFunc(c.Complaint.Sensed, func(o complaint.Observation) bool {
		return replay.Compare(truth.history, &o).Verdict == replay.Departs
	}) {
		return false, nil // lag makes it as good as true
	}
	if c.Kind.Two && slices.ContainsFunc(c.Complaint.Settings, func(s complaint.Claim) bool {
		return s.Source == complaint.Read && replay.CompareClaim(truth.history, &s).Verdict == replay.Departs
	}) {
		return false, nil // both befell the same setting, and the second undid what was found of the first
	}
	enough := 1
	if c.Kind != (Kind{}) {
		enough = 2
	}
	departs := func(h *replay.History) bool {
		n := 0
		for i := range c.Complaint.Sensed {
			o := &c.Complaint.Sensed[i]
			if replay.Compare(h, o).Verdict == replay.Departs && (c.Beyond || replay.Compare(truth.history, o).Verdict != replay.Departs) {
				n++
			}
		}
		return n >= enough
	}
	for i := range c.Truths {
		if t := &c.Truths[i]; !c.alone && (t.same == nil || !t.found(truth, account)) && !(departs(account.history) && departs(others[i])) {
			return false, nil
		}
	}
	return true, nil
}

// without returns the histories in which one of two ails is missing, by letting each befall the same house alone. Nothing is returned where
// the two do not keep apart.
func without(h *house, drawn []*ail) ([]*replay.History, error) {
	var all []*replay.History
	for i := range drawn {
		s := h.alone[1-i].clone()
		w, err := s.world(h.from, h.to)
		if err != nil {
			return nil, err
		}
		l, err := live(w)
		if err != nil {
			return nil, err
		}
		all = append(all, l.history)
	}
	return all, nil
}

// unsettled reports whether the display flashes when the account is taken, and somebody sees it.
func (h *house) unsettled(is *replay.History) bool {
	_, shown := is.Reading(h.to)
	return shown == replay.Flashing && h.chance(60)
}

// lie makes one of the household's statements false.
func (h *house) lie(c *Case, from int) bool {
	if from >= len(h.sensed) {
		if from = 0; len(h.sensed) == 0 {
			return false
		}
	}
	i := from + h.IntN(len(h.sensed)-from)
	line := h.sensed[i]
	if strings.Contains(line, "when: every") {
		return false // one evening is misremembered, not every day
	}
	for _, f := range feelings {
		if strings.Contains(line, "what: "+f.name+",") {
			for l, word := range f.words {
				if strings.Contains(line, ": "+word+",") {
					h.sensed[i] = strings.Replace(line, ": "+word+",", ": "+f.words[1-l]+",", 1)
					c.False = h.sensed[i]
					return true
				}
			}
		}
	}
	return false
}

// file writes the complaint down.
func (h *house) file(is *replay.History) []byte {
	var b strings.Builder
	p := func(line string, a ...any) { fmt.Fprintf(&b, line+"\n", a...) }
	p("title: a made-up house")
	p("asked: %s", h.now(0))
	p("from: %s", h.zone.At(h.from).Format("2006-01-02 15:04"))
	p("safety: no")
	p("unit:")
	h.unitLines(p)
	p("installation:")
	h.plantLines(p)
	p("settings:")
	h.settingLines(p, is)
	lines := func(key string, all []string) {
		if len(all) > 0 {
			p("%s:", key)
			for _, line := range all {
				p("  - %s", line)
			}
		}
	}
	lines("done", h.acts)
	lines("changed", h.changed)
	lines("sensed", slices.Compact(h.sensed))
	if h.words == "" {
		h.words = "heat and hot water at the times that we set"
	}
	if len(h.means) == 0 {
		p("wanted: %s", h.words)
	} else {
		p("wanted:")
		p("  words: %s", h.words)
		p("  means:")
		for _, line := range h.means {
			p("    - %s", line)
		}
	}
	return []byte(b.String())
}

// meanTable writes down when heat is wanted.
func (h *house) meanTable(c spec.Channel) {
	for _, days := range grouped(&h.wish.tables[c]) {
		word := map[string]string{"every": "day", "weekdays": "weekday"}[days.word]
		if word == "" {
			word = days.word
		}
		for _, p := range days.periods {
			if h.wish.modes[c] == spec.Table {
				h.mean("{what: %s relay, is: on, when: every %s %s-%s}", channelWord(c), word, hhmm(int(p.On)), hhmm(int(p.Off)))
			}
		}
	}
}

// unitLines writes what is known of the unit. What the household has wrong is what it takes for granted, or nobody knows.
func (h *house) unitLines(p func(string, ...any)) {
	f := h.is.ics.Fitted
	wish := h.wish.ics.Fitted
	line := func(name, is, believed string, percent int) {
		switch {
		case h.secret.unit[name] && h.chance(50):
			p("  %s: {is: %s, source: said}", name, believed)
		case !h.secret.unit[name] && h.chance(percent):
			p("  %s: %s", name, is)
		default:
			p("  %s: not known", name)
		}
	}
	line("channels", wire.ChannelsWord(f.Channels), wire.ChannelsWord(wish.Channels), 95)
	line("cycle", wire.CycleWord(f.Cycle), wire.CycleWord(wish.Cycle), 80)
	line("timing", wire.TimingWord(f.Timing), wire.TimingWord(wish.Timing), 75)
	line("coupling", wire.CouplingWord(f.Coupling), wire.CouplingWord(wish.Coupling), map[bool]int{true: 100, false: 65}[h.thorough])
	if h.chance(60) {
		p("  periods: %d", h.is.ics.Periods)
	}
	if !h.secret.unit["summer-time"] && h.chance(30) {
		p("  summer-time: automatic")
	}
	if !h.secret.unit["reserve"] && h.chance(15) {
		p("  reserve: %d", h.is.ics.Reserve)
	}
}

func (h *house) plantLines(p func(string, ...any)) {
	in := &h.wish.plant
	words := map[plant.Plan]string{
		plant.GravityUnvalved: "gravity", plant.GravityValved: "gravity with valve", plant.TwoValves: "two valves", plant.MidPosition: "mid-position",
		plant.Diverter: "diverter", plant.Combination: "combination",
	}
	if h.thorough || h.chance(92) {
		p("  plan: %s", words[in.Plan])
	} else {
		p("  plan: not known")
	}
	if h.thorough || h.chance(75) {
		p("  room-thermostat: %d", in.Room.Setting/plant.Celsius)
	}
	if h.thorough || h.chance(60) {
		p("  outdoors: %d", in.Outdoor/plant.Celsius)
	}
}

func (h *house) settingLines(p func(string, ...any), is *replay.History) {
	read := func() string { return pick(h, "read", "read", "said") }
	for c := range spec.Channel(spec.NumChannels) {
		if !h.has(c) && !(h.secret.unit["channels"] && h.is.plant.Plan.HasCylinder()) {
			continue
		}
		mode, source := h.shown.modes[c], read()
		if h.secret.modes[c] {
			mode, source = h.wish.modes[c], "said"
		}
		p("  - {is: mode %s %s, source: %s}", channelWord(c), wire.ModeWord(mode), source)
		table, source := h.shown.tables[c], read()
		if h.secret.tables[c] {
			table, source = h.wish.tables[c], "said"
		}
		for _, days := range grouped(&table) {
			words := make([]string, len(days.periods))
			for i, q := range days.periods {
				words[i] = hhmm(int(q.On)) + "-" + hhmm(int(q.Off))
			}
			if len(words) == 0 {
				words = []string{"none"}
			}
			p("  - {is: table %s %s %s, source: %s}", channelWord(c), days.word, strings.Join(words, " "), source)
		}
	}
	reading, shown := is.Reading(h.to)
	switch {
	case h.secret.clock || h.chance(25):
	case shown == replay.Flashing:
		p("  - clock unset")
	default:
		day := wire.DayWord(spec.Day(calendar.Weekday(calendar.DayOf(reading))))
		p("  - clock %s %s", day, hhmm(int(calendar.SecondOfDay(reading)/60)))
	}
}

type dayGroup struct {
	word    string
	periods []spec.Period
}

// grouped returns the days of a table in the fewest groups that a file has words for.
func grouped(w *week) []dayGroup {
	alike := func(first, last int) bool {
		for d := first; d <= last; d++ {
			if w[d] != w[first] {
				return false
			}
		}
		return true
	}
	switch {
	case alike(0, 6):
		return []dayGroup{{"every", w.periods(0)}}
	case alike(0, 4) && alike(5, 6):
		return []dayGroup{{"weekdays", w.periods(0)}, {"weekend", w.periods(5)}}
	}
	var all []dayGroup
	for d := range w {
		all = append(all, dayGroup{wire.DayWord(spec.Day(d)), w.periods(d)})
	}
	return all
}
