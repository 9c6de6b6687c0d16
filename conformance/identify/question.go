package identify

import (
	"fmt"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// LookKind is a kind of yes-or-no look.
type LookKind uint8

// The looks. Each is taken once the script has been carried out.
const (
	Accepted LookKind = iota // was the last request accepted?
	Has                      // does the unit have what the last request is for: was it anything but unsupported?
	Closed                   // is the channel's relay closed?
	Reads                    // by hand only: does the clock read this, or the minute after?
	Unset                    // by hand only: is the clock unset?
)

// Look is what is looked at.
type Look struct {
	Kind    LookKind
	Channel spec.Channel // with Closed
	Minute  int          // with Reads, of the day
}

// Question is one step: a script, and a look with which the answers of the hypotheses that remain differ.
type Question struct {
	Factor  Factor
	Script  iut.Script
	Look    Look
	Clauses []string // by which the answer tells
	// Front is a question, to a person who has the unit's front before them, that takes the script's and the look's place, or "".
	Front string
	// has is what the unit on the wall has by each value, where the question is of its front.
	has func(value) bool
	// block numbers stretches of values whose answers are the same, so that two of each are enough to ask; nil where each may differ. It
	// is below spec.MinutesPerDay.
	block func(value) int32
}

// Waits returns how long the script lets time pass, in seconds.
func (q *Question) Waits() (seconds uint64) {
	for _, r := range q.Script {
		seconds += r.Seconds
	}
	return seconds
}

// Words returns the look as a question.
func (q *Question) Words() string {
	if q.Front != "" {
		return q.Front
	}
	last := q.Script[len(q.Script)-1]
	switch q.Look.Kind {
	case Accepted:
		return fmt.Sprintf("is '%s' accepted", wire.AppendInput(nil, last.Input))
	case Has:
		return fmt.Sprintf("has it what '%s' is for", wire.AppendInput(nil, last.Input))
	case Closed:
		return fmt.Sprintf("is %s closed", wire.ChannelWord(q.Look.Channel))
	case Reads:
		return fmt.Sprintf("does the clock read %s", wire.AppendTime(nil, uint16(q.Look.Minute)))
	default:
		return "is the clock unset"
	}
}

// answer looks at what was observed.
func (l Look) answer(obs *iut.Observation) bool {
	last := obs.Answers[len(obs.Answers)-1].Outcome
	switch l.Kind {
	case Accepted:
		return last == spec.Accepted
	case Has:
		return last != spec.Unsupported
	default:
		closed := false
		for _, c := range obs.Changes {
			if c.Signal == spec.Signal(l.Channel) {
				closed = c.Level == 1
			}
		}
		return closed
	}
}

// predict says how a unit with the ICS answers, by the emulator.
func (q *Question) predict(ics spec.ICS) bool {
	u, err := emulator.New(ics)
	if err != nil {
		panic(fmt.Sprintf("a hypothesis that is no ICS: %v", err))
	}
	var room [16]spec.Change
	last := spec.Reply{}
	for _, r := range q.Script {
		switch r.Kind {
		case iut.Do:
			last, _ = u.Do(r.Input, room[:0])
		case iut.Go:
			u.Advance(r.Seconds, room[:0])
		}
	}
	switch q.Look.Kind {
	case Accepted:
		return last.Outcome == spec.Accepted
	case Has:
		return last.Outcome != spec.Unsupported
	case Closed:
		return u.Level(spec.Signal(q.Look.Channel)) == 1
	}
	_, second, set := u.Reading()
	if q.Look.Kind == Unset {
		return !set
	}
	off := (second/60 - q.Look.Minute + spec.MinutesPerDay) % spec.MinutesPerDay
	return set && off <= 1
}

// split divides the values that remain by what they would answer. An error is a question that does not do what it says of itself.
func (q *Question) split(s *Space) (yes, no []value, err error) {
	all := s.values[q.Factor]
	if q.block == nil {
		for _, v := range all {
			answer := false
			if q.has != nil {
				answer = q.has(v)
			} else {
				answer = q.predict(s.anyICS(q.Factor, v))
			}
			if answer {
				yes = append(yes, v)
			} else {
				no = append(no, v)
			}
		}
		return yes, no, nil
	}
	// Of each block the first and the last are asked.
	var seen, answers [spec.MinutesPerDay]bool
	var last [spec.MinutesPerDay]value
	count := 0
	for _, v := range all {
		b := q.block(v)
		if !seen[b] {
			seen[b], answers[b] = true, q.predict(s.anyICS(q.Factor, v))
		}
		last[b] = v
		if answers[b] {
			count++
		}
	}
	for b, v := range last {
		if seen[b] && q.predict(s.anyICS(q.Factor, v)) != answers[b] {
			return nil, nil, fmt.Errorf("%s: the values of a block answer differently: %s", q.Factor, s.word(q.Factor, v))
		}
	}
	yes, no = make([]value, 0, count), make([]value, 0, len(all)-count)
	for _, v := range all {
		if answers[q.block(v)] {
			yes = append(yes, v)
		} else {
			no = append(no, v)
		}
	}
	return yes, no, nil
}
