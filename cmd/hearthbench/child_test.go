package main

import (
	"fmt"
	"os"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/realtime"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// The test binary is also the units that tests start: with childWord and more it is what that says.
const childWord = "be-the-unit"

func init() {
	if len(os.Args) < 3 || os.Args[1] != childWord {
		return
	}
	status := 0
	switch arg := os.Args[3:]; os.Args[2] {
	case "emulator":
		if err := wire.Serve(os.Stdin, os.Stdout, spec.FullICS(), emulated); err != nil {
			status = 9
		}
	case "real-time": // SPEED
		speed, err := strconv.ParseFloat(arg[0], 64)
		if err != nil {
			panic(err)
		}
		if err := wire.Serve(os.Stdin, os.Stdout, spec.FullICS(), func(ics spec.ICS) wire.Device { return realtime.Device(emulated(ics), speed) }); err != nil {
			status = 9
		}
	case "hostile": // WAY
		status = beHostile(arg[0])
	case "without-the-lock-it-claims":
		ics := spec.FullICS()
		ics.Lock, ics.Credential = false, ""
		if err := wire.Serve(os.Stdin, os.Stdout, spec.FullICS(), func(spec.ICS) wire.Device { return emulated(ics) }); err != nil {
			status = 9
		}
	case "linger":
		time.Sleep(12 * time.Second) // longer than a bench waits for what does not come
	default:
		panic("there is no unit " + os.Args[2])
	}
	os.Exit(status)
}

func emulated(ics spec.ICS) wire.Device { return oracle.Emulator(ics) }

// child is the target for a unit that the test binary is.
func child(tb testing.TB, words ...string) string {
	tb.Helper()
	program, err := os.Executable()
	require.NoError(tb, err)
	return fmt.Sprintf("exec:'%s' %s %s", program, childWord, strings.Join(words, " "))
}

// checkLeaks checks at the end of the test that it has left no goroutine, no descriptor and no child of this binary.
func checkLeaks(tb testing.TB) {
	tb.Helper()
	// A child with the race detector would otherwise take a second to end.
	tb.Setenv("GORACE", "atexit_sleep_ms=0")
	goroutines, files := runtime.NumGoroutine(), len(descriptors())
	tb.Cleanup(func() {
		for end := time.Now().Add(20 * time.Second); ; time.Sleep(10 * time.Millisecond) {
			g, f, c := runtime.NumGoroutine(), descriptors(), children("")
			if g <= goroutines && len(f) <= files && len(c) == 0 {
				return
			}
			if time.Now().After(end) {
				stacks := make([]byte, 1<<16)
				tb.Errorf("left behind: goroutines %d, were %d; descriptors %v, were %d; processes %v\n%s", g, goroutines, f, files, c, stacks[:runtime.Stack(stacks, true)])
				return
			}
		}
	})
}

// descriptors and children look into /proc; where there is none they see nothing. The runtime's own descriptors come and go.
func descriptors() (names []string) {
	entries, err := os.ReadDir("/proc/self/fd")
	if err != nil {
		return nil
	}
	for _, e := range entries {
		target, err := os.Readlink("/proc/self/fd/" + e.Name())
		if err == nil && (strings.HasPrefix(target, "/dev/p") || strings.HasPrefix(target, "socket:") || strings.HasPrefix(target, "pipe:")) {
			names = append(names, target)
		}
	}
	return names
}

// children are the units of this binary that run, of those with a word on their command line. A process that has ended and been waited for by
// nobody has no command line, but a parent.
func children(word string) (found []string) {
	program, err := os.Executable()
	if err != nil {
		panic(err)
	}
	entries, err := os.ReadDir("/proc")
	if err != nil {
		return nil
	}
	for _, e := range entries {
		line, err := os.ReadFile("/proc/" + e.Name() + "/cmdline")
		if err == nil && strings.HasPrefix(string(line), program+"\x00"+childWord+"\x00") && strings.Contains(string(line)+"\x00", word+"\x00") {
			found = append(found, e.Name()+" "+strings.ReplaceAll(string(line), "\x00", " "))
		}
		if stat, err := os.ReadFile("/proc/" + e.Name() + "/stat"); err == nil && word == "" {
			if _, after, ok := strings.Cut(string(stat), ") "); ok && strings.HasPrefix(after, fmt.Sprintf("Z %d ", os.Getpid())) {
				found = append(found, e.Name()+" (a zombie)")
			}
		}
	}
	return found
}

// atOnce calls f for each of n, some at once: most of them wait.
func atOnce(n, some int, f func(i int)) {
	var all sync.WaitGroup
	free := make(chan struct{}, some)
	for i := range n {
		free <- struct{}{}
		all.Go(func() {
			defer func() { <-free }()
			f(i)
		})
	}
	all.Wait()
}
