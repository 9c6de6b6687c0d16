package suite

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/vectors"
)

const goodPage = "# Behaviour\n\n**Not a clause** of the page.\n\n### CLK: clock\n\n**CLK-1** The clock runs.\n\n" +
	"**CLK-2** [`zone`, `summer-time`=`none`] Another [in brackets] text.\r\n\nProse.\n\n### MOD: modes\n\n**MOD-1** Off.\n"

func TestReadPage(t *testing.T) {
	p, err := ReadPage(goodPage)
	require.NoError(t, err)
	want := []Family{
		{ID: "CLK", Name: "clock", Clauses: []Clause{
			{ID: "CLK-1", Text: "The clock runs."},
			{ID: "CLK-2", Options: "zone, summer-time=none", Text: "Another [in brackets] text."},
		}},
		{ID: "MOD", Name: "modes", Clauses: []Clause{{ID: "MOD-1", Text: "Off."}}},
	}
	assert.Empty(t, cmp.Diff(want, p.Families))
	assert.Same(t, &p.Families[0].Clauses[1], p.Clause("CLK-2"))
	assert.Nil(t, p.Clause("CLK-3"))
	assert.Nil(t, p.Clause(""))
}

func TestReadPageNamesTheLine(t *testing.T) {
	cases := []struct{ name, old, new, want string }{
		{"no clauses", goodPage, "# Behaviour\n", "there are no clauses in it"},
		{"clause before any family", "### CLK: clock", "", "line 7: clause CLK-1 stands outside its family"},
		{"clause in another family", "**MOD-1**", "**CLK-3**", "line 15: clause CLK-3 stands outside its family"},
		{"missing clause", "**CLK-2**", "**CLK-3**", "line 9: clause CLK-3 stands where CLK-2 should"},
		{"clause twice", "**CLK-2**", "**CLK-1**", "line 9: clause CLK-1 stands where CLK-2 should"},
		{"first clause not 1", "**MOD-1**", "**MOD-2**", "line 15: clause MOD-2 stands where MOD-1 should"},
		{"family twice", "### MOD: modes", "### CLK: modes", "line 13: family CLK stands twice"},
		{"family without clauses", "**MOD-1** Off.", "", "family MOD has no clauses"},
		{"clause without text", "**MOD-1** Off.", "**MOD-1**", "line 15: a clause is '**ABC-1** [`option`] text', the option only if there is one; this is \"**MOD-1**\""},
		{"options not closed", "`none`]", "`none`", "line 9: a clause is '**ABC-1** [`option`] text', the option only if there is one; this is " +
			"\"**CLK-2** [`zone`, `summer-time`=`none` Another [in brackets] text.\""},
		{"no space after the id", "**MOD-1** Off", "**MOD-1**Off", "line 15: a clause is '**ABC-1** [`option`] text', the option only if there is one; this is \"**MOD-1**Off.\""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, 1, strings.Count(goodPage, c.old))
			_, err := ReadPage(strings.Replace(goodPage, c.old, c.new, 1))
			assert.EqualError(t, err, c.want)
		})
	}
}

func TestThePublishedPage(t *testing.T) {
	text, err := vectors.Files.ReadFile("BEHAVIOUR.md")
	require.NoError(t, err)
	p, err := ReadPage(string(text))
	require.NoError(t, err)
	var ids []string
	for _, f := range p.Families {
		ids = append(ids, f.ID)
	}
	assert.Equal(t, []string{"CLK", "TAB", "MOD", "OVR", "BST", "HOL", "CPL", "LCK", "PWR", "RST", "OUT", "INP"}, ids)
	assert.Equal(t, "override-end=programmed", p.Clause("OVR-17").Options)
	assert.Equal(t, "Each output changes in the very second in which the formula changes, and at no other.", p.Clause("OUT-1").Text)
}

func TestFamilyOf(t *testing.T) {
	for clause, want := range map[string]string{"OVR-2": "OVR", "OVR-2/words-of-it": "OVR", "": "", "plain": "plain", "GEN/override-kept-2": "GEN"} {
		assert.Equal(t, want, FamilyOf(clause), "%q", clause)
	}
}

// Whatever the page says, it is read or refused, and what is read can be found by its id.
func FuzzReadPage(f *testing.F) {
	f.Add("### CLK: clock\n\n**CLK-1** The clock runs.\n\n**CLK-2** [`zone`] It has a zone.\n")
	f.Add("**CLK-1** outside")
	f.Add("### CLK: clock\n**CLK-2** out of order")
	f.Fuzz(func(t *testing.T, text string) {
		page, err := ReadPage(text)
		if err != nil {
			return
		}
		for _, family := range page.Families {
			for _, c := range family.Clauses {
				if got := page.Clause(c.ID); got == nil || got.Text != c.Text || FamilyOf(c.ID) != family.ID {
					t.Errorf("clause %q cannot be found", c.ID)
				}
			}
		}
	})
}
