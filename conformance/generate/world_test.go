package generate

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/suite"
)

// played records lines, and waits of seconds, in a world that begins on a Wednesday at 08:00 with a table from 07:00 to 09:00. A unit with
// one channel has the default table, which is the same then.
func played(t *testing.T, options []string, script ...any) (*suite.Vector, *world) {
	t.Helper()
	given := []string{"table both every 07:00-09:00"}
	if len(options) > 0 && strings.HasPrefix(options[0], "channels=") {
		given = nil
	}
	w, err := newWorld(wednesday+"08:00:00Z", options, given...)
	require.NoError(t, err)
	tape, err := w.tape()
	require.NoError(t, err)
	for _, s := range script {
		switch s := s.(type) {
		case int:
			tape.wait(uint64(s))
		case string:
			require.NoError(t, tape.do(s))
		}
	}
	v := tape.done(page(t))
	v.ID = "GEN/x-1"
	return v, w
}

func TestClausesThatAVectorTouches(t *testing.T) {
	const lock = "lock arm {credential} 2 2 10 10 10 10 none"
	cases := []struct {
		name    string
		options []string
		script  []any
		want    []string
	}{
		{"nothing", nil, []any{60}, []string{"OUT-1"}},
		{"override to its end", nil, []any{"override ch", 3600}, []string{"MOD-2", "OVR-1", "OVR-2"}},
		{"override to a programmed time", []string{"override-end=programmed"}, []any{"override ch", 3600}, []string{"MOD-2", "OVR-1", "OVR-16"}},
		{"second override", nil, []any{"override ch", "override ch"}, []string{"MOD-2", "OVR-1", "OVR-6"}},
		{"override refused", nil, []any{"mode ch always", "override ch"}, []string{"MOD-7", "MOD-8", "OVR-9", "INP-1"}},
		{"override, then mode", nil, []any{"override ch", "mode ch off"}, []string{"MOD-7", "MOD-8", "OVR-1", "OVR-7"}},
		{"override kept, then the same mode", []string{"override-on-mode-change=kept"}, []any{"override ch", "mode ch span", "mode ch span"},
			[]string{"MOD-7", "MOD-8", "MOD-9", "OVR-1", "OVR-8"}},
		{"boost over its end", nil, []any{"mode hw off", "boost hw 60", 3600}, []string{"MOD-1", "MOD-2", "MOD-7", "MOD-8", "BST-1", "BST-2", "BST-6"}},
		{"boosts", []string{"second-boost=extends"}, []any{"override ch", "boost ch 60", "boost ch 60", "boost ch 0", "boost ch 7"},
			[]string{"OVR-1", "BST-1", "BST-4", "BST-5", "BST-9", "BST-10", "INP-1"}},
		{"override in a boost", nil, []any{"boost ch 60", "override ch"}, []string{"OVR-13", "BST-1"}},
		{"holidays", nil, []any{"override ch", "holiday 1", "boost ch 60", "override ch", "holiday 2", "holiday cancel", "holiday 0"},
			[]string{"MOD-2", "OVR-1", "HOL-1", "HOL-2", "HOL-3", "HOL-4", "HOL-7", "HOL-8", "INP-1"}},
		{"boost in a holiday", []string{"boost-in-holiday=allowed"}, []any{"holiday 1", "boost ch 60"}, []string{"BST-1", "HOL-1", "HOL-5"}},
		{"edit under an override", nil, []any{"override hw", "period hw every 1 00:00 00:00"}, []string{"TAB-2", "TAB-12", "TAB-14", "OVR-1", "OVR-3", "OVR-10"}},
		{"clock under much", nil, []any{"override ch", "boost hw 60", "holiday 1", lock, "clock 2026-01-16 07:30"},
			[]string{"CLK-2", "CLK-3", "MOD-2", "OVR-1", "BST-1", "HOL-1", "HOL-3", "HOL-9", "HOL-10", "LCK-2", "LCK-3", "LCK-12"}},
		{"bad clocks", nil, []any{"clock 2026-02-29 08:00", "clock 2026-03-29 01:30"}, []string{"CLK-4", "CLK-9", "INP-1"}},
		{"lock", nil, []any{lock, 600, "override ch", lock, "lock remove {wrong}", "lock remove {credential}", "lock remove {credential}"},
			[]string{"MOD-2", "OVR-1", "OVR-15", "LCK-2", "LCK-3", "LCK-6", "LCK-7", "LCK-8", "LCK-13", "INP-1"}},
		{"cut of no length", nil, []any{"boost ch 60", "power off", "override ch", "power on", "power on"},
			[]string{"MOD-2", "BST-1", "PWR-1", "PWR-2", "PWR-3", "PWR-5", "PWR-6", "PWR-12", "PWR-13"}},
		{"cut past the reserve", []string{"lost-clock=restarts", "reserve=1"}, []any{"power off", 60, "power on"}, []string{"PWR-1", "PWR-5", "PWR-7", "PWR-11"}},
		{"reset", []string{"clock-after-reset=unset"}, []any{lock, "boost ch 60", "reset", "override ch", "mode ch off"},
			[]string{"CLK-11", "CLK-12", "MOD-7", "MOD-8", "BST-1", "LCK-2", "LCK-3", "LCK-9", "RST-1", "RST-2", "RST-3", "RST-5", "INP-1"}},
		{"not there", []string{"channels=hw", "lock=no"}, []any{"override ch", "lock remove {credential}", "period ch every 1 07:00 08:00"}, []string{"INP-5", "INP-6"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			v, _ := played(t, c.options, c.script...)
			assert.Equal(t, c.want, v.Clauses)
		})
	}
}

func TestNeedsThatAreFound(t *testing.T) {
	cases := []struct {
		name    string
		options []string
		script  []any
		want    []string
	}{
		{"a wait", nil, []any{7200}, nil},
		{"override over mode", nil, []any{"override ch", "mode ch span", 7200}, []string{"override-on-mode-change cancelled"}},
		{"override kept", []string{"override-on-mode-change=kept"}, []any{"override ch", "mode ch span", 7200}, []string{"override-on-mode-change kept"}},
		{"boost", nil, []any{7200, "boost hw 120", 7200}, []string{"boosts of 120 minutes"}},
		{"second boost", nil, []any{7200, "boost hw 60", 1800, "boost hw 60", 7200}, []string{"boosts of 60 minutes", "second-boost replaces"}},
		{"second boost, extending", []string{"second-boost=extends"}, []any{7200, "boost hw 120", 1800, "boost hw 120", 14400},
			[]string{"boost-longest 180", "boosts of 120 minutes", "second-boost extends"}},
		{"no boost of that length", nil, []any{"boost hw 45"}, []string{"bad-value refused", "boost-longest 180", "boost-step 60"}},
		{"boost cancelled", nil, []any{"boost hw 0"}, []string{"boost-longest of at least 1"}},
		{"two periods", nil, []any{"period hw every 2 12:00 13:00"}, []string{"periods of at least 2", "timing separate fitted"}},
		{"a lost clock", nil, []any{"power off", 28800, "power on", 86400}, []string{"lost-clock unset", "reserve of at most 480"}},
		{"a kept clock", nil, []any{"power off", 28799, "power on", 86400}, []string{"reserve of at least 480"}},
		{"gravity", []string{"coupling=gravity"}, []any{"mode hw off", 7200}, []string{"coupling gravity fitted"}},
		{"hot water off", nil, []any{"mode hw off", 7200}, []string{"coupling independent fitted"}},
		{"own tables", nil, []any{"period ch every 1 06:00 08:00"}, []string{"timing separate fitted"}},
		{"one channel", []string{"channels=ch"}, []any{"mode hw off"}, []string{"channels ch fitted"}},
		{"a day of the week", nil, []any{"period both thu 1 00:00 00:00", 86400}, []string{"cycle 7day fitted"}},
		{"holiday and lock", nil, []any{"holiday 1", "lock remove {wrong}"}, []string{"holiday yes", "lock yes"}},
		{"summer time", []string{"zone=60"}, []any{"clock 2026-03-29 02:30", "clock 2026-03-29 01:30", 1800}, []string{"summer-time automatic", "zone 60"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			v, w := played(t, c.options, c.script...)
			require.NoError(t, finish(v, &w.ics))
			assert.Equal(t, c.want, v.Requirements())
		})
	}
}
