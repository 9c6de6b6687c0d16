package link

import (
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/testtool"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

// serveEmulator serves the emulator on a line to its end, or to bye.
func serveEmulator(line io.ReadWriter) error {
	return wire.Serve(line, line, spec.FullICS(), func(ics spec.ICS) wire.Device { return oracle.Emulator(ics) })
}

// checkSet puts one in so many of the published vectors to a unit, which should pass them and end well.
func checkSet(t *testing.T, u iut.IUT, stride int) {
	t.Helper()
	set, err := suite.Load(vectors.Files)
	if err != nil {
		t.Fatal(err)
	}
	var some []*suite.Vector
	for i := 0; i < len(set.Vectors); i += stride {
		some = append(some, set.Vectors[i])
	}
	passed := 0
	err = runner.Run(t.Context(), u, some, func(r *runner.Result) {
		switch r.Verdict {
		case runner.Pass:
			passed++
		case runner.NotApplicable:
		default:
			t.Errorf("%s: %v: %s %v", r.Vector.ID, r.Verdict, r.Why, r.Departure)
		}
	})
	if err != nil || passed < len(some)/2 {
		t.Errorf("%v, %d of %d passed", err, passed, len(some))
	}
	if err := u.Close(); err != nil {
		t.Error(err)
	}
}

func openAddress(t *testing.T, dial func(string) (iut.Dialer, iut.Options, error), address string) iut.IUT {
	t.Helper()
	d, options, err := dial(address)
	if err != nil {
		t.Fatal(err)
	}
	options.Timeout = 30 * time.Second
	u, err := iut.Open(t.Context(), d, options)
	if err != nil {
		t.Fatal(err)
	}
	return u
}

func TestEmulatorOnASerialPort(t *testing.T) {
	checkLeaks(t)
	for _, option := range []string{"", ",ahead=32"} {
		master, path := newTerminal(t)
		holdOpen(t, path)
		served := make(chan error, 1)
		go func() { served <- serveEmulator(master) }()
		checkSet(t, openAddress(t, Serial, path+option), 16)
		if err := <-served; err != nil {
			t.Error(err)
		}
	}
}

func TestEmulatorOnASocket(t *testing.T) {
	checkLeaks(t)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer listener.Close()
	for option, stride := range map[string]int{"": 1, ",ahead=1": 16} {
		served := make(chan error, 1)
		go func() {
			conn, err := listener.Accept()
			if err == nil {
				err = serveEmulator(conn)
				conn.Close()
			}
			served <- err
		}()
		checkSet(t, openAddress(t, TCP, listener.Addr().String()+option), stride)
		if err := <-served; err != nil {
			t.Error(err)
		}
	}
}

// TestSampleOnASerialPort: the sample firmware, which knows of no terminal, at the other end of one.
func TestSampleOnASerialPort(t *testing.T) {
	checkLeaks(t)
	cc := testtool.Need(t, "gcc", "gcc")
	program := filepath.Join(t.TempDir(), "unit")
	build := exec.Command("sh", "../../testdata/firmware/build.sh", program)
	build.Env = append(os.Environ(), "CC="+cc)
	if text, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	for _, option := range []string{"", ",ahead=32"} {
		master, path := newTerminal(t)
		holdOpen(t, path)
		raw, err := master.SyscallConn()
		if err != nil {
			t.Fatal(err)
		}
		// The child expects to wait in a read, as on a pipe.
		if err := raw.Control(func(fd uintptr) { err = unix.SetNonblock(int(fd), false) }); err != nil {
			t.Fatal(err)
		}
		if err != nil {
			t.Fatal(err)
		}
		var complaints strings.Builder
		unit := exec.Command(program)
		unit.Stdin, unit.Stdout, unit.Stderr = master, master, &complaints
		if err := unit.Start(); err != nil {
			t.Fatal(err)
		}
		checkSet(t, openAddress(t, Serial, path+option), 16)
		if err := unit.Wait(); err != nil || complaints.Len() > 0 {
			t.Errorf("%v\n%s", err, &complaints)
		}
	}
}
