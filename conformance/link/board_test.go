package link

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// board is a unit on hardware of its own: the emulator behind a line on which things go wrong. It outlives the links to it.
type board struct {
	// spoil is asked about each request, numbered from 1 over the board's life; nil spoils nothing.
	spoil func(n int, request string) mishap

	mu       sync.Mutex
	requests int
	spoilt   bool
}

// mishap is what goes wrong at a request.
type mishap struct {
	unplug bool
	silent bool // it says nothing any more on this line
}

// once makes a spoil that goes wrong the first time a request comes.
func (b *board) once(request string, m mishap) {
	b.spoil = func(_ int, line string) mishap {
		if line != request || b.spoilt {
			return mishap{}
		}
		b.spoilt = true
		return m
	}
}

const bootText = "\x00\xffboot 1.0\r\nok\r\nloading ........................................................................................" +
	"..................................................................................................................\r\nready\r\n"

// run serves a line until it ends or is unplugged.
func (b *board) run(line io.ReadWriter) {
	in := bufio.NewReader(line)
	device := oracle.Emulator(spec.FullICS())
	silent := false
	for {
		request, err := in.ReadString('\n')
		if err != nil {
			return
		}
		if silent {
			continue
		}
		request = strings.TrimSuffix(request, "\n")
		b.mu.Lock()
		b.requests++
		var m mishap
		if b.spoil != nil {
			m = b.spoil(b.requests, request)
		}
		b.mu.Unlock()
		switch {
		case m.unplug:
			return
		case m.silent:
			silent = true
			continue
		}
		if request == wire.New {
			device = oracle.Emulator(spec.FullICS())
		}
		var answer strings.Builder
		if err := wire.Serve(strings.NewReader(request+"\n"), &answer, spec.FullICS(), func(spec.ICS) wire.Device { return device }); err != nil {
			return
		}
		if _, err := io.WriteString(line, answer.String()); err != nil {
			return
		}
	}
}

func do(in spec.Input) iut.Request { return iut.Request{Kind: iut.Do, Input: in} }

// The scripts: in the middle one, the request spoilAt comes, which is in no other.
var (
	scripts = []iut.Script{plainScript, spoiltScript, plainScript, plainScript}

	plainScript = iut.Script{{Kind: iut.New}, do(spec.Input{Kind: spec.PowerOn}), do(spec.Input{Kind: spec.SetMode, Channel: spec.CH, Mode: spec.Always}),
		{Kind: iut.Go, Seconds: 100}, do(spec.Input{Kind: spec.Boost, Channel: spec.HW, Amount: 61})}
	spoiltScript = iut.Script{{Kind: iut.New}, do(spec.Input{Kind: spec.PowerOn}), do(spec.Input{Kind: spec.SetMode, Channel: spec.HW, Mode: spec.Always}),
		do(spec.Input{Kind: spec.Boost, Channel: spec.CH, Amount: 60}), {Kind: iut.Go, Seconds: 7200}, {Kind: iut.Go, Seconds: 5}}
)

const (
	spoilAt      = "go 7200"
	spoilScript  = 1
	settleTime   = 3 * time.Second
	replyTimeout = time.Second
)

// seen is an observation that outlives the call of done.
type seen struct {
	Answers []iut.Answer
	Changes []spec.Change
	Trouble *iut.Trouble
}

func collect(t *testing.T, u iut.IUT, scripts []iut.Script) []seen {
	t.Helper()
	var all []seen
	if err := u.Run(t.Context(), scripts, func(_ int, o *iut.Observation) {
		all = append(all, seen{append([]iut.Answer(nil), o.Answers...), append([]spec.Change(nil), o.Changes...), o.Trouble})
	}); err != nil {
		t.Error(err)
	}
	if len(all) != len(scripts) {
		t.Fatalf("%d of %d scripts are reported", len(all), len(scripts))
	}
	return all
}

// want is what the emulator makes of the scripts in this process, less what a link does not carry.
func want(t *testing.T) []seen {
	t.Helper()
	all := collect(t, iut.InProcess("emulator", spec.FullICS(), func(ics spec.ICS) wire.Device { return oracle.Emulator(ics) }), scripts)
	for _, s := range all {
		for i, c := range s.Changes {
			s.Changes[i] = spec.Change{At: c.At, Signal: c.Signal, Level: c.Level}
		}
	}
	if n := len(all[spoilScript].Changes); n < 3 {
		t.Fatalf("%d changes are too few to tell", n)
	}
	return all
}

// plug is a line that a board can be put at.
type plug struct {
	address string // for Serial or TCP
	dial    func(address string) (iut.Dialer, iut.Options, error)
	// attach lets a board run on the line until the test ends or it is unplugged; boot runs first, whenever the board gets power.
	attach func(b *board, boot func(io.ReadWriter))
}

func (p *plug) open(t *testing.T, ahead int) (iut.IUT, error) {
	t.Helper()
	address := p.address
	if ahead > 0 {
		address += fmt.Sprintf(",ahead=%d", ahead)
	}
	d, options, err := p.dial(address)
	if err != nil {
		t.Fatal(err)
	}
	d.(*dialer).away = 600 * time.Millisecond
	options.Settle, options.Timeout = settleTime, replyTimeout
	return iut.Open(t.Context(), d, options)
}

// Boards that are not ready when the port is opened.
func TestLateBoards(t *testing.T) {
	checkLeaks(t)
	wants := want(t)
	for kind, makePlug := range plugs {
		for name, boot := range map[string]func(io.ReadWriter){
			"ready": nil,
			"boot text": func(line io.ReadWriter) {
				io.WriteString(line, bootText)
			},
			"boot text for a while": func(line io.ReadWriter) {
				for range 5 {
					io.WriteString(line, bootText)
					time.Sleep(200 * time.Millisecond)
				}
			},
			"late": func(io.ReadWriter) { time.Sleep(1300 * time.Millisecond) },
		} {
			t.Run(kind+"/"+name, func(t *testing.T) {
				t.Parallel()
				for _, ahead := range []int{1, 16} {
					p := makePlug(t)
					p.attach(&board{}, boot)
					u, err := p.open(t, ahead)
					if err != nil {
						t.Fatal(err)
					}
					if u.ICS() != spec.FullICS() {
						t.Errorf("%+v", u.ICS())
					}
					if diff := cmp.Diff(wants, collect(t, u, scripts)); diff != "" {
						t.Errorf("ahead=%d: -want +got\n%s", ahead, diff)
					}
					if err := u.Close(); err != nil {
						t.Error(err)
					}
				}
			})
		}
	}
}

func TestSilentBoards(t *testing.T) {
	for kind, makePlug := range plugs {
		t.Run(kind, func(t *testing.T) {
			checkLeaks(t)
			p := makePlug(t)
			p.attach(&board{spoil: func(int, string) mishap { return mishap{silent: true} }}, nil)
			begin := time.Now()
			_, err := p.open(t, 0)
			if err == nil || !strings.Contains(err.Error(), "no answer in time to 'hello 1': no answer within 3s; received nothing") {
				t.Error(err)
			}
			if took := time.Since(begin); took < settleTime || took > settleTime+10*time.Second {
				t.Errorf("took %v", took)
			}
		})
	}
}

// TestSecondRun: a board that goes on after bye is tested again, on a new link, and what waits in the port is not in the way.
func TestSecondRun(t *testing.T) {
	for kind, makePlug := range plugs {
		t.Run(kind, func(t *testing.T) {
			checkLeaks(t)
			p := makePlug(t)
			p.attach(&board{}, nil)
			for range 2 {
				u, err := p.open(t, 0)
				if err != nil {
					t.Fatal(err)
				}
				if diff := cmp.Diff(want(t), collect(t, u, scripts)); diff != "" {
					t.Errorf("-want +got\n%s", diff)
				}
				if err := u.Close(); err != nil {
					t.Error(err)
				}
			}
		})
	}
}

func TestAddresses(t *testing.T) {
	for _, test := range []struct {
		dial    func(string) (iut.Dialer, iut.Options, error)
		address string
		want    string // what Describe says, or part of the error
		ahead   int    // 0 for an error
	}{
		{Serial, "/dev/ttyUSB0", "serial port /dev/ttyUSB0 at 115200 baud", 1},
		{Serial, "/dev/ttyUSB0@9600", "serial port /dev/ttyUSB0 at 9600 baud", 1},
		{Serial, "COM3@4000000,ahead=32", "serial port COM3 at 4000000 baud", 32},
		{Serial, "/dev/by@id@300,ahead=1", "serial port /dev/by@id at 300 baud", 1},
		{Serial, "", "no port is named", 0},
		{Serial, "@9600", "no port is named", 0},
		{Serial, "/dev/ttyUSB0@", "baud rate '' is no whole number from 300 to 4000000; write it like /dev/ttyUSB0@115200", 0},
		{Serial, "/dev/ttyUSB0@299", "baud rate '299'", 0},
		{Serial, "/dev/ttyUSB0@4000001", "baud rate '4000001'", 0},
		{Serial, "/dev/ttyUSB0@1e5", "baud rate '1e5'", 0},
		{Serial, "/dev/ttyUSB0,ahead=33", "ahead=33: how many requests may be sent ahead of their answers is a number from 1, which waits for each answer, to 32", 0},
		{Serial, "/dev/ttyUSB0,ahead=", "ahead=: ", 0},
		{Serial, "/dev/ttyUSB0,parity=even", "'parity=even' is no option", 0},
		{TCP, "localhost:4000", "TCP port localhost:4000", 4096},
		{TCP, "[::1]:4000,ahead=1", "TCP port [::1]:4000", 1},
		{TCP, "localhost", "'localhost' is not HOST:PORT", 0},
		{TCP, ":4000", "':4000' is not HOST:PORT", 0},
		{TCP, "::1:4000", "'::1:4000' is not HOST:PORT", 0},
		{TCP, "localhost:0", "port '0' is no number from 1 to 65535", 0},
		{TCP, "localhost:65536", "port '65536' is no number from 1 to 65535", 0},
		{TCP, "localhost:http", "port 'http' is no number from 1 to 65535", 0},
		{TCP, "localhost:4000,ahead=5000", "ahead=5000: ", 0},
	} {
		d, options, err := test.dial(test.address)
		switch {
		case test.ahead == 0:
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("%s: %v, want %q", test.address, err, test.want)
			}
		case err != nil:
			t.Errorf("%s: %v", test.address, err)
		case d.Describe() != test.want || options.Ahead != test.ahead || options.Settle < settle:
			t.Errorf("%s: %s, %+v", test.address, d.Describe(), options)
		}
	}
}

// checkLeaks checks at the end of the test that it has left no goroutine and no descriptor.
func checkLeaks(t *testing.T) {
	t.Helper()
	goroutines, descriptors := runtime.NumGoroutine(), len(openDescriptors())
	t.Cleanup(func() {
		deadline := time.Now().Add(5 * time.Second)
		for runtime.NumGoroutine() > goroutines || len(openDescriptors()) > descriptors {
			if time.Now().After(deadline) {
				stacks := make([]byte, 1<<16)
				t.Errorf("left behind: goroutines %d, were %d; descriptors %v, were %d\n%s", runtime.NumGoroutine(), goroutines,
					openDescriptors(), descriptors, stacks[:runtime.Stack(stacks, true)])
				return
			}
			time.Sleep(10 * time.Millisecond)
		}
	})
}

// openDescriptors looks into /proc; where there is none it sees nothing.
func openDescriptors() []string {
	entries, err := os.ReadDir("/proc/self/fd")
	if err != nil {
		return nil
	}
	var names []string
	for _, e := range entries {
		target, err := os.Readlink("/proc/self/fd/" + e.Name())
		// The runtime's own come and go.
		if err == nil && (strings.HasPrefix(target, "/dev/p") || strings.HasPrefix(target, "socket:") || strings.HasPrefix(target, "pipe:")) {
			names = append(names, target)
		}
	}
	return names
}
