package diagnosis

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/plant"
)

// two is a joint question of a part with three choices, in which a tenth of the answers are wrong, and one with two.
func two(outcomes ...[]int) *Question {
	a := &Question{ID: "a", Words: "Do so. A?", before: "Do so. ", Choices: []string{"x", "y", "z"}, mistaken: 0.1, Minutes: 5, shared: 4, sitting: trial}
	b := &Question{ID: "b", Words: "Do so. B?", before: "Do so. ", Choices: []string{"yes", "no"}, mistaken: 0.2, Minutes: 7, shared: 6, sitting: trial}
	return (&joint{parts: []*Question{a, b}, outcomes: outcomes}).ask(nil)
}

func TestJointQuestion(t *testing.T) {
	q := two([]int{0, 0}, []int{1, 1})
	assert.Equal(t, "a+b", q.ID)
	assert.Equal(t, "Do so. (1) A? (2) B?", q.Words)
	assert.Equal(t, []string{"(1) x, (2) yes", "(1) y, (2) no", "otherwise"}, q.Choices)
	assert.InDelta(t, 6+1+1, q.Minutes, 1e-9, "what has to be done first is done once, as long as the longer of the two takes")

	// Of a hundred, three are misheard, of which a sixth falls to each outcome; of the rest, parts are mistaken independently of each other.
	assert.InDelta(t, 0.97*0.9*0.8+0.03/6, q.joint.chance([]int{0, 0}, 0), 1e-9)
	assert.InDelta(t, 0.97*0.05*0.2+0.03/6, q.joint.chance([]int{0, 0}, 1), 1e-9)
	for a := -1; a < 3; a++ {
		for b := -1; b < 2; b++ {
			sum := 0.0
			for choice := range q.Choices {
				sum += q.joint.chance([]int{a, b}, choice)
			}
			assert.InDelta(t, 1, sum, 1e-9, "%d %d", a, b)
		}
	}
	all := two([]int{0, 0}, []int{0, 1}, []int{1, 0}, []int{1, 1}, []int{2, 0}, []int{2, 1})
	assert.Len(t, all.Choices, 6, "nothing is otherwise where all outcomes are named")
}

func TestWhatAnAnswerLeavesToAsk(t *testing.T) {
	q := two([]int{0, 0}, []int{1, 1})
	a := q.joint.parts[0]
	assert.True(t, a.answered([]Answer{{q, 1}}), "it was a part")
	assert.False(t, a.answered([]Answer{{q, 2}}), "'otherwise' does not say which")
	assert.False(t, (&Question{ID: "c"}).answered([]Answer{{q, 1}}))

	whole := &Question{ID: "w", covers: func(id string) bool { return id == "w/1" }, says: func(choice int) bool { return choice == 0 }}
	part := &Question{ID: "w/1"}
	assert.True(t, part.answered([]Answer{{whole, 0}}))
	assert.False(t, part.answered([]Answer{{whole, 1}}), "that all is not well does not say where")
	assert.True(t, part.overlaps(whole) && whole.overlaps(part))
	assert.False(t, a.overlaps(part))
}

// Whoever has forgotten says 'nobody', and says so of nothing that did not happen.
func TestForgetting(t *testing.T) {
	q := &Question{Choices: []string{"nobody", "x", "y"}, mistaken: 0.1, forgets: 0.3}
	assert.InDelta(t, 0.9, q.chance(0, 0), 1e-9)
	assert.InDelta(t, 0.35, q.chance(1, 0), 1e-9)
	assert.InDelta(t, 0.6, q.chance(1, 1), 1e-9)
	assert.InDelta(t, 0.05, q.chance(1, 2), 1e-9)
}

// What is asked at one go belongs together, asks nothing twice, and is expected to tell more than the best of its parts.
func TestWhatIsAskedTogether(t *testing.T) {
	seen := 0
	for name, h := range map[string]house{
		"cold heating": coldHeating,
		"warm by day": {sensed: []string{
			"{what: ch relay, is: on, when: 2026-11-10 09:00-16:00}", "{what: ch relay, is: on, when: 2026-11-11 09:00-16:00}", "{what: radiators, is: warm, when: 2026-11-11 12:00}",
		}},
	} {
		r := h.diagnose(t)
		single := map[string]float64{}
		var best float64
		for _, q := range r.Questions() {
			if q.joint == nil {
				continue
			}
			seen++
			assert.LessOrEqual(t, len(q.joint.parts), mostParts)
			assert.LessOrEqual(t, len(q.Choices), mostOutcomes+1)
			for i, p := range q.joint.parts {
				assert.Equal(t, q.sitting, p.sitting, "%s: %s", name, q.ID)
				assert.Equal(t, q.Who, p.Who, "%s: %s", name, q.ID)
				assert.Equal(t, q.before, p.before, "%s: %s", name, q.ID)
				if p.Caution != "" {
					assert.Contains(t, q.Caution, p.Caution)
				}
				for _, o := range q.joint.parts[:i] {
					assert.NotEqual(t, o.ID, p.ID)
					assert.False(t, o.overlaps(p), "%s: %s and %s", name, o.ID, p.ID)
				}
			}
		}
		for _, a := range r.Ask {
			single[a.ID] = a.Bits
			best = max(best, a.Bits)
		}
		assert.Greater(t, best, 0.9, "%s: the best question is expected to about halve the causes: %v", name, single)
	}
	assert.Positive(t, seen)
}

// A joint question answered from the truth says of each part what that part would.
func TestJointAnswersAsItsPartsDo(t *testing.T) {
	c := coldHeating.complaint(t)
	base, err := replay.FromComplaint(c)
	require.NoError(t, err)
	truth := base.EachPhase(func(p *replay.Phase) { p.Plant = p.Plant.With(plant.Stuck(plant.RoomStatContact, false)) })
	r, err := Diagnose(c)
	require.NoError(t, err)
	n := 0
	for _, q := range r.Questions() {
		if q.joint == nil {
			continue
		}
		choice, err := q.Ask(truth)
		require.NoError(t, err)
		var want []string
		for i, p := range q.joint.parts {
			is, err := p.Ask(truth)
			require.NoError(t, err)
			want = append(want, fmt.Sprintf("(%d) %s", i+1, p.Choices[is]))
		}
		if words := strings.Join(want, ", "); slices.Contains(q.Choices, words) {
			n++
			assert.Equal(t, words, q.Choices[choice], q.ID)
		} else {
			assert.Equal(t, "otherwise", q.Choices[choice], q.ID)
		}
	}
	assert.Positive(t, n)
}
