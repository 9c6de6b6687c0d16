package diagnosis

import (
	"slices"

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
	// forgets is how often, besides, the answer is the first choice where it should be another: 'nobody', because nobody remembers.
	forgets float64
	// predict returns which choice a world leads to, or -1 if nothing follows from it.
	predict func(*probe) int

	sitting sitting
	before  string  // what is done first, which Words begin with; questions of one sitting that have it in common do it once
	shared  float64 // of its minutes, those which such questions take only once
	joint   *joint  // of a question that asks several at one go
	// covers are questions that ask for a part of the same observation, by their ids: they go with it in no sitting, and after a choice that
	// says so nothing is left of them to ask.
	covers func(id string) bool
	says   func(choice int) bool // nil: every choice does
}

// Answer is what came of a question.
type Answer struct {
	Question *Question
	Choice   int // an index of its Choices
}

// likelihood is the probability of a choice in a world.
func (q *Question) likelihood(p *probe, choice int) float64 {
	if q.joint != nil {
		return q.joint.chance(q.joint.readings(p), choice)
	}
	return q.chance(q.predict(p), choice)
}

// chance is the probability of a choice where a world leads to another, or to none in particular.
func (q *Question) chance(is, choice int) float64 {
	others := float64(len(q.Choices) - 1)
	forgets := 0.0
	if is > 0 {
		forgets = q.forgets
	}
	switch {
	case is < 0:
		return 1 / (others + 1)
	case is == choice:
		return 1 - q.mistaken - forgets
	case choice == 0:
		return q.mistaken/others + forgets
	default:
		return q.mistaken / others
	}
}

// answered reports whether the answers leave nothing of the question to ask: it was asked, or what it asks was a part of what was.
func (q *Question) answered(answers []Answer) bool { return slices.ContainsFunc(answers, q.answeredBy) }

func (q *Question) answeredBy(x Answer) bool {
	asked := x.Question
	switch {
	case asked.ID == q.ID:
		return true
	case asked.joint != nil:
		return asked.joint.settles(x.Choice) && slices.ContainsFunc(asked.joint.answers(x.Choice), q.answeredBy)
	default:
		return asked.covers != nil && asked.covers(q.ID) && (asked.says == nil || asked.says(x.Choice))
	}
}

// overlaps reports whether one of two questions asks for a part of what the other does.
func (q *Question) overlaps(o *Question) bool {
	return q.covers != nil && q.covers(o.ID) || o.covers != nil && o.covers(q.ID)
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
