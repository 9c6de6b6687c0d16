package realtime

import (
	"fmt"
	"math"
	"time"

	"example.org/hearthbench/conformance/iut"
)

// watch holds the unit's seconds against the bench's, from the answer to new on. A unit answers "go" when its own clock has come to the
// end of it.
type watch struct {
	speed float64
	slack float64 // s
	rate  float64 // by which the unit's clock may be fast or slow, as a fraction

	begin  time.Time // of second 0
	mark   time.Time // of the second under way, as far as the bench can tell
	behind float64   // by how many of its own seconds the unit was behind the bench at the mark; negative if ahead
	jolt   float64   // by how many more than at the mark before
}

// Answered looks at the clock.
func (w *watch) Answered(r *iut.Request, second uint64) (why string) {
	now := time.Now()
	switch r.Kind {
	case iut.New:
		w.begin, w.mark, w.behind, w.jolt = now, now, 0, 0
		return ""
	case iut.Go:
		behind := now.Sub(w.begin).Seconds()*w.speed - float64(second)
		w.mark, w.behind, w.jolt = now, behind, max(0, behind-w.behind)
		if most := w.slack + w.rate*float64(second); math.Abs(behind) > most {
			word := "slow"
			if behind < 0 {
				word = "fast"
			}
			return fmt.Sprintf("the unit's second %d came %.1f of its seconds off, and %.1f are allowed: its clock is %s, or the line or this machine is, "+
				"or its time does not pass %v times as fast as time does", second, math.Abs(behind), most, word, w.speed)
		}
	default:
		if late := now.Sub(w.mark).Seconds()*w.speed + w.jolt; late > w.slack {
			return fmt.Sprintf("this input of second %d may have come as much as %.1f of the unit's seconds later, which is more than the tolerance of %v s: "+
				"the answers take too long for the speed, or this machine is busy", second, late, w.slack)
		}
	}
	return ""
}
