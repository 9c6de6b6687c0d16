package iut

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Dialer opens links to one implementation under test.
type Dialer interface {
	// Dial opens a fresh link, at whose other end is an implementation that has not been spoken to. It gives up at the end of
	// ctx; a link once open does not depend on it.
	Dial(ctx context.Context) (Link, error)
	// Describe says in a few words what is at the other end.
	Describe() string
}

// Link is a byte stream to an implementation under test.
type Link interface {
	io.Reader
	io.Writer
	// Close ends the link, and the implementation if the link has started it, in bounded time. A Read and a Write under way
	// return. It may be called more than once and from several goroutines, and each call returns when all is done.
	Close() error
	// Ending says how the link ended. It may be called once Close has returned.
	Ending() Ending
}

// DeadlineLink is a link on which silence can be told from a broken line.
type DeadlineLink interface {
	Link
	// SetReadDeadline lets a Read end at a time with os.ErrDeadlineExceeded, after which the link is as good as before; the
	// zero time is no deadline. It is not called while a Read runs.
	SetReadDeadline(t time.Time) error
}

// Options are how the line protocol is driven. The zero value has the defaults.
type Options struct {
	// Timeout is how long a closing line may keep the bench waiting. Default [DefaultTimeout]. Time in which the bench itself is busy does
	// not count.
	Timeout time.Duration
	// Ahead is how many requests may be sent ahead of their answers. Default 4096. A link without flow control needs 1, which
	// waits for each answer.
	Ahead int
	// Settle is for an implementation that runs before the link is opened and after it is closed, such as a board: how long it
	// may take, from the opening of each link, to answer hello. Meanwhile hello is repeated, and what comes besides is skipped:
	// boot text, answers of an earlier link, broken lines. The dialer's links must then be a [DeadlineLink]. The default, 0, is
	// for one that the link starts: whatever comes first is taken for the answer to hello.
	Settle time.Duration
	// Watch is for an implementation whose time passes by itself, which answers "go" when it has passed; nil for one that lets it pass.
	// Nothing is then sent ahead, and events may be of seconds that are off by Slack.
	Watch Watch
	Slack uint64
}

// Watch looks at the clock while a script runs.
type Watch interface {
	// Answered is told that a request has been answered, and the second that should be elapsed then. It returns why nothing can be
	// said of the script from this request on, or "".
	Answered(r *Request, second uint64) (why string)
}

// DefaultTimeout is how long a closing line may keep the bench waiting if nothing else is said.
const DefaultTimeout = 5 * time.Second

const (
	defaultAhead = 4096
	// maxTroublesInRow is how many scripts in a row may have trouble before the rest are not tried.
	maxTroublesInRow = 3
)

// Open opens an implementation that speaks the adapter protocol: it dials, says hello and reads the conformance statement.
// An error is an [*OpenError], or the end of ctx.
//
// Run of the IUT it returns sends requests ahead of their answers. After trouble it closes the link, which ends the
// implementation if the dialer has started it, and opens a fresh one for the scripts that remain. It reports these with the
// trouble, untried, after three scripts in a row with trouble, or if a fresh link cannot be opened. An "error" reply alone
// breaks no link. At the end of each Run it asks for the conformance statement once more, because only that shows whether
// some request was answered twice; if so the last script has the trouble.
func Open(ctx context.Context, dialer Dialer, options Options) (IUT, error) {
	if options.Timeout <= 0 {
		options.Timeout = DefaultTimeout
	}
	if options.Ahead <= 0 {
		options.Ahead = defaultAhead
	}
	if options.Watch != nil {
		options.Ahead = 1
	}
	l := &line{dialer: dialer, options: options}
	s, ics, err := l.open(ctx)
	if err != nil {
		return nil, err
	}
	l.ics, l.session = ics, s
	l.reader.o.fittedAtNew, l.reader.o.slack = ics.Fitted.Channels, options.Slack
	return l, nil
}

type line struct {
	dialer  Dialer
	options Options
	ics     spec.ICS
	session *session // nil while there is no link
	reader  Reader
	// inRow is how many of the last scripts had trouble that ended their link.
	inRow int
}

func (l *line) ICS() spec.ICS    { return l.ics }
func (l *line) Describe() string { return l.dialer.Describe() }

// open opens a link and introduces itself. An error is an *OpenError, or the end of ctx.
func (l *line) open(ctx context.Context) (*session, spec.ICS, error) {
	link, err := l.dialer.Dial(ctx)
	if ctx.Err() != nil {
		if err == nil {
			link.Close()
		}
		return nil, spec.ICS{}, context.Cause(ctx)
	}
	if err != nil {
		return nil, spec.ICS{}, &OpenError{IUT: l.Describe(), Err: err}
	}
	s := newSession(link, l.options)
	introduce := s.hello
	if l.options.Settle > 0 {
		introduce = func(ctx context.Context) (spec.ICS, error) { return s.settle(ctx, l.options.Settle) }
	}
	ics, err := introduce(ctx)
	if err == nil && ctx.Err() == nil {
		return s, ics, nil
	}
	ending := s.end()
	if ctx.Err() != nil {
		return nil, spec.ICS{}, context.Cause(ctx)
	}
	var trouble *Trouble
	if errors.As(err, &trouble) {
		trouble.Ending = ending
	}
	return nil, spec.ICS{}, &OpenError{IUT: l.Describe(), Err: err, Trouble: trouble}
}

func (l *line) Run(ctx context.Context, scripts []Script, done func(i int, obs *Observation)) error {
	if err := CheckScripts(scripts); err != nil {
		return err
	}
	for i := 0; i < len(scripts); {
		if ctx.Err() != nil {
			return context.Cause(ctx)
		}
		if trouble, err := l.reopen(ctx); err != nil {
			return err
		} else if trouble != nil {
			l.giveUp(i, len(scripts), trouble, done)
			return nil
		}
		n, trouble := l.run(ctx, scripts[i:], func(j int) { done(i+j, l.reader.Observation()) })
		if n > 0 {
			l.inRow = 0
		}
		i += n
		if trouble == nil && ctx.Err() == nil {
			continue
		}
		ending := l.session.end()
		l.session = nil
		if ctx.Err() != nil {
			if i == len(scripts) {
				return nil
			}
			return context.Cause(ctx)
		}
		trouble.Ending = ending
		l.reader.o.Trouble = trouble
		done(i, l.reader.Observation())
		i++
		if l.inRow++; l.inRow >= maxTroublesInRow {
			l.inRow = 0
			l.giveUp(i, len(scripts), trouble, done)
			return nil
		}
	}
	return nil
}

// run runs scripts on the link there is. If done panics or ends its goroutine, answers are left over that belong to nothing,
// so that the link is of no further use.
func (l *line) run(ctx context.Context, scripts []Script, done func(int)) (n int, trouble *Trouble) {
	returned := false
	defer func() {
		if !returned {
			l.session.end()
			l.session = nil
		}
	}()
	n, trouble = l.session.run(ctx, scripts, l, done)
	returned = true
	return n, trouble
}

// reopen sees to it that there is a link. It returns the trouble that keeps it from that, or an error at the end of ctx.
func (l *line) reopen(ctx context.Context) (*Trouble, error) {
	if l.session != nil {
		return nil, nil
	}
	s, ics, err := l.open(ctx)
	var failure *OpenError
	switch {
	case errors.As(err, &failure) && failure.Trouble != nil:
		return failure.Trouble, nil
	case failure != nil:
		return &Trouble{Kind: NoLink, Index: -1, Detail: failure.Err.Error()}, nil
	case err != nil:
		return nil, err
	case ics != l.ics:
		return &Trouble{Kind: Nonsense, Index: -1, Request: wire.Hello, Ending: s.end(),
			Detail: "the conformance statement is no longer the one of the first link"}, nil
	}
	l.session = s
	return nil, nil
}

// giveUp reports the scripts from i on with a trouble that kept them from being tried.
func (l *line) giveUp(i, n int, trouble *Trouble, done func(int, *Observation)) {
	untried := *trouble
	untried.Untried = true
	for ; i < n; i++ {
		l.reader.o.start()
		l.reader.o.Trouble = &untried
		done(i, l.reader.Observation())
	}
}

func (l *line) Close() error {
	s := l.session
	if s == nil {
		return nil
	}
	l.session = nil
	trouble := s.bye()
	ending := s.end()
	switch {
	case trouble != nil:
		trouble.Ending = ending
		return fmt.Errorf("%s: %w", l.Describe(), trouble)
	case ending.Status != "" && !ending.Clean:
		return fmt.Errorf("%s: answered bye with ok, but then ended with %s", l.Describe(), ending.Status)
	}
	return nil
}
