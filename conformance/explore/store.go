package explore

// A place is where a state is kept: its shard in the low bits, its position there above them.
type place uint32

const (
	shardBits = 6
	shards    = 1 << shardBits
	// chunk is how many states are kept in one piece of memory, so that nothing is copied when there are more.
	chunk = 1 << 12
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

// store is the set of the states that have been seen. It may be read by many at once while no one adds.
type store struct {
	shards [shards]shard
}

// shard is a part of the set: entries in the order in which they came, and an index of them by hash, open addressed.
type shard struct {
	chunks []*[chunk]entry
	n      uint32
	index  []uint32 // position + 1; 0 is free. Its length is a power of two, at least 4/3 of n
}

func shardOf(hash uint64) int { return int(hash >> (64 - shardBits)) }

func (s *store) at(p place) *entry {
	sh := &s.shards[p&(shards-1)]
	return sh.at(uint32(p >> shardBits))
}

func (sh *shard) at(i uint32) *entry { return &sh.chunks[i/chunk][i%chunk] }

func same(a, b *entry) bool { return a.state == b.state && a.root == b.root }

// has reports whether a state has been seen.
func (s *store) has(c *candidate) bool {
	sh := &s.shards[shardOf(c.hash)]
	if len(sh.index) == 0 {
		return false
	}
	mask := uint64(len(sh.index) - 1)
	for i := c.hash & mask; sh.index[i] != 0; i = (i + 1) & mask {
		if same(sh.at(sh.index[i]-1), &c.entry) {
			return true
		}
	}
	return false
}

// add adds a state, or reports that it has been seen. rehash returns the hash of an entry.
func (sh *shard) add(c *candidate, rehash func(*entry) uint64) bool {
	if uint64(sh.n)*4 >= uint64(len(sh.index))*3 {
		sh.grow(rehash)
	}
	mask := uint64(len(sh.index) - 1)
	i := c.hash & mask
	for ; sh.index[i] != 0; i = (i + 1) & mask {
		if same(sh.at(sh.index[i]-1), &c.entry) {
			return false
		}
	}
	if sh.n%chunk == 0 {
		sh.chunks = append(sh.chunks, new([chunk]entry))
	}
	*sh.at(sh.n) = c.entry
	sh.n++
	sh.index[i] = sh.n
	return true
}

func (sh *shard) grow(rehash func(*entry) uint64) {
	sh.index = make([]uint32, max(1024, 2*len(sh.index)))
	mask := uint64(len(sh.index) - 1)
	for p := range sh.n {
		i := rehash(sh.at(p)) & mask
		for sh.index[i] != 0 {
			i = (i + 1) & mask
		}
		sh.index[i] = p + 1
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
