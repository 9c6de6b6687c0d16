package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"golang.org/x/term"
)

// progress is a line on a terminal that says how far long work has come. On anything else it shows nothing. It may be used from many
// goroutines.
type progress struct {
	w     io.Writer
	total int
	what  string

	mutex  sync.Mutex
	done   int
	failed int
	next   time.Time
	shown  int // characters on the line
}

const progressInterval = 200 * time.Millisecond

func newProgress(w io.Writer, total int, what string) *progress {
	if f, ok := w.(*os.File); !ok || !term.IsTerminal(int(f.Fd())) {
		w = nil
	}
	return &progress{w: w, total: total, what: what, next: time.Now().Add(progressInterval)}
}

// show says how much is done.
func (p *progress) show(done int) {
	p.mutex.Lock()
	defer p.mutex.Unlock()
	p.done = done
	p.draw()
}

// add says that one more is done, and whether it failed.
func (p *progress) add(failed bool) {
	p.mutex.Lock()
	defer p.mutex.Unlock()
	p.done++
	if failed {
		p.failed++
	}
	p.draw()
}

func (p *progress) draw() {
	if p.w == nil || time.Now().Before(p.next) {
		return
	}
	p.next = time.Now().Add(progressInterval)
	// Every number has the width of the largest, so that the line stands still.
	text := fmt.Sprintf("%*d of %d %s, %*d left", len(fmt.Sprint(p.total)), p.done, p.total, p.what, len(fmt.Sprint(p.total)), p.total-p.done)
	if p.failed > 0 {
		text += fmt.Sprintf(", %d not passed so far", p.failed)
	}
	fmt.Fprintf(p.w, "\r%-*s", p.shown, text)
	p.shown = len(text)
}

// clear takes the line away, for something else to be written.
func (p *progress) clear() {
	p.mutex.Lock()
	defer p.mutex.Unlock()
	p.erase()
}

func (p *progress) erase() {
	if p.shown > 0 {
		fmt.Fprint(p.w, "\r"+strings.Repeat(" ", p.shown)+"\r")
		p.shown = 0
	}
}

// over returns a writer to w that takes the line away first. What is written at once stays together.
func (p *progress) over(w io.Writer) io.Writer { return overProgress{p, w} }

type overProgress struct {
	p *progress
	w io.Writer
}

func (o overProgress) Write(text []byte) (int, error) {
	o.p.mutex.Lock()
	defer o.p.mutex.Unlock()
	o.p.erase()
	return o.w.Write(text)
}
