package diagnosis

import (
	"example.org/hearthbench/conformance/replay"
)

// Question is something that can be asked, read or tried, and what can come of it.
type Question struct {
	ID      string   `json:"id"`
	Words   string   `json:"words"`
	Who     Doer     `json:"who"`
	Minutes float64  `json:"minutes"` // what it costs: of whoever answers, travel included
	Choices []string `json:"choices"`
	Caution string   `json:"caution,omitempty"`

	c *account
	// mistaken is how often an answer is another than it should be.
	mistaken float64
	// predict returns which choice a world leads to, or -1 if nothing follows from it.
	predict func(*probe) int
}

// Answer is what came of a question.
type Answer struct {
	Question *Question
	Choice   int // an index of its Choices
}

// likelihood is the probability of a choice in a world.
func (q *Question) likelihood(p *probe, choice int) float64 {
	return q.chance(q.predict(p), choice)
}

// Ask returns which choice would be the answer, were the world the case; -1 if nothing follows from it. It is how a benchmark, which
// knows what is the case, answers. It fails if the world cannot be lived through.
func (q *Question) Ask(w replay.World) (int, error) {
	p := extend(q.c.complaint, w)
	if err := p.live(new(replay.Buffers)); err != nil {
		return -1, err
	}
	return q.predict(p), nil
}
