package mutation

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const twice = `void f(void)
{
    a = 1;
    b();
}
void g(void)
{
    b();
    b();
}
`

// deletions are the statement mutants of twice: those of lines 3, 4, 8 and 9.
func deletions(t *testing.T, source string) []Mutant {
	t.Helper()
	mutants, err := Mutants("a.c", source)
	require.NoError(t, err)
	var list []Mutant
	for _, m := range mutants {
		if m.Operator == Statement {
			list = append(list, m)
		}
	}
	require.Len(t, list, 4)
	return list
}

const page = "# Page\n\n## Equivalent\n\n### Set again\n\nIt is set again\nbefore it is read.\n\n" +
	"- `a.c:3:5 statement a = 1; -> (deleted)` in f: `a = 1;`\n" +
	"- `a.c:9:5 statement b(); -> (deleted)` in g: `b();`\n\n" +
	"## A vector is missing\n\n### Nothing calls f\n\nA step that does.\n\n" +
	"- `a.c:4:5 statement b(); -> (deleted)` in f: `b();`\n"

func read(t *testing.T, page string) []Explanation {
	t.Helper()
	explanations, err := ReadExplanations(page)
	require.NoError(t, err)
	return explanations
}

func TestExplanations(t *testing.T) {
	mutants := deletions(t, twice)
	e := Match(read(t, page), mutants)
	assert.Equal(t, Harmless, e.Of(&mutants[0]).Kind)
	assert.Equal(t, "Set again", e.Of(&mutants[0]).Title)
	assert.Equal(t, VectorMissing, e.Of(&mutants[1]).Kind)
	assert.Nil(t, e.Of(&mutants[2]), "the same text in the same function, but another line")
	assert.Equal(t, Harmless, e.Of(&mutants[3]).Kind)
	assert.Empty(t, e.Problems([]Result{
		{Mutant: mutants[0], Fate: Survived}, {Mutant: mutants[1], Fate: Survived},
		{Mutant: mutants[2], Fate: Caught}, {Mutant: mutants[3], Fate: Survived},
	}))
	assert.Empty(t, e.Problems([]Result{{Mutant: mutants[2], Fate: Equivalent}}), "what has not been tried is not judged")
}

func TestProblems(t *testing.T) {
	mutants := deletions(t, twice)
	e := Match(read(t, page), mutants)
	assert.Equal(t, []string{
		"survives and is not explained:\n- `a.c:8:5 statement b(); -> (deleted)` in g: `b();`",
		"line 11: the mutant does not survive any more (caught by MOD-1/off in the design 'defaults'), so its entry should go",
		"line 19: the mutant does not survive any more (does not build), so its entry should go",
	}, e.Problems([]Result{
		{Mutant: mutants[2], Fate: Survived}, {Mutant: mutants[3], Fate: Caught, By: "MOD-1/off", Design: "defaults"},
		{Mutant: mutants[0], Fate: Equivalent}, {Mutant: mutants[1], Fate: Unbuilt},
	}))

	gone := Match(read(t, page), mutants[:1])
	assert.Equal(t, []string{
		"line 11: no mutant has that name, function and line of source any more",
		"line 19: no mutant has that name, function and line of source any more",
	}, gone.Problems(nil))
}

func TestRenumber(t *testing.T) {
	later := deletions(t, strings.Replace(twice, "void g", "\n\nvoid g", 1))
	e := Match(read(t, page), later)
	// Of two mutants of one function that are alike, the first is taken for the one that was meant: the text tells no more.
	assert.Equal(t, []string{"line 11: the mutant now stands in line 10 of a.c; run the test with -update"}, e.Problems(nil))
	renumbered := e.Renumber(page)
	assert.Equal(t, strings.Replace(page, "a.c:9:5", "a.c:10:5", 1), renumbered)
	assert.Empty(t, Match(read(t, renumbered), later).Problems(nil))
}

func TestReadExplanationsSaysWhatIsWrong(t *testing.T) {
	const entry = "- `a.c:3:5 statement a = 1; -> (deleted)` in f: `a = 1;`"
	const nothing = "the entry stands under no explanation: there should be a ## heading, a ### heading and a text before it"
	for text, want := range map[string]string{
		"## Harmless\n":                    `line 1: the heading "Harmless" is none of 'Equivalent', 'Outside what a vector can show' and 'A vector is missing'`,
		entry:                              "line 1: " + nothing,
		"## Equivalent\n\n" + entry:        "line 3: " + nothing,
		"## Equivalent\n### Why\n" + entry: "line 3: " + nothing,
		"## Equivalent\n### A\nB\n### C\n" + entry:      "line 5: " + nothing,
		"## Equivalent\n### A\nB\n- a.c:3:5 deletes it": "line 4: this is not \"- `NAME` in FUNCTION: `LINE OF SOURCE`\"",
	} {
		_, err := ReadExplanations(text)
		assert.EqualError(t, err, want)
	}
}

func TestTallies(t *testing.T) {
	mutants := deletions(t, twice)
	e := Match(read(t, page), mutants)
	results := []Result{
		{Mutant: mutants[0], Fate: Survived}, // explained as equivalent
		{Mutant: mutants[1], Fate: Survived}, // explained by a vector that is missing
		{Mutant: mutants[2], Fate: Caught},
		{Mutant: mutants[3], Fate: Unbuilt},
		{Mutant: Mutant{Operator: Constant}, Fate: Equivalent},
	}
	tallies := Tallies(results, e)
	assert.Equal(t, &Tally{Made: 4, Unbuilt: 1, Caught: 1, Survived: 2, Harmless: 1}, tallies[Statement])
	assert.Equal(t, &Tally{Made: 1, Equivalent: 1}, tallies[Constant])
	assert.InDelta(t, 0.5, tallies[""].Score(), 1e-9, "one of two mistakes is caught")
	assert.InDelta(t, 1, tallies[Constant].Score(), 1e-9, "no mistakes, none missed")

	var out strings.Builder
	require.NoError(t, WriteTallies(&out, tallies))
	assert.Equal(t, ""+
		"   operator  made  not built  same code  caught  survived  of these equivalent    score\n"+
		"   constant     1          0          1       0         0                    0  100.0 %\n"+
		"  statement     4          1          0       1         2                    1   50.0 %\n"+
		"        all     5          1          1       1         2                    1   50.0 %\n", out.String())
}
