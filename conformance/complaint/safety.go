package complaint

import "example.org/hearthbench/conformance/document"

// safety reads the answers to the questions that come before all others.
func (r *reader) safety(n *document.Node) []Danger {
	all := make([]Danger, NumPerils)
	note := ""
	if e := n.Get("note"); e != nil {
		note = e.Text
	}
	for p := range all {
		all[p] = Danger{Place: place(n), Peril: Peril(p)}
		if n.Form != document.Mapping {
			all[p].Answer = No // the schema lets no other word pass
			continue
		}
		if e := n.Get(perilKeys[p]); e != nil {
			all[p].Place = place(e)
			all[p].Answer, _ = answerWords.find(e.Text)
			all[p].Note = note
		}
	}
	return all
}
