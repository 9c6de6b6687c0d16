package casebook

import (
	"fmt"

	"example.org/hearthbench/conformance/diagnosis"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// ail is something that goes wrong in houses, or that seems to.
type ail struct {
	name   string
	group  string
	weight int // how often, of a thousand complaints about heating that does not come when it should: common practice, no source
	// families are what a diagnosis may call it where the world alone does not tell.
	families []diagnosis.Family
	outside  bool
	alone    bool // it goes with nothing else: it is about what the household expects
	// strike lets it befall a house, and returns how its like is known again. It returns false in a house in which it cannot be.
	strike func(h *house) (sameness, bool)
}

var (
	nothing   = []diagnosis.Family{diagnosis.NothingWrong}
	lags      = []diagnosis.Family{diagnosis.PlantNormal}
	setUp     = []diagnosis.Family{diagnosis.SetUp}
	tables    = []diagnosis.Family{diagnosis.Tables, diagnosis.Slip, diagnosis.NothingWrong}
	modes     = []diagnosis.Family{diagnosis.Forgotten, diagnosis.Slip, diagnosis.NothingWrong}
	clock     = []diagnosis.Family{diagnosis.Clock}
	forgotten = []diagnosis.Family{diagnosis.Forgotten, diagnosis.Slip}
	lock      = []diagnosis.Family{diagnosis.Lock}
	wiring    = []diagnosis.Family{diagnosis.Wiring, diagnosis.Part, diagnosis.Control}
	control   = []diagnosis.Family{diagnosis.Control, diagnosis.PlantNormal}
	elsewhere = []diagnosis.Family{diagnosis.Outside}
)

// ails is the list. Most calls are about nothing that is broken.
var ails = []ail{
	{"an override ended where the table switched", "expectation", 70, nothing, false, true, overrideEnds},
	{"what was switched off by hand came on again", "expectation", 30, nothing, false, true, cameOnAgain},
	{"a boost ended after its time", "expectation", 30, nothing, false, true, boostEnds},
	{"heating brings hot water on unvalved gravity", "expectation", 40, nothing, false, true, gravityBrings},
	{"radiators take their time", "plant", 40, lags, false, true, radiatorsLag},
	{"the room is as warm as its thermostat asks", "plant", 40, control, false, true, warmEnough},
	{"the cylinder keeps its heat", "plant", 20, lags, false, true, keepsHeat},

	{"the switch at the back stands at gravity", "set-up", 25, setUp, false, false, gravityByMistake},
	{"the switch at the back stands at independent on a gravity plant", "set-up", 20, setUp, false, false, independentByMistake},
	{"one table serves both channels", "set-up", 15, setUp, false, false, sharedByMistake},
	{"every day has Monday's table", "set-up", 15, setUp, false, false, everyDayAlike},
	{"only one channel is fitted", "set-up", 5, setUp, false, false, oneChannel},

	{"morning for evening", "tables", 35, tables, false, false, halfDay},
	{"the other channel's table was set", "tables", 15, tables, false, false, otherChannel},
	{"the weekend's times were given to the working days", "tables", 15, tables, false, false, otherDays},
	{"a period whose on and off are equal", "tables", 10, tables, false, false, equalTimes},
	{"the new times were never kept", "tables", 20, tables, false, false, notKept},
	{"a wrong hour", "tables", 15, tables, false, false, wrongHour},
	{"the mode is not what they believe", "tables", 50, modes, false, false, wrongMode},

	{"the clock has the wrong day", "clock", 25, clock, false, false, wrongDay},
	{"the clock is twelve hours out", "clock", 15, clock, false, false, twelveHours},
	{"nobody changed the clock with summer time", "clock", 40, clock, false, false, summerTimeMissed},
	{"the clock was changed though it changes itself", "clock", 12, clock, false, false, summerTimeTwice},
	{"the clock gains or loses", "clock", 12, clock, false, false, drifts},
	{"a power cut lost the clock", "clock", 25, clock, false, false, clockLost},
	{"the clock was set carelessly", "clock", 15, clock, false, false, carelessly},

	{"somebody pressed override", "forgotten", 25, forgotten, false, false, pressedOverride},
	{"a boost was ended early", "forgotten", 10, forgotten, false, false, boostCancelled},
	{"somebody changed the mode", "forgotten", 25, forgotten, false, false, changedMode},
	{"a holiday is still set", "forgotten", 20, forgotten, false, false, stillHoliday},
	{"somebody reset the unit", "forgotten", 10, forgotten, false, false, resetIt},

	{"the lock restricts", "lock", 25, lock, false, false, restricts},

	{"a valve does not move", "parts", 45, wiring, false, false, valveFails},
	{"the pump has seized", "parts", 15, wiring, false, false, pumpFails},
	{"the boiler does not light", "parts", 30, wiring, false, false, boilerFails},
	{"a thermostat's contact is stuck", "parts", 20, wiring, false, false, statSticks},
	{"a thermostat stands in the sun or in a draught", "parts", 15, wiring, false, false, statMisreads},
	{"a relay's contact is stuck", "parts", 15, wiring, false, false, relaySticks},
	{"a valve's end switch is stuck", "parts", 12, wiring, false, false, endSwitchSticks},
	{"a wire has come off", "wiring", 18, wiring, false, false, wireOff},
	{"wires are bridged or crossed", "wiring", 15, wiring, false, false, miswired},

	{"a thermostat was turned", "control", 40, control, false, false, statTurned},
	{"a second time control runs beside the unit", "outside the unit", 12, elsewhere, false, false, secondControl},
	{"a frost thermostat calls", "outside the unit", 12, elsewhere, false, false, frostCalls},
	{"the immersion heater was left on", "outside the unit", 15, elsewhere, false, false, immersionOn},

	{"air in the radiators", "beyond", 20, nil, true, false, airLock},
	{"a mixing valve lets no hot water through", "beyond", 10, nil, true, false, mixingValve},
	{"the boiler goes out now and then", "beyond", 15, nil, true, false, goesOut},
	{"the boiler has a timer of its own", "beyond", 8, nil, true, false, boilerTimer},
}

// asFound lets the integrator read off what is the case rather than write down what the household believes. Three in ten bring a
// photograph of the very setting.
func (h *house) asFound() bool { return h.chance(30) }

// day draws a whole day of the history that is not its first.
func (h *house) day() int { return h.between(1, h.days-1) }

// weekday returns the day of the week of a day of the history.
func (h *house) weekday(day int) int {
	return calendar.Weekday(calendar.DayOf(h.zone.Reading(h.from)) + day)
}

// date words a day of the history.
func (h *house) date(day int) string { return h.zone.At(h.at(day, 12*60)).Format("2006-01-02") }

func hhmm(minute int) string { return fmt.Sprintf("%02d:%02d", minute/60, minute%60) }

func (h *house) told(line string, a ...any) { h.acts = append(h.acts, fmt.Sprintf(line, a...)) }

// Expectations. What they did they tell; what they sensed is as it is; what they wish is otherwise.

func overrideEnds(h *house) (sameness, bool) {
	day := h.day()
	ps := h.is.tables[spec.CH].periods(h.weekday(day))
	if len(ps) < 2 || ps[1].On < ps[0].Off+150 {
		return nil, false
	}
	press := h.between(int(ps[0].Off)+20, int(ps[1].On)-60)
	off := int(ps[1].Off)
	if off > 22*60+45 {
		return nil, false
	}
	h.is.do(h.at(day, press), spec.Input{Kind: spec.Override, Channel: spec.CH})
	h.told("{when: %s about %s, do: override ch}", h.date(day), hhmm(press))
	l, err := h.lived()
	if err != nil {
		return nil, false
	}
	// From the morning they may still be warm, and the room may be as warm as its thermostat asks.
	if from := h.at(day, press); h.level(l.history, plant.Radiators, from) == 0 && h.any(l.history, plant.Radiators, from, from+45*calendar.Minute, 1) {
		h.see("{what: radiators, becomes: warm, when: %s between %s and %s}", h.date(day), hhmm(press), hhmm(press+45))
	}
	h.see("{what: ch relay, becomes: off, when: %s about %s}", h.date(day), hhmm(off))
	h.words = "warm until bedtime when I press the button"
	h.mean("{what: ch relay, is: on, when: %s %s-%s}", h.date(day), hhmm(off+5), hhmm(off+65))
	return nil, true
}

func cameOnAgain(h *house) (sameness, bool) {
	day := h.day()
	ps := h.is.tables[spec.CH].periods(h.weekday(day))
	if len(ps) < 2 || ps[1].On < ps[0].Off+120 {
		return nil, false
	}
	press := h.between(int(ps[0].On)+20, int(ps[0].Off)-20)
	on := int(ps[1].On)
	h.is.do(h.at(day, press), spec.Input{Kind: spec.Override, Channel: spec.CH})
	h.told("{when: %s about %s, do: override ch}", h.date(day), hhmm(press))
	h.see("{what: ch relay, becomes: on, when: %s about %s}", h.date(day), hhmm(on))
	h.words = "it stays off for the day when I press the button"
	h.mean("{what: ch relay, is: off, when: %s %s-%s}", h.date(day), hhmm(on+5), hhmm(on+125))
	return nil, true
}

func boostEnds(h *house) (sameness, bool) {
	day := h.day()
	ps := h.is.tables[spec.CH].periods(h.weekday(day))
	if len(ps) < 2 || ps[1].On < ps[0].Off+300 {
		return nil, false
	}
	at := h.between(int(ps[0].Off)+20, int(ps[1].On)-200)
	h.is.do(h.at(day, at), spec.Input{Kind: spec.Boost, Channel: spec.CH, Amount: 60})
	h.told("{when: %s about %s, do: boost ch 60}", h.date(day), hhmm(at))
	h.see("{what: ch relay, becomes: off, when: %s about %s}", h.date(day), hhmm(at+60))
	h.words = "a boost keeps us warm through the afternoon"
	h.mean("{what: ch relay, is: on, when: %s %s-%s}", h.date(day), hhmm(at+65), hhmm(at+125))
	return nil, true
}

func gravityBrings(h *house) (sameness, bool) {
	if h.is.plant.Plan != plant.GravityUnvalved {
		return nil, false
	}
	h.is.modes[spec.HW] = spec.Off
	day := h.day()
	p := h.is.tables[spec.CH].periods(h.weekday(day))[0]
	h.see("{what: hw relay, is: closed, when: %s %s-%s}", h.date(day), hhmm(int(p.On)+10), hhmm(int(p.Off)-10))
	h.thorough = true
	h.words = "no hot water while it is set to off"
	h.mean("{what: hw relay, is: off, when: every day}")
	return nil, true
}

func radiatorsLag(h *house) (sameness, bool) {
	day := h.day()
	on := int(h.is.tables[spec.CH].periods(h.weekday(day))[0].On)
	h.see("{what: radiators, is: cold, when: %s %s}", h.date(day), hhmm(on+2))
	h.see("{what: radiators, is: warm, when: %s about %s}", h.date(day), hhmm(on+45))
	h.words = "warm radiators when the programme begins"
	h.mean("{what: radiators, is: warm, when: %s %s}", h.date(day), hhmm(on))
	return nil, true
}

func warmEnough(h *house) (sameness, bool) {
	h.is.plant.Outdoor = plant.Temp(h.between(12, 15)) * plant.Celsius
	h.is.plant.Room.Setting = plant.Temp(h.between(16, 18)) * plant.Celsius
	h.is.warmth.Room = h.is.plant.Room.Setting
	day := h.day()
	ps := h.is.tables[spec.CH].periods(h.weekday(day))
	p := ps[len(ps)-1]
	from, to := h.at(day, int(p.Off)-120), h.at(day, int(p.Off)-30)
	l, err := h.lived()
	if err != nil || l.history.Level(replay.PointLane(plant.Radiators), from-3*calendar.Hour/2) != 0 || h.any(l.history, plant.Radiators, from-calendar.Hour, to, 1) {
		return nil, false
	}
	h.see("{what: radiators, is: cold, when: %s %s-%s}", h.date(day), hhmm(int(p.Off)-120), hhmm(int(p.Off)-30))
	h.thorough = true
	h.see("{what: room, is: warm, when: %s about %s}", h.date(day), hhmm(int(p.Off)-60))
	h.words = "warm radiators whenever the heating is on"
	h.mean("{what: radiators, is: warm, when: %s %s-%s}", h.date(day), hhmm(int(p.Off)-120), hhmm(int(p.Off)-30))
	// Who says that the thermostat, as the account has it, stands low says the same.
	return func(taken, _, account *lived) bool {
		return taken.setting(plant.RoomStatContact, roomSetting) == account.setting(plant.RoomStatContact, roomSetting)
	}, true
}

// lived lives through the house as it is so far.
func (h *house) lived() (*lived, error) {
	w, err := h.is.world(h.from, h.to)
	if err != nil {
		return nil, err
	}
	return live(w)
}

// any reports whether a point shows a level at some time.
func (h *house) any(l *replay.History, p plant.Point, from, to int64, level spec.Level) bool {
	for at := from; at <= to; at += 5 * calendar.Minute {
		if l.Level(replay.PointLane(p), at) == level {
			return true
		}
	}
	return false
}

func keepsHeat(h *house) (sameness, bool) {
	if !h.has(spec.HW) || h.is.plant.Plan == plant.GravityUnvalved {
		return nil, false
	}
	day := h.day()
	p := h.is.tables[spec.HW].periods(h.weekday(day))[0]
	h.see("{what: tap, is: hot, when: %s about %s}", h.date(day), hhmm(int(p.Off)+150))
	h.see("{what: hw relay, becomes: off, when: %s about %s}", h.date(day), hhmm(int(p.Off)))
	h.words = "no hot water outside its times"
	h.mean("{what: tap, is: cold, when: %s %s-%s}", h.date(day), hhmm(int(p.Off)+60), hhmm(int(p.Off)+180))
	return nil, true
}

// What stands at the back of the unit. The household has never looked.

func (h *house) fit(o spec.FitOption, name string, value uint8) {
	h.is.ics.Fitted, _ = h.is.ics.Fit(h.is.ics.Fitted, o, value)
	h.secret.unit[name] = true
}

func gravityByMistake(h *house) (sameness, bool) {
	if !h.has(spec.HW) || h.is.plant.Plan == plant.GravityUnvalved || h.is.ics.Fitted.Timing == spec.Shared {
		return nil, false
	}
	if h.chance(60) {
		h.noHotWater()
	}
	h.fit(spec.FitCoupling, "coupling", uint8(spec.Gravity))
	return sameFitted(spec.FitCoupling), true
}

// noHotWater lets the household have turned hot water off.
func (h *house) noHotWater() {
	h.is.modes[spec.HW], h.wish.modes[spec.HW], h.shown.modes[spec.HW] = spec.Off, spec.Off, spec.Off
}

func independentByMistake(h *house) (sameness, bool) {
	if h.is.plant.Plan != plant.GravityUnvalved {
		return nil, false
	}
	h.fit(spec.FitCoupling, "coupling", uint8(spec.Independent))
	return sameFitted(spec.FitCoupling), true
}

func sharedByMistake(h *house) (sameness, bool) {
	if !h.has(spec.HW) || h.is.ics.Fitted.Timing == spec.Shared {
		return nil, false
	}
	h.fit(spec.FitTiming, "timing", uint8(spec.Shared))
	last := h.channel()
	h.is.tables[1-last] = h.is.tables[last]
	h.secret.tables[1-last] = true
	return sameFitted(spec.FitTiming), true
}

func everyDayAlike(h *house) (sameness, bool) {
	if h.is.ics.Fitted.Cycle == spec.Cycle24h {
		return nil, false
	}
	h.fit(spec.FitCycle, "cycle", uint8(spec.Cycle24h))
	for c := range h.is.tables {
		h.is.tables[c].set(0, 6, h.is.tables[c].periods(0)...)
		h.secret.tables[c] = true
	}
	return sameFitted(spec.FitCycle), true
}

func oneChannel(h *house) (sameness, bool) {
	if !h.has(spec.HW) || h.is.plant.Plan == plant.GravityUnvalved {
		return nil, false
	}
	h.fit(spec.FitChannels, "channels", uint8(spec.OnlyCH))
	return sameFitted(spec.FitChannels), true
}

// Tables. What the household believes to have set is told, or the photograph shows what is there.

// table lets a channel's table be another.
func (h *house) mistable(c spec.Channel, change func(*week)) (sameness, bool) {
	before := h.is.tables[c]
	channels := []spec.Channel{c}
	if h.is.ics.Fitted.Effective().Timing == spec.Shared {
		channels = []spec.Channel{spec.HW, spec.CH}
	}
	change(&h.is.tables[c])
	for _, other := range channels {
		h.is.tables[other] = h.is.tables[c] // one table serves both where both are changed
		h.secret.tables[other] = true
	}
	if apart(&before, &h.is.tables[c]) < 60 {
		return nil, false
	}
	if h.asFound() {
		for _, c := range channels {
			h.secret.tables[c] = false
			h.shown.tables[c] = h.is.tables[c]
		}
	}
	return sameTables(channels...), true
}

// group draws days that share a table.
func (h *house) group() (first, last int) {
	switch h.is.ics.Fitted.Cycle {
	case spec.Cycle24h:
		return 0, 6
	case spec.Cycle52:
		if h.chance(60) {
			return 0, 4
		}
		return 5, 6
	default:
		d := h.IntN(7)
		return d, d
	}
}

// onePeriod changes one period of days that share a table, if it then still is one.
func (h *house) onePeriod(w *week, change func(*spec.Period)) {
	first, last := h.group()
	slot := h.IntN(len(w.periods(first)))
	p := w[first][slot]
	if change(&p); p.On > p.Off {
		return
	}
	for d := first; d <= last; d++ {
		w[d][slot] = p
	}
}

func halfDay(h *house) (sameness, bool) {
	const half = spec.MinutesPerDay / 2
	which := h.IntN(3)
	return h.mistable(h.channel(), func(w *week) {
		h.onePeriod(w, func(p *spec.Period) {
			if which != 0 {
				p.On = (p.On + half) % spec.MinutesPerDay
			}
			if which != 1 {
				p.Off = (p.Off + half) % spec.MinutesPerDay
			}
		})
	})
}

func otherChannel(h *house) (sameness, bool) {
	if !h.has(spec.HW) || h.is.ics.Fitted.Effective().Timing == spec.Shared {
		return nil, false
	}
	meant := h.channel()
	old := factory(&h.is.ics)
	h.is.tables[1-meant], h.is.tables[meant] = h.is.tables[meant], old
	h.secret.tables = [spec.NumChannels]bool{true, true}
	return sameTables(spec.HW, spec.CH), true
}

// factory returns the table with which a unit leaves the factory (TAB-18).
func factory(ics *spec.ICS) (w week) {
	workday := []spec.Period{{On: 7 * 60, Off: 9 * 60}, {On: 16 * 60, Off: 23 * 60}}
	free := []spec.Period{{On: 7 * 60, Off: 23 * 60}}
	if ics.Periods == 1 {
		workday = free
	}
	w.set(0, 6, workday...)
	if ics.Fitted.Cycle != spec.Cycle24h {
		w.set(5, 6, free...)
	}
	return w
}

func otherDays(h *house) (sameness, bool) {
	if h.is.ics.Fitted.Cycle != spec.Cycle52 {
		return nil, false
	}
	return h.mistable(h.channel(), func(w *week) {
		w.set(0, 4, w.periods(5)...)
	})
}

func equalTimes(h *house) (sameness, bool) {
	return h.mistable(h.channel(), func(w *week) {
		h.onePeriod(w, func(p *spec.Period) { p.On = p.Off })
	})
}

func notKept(h *house) (sameness, bool) {
	return h.mistable(h.channel(), func(w *week) { *w = factory(&h.is.ics) })
}

func wrongHour(h *house) (sameness, bool) {
	by := pick(h, -120, -60, 60, 120, 180)
	on := h.chance(60)
	return h.mistable(h.channel(), func(w *week) {
		h.onePeriod(w, func(p *spec.Period) {
			if on {
				p.On = uint16(max(0, int(p.On)+by))
			} else {
				p.Off = uint16(min(spec.MinutesPerDay, int(p.Off)+by))
			}
		})
	})
}

func wrongMode(h *house) (sameness, bool) {
	c := h.channel()
	h.is.modes[c] = pick(h, spec.Off, spec.Span, spec.Always)
	h.secret.modes[c] = true
	if h.asFound() {
		h.secret.modes[c] = false
		h.shown.modes[c] = h.is.modes[c]
	}
	return sameMode(c), true
}

// The clock.

func (h *house) clockBy(by int64) (sameness, bool) {
	h.is.clockError = by
	h.secret.clock = !h.chance(35)
	return sameClock, true
}

func wrongDay(h *house) (sameness, bool) {
	return h.clockBy(int64(pick(h, -3, -2, -1, -1, 1, 1, 2, 3)) * calendar.Day)
}

func twelveHours(h *house) (sameness, bool) {
	return h.clockBy(int64(pick(h, -12, 12)) * calendar.Hour)
}

func carelessly(h *house) (sameness, bool) {
	return h.clockBy(int64(pick(h, -1, 1)*h.between(8, 45)*5) * calendar.Minute)
}

// change is the local day, counted from 2000-01-01, on which summer time ended or began in that winter.
func (h *house) moveTo(spring bool) {
	day := calendar.Days(2026, 10, 25)
	if spring {
		day = calendar.Days(2027, 3, 28)
	}
	// The account is taken some days after it; where it reaches back beyond, it was well until then.
	h.setDays(day + h.between(4, 16))
}

func summerTimeMissed(h *house) (sameness, bool) {
	spring := h.chance(40)
	h.moveTo(spring)
	h.is.ics.SummerTime = false
	h.secret.unit["summer-time"] = true
	if !spring {
		h.is.clockError = calendar.Hour // it still keeps the summer's time
	}
	h.secret.clock = !h.chance(35)
	h.tellChange("clocks", 40, h.changeDay(spring))
	return sameClock, true
}

func (h *house) changeDay(spring bool) int {
	day := calendar.Days(2026, 10, 25)
	if spring {
		day = calendar.Days(2027, 3, 28)
	}
	return day - calendar.DayOf(h.zone.Reading(h.from))
}

// tellChange writes down that something changed on a day, counted from the history's first, if the household thinks of it.
func (h *house) tellChange(what string, percent, day int) {
	if day >= 0 && h.chance(percent) {
		h.changed = append(h.changed, fmt.Sprintf("{what: %s, when: %s}", what, h.date(day)))
	}
}

func summerTimeTwice(h *house) (sameness, bool) {
	spring := h.chance(40)
	h.moveTo(spring)
	h.is.clockError = -calendar.Hour
	if spring {
		h.is.clockError = calendar.Hour
	}
	// It was put right by hand on the day after it had put itself right: where the history has that day, it begins with it.
	if day := h.changeDay(spring); day >= 0 {
		h.days -= day + 1
		if h.days < 3 {
			return nil, false
		}
		h.from = h.at(day+1, 0)
		h.is.warmth.At = h.from
	}
	h.secret.clock = !h.chance(35)
	return sameClock, true
}

func drifts(h *house) (sameness, bool) {
	ppm := pick(h, -1, 1) * h.between(150, 600)
	h.is.drift = int32(ppm)
	const week = 7 * calendar.Day
	h.is.clockError = int64(ppm) * int64(h.between(6, 26)) * week / 1_000_000
	h.secret.clock = !h.chance(35)
	return sameClock, true
}

func clockLost(h *house) (sameness, bool) {
	h.is.ics.Reserve = uint32(pick(h, 0, 30, 60))
	h.secret.unit["reserve"] = true
	day := h.day()
	at := h.at(day, h.between(8, 20)*60)
	length := int64(h.is.ics.Reserve+uint32(h.between(10, 120))) * calendar.Minute
	h.is.do(at, spec.Input{Kind: spec.PowerOff})
	h.is.do(at+length, spec.Input{Kind: spec.PowerOn})
	switch h.IntN(3) {
	case 0: // they know of it
		local := h.zone.Reading(at)
		h.told("{when: %s about %s, do: power cut, for: %s, sure: unsure}", h.date(day), hhmm(int(calendar.SecondOfDay(local)/60)), hhmm(int(length/60/15*15+15)))
	case 1:
		h.changed = append(h.changed, fmt.Sprintf("{what: power cut, when: %s}", h.date(day)))
	}
	h.secret.clock = !h.chance(50)
	return sameClock, true
}

// What was done and forgotten, or done by somebody who does not say.

func pressedOverride(h *house) (sameness, bool) {
	c := h.channel()
	day := h.day()
	at := h.at(day, h.between(7*4, 21*4)*15+7)
	h.is.do(at, spec.Input{Kind: spec.Override, Channel: c})
	l, err := h.lived()
	if err != nil || !l.history.State(at).Facts.Channels[c].Override {
		return nil, false
	}
	end := at
	for end < h.to && l.history.State(end).Facts.Channels[c].Override {
		end += 5 * calendar.Minute
	}
	return sameOverride(c, at, end), true
}

func boostCancelled(h *house) (sameness, bool) {
	c := h.channel()
	day := h.day()
	minute := h.between(9*4, 19*4) * 15
	at := h.at(day, minute)
	boost := spec.Input{Kind: spec.Boost, Channel: c, Amount: uint32(pick(h, 120, 180))}
	h.is.do(at, boost)
	h.wish.do(at, boost)
	h.told("{when: %s about %s, do: boost %s %d}", h.date(day), hhmm(minute), channelWord(c), boost.Amount)
	after := int64(h.between(5, 40)) * calendar.Minute
	h.is.do(at+after, spec.Input{Kind: spec.Boost, Channel: c})
	return noBoost(c, at+after, at+int64(boost.Amount)*calendar.Minute-1), true
}

func channelWord(c spec.Channel) string {
	if c == spec.HW {
		return "hw"
	}
	return "ch"
}

func changedMode(h *house) (sameness, bool) {
	c := h.channel()
	h.is.do(h.at(h.day(), h.between(7*12, 22*12)*5), spec.Input{Kind: spec.SetMode, Channel: c, Mode: pick(h, spec.Off, spec.Span, spec.Always, spec.Always)})
	h.secret.modes[c] = true
	return sameMode(c), true
}

func stillHoliday(h *house) (sameness, bool) {
	days := h.between(3, 14)
	if h.chance(50) { // it was set before the account begins
		days = h.between(h.days/2+1, h.days+7)
		h.is.holiday = emulator.HolidayFacts{On: true, EndDate: calendar.DayOf(h.zone.Reading(h.from)) + days, Days: days + 2}
		return sameHoliday(h.from, min(h.to, h.at(days, 0))), true
	}
	day := h.day()
	at := h.at(day, h.between(7*12, 22*12)*5)
	h.is.do(at, spec.Input{Kind: spec.Holiday, Amount: uint32(days)})
	return sameHoliday(at, min(h.to, h.at(day+days, 0))), true
}

func resetIt(h *house) (sameness, bool) {
	h.is.do(h.at(h.day(), h.between(7*12, 22*12)*5), spec.Input{Kind: spec.Reset})
	for c := range h.is.tables {
		h.secret.tables[c], h.secret.modes[c] = true, true
	}
	if h.has(spec.HW) {
		return sameTables(spec.HW, spec.CH), true
	}
	return sameTables(spec.CH), true
}

func restricts(h *house) (sameness, bool) {
	terms := spec.LockTerms{Days: 365, NoticeDays: 28, Notice: [2]uint8{spec.NoAllowance, spec.NoAllowance}}
	terms.Restricted = [2]uint8{spec.NoAllowance, uint8(pick(h, 10, 15, 20, 30))}
	const all = 365 * calendar.Day
	h.is.lock = emulator.LockFacts{Stage: spec.Counting, Terms: terms, Counted: uint64(all - int64(h.between(0, h.days-2))*calendar.Day - int64(h.IntN(calendar.Day)))}
	if h.is.lock.Counted >= (365-28)*calendar.Day {
		h.is.lock.Stage = spec.Notice
		h.is.lock.InStage = h.is.lock.Counted - (365-28)*calendar.Day
	}
	if h.chance(50) {
		h.see("{what: alert, is: restricted, when: %s}", h.now(0))
	}
	return sameLock, true
}

// Parts and wires.

// break lets a fault of a kind befall the plant: all along, or from some day on.
func (h *house) fault(what string, fits func(plant.Fault) bool) (sameness, bool) {
	var some []plant.Fault
	for _, f := range h.is.plant.PossibleFaults() {
		if fits(f) {
			some = append(some, f)
		}
	}
	if len(some) == 0 {
		return nil, false
	}
	f := pick(h, some...)
	from, day := h.from, 0
	if h.chance(60) {
		day = h.day()
		from = h.at(day, h.between(6, 22)*60+h.between(0, 59))
	}
	h.is.spells = append(h.is.spells, spell{from, h.to + 1, func(in *plant.Installation) { *in = in.With(f) }})
	if from > h.from && what != "" {
		h.tellChange(what, 35, day)
	}
	return sameFault(f), true
}

func isValve(l plant.Load) bool {
	switch l {
	case plant.HWValveLoad, plant.CHValveLoad, plant.Zone2ValveLoad, plant.MidValveLoad, plant.DiverterLoad:
		return true
	default:
		return false
	}
}

func valveFails(h *house) (sameness, bool) {
	return h.fault("", func(f plant.Fault) bool {
		return f.Kind == plant.ValveStuck || f.Kind == plant.Dead && isValve(f.Load)
	})
}

func pumpFails(h *house) (sameness, bool) {
	return h.fault("", func(f plant.Fault) bool { return f == plant.Dies(plant.PumpLoad) })
}

func boilerFails(h *house) (sameness, bool) {
	return h.fault("boiler", func(f plant.Fault) bool {
		return f.Kind == plant.IgnitionFails || f == plant.Dies(plant.BoilerLoad) && h.chance(40)
	})
}

func isStat(c plant.Contact) bool {
	switch c {
	case plant.RoomStatContact, plant.CylinderStatCallsContact, plant.CylinderStatSatisfiedContact:
		return true
	default:
		return false
	}
}

func statSticks(h *house) (sameness, bool) {
	return h.fault("thermostat", func(f plant.Fault) bool {
		return (f.Kind == plant.StuckOpen || f.Kind == plant.StuckClosed) && isStat(f.Contact)
	})
}

func statMisreads(h *house) (sameness, bool) {
	return h.fault("thermostat", func(f plant.Fault) bool { return f.Kind == plant.StatReads })
}

func relaySticks(h *house) (sameness, bool) {
	return h.fault("programmer", func(f plant.Fault) bool {
		return (f.Kind == plant.StuckOpen || f.Kind == plant.StuckClosed) && f.Contact <= plant.CHRelayOff
	})
}

func endSwitchSticks(h *house) (sameness, bool) {
	return h.fault("valve", func(f plant.Fault) bool {
		return (f.Kind == plant.StuckOpen || f.Kind == plant.StuckClosed) && f.Contact >= plant.HWValveEndOpenContact &&
			f.Contact <= plant.DiverterEndHeatingContact
	})
}

func wireOff(h *house) (sameness, bool) {
	return h.fault("wiring", func(f plant.Fault) bool { return f.Kind == plant.ConductorOpen })
}

func miswired(h *house) (sameness, bool) {
	return h.fault("wiring", func(f plant.Fault) bool { return f.Kind == plant.Bridged || f.Kind == plant.Crossed })
}

// Thermostats, and what runs beside the unit.

func roomSetting(in *plant.Installation) plant.Temp { return in.Room.Setting }

func statTurned(h *house) (sameness, bool) {
	down := plant.Temp(h.between(4, 10)) * plant.Celsius
	h.is.add(replay.Act{
		At: h.at(h.day(), h.between(8, 22)*60), Deed: replay.AtThermostat, Contact: plant.RoomStatContact,
		Setting: h.is.plant.Room.Setting - down, Claim: -1,
	})
	return sameStat(plant.RoomStatContact, roomSetting), true
}

func secondControl(h *house) (sameness, bool) {
	hour := uint32(h.between(9, 14))
	if h.chance(40) {
		hour = uint32(h.between(2, 4))
	}
	s := plant.SecondControl{
		Fitted: true, OnHW: h.has(spec.HW) && h.chance(30),
		From: hour * calendar.Hour, To: (hour + uint32(h.between(2, 3))) * calendar.Hour,
	}
	h.is.plant.SecondControl = s
	return sameSecond(s), true
}

func frostCalls(h *house) (sameness, bool) {
	h.is.plant.Frost = plant.Thermostat{Fitted: true, Setting: h.is.plant.Outdoor + plant.Temp(h.between(1, 5))*plant.Celsius, Band: plant.Celsius}
	return sameFrost, true
}

func immersionOn(h *house) (sameness, bool) {
	if !h.has(spec.HW) {
		return nil, false
	}
	// It is noticed where the boiler is not to heat water.
	h.noHotWater()
	if h.is.ics.Fitted.Coupling == spec.Gravity {
		return nil, false
	}
	h.is.plant.Immersion = plant.Immersion{Wired: plant.OwnCircuit, On: true, Setting: 60 * plant.Celsius}
	h.secret.unit["immersion"] = true
	return sameImmersion, true
}

// What no world can say.

func airLock(h *house) (sameness, bool) {
	from := h.at(h.day(), 0)
	h.veil = func(p plant.Point, at int64, level spec.Level) spec.Level {
		if p == plant.Radiators && at >= from {
			return 0
		}
		return level
	}
	return nil, true
}

func mixingValve(h *house) (sameness, bool) {
	if !h.has(spec.HW) {
		return nil, false
	}
	from := h.at(h.day(), 0)
	h.veil = func(p plant.Point, at int64, level spec.Level) spec.Level {
		if p == plant.Tap && at >= from {
			return 0
		}
		return level
	}
	return nil, true
}

// out lets the boiler be out for a time.
func (h *house) out(from, to int64) {
	h.is.spells = append(h.is.spells, spell{from, to, func(in *plant.Installation) { *in = in.With(plant.Dies(plant.BoilerLoad)) }})
}

func goesOut(h *house) (sameness, bool) {
	for day := range h.days {
		if h.chance(50) {
			from := h.at(day, h.between(4, 18)*60)
			h.out(from, min(h.to, from+int64(h.between(3, 8))*calendar.Hour))
		}
	}
	return nil, len(h.is.spells) > 0
}

func boilerTimer(h *house) (sameness, bool) {
	until := h.between(8, 10) * 60
	for day := range h.days {
		h.out(h.at(day, 0), h.at(day, until))
	}
	return nil, true
}
