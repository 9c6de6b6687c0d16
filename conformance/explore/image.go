package explore

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"slices"
)

// layout says how a firmware's state is parted into leaves. The one that changes most is no part of the tree: it is mostly another in every state, so
// that a name for it would be one more thing to look up. The few next to it are named by the root itself, so that a state which differs from
// another in two of them costs three names and not two paths through a tree; all others are under the root's last child. That bears on how long it
// takes and on nothing else.
type layout struct {
	leaves []leaf
	apart  int   // the leaf that is no part of the tree
	places []int // of each other leaf: its child of the root, or topLeaves and its place in the tree of the others
	top    []int // the leaves that are children of the root
	levels []int // of the tree of the others: how many nodes there are in each, from the leaves up
	rest   []int // the leaves of that tree
	size   []int // of each part of the state, in bytes
}

// topLeaves is how many leaves are children of the root.
const topLeaves = fanOut - 1

// leaf is where a leaf lies.
type leaf struct{ part, from, to int }

// newLayout parts a state of parts of some sizes, of whose leaves it is known how often they were seen to change.
func newLayout(size []int, changed func(leaf) int) *layout {
	l := &layout{size: size}
	for part, n := range size {
		for from := 0; from < n; from += leafBytes {
			l.leaves = append(l.leaves, leaf{part, from, min(from+leafBytes, n)})
		}
	}
	order := make([]int, len(l.leaves))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(changed(l.leaves[b]), changed(l.leaves[a])) })
	l.apart = -1
	if len(order) > 0 {
		l.apart, order = order[0], order[1:]
	}
	l.top = order[:min(topLeaves, len(order))]
	l.rest = order[len(l.top):]
	l.places = make([]int, len(l.leaves))
	if l.apart >= 0 {
		l.places[l.apart] = -1
	}
	for i, id := range order {
		l.places[id] = i
	}
	for n := len(l.rest); n > 0; n = (n + fanOut - 1) / fanOut {
		l.levels = append(l.levels, n)
		if n == 1 {
			break
		}
	}
	return l
}

// image is one state of a firmware as a worker holds it: its bytes, and the names of all of its tree, from the leaves up.
type image struct {
	forest *forest
	recent recent
	*layout
	parts  [][]byte
	root   named
	under  children // the root's
	top    [topLeaves]named
	others [][]named // by level
	undo   []saved   // while a state that differs is named
	apart  node      // the leaf that is no part of the tree
	taken  taken

	// What is seldom seen to change is compared in long pieces.
	often    []bool // by leaf
	segments []segment
	dirty    []int // leaves
}

// named is a tree's name and hash.
type named struct {
	name uint32
	hash uint64
}

// taken is a state: its tree, and the leaf that is no part of it.
type taken struct {
	root  named
	apart node
	hash  uint64 // of both
	same  bool   // it is the image's
}

// saved is a node as it was.
type saved struct {
	at  *named
	was named
}

// segment is a stretch of a part that is compared as one: a leaf, or more than one.
type segment struct {
	part, from, to int
	first, last    int // its leaves
}

// newImage makes an image of a state, whose bytes it copies.
func newImage(f *forest, l *layout, parts [][]byte) *image {
	m := &image{forest: f, recent: recent{forest: f}, layout: l, often: make([]bool, len(l.leaves))}
	for _, p := range parts {
		m.parts = append(m.parts, bytes.Clone(p))
	}
	for _, n := range l.levels {
		m.others = append(m.others, make([]named, n))
	}
	for id := range l.leaves {
		if id == m.layout.apart {
			m.apart = m.read(m.parts, id)
			continue
		}
		*m.leafAt(id) = m.nameLeaf(m.parts, id)
	}
	for level := 1; level < len(m.others); level++ {
		for i := range m.others[level] {
			m.others[level][i] = m.nameNode(level, i)
		}
	}
	for i := range m.layout.top {
		m.under.add(i, m.top[i])
	}
	if n := len(m.others); n > 0 {
		m.under.add(topLeaves, m.others[n-1][0])
	}
	m.root = m.under.keep(&m.recent)
	m.cut()
	return m
}

// leafAt is where the name of a leaf stands.
func (m *image) leafAt(id int) *named {
	if p := m.places[id]; p < topLeaves {
		return &m.top[p]
	} else {
		return &m.others[0][p-topLeaves]
	}
}

// cut parts the state into segments.
func (m *image) cut() {
	m.segments = m.segments[:0]
	for id, l := range m.leaves {
		if n := len(m.segments); n > 0 && !m.often[id] {
			if s := &m.segments[n-1]; s.part == l.part && !m.often[s.last] {
				s.to, s.last = l.to, id
				continue
			}
		}
		m.segments = append(m.segments, segment{l.part, l.from, l.to, id, id})
	}
}

// read reads a leaf's bytes; the last one of a part is filled up with zeros.
func (m *image) read(parts [][]byte, id int) (n node) {
	l := &m.leaves[id]
	b := parts[l.part][l.from:l.to]
	if len(b) < leafBytes {
		var whole [leafBytes]byte
		copy(whole[:], b)
		b = whole[:]
	}
	for w := range n {
		n[w] = binary.LittleEndian.Uint64(b[w*8:])
	}
	return n
}

func (m *image) nameLeaf(parts [][]byte, id int) named {
	n := m.read(parts, id)
	return m.recent.keep(&n, n.hash())
}

// children gathers the names of what is under a node.
type children struct {
	node node
	hash uint64
}

func (c *children) add(i int, child named) {
	c.node.setName(i, child.name)
	c.hash += hashAt(i, child)
}

// change puts another in the place of a child.
func (c *children) change(i int, was, is named) {
	c.node.setName(i, was.name^is.name)
	c.hash += hashAt(i, is) - hashAt(i, was)
}

func hashAt(i int, child named) uint64 { return mix(child.hash ^ uint64(i+1)*0x9e3779b97f4a7c15) }

func (c *children) keep(r *recent) named { return r.keep(&c.node, mix(c.hash)) }

// nameNode names a node of the tree of the others.
func (m *image) nameNode(level, i int) named {
	below := m.others[level-1]
	c := children{hash: uint64(level) + 1}
	for j, child := range below[i*fanOut : min((i+1)*fanOut, len(below))] {
		c.add(j, child)
	}
	return c.keep(&m.recent)
}

// load makes the image that of a state, and writes what differs to live, which has to be as the image was.
func (m *image) load(root uint32, apart *node, live [][]byte) {
	if m.apart != *apart {
		m.apart = *apart
		m.write(m.layout.apart, apart, live)
	}
	if root == m.root.name {
		return
	}
	m.root = named{root, m.forest.hash(root)}
	n := m.forest.at(root)
	for i, id := range m.layout.top {
		was := m.top[i]
		if is := n.name(i); is != was.name {
			m.loadLeaf(id, is, live)
			m.under.change(i, was, m.top[i])
		}
	}
	if levels := len(m.others); levels > 0 {
		was := m.others[levels-1][0]
		if is := n.name(topLeaves); is != was.name {
			m.loadOthers(levels-1, 0, is, live)
			m.under.change(topLeaves, was, m.others[levels-1][0])
		}
	}
}

// write writes a leaf to the image and to live.
func (m *image) write(id int, n *node, live [][]byte) {
	var b [leafBytes]byte
	for w := range n {
		binary.LittleEndian.PutUint64(b[w*8:], n[w])
	}
	l := &m.leaves[id]
	copy(m.parts[l.part][l.from:l.to], b[:])
	copy(live[l.part][l.from:l.to], b[:])
}

func (m *image) loadLeaf(id int, name uint32, live [][]byte) {
	at := m.leafAt(id)
	if at.name == name {
		return
	}
	*at = named{name, m.forest.hash(name)}
	m.write(id, m.forest.at(name), live)
}

func (m *image) loadOthers(level, i int, name uint32, live [][]byte) {
	if level == 0 {
		m.loadLeaf(m.rest[i], name, live)
		return
	}
	at := &m.others[level][i]
	if at.name == name {
		return // and all under it
	}
	*at = named{name, m.forest.hash(name)}
	n := m.forest.at(name)
	for j := range min(fanOut, len(m.others[level-1])-i*fanOut) {
		m.loadOthers(level-1, i*fanOut+j, n.name(j), live)
	}
}

// take finds in taken what has become of the state in live, and makes live again what the image is.
func (m *image) take(live [][]byte) {
	t := &m.taken
	t.root, t.apart = m.root, m.apart
	m.compare(live)
	t.same = len(m.dirty) == 0
	under := m.under
	beneath := false // something of the others differs
	m.undo = m.undo[:0]
	for _, id := range m.dirty {
		if p := m.places[id]; p < 0 {
			t.apart = m.read(live, id)
		} else if p < topLeaves {
			under.change(p, m.top[p], m.nameLeaf(live, id))
		} else {
			m.set(&m.others[0][p-topLeaves], m.nameLeaf(live, id))
			beneath = true
		}
		l := &m.leaves[id]
		copy(live[l.part][l.from:l.to], m.parts[l.part][l.from:l.to])
	}
	if beneath {
		was := m.others[len(m.others)-1][0]
		m.nameOthers()
		under.change(topLeaves, was, m.others[len(m.others)-1][0])
		for i := len(m.undo) - 1; i >= 0; i-- {
			*m.undo[i].at = m.undo[i].was
		}
	}
	if under.node != m.under.node {
		t.root = under.keep(&m.recent)
	}
	t.hash = t.root.hash ^ t.apart.hash()
}

// nameOthers names what is above the dirty ones of the others.
func (m *image) nameOthers() {
	for level := 1; level < len(m.others); level++ {
		last := -1
		for _, id := range m.dirty {
			i := m.places[id] - topLeaves
			if i < 0 {
				continue
			}
			for range level {
				i /= fanOut
			}
			if i != last {
				m.set(&m.others[level][i], m.nameNode(level, i))
				last = i
			}
		}
	}
}

func (m *image) set(at *named, is named) {
	m.undo = append(m.undo, saved{at, *at})
	*at = is
}

// compare finds the leaves in which live is no longer what the image is.
func (m *image) compare(live [][]byte) {
	m.dirty = m.dirty[:0]
	fresh := false
	for i := range m.segments {
		s := &m.segments[i]
		if bytes.Equal(live[s.part][s.from:s.to], m.parts[s.part][s.from:s.to]) {
			continue
		}
		for id := s.first; id <= s.last; id++ {
			l := &m.leaves[id]
			if s.first == s.last || !bytes.Equal(live[l.part][l.from:l.to], m.parts[l.part][l.from:l.to]) {
				m.dirty = append(m.dirty, id)
				fresh = fresh || !m.often[id]
				m.often[id] = true
			}
		}
	}
	if fresh {
		m.cut()
	}
}
