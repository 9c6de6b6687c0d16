package iut

import (
	"bufio"
	"context"
	"errors"
	"io"
	"net"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// boardDialer opens links at whose other end a board runs, in the time of a synctest bubble.
type boardDialer struct {
	board func(conn net.Conn)
	dials int
}

func (*boardDialer) Describe() string { return "a board" }

func (d *boardDialer) Dial(context.Context) (Link, error) {
	d.dials++
	bench, unit := net.Pipe()
	go func() {
		d.board(unit)
		unit.Close()
	}()
	return netLink{bench}, nil
}

// board answers requests by a function, which gets the line and returns the answer.
func board(answer func(line string) string) func(net.Conn) {
	return func(conn net.Conn) {
		in := bufio.NewScanner(conn)
		// A board goes on to receive while it sends.
		out := make(chan string, 1000)
		defer close(out)
		go func() {
			for text := range out {
				if _, err := io.WriteString(conn, text); err != nil {
					return
				}
			}
		}()
		for in.Scan() {
			out <- answer(in.Text())
		}
	}
}

// speaker answers as a good unit does.
func speaker() func(line string) string {
	device := newFake(spec.FullICS())
	return func(line string) string {
		var out strings.Builder
		if line == wire.New {
			device = newFake(spec.FullICS())
		}
		_ = wire.Serve(strings.NewReader(line+"\n"), &out, spec.FullICS(), func(spec.ICS) wire.Device { return device })
		return out.String()
	}
}

const settleTime = 10 * time.Second

func settleOptions(ahead int) Options {
	return Options{Timeout: 5 * time.Second, Ahead: ahead, Settle: settleTime}
}

func TestSettles(t *testing.T) {
	statement := string(wire.AppendICS(nil, spec.FullICS())) + "ok\n"
	for name, test := range map[string]struct {
		board func(conn net.Conn)
		least time.Duration // until it is open
		most  time.Duration
	}{
		"ready": {board(speaker()), 2 * minPause, 2 * minPause},
		"ignores empty lines": {board(func() func(string) string {
			speak := speaker()
			return func(line string) string {
				if line == "" {
					return ""
				}
				return speak(line)
			}
		}()), 2 * minPause, 2 * minPause},
		"boots": {func(conn net.Conn) {
			conn.SetReadDeadline(time.Now().Add(3 * time.Second))
			go io.Copy(io.Discard, conn) // nothing is received yet
			for range 30 {
				io.WriteString(conn, "\x00loading \xff"+strings.Repeat(".", 300))
				time.Sleep(100 * time.Millisecond)
			}
			io.WriteString(conn, "\nok\nics \nready")
			conn.SetReadDeadline(time.Time{})
			board(speaker())(conn)
		}, 3 * time.Second, 5 * time.Second},
		"speaks late": {func(conn net.Conn) {
			conn.SetReadDeadline(time.Now().Add(4 * time.Second))
			io.Copy(io.Discard, conn)
			conn.SetReadDeadline(time.Time{})
			board(speaker())(conn)
		}, 4 * time.Second, 8 * time.Second},
		// Everything that was said to it meanwhile is answered, but each answer takes its time.
		"wakes late and is slow": {func(conn net.Conn) {
			time.Sleep(time.Second)
			speak := speaker()
			board(func(line string) string {
				time.Sleep(300 * time.Millisecond)
				return speak(line)
			})(conn)
		}, time.Second, 8 * time.Second},
		"is busy with what an earlier run left": {func(conn net.Conn) {
			speak := speaker()
			left := []string{"@7 hw 1\n", "@9 hw 0\nok\n", "ok\nok\n" + statement, "refused no\n" + statement[:40]}
			board(func(line string) string {
				if len(left) > 0 {
					text := left[0]
					left = left[1:]
					return text + speak(line)
				}
				return speak(line)
			})(conn)
		}, 2 * minPause, 5 * time.Second},
		"loses a byte of the first answers": {func(conn net.Conn) {
			speak, n := speaker(), 0
			board(func(line string) string {
				text := speak(line)
				if n++; n < 6 && len(text) > 100 {
					return text[:50] + text[51:]
				}
				return text
			})(conn)
		}, 4 * minPause, 5 * time.Second},
		"has half a line in its receiver": {func(conn net.Conn) {
			speak, first := speaker(), true
			board(func(line string) string {
				if first {
					line, first = "boost h"+line, false
				}
				return speak(line)
			})(conn)
		}, 2 * minPause, 2 * minPause},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				for _, ahead := range []int{1, 8} {
					begin := time.Now()
					dialer := &boardDialer{board: test.board}
					u, err := Open(t.Context(), dialer, settleOptions(ahead))
					if err != nil {
						t.Fatal(err)
					}
					if took := time.Since(begin); took < test.least || took > test.most {
						t.Errorf("open after %v, want %v to %v", took, test.least, test.most)
					}
					got := collect(t, u, []Script{goodScript, hostileScript, goodScript})
					if diff := cmp.Diff([]seen{wantGood, wantHostile, wantGood}, got); diff != "" {
						t.Errorf("ahead=%d: -want +got\n%s", ahead, diff)
					}
					if err := u.Close(); err != nil {
						t.Error(err)
					}
					if dialer.dials != 1 {
						t.Errorf("%d links", dialer.dials)
					}
				}
			})
		})
	}
}

func TestDoesNotSettle(t *testing.T) {
	for name, test := range map[string]struct {
		board func(conn net.Conn)
		kind  TroubleKind
		want  string // part of the message
		most  time.Duration
	}{
		"silent": {func(conn net.Conn) { io.Copy(io.Discard, conn) }, Hung,
			"no answer in time to 'hello 1': no answer within 10s; received nothing", settleTime},
		"does not read": {func(conn net.Conn) { conn.SetDeadline(time.Now().Add(time.Minute)); time.Sleep(time.Minute) }, Hung,
			"hello could not be sent within 5s", 5 * time.Second},
		"chatters for ever": {func(conn net.Conn) {
			go io.Copy(io.Discard, conn)
			for _, err := io.WriteString(conn, "tick\n"); err == nil; _, err = io.WriteString(conn, "tick\n") {
				time.Sleep(time.Second)
			}
		}, Nonsense, `no whole answer within 10s, but other lines; received "tick\n`, settleTime},
		"floods": {func(conn net.Conn) {
			go io.Copy(io.Discard, conn)
			for _, err := io.WriteString(conn, strings.Repeat("x", 1<<16)); err == nil; _, err = io.WriteString(conn, strings.Repeat("x", 1<<16)) {
				time.Sleep(20 * time.Millisecond)
			}
		}, Nonsense, "no whole answer within 10s, but other lines", settleTime},
		"another baud rate": {board(func(string) string { return "\xe0\x80\xf8\x00" }), Nonsense, "is the baud rate the unit's?", settleTime},
		"echoes":            {board(func(line string) string { return line + "\n" }), Nonsense, `received "`, settleTime},
		"other version": {board(func(string) string { return "error version 2 only\n" }), ErrorReply,
			"error reply to 'hello 1': the unit does not speak version 1 of the protocol; received \"error version 2 only\\n\"", 3 * time.Second},
		"goes": {func(conn net.Conn) { io.ReadFull(conn, make([]byte, 9)); io.WriteString(conn, "bye") }, Died,
			"its output ended in the middle of a line; received \"bye\"", time.Second},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				begin := time.Now()
				_, err := Open(t.Context(), &boardDialer{board: test.board}, settleOptions(1))
				var failure *OpenError
				if !errors.As(err, &failure) || failure.Trouble == nil || failure.Trouble.Kind != test.kind || !strings.Contains(err.Error(), test.want) {
					t.Errorf("%v\nwant %v, %q", err, test.kind, test.want)
				}
				if took := time.Since(begin); took > test.most {
					t.Errorf("took %v", took)
				}
				time.Sleep(2 * time.Minute) // for boards that sleep
			})
		})
	}
	t.Run("bad statement", func(t *testing.T) {
		synctest.Test(t, func(t *testing.T) {
			begin := time.Now()
			_, err := Open(t.Context(), &boardDialer{board: board(func(string) string { return "ics colour red\nok\n" })}, settleOptions(1))
			if err == nil || !strings.Contains(err.Error(), "cannot test a board: its conformance statement: line 'ics colour red'") {
				t.Errorf("%v", err)
			}
			if took := time.Since(begin); took > settleTime {
				t.Errorf("took %v", took)
			}
		})
	})
	t.Run("cancelled", func(t *testing.T) {
		synctest.Test(t, func(t *testing.T) {
			stop := errors.New("enough")
			ctx, cancel := context.WithCancelCause(t.Context())
			time.AfterFunc(700*time.Millisecond, func() { cancel(stop) })
			begin := time.Now()
			_, err := Open(ctx, &boardDialer{board: func(conn net.Conn) { io.Copy(io.Discard, conn) }}, settleOptions(1))
			if err != stop || time.Since(begin) != 700*time.Millisecond {
				t.Errorf("%v after %v", err, time.Since(begin))
			}
		})
	})
	t.Run("no deadlines", func(t *testing.T) {
		_, err := Open(t.Context(), cannedDialer{"ok\n"}, settleOptions(1))
		if err == nil || !strings.Contains(err.Error(), "cannot tell silence") {
			t.Errorf("%v", err)
		}
	})
}

// TestSettlesAgain: after trouble the same board goes on, on a fresh link and in step.
func TestSettlesAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		// The board is one, whatever links come and go: what it was asked on one link it may answer on the next.
		speak := speaker()
		requests := make(chan string, 100)
		answers := make(chan string, 100)
		go func() {
			for line := range requests {
				if line == atGo {
					time.Sleep(6 * time.Second) // longer than the time-out
				}
				answers <- speak(line)
			}
			close(answers)
		}()
		dialer := &boardDialer{board: func(conn net.Conn) {
			gone := make(chan struct{})
			go func() {
				for {
					select {
					case text := <-answers:
						if _, err := io.WriteString(conn, text); err != nil {
							return
						}
					case <-gone:
						return
					}
				}
			}()
			in := bufio.NewScanner(conn)
			for in.Scan() {
				requests <- in.Text()
			}
			close(gone)
		}}
		u, err := Open(t.Context(), dialer, settleOptions(1))
		if err != nil {
			t.Fatal(err)
		}
		got := collect(t, u, []Script{goodScript, hostileScript, goodScript})
		for _, i := range []int{0, 2} {
			if diff := cmp.Diff(wantGood, got[i]); diff != "" {
				t.Errorf("script %d: -want +got\n%s", i, diff)
			}
		}
		checkTrouble(t, got[1].Trouble, Hung, 3, "no closing line within 5s", "")
		if dialer.dials != 2 {
			t.Errorf("%d links", dialer.dials)
		}
		if err := u.Close(); err != nil {
			t.Error(err)
		}
		close(requests)
	})
}

// FuzzHearing: whatever lines come, only a statement that is whole, with its "ok" and alone, counts as one.
func FuzzHearing(f *testing.F) {
	statement := string(wire.AppendICS(nil, spec.FullICS()))
	f.Add(statement + "ok\n")
	f.Add("ok\n" + statement + "ok\n")
	f.Add("error what\n" + statement + "ok\nok\n")
	f.Add("ics a b\nrefused\nok\n")
	f.Fuzz(func(t *testing.T, text string) {
		var h hearing
		for line := range strings.Lines(text) {
			h.line([]byte(strings.TrimSuffix(line, "\n")))
		}
		h.silent = true
		h.other = h.other || h.underWay != nil
		if h.whole() {
			if want := strings.TrimSuffix(string(h.statement)+"ok", "\n"); strings.TrimSuffix(text, "\n") != want {
				t.Errorf("%q counts as %q", text, h.statement)
			}
		}
		if h.refused() && !strings.HasPrefix(text, "error") {
			t.Errorf("%q counts as an error", text)
		}
	})
}
