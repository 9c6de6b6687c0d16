package fsm

import "slices"

// StateCover returns for each state, by number, the shortest word that leads to it from the initial state, and among the
// shortest the first in the order of the inputs. The initial state's is the empty word. The set of them begins every word it
// holds: with a word, its prefixes are in it.
func (m *Machine) StateCover() []Word {
	cover := make([]Word, len(m.states))
	cover[m.initial] = Word{}
	queue := []int{m.initial}
	for len(queue) > 0 {
		s := queue[0]
		queue = queue[1:]
		for i, next := range m.next[s] {
			if cover[next] == nil {
				cover[next] = cover[s].then(i)
				queue = append(queue, next)
			}
		}
	}
	return cover
}

// TransitionCover returns the state cover and each of its words followed by each input, each word once and in order: for
// every transition there is a word that leads to its state and takes it.
func (m *Machine) TransitionCover() []Word {
	var cover []Word
	for _, w := range m.StateCover() {
		cover = append(cover, w)
		for i := range m.inputs {
			cover = append(cover, w.then(i))
		}
	}
	slices.SortFunc(cover, shortlex)
	return slices.CompactFunc(cover, slices.Equal[Word])
}
