package diagnosis

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
)

// Result is what a diagnosis comes to. Its exported fields are what a page or a terminal shows.
type Result struct {
	Title string `json:"title,omitempty"`
	// Safety is what comes before anything else, the most urgent first. With Stop, nothing else is to be done now.
	Safety []Warning `json:"safety,omitempty"`
	Stop   bool      `json:"stop,omitempty"`
	// Statements are all that the causes are held against. Causes name them by their index.
	Statements []Said `json:"statements"`
	// Unexplained are the statements that the account by itself does not explain.
	Unexplained []int `json:"unexplained,omitempty"`
	Sets        []Set `json:"sets"` // the most probable first; 'none of these' is in one, unless the account leaves nothing to explain
	Ask         []Ask `json:"ask,omitempty"`
	Asked       []Put `json:"asked,omitempty"`
	Lived       int   `json:"lived"` // how many worlds were lived through

	complaint *complaint.Complaint
	base      replay.World
	answers   []Answer
	questions []*Question
}

// Said is a statement: what was sensed, what was said or read of a setting, or the answer to a question.
type Said struct {
	Kind string `json:"kind"` // sensed, setting, answer
	Text string `json:"text"`
	Line int    `json:"line,omitempty"` // in the complaint's file
}

// Set is a set of causes that the evidence cannot tell apart.
type Set struct {
	Probability float64 `json:"probability"`
	Causes      []Cause `json:"causes"` // the most probable first
	// Others are causes more that the evidence does not tell from these, each far less probable than the first.
	Others Others `json:"others,omitempty"`
	// What the set explains, does not explain, and says nothing certain about: indices of statements.
	Explains []int `json:"explains,omitempty"`
	Departs  []int `json:"departs,omitempty"`
	Leaves   []int `json:"leaves,omitempty"`
	// Certain is set if the set is one cause, and more probable than 0.9.
	Certain bool   `json:"certain,omitempty"`
	Action  Action `json:"action"`
}

// Cause is a cause, or two at once.
type Cause struct {
	ID     string `json:"id"` // ids of two are joined by " + "
	Family Family `json:"family"`
	Also   Family `json:"also,omitempty"` // the second's, of two
	Words  string `json:"words"`
	Detail string `json:"detail,omitempty"` // how it best fits: a time, say
	// Ways are other ways in which it fits as well, the most probable first, and no more than a reader takes in.
	Ways        []string `json:"ways,omitempty"`
	Clause      string   `json:"clause,omitempty"` // of 'nothing wrong': which clause and expectation differ
	Probability float64  `json:"probability"`
	Action      Action   `json:"action"`

	worlds []func() (replay.World, bool) // of Detail, and of each of Ways
}

// Others are causes of which a document has the ids.
type Others []Cause

// MarshalJSON writes the causes' ids.
func (o Others) MarshalJSON() ([]byte, error) {
	ids := make([]string, len(o))
	for i := range o {
		ids[i] = o[i].ID
	}
	return json.Marshal(ids)
}

// World returns the world in which the cause is best borne out; false for 'none of these'.
func (c *Cause) World() (replay.World, bool) {
	for _, world := range c.worlds {
		if w, ok := world(); ok {
			return w, true
		}
	}
	return replay.World{}, false
}

// Worlds returns the worlds in which the cause is borne out as Detail and Ways have it, the best first; none for 'none of these'.
func (c *Cause) Worlds() (all []replay.World) {
	for _, world := range c.worlds {
		if w, ok := world(); ok {
			all = append(all, w)
		}
	}
	return all
}

// Details returns Detail and Ways in words.
func (c *Cause) Details() string {
	if len(c.Ways) == 0 {
		return c.Detail
	}
	return c.Detail + "; or as well: " + strings.Join(c.Ways, ", ")
}

// group is a cause, or a pair of causes, with all the ways in which it was found.
type group struct {
	key   [2]int // the second is -1 of a single one
	best  *found
	all   []*found
	total float64 // logarithm of its share
}

// result sums up.
func (s *search) result() (*Result, error) {
	groups := s.groups()
	sum := math.Inf(-1)
	for _, g := range groups {
		sum = logAdd(sum, g.total)
	}
	kept := slices.DeleteFunc(slices.Clone(groups), func(g *group) bool { return math.Exp(g.total-sum) < worthKeeping })
	kept = kept[:min(len(kept), mostCauses)]
	r := &Result{
		Title: s.c.Title, Lived: s.lived, complaint: s.c, base: s.base, answers: s.evidence.answers, Statements: s.statements(),
	}
	r.Safety, r.Stop = safety(s.c)
	for i, v := range s.account.verdicts {
		if v == replay.Departs {
			r.Unexplained = append(r.Unexplained, i)
		}
	}
	for _, a := range s.evidence.answers {
		r.Asked = append(r.Asked, Put{Question: a.Question.Words, Answer: a.Question.Choices[a.Choice]})
	}
	sets := s.sets(kept)
	for _, set := range sets {
		r.Sets = append(r.Sets, s.describe(set, sum))
	}
	slices.SortStableFunc(r.Sets, func(a, b Set) int { return cmp.Compare(b.Probability, a.Probability) })
	s.reason(r)
	r.round()
	if !r.Stop {
		if err := s.choose(r, kept, sum); err != nil {
			return nil, err
		}
	}
	return r, nil
}

// round rounds probabilities to what they can mean, and so that machines which differ in the last bit of a logarithm write the same bytes.
func (r *Result) round() {
	for i := range r.Sets {
		r.Sets[i].Probability = rounded(r.Sets[i].Probability)
		for j := range r.Sets[i].Causes {
			c := &r.Sets[i].Causes[j]
			c.Probability = rounded(c.Probability)
		}
		for j := range r.Sets[i].Others {
			c := &r.Sets[i].Others[j]
			c.Probability = rounded(c.Probability)
		}
	}
}

func rounded(p float64) float64 { return math.Round(p*1e5) / 1e5 }

func logAdd(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(a, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

// groups gathers the hypotheses of each cause, the most probable cause first.
func (s *search) groups() []*group {
	byKey := map[[2]int]*group{}
	var groups []*group
	for i := range s.found {
		f := &s.found[i]
		key := [2]int{f.first.cause, -1}
		if f.second != nil {
			key[1] = f.second.cause
			if key[0] > key[1] {
				key[0], key[1] = key[1], key[0]
			}
		}
		g := byKey[key]
		if g == nil {
			g = &group{key: key, best: f, total: math.Inf(-1)}
			byKey[key] = g
			groups = append(groups, g)
		}
		g.all = append(g.all, f)
		g.total = logAdd(g.total, f.score())
		if f.score() > g.best.score() {
			g.best = f
		}
	}
	slices.SortStableFunc(groups, func(a, b *group) int { return cmp.Compare(b.total, a.total) })
	return groups
}

// sets gathers causes that the evidence cannot tell apart: none of them explains a statement from which another departs, and no Bayes
// factor between the first and any of them exceeds 3.
func (s *search) sets(groups []*group) [][]*group {
	var sets [][]*group
	for _, g := range groups {
		into := slices.IndexFunc(sets, func(set []*group) bool { return alike(set[0].best, g.best) })
		if into < 0 {
			sets = append(sets, []*group{g})
			continue
		}
		sets[into] = append(sets[into], g)
	}
	return sets
}

func alike(f, g *found) bool {
	if math.Abs(f.likelihood-g.likelihood) > math.Log(bayesFactor) {
		return false
	}
	for i := range f.verdicts {
		if f.verdicts[i] != g.verdicts[i] && f.verdicts[i] != replay.CannotTell && g.verdicts[i] != replay.CannotTell {
			return false
		}
	}
	return true
}

// describe puts a set into words.
func (s *search) describe(groups []*group, sum float64) Set {
	var set Set
	for _, g := range groups {
		p := math.Exp(g.total - sum)
		set.Probability += p
		c := s.cause(g)
		c.Probability = p
		if g.total < groups[0].total+math.Log(negligible) {
			set.Others = append(set.Others, c) // told by name only
			continue
		}
		s.addWays(&c, g)
		set.Causes = append(set.Causes, c)
	}
	said := groups[0]
	if set.Causes[0].Family == NoneOfThese && len(groups) > 1 {
		said = groups[1] // which predicts something
	}
	for i, v := range said.best.verdicts {
		switch v {
		case replay.Agrees:
			set.Explains = append(set.Explains, i)
		case replay.Departs:
			set.Departs = append(set.Departs, i)
		default:
			set.Leaves = append(set.Leaves, i)
		}
	}
	set.conclude()
	return set
}

// conclude says what follows from the set's causes.
func (s *Set) conclude() {
	s.Certain = len(s.Causes) == 1 && s.Causes[0].Probability > certain && s.Causes[0].Family != NoneOfThese
	s.Action = together(s.Causes)
}

// negligible is how much less probable than the first of its set a cause must be to be one of the others.
const negligible = 0.02

// certain is how probable one cause must be to be called certain.
const certain = 0.9

// mostWays is how many other ways of a cause are told.
const mostWays = 4

func (s *search) cause(g *group) Cause {
	f := g.best
	a := &s.causes[f.first.cause]
	c := Cause{ID: a.id, Family: a.family, Words: a.words, Detail: f.detail(), Action: a.cure.action()}
	if f.second != nil {
		b := &s.causes[f.second.cause]
		c.ID += " + " + b.id
		c.Also = b.family
		c.Words += "; and " + b.words
		c.Action = c.Action.and(b.cure.action())
	}
	s.addWorld(&c, f)
	return c
}

func (s *search) addWorld(c *Cause, f *found) {
	c.worlds = append(c.worlds, func() (replay.World, bool) { return f.world(s.base) })
}

// addWays adds to a cause the other ways in which it fits as well.
func (s *search) addWays(c *Cause, g *group) {
	for _, f := range g.ranked() {
		words := f.detail()
		if len(c.Ways) == mostWays {
			return
		}
		if f == g.best || !alike(g.best, f) || words == "" || words == c.Detail || slices.Contains(c.Ways, words) {
			continue
		}
		c.Ways = append(c.Ways, words)
		s.addWorld(c, f)
	}
}

// ranked returns all the ways in which the cause was found, the most probable first.
func (g *group) ranked() []*found {
	all := slices.Clone(g.all)
	slices.SortStableFunc(all, func(x, y *found) int { return cmp.Compare(y.score(), x.score()) })
	return all
}

// detail words the variants.
func (f *found) detail() string {
	words := f.first.variant.words
	if f.second == nil || f.second.variant.words == "" {
		return words
	}
	if words != "" {
		words += "; "
	}
	return words + f.second.variant.words
}

func (s *search) statements() []Said {
	said := []Said{}
	for i := range s.c.Sensed {
		said = append(said, Said{Kind: "sensed", Text: s.c.Sensed[i].Text, Line: s.c.Sensed[i].Line})
	}
	for i := range s.c.Settings {
		said = append(said, Said{Kind: "setting", Text: s.c.Settings[i].Text, Line: s.c.Settings[i].Line})
	}
	for _, a := range s.evidence.answers {
		said = append(said, Said{Kind: "answer", Text: fmt.Sprintf("%s %s", a.Question.Words, a.Question.Choices[a.Choice])})
	}
	return said
}

// Answer goes on from the answer to a question, whose choice is an index of its Choices.
func (r *Result) Answer(q *Question, choice int) (*Result, error) {
	return From(r.complaint, r.base, append(slices.Clone(r.answers), Answer{q, choice})...)
}

// Left returns how many causes are in effect left: two to the power of the entropy of their probabilities.
func (r *Result) Left() float64 {
	var p []float64
	for i := range r.Sets {
		for _, c := range r.Sets[i].Causes {
			p = append(p, c.Probability)
		}
		for _, c := range r.Sets[i].Others {
			p = append(p, c.Probability)
		}
	}
	return math.Exp2(bits(p))
}

// Questions returns all questions that are worth asking, the best first.
func (r *Result) Questions() []*Question { return r.questions }

// Next returns the question that tells most for what it costs, or false where none tells anything, where one cause is certain, or where
// safety comes first.
func (r *Result) Next() (*Question, bool) {
	if r.Stop || len(r.questions) == 0 || len(r.Sets) > 0 && r.Sets[0].Certain {
		return nil, false
	}
	return r.questions[0], true
}
