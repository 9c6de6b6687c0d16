package fsm

import "slices"

// Adaptive is an adaptive distinguishing sequence: an experiment that finds out in which state a machine was when it began,
// choosing each input by the outputs before it.
type Adaptive struct {
	// State is the state that the experiment began in, when Next is nil: there is nothing left to ask. Otherwise it is -1.
	State int
	// Input is what to apply next.
	Input int
	// Next is how to go on, by output. An output that is not in it is one that no state of the machine could give.
	Next map[int]*Adaptive
}

// Depth returns the most inputs that the experiment may need.
func (a *Adaptive) Depth() int {
	depth := 0
	for _, next := range a.Next {
		depth = max(depth, 1+next.Depth())
	}
	return depth
}

// Identify runs the experiment. It calls step with each input, which must apply it and return the output. It returns the
// state that the machine was in at first, or false when an output came that no state could have given.
func (a *Adaptive) Identify(step func(input int) (output int)) (state int, ok bool) {
	for a.Next != nil {
		next, known := a.Next[step(a.Input)]
		if !known {
			return -1, false
		}
		a = next
	}
	return a.State, true
}

// Adaptive makes an adaptive distinguishing sequence, or returns false when the machine has none. A machine that has a preset one
// has an adaptive one. For n states it needs at most n(n-1)/2 inputs. (D. Lee and M. Yannakakis, 1996, after their "Testing
// Finite-State Machines: State Identification and Verification", IEEE Transactions on Computers 43(3), 1994.)
func (m *Machine) Adaptive() (*Adaptive, bool) {
	t := splitting{m: m, leaf: make([]*block, len(m.states))}
	root := &block{states: identity(len(m.states))}
	for s := range t.leaf {
		t.leaf[s] = root
	}
	for {
		b := t.largest()
		if len(b.states) == 1 {
			return t.experiment(root.states, root.states), true
		}
		if !t.divide(b) {
			return nil, false
		}
	}
}

// splitting is Lee and Yannakakis's splitting tree. Each block but a leaf has a word on which its states' outputs differ with the
// last input only, and by which no two of them merge before they differ.
type splitting struct {
	m    *Machine
	leaf []*block // by state
}

type block struct {
	states []int // in ascending order
	parent *block
	word   Word // none for a leaf
}

// largest returns the leaf with the most states, the first of them in the order of their first states.
func (t *splitting) largest() *block {
	best := t.leaf[0]
	for _, b := range t.leaf {
		if len(b.states) > len(best.states) {
			best = b
		}
	}
	return best
}

// around returns the smallest block that holds all the states.
func (t *splitting) around(states []int) *block {
	b := t.leaf[states[0]]
	for !b.holds(states) {
		b = b.parent
	}
	return b
}

func (b *block) holds(states []int) bool {
	for _, s := range states {
		if _, ok := slices.BinarySearch(b.states, s); !ok {
			return false
		}
	}
	return true
}

// divide finds the shortest word for a largest leaf, and puts leaves below it. It returns false when there is none.
func (t *splitting) divide(b *block) bool {
	type image struct {
		at []int // where each state of b is after w
		w  Word
	}
	var best Word
	offer := func(w Word) {
		if best == nil || len(w) < len(best) {
			best = w
		}
	}
	seen := map[*block]bool{b: true}
	for queue := []image{{b.states, nil}}; len(queue) > 0; queue = queue[1:] {
		im := queue[0]
		for i := range t.m.inputs {
			outputs, to, valid := t.m.apply(im.at, i)
			if !valid {
				continue
			}
			w := im.w.then(i)
			if !same(outputs) {
				offer(w)
				continue
			}
			within := t.around(to)
			if within.word != nil { // to is in several leaves, and this is the smallest block around them
				offer(w.then(within.word...))
				continue
			}
			// No leaf has more states than b, so these fill theirs: how to go on does not depend on the way here.
			if !seen[within] {
				seen[within] = true
				queue = append(queue, image{to, w})
			}
		}
	}
	if best == nil {
		return false
	}
	t.split(b, best)
	return true
}

// apply applies an input in each of some states. It is not valid when two of them would merge with the same output.
func (m *Machine) apply(states []int, input int) (outputs, next []int, valid bool) {
	type answer struct{ output, next int }
	answers := make(map[answer]bool, len(states))
	for _, s := range states {
		o, n := m.Step(s, input)
		outputs, next = append(outputs, o), append(next, n)
		answers[answer{o, n}] = true
	}
	return outputs, next, len(answers) == len(states)
}

func same(outputs []int) bool {
	return !slices.ContainsFunc(outputs, func(o int) bool { return o != outputs[0] })
}

func (t *splitting) split(b *block, w Word) {
	b.word = w
	parts := make(map[int]*block)
	for _, s := range b.states {
		outputs, _ := t.m.Run(s, w)
		last := outputs[len(outputs)-1]
		if parts[last] == nil {
			parts[last] = &block{parent: b}
		}
		parts[last].states = append(parts[last].states, s)
		t.leaf[s] = parts[last]
	}
}

// experiment makes the experiment for a machine that began in one of some states and, having answered alike, is now where at
// says for each.
func (t *splitting) experiment(began, at []int) *Adaptive {
	if len(began) == 1 {
		return &Adaptive{State: began[0]}
	}
	word := t.around(at).word
	top := &Adaptive{State: -1}
	for a := top; ; {
		a.Input = word[0]
		word = word[1:]
		outputs, next, _ := t.m.apply(at, a.Input)
		a.Next = make(map[int]*Adaptive)
		if same(outputs) {
			below := &Adaptive{State: -1}
			a.Next[outputs[0]] = below
			a, at = below, next
			continue
		}
		for k, o := range outputs {
			if a.Next[o] != nil {
				continue
			}
			var b, n []int
			for x := range began {
				if outputs[x] == outputs[k] {
					b, n = append(b, began[x]), append(n, next[x])
				}
			}
			a.Next[o] = t.experiment(b, n)
		}
		return top
	}
}
