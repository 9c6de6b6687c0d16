package mutation

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// in puts statements into a function, each mutant of which begins in line 2.
func in(statements string) string { return "void f(void)\n{" + statements + "}\n" }

func changes(t *testing.T, source string, headers ...string) []string {
	t.Helper()
	mutants, err := Mutants("a.c", source, headers...)
	require.NoError(t, err)
	var list []string
	for i := range mutants {
		m := &mutants[i]
		list = append(list, string(m.Operator)+" "+m.Old+" -> "+m.New)
	}
	return list
}

// only keeps the changes of some operators.
func only(list []string, operators ...Operator) []string {
	var kept []string
	for _, change := range list {
		for _, o := range operators {
			if strings.HasPrefix(change, string(o)+" ") {
				kept = append(kept, change)
			}
		}
	}
	return kept
}

func TestOperators(t *testing.T) {
	for _, test := range []struct {
		name, source string
		operators    []Operator
		want         []string
	}{
		{"relational", "a = b < c; a = b <= c; a = b > c; a = b >= c; a = b == c; a = b != c;", []Operator{Relational}, []string{
			"relational < -> <=", "relational < -> >=", "relational <= -> <", "relational <= -> >",
			"relational > -> >=", "relational > -> <=", "relational >= -> >", "relational >= -> <",
			"relational == -> !=", "relational != -> ==",
		}},
		{"arithmetic", "a = b + c - d * e / f % g;", []Operator{Arithmetic}, []string{
			"arithmetic + -> -", "arithmetic - -> +", "arithmetic * -> /", "arithmetic / -> *", "arithmetic % -> /",
		}},
		{"an operator with one operand is left alone", "a = -b; *c = &d; e = (int32_t)-f; g(*h); return -i;",
			[]Operator{Arithmetic, Bitwise}, nil},
		{"a pointer in a declaration is no product", "const struct unit *u; uint8_t *v; void *w; char *const *x; int a = b * c;",
			[]Operator{Arithmetic}, []string{"arithmetic * -> /"}},
		{"after a cast, a call, an element and a bracket", "a = (int32_t)b - c(d) - e[f] - (g) - h;", []Operator{Arithmetic}, []string{
			"arithmetic - -> +", "arithmetic - -> +", "arithmetic - -> +", "arithmetic - -> +",
		}},
		{"sizeof is a number", "a = sizeof b - c; a = sizeof (int) - c;", []Operator{Arithmetic},
			[]string{"arithmetic - -> +", "arithmetic - -> +"}},
		{"logical", "a = b && c || !d;", []Operator{Logical}, []string{
			"logical && -> ||", "logical || -> &&", "logical ! -> (deleted)",
		}},
		{"conditions", "if (a) b(); while (c && d) e(); do f(); while (g->h); i = j ? k : l;", []Operator{Logical}, []string{
			"logical a -> !(a)", "logical c && d -> !(c && d)", "logical && -> ||", "logical g->h -> !(g->h)", "logical j -> !(j)",
		}},
		{"a condition is not negated where its only operator is", "if (!a) b(); if (c < d) e(); f = g == h ? i : j;", []Operator{Logical}, []string{
			"logical ! -> (deleted)",
		}},
		{"a bracket of conditions has operators of its own", "if (f(a && b)) c();", []Operator{Logical}, []string{
			"logical f(a && b) -> !(f(a && b))", "logical && -> ||",
		}},
		{"the condition of a ternary begins after what binds less", "return a ? b : c ? d : e; f(g, h && i ? j : k); l += m ? n : o;",
			[]Operator{Logical}, []string{
				"logical a -> !(a)", "logical c -> !(c)", "logical h && i -> !(h && i)", "logical && -> ||", "logical m -> !(m)",
			}},
		{"constants", "a = 0; b = 1; c = 60u; d = true; e = 0x10; f = 1.5; g = 'c'; h = \"0\"; i = 010;", []Operator{Constant}, []string{
			"constant 0 -> 1", "constant 0 -> (-1)", "constant 1 -> 2", "constant 1 -> 0",
			"constant 60u -> 61u", "constant 60u -> 59u", "constant 60u -> 0u", "constant true -> false",
		}},
		{"statements", "a = b; c(); d++; int e = 1; static const uint8_t f[] = {1, 2}; struct g h; if (i) break; else continue; return;",
			[]Operator{Statement}, []string{
				"statement a = b; -> (deleted)", "statement c(); -> (deleted)", "statement d++; -> (deleted)",
				"statement break; -> (deleted)", "statement continue; -> (deleted)", "statement return; -> (deleted)",
			}},
		{"statements of every kind of body", "for (a = 0; b; c++) { d(); } switch (e) { case F: g(); default: h(); } do { i(); } while (j); return k;",
			[]Operator{Statement}, []string{
				"statement d(); -> (deleted)", "statement g(); -> (deleted)", "statement h(); -> (deleted)", "statement i(); -> (deleted)",
			}},
		{"a statement over several lines", "a =\n    b /* why */ +\n  c;", []Operator{Statement}, []string{"statement a = b + c; -> (deleted)"}},
		{"increments", "a++; --b;", []Operator{Increment}, []string{"increment ++ -> --", "increment -- -> ++"}},
		{"compound assignments", "a += b; a -= b; a *= b; a /= b; a %= b; a &= b; a |= b; a ^= b; a <<= b; a >>= b;",
			[]Operator{Assignment}, []string{
				"assignment += -> -=", "assignment -= -> +=", "assignment *= -> /=", "assignment /= -> *=", "assignment %= -> /=",
				"assignment &= -> |=", "assignment |= -> &=", "assignment ^= -> &=", "assignment <<= -> >>=", "assignment >>= -> <<=",
			}},
		{"bits", "a = b & c | d ^ ~e << f >> g;", []Operator{Bitwise}, []string{
			"bitwise & -> |", "bitwise | -> &", "bitwise ^ -> &", "bitwise ~ -> (deleted)", "bitwise << -> >>", "bitwise >> -> <<",
		}},
	} {
		t.Run(test.name, func(t *testing.T) {
			assert.Equal(t, test.want, only(changes(t, in(test.source)), test.operators...))
		})
	}
}

func TestArguments(t *testing.T) {
	const functions = `
static bool alike(const struct period *today, const struct period *yesterday, uint16_t minute) { return today; }
int32_t days(int32_t year, int32_t month, int32_t day);
void none(uint8_t a, uint16_t b, void (*c)(void *d, uint8_t e), void *f);
void still(void);
`
	swaps := func(source string, headers ...string) []string {
		return only(changes(t, source, headers...), Arguments)
	}
	assert.Equal(t, []string{"arguments a, b -> b, a"}, swaps(functions+in("alike(a, b, c);")))
	assert.Equal(t, []string{"arguments a(1, 2), b -> b, a(1, 2)", "arguments b, 3 -> 3, b"}, swaps(functions+in("x = days(a(1, 2), b, 3);")))
	assert.Empty(t, swaps(functions+in("days(a, a, a); none(a, b, c, d); still(); unknown(a, b);")))
	assert.Equal(t, []string{"arguments x, y -> y, x"}, swaps(in("days(x, y, y);"), functions), "declared in a header")
}

// TestApply: the text of every mutant is the source with the one change.
func TestApply(t *testing.T) {
	const source = `int f(int a, int b) { /* < */
    if (a && b) {
        return f(a + 1, b);
    }
    return a;
}
`
	mutants, err := Mutants("m.c", source)
	require.NoError(t, err)
	made := map[string]string{}
	for i := range mutants {
		made[mutants[i].Name()] = mutants[i].Apply(source)
	}
	assert.Equal(t, map[string]string{
		"m.c:2:9 logical a && b -> !(a && b)":     strings.Replace(source, "(a && b)", "(!(a && b))", 1),
		"m.c:2:11 logical && -> ||":               strings.Replace(source, "&&", "||", 1),
		"m.c:3:18 arguments a + 1, b -> b, a + 1": strings.Replace(source, "a + 1, b", "b, a + 1", 1),
		"m.c:3:20 arithmetic + -> -":              strings.Replace(source, "+", "-", 1),
		"m.c:3:22 constant 1 -> 2":                strings.Replace(source, "1", "2", 1),
		"m.c:3:22 constant 1 -> 0":                strings.Replace(source, "1", "0", 1),
	}, made)
	assert.Equal(t, "f", mutants[0].Function)
	assert.Equal(t, "if (a && b) {", mutants[0].Source)
}

func TestWhatIsNotCompiledIsLeftAlone(t *testing.T) {
	const source = `
#if PERIODS > 1
int a = 10;
#endif
#if BUG_ONE
int b = 20;
#if OTHER
int c = 30;
#else
int d = 40;
#endif
#else
int e = 50;
#endif
#ifdef BUG_TWO
int g = 60;
#endif
#define H 70
`
	var old []string
	mutants, err := Mutants("a.c", source)
	require.NoError(t, err)
	for _, m := range mutants {
		if m.New == "0" {
			old = append(old, m.Old)
		}
	}
	assert.Equal(t, []string{"10", "50"}, old)
}

func TestMutantsSayWhereASourceCannotBeFollowed(t *testing.T) {
	for source, want := range map[string]string{
		"a = (b];":                  "a.c:1:7: ] closes nothing",
		"int a[3;\n":                "a.c:1:6: [ is not closed",
		"#endif\n":                  "a.c:1:1: #endif without #if",
		"#if A\n":                   "a.c:1:1: an #if has no #endif",
		in("if a) b();"):            "a.c:2:6: ) closes nothing",
		in("if a b();"):             "a.c:2:2: no ( after if",
		in("do a(); until (b);"):    "a.c:2:2: no while after the body of do",
		in("a()"):                   "a.c:2:2: the statement does not end with a semicolon",
		in("switch (a) { case 1 }"): "a.c:2:15: no : after case",
	} {
		_, err := Mutants("a.c", source)
		assert.EqualError(t, err, want, source)
	}
	_, err := Mutants("a.c", "int a;", "int b(;")
	assert.EqualError(t, err, "header 1 of a.c:1:6: ( is not closed")
}
