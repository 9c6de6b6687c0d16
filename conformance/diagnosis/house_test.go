package diagnosis

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/complaint"
)

// house is a complaint to be: two weeks of Plover House up to Thursday 12 November 2026 at 18:00, in which everything is as told unless
// something else is said. Weekdays 06:30 to 08:30 and 17:00 to 22:00, weekends 08:00 to 22:30, hot water 06:00 to 07:30 and 18:00 to 19:30.
type house struct {
	plan     string // two valves unless it is said
	settings string // lines; instead of the usual ones
	source   string // how the usual ones are known; said unless it is said
	safety   string
	unit     string // more of the unit
	done     []string
	sensed   []string
	wanted   string
}

func (h house) complaint(t testing.TB) *complaint.Complaint {
	t.Helper()
	or := func(text, otherwise string) string {
		if text == "" {
			return otherwise
		}
		return text
	}
	source := or(h.source, "said")
	usual := []string{
		"mode hw table", "mode ch table", "table ch weekdays 06:30-08:30 17:00-22:00", "table ch weekend 08:00-22:30",
		"table hw every 06:00-07:30 18:00-19:30", "clock thu 18:00",
	}
	settings := ""
	for _, s := range usual {
		settings += "\n  - {is: \"" + s + "\", source: " + source + "}"
	}
	list := func(items []string) string {
		if len(items) == 0 {
			return " []"
		}
		return "\n  - " + strings.Join(items, "\n  - ")
	}
	text := "title: Plover House\nasked: 2026-11-12 18:00\nfrom: 2026-10-30 00:00\nsafety: " + or(h.safety, "no") +
		"\nunit: {cycle: 5/2, timing: separate, periods: 3" + h.unit + "}\ninstallation: {plan: " + or(h.plan, "two valves") + "}\nsettings:" + or(h.settings, settings) +
		"\ndone:" + list(h.done) + "\nsensed:" + list(h.sensed) + "\nwanted: " + or(h.wanted, "as set") + "\n"
	c, err := complaint.Parse("house.yaml", []byte(text))
	require.NoError(t, err, text)
	return c
}

func (h house) diagnose(t testing.TB) *Result {
	t.Helper()
	r, err := Diagnose(h.complaint(t))
	require.NoError(t, err)
	return r
}
