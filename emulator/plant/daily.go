package plant

import "math/bits"

const day = 86400

// daily are the seconds of the UTC day at which something happens every day.
type daily struct {
	at [8 + MaxDraws]uint32
	n  uint8
}

func (d *daily) add(at ...uint32) {
	for _, a := range at {
		d.at[d.n] = a
		d.n++
	}
}

// everyDay returns what the installation brings every day.
func (in *Installation) everyDay() (d daily) {
	for _, t := range []*Thermostat{&in.Room, &in.Room2, &in.Cylinder} {
		if t.Fitted && t.From != t.To {
			d.add(t.From, t.To)
		}
	}
	if s := &in.SecondControl; s.Fitted && s.From != s.To {
		d.add(s.From, s.To)
	}
	for _, draw := range in.Draws {
		if draw != (Draw{At: draw.At}) {
			d.add(draw.At)
		}
	}
	return d
}

// next returns the first second after now at which something of the day happens, or never.
func (d *daily) next(now int64) int64 {
	next := int64(never)
	second := now % day
	for _, at := range d.at[:d.n] {
		wait := int64(at) - second
		if wait <= 0 {
			wait += day
		}
		next = min(next, now+wait)
	}
	return next
}

// within reports whether the second of the day lies from from to to, over midnight if need be.
func within(now int64, from, to uint32) bool {
	second := uint32(now % day)
	if from <= to {
		return from <= second && second < to
	}
	return second >= from || second < to
}

// at returns the thermostat's setting at a second.
func (t *Thermostat) at(now int64) Temp {
	if t.From == t.To || within(now, t.From, t.To) {
		return t.Setting
	}
	return t.Setback
}

// programmable reports whether a thermostat changes its setting with the time of day.
func (in *Installation) programmable() bool {
	return in.Room.From != in.Room.To || in.Room2.From != in.Room2.To || in.Cylinder.From != in.Cylinder.To
}

// standing returns the contacts that close by themselves at a second, but for the thermostats' that follow a body.
func (in *Installation) standing(now int64) Contacts {
	cold := in.Outdoor
	for _, f := range in.Faults {
		if f.Kind == StatReads && f.Contact == FrostStatContact {
			cold += f.By
		}
	}
	frost := in.Frost.Fitted && cold <= in.Frost.Setting
	return contactIf(FrostStatContact, frost) | contactIf(FrostStatContact2, frost) | contactIf(ImmersionSwitch, in.Immersion.On) |
		contactIf(SecondControlContact, in.SecondControl.Fitted && within(now, in.SecondControl.From, in.SecondControl.To))
}

// passDaily does what the day brings in this second.
func (p *Plant) passDaily(s *step) {
	p.due[dailyTimer] = p.daily.next(p.now)
	second := uint32(p.now % day)
	if p.in.programmable() {
		s.timed |= p.fitStats()
		if s.timed != 0 {
			s.by(EventTimer, Point(bits.TrailingZeros32(s.timed)))
		}
	}
	if was := p.base.Has(SecondControlContact); was != p.in.standing(p.now).Has(SecondControlContact) {
		p.base ^= 1 << SecondControlContact
		s.timed |= 1 << SecondTime
		s.by(EventTimer, SecondTime)
	}
	for _, d := range p.in.Draws {
		if d != (Draw{At: d.At}) && d.At == second {
			p.draw(d, s)
		}
	}
}

// practice returns the installation's practice, the default in place of the zero value.
func (in *Installation) practice() Practice {
	if in.Practice == (Practice{}) {
		return DefaultPractice()
	}
	return in.Practice
}
