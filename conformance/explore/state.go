package explore

import (
	"encoding/binary"
	"fmt"
	"hash/fnv"
	"math/bits"
	"sync"

	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// state is what a unit remembers, in six words: what is large and repeats itself is kept once, see [memory].
type state [6]uint64

// is reports whether two states are one: word by word, as they have just been written.
func (s *state) is(t *state) bool {
	return (s[0]^t[0])|(s[1]^t[1])|(s[2]^t[2])|(s[3]^t[3])|(s[4]^t[4])|(s[5]^t[5]) == 0
}

// tables returns the name of the tables.
func (s *state) tables() uint32 { return uint32(s[1]) }

// hash mixes a state's words: in pairs, by the upper and the lower half of a product, which the processor works out at once (after wyhash by
// Wang Yi, in the public domain; from memory), and then once more.
func (s *state) hash() uint64 {
	return mix(pair(s[0]^0xa0761d6478bd642f, s[1]^0xe7037ed1a0b428db) ^
		pair(s[2]^0x8ebc6af09c88c6e3, s[3]^0x589965cc75374cc3) ^
		pair(s[4]^0x1d8e4e27c47d124f, s[5]^0xeb44accab455d165))
}

func pair(a, b uint64) uint64 {
	upper, lower := bits.Mul64(a, b)
	return upper ^ lower
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

// nameOf returns the name of a value that a worker has named before, or names it. name makes names.
func nameOf[T comparable](mu *sync.RWMutex, kept map[uint32]*T, own map[T]uint32, value *T, name func(*T) uint32) uint32 {
	id, known := own[*value]
	if !known {
		id = name(value)
		keep(mu, kept, id, value)
		own[*value] = id
	}
	return id
}

// valueOf returns the value with a name, from a worker's own where it has it.
func valueOf[T any](mu *sync.RWMutex, kept, own map[uint32]*T, name uint32) *T {
	value := own[name]
	if value == nil {
		mu.RLock()
		value = kept[name]
		mu.RUnlock()
		own[name] = value
	}
	return value
}

// sheet is facts with the name of the tables in them, so that tables are copied and named only where they are others. Its zero value has no tables.
type sheet struct {
	emulator.Facts
	tables uint32
	filled bool
}

// names are a worker's own memory, which it need not share out.
type names struct {
	memory   *memory
	tables   map[uint32]*tables
	tablesID map[tables]uint32
	terms    map[uint32]*spec.LockTerms
	termsID  map[spec.LockTerms]uint32
	last     struct { // what was named or unpacked last, which is mostly what is next
		tables   tables
		tablesID uint32
		terms    *spec.LockTerms
		termsID  uint32
	}
}

func newNames(m *memory) names {
	n := names{memory: m, tables: map[uint32]*tables{}, tablesID: map[tables]uint32{}, terms: map[uint32]*spec.LockTerms{}, termsID: map[spec.LockTerms]uint32{}}
	n.last.terms = &spec.LockTerms{}
	n.last.tablesID, n.last.termsID = n.ofTables(&n.last.tables), n.ofTerms(n.last.terms)
	return n
}

func (n *names) ofTables(t *tables) uint32 {
	return nameOf(&n.memory.mu, n.memory.tables, n.tablesID, t, nameOfTables)
}

func (n *names) ofTerms(t *spec.LockTerms) uint32 {
	return nameOf(&n.memory.mu, n.memory.terms, n.termsID, t, nameOfTerms)
}

// name names a sheet's tables.
func (n *names) name(f *sheet) {
	last := &n.last.tables
	if hw, ch := &f.Channels[spec.HW].Table, &f.Channels[spec.CH].Table; last[spec.HW] != *hw || last[spec.CH] != *ch {
		*last = tables{*hw, *ch}
		n.last.tablesID = n.ofTables(last)
	}
	f.tables, f.filled = n.last.tablesID, true
}

// fill puts tables with a name on a sheet.
func (n *names) fill(f *sheet, id uint32) {
	if f.filled && f.tables == id {
		return
	}
	t := valueOf(&n.memory.mu, n.memory.tables, n.tables, id)
	f.Channels[spec.HW].Table, f.Channels[spec.CH].Table = t[spec.HW], t[spec.CH]
	f.tables, f.filled = id, true
}

// termsOf makes terms with a name those unpacked last.
func (n *names) termsOf(id uint32) *spec.LockTerms {
	if id != n.last.termsID {
		n.last.terms, n.last.termsID = valueOf(&n.memory.mu, n.memory.terms, n.terms, id), id
	}
	return n.last.terms
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
	if period := periods[by]; period > 0 && f.ClockSet {
		// To the Monday, or its week. A zone moves the date by a day at most, for every state alike.
		if since := f.UTC - monday*calendar.Day; since < 0 || since >= period {
			days = int(since/period*period) / calendar.Day
			if since%period < 0 {
				days -= int(period) / calendar.Day
			}
			f.UTC -= int64(days) * calendar.Day
			if f.Holiday.On {
				f.Holiday.EndDate -= days
			}
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

// monday is the day to which days are shifted.
var monday = int64(calendar.Days(2026, 11, 16))

// periods are the seconds after which states are alike again; 0 is never.
var periods = [...]int64{exact: 0, noShift: 0, dayShift: calendar.Day, weekShift: calendar.Week}

// bit is 1 for true.
func bit(b bool) uint64 {
	if b {
		return 1
	}
	return 0
}

// fittedBits are what is fitted, in six bits.
func fittedBits(f *spec.Fitted) uint64 {
	return uint64(f.Channels)<<4 | uint64(f.Cycle)<<2 | uint64(f.Timing)<<1 | uint64(f.Coupling)
}

// maxElapsed is how many seconds a state has room for. A clock that is set comes to the horizon first; one that is not runs into no horizon.
const maxElapsed = 1<<32 - 1

// pack packs canonical facts, whose tables have a name.
func (n *names) pack(f *sheet, s *state) {
	hw, ch := &f.Channels[spec.HW], &f.Channels[spec.CH]
	small := bit(f.Powered)<<51 | bit(f.ClockStopped)<<50 | bit(f.ClockSet)<<49 | bit(hw.Override)<<48 | bit(ch.Override)<<47 | bit(f.Holiday.On)<<46 |
		uint64(hw.Mode)<<44 | uint64(ch.Mode)<<42 | uint64(f.Lock.Stage)<<40 | fittedBits(&f.Back)<<34 | fittedBits(&f.Fitted)<<28 |
		uint64(f.Shown[spec.SigHW])<<27 | uint64(f.Shown[spec.SigCH])<<26 | uint64(f.Shown[spec.SigAlert])<<24 | uint64(f.Shown[spec.SigSounder])<<23 |
		uint64(f.Holiday.Days)<<16 |
		uint64(uint16(f.Holiday.EndDate)) // 2099 is day 36 524
	termsID := n.last.termsID
	if f.Lock.Terms != *n.last.terms {
		termsID = n.ofTerms(&f.Lock.Terms)
	}
	// One by one: a literal would be put together elsewhere first, and waited for.
	s[0] = uint64(f.UTC)
	s[1] = f.ReserveLeft<<32 | uint64(f.tables)
	s[2] = hw.BoostLeft<<32 | ch.BoostLeft
	s[3] = f.Lock.Counted<<32 | f.Lock.InStage
	s[4] = f.Now<<32 | uint64(termsID)
	s[5] = small
}

// unpack is the reverse.
func (n *names) unpack(s *state, f *sheet) {
	small := s[5]
	take := func(width int) uint64 {
		v := small & (1<<width - 1)
		small >>= width
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
	n.fill(f, s.tables())
	hw.BoostLeft, ch.BoostLeft = s[2]>>32, s[2]&0xffffffff
	f.Lock.Counted, f.Lock.InStage = s[3]>>32, s[3]&0xffffffff
	f.Lock.Terms = *n.termsOf(uint32(s[4]))
	f.Now, f.Stopped = s[4]>>32, 0
	if f.ClockStopped {
		f.Stopped = f.Now
	}
}
