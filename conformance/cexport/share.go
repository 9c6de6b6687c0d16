package cexport

import (
	"cmp"
	"slices"
)

// maxDepth is how deep a repetition may stand within repetitions. For each the runner keeps two pointers in RAM.
const maxDepth = 6

// candidates is how many places that begin with the right item are tried, from the nearest.
const candidates = 150

// sharer puts vectors after each other, and writes of items that have stood before only where.
type sharer struct {
	bytes  []byte
	items  []string // all items of all vectors
	tokens []token
	starts map[string][]int // tokens by their first item
	depth  int              // the deepest
}

// token is an item as it stands, or a repetition.
type token struct {
	at, end     int // bytes
	from, until int // the items that it stands for
	depth       int // of repetitions; 0 for an item
	last        bool
}

// choice is the cheapest way to write a vector from some item on.
type choice struct {
	cost  int // bytes, to the vector's end
	until int // the item up to which the first token goes
	at, n int // what that repeats; n is 0 for an item as it stands
	depth int
}

// add writes a vector, its length in front, and returns where it begins. It repeats of vectors before it only.
func (s *sharer) add(list []string) (at int) {
	begin := len(s.items)
	s.items = append(s.items, list...)
	best := make([]choice, len(list)+1)
	for i := len(list) - 1; i >= 0; i-- {
		best[i] = choice{cost: len(list[i]) + best[i+1].cost, until: begin + i + 1}
		found := s.starts[list[i]]
		for _, t := range found[max(0, len(found)-candidates):] {
			s.try(best, begin, i, t)
		}
	}
	// The length counts its own bytes.
	length := best[0].cost + 1
	for length < best[0].cost+len(appendNumber(nil, uint64(length))) {
		length++
	}
	at = len(s.bytes)
	s.bytes = appendNumber(s.bytes, uint64(length))
	fresh := len(s.tokens)
	for i := 0; i < len(list); {
		c := best[i]
		t := token{at: len(s.bytes), from: begin + i, until: c.until, depth: c.depth, last: c.until == len(s.items)}
		if c.n == 0 {
			s.bytes = append(s.bytes, list[i]...)
		} else {
			s.bytes = appendAgain(s.bytes, c.at, c.n)
		}
		t.end = len(s.bytes)
		s.tokens = append(s.tokens, t)
		s.depth = max(s.depth, t.depth)
		i = c.until - begin
	}
	if s.starts == nil {
		s.starts = map[string][]int{}
	}
	for i, t := range s.tokens[fresh:] {
		s.starts[s.items[t.from]] = append(s.starts[s.items[t.from]], fresh+i)
	}
	return at
}

// try sees whether to repeat tokens, from one on, is a cheaper way to write what begins with item i.
func (s *sharer) try(best []choice, begin, i, first int) {
	at, depth := s.tokens[first].at, 0
	for j := i; first < len(s.tokens); first++ {
		t := &s.tokens[first]
		n := t.until - t.from
		depth = max(depth, t.depth)
		if j+n >= len(best) || depth == maxDepth || !slices.Equal(s.items[begin+j:begin+j+n], s.items[t.from:t.until]) {
			return
		}
		j += n
		c := choice{until: begin + j, at: at, n: t.end - at, depth: depth + 1}
		c.cost = len(appendAgain(nil, c.at, c.n)) + best[j].cost
		if cmp.Or(cmp.Compare(c.cost, best[i].cost), cmp.Compare(c.depth, best[i].depth)) < 0 {
			best[i] = c
		}
		if t.last {
			return
		}
	}
}

func appendAgain(b []byte, at, n int) []byte {
	b = append(b, itemOther|otherAgain<<4)
	return appendNumber(appendNumber(b, uint64(at)), uint64(n))
}
