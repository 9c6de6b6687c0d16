package generate

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// feature is something that can be under way when another happens.
type feature uint8

const (
	modeChange feature = iota
	periodEdit
	override
	boost
	holiday
	cut
	clockSet
	reset
	lock
	switchingPoint
	midnight
	summerTime

	numFeatures
)

var featureWords = [numFeatures]string{
	"a change of mode", "a period edit", "an override", "a boost", "a holiday", "a cut", "a clock set", "a reset", "the lock's notice",
	"a switching point", "midnight", "a change of summer time",
}

func (f feature) String() string { return featureWords[f] }

// timed reports whether the clock brings the feature.
func (f feature) timed() bool { return f >= switchingPoint }

// lasts reports whether the feature is under way for a while.
func (f feature) lasts() bool { return f >= override && f <= cut || f == lock }

// pair is a feature that is under way, or has just been, and one that then happens.
type pair struct{ first, then feature }

// rowsOfPair is in how many rows each pair is tried.
const rowsOfPair = 2

// pairsOf returns every ordered pair with rows for it, chosen such that rows have about as many pairs each.
func pairsOf(rows []row) (pairs []pair, in [][]int, err error) {
	load := make([]int, len(rows))
	for first := range numFeatures {
		for then := range numFeatures {
			p := pair{first, then}
			if first == summerTime && then == summerTime {
				continue // they are half a year apart
			}
			var able []int
			for n, r := range rows {
				if p.possible(r, n) {
					able = append(able, n)
				}
			}
			if len(able) < rowsOfPair {
				return nil, nil, fmt.Errorf("%d rows can try %s and then %s; it takes %d", len(able), first, then, rowsOfPair)
			}
			slices.SortStableFunc(able, func(a, b int) int { return cmp.Compare(load[a], load[b]) })
			able = able[:rowsOfPair]
			for _, n := range able {
				load[n]++
			}
			pairs, in = append(pairs, p), append(in, able)
		}
	}
	return pairs, in, nil
}

// has reports whether a row's unit has a feature.
func (r row) has(f feature) bool {
	switch f {
	case boost:
		return r.value("boost") != "60/0"
	case holiday, lock:
		return r.value(map[feature]string{holiday: "holiday", lock: "lock"}[f]) == "yes"
	case summerTime:
		return r.value("summer-time") == "automatic"
	default:
		return true
	}
}

// possible reports whether the first can be under way on a row's unit when the other happens.
func (p pair) possible(r row, n int) bool {
	switch {
	case !r.has(p.first) || !r.has(p.then):
		return false
	case p.then.timed() && p.first == reset && r.value("clock-after-reset") == "unset",
		p.then.timed() && p.first == cut && r.value("reserve") == "0":
		return false // no clock runs to it
	case p == pair{midnight, summerTime} && inSpring(n) && r.value("zone") == "-60":
		return false // the change comes at midnight
	default:
		return true
	}
}

// inSpring says which change of summer time a row meets.
func inSpring(n int) bool { return n%2 == 0 }

// pairsFile makes the file of pairs.
func pairsFile(page *suite.Page) ([]byte, error) {
	rows := coveringArray()
	pairs, in, err := pairsOf(rows)
	if err != nil {
		return nil, err
	}
	about := []string{
		fmt.Sprintf("Every ordered pair of features: one is under way, or has just been, when the other happens. Each pair is tried in %d of the rows below.", rowsOfPair),
		"The rows are a covering array of strength 2: every possible two values of two options of the ICS stand together in one of them. A vector's derivation names its row, on whose unit its trace was made; its needs are what of the row it depends on.",
		"Nothing follows for three features at once, nor for other instants than those tried.",
	}
	for n, r := range rows {
		about = append(about, fmt.Sprintf("Row %d: %s", n+1, r))
	}
	var list []*suite.Vector
	for i, p := range pairs {
		for _, n := range in[i] {
			v, err := p.vector(page, rows[n], n, i)
			if err != nil {
				return nil, fmt.Errorf("%s and then %s in row %d: %w", p.first, p.then, n+1, err)
			}
			v.ID = fmt.Sprintf("GEN/pairs-%d", len(list)+1)
			list = append(list, v)
		}
	}
	return file(about, list)
}

// scene is a pair in a row, being played.
type scene struct {
	pair
	n       int   // of the row
	anchor  int64 // the reading about which everything happens, in seconds since 2000-01-01
	point   int64 // the switching point's reading
	on, off uint16
	table   string // the word
	channel spec.Channel
	t       *tape
}

// gap is the seconds between the first and what then happens.
const gap = 15 * calendar.Minute

// vector plays the pair on a row's unit.
func (p pair) vector(page *suite.Page, r row, n, i int) (*suite.Vector, error) {
	s := scene{pair: p, n: n, table: "both", channel: spec.Channel((i + n) % 2)}
	switch r.value("channels") {
	case "hw":
		s.table, s.channel = "hw", spec.HW
	case "ch":
		s.table, s.channel = "ch", spec.CH
	}
	w, err := s.world(r)
	if err != nil {
		return nil, err
	}
	if s.t, err = w.tape(); err != nil {
		return nil, err
	}
	if err := s.play(); err != nil {
		return nil, err
	}
	v := s.t.done(page)
	v.Purpose = fmt.Sprintf("With %s under way, %s.", p.first, p.then)
	if !p.first.lasts() {
		v.Purpose = fmt.Sprintf("Soon after %s, %s.", p.first, p.then)
	}
	v.Catches = fmt.Sprintf("A unit that knows %s and %s, but not one in the other.", p.first, p.then)
	v.Derivation = fmt.Sprintf("Row %d.", n+1)
	return v, finish(v, &w.ics)
}

func (p pair) involves(f feature) bool { return p.first == f || p.then == f }

// seconds returns a reading in seconds since 2000-01-01.
func seconds(year, month, day, hour int) int64 {
	return int64(calendar.Days(year, month, day))*calendar.Day + int64(hour)*calendar.Hour
}

// world lays the scene: where the anchor and the switching point are, and the table and the start that go with them.
func (s *scene) world(r row) (*world, error) {
	w, err := newWorld("2026-01-14T00:00:00Z", r.settings())
	if err != nil {
		return nil, err
	}
	jump := int64(0) // of the reading at the anchor
	var start int64
	switch {
	case s.involves(summerTime):
		zone := int64(w.ics.Zone) * calendar.Minute
		sunday := seconds(2026, 3, 29, 0)
		s.anchor, jump = sunday+calendar.Hour+zone, calendar.Hour
		if !inSpring(s.n) {
			sunday = seconds(2026, 10, 25, 0)
			s.anchor, jump = sunday+2*calendar.Hour+zone, -calendar.Hour
		}
		start = sunday + calendar.Hour/2
		if s.anchor-start < calendar.Hour/2 || s.first == midnight {
			start = sunday - calendar.Hour/2
		}
	case s.involves(midnight):
		s.anchor = seconds(2026, 1, 15, 0)
		start = s.anchor - calendar.Hour
	default:
		s.anchor = seconds(2026, 1, 14, 23)
		start = s.anchor - calendar.Hour
	}
	s.point = s.pointAt(jump)
	first, last := s.point, s.point+calendar.Hour
	if calendar.SecondOfDay(last) != 0 && calendar.DayOf(last) != calendar.DayOf(first) {
		first, last = s.point-calendar.Hour, s.point
	}
	if s.pair == (pair{switchingPoint, switchingPoint}) {
		last = first + gap
	}
	s.on = uint16(calendar.SecondOfDay(first) / calendar.Minute)
	s.off = s.on + uint16((last-first)/calendar.Minute)
	w.given = []string{fmt.Sprintf("table %s every %s-%s", s.table, wire.AppendTime(nil, s.on), wire.AppendTime(nil, s.off))}
	w.start = asLondon(start)
	return w, nil
}

// pointAt returns the reading of the switching point: before or after the anchor where it is part of the pair, else after everything.
func (s *scene) pointAt(jump int64) int64 {
	switch other := s.other(switchingPoint); {
	case !s.involves(switchingPoint) && !s.first.timed() && !s.then.timed():
		return s.anchor
	case !s.involves(switchingPoint):
		return s.anchor + jump + 2*gap
	case !other.timed():
		return s.anchor
	case s.first == switchingPoint:
		return s.anchor - gap
	default:
		return s.anchor + jump + gap
	}
}

// other returns the pair's other feature.
func (p pair) other(f feature) feature {
	if p.first == f {
		return p.then
	}
	return p.first
}

// asLondon returns the instant at which Europe/London reads what is given, which happens once.
func asLondon(reading int64) time.Time {
	epoch := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	utc := reading
	if calendar.SummerTime(reading - calendar.Hour) {
		utc -= calendar.Hour
	}
	return epoch.Add(time.Duration(utc) * time.Second).In(time.FixedZone("", int(reading-utc)))
}

// play lets the first begin, the other happen, power return, and time show what comes of it.
func (s *scene) play() error {
	lead := int64(0)
	switch {
	case s.first.timed():
	case s.then.timed():
		lead = gap
	default:
		lead = 2 * gap
	}
	if lead > 0 {
		now, err := s.now()
		if err != nil {
			return err
		}
		target := s.anchor
		if s.then == switchingPoint {
			target = s.point
		}
		s.t.wait(uint64(target - lead - now))
	}
	if err := s.happen(s.first, false); err != nil {
		return err
	}
	if !s.then.timed() {
		s.t.wait(gap)
	}
	if err := s.happen(s.then, true); err != nil {
		return err
	}
	if !s.t.u.Facts().Powered {
		s.t.wait(gap)
		if err := s.t.do("power on"); err != nil {
			return err
		}
	}
	s.t.wait(4 * gap)
	return nil
}

// now returns what the clock reads, in seconds since 2000-01-01.
func (s *scene) now() (int64, error) {
	days, second, ok := s.t.u.Reading()
	if !ok {
		return 0, fmt.Errorf("the clock does not run")
	}
	return int64(days)*calendar.Day + int64(second), nil
}

// happen lets a feature happen; again is for the second of the pair, which differs from what the first did.
func (s *scene) happen(f feature, again bool) error {
	if f.timed() {
		return s.waitFor(f)
	}
	return s.t.do(s.line(f, again))
}

// waitFor lets time pass until the clock brings a feature.
func (s *scene) waitFor(f feature) error {
	now, err := s.now()
	if err != nil {
		return err
	}
	switch f {
	case summerTime:
		utc := s.t.u.Facts().UTC
		s.t.wait(uint64(calendar.NextChange(utc) - utc))
	case midnight:
		s.t.wait(uint64(calendar.Day - calendar.SecondOfDay(now)))
	default:
		point := s.point
		if point <= now {
			point += gap // the second of two
		}
		s.t.wait(uint64(point - now))
	}
	return nil
}

// line returns the input of a feature.
func (s *scene) line(f feature, again bool) string {
	channel := wire.ChannelWord(s.channel)
	switch f {
	case modeChange:
		if s.n%2 == 0 || s.involves(switchingPoint) {
			if again && s.first == modeChange {
				return "mode " + channel + " off"
			}
			return "mode " + channel + " span"
		}
		if again && s.first == modeChange {
			return "mode " + channel + " table"
		}
		return "mode " + channel + " always"
	case periodEdit:
		return s.edit(again)
	case override:
		return "override " + channel
	case boost:
		return fmt.Sprintf("boost %s %d", channel, s.boost(again && s.first == boost))
	case holiday:
		return fmt.Sprintf("holiday %d", 1+(s.n+btoi(again))%2)
	case cut:
		return "power off"
	case clockSet:
		return s.setting()
	case reset:
		return "reset"
	default:
		if again && s.first == lock {
			return "lock arm {credential} 2 1 20 30 10 20 none"
		}
		return "lock arm {credential} 2 2 10 10 20 20 none"
	}
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// edit moves the end of the period that is not the switching point or, again, the switching point.
func (s *scene) edit(again bool) string {
	on, off := s.on, s.off
	pointIsOn := uint16(calendar.SecondOfDay(s.point)/calendar.Minute) == on
	switch {
	case pointIsOn != again:
		off += 15
		if off > spec.MinutesPerDay {
			off -= 30
		}
	case pointIsOn:
		on -= 5
	default:
		on -= 15
	}
	if again && !pointIsOn {
		on, off = s.on, s.off-5
	}
	return fmt.Sprintf("period %s every 1 %s %s", s.table, wire.AppendTime(nil, on), wire.AppendTime(nil, off))
}

// boost returns a length of at least half an hour if the unit has one and, longer, another.
func (s *scene) boost(longer bool) int {
	step, longest := int(s.t.w.ics.BoostStep), int(s.t.w.ics.BoostLongest)
	m := min((29/step+1)*step, longest)
	if longer {
		m = min(m+step, longest)
	}
	return m
}

// setting sets the clock five minutes on, or to shortly before the anchor where it does not run.
func (s *scene) setting() string {
	reading, err := s.now()
	if err != nil {
		reading = s.anchor - gap
	}
	reading += 5 * calendar.Minute
	year, month, day := calendar.Date(calendar.DayOf(reading))
	return fmt.Sprintf("clock %04d-%02d-%02d %s", year, month, day, wire.AppendTime(nil, uint16(calendar.SecondOfDay(reading)/calendar.Minute)))
}
