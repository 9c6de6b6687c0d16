package diagnosis

import (
	"cmp"
	"fmt"
	"slices"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// told are causes that the account itself tells of: a clock that was read an hour out, a mode 'off' that was found, a lock in its stage
// 'restricted'. They leave the account as it is. What shows that they matter is what becomes of it without them: what is wanted comes
// true, or where the wish is not told in the form of statements, something that was sensed would not have come about.
func (b *builder) told(account bearing) {
	t := teller{b: b, account: account}
	t.clock()
	t.modes()
	t.holiday()
	t.lock()
	t.coupling()
	t.around()
	// Where a button was pressed, what is wanted and does not come lies rather in what the press did than in a period that nobody touched.
	pressed := slices.ContainsFunc(b.base.Acts, func(a replay.Act) bool {
		return a.Deed == replay.AtUnit && (a.Input.Kind == spec.Override || a.Input.Kind == spec.Boost)
	})
	if len(b.c.Wanted.Means) > 0 && !pressed {
		before := len(b.causes)
		t.tables()
		t.notAsWanted(b.causes[before:])
	}
}

// teller looks for what the account tells of.
type teller struct {
	b       *builder
	buffers replay.Buffers
	account bearing
}

// bearing is what comes of the statements and wishes in a world.
type bearing struct {
	sensed, wanted []replay.Verdict
	called         []bool // of each wish: the relay is there where it would have to be, so that it is for the plant to follow
}

// bearingOf holds a history against the statements and wishes.
func (b *builder) bearingOf(h *replay.History) (x bearing) {
	for i := range b.c.Sensed {
		x.sensed = append(x.sensed, replay.Compare(h, &b.c.Sensed[i]).Verdict)
	}
	for i := range b.c.Wanted.Means {
		o := &b.c.Wanted.Means[i]
		c := replay.CompareWish(h, o)
		ch, ok := channelOf(o.What)
		x.wanted = append(x.wanted, c.Verdict)
		x.called = append(x.called, ok && stands(h, ch, c.At, asksOn(o)))
	}
	return x
}

// matters reports whether something of the account matters, by what becomes of the account without it.
func (t *teller) matters(w replay.World) bool {
	h, err := replay.Run(&w, &t.buffers)
	if err != nil {
		return false
	}
	x := t.b.bearingOf(h)
	if len(x.wanted) > 0 {
		gained := 0
		for i := range x.wanted {
			if x.wanted[i] == replay.Agrees && t.account.wanted[i] == replay.Departs && !t.account.called[i] {
				gained++
			}
			if x.wanted[i] == replay.Departs && t.account.wanted[i] == replay.Agrees {
				gained--
			}
		}
		return gained > 0
	}
	for i := range x.sensed {
		if x.sensed[i] == replay.Departs && t.account.sensed[i] == replay.Agrees {
			return true
		}
	}
	return false
}

// add adds a cause that the account tells of, if the account without it is another. The cause is the account as it is.
func (t *teller) add(c cause, without func(replay.World) replay.World) {
	if t.matters(without(t.b.base)) {
		t.tell(c)
	}
}

// tell adds a cause that the account tells of.
func (t *teller) tell(c cause) {
	if c.weight == 0 {
		c.weight = weightTold
	}
	c.told = true
	t.b.causes = append(t.b.causes, c)
	last := &t.b.causes[len(t.b.causes)-1]
	last.variants = []variant{{words: "as the account has it", share: 1, apply: same}}
}

// farOut is by how much a clock is out that nobody would leave so, in seconds.
const farOut = 30 * calendar.Minute

// clock is a clock that was found out, or unset.
func (t *teller) clock() {
	b := t.b
	s := b.facts()
	// Nobody means to have a clock that is far out: that it was found so is enough.
	far := s.ClockUnset || s.ClockError >= farOut || s.ClockError <= -farOut
	add := func(id, words string, without func(replay.World) replay.World) {
		if c := (cause{id: "clock/" + id, family: Clock, words: words, weight: weightClockTold, cure: cureClock, subject: ofClock}); far {
			t.tell(c)
		} else {
			t.add(c, without)
		}
	}
	right := func(w replay.World) replay.World {
		return w.EachStart(func(s *replay.Start) { s.ClockError, s.Drift, s.ClockUnset = 0, 0, false })
	}
	near := func(to int64) bool { return s.ClockError > to-4*calendar.Minute && s.ClockError < to+4*calendar.Minute }
	const day = calendar.Day
	switch {
	case s.ClockUnset:
		add("unset", "the unit's clock is unset, so its tables do not run (CLK-11)", right)
	case s.ClockError == 0:
	case b.c.Zone.SummerTime && (near(calendar.Hour) || near(-calendar.Hour)):
		add("summer-time", "the unit's clock has not followed the change to or from summer time", right)
	case near(12*calendar.Hour) || near(-12*calendar.Hour):
		add("half-day", "the unit's clock is twelve hours out", right)
	case s.ClockError%day < 5*calendar.Minute && s.ClockError%day > -5*calendar.Minute:
		add(fmt.Sprintf("day/%+d", s.ClockError/day), "the unit's date and weekday are wrong", right)
	case s.ClockError > 0:
		add("ahead", "the unit's clock was set ahead of the true time", right)
	default:
		add("behind", "the unit's clock was set behind the true time", right)
	}
	if b.c.Zone.SummerTime && !b.ics().SummerTime {
		add("summer-time", "the unit's clock has not followed the change to or from summer time", func(w replay.World) replay.World {
			return w.EachPhase(func(p *replay.Phase) { p.ICS.SummerTime = true })
		})
	}
	if slices.ContainsFunc(b.base.Acts, func(a replay.Act) bool { return a.Input.Kind == spec.PowerOff && a.Deed == replay.AtUnit }) {
		add("lost-in-cut", "the cut that was told of lost the unit's clock: its reserve was too short, or its cell is worn out", func(w replay.World) replay.World {
			return w.EachPhase(func(p *replay.Phase) { p.ICS.Reserve = spec.MaxReserve })
		})
	}
	for i := range b.base.Acts {
		a := &b.base.Acts[i]
		if a.Deed != replay.AtUnit || a.Input.Kind != spec.SetClock {
			continue
		}
		set := b.setClock(a.At, 0)
		if out := int(a.Input.Minute) - int(set.Minute); a.Input.Date == set.Date && out < 10 && out > -10 {
			continue
		}
		other := *a
		other.Input = set
		t.add(cause{
			id: fmt.Sprintf("slip/clock/%d", max(a.Claim, 0)+1), family: Slip, cure: cureClock, subject: ofClock,
			words: "the clock was set wrongly on " + clockWords(b.c.Zone, a.At),
		}, func(w replay.World) replay.World { return w.Replace(i, other) })
	}
}

// modes are modes other than 'table' that were found or set.
func (t *teller) modes() {
	b := t.b
	for _, c := range b.channels() {
		modes := map[spec.Mode]bool{b.facts().Facts.Channels[c].Mode: true}
		for i := range b.base.Acts {
			if a := &b.base.Acts[i]; a.Deed == replay.AtUnit && a.Input.Kind == spec.SetMode && a.Input.Channel == c {
				modes[a.Input.Mode] = true
			}
		}
		for m, words := range modeWords {
			mode := spec.Mode(m)
			if mode == spec.Table || !modes[mode] {
				continue
			}
			said := cause{
				id: "forgotten/mode/" + short(c) + "/" + words, family: Forgotten, subject: ofMode(c),
				words: fmt.Sprintf("%s is in mode %s (%s)", named(c), words, modeClauses[m]),
				cure:  cure{Words: "Set " + named(c) + "'s mode to what is wanted; mostly 'table'."},
			}
			if b.facts().Facts.Channels[c].Mode == mode && b.differs(mode, c) {
				t.tell(said)
				continue
			}
			t.add(said, func(w replay.World) replay.World {
				w = w.EachStart(func(s *replay.Start) {
					if s.Facts.Channels[c].Mode == mode {
						s.Facts.Channels[c].Mode = spec.Table
					}
				})
				w = w.Clone()
				for i := range w.Acts {
					if a := &w.Acts[i]; a.Deed == replay.AtUnit && a.Input.Kind == spec.SetMode && a.Input.Channel == c && a.Input.Mode == mode {
						a.Input.Mode = spec.Table
					}
				}
				return w
			})
		}
	}
}

// dropping returns the world without the inputs of some kinds.
func dropping(w replay.World, kinds ...spec.Kind) replay.World {
	w.Acts = slices.DeleteFunc(slices.Clone(w.Acts), func(a replay.Act) bool {
		return a.Deed == replay.AtUnit && slices.Contains(kinds, a.Input.Kind)
	})
	return w
}

func (t *teller) holiday() {
	set := t.b.facts().Facts.Holiday.On
	for i := range t.b.base.Acts {
		set = set || t.b.base.Acts[i].Deed == replay.AtUnit && t.b.base.Acts[i].Input.Kind == spec.Holiday
	}
	if !set {
		return
	}
	t.add(cause{
		id: "forgotten/holiday", family: Forgotten, subject: subject{holiday: true},
		words: "a holiday is set and keeps both channels off (HOL-1)",
		cure:  cure{Words: "Look for a holiday on the display and cancel it; it ends by itself at midnight of its last day."},
	}, func(w replay.World) replay.World {
		return dropping(w, spec.Holiday).EachStart(func(s *replay.Start) { s.Facts.Holiday = emulator.HolidayFacts{} })
	})
}

func (t *teller) lock() {
	stage := spec.Dormant
	for i := range t.b.h.States {
		stage = max(stage, t.b.h.States[i].Facts.Lock.Stage)
	}
	if stage < spec.Notice {
		return
	}
	name := map[spec.Stage]string{spec.Notice: "notice", spec.Restricted: "restricted"}[stage]
	t.add(cause{
		id: "lock/" + name, family: Lock, subject: subject{lock: true}, cure: cureLock,
		words: fmt.Sprintf("the interval lock is in its stage '%s' and lets a channel call for only some minutes of each hour (LCK-13)", name),
	}, func(w replay.World) replay.World {
		return dropping(w, spec.LockArm).EachStart(func(s *replay.Start) { s.Facts.Lock = emulator.LockFacts{} })
	})
}

func (t *teller) coupling() {
	if t.b.ics().Fitted.Effective().Coupling != spec.Gravity {
		return
	}
	c := cure{Visit: true, Who: Competent, Part: "the setting at the back: coupling", Wiring: true}
	if p := t.b.plant().Plan; p == plant.GravityUnvalved || p == plant.GravityValved {
		c = cure{Words: "Heating needs hot water with it on this installation: a cylinder valve would be needed to have it otherwise."}
	}
	t.add(cause{
		id: "set-up/coupling/gravity", family: SetUp, cure: c,
		words: "the unit is set at the back to coupling gravity: heating always brings hot water with it (CPL-1)",
	}, func(w replay.World) replay.World {
		w, _ = fitAs(w, spec.FitCoupling, uint8(spec.Independent))
		return w
	})
}

// around is what was told of the installation that heats or keeps from heating by itself.
func (t *teller) around() {
	in := t.b.plant()
	eachPlant := func(change func(*plant.Installation)) func(replay.World) replay.World {
		return func(w replay.World) replay.World {
			return w.EachPhase(func(p *replay.Phase) { change(&p.Plant) })
		}
	}
	if in.SecondControl.Fitted {
		name := "heating"
		if in.SecondControl.OnHW {
			name = "hot water"
		}
		t.add(cause{
			id: "outside/second-control/" + name, family: Outside, words: "the second time control calls for " + name,
			cure: cure{Words: "Set the other timer, or have it taken out.", Visit: false},
		}, eachPlant(func(in *plant.Installation) { in.SecondControl = plant.SecondControl{} }))
	}
	if in.Frost.Fitted {
		t.add(cause{
			id: "outside/frost", family: Outside, words: "the frost thermostat calls for heat, whatever the unit says",
			cure: cure{Words: "In cold weather it is meant to; if it is set above 5 °C or so, have it set lower."},
		}, eachPlant(func(in *plant.Installation) { in.Frost = plant.Thermostat{} }))
	}
	if in.Immersion.Wired == plant.OwnCircuit {
		t.add(cause{
			id: "outside/immersion", family: Outside, words: "the immersion heater heats the cylinder, whatever the unit says",
			cure: cure{Words: "Look for the immersion heater's own switch.", HotWater: true},
		}, func(w replay.World) replay.World {
			w = eachPlant(func(in *plant.Installation) { in.Immersion = plant.Immersion{} })(w)
			w.Acts = slices.DeleteFunc(slices.Clone(w.Acts), func(a replay.Act) bool { return a.Deed == replay.AtImmersion })
			return w
		})
	}
	usual := plant.Usual(in.Plan)
	for _, x := range thermostats {
		s, u := x.of(in), x.of(&usual)
		if !s.Fitted || !u.Fitted || s.Setting == u.Setting {
			continue
		}
		way := "low"
		if s.Setting > u.Setting {
			way = "high"
		}
		t.add(cause{
			id: "control/" + way + "/" + x.id, family: Control, words: fmt.Sprintf("%s is set %s, at %v", x.words, way, s.Setting),
			cure: cure{Words: "Turn " + x.words + " to its usual setting.", HotWater: x.contact == plant.CylinderStatCallsContact},
		}, eachPlant(func(in *plant.Installation) { x.of(in).Setting = u.Setting }))
	}
}

// tables are periods that were read and that would do what is wanted if one slip were taken back.
func (t *teller) tables() {
	b := t.b
	for _, set := range b.tableSets() {
		week, wanted := b.table(set.channels[0]), b.wantedTimes(set.channels)
		for _, g := range b.dayGroups() {
			day := week[g.first]
			for slot := range int(b.ics().Periods) {
				is := day[slot]
				if is.On == is.Off {
					continue
				}
				for _, m := range missets {
					for _, w := range meantBy(m, is) {
						meant := w.period
						if !good(meant, b.ics()) || meant.On == meant.Off {
							continue
						}
						mended := day
						mended[slot] = meant
						t.slip(cause{
							id: fmt.Sprintf("tables/%s/%s/%s/%d", m.id, set.id, g.id(), slot+1), family: Tables, cure: cureTable, subject: set.subject(),
							// A period at an odd time is less odd than a clock that is out.
							weight: weightTimesTold / 2 * m.weight / (weightHalfDay / 3) * w.share / m.ways[0].share,
							words:  fmt.Sprintf("period %d of %s table on %s stands at %s; %s was meant: %s", slot+1, set.name, g.words, periodWords(is), periodWords(meant), m.words),
						}, set, g, wanted, mended)
					}
				}
			}
			if other, ok := b.otherDays(g); ok && b.empty(set, g) {
				t.slip(cause{
					id: fmt.Sprintf("tables/empty/%s/%s", set.id, g.id()), family: Tables, weight: weightTimesTold, subject: set.subject(),
					words: fmt.Sprintf("%s table for %s has no active period", set.name, g.words),
					cure:  cure{Words: "Set the periods of those days too: they have a table of their own."},
				}, set, g, wanted, week[other.first])
			}
		}
	}
	if len(b.tableSets()) == 2 {
		t.swapped()
	}
}

// swapped are two tables each of which is what is wanted of the other channel.
func (t *teller) swapped() {
	b := t.b
	c := cause{
		id: "tables/channel/swapped", family: Tables, subject: ofTables, weight: weightTimesTold / 6, words: "each channel has the table that was meant for the other",
		cure: cure{Words: "Read both channels' tables off the display, and set each as wanted."},
	}
	known := false
	for channel := range spec.Channel(spec.NumChannels) {
		for d, wanted := range b.wantedTimes([]spec.Channel{channel}) {
			if !asWanted(spec.Table, b.table(1 - channel)[d], wanted) {
				return
			}
			known = known || !asWanted(spec.Table, b.table(channel)[d], wanted)
		}
	}
	if known {
		t.tell(c)
		return
	}
	t.add(c, func(w replay.World) replay.World {
		return w.EachStart(func(s *replay.Start) {
			hw, ch := &s.Facts.Channels[spec.HW].Table, &s.Facts.Channels[spec.CH].Table
			*hw, *ch = *ch, *hw
		})
	})
}

// slip adds a slip that is told by what is read, if some days mended of it are what is wanted of them; where nothing is wanted of them day by
// day, if that does what is wanted, and has not one period within another, as nobody means it.
func (t *teller) slip(c cause, set tableSet, g days, wanted [7][]spec.Period, mended [spec.MaxPeriods]spec.Period) {
	known := false
	for d := g.first; d <= g.last; d++ {
		if len(wanted[d]) == 0 {
			continue
		}
		if asWanted(spec.Table, t.b.table(set.channels[0])[d], wanted[d]) || !asWanted(spec.Table, mended, wanted[d]) {
			return
		}
		known = true
	}
	if known {
		t.tell(c)
		return
	}
	if overlap(mended) {
		return
	}
	t.add(c, func(w replay.World) replay.World {
		for slot, p := range mended {
			w = set.edit(w, g, slot, p)
		}
		return w
	})
}

// overlap reports whether two of a day's periods have a minute in common.
func overlap(day [spec.MaxPeriods]spec.Period) bool {
	for i, p := range day {
		for _, q := range day[:i] {
			if p.On != p.Off && q.On != q.Off && p.On < q.Off && q.On < p.Off {
				return true
			}
		}
	}
	return false
}

// notAsWanted are tables that were read and are not what is wanted, where none of the slips that were found says why. That shows in the table
// itself: it needs no failing.
func (t *teller) notAsWanted(slips []cause) {
	b := t.b
	for _, set := range b.tableSets() {
		if slices.ContainsFunc(slips, func(c cause) bool { return c.subject == set.subject() || c.subject == ofTables }) || !b.differs(spec.Table, set.channels...) {
			continue
		}
		c := cause{
			id: "tables/not-as-wanted/" + set.id, family: Tables, weight: weightTimesTold, cure: cureTable, subject: set.subject(),
			words: set.name + " table is not what is wanted",
		}
		if b.byDefault(set) {
			c.id, c.words = "tables/default/"+set.id, set.name+" table is the default one: what is wanted was not set, or not kept"
		}
		t.tell(c)
	}
}

// nearlyAsWanted is by how much a table may differ from what is wanted, in minutes of a day, and still be what was meant: people round.
const nearlyAsWanted = 10

// differs reports whether channels in a mode, with the table that they have, ask for something else than is wanted of any of them.
func (b *builder) differs(mode spec.Mode, channels ...spec.Channel) bool {
	for d, wanted := range b.wantedTimes(channels) {
		if !asWanted(mode, b.table(channels[0])[d], wanted) {
			return true
		}
	}
	return false
}

// asWanted reports whether a channel in a mode, with a day's table, asks nearly for what is wanted of the day, or nothing is told of that.
func asWanted(mode spec.Mode, day [spec.MaxPeriods]spec.Period, wanted []spec.Period) bool {
	return len(wanted) == 0 || apart(askedIn(mode, day), wanted) <= nearlyAsWanted
}

// apart returns for how many minutes of a day one of two has a time that the other has not.
func apart(xs, ys []spec.Period) (minutes int) {
	var edges []uint16
	for _, p := range slices.Concat(xs, ys) {
		edges = append(edges, p.On, p.Off)
	}
	slices.Sort(edges)
	for i := 1; i < len(edges); i++ {
		has := func(p spec.Period) bool { return p.On <= edges[i-1] && edges[i-1] < p.Off }
		if slices.ContainsFunc(xs, has) != slices.ContainsFunc(ys, has) {
			minutes += int(edges[i] - edges[i-1])
		}
	}
	return minutes
}

// askedIn returns the times of a day in which a channel in a mode asks to be on, as far as they lie within the day.
func askedIn(mode spec.Mode, day [spec.MaxPeriods]spec.Period) (times []spec.Period) {
	for _, p := range day {
		if p.On < p.Off {
			times = append(times, p)
		}
	}
	switch {
	case mode == spec.Off:
		return nil
	case mode == spec.Always:
		return []spec.Period{{On: 0, Off: spec.MinutesPerDay}}
	case mode == spec.Span && len(times) > 0:
		first := slices.MinFunc(times, func(x, y spec.Period) int { return cmp.Compare(x.On, y.On) })
		last := slices.MaxFunc(times, func(x, y spec.Period) int { return cmp.Compare(x.Off, y.Off) })
		return []spec.Period{{On: first.On, Off: last.Off}}
	default:
		return times
	}
}

// byDefault reports whether a table is the one with which the unit left the factory.
func (b *builder) byDefault(t tableSet) bool {
	ics := b.ics()
	for d, day := range b.table(t.channels[0]) {
		if day != defaultDay(ics, d) {
			return false
		}
	}
	return true
}

// wantedTimes returns the times of each day of the week, from Monday, in which any of some channels is wanted on, as rules such as 'every
// weekday' tell of them; none for a day of which they do not. The days on which the account begins and ends do not count: of those it may
// have a part only.
func (b *builder) wantedTimes(channels []spec.Channel) (week [7][]spec.Period) {
	relays := [spec.NumChannels]complaint.What{spec.HW: complaint.HWRelay, spec.CH: complaint.CHRelay}
	for i := range b.c.Wanted.Means {
		o := &b.c.Wanted.Means[i]
		if !o.When.Rule || o.Form != complaint.Is || o.Level == 0 || !slices.ContainsFunc(channels, func(c spec.Channel) bool { return o.What == relays[c] }) {
			continue
		}
		for _, w := range o.When.Windows {
			from := b.local(w.From)
			if day := calendar.DayOf(from); day == calendar.DayOf(b.local(b.base.From)) || day == calendar.DayOf(b.local(b.base.To)) {
				continue
			}
			on := calendar.SecondOfDay(from)
			p := spec.Period{On: uint16(on / calendar.Minute), Off: uint16((on + w.To - w.From) / calendar.Minute)}
			if day := &week[calendar.Weekday(calendar.DayOf(from))]; w.Throughout && !slices.Contains(*day, p) {
				*day = append(*day, p)
			}
		}
	}
	return week
}

// intended is a period that a slip would have turned into another.
type intended struct {
	period spec.Period
	share  float64 // of the slip
}

// meantBy returns the periods that a slip would have turned into this one.
func meantBy(m misset, is spec.Period) (all []intended) {
	moves := []int{0, 12 * 60, -12 * 60}
	for _, h := range hoursOut {
		moves = append(moves, h.hours*60, -h.hours*60)
	}
	for _, by := range moves {
		for _, also := range moves {
			on, ok := moved(is.On, by)
			off, good := moved(is.Off, also)
			if !ok || !good {
				continue
			}
			p := spec.Period{On: on, Off: off}
			for _, w := range m.ways {
				if q, ok := w.set(p); ok && q == is && p != is && !slices.ContainsFunc(all, func(x intended) bool { return x.period == p }) {
					all = append(all, intended{p, w.share})
				}
			}
		}
	}
	return all
}

func (b *builder) empty(t tableSet, g days) bool {
	for slot := range int(b.ics().Periods) {
		if p := b.period(t, g, slot); p.On != p.Off {
			return false
		}
	}
	return true
}

// otherDays returns a group of days other than this one, the next before it or after it.
func (b *builder) otherDays(g days) (days, bool) {
	gs := b.dayGroups()
	for i := range gs {
		if gs[i] == g && len(gs) > 1 {
			return gs[(i+len(gs)-1)%len(gs)], true
		}
	}
	return days{}, false
}
