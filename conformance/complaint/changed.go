package complaint

import (
	"slices"

	"example.org/hearthbench/conformance/document"
)

// changed reads what changed before the trouble.
func (r *reader) changed(n *document.Node) []Turn {
	if n == nil {
		return nil
	}
	all := make([]Turn, len(n.Items))
	for i, item := range n.Items {
		t := &all[i]
		t.Place = place(item)
		t.Kind, _ = kindWords.find(item.Get("what").Text) // the schema knows the words
		r.when(item.Get("when"), &t.When, Household, false, oneWhen)
		if e := item.Get("note"); e != nil {
			t.Note = e.Text
		}
		if before := item.Get("before"); before != nil {
			t.UnitBefore = r.unit(before.Get("unit"))
			t.InstallationBefore = r.installation(before.Get("installation"))
			t.SettingsBefore = r.settings(before.Get("settings"))
		}
	}
	return all
}

// sortTurns puts what changed into order of time.
func (c *Complaint) sortTurns() {
	slices.SortStableFunc(c.Changed, func(a, b Turn) int {
		return int(min(1, max(-1, a.When.Windows[0].Middle()-b.When.Windows[0].Middle())))
	})
}
