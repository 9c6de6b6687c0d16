package diagnosis

import "example.org/hearthbench/conformance/complaint"

// Warning is something about safety that comes before any diagnosis.
type Warning struct {
	About string `json:"about"`
	Words string `json:"words"`
	// Now is set for what is to be acted on at once; otherwise it is a question that is still to be asked.
	Now bool `json:"now"`
}

var perils = [complaint.NumPerils]struct {
	about, now, ask string
	stop            bool
}{
	complaint.GasSmell: {
		"a smell of gas", "Open windows and doors, touch no switch, light nothing, shut the gas off at the meter if it is safe to, go out, and ring the gas emergency service from outside.",
		"Does anybody smell gas?", true,
	},
	complaint.CarbonMonoxide: {
		"a carbon monoxide alarm", "Go out into fresh air, all of you, and ring the emergency services from there; nobody goes back in and no appliance is used until it has been found safe.",
		"Has a carbon monoxide alarm sounded, or does anybody have a headache or feel sick at home?", true,
	},
	complaint.Burning: {
		"burning or scorching", "Switch the supply off at the consumer unit if it can be done safely; with smoke or fire go out and ring the fire service. Nothing is switched on again until a competent person has seen it.",
		"Does anything smell of burning, or is anything scorched or too hot to touch?", true,
	},
	complaint.Scalding: {
		"scalding water", "Run no hot water without testing it, keep children and frail people from the tap, cool a burn under cold running water and get medical advice. Have the cylinder thermostat and any mixing valve seen to first, by a competent person.",
		"Is the hot water so hot that it scalds?", false,
	},
	complaint.VulnerableWithoutHeat: {
		"a vulnerable person without heat or hot water", "See to heat for them first, today: safe temporary heaters, or another place to stay. Only then look for the cause.",
		"Is there anybody very young, old, ill or pregnant who is without heat or hot water?", false,
	},
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
	for p, x := range perils {
		if answers[p] == complaint.Yes {
			words := x.now
			if notes[p] != "" {
				words += " (" + notes[p] + ")"
			}
			ws = append(ws, Warning{About: x.about, Words: words, Now: true})
			stop = stop || x.stop
		}
	}
	for p, x := range perils {
		if answers[p] == complaint.Unanswered {
			ws = append(ws, Warning{About: x.about, Words: "Ask first: " + x.ask})
		}
	}
	return ws, stop
}
