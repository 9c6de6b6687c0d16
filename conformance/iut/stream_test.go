package iut

import (
	"bytes"
	"context"
	"io"
	"net"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/iotest"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// netDialer opens links without any buffer of their own, at whose other end a unit is served.
type netDialer struct{}

func (netDialer) Describe() string { return "a unit on a net.Pipe" }

func (netDialer) Dial(context.Context) (Link, error) {
	bench, unit := net.Pipe()
	go func() {
		_ = wire.Serve(unit, unit, spec.FullICS(), newFake) // the bench sees what becomes of it
		unit.Close()
	}()
	return netLink{bench}, nil
}

type netLink struct{ net.Conn }

func (netLink) Ending() Ending { return Ending{} }

func TestUnbufferedLink(t *testing.T) {
	checkLeaks(t)
	for _, ahead := range []int{0, 1, 2} {
		u, err := Open(t.Context(), netDialer{}, Options{Ahead: ahead})
		if err != nil {
			t.Fatal(err)
		}
		var scripts []Script
		for range 300 {
			scripts = append(scripts, goodScript, hostileScript)
		}
		for i, got := range collect(t, u, scripts) {
			want := []seen{wantGood, wantHostile}[i%2]
			if diff := cmp.Diff(want, got); diff != "" {
				t.Fatalf("script %d: -want +got\n%s", i, diff)
			}
		}
		if err := u.Close(); err != nil {
			t.Error(err)
		}
	}
}

// TestDoneEndsGoroutine: a callback that never returns, as one that calls t.Fatal, leaves nothing behind.
func TestDoneEndsGoroutine(t *testing.T) {
	checkLeaks(t)
	u, err := Open(t.Context(), netDialer{}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	func() {
		defer func() {
			if recover() == nil {
				t.Error("the panic is lost")
			}
		}()
		_ = u.Run(t.Context(), slices.Repeat([]Script{hostileScript}, 2000), func(int, *Observation) { panic("in done") })
	}()
	if got := collect(t, u, []Script{goodScript}); got[0].Trouble != nil {
		t.Errorf("a later run: %v", got[0].Trouble)
	}
	if err := u.Close(); err != nil {
		t.Error(err)
	}
}

// cannedDialer opens links that answer each request with the next part of a text, up to a line that is neither an event nor
// of a conformance statement, and that end with the text.
type cannedDialer struct{ text string }

func (cannedDialer) Describe() string { return "canned" }

func (d cannedDialer) Dial(context.Context) (Link, error) {
	l := &cannedLink{}
	l.changed.L = &l.mu
	part := ""
	for line := range strings.Lines(d.text) {
		part += line
		if !strings.HasPrefix(line, "@") && !strings.HasPrefix(line, "ics ") {
			l.parts = append(l.parts, part)
			part = ""
		}
	}
	if part != "" {
		l.parts = append(l.parts, part)
	}
	return l, nil
}

type cannedLink struct {
	mu      sync.Mutex
	changed sync.Cond
	parts   []string
	asked   int
	closed  bool
}

func (l *cannedLink) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.asked += bytes.Count(p, []byte{'\n'})
	l.changed.Signal()
	return len(p), nil
}

func (l *cannedLink) Read(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for l.asked == 0 && len(l.parts) > 0 && !l.closed {
		l.changed.Wait()
	}
	if len(l.parts) == 0 || l.closed {
		return 0, io.EOF
	}
	n := copy(p, l.parts[0])
	if l.parts[0] = l.parts[0][n:]; l.parts[0] == "" {
		l.parts = l.parts[1:]
		l.asked--
	}
	return n, nil
}

func (l *cannedLink) Close() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.closed = true
	l.changed.Signal()
	return nil
}

func (*cannedLink) Ending() Ending { return Ending{} }

// silentLink takes everything that is written to it.
type silentLink struct{ io.Reader }

func (silentLink) Write(p []byte) (int, error) { return len(p), nil }
func (silentLink) Close() error                { return nil }
func (silentLink) Ending() Ending              { return Ending{} }

// FuzzAnswers: whatever comes, every script is reported once and in order, with answers and changes that fit together.
func FuzzAnswers(f *testing.F) {
	f.Add("ok\nok\n@1 hw 1\nok\n")
	f.Add("ok\nrefused no\n@1 hw 1\n@2 ch 1\n@60 alert notice\nok\nok\r\nerror what\n")
	f.Add("ok\nok\nok\nok\nunsupported\nok\n@7 hw 1\nok\nics x\n")
	hello := string(wire.AppendICS(nil, spec.FullICS())) + "ok\n"
	f.Add("ok\nok\n@1 hw 1\n@100 hw 0\nok\nok\nok\nok\n@1 hw 1\nok\n" + hello + "ok\n")
	scripts := []Script{
		{{}, input(spec.Input{Kind: spec.PowerOn}), pass(100)},
		{{}, input(spec.Input{Kind: spec.Fit, FitOption: spec.FitChannels, FitValue: uint8(spec.OnlyHW)}), pass(0), pass(1000000)},
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, ahead := range []int{0, 1} {
			u, err := Open(t.Context(), cannedDialer{hello + text}, Options{Ahead: ahead})
			if err != nil {
				t.Fatal(err)
			}
			next := 0
			err = u.Run(t.Context(), scripts, func(i int, obs *Observation) {
				if i != next {
					t.Errorf("script %d is reported, want %d", i, next)
				}
				next++
				if obs.Trouble == nil && len(obs.Answers) != len(scripts[i]) {
					t.Errorf("script %d has %d answers", i, len(obs.Answers))
				}
				if obs.Trouble != nil && (obs.Trouble.Kind == Hung || obs.Trouble.String() == "") {
					t.Errorf("script %d: %v", i, obs.Trouble)
				}
				changes := 0
				for _, a := range obs.Answers {
					if a.Changes < changes || a.Changes > len(obs.Changes) {
						t.Errorf("script %d: answers %+v for %d changes", i, obs.Answers, len(obs.Changes))
					}
					changes = a.Changes
				}
				if changes != len(obs.Changes) {
					t.Errorf("script %d: %d changes belong to no answer", i, len(obs.Changes)-changes)
				}
			})
			if err != nil || next != len(scripts) {
				t.Errorf("%v after %d scripts", err, next)
			}
			u.Close()
		}
	})
}

// TestBrokenReader: an error of the stream is told.
func TestBrokenReader(t *testing.T) {
	hello := string(wire.AppendICS(nil, spec.FullICS())) + "ok\n"
	s := newSession(silentLink{io.MultiReader(strings.NewReader(hello), iotest.ErrReader(net.ErrClosed))}, Options{Timeout: time.Second, Ahead: 1})
	if _, err := s.hello(t.Context()); err != nil {
		t.Fatal(err)
	}
	l := &line{}
	n, trouble := s.run(t.Context(), []Script{goodScript}, l, nil)
	if n != 0 {
		t.Errorf("%d scripts are done", n)
	}
	checkTrouble(t, trouble, Died, 0, "reading from it failed: "+net.ErrClosed.Error(), "")
}

// BenchmarkEvents measures the bench's side alone where there are many events: ten in the answer to every request but new.
func BenchmarkEvents(b *testing.B) {
	script, text := Script{{}}, wire.AppendICS(nil, spec.FullICS())
	hello := string(text) + "ok\n"
	answers := "ok\n"
	for i := range 100 {
		script = append(script, pass(100))
		for j := range 10 {
			change := spec.Change{At: uint64(100*i + 10*j + 10), Signal: spec.SigCH, Level: spec.Level(1 - j%2)}
			answers += string(wire.AppendChange(nil, change)) + "\n"
		}
		answers += "ok\n"
	}
	scripts := slices.Repeat([]Script{script}, 50)
	all := hello + strings.Repeat(answers, 50) + hello
	b.ReportAllocs()
	for b.Loop() {
		s := newSession(silentLink{strings.NewReader(all)}, Options{Timeout: time.Minute, Ahead: defaultAhead})
		if _, err := s.hello(b.Context()); err != nil {
			b.Fatal(err)
		}
		s.known = 1 << 30 // all answers are there before they are asked for
		l := &line{ics: spec.FullICS()}
		n, trouble := s.run(b.Context(), scripts, l, func(int) {})
		if trouble != nil || n != len(scripts) {
			b.Fatal(n, trouble)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*50*100*10), "ns/event")
}
