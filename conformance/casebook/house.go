package casebook

import (
	"math/rand/v2"

	"example.org/hearthbench/conformance/localtime"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// house is a household with its heating, while a case is made up.
type house struct {
	*rand.Rand
	zone     localtime.Zone
	from, to int64
	days     int // whole days before the day on which the account is taken

	is     state    // what is the case
	wish   state    // what the household means to have, and takes its heating to be
	shown  state    // what an integrator finds settings to be who reads them off; the parts that nobody read are not told
	alone  [2]state // of two ails: what would be the case with the first alone, and with the second alone
	secret secrets

	acts    []string // lines of the file
	changed []string
	sensed  []string
	means   []string
	words   string
	// thorough: the integrator looked at what makes the difference here: plan, coupling, thermostat and weather.
	thorough bool

	// veil makes something else of what a history has: what no world can say.
	veil func(p plant.Point, at int64, level spec.Level) spec.Level
}

// secrets are what nobody reads off: the account has what the household believes.
type secrets struct {
	modes, tables [spec.NumChannels]bool
	unit          map[string]bool // options that the account has wrong, or not at all
	clock         bool            // nobody looked at the clock
}

// chance is true with a probability in hundredths.
func (h *house) chance(percent int) bool { return h.IntN(100) < percent }

// between returns a whole number from a to b, both included.
func (h *house) between(a, b int) int { return a + h.IntN(b-a+1) }

// pick returns one of some.
func pick[T any](h *house, all ...T) T { return all[h.IntN(len(all))] }

// newHouse draws a house with nothing the matter.
func newHouse(r *rand.Rand) *house {
	h := &house{Rand: r, zone: localtime.Zone{SummerTime: true}}
	h.secret.unit = map[string]bool{}
	h.days = h.between(6, 13)
	// From September to April, between nine in the morning and eight in the evening.
	asked := calendar.Days(2026, 9, 20) + h.IntN(210)
	h.setDays(asked)
	s := &h.is
	s.ics = h.unit()
	s.plant = h.installation()
	s.warmth = plant.UsualStart(h.from)
	s.warmth.Cylinder += plant.Temp(h.between(0, 8)) * plant.Celsius
	s.warmth.Room += plant.Temp(h.between(-1, 1)) * plant.Celsius
	if s.plant.Plan == plant.GravityUnvalved {
		s.ics.Fitted.Coupling = spec.Gravity
	}
	if s.plant.Plan == plant.Combination {
		s.ics.Fitted.Channels = spec.OnlyCH
	}
	for c := range s.modes {
		s.modes[c] = spec.Table
		s.tables[c] = h.table(spec.Channel(c))
	}
	if s.ics.Fitted.Timing == spec.Shared {
		s.tables[spec.HW] = s.tables[spec.CH]
	}
	h.agree()
	return h
}

// setDays sets the day, counted from 2000-01-01, on which the account is taken.
func (h *house) setDays(asked int) {
	at := func(day, minute int) int64 {
		return h.zone.Instants(int64(day)*calendar.Day + int64(minute)*calendar.Minute)[0]
	}
	h.to = at(asked, h.between(9*12, 20*12)*5)
	h.from = at(asked-h.days, 0)
	h.is.warmth.At = h.from
}

// agree lets the household's beliefs be what is the case.
func (h *house) agree() {
	h.wish, h.shown = h.is.clone(), h.is.clone()
}

// unit draws a unit.
func (h *house) unit() spec.ICS {
	ics := spec.FullICS()
	ics.Periods = uint8(pick(h, 2, 3, 3, 4))
	ics.Reserve = pick[uint32](h, 480, 480, 60, 1440)
	switch n := h.IntN(10); {
	case n < 3:
		ics.Fitted.Cycle = spec.Cycle7Day
	case n < 8:
		ics.Fitted.Cycle = spec.Cycle52
	default:
		ics.Fitted.Cycle = spec.Cycle24h
	}
	ics.Fitted.Timing = spec.Separate
	if h.chance(15) {
		ics.Fitted.Timing = spec.Shared
	}
	ics.Fitted.Coupling = spec.Independent
	return ics
}

// installation draws what is around it.
func (h *house) installation() plant.Installation {
	in := plant.Usual(h.plan())
	in.Outdoor = plant.Temp(h.between(1, 11)) * plant.Celsius
	in.Room.Setting = plant.Temp(h.between(19, 22)) * plant.Celsius
	// No two houses are alike: by up to a quarter, most by less.
	p := plant.DefaultPractice()
	vary := func(v uint32) uint32 { return v * uint32(100+(h.between(-25, 25)+h.between(-25, 25))/2) / 100 }
	p.RadiatorsTau, p.RoomTau = vary(p.RadiatorsTau), vary(p.RoomTau)
	p.CylinderTau, p.GravityTau, p.CylinderLossTau = vary(p.CylinderTau), vary(p.GravityTau), vary(p.CylinderLossTau)
	in.Practice = p
	for i := range 2 {
		in.Draws[i].At += uint32(h.between(-6, 6) * 5 * calendar.Minute)
		in.Draws[i].Percent = uint8(h.between(25, 45))
	}
	return in
}

func (h *house) plan() plant.Plan {
	switch n := h.IntN(100); {
	case n < 34:
		return plant.TwoValves
	case n < 60:
		return plant.MidPosition
	case n < 76:
		return plant.Combination
	case n < 88:
		return plant.GravityUnvalved
	case n < 94:
		return plant.GravityValved
	default:
		return plant.Diverter
	}
}

// table draws what a household wants of a channel.
func (h *house) table(c spec.Channel) (w week) {
	quarter := func(from, to int) uint16 { return uint16(h.between(from*4, to*4) * 15) }
	var workdays, weekend []spec.Period
	if c == spec.HW {
		workdays = []spec.Period{{On: quarter(5, 7), Off: quarter(8, 8)}, {On: quarter(17, 18), Off: quarter(19, 20)}}
		weekend = []spec.Period{{On: quarter(7, 8), Off: quarter(9, 10)}, workdays[1]}
	} else {
		workdays = []spec.Period{{On: quarter(6, 7), Off: quarter(8, 9)}, {On: quarter(16, 17), Off: quarter(21, 23)}}
		weekend = []spec.Period{{On: quarter(7, 9), Off: quarter(21, 23)}}
	}
	w.set(0, 4, workdays...)
	w.set(5, 6, weekend...)
	if h.is.ics.Fitted.Cycle == spec.Cycle24h || h.chance(15) {
		w.set(5, 6, workdays...)
	}
	return w
}

// has reports whether the unit has a relay for a channel that does something here.
func (h *house) has(c spec.Channel) bool {
	return h.is.ics.Fitted.Effective().Channels.Has(c) && (c == spec.CH || h.is.plant.Plan.HasCylinder())
}

// channel draws one of the channels that do something, heating more often: people feel it sooner.
func (h *house) channel() spec.Channel {
	if h.has(spec.HW) && h.chance(30) {
		return spec.HW
	}
	return spec.CH
}
