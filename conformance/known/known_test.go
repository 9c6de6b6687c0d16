package known

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
)

const text = "# unit 3\r\n\n  OVR-11/second-midnight \t# issue 12:\tends # at midnight \r\nGEN/cut-*   # issue 31\nBST-1/two#two\n"

func TestParse(t *testing.T) {
	l, err := Parse("known.txt", []byte(text))
	require.NoError(t, err)
	assert.Empty(t, cmp.Diff(&List{Name: "known.txt", Entries: []Entry{
		{3, "OVR-11/second-midnight", "issue 12: ends # at midnight"}, {4, "GEN/cut-*", "issue 31"}, {5, "BST-1/two", "two"},
	}}, l))
	l, err = Parse("empty", nil)
	require.NoError(t, err)
	assert.Empty(t, l.Entries)
}

// Every mistake is told with its line and what to do.
func TestParseErrors(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"OVR-1/one", "f:1: OVR-1/one has no reason; write it after #"},
		{"OVR-1/one #  ", "f:1: OVR-1/one has no reason"},
		{"\nOVR-1/one two # three", `f:2: "OVR-1/one two" is no id of a vector`},
		{"OVR-1 # a clause", `f:1: "OVR-1" is no id of a vector`},
		{"* # all", `f:1: "*" is no id of a vector`},
		{"OVR-1/[ab] # a class", "is no id of a vector"},
		{"OVR-1/one # a\n\nOVR-1/one # b", "f:3: OVR-1/one stands in line 1 already"},
		{"OVR-1/one # \xff", "f:1: it is not UTF-8"},
		{"one\ntwo", "f:1: \"one\" is no id of a vector, such as OVR-11/second-midnight, with * as wildcard; a reason stands after #\nf:2: \"two\" is"},
		{strings.Repeat("x", MaxSize+1), "f: it has more than 1048576 bytes"},
		{strings.Repeat("x\n", 1000), "f:10: \"x\" is no id of a vector, such as OVR-11/second-midnight, with * as wildcard; a reason stands after #\nthere may be more"},
	} {
		_, err := Parse("f", []byte(c.text))
		require.ErrorContains(t, err, c.want)
	}
}

func result(id string, v runner.Verdict) *runner.Result {
	return &runner.Result{Vector: &suite.Vector{ID: id}, Verdict: v}
}

func TestExcuse(t *testing.T) {
	l, err := Parse("f", []byte("OVR-1/a-* # pattern\nOVR-1/a-b # exact\nOVR-1/a* # later\n"))
	require.NoError(t, err)
	reason := func(l *List, r *runner.Result) string {
		if e := l.Excuse(r); e != nil {
			return e.Reason
		}
		return ""
	}
	assert.Equal(t, "exact", reason(l, result("OVR-1/a-b", runner.Fail)))
	assert.Equal(t, "pattern", reason(l, result("OVR-1/a-c", runner.Inconclusive)))
	assert.Equal(t, "later", reason(l, result("OVR-1/ab", runner.Fail)))
	assert.Empty(t, reason(l, result("OVR-1/b", runner.Fail)))
	assert.Empty(t, reason(l, result("OVR-1/a-b", runner.Pass)))
	assert.Empty(t, reason(l, result("OVR-1/a-b", runner.NotApplicable)))
	assert.Empty(t, reason(nil, result("OVR-1/a-b", runner.Fail)))
	untried := result("OVR-1/a-b", runner.Inconclusive)
	untried.Trouble = &iut.Trouble{}
	assert.Equal(t, "exact", reason(l, untried))
	untried.Trouble.Untried = true
	assert.Empty(t, reason(l, untried), "nothing is known of what was never tried")
}

func TestReview(t *testing.T) {
	l, err := Parse("f", []byte(strings.Join([]string{
		"OVR-1/fails # 1", "OVR-1/passes # 2", "OVR-1/gone # 3", "OVR-1/not # 4", "OVR-1/never-run # 5",
		"OVR-2/* # 6: one of them fails", "OVR-3/* # 7: all pass that apply", "OVR-4/* # 8: one was not run", "OVR-5/* # 9: none applies", "OVR-6/* # 10: none there",
	}, "\n")))
	require.NoError(t, err)
	results := []*runner.Result{
		result("OVR-1/fails", runner.Fail), result("OVR-1/passes", runner.Pass), result("OVR-1/not", runner.NotApplicable),
		result("OVR-2/a", runner.Pass), result("OVR-2/b", runner.Inconclusive),
		result("OVR-3/a", runner.Pass), result("OVR-3/b", runner.NotApplicable),
		result("OVR-4/a", runner.Pass), result("OVR-5/a", runner.NotApplicable),
	}
	set := []*suite.Vector{{ID: "OVR-1/never-run"}, {ID: "OVR-4/b"}}
	for _, r := range results {
		set = append(set, r.Vector)
	}
	var have []string
	for _, c := range l.Review(set, results) {
		have = append(have, fmt.Sprintf("%s %d %s", c.Place(), c.Kind, c.Text()))
	}
	assert.Equal(t, []string{
		"f:2 0 OVR-1/passes now passes: remove it",
		"f:3 1 no vector is called OVR-1/gone: remove or mend it; 'hearthbench vectors list' shows them",
		"f:4 2 the unit's ICS does not call for OVR-1/not: the entry does nothing for it",
		"f:7 0 every vector that OVR-3/* names now passes: remove it",
		"f:9 2 the unit's ICS does not call for OVR-5/*: the entry does nothing for all that it names",
		"f:10 1 no vector is called OVR-6/*: remove or mend it; 'hearthbench vectors list' shows them",
	}, have)
	assert.Empty(t, (*List)(nil).Review(set, results))
}

// What is written can be read, whatever a unit has put into the reason.
func TestWrite(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, Write(&b, []string{"made\nby hand"}, []Entry{{0, "OVR-1/one", "the relay opens"}, {0, "GEN/x-12", "\x1b[31m a #\r\nOVR-1/two # b \x00"}}))
	assert.Equal(t, "# made by hand\nOVR-1/one   # the relay opens\nGEN/x-12    # \ufffd[31m a # OVR-1/two # b \ufffd\n", b.String())
	l, err := Parse("f", b.Bytes())
	require.NoError(t, err)
	assert.Len(t, l.Entries, 2)
	assert.ErrorIs(t, Write(full{}, nil, nil), errFull)
}

var errFull = errors.New("no space left")

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errFull }

func FuzzParse(f *testing.F) {
	f.Add([]byte(text))
	f.Add([]byte("OVR-1/one # \xff"))
	f.Fuzz(func(t *testing.T, data []byte) {
		l, err := Parse("f", data)
		if err != nil {
			return
		}
		// Written out it is the same list, but for the lines.
		var b bytes.Buffer
		require.NoError(t, Write(&b, nil, l.Entries))
		again, err := Parse("f", b.Bytes())
		require.NoError(t, err)
		for i := range l.Entries {
			l.Entries[i].Line = i + 1
		}
		require.Empty(t, cmp.Diff(l.Entries, again.Entries))
	})
}
