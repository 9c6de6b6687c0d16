package explore

// A place is where a state is kept: its shard in the low bits, its position there above them.
type place uint32

const (
	shardBits = 6
	shards    = 1 << shardBits
	// chunk is how many states are kept in one piece of memory, so that nothing is copied when there are more.
	chunk = 1 << 10
)

// entry is a state that has been seen, with the first way to it.
type entry struct {
	state  state
	root   uint32 // the firmware's memory, see [forest]; 0 without one
	parent place
	letter uint16
}

// candidate is a state that may be new.
type candidate struct {
	entry
	hash uint64 // of state and firmware's memory: the same in every run
}

// store is the set of the states that have been seen. It may be read by many at once while no one adds, and added to by many at once in
// different lanes.
type store struct {
	shards [shards]shard
}

// shard is a part of the set: entries in the order in which they came, and an index of them by hash, open addressed.
type shard struct {
	chunks []*[chunk]entry
	n      uint32
	index  []slot // its length is a power of two, at least 4/3 of n
}

// A slot has a state's position + 1 in its low bits, and above them some bits of its hash, so that the entry itself, which is far away in
// memory, is looked at only where it most likely is the one sought. 0 is free.
type slot uint32

const (
	positionBits = 20
	positionMask = 1<<positionBits - 1
)

// Hashes spread states over the shards so evenly that none gets a quarter more than its share, for which there is room.
const _ = uint(shards*positionMask - MaxStates*5/4)

func newSlot(hash uint64, position uint32) slot { return slot(position+1) | tagOf(hash) }

func tagOf(hash uint64) slot { return slot(hash>>24) &^ positionMask }

func shardOf(hash uint64) int { return int(hash >> (64 - shardBits)) }

func (s *store) at(p place) *entry {
	sh := &s.shards[p&(shards-1)]
	return sh.at(uint32(p >> shardBits))
}

func (sh *shard) at(i uint32) *entry { return &sh.chunks[i/chunk][i%chunk] }

func same(a, b *entry) bool { return a.state == b.state && a.root == b.root }

// find returns the place in the index of an entry, or of the free slot where it would be. The index must have one.
func (sh *shard) find(e *entry, hash uint64) (i uint64, known bool) {
	mask := uint64(len(sh.index) - 1)
	tag := tagOf(hash)
	for i = hash & mask; ; i = (i + 1) & mask {
		at := sh.index[i]
		if at == 0 {
			return i, false
		}
		if at&^positionMask == tag && same(sh.at(uint32(at&positionMask-1)), e) {
			return i, true
		}
	}
}

// fresh calls keep with those of the candidates that have not been seen. Of a large set every slot and every entry has to be fetched from far
// away; those of all candidates are asked for first, since the processor then waits for them together.
func (s *store) fresh(list []candidate, keep func(*candidate)) {
	var near [maxNear]slot
	read := uint64(0)
	for from := 0; from < len(list); from += maxNear {
		part := list[from:min(from+maxNear, len(list))]
		for i := range part {
			near[i] = 0
			hash := part[i].hash
			if sh := &s.shards[shardOf(hash)]; len(sh.index) > 0 {
				near[i] = sh.index[hash&uint64(len(sh.index)-1)]
			}
		}
		for i := range part {
			if near[i]&^positionMask == tagOf(part[i].hash) && near[i] != 0 {
				read += s.shards[shardOf(part[i].hash)].at(uint32(near[i]&positionMask - 1)).state[0]
			}
		}
	}
	s.touched(read)
	for i := range list {
		c := &list[i]
		sh := &s.shards[shardOf(c.hash)]
		if len(sh.index) > 0 {
			if _, known := sh.find(&c.entry, c.hash); known {
				continue
			}
		}
		keep(c)
	}
}

// touched keeps what has been read for its own sake from being left out.
//
//go:noinline
func (s *store) touched(uint64) {}

// maxNear is how many candidates are looked for together.
const maxNear = 16

// add adds those of the candidates, which are all of one lane, that have not been seen. rehash returns the hash of an entry.
func (s *store) add(list []candidate, rehash func(*entry) uint64) {
	for i := range list {
		c := &list[i]
		sh := &s.shards[shardOf(c.hash)]
		if uint64(sh.n)*4 >= uint64(len(sh.index))*3 {
			sh.grow(rehash)
		}
		at, known := sh.find(&c.entry, c.hash)
		if known {
			continue
		}
		if sh.n%chunk == 0 {
			sh.chunks = append(sh.chunks, new([chunk]entry))
		}
		*sh.at(sh.n) = c.entry
		sh.index[at] = newSlot(c.hash, sh.n)
		sh.n++
	}
}

func (sh *shard) grow(rehash func(*entry) uint64) {
	sh.index = make([]slot, max(1024, 2*len(sh.index)))
	mask := uint64(len(sh.index) - 1)
	for p := range sh.n {
		hash := rehash(sh.at(p))
		i := hash & mask
		for sh.index[i] != 0 {
			i = (i + 1) & mask
		}
		sh.index[i] = newSlot(hash, p)
	}
}

// size returns how many states there are.
func (s *store) size() int {
	n := 0
	for i := range s.shards {
		n += int(s.shards[i].n)
	}
	return n
}
