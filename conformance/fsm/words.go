package fsm

import (
	"cmp"
	"slices"
)

// then returns the word that is w followed by more. It never shares memory with w, so words may be extended freely.
func (w Word) then(more ...int) Word {
	return append(append(make(Word, 0, len(w)+len(more)), w...), more...)
}

// isPrefix reports whether w begins v; every word begins itself.
func (w Word) isPrefix(v Word) bool {
	return len(w) <= len(v) && slices.Equal(w, v[:len(w)])
}

// shortlex orders words by length, and words of one length by their inputs.
func shortlex(a, b Word) int {
	if c := cmp.Compare(len(a), len(b)); c != 0 {
		return c
	}
	return slices.Compare(a, b)
}

// maximal returns the words that begin no other word of the list, each once, in shortlex order. What a word shows of a machine,
// its prefixes show no more of: applying only the maximal ones loses nothing. It reorders the list it is given.
func maximal(words []Word) []Word {
	slices.SortFunc(words, slices.Compare[Word])
	// In this order the words that a word begins follow it at once.
	kept := words[:0]
	for k, w := range words {
		if k+1 == len(words) || !w.isPrefix(words[k+1]) {
			kept = append(kept, w)
		}
	}
	kept = slices.Clip(kept)
	slices.SortFunc(kept, shortlex)
	return kept
}
