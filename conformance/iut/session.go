package iut

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"sync"
	"sync/atomic"
	"time"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// session is one link from its opening to its end. Where requests are sent ahead, a goroutine of its own writes them while the
// caller reads answers, so that neither side can block the other for good.
type session struct {
	link    Link
	timeout time.Duration
	ahead   int64
	clock   Watch

	// What has been read and not yet used is in[pos:].
	in  []byte
	pos int

	statement []byte // the conformance statement as it came, which is likely to come the same way again

	sent     atomic.Int64 // requests handed to the link, or about to be
	answered atomic.Int64 // closing lines, as far as the writer needs to know
	// resume is the count of answers at which the writer, out of requests that it may send, goes on; 0 if it does not wait.
	resume atomic.Int64
	wake   chan struct{}

	out []byte // room for requests: the writer's, or one that is not sent ahead

	closings int64         // closing lines read
	known    int64         // a lower bound of sent, kept from the last look
	used     int64         // closings when the clock of the time-out last began
	waited   time.Duration // time spent waiting since then
	watch    *time.Timer
	hung     atomic.Bool
	writeErr atomic.Pointer[error]
}

const (
	readBuffer  = 64 << 10
	writeBuffer = 16 << 10 // small enough for the other side to begin while the next requests are being worded
)

func newSession(link Link, options Options) *session {
	s := &session{
		link:    link,
		timeout: options.Timeout,
		ahead:   int64(options.Ahead),
		clock:   options.Watch,
		in:      make([]byte, 0, readBuffer),
		out:     make([]byte, 0, writeBuffer+2*wire.MaxLine),
		wake:    make(chan struct{}, 1),
	}
	s.watch = time.AfterFunc(time.Hour, func() {
		s.hung.Store(true)
		s.link.Close()
	})
	s.watch.Stop()
	return s
}

// end closes the link.
func (s *session) end() Ending {
	s.link.Close()
	return s.link.Ending()
}

// conduct runs a reader, beside it a writer if there is one, and returns the reader's trouble. Trouble closes the link, and so
// does the end of ctx, and a reader that panics or ends its goroutine.
func (s *session) conduct(ctx context.Context, write func(stop <-chan struct{}) error, read func() *Trouble) *Trouble {
	stop := make(chan struct{})
	var writer sync.WaitGroup
	if write != nil {
		writer.Go(func() {
			if err := write(stop); err != nil {
				s.writeFailed(err)
			}
		})
	}
	release := context.AfterFunc(ctx, func() { s.link.Close() })
	good := false
	defer func() {
		release()
		if !good {
			s.link.Close() // or the writer might wait for a reader for ever
		}
		close(stop)
		writer.Wait()
	}()
	trouble := read()
	good = trouble == nil
	return trouble
}

// readLine returns the next line without its CR and LF, valid until the next call.
func (s *session) readLine() ([]byte, *Failure) {
	searched := 0
	for {
		rest := s.in[s.pos:]
		if i := bytes.IndexByte(rest[searched:], '\n'); i >= 0 {
			line := rest[:searched+i]
			if n := len(line); n > 0 && line[n-1] == '\r' {
				line = line[:n-1]
			}
			if len(line) > wire.MaxLine {
				return nil, &Failure{Kind: Nonsense, Detail: "a line of more than 120 bytes"}
			}
			s.pos += searched + i + 1
			return line, nil
		}
		if len(rest) > wire.MaxLine+1 {
			return nil, &Failure{Kind: Nonsense, Detail: "a line of more than 120 bytes"}
		}
		searched = len(rest)
		if f := s.fill(); f != nil {
			return nil, f
		}
	}
}

// fill reads more from the link.
func (s *session) fill() *Failure {
	if s.closings != s.used {
		s.used, s.waited = s.closings, 0
		s.answered.Store(s.closings)
		if resume := s.resume.Load(); resume != 0 && s.closings >= resume {
			s.resume.Store(0)
			select {
			case s.wake <- struct{}{}:
			default:
			}
		}
	}
	s.in = s.in[:copy(s.in, s.in[s.pos:])]
	s.pos = 0
	begin := time.Now()
	s.watch.Reset(s.timeout - s.waited)
	n, err := s.link.Read(s.in[len(s.in):cap(s.in)])
	s.watch.Stop()
	s.waited += time.Since(begin)
	s.in = s.in[:len(s.in)+n]
	switch {
	case s.hung.Load():
		detail := hungDetail(s.timeout)
		if err := s.writeErr.Load(); err != nil {
			detail += fmt.Sprintf("; requests could not be sent: %v", *err)
		}
		return &Failure{Kind: Hung, Detail: detail}
	case n > 0 || err == nil:
		return nil
	default:
		return s.ended(err)
	}
}

// ended is what a Read means that ended with the given error.
func (s *session) ended(err error) *Failure {
	switch {
	case err == io.EOF && len(s.in) > 0:
		return &Failure{Kind: Died, Detail: "its output ended in the middle of a line"}
	case err == io.EOF:
		return &Failure{Kind: Died, Detail: "its output ended"}
	default:
		return &Failure{Kind: Died, Detail: fmt.Sprintf("reading from it failed: %v", err)}
	}
}

// rest is what has been read and not been used, for the reader.
func (s *session) rest() []byte { return s.in[s.pos:] }

// asked reports whether a request has been sent that has not been answered: without one, nothing may come.
func (s *session) asked() bool {
	if s.closings < s.known {
		return true
	}
	s.known = s.sent.Load()
	return s.closings < s.known
}

const unasked = "a line to which no request has been sent: one before it was answered twice, or something came unasked"

// run runs scripts, with their observations in l.reader, and calls done after each. It returns how many are done, and the
// trouble of the next, after which the link is of no use.
func (s *session) run(ctx context.Context, scripts []Script, l *line, done func(i int)) (n int, trouble *Trouble) {
	var write func(<-chan struct{}) error
	if s.ahead > 1 {
		w := &writer{session: s, buf: s.out[:0], sent: s.closings, answered: s.closings}
		write = func(stop <-chan struct{}) error { return w.write(scripts, stop) }
	}
	trouble = s.conduct(ctx, write, func() *Trouble {
		for n < len(scripts) {
			if trouble := s.script(scripts[n], &l.reader); trouble != nil {
				return trouble
			}
			if n == len(scripts)-1 {
				if trouble := s.same(l); trouble != nil {
					return trouble
				}
			}
			done(n)
			n++
		}
		return nil
	})
	return n, trouble
}

// script reads the answers to one script. With trouble that ends the link it leaves in the observation what was before it,
// and returns it.
func (s *session) script(script Script, reader *Reader) *Trouble {
	o := &reader.o
	var reply *Trouble // the first "error", which ends the observation but not the link
	o.start()
	for i := range script {
		o.next(&script[i])
		if s.ahead == 1 {
			s.send(script[i].Append(s.out[:0]))
		}
		trouble := reader.text(s)
		switch {
		case trouble == nil && s.clock != nil && reply == nil:
			if why := s.clock.Answered(&script[i], o.elapsed); why != "" {
				o.end(o.trouble(Untimely, why, nil))
				return nil
			}
		case trouble == nil:
		case trouble.Kind == ErrorReply:
			if reply == nil {
				reply = trouble
			}
			o.skip()
		case reply != nil:
			reply.Detail += "; after that, " + trouble.String()
			o.cut(reply.Index)
			return reply
		default:
			o.cut(i)
			return trouble
		}
	}
	if reply != nil {
		o.end(reply)
	}
	return nil
}

// send sends a request that has not been sent ahead, given without its LF. What has come in before it was unasked: the
// request then is not sent, so that its answer finds no request.
func (s *session) send(request []byte) {
	s.out = append(request, '\n')
	if len(s.rest()) > 0 {
		return
	}
	s.sent.Store(s.closings + 1)
	s.watch.Reset(s.timeout)
	if _, err := s.link.Write(s.out); err != nil {
		s.writeFailed(err)
	}
	s.watch.Stop()
}

func (s *session) writeFailed(err error) { s.writeErr.Store(&err) }

// Line returns the next line of an answer. A line without a request that it could belong to is a failure.
func (s *session) Line() ([]byte, *Failure) {
	line, f := s.readLine()
	switch {
	case f != nil:
		f.Rest = s.rest()
		return nil, f
	case !s.asked():
		return nil, &Failure{Nonsense, unasked, line}
	case !wire.IsEvent(line) && !isStatement(line):
		s.closings++
	}
	return line, nil
}

// writer words requests and writes them, as far ahead of their answers as is allowed.
type writer struct {
	session  *session
	buf      []byte
	sent     int64 // requests worded
	answered int64 // a lower bound of the answers, kept from the last look
}

// write writes all requests of the scripts, and then asks for the conformance statement.
func (w *writer) write(scripts []Script, stop <-chan struct{}) error {
	for _, script := range scripts {
		for i := range script {
			if err := w.room(stop); err != nil {
				return err
			}
			w.buf = append(script[i].Append(w.buf), '\n')
			w.sent++
		}
	}
	if err := w.room(stop); err != nil {
		return err
	}
	w.buf = append(w.buf, wire.Hello+"\n"...)
	w.sent++
	return w.flush()
}

var errStopped = errors.New("stopped")

// room makes room for a request: in the buffer, and in the number that may be ahead of their answers.
func (w *writer) room(stop <-chan struct{}) error {
	if len(w.buf) >= writeBuffer {
		if err := w.flush(); err != nil {
			return err
		}
	}
	s := w.session
	if w.sent-w.answered < s.ahead {
		return nil
	}
	if w.answered = s.answered.Load(); w.sent-w.answered < s.ahead {
		return nil
	}
	if err := w.flush(); err != nil {
		return err
	}
	// Waiting until half of them are answered saves changing between reader and writer for each.
	resume := w.sent - s.ahead/2
	for {
		s.resume.Store(resume)
		if w.answered = s.answered.Load(); w.answered >= resume {
			s.resume.Store(0)
			return nil
		}
		select {
		case <-s.wake:
		case <-stop:
			return errStopped
		}
	}
}

func (w *writer) flush() error {
	if len(w.buf) == 0 {
		return nil
	}
	w.session.sent.Store(w.sent)
	_, err := w.session.link.Write(w.buf)
	w.buf = w.buf[:0]
	return err
}

// one sends one of the bench's own requests and lets read read the answer.
func (s *session) one(ctx context.Context, request string, read func() *Trouble) *Trouble {
	return s.conduct(ctx, nil, func() *Trouble {
		s.send(append(s.out[:0], request...))
		return read()
	})
}

// hello introduces the bench and returns the conformance statement. An error is a *Trouble, or what is wrong with the
// statement.
func (s *session) hello(ctx context.Context) (spec.ICS, error) {
	trouble := s.one(ctx, wire.Hello, func() (trouble *Trouble) {
		s.statement, trouble = readStatement(s)
		return trouble
	})
	if trouble != nil {
		return spec.ICS{}, trouble
	}
	return parseStatement(s.statement)
}

// same reads the answer to the hello at the end of a run, which shows that answers and requests are in step.
func (s *session) same(l *line) *Trouble {
	if s.ahead == 1 {
		s.send(append(s.out[:0], wire.Hello...))
	}
	text, trouble := readStatement(s)
	if trouble == nil && !bytes.Equal(text, s.statement) {
		if ics, err := parseStatement(text); err != nil || ics != l.ics {
			trouble = &Trouble{Kind: Nonsense, Index: -1, Request: wire.Hello, Received: received(nil, tail(text)),
				Detail: "the conformance statement is not the one of the start"}
		}
	}
	if trouble != nil && (trouble.Kind == Nonsense || trouble.Kind == ErrorReply) {
		trouble.Kind = Nonsense
		trouble.Detail += "; this hello was sent after all scripts: if a request before it was answered twice, " +
			"scripts before this one have been misread too"
	}
	return trouble
}

// bye ends the conversation.
func (s *session) bye() *Trouble {
	s.timeout = min(s.timeout, byeTimeout)
	return s.one(context.Background(), wire.Bye, func() *Trouble {
		line, f := s.readLine()
		if f != nil {
			return &Trouble{Kind: f.Kind, Index: -1, Request: wire.Bye, Detail: f.Detail, Received: received(nil, s.rest())}
		}
		if closing, err := wire.ParseClosing(line); err != nil || !s.asked() || closing.Error || closing.Outcome != spec.Accepted {
			return &Trouble{Kind: Nonsense, Index: -1, Request: wire.Bye, Detail: "bye is answered with ok", Received: received(nil, line)}
		}
		return nil
	})
}

// byeTimeout is short because nothing depends on the answer.
const byeTimeout = time.Second
