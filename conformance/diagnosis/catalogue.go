package diagnosis

import (
	"fmt"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// account is what questions are asked about.
type account struct {
	complaint *complaint.Complaint
	base      replay.World
	h         *replay.History // of the base, lived through beyond its end
	verdicts  verdicts        // of the account
}

// What questions cost, in minutes of whoever answers, the wait counted as far as it keeps somebody. Common sense, no source.
const (
	costAsk    = 1.0
	costRead   = 2.0
	costListen = 4.0
	costTry    = 6.0
	costWait   = 10.0
	costVisit  = 60.0
	costOpened = costVisit - costRead // of a visit, all but the one reading: it is made once for all that is read with the covers off
)

// How often answers are wrong. Common sense, no source.
const (
	wrongRead   = 0.03
	wrongHeard  = 0.08
	wrongFelt   = 0.08
	wrongProved = 0.02
)

// Cautions that go with questions.
const (
	cautionIsolate = "For a competent person: isolate every supply and prove dead before a cover is opened; local codes rule."
	cautionLive    = "For a competent person with the means for it: what is measured live is live. Isolate and prove dead before anything is touched; local codes rule."
	cautionPutBack = "Afterwards set modes and thermostats back as they were."
)

var yesNo = []string{"yes", "no"}

func first(yes bool) int {
	if yes {
		return 0
	}
	return 1
}

// catalogue returns all questions that make sense for a complaint.
func catalogue(a *account) []*Question {
	var qs []*Question
	add := func(q Question) {
		q.c = a
		qs = append(qs, &q)
	}
	display(a, add)
	listen(a, add)
	try(a, add)
	thermostatsRead(a, add)
	household(a, add)
	course(a, add)
	statements(a, add)
	visit(a, add)
	tests(a, add)
	return qs
}

// display are questions that a householder answers by reading the display.
func display(a *account, add func(Question)) {
	read := func(id, words string, choices []string, predict func(*probe) int) {
		add(Question{ID: "display/" + id, Words: words, Who: Householder, Minutes: costRead, Choices: choices, mistaken: wrongRead, sitting: indoors, predict: predict})
	}
	z := a.complaint.Zone
	times := []string{
		"the same, within 3 minutes", "an hour ahead", "an hour behind", "twelve hours out", "up to 20 minutes ahead", "up to 20 minutes behind",
		"20 to 50 minutes ahead", "20 to 50 minutes behind", "50 to 100 minutes ahead, not an hour", "50 to 100 minutes behind, not an hour",
		"100 to 160 minutes ahead", "100 to 160 minutes behind", "more ahead", "more behind", "it flashes or shows dashes", "nothing",
	}
	read("time", "What time does the display show, against a telephone's?", times, func(p *probe) int {
		reading, shown := p.h.Reading(p.now)
		switch shown {
		case replay.Dark:
			return len(times) - 1
		case replay.Flashing:
			return len(times) - 2
		}
		out := (reading-localOf(z, p.now))%calendar.Day + calendar.Day
		if out %= calendar.Day; out > calendar.Day/2 {
			out -= calendar.Day
		}
		near := func(to int64) bool { return out >= to-3*calendar.Minute && out <= to+3*calendar.Minute }
		by, behind := max(out, -out), 1-first(out < 0)
		switch {
		case near(0):
			return 0
		case near(calendar.Hour):
			return 1
		case near(-calendar.Hour):
			return 2
		case near(12*calendar.Hour) || near(-12*calendar.Hour):
			return 3
		}
		steps := []int64{20 * calendar.Minute, 50 * calendar.Minute, 100 * calendar.Minute, 160 * calendar.Minute}
		n := 0
		for n < len(steps) && by > steps[n] {
			n++
		}
		return 4 + 2*n + behind
	})
	days := []string{"the right ones", "a day ahead", "two days ahead", "three days ahead", "a day behind", "two days behind", "three days behind", "others", "none"}
	read("day", "Which date and day of the week does the display show?", days, func(p *probe) int {
		reading, shown := p.h.Reading(p.now)
		if shown != replay.Readable {
			return 8
		}
		// Near midnight a clock that is a little out shows another day, and is no less right.
		out := reading - localOf(z, p.now)
		if out > -13*calendar.Hour && out < 13*calendar.Hour {
			return 0
		}
		by := (max(out, -out) + calendar.Day/2) / calendar.Day
		switch {
		case by < 1 || by > 3:
			return 7
		case out < 0:
			return int(3 + by)
		default:
			return int(by)
		}
	})
	for c := range spec.Channel(spec.NumChannels) {
		has := func(p *probe) bool { return p.ics().Fitted.Channels.Has(c) && p.state().Facts.Powered }
		read("mode/"+short(c), "Which mode does the display show for "+named(c)+"?", append(slices.Clone(modeWords[:]), "none"), func(p *probe) int {
			if !has(p) {
				return len(modeWords)
			}
			return int(p.state().Facts.Channels[c].Mode)
		})
		read("temporary/"+short(c), "Does the display show an override or a boost for "+named(c)+"?", []string{"neither", "an override", "a boost"}, func(p *probe) int {
			f := &p.state().Facts.Channels[c]
			switch {
			case !has(p):
				return 0
			case f.BoostLeft > 0:
				return 2
			case f.Override:
				return 1
			default:
				return 0
			}
		})
	}
	read("holiday", "Does the display show a holiday?", yesNo, func(p *probe) int { return first(p.state().Facts.Holiday.On && p.state().Facts.Powered) })
	read("alert", "Does the display show an alert or a service notice?", []string{"none", "counting", "notice", "restricted"}, func(p *probe) int {
		return int(p.level(replay.LaneAlert, p.now))
	})
	tablesRead(a, add)
	allRead(a, add)
}

// allRead is the question that a caller is asked first: everything that the display shows, against what was told.
func allRead(a *account, add func(Question)) {
	was := a.h.State(a.complaint.Until).Facts
	table := func(p *probe, c spec.Channel) bool {
		for d := range 7 {
			if !sameDay(&p.state().Facts, &was, c, d) {
				return false
			}
		}
		return true
	}
	add(Question{
		ID: "display/all", Who: Householder, Minutes: costRead * 4, mistaken: wrongRead * 2, sitting: indoors,
		covers: func(id string) bool { return strings.HasPrefix(id, "display/") }, says: func(choice int) bool { return choice == 0 },
		Words: "Read all that the display shows, in this order: clock, date, modes, periods day by day, override, boost, holiday, alert. What is the first that is otherwise than was told?",
		Choices: []string{
			"nothing is", "it is dark, or its clock flashes", "the time", "the date or the day", "a mode", "hot water's periods", "heating's periods",
			"an override, a boost or a holiday", "an alert",
		},
		predict: func(p *probe) int {
			reading, shown := p.h.Reading(p.now)
			wasReading, wasShown := a.h.Reading(p.now)
			f := &p.state().Facts
			out := reading - wasReading
			ofDay := (out%calendar.Day + calendar.Day + calendar.Day/2) % calendar.Day
			const near = 3 * calendar.Minute
			switch {
			case shown != wasShown:
				return 1
			case shown == replay.Readable && (ofDay < calendar.Day/2-near || ofDay > calendar.Day/2+near):
				return 2
			case shown == replay.Readable && (out > near || out < -near):
				return 3
			case !f.Powered:
				return 0
			case f.Channels[spec.HW].Mode != was.Channels[spec.HW].Mode || f.Channels[spec.CH].Mode != was.Channels[spec.CH].Mode:
				return 4
			case p.ics().Fitted.Channels.Has(spec.HW) && !table(p, spec.HW):
				return 5
			case !table(p, spec.CH):
				return 6
			}
			for c := range f.Channels {
				x, y := &f.Channels[c], &was.Channels[c]
				if x.Override != y.Override || (x.BoostLeft > 0) != (y.BoostLeft > 0) || f.Holiday.On != was.Holiday.On {
					return 7
				}
			}
			if p.level(replay.LaneAlert, p.now) != a.h.Level(replay.LaneAlert, p.now) {
				return 8
			}
			return 0
		},
	})
}

func sameDay(f, g *emulator.Facts, c spec.Channel, day int) bool {
	return activeSet(f.Channels[c].Table[day]) == activeSet(g.Channels[c].Table[day])
}

// activeSet returns a day's active periods in order, whatever their slots (TAB-15).
func activeSet(ps [spec.MaxPeriods]spec.Period) [spec.MaxPeriods]spec.Period {
	for i := range ps {
		if ps[i].On == ps[i].Off {
			ps[i] = spec.Period{}
		}
	}
	slices.SortFunc(ps[:], func(p, q spec.Period) int { return (int(p.On)-int(q.On))*2000 + int(p.Off) - int(q.Off) })
	return ps
}

func list(words []string) string {
	out := ""
	for i, w := range words {
		if i > 0 {
			out += ", "
		}
		out += w
	}
	return out
}

// listen are questions that a householder answers by waiting beside the unit.
func listen(a *account, add func(Question)) {
	seen := 0
	last := int64(0)
	var at []int64
	for _, l := range [...]replay.Lane{replay.LaneHW, replay.LaneCH} {
		for _, c := range a.h.Changes(l) {
			if c.At > a.complaint.Until && c.At < a.complaint.Until+untouched {
				at = append(at, c.At)
			}
		}
	}
	slices.Sort(at)
	for _, t := range at {
		if t-last < 10*calendar.Minute || seen == 4 {
			continue
		}
		seen, last = seen+1, t
		add(Question{
			ID: fmt.Sprintf("listen/%d", seen), Who: Householder, Minutes: costListen, Choices: yesNo, mistaken: wrongHeard, sitting: beside,
			Words:   fmt.Sprintf("Stand by the unit at %s: does it click within 3 minutes?", clockWords(a.complaint.Zone, t)),
			predict: func(p *probe) int { return first(p.moves(t-3*calendar.Minute, t+3*calendar.Minute)) },
		})
	}
}

// try are questions that a householder answers by trying something out at the front of the unit.
func try(a *account, add func(Question)) {
	attempt := func(id, before, words string, cost, wrong float64, predict func(*probe) bool) {
		add(Question{
			ID: "try/" + id, Words: before + words, Who: Householder, Minutes: cost, Choices: yesNo, mistaken: wrong, Caution: cautionPutBack,
			sitting: trial, before: before, shared: cost - costAsk, predict: func(p *probe) int { return first(predict(p)) },
		})
	}
	lane := replay.PointLane
	in := &a.base.Phases[len(a.base.Phases)-1].Plant
	heating := "Turn hot water to mode 'off', every room thermostat fully up, heating to 'off' and then to 'always'. "
	// How far does it get? One try tells what several questions after each other would.
	far := func(id, before, words string, cost float64, choices []string, predict func(*probe) int) {
		add(Question{
			ID: "try/" + id, Words: before + words, Who: Householder, Minutes: cost, Choices: choices, mistaken: wrongHeard, Caution: cautionPutBack,
			sitting: trial, before: before, shared: cost - costAsk, predict: predict,
			covers: func(of string) bool {
				what, within := strings.CutPrefix(of, "try/"+id+"/")
				return within && what != "holds" && what != "zone-2"
			},
		})
	}
	far("heating", heating, "How far does it get within an hour and a half?", costWait+costTry, []string{
		"the unit does not click, nothing gets warm", "it clicks, no more", "the pump runs, the boiler does not fire", "the boiler fires, the radiators stay cold",
		"the radiators get warm", "it does not click, and the radiators are warm all the same",
	}, func(p *probe) int {
		at := p.now + tryHeating + 2*calendar.Minute
		click := p.moves(at, at+5)
		switch {
		case p.level(lane(plant.Radiators), p.now+tryHotWater-10*calendar.Minute) == 1:
			return 5 - first(!click)
		case p.ever(lane(plant.Flame), 1, at+30, at+10*calendar.Minute):
			return 3
		case p.level(lane(plant.Pump), at+10*calendar.Minute) == 1:
			return 2
		default:
			return first(!click)
		}
	})
	attempt("heating/click", heating, "Does the unit click?", costTry, wrongHeard, func(p *probe) bool {
		at := p.now + tryHeating + 2*calendar.Minute
		return p.moves(at, at+5)
	})
	attempt("heating/flame", heating, "Does the boiler fire within 10 minutes?", costTry+2, wrongRead, func(p *probe) bool {
		at := p.now + tryHeating + 2*calendar.Minute
		return p.ever(lane(plant.Flame), 1, at+30, at+10*calendar.Minute)
	})
	attempt("heating/pump", heating, "Can the pump be heard or felt running after 10 minutes?", costTry+4, wrongHeard*2, func(p *probe) bool {
		return p.level(lane(plant.Pump), p.now+tryHeating+12*calendar.Minute) == 1
	})
	attempt("heating/radiators", heating, "Are the radiators warm after an hour and a half?", costWait, wrongFelt, func(p *probe) bool {
		return p.level(lane(plant.Radiators), p.now+tryHotWater-10*calendar.Minute) == 1
	})
	holds := func(id, before string, l replay.Lane, from, to int64) {
		attempt(id+"/holds", before, "Left so for an hour and a half, does the unit click that channel off or on again by itself?", costWait, wrongHeard, func(p *probe) bool {
			return slices.ContainsFunc(p.h.Changes(l), func(c replay.Change) bool { return c.At > p.now+from && c.At < p.now+to })
		})
	}
	holds("heating", heating, replay.LaneCH, tryHeating+3*calendar.Minute, tryHotWater-10*calendar.Minute)
	if in.Plan == plant.TwoZones {
		attempt("heating/zone-2", heating, "Are the radiators of zone 2 warm after an hour and a half?", costWait, wrongFelt, func(p *probe) bool {
			return p.level(lane(plant.Radiators2), p.now+tryHotWater-10*calendar.Minute) == 1
		})
	}
	water := "Turn heating to mode 'off', the cylinder thermostat fully up, and hot water from 'off' to 'always'. "
	if in.Plan != plant.Combination && in.Plan != plant.TwoZones {
		far("hot-water", water, "How far does it get within two hours?", costWait+costTry, []string{
			"the unit does not click, nothing gets warm", "it clicks, no more", "the boiler fires, tap and radiators stay cold", "the tap runs hot",
			"the tap runs hot, and the radiators get warm too", "the radiators get warm, the tap stays cold",
		}, func(p *probe) int {
			at, end := p.now+tryHotWater+2*calendar.Minute, p.now+tryNothing-calendar.Minute
			tap, radiators := p.level(lane(plant.Tap), end) == 1, p.level(lane(plant.Radiators), end) == 1
			switch {
			case tap:
				return 4 - first(radiators)
			case radiators:
				return 5
			case p.ever(lane(plant.Flame), 1, at+30, at+10*calendar.Minute):
				return 2
			default:
				return first(!p.moves(at, at+5))
			}
		})
	}
	holds("hot-water", water, replay.LaneHW, tryHotWater+3*calendar.Minute, tryNothing-10*calendar.Minute)
	attempt("hot-water/click", water, "Does the unit click?", costTry, wrongHeard, func(p *probe) bool {
		at := p.now + tryHotWater + 2*calendar.Minute
		return p.moves(at, at+5)
	})
	if in.Plan != plant.Combination {
		attempt("hot-water/flame", water, "Does the boiler fire within 10 minutes?", costTry+2, wrongRead, func(p *probe) bool {
			at := p.now + tryHotWater + 2*calendar.Minute
			return p.ever(lane(plant.Flame), 1, at+30, at+10*calendar.Minute)
		})
		attempt("hot-water/radiators", water, "Are the radiators warm two hours later?", costWait, wrongFelt, func(p *probe) bool {
			return p.level(lane(plant.Radiators), p.now+tryNothing-calendar.Minute) == 1
		})
		if in.Plan != plant.TwoZones {
			attempt("hot-water/tap", water, "Does the hot tap run hot two hours later?", costWait, wrongFelt, func(p *probe) bool {
				return p.level(lane(plant.Tap), p.now+tryNothing-calendar.Minute) == 1
			})
		}
	}
	nothing := "Turn both channels to mode 'off'. "
	far("nothing", nothing, "What goes on for all that?", costWait, []string{
		"nothing, and the radiators are cold three hours later", "the pump runs", "the boiler fires", "the radiators are warm three hours later",
	}, func(p *probe) int {
		at := p.now + tryNothing
		switch {
		case p.level(lane(plant.Radiators), p.now+tried-calendar.Minute) == 1:
			return 3
		case p.ever(lane(plant.Flame), 1, at+30*calendar.Minute, at+calendar.Hour):
			return 2
		case p.level(lane(plant.Pump), at+calendar.Hour) == 1:
			return 1
		default:
			return 0
		}
	})
	attempt("nothing/flame", nothing, "Does the boiler fire after half an hour?", costTry, wrongRead, func(p *probe) bool {
		at := p.now + tryNothing
		return p.ever(lane(plant.Flame), 1, at+30*calendar.Minute, at+calendar.Hour)
	})
	attempt("nothing/radiators", nothing, "Are the radiators still warm three hours later?", costWait, wrongFelt, func(p *probe) bool {
		return p.level(lane(plant.Radiators), p.now+tried-calendar.Minute) == 1
	})
	add(Question{
		ID: "look/lockout", Words: "Does the boiler show a lockout or a fault?", Who: Householder, Minutes: costRead, Choices: yesNo, mistaken: wrongRead,
		sitting: indoors, predict: func(p *probe) int { return first(p.ever(lane(plant.Lockout), 1, p.now, p.now)) },
	})
}

// household are questions about what was done, and about what else there is in the house.
func household(a *account, add func(Question)) {
	// Whoever did something has often forgotten it, so that a 'no' says less than a 'yes'.
	did := func(id, words string, mistaken float64, done func(*probe) bool) {
		add(Question{
			ID: "ask/" + id, Words: words, Who: Householder, Minutes: costAsk, Choices: yesNo, mistaken: mistaken, sitting: memory,
			predict: func(p *probe) int { return first(done(p)) },
		})
	}
	asked := func(id, words string, choices []string, forgets float64, what func(*spec.Input) int) {
		add(Question{
			ID: "ask/" + id, Words: words, Who: Householder, Minutes: costAsk, Choices: append([]string{"nobody did"}, choices...),
			mistaken: wrongHeard, forgets: forgets, sitting: memory,
			predict: func(p *probe) int {
				for i := range p.asked.Acts {
					x := &p.asked.Acts[i]
					if is := what(&x.Input); is >= 0 && x.Deed == replay.AtUnit && a.untold(p, x) {
						return 1 + is
					}
				}
				return 0
			},
		})
	}
	asked("pressed", "Ask everybody in the house: did anybody press an override or boost button, beyond what was told? Which was it?",
		[]string{"heating's override", "hot water's override", "a boost of heating", "a boost of hot water", "a press that ends a boost"}, 0.25, func(in *spec.Input) int {
			of := 1 - first(in.Channel == spec.CH) // heating's come first
			switch {
			case in.Kind == spec.Boost && in.Amount == 0:
				return 4
			case in.Kind == spec.Boost:
				return 3 - of
			case in.Kind == spec.Override:
				return 1 - of
			default:
				return -1
			}
		})
	asked("settings", "Ask everybody in the house: did anybody set anything, beyond what was told? What was it?",
		[]string{"a mode", "a holiday", "the clock", "a period of the table", "the unit was reset"}, 0.2, func(in *spec.Input) int {
			return slices.Index([]spec.Kind{spec.SetMode, spec.Holiday, spec.SetClock, spec.SetPeriod, spec.Reset}, in.Kind)
		})
	did("cut", "Did other clocks in the house flash or stop: was there a power cut that was not told of?", 0.1, func(p *probe) bool {
		return slices.ContainsFunc(p.asked.Acts, func(x replay.Act) bool {
			return x.Deed == replay.AtUnit && x.Input.Kind == spec.PowerOff && a.untold(p, &x)
		})
	})
	did("second-control", "Is there another timer that can call for heat or hot water?", 0.15, func(p *probe) bool { return p.installation().SecondControl.Fitted })
	did("frost", "Is there a frost thermostat, in a cold place as a garage?", 0.15, func(p *probe) bool { return p.installation().Frost.Fitted })
	if in := &a.base.Phases[len(a.base.Phases)-1].Plant; in.Plan != plant.Combination && in.Plan != plant.TwoZones {
		did("immersion", "Is an immersion heater switched on?", 0.05, func(p *probe) bool {
			im := &p.installation().Immersion
			return im.Wired == plant.OwnCircuit && im.On
		})
	}
	for i := range a.base.Acts {
		act := a.base.Acts[i]
		if act.Deed != replay.AtUnit || act.Claim < 0 || act.Input.Kind == spec.PowerOff || act.Input.Kind == spec.PowerOn {
			continue
		}
		add(Question{
			ID: fmt.Sprintf("ask/act/%d", i+1), Who: Householder, Minutes: costAsk + 2, mistaken: 0.15, sitting: memory,
			Words:   fmt.Sprintf("Go through %s of %s again, button by button. Was it done just so?", doing(&act.Input), clockWords(a.complaint.Zone, act.At)),
			Choices: yesNo,
			predict: func(p *probe) int {
				beside := slices.ContainsFunc(p.asked.Acts, func(x replay.Act) bool {
					return x.At >= act.At && x.At < act.At+calendar.Minute && a.untold(p, &x)
				})
				return first(!beside && likeIt(p.asked.Acts, &act) == likeIt(a.base.Acts, &act))
			},
		})
	}
}

// nearly is how far the time of an act may be from what was told of it: 'about' a time is a quarter of an hour.
const nearly = 20 * calendar.Minute // seconds

// likeIt counts the acts that do the same thing at nearly the same time.
func likeIt(acts []replay.Act, x *replay.Act) (n int) {
	for i := range acts {
		y := &acts[i]
		if y.Deed == x.Deed && y.Input == x.Input && y.At >= x.At-nearly && y.At <= x.At+nearly {
			n++
		}
	}
	return n
}

// untold reports whether an act of a probe's world is one more than was told of.
func (a *account) untold(p *probe, x *replay.Act) bool {
	return x.Claim < 0 && likeIt(p.asked.Acts, x) > likeIt(a.base.Acts, x)
}

// statements are questions about what was said, where the account leaves it unexplained.
func statements(a *account, add func(Question)) {
	for i := range a.complaint.Sensed {
		o := &a.complaint.Sensed[i]
		if a.verdicts[i] != replay.Departs || o.Who == complaint.Log {
			continue
		}
		add(Question{
			ID: fmt.Sprintf("ask/statement/%d", i+1), Who: Householder, Minutes: costAsk, Choices: yesNo, mistaken: 0.3,
			Words: fmt.Sprintf("Ask again, without leading: %q. Is it really so?", o.Text),
			predict: func(p *probe) int {
				switch replay.Compare(p.h, o).Verdict {
				case replay.Agrees:
					return 0
				case replay.Departs:
					return 1
				default:
					return -1
				}
			},
		})
	}
}

// visit are questions that only a competent person on the spot answers.
func visit(a *account, add func(Question)) {
	last := &a.base.Phases[len(a.base.Phases)-1]
	for o := range spec.FitOption(4) {
		name := wire.FitOptionWord(o)
		add(Question{
			ID: "back/" + name, Words: "What is set at the back of the unit for " + name + "?", Who: Competent, Minutes: costVisit, sitting: opened, shared: costOpened, Choices: wire.FitWords(o),
			Caution: cautionIsolate, mistaken: wrongProved,
			predict: func(p *probe) int {
				f := p.ics().Fitted
				return int([...]uint8{
					spec.FitChannels: uint8(f.Channels), spec.FitCycle: uint8(f.Cycle), spec.FitTiming: uint8(f.Timing), spec.FitCoupling: uint8(f.Coupling),
				}[o])
			},
		})
	}
	terminals := last.Plant.Terminals()
	for _, d := range []struct {
		id, words string
		hw, ch    bool
	}{
		{"heating", "with only heating calling, thermostats up", false, true},
		{"hot-water", "with only hot water calling, thermostats up", true, false},
		{"nothing", "with neither channel calling", false, false},
	} {
		for t := range plant.Terminal(plant.NumTerminals) {
			if !terminals.Has(t) {
				continue
			}
			add(Question{
				ID: fmt.Sprintf("prove/%s/%d", d.id, t), Who: Competent, Minutes: costVisit, sitting: opened, shared: costOpened, Choices: []string{"live", "not live"}, Caution: cautionLive, mistaken: wrongProved,
				Words: fmt.Sprintf("Measure, %s: is %v live?", d.words, t),
				predict: func(p *probe) int {
					live, known := p.terminal(t, d.hw, d.ch)
					if !known {
						return -1
					}
					return first(live)
				},
			})
		}
	}
	for _, v := range []plant.Point{plant.HWValve, plant.CHValve, plant.Zone2Valve, plant.ThreePort} {
		if !last.Plant.Has(v) {
			continue
		}
		choices := []string{"shut", "open", "between", "at hot water", "in the middle", "at heating"}
		for _, d := range []struct {
			id, words string
			at        int64
		}{
			{"heating", "with only heating calling, thermostats up", tryHotWater - calendar.Minute},
			{"hot-water", "with only hot water calling, thermostats up", tryNothing - calendar.Minute},
			{"nothing", "with neither channel calling", tried - calendar.Minute},
		} {
			add(Question{
				ID: fmt.Sprintf("valve/%s/%d", d.id, v), Who: Competent, Minutes: costVisit, sitting: opened, shared: costOpened, Choices: choices, Caution: cautionIsolate, mistaken: wrongProved,
				Words:   fmt.Sprintf("See, %s: how does %v stand?", d.words, v),
				predict: func(p *probe) int { return int(p.level(replay.PointLane(v), p.now+d.at)) },
			})
		}
	}
}
