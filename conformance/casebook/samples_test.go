package casebook

import (
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/diagnosis"
)

const samples = "../../testdata/complaints"

// sample is what is known of a complaint in testdata: see the head of expected.yaml.
type sample struct {
	Families []diagnosis.Family `yaml:"families"`
	Words    string             `yaml:"words"`
	Safety   string             `yaml:"safety"`
	Stop     bool               `yaml:"stop"`
	Missed   string             `yaml:"missed"`
}

func readSamples(t *testing.T) map[string]sample {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(samples, "expected.yml"))
	require.NoError(t, err)
	known := map[string]sample{}
	require.NoError(t, yaml.Unmarshal(data, &known))
	return known
}

func TestEachSampleHasAKnownCause(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(samples, "*.yaml"))
	require.NoError(t, err)
	known := readSamples(t)
	for _, f := range files {
		assert.Contains(t, known, filepath.Base(f))
	}
	assert.Len(t, known, len(files))
	assert.GreaterOrEqual(t, len(files), 25)
}

// The set ranked first has the known cause; what is said of safety comes before it.
func TestSamples(t *testing.T) {
	known := readSamples(t)
	for _, name := range slices.Sorted(maps.Keys(known)) {
		want := known[name]
		t.Run(name, func(t *testing.T) {
			data, err := os.ReadFile(filepath.Join(samples, name))
			require.NoError(t, err)
			c, err := complaint.ParseIn(os.DirFS(samples), name, data)
			require.NoError(t, err)
			r, err := diagnosis.Diagnose(c)
			require.NoError(t, err)
			words := regexp.MustCompile(want.Words)
			at, place := 0, 0
			for i := range r.Sets {
				place = slices.IndexFunc(r.Sets[i].Causes, func(c diagnosis.Cause) bool {
					return slices.Contains(want.Families, c.Family) && c.Also == "" && words.MatchString(c.Words)
				})
				if place >= 0 {
					at = i + 1
					break
				}
			}
			first := r.Sets[0]
			t.Logf("known cause in set %d, place %d of %d (p %.2f); first cause: %q (%s, p %.2f)", at, place+1, len(first.Causes)+len(first.Others), first.Probability,
				first.Causes[0].Words, first.Causes[0].Family, first.Causes[0].Probability)
			if want.Missed == "" {
				assert.Equal(t, 1, at, "the set ranked first has the known cause")
			} else {
				assert.NotEqual(t, 1, at, "the diagnosis now finds it: take 'missed' out of expected.yml (%s)", want.Missed)
			}
			acted := slices.ContainsFunc(r.Safety, func(w diagnosis.Warning) bool { return w.Now })
			assert.Equal(t, want.Safety != "", acted, "what is to be acted on at once comes first")
			assert.Equal(t, want.Stop, r.Stop)
			if _, ok := r.Next(); want.Stop {
				assert.False(t, ok, "nobody is asked to press anything")
			}
			if acted {
				assert.Equal(t, want.Safety, r.Safety[0].About)
			}
		})
	}
}
