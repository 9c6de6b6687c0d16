package iut

import (
	"bytes"
	"fmt"
	"os"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// fake is a device with just enough behaviour: hot water changes every ten seconds, heating with each override, and a boost
// of more than an hour is refused.
type fake struct {
	elapsed uint64
	ch      spec.Level
}

func newFake(spec.ICS) wire.Device { return &fake{} }

func (d *fake) Do(in spec.Input, buf []spec.Change) (spec.Reply, []spec.Change) {
	switch {
	case in.Kind == spec.Override:
		d.ch = 1 - d.ch
		buf = append(buf, spec.Change{At: d.elapsed, Signal: spec.SigCH, Level: d.ch})
	case in.Kind == spec.Boost && in.Amount > 60:
		return spec.Reply{Outcome: spec.Refused, Refusal: spec.BadBoost}, buf
	case in.Kind == spec.LockRemove:
		return spec.Reply{Outcome: spec.Unsupported, Refusal: spec.UnsupportedInput}, buf
	}
	return spec.Reply{}, buf
}

func (d *fake) Advance(seconds uint64, buf []spec.Change) []spec.Change {
	end := d.elapsed + seconds
	for next := d.elapsed/10*10 + 10; next <= end; next += 10 {
		buf = append(buf, spec.Change{At: next, Signal: spec.SigHW, Level: spec.Level(next / 10 % 2)})
	}
	d.elapsed = end
	return buf
}

// The test binary is also the hostile child: started with childWord and a name it does what the name says.
const childWord = "be-the-child"

func TestMain(m *testing.M) {
	if len(os.Args) == 3 && os.Args[1] == childWord {
		beChild(os.Args[2])
		return
	}
	// A child with the race detector would otherwise take a second to end.
	if err := os.Setenv("GORACE", "atexit_sleep_ms=0"); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

// childCommand is the command for a child of the given name.
func childCommand(t testing.TB, name string) string {
	t.Helper()
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("'%s' %s %s", program, childWord, name)
}

// serve answers as a good child does, but hands each line to special first, which may answer it instead, or never return.
func serve(special func(line string) bool) {
	statement := wire.AppendICS(nil, spec.FullICS())
	device := newFake(spec.FullICS())
	for {
		line, ok := readRequest()
		if !ok {
			return
		}
		if special(line) {
			continue
		}
		var in bytes.Buffer
		in.WriteString(line + "\n")
		switch {
		case line == wire.Hello:
			say(string(statement) + "ok\n")
		case line == wire.New:
			device = newFake(spec.FullICS())
			say("ok\n")
		default:
			if err := wire.Serve(&in, os.Stdout, spec.FullICS(), func(spec.ICS) wire.Device { return device }); err != nil {
				os.Exit(9)
			}
		}
		if line == wire.Bye {
			return
		}
	}
}

// readRequest reads byte by byte, so that nothing is read ahead.
func readRequest() (string, bool) {
	var line []byte
	b := make([]byte, 1)
	for {
		if n, err := os.Stdin.Read(b); n == 0 || err != nil {
			return "", false
		}
		if b[0] == '\n' {
			return string(line), true
		}
		line = append(line, b[0])
	}
}

func say(text string) {
	if _, err := os.Stdout.WriteString(text); err != nil {
		os.Exit(8)
	}
}

// hang is for ever as far as the tests are concerned, but outlives no bench that has been killed for long.
func hang() {
	time.Sleep(time.Minute)
	os.Exit(97)
}

// on makes a special of serve: at the given line it says text and then does the rest.
func on(at, text string, then func()) func(string) bool {
	return func(line string) bool {
		if line != at {
			return false
		}
		say(text)
		if then != nil {
			then()
		}
		return true
	}
}

// The requests at which the hostile children turn hostile: see hostileScript.
const (
	atInput = "boost hw 60"
	atGo    = "go 100"
)

func beChild(name string) {
	exit := func(status int) func() { return func() { os.Exit(status) } }
	switch name {
	case "good":
		if err := wire.Serve(os.Stdin, os.Stdout, spec.FullICS(), newFake); err != nil {
			os.Exit(9)
		}
	case "good-with-cr":
		serve(func(line string) bool {
			if line == wire.Hello {
				say(strings.ReplaceAll(string(wire.AppendICS(nil, spec.FullICS()))+"ok\n", "\n", "\r\n"))
				return true
			}
			return false
		})
	case "slow":
		serve(func(line string) bool {
			if line == "go 0" {
				time.Sleep(testTimeout / 3)
			}
			return false
		})
	case "hang-at-hello":
		hang()
	case "hang-at-input":
		serve(on(atInput, "", hang))
	case "nonsense":
		serve(on(atInput, "Segmentation fault\n", nil))
	case "error-reply":
		serve(on(atInput, "error what is a boost\n", nil))
	case "no-options":
		serve(on(wire.Hello, "ok\n", nil))
	case "other-statement", "other-statement-later", "shuffled-statement-later":
		n := 0
		serve(func(line string) bool {
			if line != wire.Hello {
				return false
			}
			n++
			if n == 1 && name != "other-statement" {
				return false
			}
			ics := spec.FullICS()
			if name != "shuffled-statement-later" {
				ics.Reserve = 1
			}
			lines := slices.Collect(strings.Lines(string(wire.AppendICS(nil, ics))))
			slices.Sort(lines)
			say(strings.Join(lines, "") + "ok\n")
			return true
		})
	case "noisy":
		noise := strings.Repeat(strings.Repeat("n", 99)+"\n", 1000)
		n := 0
		serve(func(string) bool {
			if n < 40 {
				fmt.Fprint(os.Stderr, noise) // 100 kB each time
			}
			n++
			return false
		})
	case "bad-at-bye":
		serve(on(wire.Bye, "refused\n", nil))
	case "fail-after-bye":
		serve(on(wire.Bye, "ok\n", exit(23)))
	default:
		fmt.Fprintf(os.Stderr, "there is no child %q\n", name)
		os.Exit(99)
	}
}

// checkLeaks checks at the end of the test that it has left no goroutine, child process or descriptor.
func checkLeaks(t *testing.T) {
	t.Helper()
	goroutines, descriptors := runtime.NumGoroutine(), len(openDescriptors())
	t.Cleanup(func() {
		deadline := time.Now().Add(5 * time.Second)
		for {
			g, d, p := runtime.NumGoroutine(), len(openDescriptors()), childProcesses(t)
			if g <= goroutines && d <= descriptors && len(p) == 0 {
				return
			}
			if time.Now().After(deadline) {
				stacks := make([]byte, 1<<16)
				t.Errorf("left behind: goroutines %d, were %d; descriptors %v, were %d; processes %v\n%s", g, goroutines,
					openDescriptors(), descriptors, p, stacks[:runtime.Stack(stacks, true)])
				return
			}
			time.Sleep(10 * time.Millisecond)
		}
	})
}

// openDescriptors and childProcesses look into /proc; where there is none they see nothing.
func openDescriptors() []string {
	entries, err := os.ReadDir("/proc/self/fd")
	if err != nil {
		return nil
	}
	var names []string
	for _, e := range entries {
		target, err := os.Readlink("/proc/self/fd/" + e.Name())
		if err == nil && strings.HasPrefix(target, "pipe:") {
			names = append(names, target)
		}
	}
	return names
}

func childProcesses(t *testing.T) []string {
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir("/proc")
	if err != nil {
		return nil
	}
	var found []string
	for _, e := range entries {
		line, err := os.ReadFile("/proc/" + e.Name() + "/cmdline")
		if err == nil && bytes.HasPrefix(line, []byte(program+"\x00"+childWord+"\x00")) {
			found = append(found, e.Name()+" "+strings.ReplaceAll(string(line), "\x00", " "))
		}
	}
	return found
}
