package iut

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.org/hearthbench/emulator/spec"
)

func input(in spec.Input) Request { return Request{Kind: Do, Input: in} }
func pass(seconds uint64) Request { return Request{Kind: Go, Seconds: seconds} }

// hostileScript brings a hostile child to its point; goodScript passes every point but "new".
var (
	hostileScript = Script{{}, input(spec.Input{Kind: spec.PowerOn}), input(spec.Input{Kind: spec.Boost, Amount: 60}), pass(100),
		input(spec.Input{Kind: spec.Override, Channel: spec.CH}), pass(100), pass(7)}
	goodScript = Script{{}, pass(15), input(spec.Input{Kind: spec.Boost, Amount: 120}), input(spec.Input{Kind: spec.LockRemove, Credential: "1"})}
)

// seen is an observation that outlives the call of done.
type seen struct {
	Answers []Answer
	Changes []spec.Change
	Trouble *Trouble
}

func collect(t *testing.T, u IUT, scripts []Script) []seen {
	t.Helper()
	var all []seen
	err := u.Run(t.Context(), scripts, func(i int, obs *Observation) {
		if i != len(all) {
			t.Errorf("done is called with %d, want %d", i, len(all))
		}
		all = append(all, seen{append([]Answer(nil), obs.Answers...), append([]spec.Change(nil), obs.Changes...), obs.Trouble})
	})
	if err != nil {
		t.Errorf("Run: %v", err)
	}
	if len(all) != len(scripts) {
		t.Errorf("done is called %d times for %d scripts", len(all), len(scripts))
	}
	return all
}

func open(t *testing.T, name string, options Options) (IUT, *lockedBuffer) {
	t.Helper()
	stderr := &lockedBuffer{}
	return openDialer(t, dialerFor(t, childCommand(t, name), stderr), options), stderr
}

func openDialer(t *testing.T, dialer Dialer, options Options) IUT {
	t.Helper()
	if options.Timeout == 0 {
		options.Timeout = longTimeout
	}
	u, err := Open(t.Context(), dialer, options)
	if err != nil {
		t.Fatal(err)
	}
	return u
}

const (
	longTimeout = 30 * time.Second // for what comes in time even if the machine is busy
	testTimeout = time.Second      // for what does not come
	testGrace   = 150 * time.Millisecond
)

// hurry shortens the time-out of a link that is open, when the child has been able to start.
func hurry(u IUT) { u.(*line).session.timeout = testTimeout }

func dialerFor(t *testing.T, command string, stderr io.Writer) *execDialer {
	t.Helper()
	dialer, err := Exec(command, stderr)
	if err != nil {
		t.Fatal(err)
	}
	return dialer.(*execDialer)
}

type lockedBuffer struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (b *lockedBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.buf.Write(p)
}

func (b *lockedBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.buf.String()
}

// wantGood is what the fake device makes of goodScript, and of hostileScript, by hand.
var (
	wantGood = seen{
		Answers: []Answer{{}, {Changes: 1}, {Outcome: spec.Refused, Words: "not a whole number of steps up to the longest boost", Changes: 1},
			{Outcome: spec.Unsupported, Changes: 1}},
		Changes: []spec.Change{{At: 10, Signal: spec.SigHW, Level: 1}},
	}
	wantHostile = seen{
		Answers: []Answer{{}, {}, {}, {Changes: 10}, {Changes: 11}, {Changes: 21}, {Changes: 21}},
		Changes: []spec.Change{
			{At: 10, Level: 1}, {At: 20}, {At: 30, Level: 1}, {At: 40}, {At: 50, Level: 1},
			{At: 60}, {At: 70, Level: 1}, {At: 80}, {At: 90, Level: 1}, {At: 100},
			{At: 100, Signal: spec.SigCH, Level: 1},
			{At: 110, Level: 1}, {At: 120}, {At: 130, Level: 1}, {At: 140}, {At: 150, Level: 1},
			{At: 160}, {At: 170, Level: 1}, {At: 180}, {At: 190, Level: 1}, {At: 200},
		},
	}
)

func TestGoodChild(t *testing.T) {
	checkLeaks(t)
	for _, name := range []string{"good", "good-with-cr", "noisy"} {
		for _, ahead := range []int{0, 1, 2, 3} {
			t.Run(fmt.Sprintf("%s/ahead=%d", name, ahead), func(t *testing.T) {
				u, _ := open(t, name, Options{Ahead: ahead})
				if diff := cmp.Diff(spec.FullICS(), u.ICS()); diff != "" {
					t.Errorf("ICS: -want +got\n%s", diff)
				}
				for range 2 {
					got := collect(t, u, []Script{goodScript, hostileScript, {{}}, goodScript})
					want := []seen{wantGood, wantHostile, {Answers: []Answer{{}}}, wantGood}
					if diff := cmp.Diff(want, got); diff != "" {
						t.Errorf("-want +got\n%s", diff)
					}
				}
				if err := u.Close(); err != nil {
					t.Errorf("Close: %v", err)
				}
				if err := u.Close(); err != nil {
					t.Errorf("Close again: %v", err)
				}
			})
		}
	}
}

func TestInProcess(t *testing.T) {
	u := InProcess("fake", spec.FullICS(), newFake)
	got := collect(t, u, []Script{goodScript, hostileScript, {{}}, goodScript})
	want := []seen{wantGood, wantHostile, {Answers: []Answer{{}}}, wantGood}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
	if u.Describe() != "fake" || u.ICS() != spec.FullICS() || u.Close() != nil {
		t.Errorf("%q %v", u.Describe(), u.ICS())
	}
}

// TestManyScripts holds the answers of a child against those in this process, with far more requests than any buffer takes.
func TestManyScripts(t *testing.T) {
	checkLeaks(t)
	var scripts []Script
	for i := range 3000 {
		script := Script{{}}
		for j := range i % 17 {
			script = append(script, pass(uint64(j*i%50)), input(spec.Input{Kind: spec.Override}),
				input(spec.Input{Kind: spec.Boost, Amount: uint32(j * 20)}))
		}
		scripts = append(scripts, script)
	}
	u, _ := open(t, "good", Options{})
	want := collect(t, InProcess("fake", spec.FullICS(), newFake), scripts)
	if diff := cmp.Diff(want, collect(t, u, scripts)); diff != "" {
		t.Errorf("-in process +over the link\n%s", diff)
	}
	if err := u.Close(); err != nil {
		t.Errorf("Close: %v", err)
	}
}

func checkTrouble(t *testing.T, got *Trouble, kind TroubleKind, index int, detail, status string) {
	t.Helper()
	if got == nil {
		t.Fatalf("no trouble, want %v", kind)
	}
	if got.Kind != kind || got.Index != index || !strings.Contains(got.Detail, detail) || !strings.Contains(got.Ending.Status, status) || got.Untried {
		t.Errorf("trouble: %v\nwant: %v to request %d, %q, ending with %q", got, kind, index, detail, status)
	}
}

func TestNoSuchProgram(t *testing.T) {
	dialer := dialerFor(t, "no/such/program -x", nil)
	_, err := Open(t.Context(), dialer, Options{})
	var failure *OpenError
	if !errors.Is(err, fs.ErrNotExist) || !errors.As(err, &failure) || failure.Trouble != nil || !strings.HasPrefix(err.Error(), "cannot test no/such/program -x: starting it failed: ") {
		t.Errorf("%v", err)
	}
}

func TestGivingUp(t *testing.T) {
	checkLeaks(t)
	u, _ := open(t, "nonsense", Options{})
	got := collect(t, u, []Script{hostileScript, hostileScript, goodScript, hostileScript, hostileScript, hostileScript, goodScript, hostileScript})
	for i, want := range []string{"trouble", "trouble", "good", "trouble", "trouble", "trouble", "untried", "untried"} {
		var is string
		switch tr := got[i].Trouble; {
		case tr == nil:
			is = "good"
		case tr.Untried:
			is = "untried"
			if tr.Kind != Nonsense || len(got[i].Answers) != 0 || !strings.HasPrefix(tr.Error(), "not run, because of trouble before: the protocol was broken") {
				t.Errorf("script %d: %v", i, tr)
			}
		default:
			is = "trouble"
		}
		if is != want {
			t.Errorf("script %d: %s, want %s", i, is, want)
		}
	}
	// A later run tries again.
	if got := collect(t, u, []Script{goodScript}); got[0].Trouble != nil {
		t.Errorf("after giving up: %v", got[0].Trouble)
	}
	if err := u.Close(); err != nil {
		t.Error(err)
	}
}

func TestGivingUpDoesNotRestartErrorReplies(t *testing.T) {
	checkLeaks(t)
	u, _ := open(t, "error-reply", Options{})
	first := u.(*line).session
	for _, got := range collect(t, u, slices.Repeat([]Script{hostileScript}, 5)) {
		if got.Trouble == nil || got.Trouble.Untried {
			t.Errorf("%v", got.Trouble)
		}
	}
	if u.(*line).session != first {
		t.Error("the link is not the first one")
	}
	if err := u.Close(); err != nil {
		t.Error(err)
	}
}

func TestReopenFails(t *testing.T) {
	checkLeaks(t)
	dialer := &failingDialer{t: t, command: []string{childCommand(t, "nonsense"), "no/such/program"}}
	u := openDialer(t, dialer, Options{})
	got := collect(t, u, []Script{goodScript, hostileScript, goodScript, goodScript})
	if got[0].Trouble != nil || got[1].Trouble == nil || got[1].Trouble.Untried {
		t.Errorf("first scripts: %v, %v", got[0].Trouble, got[1].Trouble)
	}
	for _, g := range got[2:] {
		if g.Trouble == nil || !g.Trouble.Untried || g.Trouble.Kind != NoLink {
			t.Errorf("%v", g.Trouble)
		}
	}
	if err := u.Close(); err != nil {
		t.Error(err)
	}
	for name, want := range map[string]TroubleKind{"hang-at-hello": Hung, "no-options": NoLink, "other-statement": Nonsense} {
		u := openDialer(t, &failingDialer{t: t, command: []string{childCommand(t, "nonsense"), childCommand(t, name)}}, Options{})
		if want == Hung {
			u.(*line).options.Timeout = testTimeout
		}
		got := collect(t, u, []Script{hostileScript, goodScript})
		if tr := got[1].Trouble; tr == nil || !tr.Untried || tr.Kind != want {
			t.Errorf("%s: %v", name, tr)
		}
		if err := u.Close(); err != nil {
			t.Error(err)
		}
	}
}

// TestStatementAgain: at the end of a run the statement must be the same, but may be worded in another order.
func TestStatementAgain(t *testing.T) {
	checkLeaks(t)
	u, _ := open(t, "shuffled-statement-later", Options{})
	if got := collect(t, u, []Script{goodScript}); got[0].Trouble != nil {
		t.Error(got[0].Trouble)
	}
	if err := u.Close(); err != nil {
		t.Error(err)
	}
	u, _ = open(t, "other-statement-later", Options{})
	got := collect(t, u, []Script{goodScript, hostileScript})
	if got[0].Trouble != nil {
		t.Error(got[0].Trouble)
	}
	checkTrouble(t, got[1].Trouble, Nonsense, -1, "the conformance statement is not the one of the start", "")
	if err := u.Close(); err != nil {
		t.Error(err)
	}
}

// failingDialer runs one command after the other.
type failingDialer struct {
	t       *testing.T
	command []string
}

func (d *failingDialer) Describe() string { return "the failing dialer" }

func (d *failingDialer) Dial(ctx context.Context) (Link, error) {
	dialer := dialerFor(d.t, d.command[0], nil)
	d.command = d.command[1:]
	return dialer.Dial(ctx)
}

func TestCancel(t *testing.T) {
	checkLeaks(t)
	stop := errors.New("enough")
	t.Run("in a script", func(t *testing.T) {
		u, _ := open(t, "hang-at-input", Options{Timeout: time.Hour})
		ctx, cancel := context.WithCancelCause(t.Context())
		n := 0
		err := u.Run(ctx, []Script{goodScript, hostileScript, goodScript}, func(int, *Observation) {
			n++
			time.AfterFunc(50*time.Millisecond, func() { cancel(stop) })
		})
		if err != stop || n != 1 {
			t.Errorf("%v after %d scripts, want %v after 1", err, n, stop)
		}
		if err := u.Run(ctx, []Script{goodScript}, nil); err != stop {
			t.Errorf("a run with a context that has ended: %v", err)
		}
		if got := collect(t, u, []Script{goodScript}); got[0].Trouble != nil {
			t.Errorf("a later run: %v", got[0].Trouble)
		}
		if err := u.Close(); err != nil {
			t.Error(err)
		}
	})
	t.Run("in done", func(t *testing.T) {
		for _, last := range []int{1, 2} {
			u, _ := open(t, "good", Options{})
			ctx, cancel := context.WithCancelCause(t.Context())
			n := 0
			err := u.Run(ctx, []Script{goodScript, goodScript}, func(int, *Observation) {
				if n++; n == last {
					cancel(stop)
					time.Sleep(50 * time.Millisecond)
				}
			})
			if last == 2 && (err != nil || n != 2) {
				t.Errorf("at the end: %v after %d scripts", err, n)
			}
			if last == 1 && err != stop && n != 2 {
				t.Errorf("in between: %v after %d scripts", err, n)
			}
			if got := collect(t, u, []Script{goodScript}); got[0].Trouble != nil {
				t.Errorf("a later run: %v", got[0].Trouble)
			}
			u.Close()
		}
	})
	t.Run("at hello", func(t *testing.T) {
		dialer := dialerFor(t, childCommand(t, "hang-at-hello"), nil)
		dialer.grace = testGrace
		ctx, cancel := context.WithCancelCause(t.Context())
		time.AfterFunc(50*time.Millisecond, func() { cancel(stop) })
		if _, err := Open(ctx, dialer, Options{Timeout: time.Hour}); err != stop {
			t.Errorf("%v", err)
		}
		if _, err := Open(ctx, dialer, Options{Timeout: time.Hour}); err != stop {
			t.Errorf("with a context that has ended: %v", err)
		}
	})
}

func TestClose(t *testing.T) {
	for name, want := range map[string]string{
		"bad-at-bye":     "bye is answered with ok",
		"fail-after-bye": "answered bye with ok, but then ended with exit status 23",
	} {
		t.Run(name, func(t *testing.T) {
			checkLeaks(t)
			u, _ := open(t, name, Options{})
			if err := u.Close(); err == nil || !strings.Contains(err.Error(), want) {
				t.Errorf("%v, want %q", err, want)
			}
		})
	}
}

// TestSlowBench checks that time in which the bench is busy is not held against the unit.
func TestSlowBench(t *testing.T) {
	checkLeaks(t)
	u, _ := open(t, "good", Options{})
	hurry(u)
	err := u.Run(t.Context(), []Script{goodScript, goodScript}, func(_ int, obs *Observation) {
		if obs.Trouble != nil {
			t.Error(obs.Trouble)
		}
		time.Sleep(testTimeout + 200*time.Millisecond)
	})
	if err != nil {
		t.Error(err)
	}
	if err := u.Close(); err != nil {
		t.Error(err)
	}
}

// TestSlowUnit checks that the time-out is for each answer, not for all of them, whether they are asked for ahead or not.
func TestSlowUnit(t *testing.T) {
	checkLeaks(t)
	for _, ahead := range []int{0, 1} {
		u, _ := open(t, "slow", Options{Ahead: ahead})
		hurry(u)
		if got := collect(t, u, []Script{{{}, pass(0), pass(0)}, {{}, pass(0), pass(0)}}); got[0].Trouble != nil || got[1].Trouble != nil {
			t.Errorf("%v, %v", got[0].Trouble, got[1].Trouble)
		}
		if err := u.Close(); err != nil {
			t.Error(err)
		}
	}
}

func TestNoise(t *testing.T) {
	checkLeaks(t)
	u, stderr := open(t, "noisy", Options{})
	for range 10 {
		if got := collect(t, u, []Script{goodScript}); got[0].Trouble != nil {
			t.Fatal(got[0].Trouble)
		}
	}
	if err := u.Close(); err != nil {
		t.Error(err)
	}
	if got, want := len(stderr.String()), 40*1000*(100+len(errPrefix)); got != want {
		t.Errorf("%d bytes of stderr, want %d", got, want)
	}
}

func TestBadScripts(t *testing.T) {
	checkLeaks(t)
	child, _ := open(t, "good", Options{})
	defer child.Close()
	for _, u := range []IUT{child, InProcess("fake", spec.FullICS(), newFake)} {
		for _, test := range []struct {
			script Script
			want   string
		}{
			{nil, "script 1 does not begin with new"},
			{Script{pass(1)}, "script 1 does not begin with new"},
			{Script{{}, {}}, "script 1: request 1 is new, which only the first can be"},
			{Script{{}, pass(1000000001)}, "script 1: request 1: go has at most 1000000000 seconds, not 1000000001"},
			{Script{{}, {Kind: 3}}, "script 1: request 1 has no kind"},
		} {
			err := u.Run(t.Context(), []Script{goodScript, test.script}, func(int, *Observation) { t.Error("something has run") })
			if err == nil || err.Error() != test.want {
				t.Errorf("%s: %v, want %q", u.Describe(), err, test.want)
			}
		}
	}
}
