package casebook

import (
	"cmp"
	"slices"

	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// week is a table: a row for each day from Monday.
type week [7][spec.MaxPeriods]spec.Period

// state is how things stand in a house, or how somebody believes that they stand.
type state struct {
	ics    spec.ICS
	plant  plant.Installation
	warmth plant.Start

	modes   [spec.NumChannels]spec.Mode
	tables  [spec.NumChannels]week
	holiday emulator.HolidayFacts
	lock    emulator.LockFacts

	clockUnset bool
	clockError int64 // s, at the beginning
	drift      int32 // parts per million

	acts   []replay.Act
	spells []spell
}

// spell is a time in which the installation is otherwise.
type spell struct {
	from, to int64 // up to, not including
	change   func(*plant.Installation)
}

// clone returns a copy that shares nothing that is ever changed.
func (s state) clone() state {
	s.acts, s.spells = slices.Clone(s.acts), slices.Clone(s.spells)
	return s
}

// do adds an input at an instant.
func (s *state) do(at int64, in spec.Input) { s.add(replay.Act{At: at, Input: in, Claim: -1}) }

func (s *state) add(a replay.Act) {
	s.acts = append(s.acts, a)
	slices.SortStableFunc(s.acts, func(a, b replay.Act) int { return cmp.Compare(a.At, b.At) })
}

// world returns the world in which everything stands so.
func (s *state) world(from, to int64) (replay.World, error) {
	u, err := emulator.New(s.ics)
	if err != nil {
		return replay.World{}, err
	}
	start := &replay.Start{Facts: u.Facts(), ClockUnset: s.clockUnset, ClockError: s.clockError, Drift: s.drift}
	for c := range s.modes {
		start.Facts.Channels[c].Mode = s.modes[c]
		start.Facts.Channels[c].Table = s.tables[c]
	}
	start.Facts.Holiday, start.Facts.Lock = s.holiday, s.lock
	w := replay.World{From: from, To: to, SummerTime: true, Warmth: s.warmth, Acts: slices.Clone(s.acts)}
	edges := []int64{from}
	for _, sp := range s.spells {
		edges = append(edges, max(from, sp.from), sp.to)
	}
	slices.Sort(edges)
	for _, at := range slices.Compact(edges) {
		if at < from || at >= to {
			continue
		}
		p := replay.Phase{From: at, ICS: s.ics, Plant: s.plant}
		for _, sp := range s.spells {
			if sp.from <= at && at < sp.to {
				sp.change(&p.Plant)
			}
		}
		if at == from {
			p.Start = start
		}
		w.Phases = append(w.Phases, p)
	}
	return w, nil
}

// asked returns, for each minute of a week, whether a table asks for 1.
func (w *week) asked() *[7 * spec.MinutesPerDay]bool {
	var all [7 * spec.MinutesPerDay]bool
	for day := range w {
		for _, p := range w[day] {
			if p.On == p.Off {
				continue
			}
			off := int(p.Off)
			if p.Off < p.On {
				off += spec.MinutesPerDay
			}
			for m := int(p.On); m < off; m++ {
				all[(day*spec.MinutesPerDay+m)%len(all)] = true
			}
		}
	}
	return &all
}

// apart returns for how many minutes of the week two tables ask for different things.
func apart(a, b *week) (n int) {
	x, y := a.asked(), b.asked()
	for m := range x {
		if x[m] != y[m] {
			n++
		}
	}
	return n
}

// periods returns the active periods of a day.
func (w *week) periods(day int) []spec.Period {
	var all []spec.Period
	for _, p := range w[day] {
		if p.On != p.Off {
			all = append(all, p)
		}
	}
	return all
}

// set gives days of the week the same periods.
func (w *week) set(first, last int, periods ...spec.Period) {
	for day := first; day <= last; day++ {
		w[day] = [spec.MaxPeriods]spec.Period{}
		copy(w[day][:], periods)
	}
}

// at returns the instant of a local time of a day of the history, counted from 0.
func (h *house) at(day int, minute int) int64 {
	reading := int64(calendar.DayOf(h.zone.Reading(h.from))+day)*calendar.Day + int64(minute)*calendar.Minute
	if all := h.zone.Instants(reading); len(all) > 0 {
		return all[0]
	}
	return calendar.NextChange(reading - calendar.Hour)
}
