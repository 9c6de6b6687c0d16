package iut

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// TroubleKind is a way in which an implementation can break the protocol.
type TroubleKind uint8

// The kinds of trouble.
const (
	Hung       TroubleKind = iota // no closing line in time
	Died                          // the stream ended
	Flooded                       // more events than the request can bring about
	Nonsense                      // a line that breaks the protocol
	ErrorReply                    // the unit answered "error"
	NoLink                        // a link could not be opened, or what opened it did not introduce itself
	Untimely                      // what came when is not known well enough, of a unit whose time passes by itself
	NotRun                        // the bench did not try
)

var troubleWords = [...]string{
	Hung:       "no answer in time",
	Died:       "the implementation ended",
	Flooded:    "too much output",
	Nonsense:   "the protocol was broken",
	ErrorReply: "error reply",
	NoLink:     "could not be started",
	Untimely:   "times too uncertain",
	NotRun:     "not run",
}

// String returns the kind in a few words.
func (k TroubleKind) String() string { return troubleWords[k] }

// Trouble is what went wrong on the link while a script ran. It makes no difference between an implementation that is broken
// and an adapter that is.
type Trouble struct {
	Kind     TroubleKind
	Index    int    // of the request under way in its script; -1 if it was none of the script's
	Request  string // the request under way, as sent
	Detail   string // what is wrong, with what should be
	Received string // what came in answer to the request before and in the trouble, quoted and trimmed; "" if nothing did
	Ending   Ending // how the link ended; zero with ErrorReply, Untimely and NotRun, which end no link
	// Untried says that the script has not been run at all: because the trouble befell others before it, or with NotRun.
	Untried bool
}

// Ending is how a link ended.
type Ending struct {
	Status string   // such as "exit status 3"; "" if the link cannot tell
	Clean  bool     // it ended by itself and without complaint
	Stderr []string // the last lines that the implementation wrote for people
}

// String returns everything there is to say, but for what the implementation wrote to stderr, in one line.
func (t *Trouble) String() string {
	var b strings.Builder
	if t.Untried && t.Kind != NotRun {
		b.WriteString("not run, because of trouble before: ")
	}
	b.WriteString(t.Kind.String())
	if t.Request != "" {
		b.WriteString(" to ")
		b.WriteString(quoteRequest(t.Request))
		if t.Index >= 0 {
			fmt.Fprintf(&b, " (request %d of the script)", t.Index+1)
		}
	}
	if t.Detail != "" {
		b.WriteString(": " + t.Detail)
	}
	if t.Received != "" {
		b.WriteString("; received " + t.Received)
	} else if t.Kind < NoLink {
		b.WriteString("; received nothing")
	}
	switch {
	case t.Ending.Status == "":
	case t.Kind == Died:
		b.WriteString("; it ended with " + t.Ending.Status)
	default:
		b.WriteString("; when the link was closed it ended with " + t.Ending.Status)
	}
	return b.String()
}

// Error returns what String does.
func (t *Trouble) Error() string { return t.String() }

func quoteRequest(request string) string { return "'" + request + "'" }

// OpenError says why an implementation could not be opened for test, so that no verdict is possible.
type OpenError struct {
	IUT     string // what Describe would have said
	Err     error
	Trouble *Trouble // what went wrong on the link, nil if it never came to be
}

// Error returns the whole message.
func (e *OpenError) Error() string { return fmt.Sprintf("cannot test %s: %v", e.IUT, e.Err) }

// Unwrap returns the cause.
func (e *OpenError) Unwrap() error { return e.Err }

const (
	maxReceived       = 200 // bytes of a trouble's Received
	maxReceivedEvents = 3
)

// received quotes the end of what came in answer to a request: events that were good, and what came after them.
func received(changes []spec.Change, rest []byte) string {
	var lines []string
	if more := len(changes) - maxReceivedEvents; more > 0 {
		lines = append(lines, fmt.Sprintf("%d events,", more))
		changes = changes[more:]
	}
	for _, c := range changes {
		lines = append(lines, strconv.Quote(string(wire.AppendChange(nil, c))))
	}
	if len(rest) > maxReceived {
		lines = append(lines, strconv.QuoteToASCII(string(rest[:maxReceived]))+"…")
	} else if len(rest) > 0 {
		lines = append(lines, strconv.QuoteToASCII(string(rest)))
	}
	return strings.Join(lines, " ")
}

func hungDetail(timeout time.Duration) string {
	return fmt.Sprintf("no closing line within %v", timeout)
}
