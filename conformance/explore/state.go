package explore

import (
	"encoding/binary"
	"fmt"
	"hash/fnv"
	"sync"

	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// state is what a unit remembers, in six words: what is large and repeats itself is kept once, see [memory].
type state [6]uint64

// hash mixes a state's words.
func (s *state) hash() uint64 {
	h := uint64(0x9e3779b97f4a7c15)
	for _, w := range s {
		h = mix(h ^ w)
	}
	return h
}

// mix is the finalizer of splitmix64 (Steele, Lea and Flood, 2014; from memory): each bit of x bears on each of the result.
func mix(x uint64) uint64 {
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

type tables [spec.NumChannels][7][spec.MaxPeriods]spec.Period

// memory keeps the tables and the lock's terms that have come up. Their names are hashes of what they are, so that they do not depend on
// which came up first; if two ever had the same, the exploration would stop.
type memory struct {
	mu     sync.RWMutex
	tables map[uint32]*tables
	terms  map[uint32]*spec.LockTerms
}

func newMemory() *memory {
	return &memory{tables: map[uint32]*tables{}, terms: map[uint32]*spec.LockTerms{}}
}

func nameOfTables(t *tables) uint32 {
	h := fnv.New32a()
	var b [4]byte
	for c := range t {
		for d := range t[c] {
			for _, p := range t[c][d] {
				binary.LittleEndian.PutUint16(b[:], p.On)
				binary.LittleEndian.PutUint16(b[2:], p.Off)
				h.Write(b[:])
			}
		}
	}
	return h.Sum32()
}

func nameOfTerms(t *spec.LockTerms) uint32 {
	h := fnv.New32a()
	fmt.Fprint(h, *t)
	return h.Sum32()
}

// keep keeps a value under its name.
func keep[T comparable](mu *sync.RWMutex, kept map[uint32]*T, name uint32, value *T) {
	mu.RLock()
	known := kept[name]
	mu.RUnlock()
	if known == nil {
		mu.Lock()
		defer mu.Unlock()
		if known = kept[name]; known == nil {
			v := *value
			kept[name] = &v
			return
		}
	}
	if *known != *value {
		panic("two tables or terms of the lock have one name: change the bounds a little")
	}
}

func get[T any](mu *sync.RWMutex, kept map[uint32]*T, name uint32) *T {
	mu.RLock()
	defer mu.RUnlock()
	return kept[name]
}

// names are the names of what a worker last packed, which mostly stays the same.
type names struct {
	memory    *memory
	tables    tables
	tablesID  uint32
	terms     spec.LockTerms
	termsID   uint32
	anyTables bool
	anyTerms  bool
}

func (n *names) ofTables(f *emulator.Facts) uint32 {
	t := tables{f.Channels[spec.HW].Table, f.Channels[spec.CH].Table}
	if !n.anyTables || t != n.tables {
		n.tables, n.tablesID, n.anyTables = t, nameOfTables(&t), true
		keep(&n.memory.mu, n.memory.tables, n.tablesID, &t)
	}
	return n.tablesID
}

func (n *names) ofTerms(f *emulator.Facts) uint32 {
	if !n.anyTerms || f.Lock.Terms != n.terms {
		n.terms, n.termsID, n.anyTerms = f.Lock.Terms, nameOfTerms(&f.Lock.Terms), true
		keep(&n.memory.mu, n.memory.terms, n.termsID, &n.terms)
	}
	return n.termsID
}

// canonical changes facts to those of the state that stands for all that are alike from here on, and returns by how many days it has
// moved the clock. Now and Stopped are only ever compared with each other and with what is kept relative to them.
func canonical(f *emulator.Facts, by shifting) (days int) {
	if by != exact {
		f.Now = 0
	}
	f.Stopped = 0
	if f.ClockStopped {
		f.Stopped = f.Now
	}
	if f.ClockSet && (by == dayShift || by == weekShift) {
		// To 2026-11-16, a Monday, or its week. A zone moves the date by a day at most, for every state alike.
		day := calendar.DayOf(f.UTC)
		days = day - calendar.Days(2026, 11, 16)
		if by == weekShift {
			days -= calendar.Weekday(day)
		}
		f.UTC -= int64(days) * calendar.Day
		if f.Holiday.On {
			f.Holiday.EndDate -= days
		}
	}
	switch l := &f.Lock; l.Stage {
	case spec.Restricted:
		// The last stage has no end: only where in the hour it is matters.
		l.Counted = uint64(l.Terms.Days) * calendar.Day
		l.InStage %= calendar.Hour
	case spec.Notice:
		l.InStage %= calendar.Hour
	}
	return days
}

// pack packs canonical facts.
func (n *names) pack(f *emulator.Facts) state {
	hw, ch := &f.Channels[spec.HW], &f.Channels[spec.CH]
	bits := uint64(0)
	put := func(v uint64, width int) { bits = bits<<width | v }
	flag := func(b bool) {
		if b {
			put(1, 1)
		} else {
			put(0, 1)
		}
	}
	flag(f.Powered)
	flag(f.ClockStopped)
	flag(f.ClockSet)
	flag(hw.Override)
	flag(ch.Override)
	flag(f.Holiday.On)
	put(uint64(hw.Mode), 2)
	put(uint64(ch.Mode), 2)
	put(uint64(f.Lock.Stage), 2)
	for _, fitted := range [...]*spec.Fitted{&f.Back, &f.Fitted} {
		put(uint64(fitted.Channels), 2)
		put(uint64(fitted.Cycle), 2)
		put(uint64(fitted.Timing), 1)
		put(uint64(fitted.Coupling), 1)
	}
	put(uint64(f.Shown[spec.SigHW]), 1)
	put(uint64(f.Shown[spec.SigCH]), 1)
	put(uint64(f.Shown[spec.SigAlert]), 2)
	put(uint64(f.Shown[spec.SigSounder]), 1)
	put(uint64(f.Holiday.Days), 7)
	put(uint64(uint32(f.Holiday.EndDate)), 16) // 2099 is day 36 524
	return state{
		uint64(f.UTC),
		f.ReserveLeft<<32 | uint64(n.ofTables(f)),
		hw.BoostLeft<<32 | ch.BoostLeft,
		f.Lock.Counted<<32 | f.Lock.InStage,
		f.Now<<32 | uint64(n.ofTerms(f)),
		bits,
	}
}

// unpack is the reverse.
func (m *memory) unpack(s *state, f *emulator.Facts) {
	*f = emulator.Facts{}
	bits := s[5]
	take := func(width int) uint64 {
		v := bits & (1<<width - 1)
		bits >>= width
		return v
	}
	hw, ch := &f.Channels[spec.HW], &f.Channels[spec.CH]
	f.Holiday.EndDate = int(take(16))
	f.Holiday.Days = int(take(7))
	f.Shown[spec.SigSounder] = spec.Level(take(1))
	f.Shown[spec.SigAlert] = spec.Level(take(2))
	f.Shown[spec.SigCH] = spec.Level(take(1))
	f.Shown[spec.SigHW] = spec.Level(take(1))
	for _, fitted := range [...]*spec.Fitted{&f.Fitted, &f.Back} {
		fitted.Coupling = spec.Coupling(take(1))
		fitted.Timing = spec.Timing(take(1))
		fitted.Cycle = spec.Cycle(take(2))
		fitted.Channels = spec.Channels(take(2))
	}
	f.Lock.Stage = spec.Stage(take(2))
	ch.Mode = spec.Mode(take(2))
	hw.Mode = spec.Mode(take(2))
	f.Holiday.On = take(1) == 1
	ch.Override = take(1) == 1
	hw.Override = take(1) == 1
	f.ClockSet = take(1) == 1
	f.ClockStopped = take(1) == 1
	f.Powered = take(1) == 1

	f.UTC = int64(s[0])
	f.ReserveLeft = s[1] >> 32
	t := get(&m.mu, m.tables, uint32(s[1]))
	hw.Table, ch.Table = t[spec.HW], t[spec.CH]
	hw.BoostLeft, ch.BoostLeft = s[2]>>32, s[2]&0xffffffff
	f.Lock.Counted, f.Lock.InStage = s[3]>>32, s[3]&0xffffffff
	f.Lock.Terms = *get(&m.mu, m.terms, uint32(s[4]))
	f.Now = s[4] >> 32
	if f.ClockStopped {
		f.Stopped = f.Now
	}
}
