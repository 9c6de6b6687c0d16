package iut

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"time"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

const (
	// minPause is a silence longer than the gaps that drivers and adapters put into a line under way.
	minPause = 250 * time.Millisecond
	// unansweredPause is the silence asked for where some hello has had no answer: it was lost while the unit started, or its answer is still
	// to come.
	unansweredPause = time.Second
	// maxPause is the rarest that hello is repeated to a unit that says nothing, and the longest silence asked of one that talks.
	maxPause = 2 * time.Second
)

// settle introduces the bench to an implementation of which it does not know what it is doing. As answers bear no mark of
// their request, it asks until an answer comes, waits until no more come, and then counts on a hello that gets its whole answer
// and nothing else, with silence before it and after it.
func (s *session) settle(ctx context.Context, limit time.Duration) (spec.ICS, error) {
	link, ok := s.link.(DeadlineLink)
	if !ok {
		return spec.ICS{}, errors.New("its links cannot tell silence, which settling needs")
	}
	var (
		ics   spec.ICS
		wrong error
	)
	trouble := s.conduct(ctx, nil, func() (trouble *Trouble) {
		ics, trouble, wrong = s.findStep(&ear{session: s, link: link, end: time.Now().Add(limit)}, limit)
		return trouble
	})
	if trouble != nil {
		return spec.ICS{}, trouble
	}
	return ics, wrong
}

// findStep says hello until answers and requests are in step. The error is what is wrong with a statement that has come the
// same way twice, and so is none that the line has damaged.
func (s *session) findStep(e *ear, limit time.Duration) (spec.ICS, *Trouble, error) {
	var (
		heard   []byte // the end of all that came
		bad     []byte // the last statement with something wrong, and
		wrong   error  // what that is
		refused bool   // whether an "error" has come as a whole answer
		clean   bool   // whether hello goes out into a silence after something was heard
		stay    bool   // whether it should once more
		pending int    // how many more hellos than answers there have been
		wait    = minPause
		quiet   = minPause
	)
	trouble := func(kind TroubleKind, detail string) *Trouble {
		return &Trouble{Kind: kind, Index: -1, Request: wire.Hello, Detail: detail, Received: received(nil, heard)}
	}
	for {
		request := wire.Hello + "\n"
		if !clean {
			// The LF ends what may be left of a line that was cut short.
			request = "\n" + request
		}
		stay = false
		f := e.say(request)
		pending++
		var got hearing
		if f == nil {
			got, f = e.listen(max(wait, quiet), quiet)
			pending = max(0, pending-got.answers)
		}
		if len(got.tail) > 0 {
			heard = got.tail
		}
		if f != nil {
			return spec.ICS{}, trouble(f.Kind, f.Detail), nil
		}
		if clean && got.whole() {
			ics, err := parseStatement(got.statement)
			switch {
			case err == nil && pending > 0 && quiet < unansweredPause:
				quiet, stay = unansweredPause, true
			case err == nil:
				if err := e.link.SetReadDeadline(time.Time{}); err != nil {
					return spec.ICS{}, nil, err
				}
				s.statement = got.statement
				s.closings = 1
				s.sent.Store(1)
				return ics, nil, nil
			case bytes.Equal(got.statement, bad):
				return spec.ICS{}, nil, err
			default:
				bad, wrong = got.statement, err
			}
		}
		if clean && got.refused() {
			if refused {
				return spec.ICS{}, trouble(ErrorReply, fmt.Sprintf("the unit does not speak version %d of the protocol", wire.Version)), nil
			}
			refused = true
		}
		if !time.Now().Before(e.end) {
			switch {
			case wrong != nil:
				return spec.ICS{}, nil, wrong
			case len(heard) == 0:
				return spec.ICS{}, trouble(Hung, fmt.Sprintf("no answer within %v", limit)), nil
			case slices.ContainsFunc(heard, func(b byte) bool { return b > '~' }):
				return spec.ICS{}, trouble(Nonsense, fmt.Sprintf("no answer within %v, but what is no text: on a serial line, is the baud rate the unit's?", limit)), nil
			default:
				return spec.ICS{}, trouble(Nonsense, fmt.Sprintf("no whole answer within %v, but other lines", limit)), nil
			}
		}
		switch {
		case len(got.tail) == 0:
			// A board that is silent should not find a heap of hellos when it wakes.
			wait = min(2*wait, maxPause)
		case clean && !stay:
			// What spoiled it may have been late answers to hellos before, for which a longer silence is the cure.
			quiet = min(2*quiet, maxPause)
		}
		clean = (stay || !clean) && len(got.tail) > 0
	}
}

// ear listens to a link until a time.
type ear struct {
	session *session
	link    DeadlineLink
	end     time.Time
}

// say writes a text.
func (e *ear) say(text string) *Failure {
	s := e.session
	s.watch.Reset(s.timeout)
	_, err := s.link.Write([]byte(text))
	s.watch.Stop()
	switch {
	case s.hung.Load():
		return &Failure{Kind: Hung, Detail: fmt.Sprintf("hello could not be sent within %v", s.timeout)}
	case err != nil:
		return &Failure{Kind: Died, Detail: fmt.Sprintf("writing to it failed: %v", err)}
	}
	return nil
}

// hearing is what came up to a silence.
type hearing struct {
	statement []byte // the ics lines before the last "ok", each with LF
	answers   int    // how many of those there were
	errors    int    // how many "error" lines there were
	other     bool   // there was more than that
	silent    bool   // the silence did come
	tail      []byte // the end of all of it
	underWay  []byte // ics lines that no closing line has followed yet
}

// whole reports whether one statement came and nothing else.
func (h *hearing) whole() bool { return h.silent && h.answers == 1 && h.errors == 0 && !h.other }

// refused reports whether one "error" came and nothing else.
func (h *hearing) refused() bool { return h.silent && h.answers == 0 && h.errors == 1 && !h.other }

// line takes a line.
func (h *hearing) line(line []byte) {
	if len(line) <= wire.MaxLine && isStatement(line) && len(h.underWay) < maxStatement*(wire.MaxLine+1) {
		h.underWay = append(append(h.underWay, line...), '\n')
		return
	}
	closing, err := wire.ParseClosing(line)
	switch {
	case err == nil && closing.Error && h.underWay == nil:
		h.errors++
	case err == nil && !closing.Error && closing.Outcome == spec.Accepted && h.underWay != nil:
		h.statement = h.underWay
		h.answers++
	default:
		h.other = true
	}
	h.underWay = nil
}

// listen hears all that comes until nothing has come for a time: wait for the first byte, quiet after the last. It ends with the
// ear.
func (e *ear) listen(wait, quiet time.Duration) (hearing, *Failure) {
	var h hearing
	s := e.session
	for {
		until := time.Now().Add(wait)
		last := !until.Before(e.end)
		if last {
			until = e.end
		}
		s.in = s.in[:copy(s.in, s.rest())]
		s.pos = 0
		if err := e.link.SetReadDeadline(until); err != nil {
			return h, &Failure{Kind: Died, Detail: fmt.Sprintf("reading from it failed: %v", err)}
		}
		had := len(s.in)
		n, err := s.link.Read(s.in[had:cap(s.in)])
		s.in = s.in[:had+n]
		h.tail = tail(append(h.tail, s.in[had:]...))
		switch {
		case n > 0:
			wait = quiet
		case errors.Is(err, os.ErrDeadlineExceeded):
			h.silent = !last
			h.other = h.other || h.underWay != nil || len(s.in) > 0
			s.in = s.in[:0] // the line will not be finished
			return h, nil
		case err != nil:
			return h, s.ended(err)
		}
		for {
			i := bytes.IndexByte(s.rest(), '\n')
			if i < 0 {
				break
			}
			h.line(bytes.TrimSuffix(s.rest()[:i], []byte{'\r'}))
			s.pos += i + 1
		}
		if len(s.rest()) > wire.MaxLine+1 {
			h.other = true
			s.pos = len(s.in) - 1 // what is left of it makes no line either
			s.in[s.pos] = 0
		}
		if !time.Now().Before(e.end) {
			h.other = true
			return h, nil
		}
	}
}
