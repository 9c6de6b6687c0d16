package mutation

import (
	"cmp"
	"context"
	"flag"
	"fmt"
	"hash/fnv"
	"io"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/testtool"
	"example.org/hearthbench/vectors"
)

var (
	full   = flag.Bool("full", false, "let TestAllMutants try all mutants, which takes a quarter of an hour and more")
	update = flag.Bool("update", false, "bring the line numbers in survivors.md up to date")
)

const (
	sample        = "../../testdata/firmware"
	survivorsPage = "survivors.md"
	// sampleSize is how many mutants an ordinary test run tries.
	sampleSize = 60
	// leastScore is the share of the mistakes that the published vectors have to catch.
	leastScore = 0.97
)

// TestSampleOfMutants tries mutants that are the same in every run until the source changes. Those that the page explains as equivalent
// are left to TestAllMutants, since a survivor has to be put to all vectors in all designs.
func TestSampleOfMutants(t *testing.T) {
	if testing.Short() {
		t.Skip("building mutants takes half a minute")
	}
	b := newBench(t)
	mutants, explained := mutantsAndPage(t, b)
	mutants = slices.DeleteFunc(mutants, func(m Mutant) bool {
		x := explained.Of(&m)
		return x != nil && x.Kind == Harmless
	})
	results := try(t, b, drawn(mutants, sampleSize))
	report(t, results, explained)
	for _, problem := range explained.Problems(results) {
		t.Errorf("%s: %s", survivorsPage, problem)
	}
}

// TestAllMutants is the measurement: go test ./conformance/mutation -run TestAllMutants -full -v -timeout 90m
func TestAllMutants(t *testing.T) {
	if !*full {
		t.Skip("without -full only TestSampleOfMutants runs")
	}
	b := newBench(t)
	mutants, explained := mutantsAndPage(t, b)
	results := try(t, b, mutants)
	tallies := report(t, results, explained)
	for _, problem := range explained.Problems(results) {
		t.Errorf("%s: %s", survivorsPage, problem)
	}
	assert.GreaterOrEqual(t, tallies[""].Score(), leastScore, "of the mistakes, too few are caught: vectors are missing")
}

// TestExplainedMutants tries again what the page of survivors explains. It is quicker than all, and shows what vectors that have been
// added catch: go test ./conformance/mutation -run TestExplainedMutants -full -v -timeout 60m
func TestExplainedMutants(t *testing.T) {
	if !*full {
		t.Skip("without -full only TestSampleOfMutants runs")
	}
	b := newBench(t)
	mutants, explained := mutantsAndPage(t, b)
	results := try(t, b, slices.DeleteFunc(mutants, func(m Mutant) bool { return explained.Of(&m) == nil }))
	for _, problem := range explained.Problems(results) {
		t.Errorf("%s: %s", survivorsPage, problem)
	}
}

// TestDesignsCallForEveryVector: a hand-derived vector that is for no design would have no part in the score. The generated ones go
// through the options by pairs, so that every design is called for by most of them.
func TestDesignsCallForEveryVector(t *testing.T) {
	if testing.Short() {
		t.Skip("building every design takes some seconds")
	}
	b := newBench(t)
	idle := map[string]bool{}
	for _, v := range b.vectors {
		if suite.FamilyOf(v.ID) != suite.Generated {
			idle[v.ID] = true
		}
	}
	for i := range Designs {
		_, err := b.base(t.Context(), i)
		require.NoError(t, err)
		dialer, err := iut.Exec("'"+b.unit(i)+"'", io.Discard)
		require.NoError(t, err)
		u, err := iut.Open(t.Context(), dialer, iut.Options{})
		require.NoError(t, err)
		ics := u.ICS()
		require.NoError(t, u.Close())
		for _, v := range b.vectors {
			if ok, _ := v.Applies(&ics); ok {
				delete(idle, v.ID)
			}
		}
	}
	assert.Empty(t, idle, "add to Designs what these vectors need")
}

// TestFates: the bench tells the fates apart on mutants whose fate is plain.
func TestFates(t *testing.T) {
	if testing.Short() {
		t.Skip("building mutants takes some seconds")
	}
	b := newBench(t)
	b.built = b.built[:1] // one design does for this, and a survivor would be built in all
	mutate := func(old, put string) Mutant {
		t.Helper()
		text, err := b.Source("unit.c")
		require.NoError(t, err)
		begin := strings.Index(text, old)
		require.GreaterOrEqual(t, begin, 0, "unit.c has no %q: take another piece of it", old)
		return Mutant{File: "unit.c", begin: begin, end: begin + len(old), put: put}
	}
	for name, test := range map[string]struct {
		mutant Mutant
		want   Fate
		how    string // part of it
	}{
		"does not build":       {mutate("u->cut++;", "u->cut+;"), Unbuilt, ""},
		"the same code":        {mutate("u->cut++;", "u->cut += 1u;"), Equivalent, ""},
		"a vector fails":       {mutate("u->standard++;", "u->standard--;"), Caught, ""},
		"crashes":              {mutate("u->cut++;", "*(volatile int *)0 = 1;"), Caught, "ended"},
		"does not come to end": {mutate("u->cut++;", "for (volatile int go = 1; go;) {}"), Caught, "no closing line"},
		"no vector can tell":   {mutate("u->cut = 0;", "u->cut = 0; u->second_left += u->output[SIGNAL_COUNT - 1] == 7;"), Survived, ""},
	} {
		t.Run(name, func(t *testing.T) {
			r, err := b.Try(t.Context(), test.mutant)
			require.NoError(t, err)
			assert.Equal(t, test.want, r.Fate, r.String())
			assert.Contains(t, r.How, test.how)
		})
	}
}

func newBench(t *testing.T) *Bench {
	t.Helper()
	compiler := testtool.Need(t, "gcc", "gcc")
	set, err := suite.Load(vectors.Files)
	require.NoError(t, err)
	b, err := NewBench(compiler, sample, t.TempDir(), set.Vectors)
	require.NoError(t, err)
	return b
}

func mutantsAndPage(t *testing.T, b *Bench) ([]Mutant, *Explained) {
	t.Helper()
	mutants, err := b.Mutants()
	require.NoError(t, err)
	page, err := os.ReadFile(survivorsPage)
	require.NoError(t, err)
	explanations, err := ReadExplanations(string(page))
	require.NoError(t, err, survivorsPage)
	explained := Match(explanations, mutants)
	if *update {
		text := explained.Renumber(string(page))
		require.NoError(t, os.WriteFile(survivorsPage, []byte(text), 0o644))
		explanations, err = ReadExplanations(text)
		require.NoError(t, err, survivorsPage)
		explained = Match(explanations, mutants)
	}
	return mutants, explained
}

// drawn returns some of the mutants, chosen by a hash of what each is, so that a change of the source elsewhere leaves most as they were.
func drawn(mutants []Mutant, n int) []Mutant {
	hash := func(m Mutant) uint64 {
		h := fnv.New64a()
		io.WriteString(h, m.identity())
		return h.Sum64()
	}
	list := slices.Clone(mutants)
	slices.SortStableFunc(list, func(a, b Mutant) int { return cmp.Compare(hash(a), hash(b)) })
	return list[:min(n, len(list))]
}

// try tries mutants, two at a time, and returns the results in the mutants' order.
func try(t *testing.T, b *Bench, mutants []Mutant) []Result {
	t.Helper()
	ctx, stop := context.WithCancelCause(t.Context())
	defer stop(nil)
	results := make([]Result, len(mutants))
	next := make(chan int)
	var workers sync.WaitGroup
	for range min(2, runtime.NumCPU()) {
		workers.Go(func() {
			for i := range next {
				r, err := b.Try(ctx, mutants[i])
				if err != nil {
					stop(fmt.Errorf("%s: %w", mutants[i].Name(), err))
				}
				results[i] = r
			}
		})
	}
	begin := time.Now()
	for i := range mutants {
		if ctx.Err() != nil {
			break
		}
		next <- i
		if done := i + 1; done%100 == 0 {
			t.Logf("%d of %d mutants, %v", done, len(mutants), time.Since(begin).Round(time.Second))
		}
	}
	close(next)
	workers.Wait()
	require.NoError(t, context.Cause(ctx))
	return results
}

// report logs what became of the mutants, and all that survive.
func report(t *testing.T, results []Result, explained *Explained) map[Operator]*Tally {
	t.Helper()
	tallies := Tallies(results, explained)
	var out strings.Builder
	require.NoError(t, WriteTallies(&out, tallies))
	for i := range results {
		r := &results[i]
		if r.Fate != Survived {
			continue
		}
		why := "not explained"
		if x := explained.Of(&r.Mutant); x != nil {
			why = x.Title
		}
		fmt.Fprintf(&out, "survives: %s in %s (%s)\n", r.Mutant.Name(), r.Mutant.Function, why)
	}
	t.Log("\n" + out.String())
	return tallies
}
