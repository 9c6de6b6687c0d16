package replay

import (
	"errors"
	"fmt"
	"slices"

	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// Buffers hold what a run needs, so that the next can use it again. The zero value is ready; nil stands for new ones. One run at a time.
type Buffers struct {
	history History
	ics     spec.ICS // of the unit kept
	kept    emulator.Unit
	unit    []spec.Change
	plant   []plant.Change
}

// Run lets a world happen from its From to its To. The same world gives the same history, always. It fails if the world cannot be: an ICS
// or an installation that is not valid, phases or acts out of order, no time at all.
//
// In one second the plant's own time comes first, then what the unit's clock brings, then a new phase, then the acts in their order; what
// the relays do reaches the plant at once.
func Run(w *World, b *Buffers) (*History, error) {
	if err := w.check(); err != nil {
		return nil, err
	}
	if b == nil {
		b = new(Buffers)
	}
	h := &b.history
	h.reset(w)
	r := runner{Buffers: b, h: h, w: w, house: true, isolator: true}
	if err := r.begin(); err != nil {
		return nil, err
	}
	phase, act := 1, 0
	for act < len(w.Acts) && w.Acts[act].At < w.From {
		act++
	}
	for {
		phaseAt, actAt := calendar.Never, calendar.Never
		if phase < len(w.Phases) {
			phaseAt = w.Phases[phase].From
		}
		if act < len(w.Acts) {
			actAt = w.Acts[act].At
		}
		at := min(phaseAt, actAt)
		if at > w.To {
			break
		}
		r.advance(at)
		if phaseAt == at {
			if err := r.change(phase); err != nil {
				return nil, err
			}
			phase++
			continue
		}
		if err := r.do(act); err != nil {
			return nil, err
		}
		act++
	}
	r.advance(w.To)
	return h, nil
}

func (w *World) check() error {
	switch {
	case len(w.Phases) == 0:
		return errors.New("a world without a phase; give it one")
	case w.From < 0 || w.To <= w.From:
		return fmt.Errorf("a world from %d to %d; let it begin at 0 or later, and end after that", w.From, w.To)
	case w.Phases[0].Start == nil:
		return errors.New("the first phase does not say how the unit begins; give it a start")
	}
	for i := 1; i < len(w.Phases); i++ {
		if w.Phases[i].From < w.Phases[i-1].From || w.Phases[i].From < w.From {
			return fmt.Errorf("phase %d begins before the one before it, or before the world; put them in order of time", i)
		}
	}
	for i := range w.Acts {
		if i > 0 && w.Acts[i].At < w.Acts[i-1].At {
			return fmt.Errorf("act %d comes before the one before it; put them in order of time", i)
		}
		if w.Acts[i].Deed >= numDeeds {
			return fmt.Errorf("act %d is no deed that there is", i)
		}
	}
	for i := range w.Phases {
		if s := w.Phases[i].Start; s != nil && (s.Drift <= -million || s.Drift >= million) {
			return fmt.Errorf("phase %d: a drift of %d parts per million; it is less than a million either way", i, s.Drift)
		}
	}
	return nil
}

func (h *History) reset(w *World) {
	for l := range h.lanes {
		h.lanes[l] = h.lanes[l][:0]
	}
	h.World, h.From, h.To = *w, w.From, w.To
	h.Initial, h.Has = [NumLanes]spec.Level{}, [NumLanes]bool{}
	h.Done, h.States, h.clocks, h.Work = h.Done[:0], h.States[:0], h.clocks[:0], 0
}

const million = 1_000_000

// crystal is how a unit's seconds follow true ones.
type crystal struct {
	at   int64 // the true second of the unit's second birth
	rate int32
}

// birth is the unit's elapsed second at which a phase begins: late enough that whatever a lock has counted lies after second 0.
const birth = 1 << 30

// unitAt returns the unit's elapsed second in a true one.
func (c crystal) unitAt(at int64) uint64 {
	if c.rate == 0 {
		return uint64(birth + at - c.at)
	}
	return uint64(birth + (at-c.at)*(million+int64(c.rate))/million)
}

// trueAt returns the first true second in which the unit has come to an elapsed one.
func (c crystal) trueAt(elapsed uint64) int64 {
	if c.rate == 0 {
		return c.at + int64(elapsed) - birth
	}
	if elapsed > 1<<42 {
		return calendar.Never // nothing that a history comes to, and the product would not fit
	}
	perTrue := million + int64(c.rate)
	return c.at + ((int64(elapsed)-birth)*million+perTrue-1)/perTrue
}

// runner is a run under way.
type runner struct {
	*Buffers
	h *History
	w *World

	phase           int
	u               emulator.Unit
	crystal         crystal
	p               plant.Plant
	seq             uint32
	house, isolator bool // there is mains in the house; the unit's isolator is on
	act             int32
	boosted         bool
}

// begin puts unit and plant where the first phase has them.
func (r *runner) begin() error {
	first := &r.w.Phases[0]
	r.act = -1
	if err := r.fresh(first, r.w.From, [spec.NumSignals]spec.Level{}); err != nil {
		return err
	}
	r.unit = r.u.Settle(r.unit[:0])
	r.unit = r.u.Advance(0, r.unit[:0])
	warmth := r.w.Warmth
	warmth.At = r.w.From
	var err error
	if r.p, err = plant.New(first.Plant, warmth); err != nil {
		return fmt.Errorf("phase 0: %w", err)
	}
	r.plant = r.p.Set(r.inputs(), r.plant[:0])
	r.plant = r.plant[:0]
	for s := range spec.Signal(spec.NumSignals) {
		r.h.Initial[SignalLane(s)] = r.u.Level(s)
	}
	for p := range plant.Point(plant.NumPoints) {
		r.h.Initial[PointLane(p)] = spec.Level(r.p.Level(p))
	}
	r.note()
	r.h.Initial[LaneDisplay] = r.h.clocks[0].level
	r.noteLanes(first)
	return nil
}

// fresh makes the unit of a phase that has a start.
func (r *runner) fresh(p *Phase, at int64, shown [spec.NumSignals]spec.Level) error {
	if err := r.take(&p.ICS); err != nil {
		return fmt.Errorf("phase %d: %w", r.phase, err)
	}
	f := p.Start.Facts
	f.Now, f.Powered, f.ClockStopped, f.Stopped, f.ReserveLeft = birth, true, false, 0, 0
	f.Back, f.Fitted = p.ICS.Fitted, p.ICS.Fitted.Effective()
	f.ClockSet, f.UTC = !p.Start.ClockUnset, 0
	if f.ClockSet {
		f.UTC = at + p.Start.ClockError
	} else {
		f.Holiday = emulator.HolidayFacts{}
	}
	f.Shown = shown
	r.crystal = crystal{at: at, rate: p.Start.Drift}
	r.u.Restore(&f)
	r.kept = r.u // the next run most likely has the same tables, and plans are what takes longest to make
	return nil
}

// take takes a unit of the statement, in whatever state, to be restored to another. It keeps one, since most runs are of the same unit.
func (r *runner) take(ics *spec.ICS) error {
	if r.ics != *ics || *ics == (spec.ICS{}) {
		u, err := emulator.New(*ics)
		if err != nil {
			return err
		}
		r.ics, r.kept = *ics, u
	}
	r.u = r.kept
	return nil
}

func (r *runner) inputs() plant.Inputs {
	return plant.Inputs{
		HW: r.u.Level(spec.SigHW) == 1, CH: r.u.Level(spec.SigCH) == 1, UnitPower: r.house && r.isolator, PlantPower: r.house,
	}
}

// noteLanes notes which lanes a phase has.
func (r *runner) noteLanes(p *Phase) {
	fitted := p.ICS.Fitted
	r.h.Has[LaneDisplay] = true
	r.h.Has[LaneHW] = r.h.Has[LaneHW] || fitted.Channels.Has(spec.HW)
	r.h.Has[LaneCH] = r.h.Has[LaneCH] || fitted.Channels.Has(spec.CH)
	if p.ICS.Lock {
		r.h.Has[LaneAlert], r.h.Has[LaneSounder] = true, true
	}
	for pt := range plant.Point(plant.NumPoints) {
		if p.Plant.Has(pt) {
			r.h.Has[PointLane(pt)] = true
		}
	}
}

// advance lets time pass up to a true second, whatever happens in it by itself included.
func (r *runner) advance(to int64) {
	for {
		next, ok := r.u.Next()
		at := calendar.Never
		if ok {
			at = max(r.p.Now(), r.crystal.trueAt(next)) // what is overdue comes now
		}
		if at > to {
			r.advanceUnit(to)
			r.advancePlant(to)
			return
		}
		r.advancePlant(at)
		r.advanceUnit(at)
		r.unitChanged(at)
	}
}

func (r *runner) advanceUnit(at int64) {
	r.unit = r.u.Advance(r.crystal.unitAt(at)-r.u.Now(), r.unit[:0])
}

func (r *runner) advancePlant(at int64) {
	if at > r.p.Now() {
		before := r.p.Passes()
		r.plant = r.p.Advance(uint64(at-r.p.Now()), r.plant[:0])
		r.h.Work += r.p.Passes() - before
		r.plantChanged()
	}
}

// unitChanged enters what the unit has just done, tells the plant, and enters what comes of it at once.
func (r *runner) unitChanged(at int64) {
	for i := range r.unit {
		c := &r.unit[i]
		e := r.enter(at, SignalLane(c.Signal), c.Level)
		e.Why.Unit, e.Why.Boosted = *c, r.boosted
	}
	r.note()
	if in := r.inputs(); in != r.p.Inputs() {
		r.plant = r.p.Set(in, r.plant[:0])
		r.plantChanged()
	}
}

func (r *runner) plantChanged() {
	for i := range r.plant {
		c := &r.plant[i]
		r.enter(c.At, PointLane(c.Point), spec.Level(c.Level)).Why.Plant = c.Why
	}
}

// enter enters a change, and returns it, so that its reason is written where it is to stand and nowhere else first.
func (r *runner) enter(at int64, l Lane, level spec.Level) *Change {
	r.seq++
	lane := &r.h.lanes[l]
	*lane = append(*lane, Change{})
	c := &(*lane)[len(*lane)-1]
	c.At, c.Seq, c.Lane, c.Level = at, r.seq, l, level
	c.Why.Act, c.Why.Phase = r.act, int32(r.phase)
	return c
}

// note enters what the unit remembers, and how its clock runs on, if that has changed.
func (r *runner) note() {
	at := r.p.Now()
	if n := len(r.h.States); n == 0 || r.h.States[n-1].At != at {
		r.h.States = slices.Grow(r.h.States, 1)[:n+1] // what stood there is written over
	}
	s := &r.h.States[len(r.h.States)-1]
	s.At, s.Phase = at, r.phase
	r.u.FactsTo(&s.Facts)
	run := clockRun{from: at, crystal: r.crystal, level: Dark}
	if s.Facts.Powered {
		run.level = Flashing
		if days, second, ok := r.u.Reading(); ok {
			run.level = Readable
			run.base = int64(days)*calendar.Day + int64(second) - int64(r.u.Now())
		}
	}
	n := len(r.h.clocks)
	switch {
	case n == 0:
		r.h.clocks = append(r.h.clocks, run)
		return
	case r.h.clocks[n-1].level == run.level && r.h.clocks[n-1].base == run.base && r.h.clocks[n-1].crystal == run.crystal:
		return
	}
	if r.h.clocks[n-1].level != run.level {
		r.enter(at, LaneDisplay, run.level)
	}
	if r.h.clocks[n-1].from == at {
		r.h.clocks[n-1] = run
	} else {
		r.h.clocks = append(r.h.clocks, run)
	}
}

// change goes over to a phase.
func (r *runner) change(phase int) error {
	before, p := &r.w.Phases[phase-1], &r.w.Phases[phase]
	at := r.p.Now()
	r.phase = phase
	r.noteLanes(p)
	r.unit = r.unit[:0]
	if p.Plant != before.Plant {
		var err error
		if r.plant, err = r.p.Refit(p.Plant, r.plant[:0]); err != nil {
			return fmt.Errorf("phase %d: %w", phase, err)
		}
		r.plantChanged()
	}
	switch {
	case p.Start != nil:
		var shown [spec.NumSignals]spec.Level
		for s := range shown {
			shown[s] = r.u.Level(spec.Signal(s))
		}
		if err := r.fresh(p, at, shown); err != nil {
			return err
		}
		r.unit = r.u.Settle(r.unit)
		r.unit = r.u.Advance(0, r.unit)
		if !r.house || !r.isolator {
			_, r.unit = r.u.Do(spec.Input{Kind: spec.PowerOff}, r.unit)
		}
	case p.ICS != before.ICS:
		if err := r.refit(before, p); err != nil {
			return err
		}
	}
	r.unitChanged(at)
	return nil
}

// refit makes the unit one of another statement, with all that it remembers, and fits it otherwise where the statement says so.
func (r *runner) refit(before, p *Phase) error {
	f := r.u.Facts()
	if err := r.take(&p.ICS); err != nil {
		return fmt.Errorf("phase %d: %w", r.phase, err)
	}
	r.u.Restore(&f)
	r.unit = r.u.Settle(r.unit)
	if before.ICS.Fitted == p.ICS.Fitted {
		return nil
	}
	_, r.unit = r.u.Do(spec.Input{Kind: spec.PowerOff}, r.unit)
	for o, value := range fittedValues(p.ICS.Fitted) {
		var reply spec.Reply
		reply, r.unit = r.u.Do(spec.Input{Kind: spec.Fit, FitOption: spec.FitOption(o), FitValue: value}, r.unit)
		if reply.Outcome != spec.Accepted {
			return fmt.Errorf("phase %d: the unit cannot be fitted so; let its ICS list what is fitted", r.phase)
		}
	}
	if r.house && r.isolator {
		_, r.unit = r.u.Do(spec.Input{Kind: spec.PowerOn}, r.unit)
	}
	return nil
}

func fittedValues(f spec.Fitted) [4]uint8 {
	return [...]uint8{
		spec.FitChannels: uint8(f.Channels), spec.FitCycle: uint8(f.Cycle), spec.FitTiming: uint8(f.Timing), spec.FitCoupling: uint8(f.Coupling),
	}
}

// do does an act.
func (r *runner) do(act int) error {
	a := &r.w.Acts[act]
	at := r.p.Now()
	r.act = int32(act)
	r.unit, r.plant = r.unit[:0], r.plant[:0]
	done := Done{Act: act, At: at}
	var err error
	switch a.Deed {
	case AtUnit, AtIsolator:
		done.Reply = r.input(a)
	case AtThermostat, AtImmersion:
		in := r.p.Installation()
		if err = set(&in, a); err == nil {
			r.plant, err = r.p.Refit(in, r.plant)
		}
	case AtBoiler:
		r.plant = r.p.ResetBoiler(r.plant)
	case AtTap:
		r.plant = r.p.Draw(a.Draw, r.plant)
	}
	if err != nil {
		return fmt.Errorf("act %d: %w", act, err)
	}
	r.plantChanged()
	r.unitChanged(at)
	r.h.Done = append(r.h.Done, done)
	r.act, r.boosted = -1, false
	return nil
}

// input gives the unit an input, or takes or returns its mains.
func (r *runner) input(a *Act) (reply spec.Reply) {
	in := a.Input
	switch {
	case a.Deed == AtIsolator:
		r.isolator = a.On
		in = spec.Input{Kind: spec.PowerOff}
		if a.On {
			in.Kind = spec.PowerOn
		}
		if a.On && !r.house {
			return spec.Reply{}
		}
	case in.Kind == spec.PowerOff:
		r.house = false
	case in.Kind == spec.PowerOn:
		r.house = true
		if !r.isolator {
			return spec.Reply{}
		}
	case in.Kind == spec.Override:
		r.boosted = r.u.Facts().Channels[in.Channel].BoostLeft > 0
	}
	reply, r.unit = r.u.Do(in, r.unit)
	return reply
}

// set turns a thermostat or a switch of an installation.
func set(in *plant.Installation, a *Act) error {
	if a.Deed == AtImmersion {
		if in.Immersion.Wired != plant.OwnCircuit {
			return errors.New("the plant lacks an immersion heater with a switch of its own; say in the installation that it is there")
		}
		in.Immersion.On = a.On
		return nil
	}
	var stat *plant.Thermostat
	switch a.Contact {
	case plant.RoomStatContact:
		stat = &in.Room
	case plant.RoomStat2Contact:
		stat = &in.Room2
	case plant.CylinderStatCallsContact:
		stat = &in.Cylinder
	case plant.FrostStatContact:
		stat = &in.Frost
	}
	if stat == nil || !stat.Fitted {
		return fmt.Errorf("the plant lacks %s, which is turned here; say in the installation that it is there", a.Contact)
	}
	stat.Setting = a.Setting
	return nil
}
