package identify

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

const patience = 2 * time.Hour

func TestHandNothingElseMovesTheLook(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	for range 8 {
		h := NewHand(HandSpace(patience), patience)
		truth := h.now.anyValues(r)
		n := questionsHold(t, r, &h.now, func(c *choice) bool { return c.answers(truth) })
		require.Positive(t, n)
	}
}

// answers says what a unit with these values answers.
func (c *choice) answers(truth [NumFactors]value) bool {
	if c.has != nil {
		return c.has(truth[c.Factor])
	}
	return c.predict(HandSpace(patience).ics(&truth))
}

// A person who makes no mistake finds what a unit is, as far as hands can tell.
func TestHandFinds(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	sum, most := 0, 0
	const n = 20
	for range n {
		space := HandSpace(patience)
		h := NewHand(space, patience)
		truth := space.anyValues(r)
		for {
			c, err := h.now.next()
			require.NoError(t, err)
			if c == nil {
				break
			}
			require.LessOrEqual(t, c.Waits(), uint64(patience/time.Second)+handSlack)
			require.NotEmpty(t, c.HandQuestion())
			// Who goes back comes to the same question.
			if r.IntN(3) == 0 {
				if r.IntN(2) == 0 {
					require.NoError(t, h.Cannot())
				} else {
					_, err := h.Answer(r.IntN(2) == 0)
					require.NoError(t, err)
				}
				require.True(t, h.Back())
				again, err := h.Next()
				require.NoError(t, err)
				require.Equal(t, c.HandQuestion(), again.HandQuestion())
			}
			_, err = h.Answer(c.answers(truth))
			require.NoError(t, err)
		}
		found := h.Result()
		require.NoError(t, func() error { ics := found.ICS; ics.Lock = false; return ics.Validate() }())
		sum, most = sum+h.Asked(), max(most, h.Asked())
		open := map[string]bool{}
		for _, o := range append(found.Unsettled, found.Idle...) {
			for _, name := range o.Options {
				open[name] = true
			}
		}
		got, want := space.canonical(space.valuesOf(&found.ICS)), space.canonical(truth)
		for f := range Factor(NumFactors) {
			if !open[optionsOf[f][0]] {
				require.Equal(t, want[f], got[f], f)
			}
		}
	}
	t.Logf("questions by hand: %.1f in the mean, %d at most", float64(sum)/n, most)
}

func TestHandCannot(t *testing.T) {
	h := NewHand(HandSpace(patience), patience)
	require.False(t, h.Back())
	for n := 0; ; n++ {
		q, err := h.Next()
		require.NoError(t, err)
		if q == nil {
			break
		}
		require.NoError(t, h.Cannot())
		require.Less(t, n, 100, "passing over has to come to an end")
	}
	r := h.Result()
	require.False(t, r.Settled())
	for _, o := range r.Unsettled {
		require.NotEmpty(t, o.Why)
	}
	require.True(t, h.Back())
	q, err := h.Next()
	require.NoError(t, err)
	require.NotNil(t, q)
}

func given(t *testing.T, options ...string) *Space {
	s := HandSpace(30 * time.Minute)
	for _, o := range options {
		name, value, _ := strings.Cut(o, "=")
		require.NoError(t, s.Give(name, value))
	}
	return s
}

// Every 'go on with' of a plan leads to a question, every question but the first of a group is led to once, and nothing waits longer
// than was allowed.
func TestPlan(t *testing.T) {
	var b bytes.Buffer
	s := given(t, "channels=both", "cycle=5/2", "timing=shared", "periods=3", "boost-longest=60", "boost-step=15", "holiday=yes", "lock=no")
	require.NoError(t, WritePlan(&b, s, 30*time.Minute))
	text := b.String()
	for n, m := range regexp.MustCompile(`(?m)^ *(\d+)\. `).FindAllStringSubmatch(text, -1) {
		require.Equal(t, fmt.Sprint(n+1), m[1])
	}
	leads := map[string]bool{}
	for _, m := range regexp.MustCompile(`go on with (\d+)`).FindAllStringSubmatch(text, -1) {
		require.Regexp(t, `(?m)^ *`+m[1]+`\. `, text)
		require.False(t, leads[m[1]])
		leads[m[1]] = true
	}
	require.Contains(t, text, "     Wait 30 min.\n")
	require.NotContains(t, text, "Wait 1 h")
	require.Contains(t, text, `OVERRIDE-ON-MODE-CHANGE
  3. Reset the unit to its default times and modes.
     Set the clock to 08:00 on Wednesday 21 January 2026.
     Press override for heating.
     Set heating to: on from the day's first on to its last off (span).
     Is heating on?
     - yes: override-on-mode-change cancelled
     - no: override-on-mode-change kept
`)
	require.ErrorContains(t, WritePlan(&b, HandSpace(time.Hour), time.Hour), "whose channels is known")
}

func TestMinutesWords(t *testing.T) {
	for seconds, want := range map[uint64]string{30: "30 seconds", 90: "90 seconds", 60: "1 min", 300: "5 min", 3600: "1 h", 5430: "1 h 30 min 30 s"} {
		require.Equal(t, want, minutesWords(seconds))
	}
}
