package iut

import (
	"fmt"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// observer gathers the observation of a script and holds what comes against what the protocol allows.
type observer struct {
	Observation
	standing
	fittedAtNew spec.Channels
	slack       uint64 // s by which an event may be of another second than the bench's

	index    int // of the request under way
	request  *Request
	begin    int    // where the changes of the request under way begin
	earliest uint64 // the second that its next change may have
	latest   uint64
	allowed  int // how many changes it may have
	budget   int // how many of them are left
}

// standing is what is known of a unit between two requests.
type standing struct {
	elapsed uint64
	last    uint64 // the second of the last event
	levels  [spec.NumSignals]spec.Level
	fitted  spec.Channels
}

// start begins an observation.
func (o *observer) start() {
	o.Answers, o.Changes, o.Trouble = o.Answers[:0], o.Changes[:0], nil
	o.index = -1
}

// next begins the next request.
func (o *observer) next(r *Request) {
	o.request, o.begin = r, len(o.Changes)
	o.index++
	switch r.Kind {
	case New:
		o.standing = standing{fitted: o.fittedAtNew}
		o.allowed = 0
	case Do:
		o.earliest, o.latest = o.elapsed, o.elapsed
		o.allowed = allowance(0)
	case Go:
		o.earliest, o.latest = o.elapsed+1, o.elapsed+r.Seconds
		o.allowed = allowance(r.Seconds)
	}
	if o.slack > 0 && r.Kind != New {
		o.earliest = max(o.last, o.earliest-min(o.earliest, o.slack))
		o.latest += o.slack
	}
	o.budget = o.allowed
}

// allowance is how many changes the given number of seconds can bring at the very most: in a short time all signals in every
// second, in a long one over twice as many as tables, allowances and sounder times can make between them, which is 128 a day.
// An input can bring as many as in 16 seconds: a glitch is the bench's to judge, and no trouble.
func allowance(seconds uint64) int {
	return int(64 + min(4*seconds, 4096+seconds/300))
}

// change checks a change of the answer under way, and returns what is wrong with it, or "".
func (o *observer) change(c *spec.Change) (TroubleKind, string) {
	switch {
	case o.request.Kind == New:
		return Nonsense, "new has no events"
	case o.budget == 0:
		return Flooded, fmt.Sprintf("more than %d events", o.allowed)
	case c.At < o.earliest || c.At > o.latest:
		return Nonsense, o.misplaced(c.At)
	case c.Signal >= spec.NumSignals:
		return Nonsense, "there is no such signal"
	case c.Signal <= spec.SigCH && !o.fitted.Has(spec.Channel(c.Signal)):
		return Nonsense, "the unit has no channel " + wire.SignalWord(c.Signal)
	case o.levels[c.Signal] == c.Level:
		return Nonsense, fmt.Sprintf("%s was %s already, and a level that has not changed gives no event",
			wire.SignalWord(c.Signal), wire.LevelWord(c.Signal, c.Level))
	}
	o.levels[c.Signal] = c.Level
	o.earliest, o.last = c.At, c.At
	o.budget--
	return 0, ""
}

func (o *observer) misplaced(at uint64) string {
	switch {
	case o.request.Kind == Go && o.request.Seconds == 0:
		return "go 0 has no events"
	case o.request.Kind == Go:
		return fmt.Sprintf("an event of second %d, where it should be %d to %d", at, o.earliest, o.latest)
	case o.slack > 0:
		return fmt.Sprintf("an event of second %d in the answer to an input of second %d, where it should be %d to %d", at, o.elapsed, o.earliest, o.latest)
	default:
		return fmt.Sprintf("an event of second %d in the answer to an input of second %d", at, o.elapsed)
	}
}

// answer ends the request under way, and returns what is wrong with its outcome, or "".
func (o *observer) answer(outcome spec.Outcome, words string) string {
	switch r := o.request; {
	case r.Kind == New && outcome == spec.Unsupported:
		return "without new no test can begin: whatever speaks for the unit has to make it what it was when it left the factory, if need be by cutting its supply"
	case r.Kind != Do && outcome != spec.Accepted:
		return "new and go are answered with ok"
	case r.Kind == Go:
		o.elapsed += r.Seconds
	case r.Kind == Do && outcome == spec.Accepted && r.Input.Kind == spec.Fit && r.Input.FitOption == spec.FitChannels:
		o.fitted = spec.Channels(r.Input.FitValue)
	}
	o.Answers = append(o.Answers, Answer{Outcome: outcome, Words: words, Changes: len(o.Changes)})
	return ""
}

// trouble makes a trouble of the request under way. Rest is what came after its events, as received.
func (o *observer) trouble(kind TroubleKind, detail string, rest []byte) *Trouble {
	return &Trouble{
		Kind:     kind,
		Index:    o.index,
		Request:  string(o.request.Append(nil)),
		Detail:   detail,
		Received: received(o.Changes[o.begin:], rest),
	}
}

// skip ends the request under way, which the unit did not understand.
func (o *observer) skip() { o.Answers = append(o.Answers, Answer{Changes: len(o.Changes)}) }

// cut leaves of the observation what came before the request with the given index.
func (o *observer) cut(index int) {
	o.Answers = o.Answers[:index]
	changes := 0
	if index > 0 {
		changes = o.Answers[index-1].Changes
	}
	o.Changes = o.Changes[:changes]
}

// end ends the observation with a trouble, of which it leaves what came before, and returns the trouble.
func (o *observer) end(trouble *Trouble) *Trouble {
	o.cut(trouble.Index)
	o.Trouble = trouble
	return trouble
}
