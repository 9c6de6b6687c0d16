package complaint

import (
	"fmt"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/document"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// sensed reads observations.
func (r *reader) sensed(n *document.Node) []Observation {
	if n == nil {
		return nil
	}
	all := make([]Observation, len(n.Items))
	for i, item := range n.Items {
		o := &all[i]
		o.Place = place(item)
		o.What, _ = whatWords.find(item.Get("what").Text) // the schema knows the words
		o.Who, o.Sure = r.witness(item)
		var level *document.Node
		for f, key := range formKeys {
			e := item.Entry(key)
			switch {
			case e == nil:
			case level != nil:
				r.Fail(e.Line, e.Column, "the observation has %s and %s; keep one of them", o.Form, key)
			default:
				level, o.Form = e.Value, Form(f)
			}
		}
		r.when(item.Get("when"), &o.When, o.Who, o.What == Display, anyWhen)
		if level == nil {
			r.FailAt(item, "the observation lacks what it was like; add is, becomes or never, such as is: %s", example(o.What))
			continue
		}
		r.level(o, level)
		o.Text = fmt.Sprintf("%s %s%s, %s", o.What, formText[o.Form], level.Text, o.When.Text)
	}
	return all
}

var formText = [...]string{Is: "", Becomes: "becomes ", Never: "never "}

// example returns a level that something can have.
func example(w What) string {
	switch w {
	case Display:
		return "07:12"
	case Alert:
		return wire.StageWord(spec.Notice)
	default:
		return levels[w][1][0]
	}
}

func (r *reader) level(o *Observation, n *document.Node) {
	text := strings.Join(strings.Fields(n.Text), " ")
	switch o.What {
	case Display:
		var ok bool
		if o.Reading, ok = newLine(r, n).reading(1); !ok {
			return
		}
		o.Level = 1
		if o.Form != Is && !o.Reading.Blank && !o.Reading.Unset {
			r.FailAt(n, "of a reading say is; becomes and never go with unset and blank")
		}
	case Alert:
		stage, err := wire.ParseStage(text)
		if err != nil {
			r.FailAt(n, "%v", err)
		}
		o.Level = spec.Level(stage)
	default:
		off, on := levels[o.What][0], levels[o.What][1]
		switch {
		case slices.Contains(on, text):
			o.Level = 1
		case !slices.Contains(off, text):
			r.FailAt(n, "%s is %s; it should be %s", o.What, document.Quote(n.Text), orList(append(slices.Clone(on), off...)))
		}
	}
}

// wanted reads what the household wants.
func (r *reader) wanted(n *document.Node) Wanted {
	switch {
	case n == nil:
		return Wanted{}
	case n.Form == document.Mapping:
		return Wanted{Words: n.Get("words").Text, Means: r.sensed(n.Get("means"))}
	default:
		return Wanted{Words: n.Text}
	}
}
