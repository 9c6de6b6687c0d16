package explore

import (
	"bytes"
	"encoding/binary"
	"sync"
)

// forest keeps the memories of a firmware, whole and without repeating what they share: each is a tree over its pieces of 32 bytes, eight
// to a node, and equal trees are kept once. A root is a memory's name: two memories are equal if, and only if, their roots are. (Tree compression of state
// vectors: S. Blom, B. Lisser, J. van de Pol and M. Weber, 'A Database Approach to Distributed State Space Generation', ENTCS 198, 2007; from memory.)
//
// Names depend on the order in which memories came up, and so on chance where there are several workers. Hashes depend on what is in them alone.
type forest struct {
	stripes [stripes]stripe
}

const (
	leafWords  = 4
	leafBytes  = leafWords * 8
	fanOut     = 8 // two names to a word
	stripeBits = 6
	stripes    = 1 << stripeBits
)

// node is a leaf's words, or the names of what is under it.
type node [leafWords]uint64

type stripe struct {
	mu     sync.RWMutex
	chunks []*[chunk]node
	n      uint32
	index  []uint32
	hashes []uint64
}

func newForest() *forest { return &forest{} }

func (f *forest) at(name uint32) node {
	s := &f.stripes[name&(stripes-1)]
	s.mu.RLock()
	defer s.mu.RUnlock()
	i := name >> stripeBits
	return s.chunks[i/chunk][i%chunk]
}

func (f *forest) hash(name uint32) uint64 {
	s := &f.stripes[name&(stripes-1)]
	s.mu.RLock()
	defer s.mu.RUnlock()
	return s.hashes[name>>stripeBits]
}

// keep returns the name of a node, whose hash is that of all that is under it.
func (f *forest) keep(n *node, hash uint64) uint32 {
	number := hash >> (64 - stripeBits)
	s := &f.stripes[number]
	s.mu.RLock()
	i, known := s.find(n, hash)
	s.mu.RUnlock()
	if !known {
		s.mu.Lock()
		i = s.add(n, hash)
		s.mu.Unlock()
	}
	return i<<stripeBits | uint32(number)
}

func (s *stripe) find(n *node, hash uint64) (uint32, bool) {
	if len(s.index) == 0 {
		return 0, false
	}
	mask := uint64(len(s.index) - 1)
	for i := hash & mask; s.index[i] != 0; i = (i + 1) & mask {
		if p := s.index[i] - 1; s.hashes[p] == hash && s.chunks[p/chunk][p%chunk] == *n {
			return p, true
		}
	}
	return 0, false
}

func (s *stripe) add(n *node, hash uint64) uint32 {
	if p, known := s.find(n, hash); known {
		return p
	}
	if uint64(s.n)*4 >= uint64(len(s.index))*3 {
		s.index = make([]uint32, max(1024, 2*len(s.index)))
		for p, h := range s.hashes {
			s.put(h, uint32(p))
		}
	}
	if s.n%chunk == 0 {
		s.chunks = append(s.chunks, new([chunk]node))
	}
	p := s.n
	s.chunks[p/chunk][p%chunk] = *n
	s.hashes = append(s.hashes, hash)
	s.n++
	s.put(hash, p)
	return p
}

func (s *stripe) put(hash uint64, p uint32) {
	mask := uint64(len(s.index) - 1)
	i := hash & mask
	for s.index[i] != 0 {
		i = (i + 1) & mask
	}
	s.index[i] = p + 1
}

// tree is one memory as a worker holds it: the names of all nodes, from the leaves up, so that a memory that differs in a few words costs
// little.
type tree struct {
	forest *forest
	names  [][]uint32 // by level, the leaves' first
	hashes [][]uint64
	undo   [][]saved // by level, while a memory that differs is named
}

func newTree(f *forest, size int) *tree {
	t := &tree{forest: f}
	for n := (size + leafBytes - 1) / leafBytes; ; n = (n + fanOut - 1) / fanOut {
		t.names = append(t.names, make([]uint32, n))
		t.hashes = append(t.hashes, make([]uint64, n))
		t.undo = append(t.undo, nil)
		if n == 1 {
			return t
		}
	}
}

func (t *tree) root() uint32 { return t.names[len(t.names)-1][0] }

// leaf returns a leaf's words; the last one is filled up with zeros.
func leaf(memory []byte, i int) (n node) {
	var b [leafBytes]byte
	copy(b[:], memory[i*leafBytes:])
	for w := range n {
		n[w] = binary.LittleEndian.Uint64(b[w*8:])
	}
	return n
}

func hashLeaf(n *node) uint64 {
	h := uint64(1)
	for _, w := range n {
		h = mix(h*0x9e3779b97f4a7c15 ^ w)
	}
	return h
}

// build names a whole memory.
func (t *tree) build(memory []byte) {
	for i := range t.names[0] {
		t.setLeaf(memory, i)
	}
	for level := 1; level < len(t.names); level++ {
		for i := range t.names[level] {
			t.setNode(level, i)
		}
	}
}

func (t *tree) setLeaf(memory []byte, i int) {
	n := leaf(memory, i)
	t.hashes[0][i] = hashLeaf(&n)
	t.names[0][i] = t.forest.keep(&n, t.hashes[0][i])
}

func (t *tree) setNode(level, i int) {
	names, hashes := t.names[level-1], t.hashes[level-1]
	var n node
	h := uint64(level) + 1
	for j := range min(fanOut, len(names)-i*fanOut) {
		n[j/2] |= uint64(names[i*fanOut+j]) << (32 * (j % 2))
		h = mix(h*0x9e3779b97f4a7c15 ^ hashes[i*fanOut+j])
	}
	t.hashes[level][i] = h
	t.names[level][i] = t.forest.keep(&n, h)
}

// load makes the tree that of a root, and memory what it names.
func (t *tree) load(root uint32, memory []byte) {
	t.loadNode(len(t.names)-1, 0, root, memory)
}

func (t *tree) loadNode(level, i int, name uint32, memory []byte) {
	hash := t.forest.hash(name)
	if t.names[level][i] == name && t.hashes[level][i] == hash {
		return // and all under it
	}
	t.names[level][i], t.hashes[level][i] = name, hash
	n := t.forest.at(name)
	if level > 0 {
		for j := range min(fanOut, len(t.names[level-1])-i*fanOut) {
			t.loadNode(level-1, i*fanOut+j, uint32(n[j/2]>>(32*(j%2))), memory)
		}
		return
	}
	var b [leafBytes]byte
	for w := range n {
		binary.LittleEndian.PutUint64(b[w*8:], n[w])
	}
	copy(memory[i*leafBytes:], b[:])
}

// saved is a node as it was.
type saved struct {
	i    int
	name uint32
	hash uint64
}

// with returns the root of a memory that is another one's with some changes; the tree stays as it was.
func (t *tree) with(was, is []byte) uint32 {
	if bytes.Equal(was, is) {
		return t.root()
	}
	for i := range t.undo {
		t.undo[i] = t.undo[i][:0]
	}
	undo := t.undo
	for i := range t.names[0] {
		from, to := i*leafBytes, min((i+1)*leafBytes, len(is))
		if !bytes.Equal(was[from:to], is[from:to]) {
			undo[0] = append(undo[0], saved{i, t.names[0][i], t.hashes[0][i]})
			t.setLeaf(is, i)
		}
	}
	for level := 1; level < len(t.names); level++ {
		last := -1
		for _, below := range undo[level-1] {
			if i := below.i / fanOut; i != last {
				undo[level] = append(undo[level], saved{i, t.names[level][i], t.hashes[level][i]})
				t.setNode(level, i)
				last = i
			}
		}
	}
	root := t.root()
	for level := range t.names {
		for _, s := range undo[level] {
			t.names[level][s.i], t.hashes[level][s.i] = s.name, s.hash
		}
	}
	return root
}
