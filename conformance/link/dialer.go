package link

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"example.org/hearthbench/conformance/iut"
)

const (
	// settle is how long a unit may take to boot: a small one takes a second, one with an operating system some more.
	settle = 10 * time.Second
	// away is how long a unit that has been there may be away: a board that restarts takes its USB adapter or its network along.
	away       = 10 * time.Second
	redialStep = 250 * time.Millisecond
)

// dialer opens links to one address.
type dialer struct {
	description string
	open        func(ctx context.Context) (iut.Link, error)
	away        time.Duration
	seen        bool // a link has been open before
}

func (d *dialer) Describe() string { return d.description }

// Dial tries once if there never was a link, because an address with a mistake in it should be told at once.
func (d *dialer) Dial(ctx context.Context) (iut.Link, error) {
	end := time.Now().Add(d.away)
	for {
		link, err := d.open(ctx)
		if err == nil {
			d.seen = true
			return link, nil
		}
		if !d.seen {
			return nil, err
		}
		if time.Now().After(end) {
			return nil, fmt.Errorf("it was there, but has not come back for %v: %w", d.away, err)
		}
		select {
		case <-ctx.Done():
			return nil, context.Cause(ctx)
		case <-time.After(redialStep):
		}
	}
}

// splitAhead splits what follows a comma, "ahead=N", off an address. Without it N is the one given.
func splitAhead(address string, n, most int) (string, int, error) {
	before, option, ok := cutLast(address, ",")
	if !ok {
		return address, n, nil
	}
	value, ok := strings.CutPrefix(option, "ahead=")
	if !ok {
		return "", 0, fmt.Errorf("'%s' is no option; there is ahead=N, how many requests may be sent ahead of their answers", option)
	}
	n, err := strconv.Atoi(value)
	if err != nil || n < 1 || n > most {
		return "", 0, fmt.Errorf("ahead=%s: how many requests may be sent ahead of their answers is a number from 1, which waits for each answer, to %d",
			value, most)
	}
	return before, n, nil
}

func cutLast(s, sep string) (before, after string, found bool) {
	if i := strings.LastIndex(s, sep); i >= 0 {
		return s[:i], s[i+len(sep):], true
	}
	return s, "", false
}
