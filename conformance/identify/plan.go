package identify

import (
	"fmt"
	"io"
	"strings"
	"time"
)

// plans are what is asked together: within each the next question hangs on the answers so far, and on nothing else but what the plan is
// given.
var plans = [][]Factor{
	{Coupling}, {AfterReset}, {ModeChange}, {OverrideEnd}, {PastMidnight}, {BadValue}, {SummerTime}, {SecondBoost}, {BoostInHoliday},
	{ThroughCut}, {Reserve, LostClock},
}

// WritePlan writes a decision tree for a person without a computer. What can be read off the unit, [Channels] to [Timing] and [Periods]
// to [Holiday] and [Lock], has to be settled in the space: see Space.Give. The error says what is not, or is one of w.
func WritePlan(w io.Writer, space *Space, longest time.Duration) error {
	for _, f := range []Factor{Channels, Cycle, Timing, Periods, Boost, Holiday, Lock} {
		if !space.settled(f) {
			return fmt.Errorf("a plan is for a unit whose %s is known", f)
		}
	}
	h := NewHand(space, longest)
	var b strings.Builder
	number := 0
	for _, group := range plans {
		p := h.now
		p.Space = p.clone()
		if group[0] == ThroughCut && len(p.values[Reserve]) > 1 {
			p.values[Reserve] = p.values[Reserve][1:]
		}
		var words []string
		for _, f := range group {
			words = append(words, f.String())
		}
		fmt.Fprintf(&b, "\n%s\n", strings.ToUpper(strings.Join(words, ", ")))
		if group[0] == ThroughCut {
			fmt.Fprintf(&b, "     Only if the clock outlives a cut of %d minutes: see reserve below.\n", handCuts[0])
		}
		if why := p.Idle(group[0]); why != "" {
			fmt.Fprintf(&b, "     nothing to ask: %s\n", why)
			continue
		}
		text, err := p.tree(group, &number)
		if err != nil {
			return err
		}
		b.WriteString(text)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// tree returns the questions about a group, each with where to go on, the branch for yes before that for no.
func (p *pick) tree(group []Factor, number *int) (string, error) {
	c, err := p.next(group...)
	if err != nil {
		return "", err
	}
	if c == nil {
		return fmt.Sprintf("     %s stays open: %s\n", p.state(group), p.whyNot(group[0])), nil
	}
	*number++
	text := fmt.Sprintf("%3d. %s\n", *number, strings.Join(append(c.HandLines(), c.HandQuestion()), "\n     "))
	branches := ""
	for _, answer := range []struct {
		word string
		yes  bool
	}{{"yes", true}, {"no", false}} {
		next := *p
		next.Space = p.clone()
		next.answered(c, answer.yes)
		text += fmt.Sprintf("     - %s: %s", answer.word, next.state(group))
		if following, err := next.next(group...); err != nil {
			return "", err
		} else if following != nil {
			text += fmt.Sprintf("; go on with %d", *number+1)
			branch, err := next.tree(group, number)
			if err != nil {
				return "", err
			}
			branches += branch
		}
		text += "\n"
	}
	return text + branches, nil
}

// state says what is known of a group.
func (p *pick) state(group []Factor) string {
	var words []string
	for _, f := range group {
		words = append(words, f.String()+" "+p.words(f))
	}
	return strings.Join(words, "; ")
}
