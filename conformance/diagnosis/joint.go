package diagnosis

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// sitting is where and when questions can be answered together by one person, at one go.
type sitting uint8

const (
	alone   sitting = iota // with no other
	indoors                // what stands there to be read: the display, thermostats, the boiler's
	memory                 // what whoever lives there remembers
	beside                 // listening beside the unit
	trial                  // what comes of one trial; questions of one trial have their before in common
	opened                 // the covers are off, and a meter is at hand
)

// Bounds of questions that ask several at one go: what somebody can hold the receiver for, and tell back.
const (
	mostParts    = 4
	mostOutcomes = 12  // that are named; what comes otherwise is one more
	worthTrying  = 10  // questions of a sitting that are tried together
	worthPart    = 0.1 // bits that a part must add to what the others tell
)

// joint is what a question asks that asks several of one sitting. Its choices are the outcomes that the causes left lead to, each a choice
// of every part, and then, unless they are all there are, one for any other outcome.
type joint struct {
	parts    []*Question
	outcomes [][]int
}

// readings returns which choice of each part a world leads to.
func (j *joint) readings(p *probe) []int {
	is := make([]int, len(j.parts))
	for i, q := range j.parts {
		is[i] = q.predict(p)
	}
	return is
}

// misheard is how often what is told back of several parts is altogether another thing than was asked. Common sense, no source.
const misheard = 0.03

// chance is the probability of an outcome where a world leads to another. Parts are mistaken independently of each other, but for what is
// misheard, which says nothing of any.
func (j *joint) chance(is []int, choice int) float64 {
	if choice < len(j.outcomes) {
		return j.product(is, j.outcomes[choice])
	}
	rest := 1.0
	for _, o := range j.outcomes {
		rest -= j.product(is, o)
	}
	return max(rest, 0)
}

func (j *joint) product(is, outcome []int) float64 {
	l, any := 1.0, 1.0
	for i, q := range j.parts {
		l *= q.chance(is[i], outcome[i])
		any *= q.chance(-1, 0)
	}
	return (1-misheard)*l + misheard*any
}

// has reports whether a question is a part.
func (j *joint) has(q *Question) bool {
	return slices.ContainsFunc(j.parts, func(p *Question) bool { return p.ID == q.ID })
}

// settles reports whether a choice says what each part came to.
func (j *joint) settles(choice int) bool { return choice < len(j.outcomes) }

// answers returns what each part came to by a choice that settles it.
func (j *joint) answers(choice int) []Answer {
	all := make([]Answer, len(j.parts))
	for i, q := range j.parts {
		all[i] = Answer{q, j.outcomes[choice][i]}
	}
	return all
}

// ask makes the question that asks the parts.
func (j *joint) ask(c *account) *Question {
	first := j.parts[0]
	q := &Question{Who: first.Who, c: c, before: first.before, sitting: first.sitting, joint: j}
	var ids, words, cautions []string
	once := 0.0
	for i, p := range j.parts {
		ids = append(ids, p.ID)
		words = append(words, fmt.Sprintf("(%d) %s", i+1, strings.TrimPrefix(p.Words, p.before)))
		once = max(once, p.shared)
		q.Minutes += p.Minutes - p.shared
		if p.Caution != "" && !slices.Contains(cautions, p.Caution) {
			cautions = append(cautions, p.Caution)
		}
	}
	q.Minutes += once
	q.ID, q.Words, q.Caution = strings.Join(ids, "+"), first.before+strings.Join(words, " "), strings.Join(cautions, " ")
	all := 1
	for _, p := range j.parts {
		all *= len(p.Choices)
	}
	for _, o := range j.outcomes {
		var choice []string
		for i, p := range j.parts {
			choice = append(choice, fmt.Sprintf("(%d) %s", i+1, p.Choices[o[i]]))
		}
		q.Choices = append(q.Choices, strings.Join(choice, ", "))
	}
	if len(j.outcomes) < all {
		q.Choices = append(q.Choices, "otherwise")
	}
	q.predict = func(p *probe) int {
		is := j.readings(p)
		if slices.Contains(is, -1) {
			return -1
		}
		return j.place(is)
	}
	return q
}

// place returns the choice that an outcome is.
func (j *joint) place(is []int) int {
	if i := slices.IndexFunc(j.outcomes, func(o []int) bool { return slices.Equal(o, is) }); i >= 0 {
		return i
	}
	return len(j.outcomes)
}

// together returns questions that ask several of a sitting at one go: the one that tells most, with whatever adds most to it, and so on.
func (t *table) together(c *account, single []rated, answers []Answer) []*Question {
	var all []*Question
	for _, of := range t.sittings(single, answers) {
		parts := []int{of[0].place}
		told := of[0].bits
		for len(parts) < mostParts {
			best, gain := -1, told+worthPart
			for _, r := range of {
				if slices.ContainsFunc(parts, func(k int) bool { return k == r.place || t.qs[k].overlaps(r.q) }) {
					continue
				}
				if bits := t.joint(append(slices.Clone(parts), r.place)); bits > gain {
					best, gain = r.place, bits
				}
			}
			if best < 0 {
				break
			}
			parts, told = append(parts, best), gain
			all = append(all, t.make(parts).ask(c))
		}
	}
	return all
}

// sittings returns, of each sitting, the questions that are worth trying together, the one that tells most first. What together came to
// something that was not named is asked singly after that.
func (t *table) sittings(single []rated, answers []Answer) [][]rated {
	var all [][]rated
	where := map[string]int{}
	for _, r := range single {
		again := slices.ContainsFunc(answers, func(x Answer) bool { return x.Question.joint != nil && x.Question.joint.has(r.q) })
		if again || r.q.sitting == alone || r.bits < worthPart/2 || !t.always(r.place) {
			continue
		}
		key := fmt.Sprint(r.q.sitting, r.q.Who, r.q.before)
		i, ok := where[key]
		if !ok {
			i = len(all)
			where[key] = i
			all = append(all, nil)
		}
		all[i] = append(all[i], r)
	}
	for i, of := range all {
		slices.SortStableFunc(of, func(a, b rated) int { return cmp.Compare(b.bits, a.bits) })
		all[i] = of[:min(len(of), worthTrying)]
	}
	return all
}

// make returns the joint question of parts, given by their places: its outcomes are the most probable ones, in the parts' order of choices.
func (t *table) make(parts []int) *joint {
	j := &joint{}
	for _, k := range parts {
		j.parts = append(j.parts, t.qs[k])
	}
	// Few parts have few choices: an outcome is a number in mixed radix.
	weights := map[int]float64{}
	var numbers []int
	for i := range t.probed {
		n := 0
		for _, k := range parts {
			n = n*len(t.qs[k].Choices) + t.probed[i].choice[k]
		}
		if weights[n] == 0 {
			numbers = append(numbers, n)
		}
		weights[n] += t.probed[i].weight
	}
	slices.SortStableFunc(numbers, func(a, b int) int { return cmp.Or(cmp.Compare(weights[b], weights[a]), cmp.Compare(a, b)) })
	numbers = numbers[:min(len(numbers), mostOutcomes)]
	slices.Sort(numbers)
	for _, n := range numbers {
		o := make([]int, len(parts))
		for i := len(parts) - 1; i >= 0; i-- {
			size := len(j.parts[i].Choices)
			o[i], n = n%size, n/size
		}
		j.outcomes = append(j.outcomes, o)
	}
	return j
}

// joint returns the bits that parts are expected to tell at one go.
func (t *table) joint(parts []int) float64 {
	j := t.make(parts)
	n := len(j.outcomes) + 1
	return t.tells(n, t.chances(j, n), func(int, int, float64) {})
}

// chances returns the probability of each choice of a joint question in each hypothesis, by the hypothesis's place.
func (t *table) chances(j *joint, choices int) func(i, choice int) float64 {
	places := make([]int, len(j.parts))
	for n, q := range j.parts {
		places[n] = slices.Index(t.qs, q)
	}
	all := make([]float64, 0, len(t.probed)*choices)
	is := make([]int, len(places))
	for i := range t.probed {
		for n, k := range places {
			is[n] = t.probed[i].choice[k]
		}
		for choice := range choices {
			all = append(all, j.chance(is, choice))
		}
	}
	return func(i, choice int) float64 { return all[i*choices+choice] }
}
