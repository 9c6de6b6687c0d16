package mutation

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTokenize(t *testing.T) {
	for _, test := range []struct {
		name, source string
		want         []token
	}{
		{"nothing", " \n\t", nil},
		{"a statement", "x = y+1;", []token{
			{word, "x", 0, 1, 1}, {punctuation, "=", 2, 1, 3}, {word, "y", 4, 1, 5}, {punctuation, "+", 5, 1, 6},
			{number, "1", 6, 1, 7}, {punctuation, ";", 7, 1, 8},
		}},
		{"the longest operator", "a<<=b->c<d", []token{
			{word, "a", 0, 1, 1}, {punctuation, "<<=", 1, 1, 2}, {word, "b", 4, 1, 5}, {punctuation, "->", 5, 1, 6},
			{word, "c", 7, 1, 8}, {punctuation, "<", 8, 1, 9}, {word, "d", 9, 1, 10},
		}},
		{"numbers", "0x1Fu 60u .5 1e-3 2", []token{
			{number, "0x1Fu", 0, 1, 1}, {number, "60u", 6, 1, 7}, {number, ".5", 10, 1, 11}, {number, "1e-3", 13, 1, 14},
			{number, "2", 18, 1, 19},
		}},
		{"a hexadecimal number has no exponent e", "0xe-1", []token{
			{number, "0xe", 0, 1, 1}, {punctuation, "-", 3, 1, 4}, {number, "1", 4, 1, 5},
		}},
		{"comments", "a /* b\n< */ c // d > e\nf", []token{
			{word, "a", 0, 1, 1}, {word, "c", 12, 2, 6}, {word, "f", 23, 3, 1},
		}},
		{"texts", `'<' "a \" // b" '\''`, []token{
			{text, "'<'", 0, 1, 1}, {text, `"a \" // b"`, 4, 1, 5}, {text, `'\''`, 16, 1, 17},
		}},
		{"preprocessor lines", "#define A(x) \\\n    ((x) + 1)\n  # if A < 2 /* a\nb */ + 1\nx\n", []token{
			{directive, "#define A(x) \\\n    ((x) + 1)", 0, 1, 1}, {directive, "# if A < 2 /* a\nb */ + 1", 31, 3, 3}, {word, "x", 56, 5, 1},
		}},
		{"a # inside a line is none", "a # b", []token{
			{word, "a", 0, 1, 1}, {punctuation, "#", 2, 1, 3}, {word, "b", 4, 1, 5},
		}},
		{"a preprocessor line after a comment", "/* a\n */ #undef B", []token{{directive, "#undef B", 9, 2, 5}}},
	} {
		t.Run(test.name, func(t *testing.T) {
			got, err := tokenize(test.source)
			require.NoError(t, err)
			assert.Equal(t, test.want, got)
		})
	}
}

func TestTokenizeSaysWhatIsWrong(t *testing.T) {
	for source, want := range map[string]string{
		"a;\n  /* b":  "2:3: a comment does not end",
		"x = \"abc\n": "1:5: a text that begins with \" does not end",
		"'":           "1:1: a text that begins with ' does not end",
		"a = 1 @ 2;":  "1:7: '@' is not part of any C token",
	} {
		_, err := tokenize(source)
		assert.EqualError(t, err, want)
	}
}

// FuzzTokenize: the tokens are pieces of the source, in order, and nothing but white space and comments is between them.
func FuzzTokenize(f *testing.F) {
	for _, seed := range []string{"a<<=b /* c */ 'd'", "#if A\n\"x\\\"\"", "1e+5.0 // x\\\ny", "\\\n\\"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, source string) {
		tokens, err := tokenize(source)
		if err != nil {
			return
		}
		end := 0
		for _, tok := range tokens {
			require.GreaterOrEqual(t, tok.offset, end)
			require.NotEmpty(t, tok.text)
			end = tok.offset + len(tok.text)
			require.Equal(t, tok.text, source[tok.offset:end])
		}
		_, _ = Mutants("fuzz.c", source)
	})
}
