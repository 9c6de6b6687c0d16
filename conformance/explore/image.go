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
	pieces []piece
}

// topLeaves is how many leaves are children of the root.
const topLeaves = fanOut - 1

// leaf is where a leaf lies.
type leaf struct{ part, from, to int }

// piece is some leaves of one part, next to each other, that are compared as one: one that changes often, or those between two of them.
type piece struct {
	part, from, to int
	first, last    int // its leaves
}

// A leaf that was seen to change at least once for so many changes of the one that changes most is compared by itself.
const alone = 4

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
	l.cut(changed)
	return l
}

// cut parts the leaves into pieces, but for the one that is no part of the tree.
func (l *layout) cut(changed func(leaf) int) {
	before := false // the leaf before is in a piece that may have more
	for id, f := range l.leaves {
		if id == l.apart {
			before = false
			continue
		}
		often := changed(f) > 0 && changed(f)*alone >= changed(l.leaves[l.apart])
		if n := len(l.pieces); before && !often && l.pieces[n-1].part == f.part {
			l.pieces[n-1].to, l.pieces[n-1].last = f.to, id
		} else {
			l.pieces = append(l.pieces, piece{f.part, f.from, f.to, id, id})
		}
		before = !often
	}
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
	dirty  []int // leaves
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

// newImage makes an image of a state, whose bytes it copies.
func newImage(f *forest, l *layout, parts [][]byte) *image {
	m := &image{forest: f, recent: recent{forest: f}, layout: l}
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
	m.compare(live)
	t.same = len(m.dirty) == 0
	t.root = m.root
	if len(m.dirty) > 0 && m.dirty[0] != m.layout.apart { // which comes last
		t.root = m.nameTree(live)
	}
	for _, id := range m.dirty {
		l := &m.leaves[id]
		copy(live[l.part][l.from:l.to], m.parts[l.part][l.from:l.to])
	}
	t.hash = t.root.hash ^ t.apart.hash()
}

// nameTree names the tree of live, in which the dirty leaves are others than in the image's.
func (m *image) nameTree(live [][]byte) named {
	under := m.under
	beneath := false // something of the others differs
	m.undo = m.undo[:0]
	for _, id := range m.dirty {
		if p := m.places[id]; p >= topLeaves {
			m.set(&m.others[0][p-topLeaves], m.nameLeaf(live, id))
			beneath = true
		} else if p >= 0 {
			under.change(p, m.top[p], m.nameLeaf(live, id))
		}
	}
	if beneath {
		was := m.others[len(m.others)-1][0]
		m.nameOthers()
		under.change(topLeaves, was, m.others[len(m.others)-1][0])
		for i := len(m.undo) - 1; i >= 0; i-- {
			*m.undo[i].at = m.undo[i].was
		}
	}
	return under.keep(&m.recent)
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

// compare finds the leaves in which live is no longer what the image is. The one that is no part of the tree comes last: it changes most, the
// firmware has just written it, and whoever reads it at once waits.
func (m *image) compare(live [][]byte) {
	m.dirty = m.dirty[:0]
	for i := range m.pieces {
		p := &m.pieces[i]
		is, was := live[p.part], m.parts[p.part]
		if !bytes.Equal(is[p.from:p.to], was[p.from:p.to]) {
			m.differing(is, was, p.first, p.last)
		}
	}
	if id := m.layout.apart; id >= 0 {
		l := &m.leaves[id]
		m.taken.apart = m.read(live, id)
		if !bytes.Equal(live[l.part][l.from:l.to], m.parts[l.part][l.from:l.to]) {
			m.dirty = append(m.dirty, id)
		}
	}
}

// differing finds those from one leaf to another, which are of one part and not all the same: by halves, for mostly it is one.
func (m *image) differing(live, image []byte, first, last int) {
	if first == last {
		m.dirty = append(m.dirty, first)
		return
	}
	middle := (first + last) / 2
	for _, half := range [...][2]int{{first, middle}, {middle + 1, last}} {
		from, to := m.leaves[half[0]].from, m.leaves[half[1]].to
		if !bytes.Equal(live[from:to], image[from:to]) {
			m.differing(live, image, half[0], half[1])
		}
	}
}

// lastDiffers reports whether there is something of the last part among what compare has found.
func (m *image) lastDiffers() bool {
	return slices.ContainsFunc(m.dirty, func(id int) bool { return m.leaves[id].part == len(m.parts)-1 })
}
