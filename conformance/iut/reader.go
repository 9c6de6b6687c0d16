package iut

import (
	"bytes"
	"fmt"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Reader gathers what is observed of an implementation and holds it against what the protocol allows, as the IUTs of this
// package do. It is for adapters that have no [Link].
//
// Start begins an observation. For each request then comes Next, and after it the answer: as text with Text, or change by
// change with Change and at last Answer. A trouble ends the observation, which then has what was before the request.
type Reader struct {
	o     observer
	words map[string]string // refusal words seen, so that the same words are not copied again and again
}

// NewReader returns a reader for a unit with a conformance statement.
func NewReader(ics *spec.ICS) *Reader {
	return &Reader{o: observer{fittedAtNew: ics.Fitted.Channels}}
}

// Lines are lines of answers as they come in.
type Lines interface {
	// Line returns the next line without CR and LF, valid until the next call, or why there is none.
	Line() ([]byte, *Failure)
}

// Failure is why there is no further line.
type Failure struct {
	Kind   TroubleKind
	Detail string
	Rest   []byte // what came and is no whole line
}

// Start begins an observation, of a unit that is as the last request left it or, if the first request is New, of any.
func (r *Reader) Start() { r.o.start() }

// Next begins a request.
func (r *Reader) Next(request *Request) { r.o.next(request) }

// Change takes a change that is part of the answer.
func (r *Reader) Change(change spec.Change) *Trouble {
	kind, wrong := r.o.change(&change)
	if wrong != "" {
		return r.o.end(r.o.trouble(kind, wrong, wire.AppendChange(nil, change)))
	}
	r.o.Changes = append(r.o.Changes, change)
	return nil
}

// Answer ends the request. The words are those of a refusal, for the reader only.
func (r *Reader) Answer(outcome spec.Outcome, words string) *Trouble {
	if wrong := r.o.answer(outcome, words); wrong != "" {
		return r.o.end(r.o.trouble(Nonsense, wrong, []byte(wire.OutcomeWord(outcome))))
	}
	return nil
}

// Text takes the whole answer to the request from its lines.
func (r *Reader) Text(lines Lines) *Trouble {
	if trouble := r.text(lines); trouble != nil {
		return r.o.end(trouble)
	}
	return nil
}

// Fail makes the trouble of an answer that cannot be had. Rest is what came instead of it.
func (r *Reader) Fail(kind TroubleKind, detail string, rest []byte) *Trouble {
	return r.o.end(r.o.trouble(kind, detail, rest))
}

// Observation is what was observed since Start, valid until the next Start.
func (r *Reader) Observation() *Observation { return &r.o.Observation }

// Elapsed is the unit's elapsed second.
func (r *Reader) Elapsed() uint64 { return r.o.elapsed }

// Standing is what a reader knows of a unit between two requests.
type Standing struct{ at standing }

// Standing returns what the reader knows of the unit now.
func (r *Reader) Standing() Standing { return Standing{r.o.standing} }

// SetStanding makes the reader take the unit for one of which it knew this.
func (r *Reader) SetStanding(s Standing) { r.o.standing = s.at }

// text takes the whole answer to the request from its lines. With trouble the observation stays as it is.
func (r *Reader) text(lines Lines) *Trouble {
	o := &r.o
	for {
		line, f := lines.Line()
		if f != nil {
			return o.trouble(f.Kind, f.Detail, f.Rest)
		}
		if !wire.IsEvent(line) {
			closing, err := wire.ParseClosing(line)
			if err != nil {
				return o.trouble(Nonsense, err.Error(), line)
			}
			if closing.Error {
				return o.trouble(ErrorReply, "the unit takes the request for none of the protocol's", line)
			}
			words := ""
			if closing.Outcome == spec.Refused {
				words = r.intern(closing.Words)
			}
			if wrong := o.answer(closing.Outcome, words); wrong != "" {
				return o.trouble(Nonsense, wrong, line)
			}
			return nil
		}
		change, err := wire.ParseChange(line)
		if err != nil {
			return o.trouble(Nonsense, err.Error(), line)
		}
		if kind, wrong := o.change(&change); wrong != "" {
			return o.trouble(kind, wrong, line)
		}
		o.Changes = append(o.Changes, change)
	}
}

// intern returns the text as a string, the same one for the same text unless there are very many.
func (r *Reader) intern(text []byte) string {
	if len(text) == 0 {
		return ""
	}
	if s, ok := r.words[string(text)]; ok {
		return s
	}
	s := string(text)
	if r.words == nil {
		r.words = map[string]string{}
	}
	if len(r.words) < 1000 {
		r.words[s] = s
	}
	return s
}

// maxStatement is more lines than a conformance statement can have.
const maxStatement = 64

// ReadStatement takes the answer to hello from its lines. The second result is what went wrong in it, an error what is wrong
// with the statement itself.
func ReadStatement(lines Lines) (spec.ICS, *Trouble, error) {
	text, trouble := readStatement(lines)
	if trouble != nil {
		return spec.ICS{}, trouble, nil
	}
	ics, err := parseStatement(text)
	return ics, nil, err
}

// readStatement reads the answer to hello, of which it returns the lines before the closing one, each with LF.
func readStatement(from Lines) ([]byte, *Trouble) {
	var text []byte
	trouble := func(kind TroubleKind, detail string, rest []byte) *Trouble {
		return &Trouble{Kind: kind, Index: -1, Request: wire.Hello, Detail: detail, Received: received(nil, append(tail(text), rest...))}
	}
	for lines := 0; ; lines++ {
		line, f := from.Line()
		switch {
		case f != nil:
			return nil, trouble(f.Kind, f.Detail, f.Rest)
		case lines > maxStatement:
			return nil, trouble(Flooded, "more lines than a conformance statement can have", line)
		case isStatement(line):
			text = append(append(text, line...), '\n')
			continue
		}
		closing, err := wire.ParseClosing(line)
		switch {
		case err != nil:
			return nil, trouble(Nonsense, "neither an ics line nor a closing line: "+err.Error(), line)
		case closing.Error:
			return nil, trouble(ErrorReply, fmt.Sprintf("the unit does not speak version %d of the protocol", wire.Version), line)
		case closing.Outcome != spec.Accepted:
			return nil, trouble(Nonsense, "hello is answered with ics lines and ok", line)
		}
		return text, nil
	}
}

func isStatement(line []byte) bool { return bytes.HasPrefix(line, []byte("ics ")) }

// tail returns the end of a text, for a message that has room for only so much.
func tail(text []byte) []byte {
	return bytes.Clone(text[max(0, len(text)-maxReceived/2):])
}

func parseStatement(text []byte) (spec.ICS, error) {
	var r wire.ICSReader
	for line := range bytes.Lines(text) {
		if err := r.Line(string(bytes.TrimSuffix(line, []byte{'\n'}))); err != nil {
			return spec.ICS{}, fmt.Errorf("its conformance statement: %w", err)
		}
	}
	ics, err := r.ICS()
	if err != nil {
		return spec.ICS{}, fmt.Errorf("its conformance statement: %w", err)
	}
	return ics, nil
}
