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
	root   uint32 // the firmware's memory but for the leaf that changes most, see [forest]; 0 without one
	parent place
	letter uint16
}

// candidate is a state that may be new.
type candidate struct {
	entry
	hash uint64 // of state and firmware's memory: the same in every run
}

// candidates are some, and with a firmware the leaf of each that changes most.
type candidates struct {
	list   []candidate
	leaves []node
}

func (c *candidates) clear() { c.list, c.leaves = c.list[:0], c.leaves[:0] }

// leaf is nil without a firmware.
func (c *candidates) leaf(i int) *node {
	if len(c.leaves) == 0 {
		return nil
	}
	return &c.leaves[i]
}

// add adds one of others.
func (c *candidates) add(others *candidates, i int) {
	c.list = append(c.list, others.list[i])
	if leaf := others.leaf(i); leaf != nil {
		c.leaves = append(c.leaves, *leaf)
	}
}

// store is the set of the states that have been seen. It may be read by many at once while no one adds, and added to by many at once in
// different lanes.
type store struct {
	shards [shards]shard
}

// shard is a part of the set: entries in the order in which they came, and an index of them by hash, open addressed.
type shard struct {
	chunks []*[chunk]entry
	leaves []*[chunk]node // with a firmware: of each entry the leaf that changes most
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

// leaf returns the leaf that goes with an entry; nil without a firmware.
func (s *store) leaf(p place) *node { return s.shards[p&(shards-1)].leaf(uint32(p >> shardBits)) }

func (sh *shard) leaf(i uint32) *node {
	if len(sh.leaves) == 0 {
		return nil
	}
	return &sh.leaves[i/chunk][i%chunk]
}

func same(a, b *entry) bool { return a.state.is(&b.state) && a.root == b.root }

// find returns the place in the index of an entry with its leaf, or of the free slot where it would be. The index must have one.
func (sh *shard) find(e *entry, leaf *node, hash uint64) (i uint64, known bool) {
	mask := uint64(len(sh.index) - 1)
	tag := tagOf(hash)
	for i = hash & mask; ; i = (i + 1) & mask {
		at := sh.index[i]
		if at == 0 {
			return i, false
		}
		if at&^positionMask == tag {
			if p := uint32(at&positionMask - 1); same(sh.at(p), e) && (leaf == nil || *sh.leaf(p) == *leaf) {
				return i, true
			}
		}
	}
}

// near returns the slot at which a hash's search begins.
func (s *store) near(hash uint64) slot {
	if sh := &s.shards[shardOf(hash)]; len(sh.index) > 0 {
		return sh.index[hash&uint64(len(sh.index)-1)]
	}
	return 0
}

// fresh calls keep with those of the candidates that have not been seen, in their order, until it returns false. Of a large set every slot and
// every entry has to be fetched from far away; those of many candidates are asked for first, since the processor then waits for them together.
func (s *store) fresh(of *candidates, keep func(i int) bool) {
	var near [together]slot
	for from := 0; from < len(of.list); from += together {
		part := of.list[from:min(from+together, len(of.list))]
		for i := range part {
			near[i] = s.near(part[i].hash)
		}
		read := uint64(0)
		for i := range part {
			if at, hash := near[i], part[i].hash; at != 0 && at&^positionMask == tagOf(hash) {
				sh, p := &s.shards[shardOf(hash)], uint32(at&positionMask-1)
				read += sh.at(p).state[0]
				if len(of.leaves) > 0 {
					read += sh.leaf(p)[0]
				}
			}
		}
		s.touched(read)
		for i := range part {
			c := &part[i]
			if near[i] != 0 {
				if _, known := s.shards[shardOf(c.hash)].find(&c.entry, of.leaf(from+i), c.hash); known {
					continue
				}
			}
			if !keep(from + i) {
				return
			}
		}
	}
}

// together is how many candidates are looked for together.
const together = 64

// touched keeps what has been read for its own sake from being left out.
//
//go:noinline
func (s *store) touched(uint64) {}

// add adds those of the candidates, which are all of one lane, that have not been seen. rehash returns the hash of an entry with its leaf.
func (s *store) add(of *candidates, rehash func(*entry, *node) uint64) {
	for i := range of.list {
		if i%together == 0 {
			read := slot(0)
			part := of.list[i:min(i+together, len(of.list))]
			for j := range part {
				read += s.near(part[j].hash)
			}
			s.touched(uint64(read))
		}
		c, leaf := &of.list[i], of.leaf(i)
		sh := &s.shards[shardOf(c.hash)]
		if uint64(sh.n)*4 >= uint64(len(sh.index))*3 {
			sh.grow(rehash)
		}
		at, known := sh.find(&c.entry, leaf, c.hash)
		if known {
			continue
		}
		if sh.n%chunk == 0 {
			sh.chunks = append(sh.chunks, new([chunk]entry))
			if leaf != nil {
				sh.leaves = append(sh.leaves, new([chunk]node))
			}
		}
		*sh.at(sh.n) = c.entry
		if leaf != nil {
			*sh.leaf(sh.n) = *leaf
		}
		sh.index[at] = newSlot(c.hash, sh.n)
		sh.n++
	}
}

func (sh *shard) grow(rehash func(*entry, *node) uint64) {
	sh.index = make([]slot, max(1024, 2*len(sh.index)))
	mask := uint64(len(sh.index) - 1)
	for p := range sh.n {
		hash := rehash(sh.at(p), sh.leaf(p))
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
