package identify

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/emulator/spec"
)

// Options are how a unit is identified. The zero value has the defaults.
type Options struct {
	// Longest is how much of the unit's time one question may take. 0 is any: up to a year, for the longest reserve there is.
	Longest time.Duration
	// Tolerances are what the unit is allowed: its own claims are not read. nil is the defaults of BEHAVIOUR.md.
	Tolerances *spec.Tolerances
	// Step is called after each answer; nil to be told nothing.
	Step func(*Step)
}

// Step is one question with its answer.
type Step struct {
	Question *Question
	Yes      bool
	Left     string  // the values that remain of the question's factor
	Bits     float64 // the binary logarithm of the number of hypotheses that remain
}

// Open is options of which several values remain.
type Open struct {
	Options []string
	Values  string
	Why     string
}

// Result is what a unit was found to be.
type Result struct {
	// ICS has what was settled, and of what was not, one of the values that remain: without a credential, if none was known.
	ICS       spec.ICS
	Steps     []Step
	Controls  int        // scripts whose answers are all known if the unit fits, put to it at the end
	Idle      []Open     // options that make no difference on such a unit; the ICS has their first value
	Unsettled []Open     // options that make a difference which was not seen
	Departure *Departure // how the unit departs from the only ICS that gives its answers; nil if it does not
}

// Settled reports whether the unit is told from every unit that differs, and fits.
func (r *Result) Settled() bool { return r.Departure == nil && len(r.Unsettled) == 0 }

// pick keeps the best question about each factor until something changes.
type pick struct {
	asker
	ready [NumFactors]bool // best is up to date
	best  [NumFactors]*choice
}

// choice is a question with what becomes of its factor.
type choice struct {
	Question
	yes, no []value
}

// off is how far the question is from being answered with yes by one half.
func (c *choice) off() float64 {
	return math.Abs(float64(len(c.yes))/float64(len(c.yes)+len(c.no)) - 0.5)
}

// better reports whether the question tells more, or tells as much and takes less of the unit's time.
func (c *choice) better(than *choice) bool {
	if than == nil || c.off() != than.off() {
		return than == nil || c.off() < than.off()
	}
	return c.Waits() < than.Waits()
}

// quicker reports whether the question tells more for a person's minute; what is done and looked at takes one besides the waiting.
func (c *choice) quicker(than *choice) bool { return than == nil || c.perMinute() > than.perMinute() }

func (c *choice) perMinute() float64 {
	y := float64(len(c.yes)) / float64(len(c.yes)+len(c.no))
	minutes := float64(1+len(c.Script)) + float64(c.Waits())/60
	return -(y*math.Log2(y) + (1-y)*math.Log2(1-y)) / minutes
}

// next returns the question about these factors, or any if none is named, whose answer is least certain; nil if there is none.
func (p *pick) next(about ...Factor) (*choice, error) {
	better := (*choice).better
	if p.hand {
		better = (*choice).quicker
	}
	var best *choice
	for f := range Factor(NumFactors) {
		if len(about) > 0 && !slices.Contains(about, f) {
			continue
		}
		if !p.ready[f] {
			p.best[f], p.ready[f] = nil, true
			if p.settled(f) {
				continue
			}
			for _, q := range p.questions(f) {
				yes, no, err := q.split(p.Space)
				if err != nil {
					return nil, err
				}
				if c := (&choice{q, yes, no}); len(yes) > 0 && len(no) > 0 && better(c, p.best[f]) {
					p.best[f] = c
				}
			}
		}
		if c := p.best[f]; c != nil && !p.settled(f) && better(c, best) {
			best = c
		}
	}
	return best, nil
}

// answered takes the answer to a question.
func (p *pick) answered(c *choice, yes bool) Step {
	if yes {
		p.values[c.Factor] = c.yes
	} else {
		p.values[c.Factor] = c.no
	}
	// A question that could not be made may be makeable now; the others are as they were.
	for f := range p.ready {
		p.ready[f] = p.ready[f] && p.best[f] != nil && Factor(f) != c.Factor
	}
	return Step{Question: &c.Question, Yes: yes, Left: p.words(c.Factor), Bits: p.bits()}
}

// Run identifies a unit among the hypotheses, which are left as they are. The unit's own statement is not read.
//
// An error is the end of ctx, or trouble with the unit, an *iut.Trouble: then nothing is said of it.
func Run(ctx context.Context, unit iut.IUT, space *Space, o Options) (*Result, error) {
	p := &pick{asker: asker{Space: space.clone(), longest: uint64(o.Longest / time.Second)}}
	r := &Result{}
	var seen []evidence
	for {
		c, err := p.next()
		if err != nil {
			return nil, err
		}
		if c == nil {
			break
		}
		obs, err := ask(ctx, unit, c.Script)
		if err != nil {
			return nil, fmt.Errorf("question %d: %w", len(r.Steps)+1, err)
		}
		seen = append(seen, evidence{&c.Question, obs})
		step := p.answered(c, c.Look.answer(obs))
		r.Idle = append(r.Idle, p.drop()...)
		r.Steps = append(r.Steps, step)
		if o.Step != nil {
			o.Step(&step)
		}
	}
	p.finish(r)
	claims := spec.FullICS().Tolerances
	if o.Tolerances != nil {
		claims = *o.Tolerances
	}
	r.ICS.Tolerances = claims
	remain := p.extremes()
	for i := range seen {
		if r.Departure = seen[i].departureFromAll(remain, claims); r.Departure != nil {
			r.Departure.Where = fmt.Sprintf("question %d", i+1)
			return r, nil
		}
	}
	if !p.allSettled() {
		return r, nil
	}
	for _, q := range p.controls() {
		obs, err := ask(ctx, unit, q.Script)
		if err != nil {
			return nil, fmt.Errorf("control %d: %w", r.Controls+1, err)
		}
		r.Controls++
		if r.Departure = (&evidence{&q, obs}).departureFromAll(remain, claims); r.Departure != nil {
			r.Departure.Where = fmt.Sprintf("control %d", r.Controls)
			break
		}
	}
	return r, nil
}

// finish says what is settled and what is not.
func (p *pick) finish(r *Result) {
	for f := range Factor(NumFactors) {
		if !p.settled(f) {
			r.Unsettled = append(r.Unsettled, p.open(f, p.whyNot(f)))
		}
	}
	r.ICS = p.anyICS(Channels, p.the(Channels))
	if r.ICS.Lock && (p.credential == "" || p.the(Lock) == lockOther) {
		r.ICS.Credential = ""
		why := "the unit's credential has to be known: none is tried that was not given"
		if p.credential != "" {
			why = "the lock does not take the credential that was given, and no other is tried"
		}
		if p.settled(Lock) {
			r.Unsettled = append(r.Unsettled, Open{Options: []string{"credential"}, Values: "any", Why: why})
		}
	}
}

// extremes returns the ICS with the first and that with the last of the values that remain: one and the same if all is settled. What is
// not settled has not moved a look; whether it moves anything else tells where these differ.
func (p *pick) extremes() []spec.ICS {
	var first, last [NumFactors]value
	for f, list := range p.values {
		first[f], last[f] = list[0], list[len(list)-1]
	}
	if p.allSettled() {
		return []spec.ICS{p.ics(&first)}
	}
	return []spec.ICS{p.ics(&first), p.ics(&last)}
}

// allSettled reports whether every factor has one value.
func (p *pick) allSettled() bool {
	for f := range Factor(NumFactors) {
		if !p.settled(f) {
			return false
		}
	}
	return true
}

// whyNot says why a factor is not settled.
func (p *pick) whyNot(f Factor) string {
	needs := slices.Concat([]Factor{Channels}, needsOf[f])
	if f > Periods && f != Boost && f != Holiday && f != Lock {
		needs = append(needs, Cycle, Timing, Periods)
	}
	if !p.hand {
		needs = append(needs, map[Factor][]Factor{PastMidnight: {BadValue}, Boost: {BadValue}, Reserve: {LostClock}}[f]...)
	} else if f == LostClock {
		needs = append(needs, Reserve)
	}
	var missing []string
	for _, g := range needs {
		if g != f && !p.settled(g) {
			missing = append(missing, g.String())
		}
	}
	switch c := p.best[f]; {
	case p.ready[f] && c != nil:
		return "it was not asked"
	case p.hand && f == ThroughCut && len(missing) == 0:
		return "a reserve of nothing would look the same"
	case len(missing) > 0:
		return "it cannot be asked before " + strings.Join(missing, " and ") + " is settled"
	case len(p.cannot) > 0:
		return "what would tell was passed over, or takes too long"
	case p.longest > 0:
		longest := p.longest
		if p.hand {
			longest -= handSlack
		}
		return fmt.Sprintf("what would tell takes more than %v of the unit's time", time.Duration(longest)*time.Second)
	default:
		return "nothing that can be asked tells"
	}
}

// needsOf has what else has to be settled before a factor can be.
var needsOf = [NumFactors][]Factor{
	SecondBoost: {Boost}, BoostInHoliday: {Boost, Holiday},
	ThroughCut: {Reserve},
}

// ask puts one script to the unit and keeps what it observed.
func ask(ctx context.Context, unit iut.IUT, s iut.Script) (*iut.Observation, error) {
	var kept *iut.Observation
	err := unit.Run(ctx, []iut.Script{s}, func(_ int, obs *iut.Observation) {
		kept = &iut.Observation{Answers: slices.Clone(obs.Answers), Changes: slices.Clone(obs.Changes), Trouble: obs.Trouble}
	})
	switch {
	case err != nil:
		return nil, err
	case kept.Trouble != nil:
		return nil, kept.Trouble
	}
	return kept, nil
}
