package explore

import (
	"sync"
	"sync/atomic"
)

// forest keeps the memories of a firmware, but for the leaf that changes most, whole and without repeating what they share: each is a tree over its
// leaves of 64 bytes, and equal trees are kept once. A root is a memory's name: two memories are equal if, and only if, their roots and those
// leaves are. (Tree compression of state vectors: S. Blom, B. Lisser, J. van de Pol and M. Weber, 'A Database Approach to Distributed State Space
// Generation', ENTCS 198, 2007; from memory.)
//
// Names depend on the order in which memories came up, and so on chance where there are several workers. Hashes depend on what is in them alone.
//
// Whoever looks for a node that is known waits for no one: what is kept is never moved or changed, and is published when it is whole.
type forest struct {
	stripes [stripes]stripe
}

const (
	nodeWords  = 8
	leafBytes  = nodeWords * 8
	fanOut     = 2 * nodeWords
	stripeBits = 4
	stripes    = 1 << stripeBits
)

// node is a leaf's words, or the names of what is under it, two to a word.
type node [nodeWords]uint64

// setName makes a name that was 0 another, or any one another by what both differ in.
func (n *node) setName(i int, name uint32) { n[i/2] ^= uint64(name) << (32 * (i % 2)) }

func (n *node) name(i int) uint32 { return uint32(n[i/2] >> (32 * (i % 2))) }

// hash mixes a leaf's words, as a state's are.
func (n *node) hash() uint64 {
	return mix(pair(n[0]^0xa0761d6478bd642f, n[1]^0xe7037ed1a0b428db) ^ pair(n[2]^0x8ebc6af09c88c6e3, n[3]^0x589965cc75374cc3) ^
		pair(n[4]^0x1d8e4e27c47d124f, n[5]^0xeb44accab455d165) ^ pair(n[6]^0x9c8f2d3f0b4fd1b3, n[7]^0x6a09e667f3bcc909))
}

type stripe struct {
	chunks atomic.Pointer[[]*grove]
	index  atomic.Pointer[[]atomic.Uint64] // of each node the upper half of its hash and its position + 1; 0 is free
	mu     sync.Mutex                      // of whoever adds
	n      uint32
}

// grove is a piece of memory with many nodes.
type grove struct {
	nodes  [chunk]node
	hashes [chunk]uint64
}

func newForest() *forest {
	f := &forest{}
	for i := range f.stripes {
		s := &f.stripes[i]
		index := make([]atomic.Uint64, 1024)
		s.index.Store(&index)
		s.chunks.Store(new([]*grove))
	}
	return f
}

func (f *forest) at(name uint32) *node {
	i := name >> stripeBits
	return &(*f.stripes[name&(stripes-1)].chunks.Load())[i/chunk].nodes[i%chunk]
}

func (f *forest) hash(name uint32) uint64 {
	i := name >> stripeBits
	return (*f.stripes[name&(stripes-1)].chunks.Load())[i/chunk].hashes[i%chunk]
}

// keep returns the name of a node, whose hash is that of all that is under it.
func (f *forest) keep(n *node, hash uint64) uint32 {
	number := hash & (stripes - 1)
	s := &f.stripes[number]
	i, _, known := s.find(n, hash)
	if !known {
		i = s.add(n, hash)
	}
	return i<<stripeBits | uint32(number)
}

// recent are the nodes that a worker has kept last, near at hand: mostly it is one of them again.
type recent struct {
	forest *forest
	nodes  [recentNodes]struct {
		node node
		named
	}
}

const recentNodes = 1 << 12

func (r *recent) keep(n *node, hash uint64) named {
	at := &r.nodes[hash%recentNodes]
	if at.hash != hash || at.node != *n {
		at.node, at.named = *n, named{r.forest.keep(n, hash), hash}
	}
	return at.named
}

const upperHalf = uint64(0xffffffff) << 32

// find returns a node's position, or the free slot where it would be noted.
func (s *stripe) find(n *node, hash uint64) (position uint32, free *atomic.Uint64, known bool) {
	index := *s.index.Load()
	mask := uint64(len(index) - 1)
	for i := hash >> stripeBits & mask; ; i = (i + 1) & mask {
		slot := index[i].Load()
		if slot == 0 {
			return 0, &index[i], false
		}
		if (slot^hash)&upperHalf == 0 {
			p := uint32(slot) - 1
			if g := (*s.chunks.Load())[p/chunk]; g.nodes[p%chunk] == *n {
				return p, nil, true
			}
		}
	}
}

func (s *stripe) add(n *node, hash uint64) uint32 {
	s.mu.Lock()
	defer s.mu.Unlock()
	if index := *s.index.Load(); uint64(s.n)*4 >= uint64(len(index))*3 {
		s.grow(2 * len(index))
	}
	p, free, known := s.find(n, hash) // another may have added it, or changed the index
	if known {
		return p
	}
	chunks := *s.chunks.Load()
	p = s.n
	if p%chunk == 0 {
		more := append(chunks[:len(chunks):len(chunks)], new(grove))
		s.chunks.Store(&more)
		chunks = more
	}
	g := chunks[p/chunk]
	g.nodes[p%chunk], g.hashes[p%chunk] = *n, hash
	s.n++
	free.Store(hash&upperHalf | uint64(p+1))
	return p
}

func (s *stripe) grow(size int) {
	index := make([]atomic.Uint64, size)
	mask := uint64(size - 1)
	for c, g := range *s.chunks.Load() {
		for j := range min(chunk, int(s.n)-c*chunk) {
			hash := g.hashes[j]
			i := hash >> stripeBits & mask
			for index[i].Load() != 0 {
				i = (i + 1) & mask
			}
			index[i].Store(hash&upperHalf | uint64(c*chunk+j+1))
		}
	}
	s.index.Store(&index)
}
