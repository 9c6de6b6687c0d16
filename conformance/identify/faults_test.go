package identify

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/faults"
	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/vectors"
)

// TestFaults identifies every third faulty unit of the catalogue. It departs, or it cannot be told, by these looks, from the unit that it is
// found to be: that it is another than that is for the vectors to show.
func TestFaults(t *testing.T) {
	s := small(t)
	var departs, asItself, asAnother, broken int
	for i, f := range faults.Catalogue() {
		if i%3 != 0 {
			continue
		}
		ics := f.ICS()
		s := s.clone()
		s.values[Boost] = withValue(s.values[Boost], s.valuesOf(&ics)[Boost])
		s.values[Reserve] = withValue(s.values[Reserve], s.valuesOf(&ics)[Reserve])
		if ics.Lock {
			s.credential = ics.Credential
		}
		r, err := Run(t.Context(), unitOf(ics, f.Unit), s, Options{})
		if trouble := (*iut.Trouble)(nil); errors.As(err, &trouble) {
			broken++
			require.Equal(t, iut.Nonsense, trouble.Kind, f.ID)
			continue
		}
		require.NoError(t, err, f.ID)
		same := len(r.Compare(s, ics)) == 0
		switch {
		case r.Departure != nil:
			departs++
			require.NotEmpty(t, r.Departure.What, f.ID)
			require.NotEmpty(t, r.Departure.Clauses, f.ID)
			require.NotEmpty(t, r.Departure.Script, f.ID)
		case same:
			asItself++
		default:
			asAnother++
			t.Logf("%s is found to be a unit of another ICS: %v", f.ID, r.Compare(s, ics))
		}
	}
	t.Logf("%d depart, %d are found to be what they state, %d to be of another ICS, %d break the protocol", departs, asItself, asAnother, broken)
	require.Greater(t, departs, 15)
	require.Greater(t, asAnother, 5)
}

// withValue returns an ascending list with a value more.
func withValue(list []value, v value) []value {
	var all []value
	for i, w := range list {
		if v < w && (i == 0 || list[i-1] < v) {
			all = append(all, v)
		}
		all = append(all, w)
	}
	if list[len(list)-1] < v {
		all = append(all, v)
	}
	return all
}

// What the looks do not tell, the vectors do, but where the mistake is another ICS's choice and nothing else.
func TestVectorsTellTheRest(t *testing.T) {
	set, err := suite.Load(vectors.Files)
	require.NoError(t, err)
	byHand := slices.DeleteFunc(slices.Clone(set.Vectors), func(v *suite.Vector) bool { return strings.HasPrefix(v.ID, "GEN/") })
	s := small(t)
	told := 0
	for i, f := range faults.Catalogue() {
		if i%53 != 0 {
			continue
		}
		ics := f.ICS()
		s.values[Reserve] = withValue(s.values[Reserve], s.valuesOf(&ics)[Reserve])
		if ics.Lock {
			s.credential = ics.Credential
		}
		unit := unitOf(ics, f.Unit)
		r, err := Run(t.Context(), unit, s, Options{})
		require.NoError(t, err)
		if !r.Settled() { // it departs, or takes the credential for a wrong one
			continue
		}
		failed := 0
		require.NoError(t, runner.Run(t.Context(), As(unit, r.ICS), byHand, func(r *runner.Result) {
			if r.Verdict == runner.Fail {
				failed++
			}
		}))
		if len(r.Compare(s, ics)) > 0 && failed == 0 {
			t.Logf("%s is, as far as the vectors go, a right unit of another ICS: %v", f.ID, r.Compare(s, ics))
			continue
		}
		require.Positive(t, failed, f.ID)
		told++
	}
	require.Positive(t, told)
}
