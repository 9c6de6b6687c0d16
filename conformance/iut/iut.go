package iut

import (
	"context"
	"fmt"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// RequestKind is the kind of a request.
type RequestKind uint8

// The kinds of request.
const (
	New RequestKind = iota // the unit as it left the factory
	Do                     // Input
	Go                     // Seconds pass
)

// Request is one thing asked of an implementation.
type Request struct {
	Kind    RequestKind
	Input   spec.Input // with Do
	Seconds uint64     // with Go: 0 to wire.MaxGo
}

// Append appends the request as the protocol words it, without LF.
func (r *Request) Append(dst []byte) []byte {
	switch r.Kind {
	case New:
		return append(dst, wire.New...)
	case Go:
		return wire.AppendGo(dst, r.Seconds)
	default:
		return wire.AppendInput(dst, r.Input)
	}
}

// Script is what is asked of one unit, in order. The first request is New, and no other.
type Script []Request

// Answer is what became of a request. New and Go, to which a unit cannot object, are Accepted.
type Answer struct {
	Outcome spec.Outcome
	Words   string // why an input was refused, in the unit's words: for the reader only
	// Changes is how many changes there have been up to and including this answer: those of the answer to request i are
	// Observation.Changes[Answers[i-1].Changes:Answers[i].Changes].
	Changes int
}

// Observation is what was seen of a script.
type Observation struct {
	// Answers has one for each request of the script, but with Trouble only those for the requests before it.
	Answers []Answer
	// Changes are in the order in which they happened. From a link they have neither reason nor cause.
	Changes []spec.Change
	Trouble *Trouble // nil if there was none
}

// IUT is an implementation under test. Its methods must not be called while another one runs.
type IUT interface {
	// ICS returns the implementation's conformance statement, which is valid.
	ICS() spec.ICS
	// Describe says in a few words what is under test: a name, or the command that started it.
	Describe() string
	// Run runs the scripts in order and calls done with the observation of each, in order, i counting from 0. The observation
	// is only valid during the call. Trouble with the implementation is part of the observation and no error of Run.
	//
	// An error is a script that breaks the rules of Script and Request, before any has run, or the end of ctx, after which
	// scripts remain for which done has not been called.
	Run(ctx context.Context, scripts []Script, done func(i int, obs *Observation)) error
	// Close ends the implementation. An error says that it did not end as it should; it has ended nevertheless.
	Close() error
}

// Inexact is an implementation whose time passes by itself, so that its seconds are not the bench's.
type Inexact interface {
	IUT
	// Slack is how far from its second any change may come for that reason, either way, in seconds.
	Slack() uint64
}

// CheckScripts finds what no implementation can be asked, for an IUT that is not of this package. The error says where.
func CheckScripts(scripts []Script) error {
	for i, script := range scripts {
		if len(script) == 0 || script[0].Kind != New {
			return fmt.Errorf("script %d does not begin with new", i)
		}
		if err := CheckRequests(script); err != nil {
			return fmt.Errorf("script %d: %w", i, err)
		}
	}
	return nil
}

// CheckRequests finds what no implementation can be asked in requests of which none but the first is New. The error says where.
func CheckRequests(requests []Request) error {
	for j := range requests {
		switch r := &requests[j]; {
		case r.Kind > Go:
			return fmt.Errorf("request %d has no kind", j)
		case r.Kind == New && j > 0:
			return fmt.Errorf("request %d is new, which only the first can be", j)
		case r.Kind == Go && r.Seconds > wire.MaxGo:
			return fmt.Errorf("request %d: go has at most %d seconds, not %d", j, wire.MaxGo, r.Seconds)
		}
	}
	return nil
}
