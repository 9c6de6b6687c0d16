package diagnosis

import "example.org/hearthbench/conformance/complaint"

// Warning is something about safety that comes before any diagnosis.
type Warning struct {
	About string `json:"about"`
	Words string `json:"words"`
	// Now is set for what is to be acted on at once; otherwise it is a question that is still to be asked.
	Now bool `json:"now"`
}

// safety returns what a complaint says of safety, what is urgent first, and whether all else must stop.
func safety(c *complaint.Complaint) (ws []Warning, stop bool) {
	var answers [complaint.NumPerils]complaint.Answer
	var notes [complaint.NumPerils]string
	for _, d := range c.Safety {
		if int(d.Peril) < len(answers) {
			answers[d.Peril], notes[d.Peril] = d.Answer, d.Note
		}
	}
	for p := range complaint.Peril(complaint.NumPerils) {
		if answers[p] == complaint.Yes {
			words := p.Do()
			if notes[p] != "" {
				words += " (" + notes[p] + ")"
			}
			ws = append(ws, Warning{About: p.About(), Words: words, Now: true})
			stop = stop || p.Stop()
		}
	}
	for p := range complaint.Peril(complaint.NumPerils) {
		if answers[p] == complaint.Unanswered {
			ws = append(ws, Warning{About: p.About(), Words: "Ask first: " + p.Question()})
		}
	}
	return ws, stop
}
