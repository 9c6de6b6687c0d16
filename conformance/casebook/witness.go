package casebook

import (
	"fmt"

	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// see and mean write down an observation and a wish.
func (h *house) see(line string, a ...any)  { h.sensed = append(h.sensed, fmt.Sprintf(line, a...)) }
func (h *house) mean(line string, a ...any) { h.means = append(h.means, fmt.Sprintf(line, a...)) }

// now words an instant some minutes before the account is taken.
func (h *house) now(minutes int) string {
	return h.zone.At(h.to - int64(minutes)*calendar.Minute).Format("2006-01-02 15:04")
}

// feeling is something that a household feels.
type feeling struct {
	point plant.Point
	name  string
	words [2]string
	long  int64 // for how long it has to be otherwise to be noticed
}

var feelings = []feeling{
	{plant.Radiators, "radiators", [2]string{"cold", "warm"}, 40 * calendar.Minute},
	{plant.Tap, "tap", [2]string{"cold", "hot"}, 90 * calendar.Minute},
}

// level returns what is felt.
func (h *house) level(l *replay.History, p plant.Point, at int64) spec.Level {
	level := l.Level(replay.PointLane(p), at)
	if h.veil != nil {
		level = h.veil(p, at, level)
	}
	return level
}

// stretch is a waking time of one day in which something felt stays as it is.
type stretch struct {
	feeling  *feeling
	level    spec.Level
	from, to int64
	day      int
}

const (
	up   = 6*60 + 15 // when people are about, minutes of the day
	abed = 22*60 + 45
	look = 5 * calendar.Minute
)

// stretches returns those in which what is felt is otherwise than in another history, or else those in which it is the same.
func (h *house) stretches(is, wish *replay.History, otherwise bool) []stretch {
	var all []stretch
	for day := range h.days + 1 {
		from, to := h.at(day, up), min(h.at(day, abed), h.to)
		for i := range feelings {
			f := &feelings[i]
			if f.point == plant.Tap && !h.is.plant.Plan.HasCylinder() {
				continue
			}
			var s stretch
			open := false
			for at := from; at <= to; at += look {
				level := h.level(is, f.point, at)
				counts := (level != wish.Level(replay.PointLane(f.point), at)) == otherwise && at < to
				if open && (!counts || level != s.level) {
					if s.to = at - look; s.to-s.from >= f.long {
						all = append(all, s)
					}
					open = false
				}
				if counts && !open {
					s, open = stretch{feeling: f, level: level, from: at, day: day}, true
				}
			}
		}
	}
	return all
}

// minute returns the local minute of the day of an instant.
func (h *house) minute(at int64) int {
	return int(calendar.SecondOfDay(h.zone.Reading(at)) / calendar.Minute)
}

// blurred returns a minute of the day as somebody remembers it: rounded to five, and off by some.
func (h *house) blurred(minute, by int) int {
	off := (h.between(-by, by) + h.between(-by, by)) / 2
	return min(23*60+55, max(0, (minute+off)/5*5))
}

// say words a stretch as somebody does who felt it.
func (h *house) say(l *replay.History, s stretch) string {
	word := s.feeling.words[s.level]
	mid := h.minute(s.from + (s.to-s.from)/2)
	form, when := "is", fmt.Sprintf("about %s", hhmm(h.blurred(mid, 15)))
	switch n := h.IntN(10); {
	case n < 4 && s.to-s.from >= 50*calendar.Minute:
		edge := min(60, int((s.to-s.from)/calendar.Minute-30)/2)
		from := h.blurred(h.minute(s.from)+h.between(5, max(5, edge)), 5)
		to := h.blurred(h.minute(s.to)-h.between(5, max(5, edge)), 5)
		if to-from >= 20 {
			when = fmt.Sprintf("%s-%s", hhmm(from), hhmm(to))
		}
	case n < 6 && s.to-s.from >= 100*calendar.Minute:
		// 'It never got warm between … and …'
		word, form = s.feeling.words[1-s.level], "never"
		when = fmt.Sprintf("%s-%s", hhmm(h.blurred(h.minute(s.from)+20, 5)), hhmm(h.blurred(h.minute(s.to)-20, 5)))
	}
	days, since := h.date(s.day), ""
	if rule, from, ok := h.rule(l, s, mid); ok && form == "is" && h.chance(60) {
		days = rule
		if from > 0 {
			since = " since " + h.date(from)
		}
	}
	sure := ""
	if h.chance(20) {
		sure = ", sure: " + pick(h, "sure", "unsure")
	}
	return fmt.Sprintf("{what: %s, %s: %s, when: %s %s%s%s}", s.feeling.name, form, word, days, when, since, sure)
}

// rule looks for the days of which a statement about one day is true alike: every day, every working day, that day of every week.
func (h *house) rule(l *replay.History, s stretch, minute int) (words string, from int, ok bool) {
	same := func(day int) bool {
		at := h.at(day, minute)
		for _, off := range [...]int64{-20, 0, 20} {
			if h.level(l, s.feeling.point, at+off*calendar.Minute) != s.level {
				return false
			}
		}
		return true
	}
	weekend := h.weekday(s.day) > 4
	for _, r := range [...]struct {
		words string
		has   func(int) bool
	}{
		{"every day", func(int) bool { return true }},
		{"every weekday", func(d int) bool { return d <= 4 }},
		{"every weekend", func(d int) bool { return d > 4 }},
	} {
		if r.words == "every weekday" && weekend || r.words == "every weekend" && !weekend {
			continue
		}
		n, first := 0, -1
		for day := h.days - 1; day >= 0; day-- {
			if !r.has(h.weekday(day)) {
				continue
			}
			if !same(day) {
				break
			}
			n++
			first = day
		}
		if n >= 3 && first <= s.day {
			return r.words, first, true
		}
	}
	return "", 0, false
}

// witness writes down what was sensed: some of what is otherwise than wished, some of what is as it should be, and what the integrator
// sees on the spot. Each of others is the history without one of the things that are the matter: of each something shows. It returns
// false where nobody would complain.
func (h *house) witness(is *replay.History, others []*replay.History, kind Kind) bool {
	for _, o := range others {
		s := h.stretches(is, o, true)
		if len(s) == 0 {
			return false
		}
		n := h.between(1, 3)
		if kind.Two {
			n++ // two things are talked about more
		}
		for range min(n, len(s)) {
			i := h.IntN(len(s))
			h.see("%s", h.say(is, s[i]))
			s = append(s[:i], s[i+1:]...)
		}
	}
	for _, o := range others[:1] {
		s := h.stretches(is, o, false)
		for range min(kind.ordinary(h, 1, 3), len(s)) {
			h.see("%s", h.say(is, s[h.IntN(len(s))]))
		}
	}
	return true
}

// visit writes down what the integrator sees when the account is taken.
func (h *house) visit(is *replay.History) {
	steady := func(l replay.Lane) (spec.Level, bool) {
		level := is.Level(l, h.to-10*calendar.Minute)
		for at := h.to - 20*calendar.Minute; at <= h.to; at += calendar.Minute {
			if is.Level(l, at) != level {
				return 0, false
			}
		}
		return level, true
	}
	onOff := [2]string{"off", "on"}
	line := func(name string, l replay.Lane, words [2]string) {
		if level, ok := steady(l); ok {
			h.see("{what: %s, is: %s, when: %s, who: integrator}", name, words[level], h.now(10))
		}
	}
	if h.has(spec.HW) && h.chance(60) {
		line("hw relay", replay.LaneHW, onOff)
	}
	if h.chance(60) {
		line("ch relay", replay.LaneCH, onOff)
	}
	engineer := h.chance(40)
	if h.veil != nil {
		engineer = h.chance(75)
	}
	if !engineer {
		return
	}
	if h.chance(70) {
		line("pump", replay.PointLane(plant.Pump), onOff)
	}
	if h.chance(70) {
		line("flame", replay.PointLane(plant.Flame), onOff)
	}
	if h.chance(40) {
		line("boiler call", replay.PointLane(plant.Call), onOff)
	}
	shut := [2]string{"shut", "open"}
	if is.Has[replay.PointLane(plant.CHValve)] && h.chance(70) {
		if level, ok := steady(replay.PointLane(plant.CHValve)); ok && level <= 1 {
			h.see("{what: ch valve, is: %s, when: %s, who: integrator}", shut[level], h.now(10))
		}
	}
	if is.Has[replay.PointLane(plant.HWValve)] && h.chance(70) {
		if level, ok := steady(replay.PointLane(plant.HWValve)); ok && level <= 1 {
			h.see("{what: hw valve, is: %s, when: %s, who: integrator}", shut[level], h.now(10))
		}
	}
}

// logged writes down some changes of a relay as a log has them.
func (h *house) logged(is *replay.History) {
	changes := is.Changes(replay.LaneCH)
	for range min(4, len(changes)) {
		c := changes[h.IntN(len(changes))]
		h.see("{what: ch relay, becomes: %s, when: %q, who: log}", [2]string{"off", "on"}[c.Level], h.zone.At(c.At).Format("2006-01-02 15:04:05Z07:00"))
	}
}
