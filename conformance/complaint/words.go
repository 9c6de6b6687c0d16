package complaint

import (
	"slices"
	"strings"
)

// NotKnownWord is what a file says of what nobody knows.
const NotKnownWord = "not known"

// vocabulary is the words of an enumeration, indexed by value; "" for a value that no file can say.
type vocabulary[T ~uint8] []string

func (v vocabulary[T]) find(word string) (T, bool) {
	i := slices.Index(v, word)
	return T(max(0, i)), i >= 0 && word != ""
}

func (v vocabulary[T]) word(value T) string {
	if int(value) < len(v) {
		return v[value]
	}
	return ""
}

var (
	whoWords    = vocabulary[Who]{"household", "integrator", "log"}
	sureWords   = vocabulary[Sure]{"measured", "sure", "fairly", "unsure"}
	sourceWords = vocabulary[Source]{NotKnownWord, "said", "read", "measured"}
	answerWords = vocabulary[Answer]{NotKnownWord, "no", "yes"}
	perilKeys   = vocabulary[Peril]{"gas-smell", "carbon-monoxide", "burning", "scalding", "vulnerable-without-heat"}
	kindWords   = vocabulary[Kind]{
		"programmer", "boiler", "valve", "thermostat", "wiring", "power cut", "clocks", "tenant", "set-up", "other",
	}
	whatWords = vocabulary[What]{
		"display", "click", "hw relay", "ch relay", "alert", "sounder", "hw valve", "ch valve", "zone 2 valve", "pump", "boiler call", "flame",
		"lockout", "immersion", "radiators", "radiators 2", "tap", "room",
	}
	logWords = slices.DeleteFunc(slices.Clone(whatWords), func(word string) bool { return word == Display.String() || word == Click.String() })
	formKeys = vocabulary[Form]{"is", "becomes", "never"}
)

// The words of the enumerations, as a complaint file has them.

// String returns household, integrator or log.
func (w Who) String() string { return whoWords.word(w) }

// String returns measured, sure, fairly or unsure.
func (s Sure) String() string { return sureWords.word(s) }

// String returns not known, said, read or measured.
func (s Source) String() string { return sourceWords.word(s) }

// String returns not known, no or yes.
func (a Answer) String() string { return answerWords.word(a) }

// String returns the key of a safety question, such as gas-smell.
func (p Peril) String() string { return perilKeys.word(p) }

// String returns what changed, such as programmer.
func (k Kind) String() string { return kindWords.word(k) }

// String returns what was sensed, such as ch relay.
func (w What) String() string { return whatWords.word(w) }

// String returns is, becomes or never.
func (f Form) String() string { return formKeys.word(f) }

// levels are the words for a level of what can be sensed: those for 0 and those for 1. Reports use the first of each.
var levels = [NumWhats][2][]string{
	Click:      {nil, {"heard"}},
	HWRelay:    {{"open", "off"}, {"closed", "on"}},
	CHRelay:    {{"open", "off"}, {"closed", "on"}},
	Sounder:    {{"silent", "off"}, {"sounding", "on"}},
	HWValve:    {{"shut", "closed"}, {"open"}},
	CHValve:    {{"shut", "closed"}, {"open"}},
	Zone2Valve: {{"shut", "closed"}, {"open"}},
	Pump:       {{"still", "off"}, {"running", "on"}},
	Call:       {{"off", "dead"}, {"on", "live"}},
	Flame:      {{"out", "off"}, {"lit", "on"}},
	Lockout:    {{"off"}, {"on"}},
	Immersion:  {{"off"}, {"on"}},
	Radiators:  {{"cold", "off"}, {"warm", "hot", "on"}},
	Radiators2: {{"cold", "off"}, {"warm", "hot", "on"}},
	Tap:        {{"cold"}, {"hot"}},
	Room:       {{"cold"}, {"warm"}},
}

// orList joins words as a sentence does.
func orList(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}
