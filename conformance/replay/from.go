package replay

import (
	"fmt"
	"slices"
	"strconv"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/localtime"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// FromComplaint returns the world in which everything is as the complaint says, and where it says nothing, usual: see
// [complaint.Complaint.ICS] and [complaint.Complaint.Plant] for what that is.
//
// The settings as found are taken to have been so from the beginning, but for those that an act in between brought about; of several
// claims about one setting the earliest is taken, and the others are there to be compared. How far the clock was out when it was read is
// taken to have been so from the beginning, unless something in between could have moved it. An act about some time is done in the middle
// of its window.
func FromComplaint(c *complaint.Complaint) (World, error) {
	w := World{From: c.From, To: c.Until, Zone: c.Zone.Minutes, SummerTime: c.Zone.SummerTime, Warmth: usualWarmth}
	var err error
	if w.Acts, err = acts(c); err != nil {
		return World{}, err
	}
	all := c.Arrangements()
	for i := range all {
		a := &all[i]
		p := Phase{From: a.From, ICS: a.ICS, Plant: a.Plant}
		if a.Renewed {
			until := c.Until
			if i+1 < len(all) {
				until = all[i+1].From
			}
			b := beginning{c: c, w: &w, a: a, zone: localtime.Of(&a.ICS), until: until}
			if p.Start, err = b.start(); err != nil {
				return World{}, err
			}
		}
		w.Phases = append(w.Phases, p)
	}
	return w, nil
}

// usualWarmth is how warm things are where nothing is known: a house that is lived in.
var usualWarmth = plant.Start{
	Room: 18 * plant.Celsius, Room2: 18 * plant.Celsius, Cylinder: 50 * plant.Celsius, Radiators: 20 * plant.Celsius, Radiators2: 20 * plant.Celsius,
}

// acts returns what was done, in order of time.
func acts(c *complaint.Complaint) ([]Act, error) {
	var all []Act
	for i := range c.Acts {
		a := &c.Acts[i]
		for _, w := range a.When.Windows {
			one, err := actsOf(c, a, w)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", a.Text, err)
			}
			for j := range one {
				one[j].Claim = i
			}
			all = append(all, one...)
		}
	}
	for i := range c.Changed {
		all = append(all, lostClock(c, &c.Changed[i])...)
	}
	slices.SortStableFunc(all, func(a, b Act) int { return int(min(1, max(-1, a.At-b.At))) })
	return all, nil
}

// actsOf returns what an act is when it is done in a window.
func actsOf(c *complaint.Complaint, a *complaint.Act, w complaint.Window) ([]Act, error) {
	at := w.Middle()
	switch a.Deed {
	case complaint.DoCut:
		if w.Throughout {
			at = w.From
		}
		return []Act{{At: at, Input: spec.Input{Kind: spec.PowerOff}}, {At: at + a.Seconds, Input: spec.Input{Kind: spec.PowerOn}}}, nil
	case complaint.DoFitting:
		one, err := fittingAct(&a.Fitting)
		one.At = at
		return []Act{one}, err
	}
	all := make([]Act, len(a.Inputs))
	for i, in := range a.Inputs {
		if a.Today {
			year, month, day := calendar.Date(calendar.DayOf(c.LocalTime().Reading(at)))
			in.Date = spec.Date{Year: uint16(year), Month: uint8(month), Day: uint8(day)}
		}
		all[i] = Act{At: at, Input: in}
	}
	return all, nil
}

// fittingAct returns what it is to work something around the unit.
func fittingAct(f *complaint.Fitting) (Act, error) {
	switch f.Name {
	case "isolator":
		return Act{Deed: AtIsolator, On: f.Value == "on"}, nil
	case "immersion":
		return Act{Deed: AtImmersion, On: f.Value == "on"}, nil
	case "boiler":
		return Act{Deed: AtBoiler}, nil
	case "draw":
		percent, err := strconv.ParseUint(f.Value, 10, 8)
		const bath = 600 // s
		return Act{Deed: AtTap, Draw: plant.Draw{Seconds: bath, Percent: uint8(percent)}}, err
	}
	contact, known := stats[f.Name]
	setting, err := complaint.Degrees(f.Value)
	if !known {
		err = fmt.Errorf("nothing around the unit is called %s", f.Name)
	}
	return Act{Deed: AtThermostat, Contact: contact, Setting: setting}, err
}

var stats = map[string]plant.Contact{
	"room-thermostat": plant.RoomStatContact, "room-2-thermostat": plant.RoomStat2Contact,
	"cylinder-thermostat": plant.CylinderStatCallsContact, "frost-thermostat": plant.FrostStatContact,
}

// lostClock returns the power cut in which a clock that was found unset was lost, if there was one and nobody says how long it was: then
// it was longer than the reserve.
func lostClock(c *complaint.Complaint, t *complaint.Turn) []Act {
	if t.Kind != complaint.PowerCut || !slices.ContainsFunc(c.Settings, unsetClaim) {
		return nil
	}
	ics := c.ICS()
	at := t.When.Windows[0].Middle()
	back := min(at+int64(ics.Reserve+1)*calendar.Minute, c.Asked-1)
	return []Act{
		{At: at, Input: spec.Input{Kind: spec.PowerOff}, Claim: -1},
		{At: back, Input: spec.Input{Kind: spec.PowerOn}, Claim: -1},
	}
}

func unsetClaim(s complaint.Claim) bool { return s.About == complaint.AboutClock && s.Reading.Unset }

// beginning works out how a unit begins a phase.
type beginning struct {
	c     *complaint.Complaint
	w     *World
	a     *complaint.Arrangement
	zone  localtime.Zone // the unit's
	until int64          // the phase's end
}

func (b *beginning) start() (*Start, error) {
	u, err := emulator.New(b.a.ICS)
	if err != nil {
		return nil, err
	}
	s := &Start{Facts: u.Facts()}
	claims := slices.Clone(b.a.Settings)
	slices.SortStableFunc(claims, func(x, y complaint.Claim) int {
		return int(min(1, max(-1, x.When.Windows[0].Middle()-y.When.Windows[0].Middle())))
	})
	// From the latest to the earliest, so that the earliest remains.
	for i := len(claims) - 1; i >= 0; i-- {
		b.take(&claims[i], &s.Facts)
	}
	b.clock(s, claims)
	b.lock(s, claims)
	return s, nil
}

// take makes the facts have a mode, a table or a holiday as it was found.
func (b *beginning) take(c *complaint.Claim, f *emulator.Facts) {
	switch c.About {
	case complaint.AboutMode:
		f.Channels[c.Channel].Mode = c.Mode
	case complaint.AboutTable:
		for ch := range f.Channels {
			if c.Table != spec.BothTables && b.a.ICS.Fitted.Effective().Timing == spec.Separate && int(c.Table) != ch {
				continue
			}
			for day := range f.Channels[ch].Table {
				if c.Covers(day) {
					f.Channels[ch].Table[day] = [spec.MaxPeriods]spec.Period{}
					copy(f.Channels[ch].Table[day][:b.a.ICS.Periods], c.Periods)
				}
			}
		}
	case complaint.AboutHoliday:
		at := c.When.Windows[0].Middle()
		if c.Amount > 0 && !b.done(at, func(in *spec.Input) bool { return in.Kind == spec.Holiday }) {
			end := calendar.DayOf(b.zone.Reading(at)) + c.Amount
			f.Holiday = emulator.HolidayFacts{On: true, EndDate: end, Days: min(c.Amount, spec.MaxHolidayDays)}
		}
	}
}

// done reports whether an act before an instant of the phase is one of a kind.
func (b *beginning) done(before int64, is func(*spec.Input) bool) bool {
	for i := range b.w.Acts {
		if a := &b.w.Acts[i]; a.Deed == AtUnit && a.At >= b.a.From && a.At < before && is(&a.Input) {
			return true
		}
	}
	return false
}

// clock finds out from the earliest reading that was noted how far the clock was out.
func (b *beginning) clock(s *Start, claims []complaint.Claim) {
	for i := range claims {
		c := &claims[i]
		at := c.When.Windows[0].Middle()
		if c.About != complaint.AboutClock || c.Reading.Blank || b.done(at, b.moves) {
			continue
		}
		if c.Reading.Unset {
			s.ClockUnset = true
			return
		}
		if at > b.until {
			return
		}
		s.ClockError = b.error(&c.Reading, at)
		return
	}
}

// moves reports whether an input can move a clock or lose it.
func (b *beginning) moves(in *spec.Input) bool {
	switch in.Kind {
	case spec.SetClock, spec.PowerOff:
		return true
	case spec.Reset:
		return b.a.ICS.ResetUnsetsClock
	default:
		return false
	}
}

// sameMinute is by how much a clock may seem out and still be right: what is read off one minute is noted the next.
const sameMinute = 1 * calendar.Minute

// error returns by how much what the unit takes UTC to be is ahead of an instant, from what its clock reads then. Where the day or the
// date was not noted, they are those that bring it nearest.
func (b *beginning) error(r *complaint.Reading, at int64) int64 {
	// Both are noted to the minute.
	at -= at % calendar.Minute
	local := b.zone.Reading(at)
	best := calendar.Never
	for days := -4; days <= 4; days++ {
		day := calendar.DayOf(local) + days
		switch {
		case r.HasDate:
			day = calendar.Days(int(r.Date.Year), int(r.Date.Month), int(r.Date.Day))
		case r.HasDay && calendar.Weekday(day) != int(r.Day):
			continue
		}
		second := calendar.SecondOfDay(local) / calendar.Minute * calendar.Minute
		if r.HasMinute {
			second = int64(r.Minute) * calendar.Minute
		}
		for _, utc := range b.zone.Instants(int64(day)*calendar.Day + second) {
			if ahead := utc - at; abs(ahead) < abs(best) {
				best = ahead
			}
		}
	}
	if best == calendar.Never || abs(best) <= sameMinute {
		return 0
	}
	return best
}

// Terms of a lock whose stage was seen and whose days nobody knows: a year, with notice for a month.
const (
	lockDays   = 365
	noticeDays = 28
)

// lock finds out in which stage the lock begins, and how much it has counted.
func (b *beginning) lock(s *Start, claims []complaint.Claim) {
	var seen *complaint.Claim
	for i := range claims {
		c := &claims[i]
		if c.About != complaint.AboutLock && c.About != complaint.AboutAlert || c.Stage == spec.Dormant || !b.a.ICS.Lock {
			continue
		}
		// What says more goes first: a lock with its terms rather than an alert.
		if seen == nil || seen.About == complaint.AboutAlert && c.About == complaint.AboutLock {
			seen = c
		}
	}
	if seen == nil {
		return
	}
	terms := seen.Terms
	if seen.About == complaint.AboutAlert {
		none := [spec.NumChannels]uint8{spec.NoAllowance, spec.NoAllowance}
		terms = spec.LockTerms{Notice: none, Restricted: none}
	}
	terms.Days, terms.NoticeDays = lockDays, noticeDays
	const (
		notice     = (lockDays - noticeDays) * calendar.Day
		restricted = lockDays * calendar.Day
	)
	began := b.a.From
	if seen.SinceKnown {
		began, _ = b.zone.First(int64(calendar.Days(int(seen.Since.Year), int(seen.Since.Month), int(seen.Since.Day))) * calendar.Day)
	}
	into := int64(0) // counted when the stage begins
	switch seen.Stage {
	case spec.Notice:
		into = notice
	case spec.Restricted:
		into = restricted
	}
	counted := max(0, into+b.a.From-began)
	l := emulator.LockFacts{Terms: terms, Counted: uint64(counted)}
	switch {
	case counted >= restricted:
		l.Stage, l.InStage = spec.Restricted, uint64(counted-restricted)
	case counted >= notice:
		l.Stage, l.InStage = spec.Notice, uint64(counted-notice)
	default:
		l.Stage, l.InStage = spec.Counting, uint64(counted)
	}
	s.Facts.Lock = l
}
