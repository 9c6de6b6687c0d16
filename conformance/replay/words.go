package replay

import (
	"fmt"
	"strings"

	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// Sentence says what happened and why, as in "the heating relay closed because period 1 begins (MOD-2)". The changes are those of one
// instant, in their order; what came with another is said with it.
func (h *History) Sentence(changes []*Change) string {
	var parts, brought []string
	for _, c := range changes {
		if broughtByHeating(c) {
			// The relays close in the other order (OUT-3), but this is what brought it.
			brought = append(brought, h.clause(c))
		} else {
			parts = append(parts, h.clause(c))
		}
	}
	return strings.Join(append(parts, brought...), "; ")
}

func (h *History) clause(c *Change) string {
	why := h.Why(c)
	switch {
	case c.Lane == LaneDisplay:
		return fmt.Sprintf("%s %s: %s", c.Lane, displayVerbs[c.Level], why)
	case c.Lane > LaneDisplay:
		return fmt.Sprintf("%s: %s", verb(c), why)
	case broughtByHeating(c):
		return fmt.Sprintf("hot water closed with it because the unit is set to gravity (%s)", spec.ClauseCoupling)
	}
	if noun, ok := alone[c.Why.Unit.By]; ok && !strings.Contains(why, ";") && c.Why.Unit.Cause != spec.CausePeriod {
		why = fmt.Sprintf("%s (%s)", noun, c.Why.Unit.By)
	}
	return fmt.Sprintf("%s because %s", verb(c), why)
}

func broughtByHeating(c *Change) bool {
	return c.Lane == LaneHW && c.Why.Unit.By == spec.ClauseCoupling
}

// alone are the words for a rule that is all there is to say, as they follow 'because'.
var alone = map[spec.Clause]string{
	spec.ClausePower: "there is no power", spec.ClauseBoost: "a boost runs", spec.ClauseHoliday: "a holiday runs",
	spec.ClauseOverride: "an override was given", spec.ClauseOff: "the mode is off", spec.ClauseAlways: "the mode is always",
	spec.ClauseTable: "that is what the table asks", spec.ClauseSpan: "that is what the span asks", spec.ClauseUnset: "the clock is unset",
	spec.ClausePermit: "this hour's allowance is used up", spec.ClauseDormant: "the lock was removed",
	spec.ClauseCounting: "the lock is counting", spec.ClauseNotice: "the lock gives notice", spec.ClauseRestrict: "the lock restricts",
}

var displayVerbs = [...]string{Dark: "went dark", Flashing: "began to flash", Readable: "showed a time"}

// verb says what a lane did.
func verb(c *Change) string {
	switch {
	case c.Lane == LaneHW || c.Lane == LaneCH:
		return fmt.Sprintf("%s %s", c.Lane, [...]string{"opened", "closed"}[c.Level])
	case c.Lane == LaneAlert:
		return fmt.Sprintf("the alert came to %s", c.Lane.Word(c.Level))
	case c.Lane == LaneSounder:
		return fmt.Sprintf("the sounder %s", [...]string{"fell silent", "sounded"}[c.Level])
	}
	if p, _ := c.Lane.Point(); p == plant.Radiators || p == plant.Radiators2 {
		return fmt.Sprintf("%s became %s", c.Lane, c.Lane.Word(c.Level))
	}
	return fmt.Sprintf("%s: %s", c.Lane, c.Lane.Word(c.Level))
}

// Last returns the last change of a lane up to and including a true second, or nil.
func (h *History) Last(l Lane, at int64) *Change {
	if i := after(h.lanes[l], at); i > 0 {
		return &h.lanes[l][i-1]
	}
	return nil
}
