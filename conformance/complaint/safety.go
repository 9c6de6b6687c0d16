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

// perils are the words about each peril: what it is, what is asked, and what is to be done at once. With stop, nothing else is to be done
// then. Common practice, no source.
var perils = [NumPerils]struct {
	about, question, do string
	stop                bool
}{
	GasSmell: {
		"a smell of gas", "Does anybody smell gas?",
		"Leave switches alone, put out flames and light nothing, open doors and windows, turn the gas off at the meter if that is safe, go outside, and " +
			"ring the gas emergency service from there. Nothing else now.", true,
	},
	CarbonMonoxide: {
		"a carbon monoxide alarm", "Has a carbon monoxide alarm sounded, or does anybody have headaches or feel ill in the house and better outside?",
		"Go out into fresh air, all of you, opening doors and windows and turning the boiler off if they are on the way, and ring the gas emergency service " +
			"from there; who feels ill needs a doctor now. Nobody goes back in, and nobody lights the boiler again, before a registered engineer has found it safe.", true,
	},
	Burning: {
		"burning or scorching", "Is there a smell of burning, scorching, or anything electrical too hot to touch?",
		"Turn the supply off at the consumer unit where that is safe, touch nothing, keep away; with smoke or flames leave the house and call the fire " +
			"service. It stays off until a competent person has been.", true,
	},
	Scalding: {
		"scalding water", "Does the water run so hot that it scalds?",
		"Run no hot water without testing it, cold water first, and keep children and frail people from the tap; cool a burn under cold running water and get " +
			"medical advice. A competent person comes today for the cylinder thermostat, the immersion heater's and any mixing valve.", false,
	},
	VulnerableWithoutHeat: {
		"a vulnerable person without heat or hot water", "Is anybody without heat or hot water who is very young, old, ill, pregnant or otherwise at risk?",
		"Heat comes first, today: a safe heater or another place to stay, warm food and drink, and somebody to look in. Only then look for the cause.", false,
	},
}

// About returns what a peril is, as in 'a smell of gas'.
func (p Peril) About() string { return perils[p].about }

// Question returns the question that is asked about a peril.
func (p Peril) Question() string { return perils[p].question }

// Do returns what is to be done at once where the answer to a peril's question is yes.
func (p Peril) Do() string { return perils[p].do }

// Stop reports whether nothing else is to be done where the answer to a peril's question is yes: nobody is to press or turn anything.
func (p Peril) Stop() bool { return perils[p].stop }
