package link

import (
	"context"
	"errors"
	"io"
	"os"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/link/terminal"
)

func init() { plugs["serial"] = serialPlug }

// serialPlug is a pseudo-terminal. The board has power from the beginning, and the same one runs whatever links come and go.
func serialPlug(t *testing.T) *plug {
	t.Helper()
	master, path := terminal.New(t)
	terminal.HoldOpen(t, path)
	var running sync.WaitGroup
	t.Cleanup(func() {
		master.Close()
		running.Wait()
	})
	return &plug{
		address: path,
		dial:    Serial,
		attach: func(b *board, boot func(io.ReadWriter)) {
			running.Go(func() {
				defer master.Close()
				if boot != nil {
					boot(master)
				}
				b.run(master)
			})
		},
	}
}

// TestStaleInput: what a port has received before it is opened is dropped, however much like an answer it looks.
func TestStaleInput(t *testing.T) {
	checkLeaks(t)
	master, path := terminal.New(t)
	terminal.HoldOpen(t, path)
	if _, err := master.WriteString("@1 hw 1\nok\nok\n"); err != nil {
		t.Fatal(err)
	}
	d, _, err := Serial(path)
	if err != nil {
		t.Fatal(err)
	}
	link, err := d.Dial(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer link.Close()
	if err := link.(iut.DeadlineLink).SetReadDeadline(time.Now().Add(100 * time.Millisecond)); err != nil {
		t.Fatal(err)
	}
	if n, err := link.Read(make([]byte, 10)); n != 0 || !errors.Is(err, os.ErrDeadlineExceeded) {
		t.Errorf("%d bytes, %v", n, err)
	}
}

// TestRaw: every byte goes through as it is, both ways.
func TestRaw(t *testing.T) {
	checkLeaks(t)
	master, path := terminal.New(t)
	link, err := openSerial(path, DefaultBaud)
	if err != nil {
		t.Fatal(err)
	}
	defer link.Close()
	var all []byte
	for i := range 256 {
		all = append(all, byte(i))
	}
	for name, way := range map[string][2]io.ReadWriter{"to the board": {link, master}, "from the board": {master, link}} {
		if _, err := way[0].Write(all); err != nil {
			t.Fatal(err)
		}
		got := make([]byte, len(all))
		if _, err := io.ReadFull(way[1], got); err != nil || string(got) != string(all) {
			t.Errorf("%s: %v\n%q", name, err, got)
		}
	}
}

// TestSpeed: the port gets the speed that was asked for, the usual and the unusual ones.
func TestSpeed(t *testing.T) {
	for _, baud := range []int{300, 9600, 115200, 250000, 4000000} {
		_, path := terminal.New(t)
		fd, err := unix.Open(path, unix.O_RDWR|unix.O_NOCTTY|unix.O_CLOEXEC, 0)
		if err != nil {
			t.Fatal(err)
		}
		link, err := openSerial(path, baud)
		if err != nil {
			t.Fatal(err)
		}
		settings, err := unix.IoctlGetTermios(fd, unix.TCGETS2)
		unix.Close(fd)
		link.Close()
		if err != nil || int(settings.Ospeed) != baud || settings.Cflag&(unix.CSIZE|unix.PARENB|unix.CSTOPB|unix.CRTSCTS) != unix.CS8 {
			t.Errorf("%d baud: %v, %+v", baud, err, settings)
		}
	}
}

// TestClosing: a Read and a Write under way end when the link is closed, from whichever goroutine.
func TestClosing(t *testing.T) {
	checkLeaks(t)
	_, path := terminal.New(t)
	link, err := openSerial(path, DefaultBaud)
	if err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() {
		_, err := link.Read(make([]byte, 1))
		ended <- err
	}()
	time.Sleep(20 * time.Millisecond)
	begin := time.Now()
	var closers sync.WaitGroup
	for range 3 {
		closers.Go(func() {
			if err := link.Close(); err != nil {
				t.Error(err)
			}
		})
	}
	closers.Wait()
	if took := time.Since(begin); took > 5*time.Second {
		t.Errorf("took %v", took)
	}
	if err := <-ended; err != errClosed {
		t.Errorf("the Read under way: %v", err)
	}
	if _, err := link.Read(make([]byte, 1)); err != errClosed {
		t.Errorf("a later Read: %v", err)
	}
	if _, err := link.Write([]byte("x")); err != errClosed {
		t.Errorf("a later Write: %v", err)
	}
}

// TestWindowFits: the greatest window of the longest requests is written to a board that reads nothing.
func TestWindowFits(t *testing.T) {
	checkLeaks(t)
	master, path := terminal.New(t)
	link, err := openSerial(path, DefaultBaud)
	if err != nil {
		t.Fatal(err)
	}
	timer := time.AfterFunc(10*time.Second, func() { master.Close() }) // which would end a Write that waits
	for range maxSerialAhead {
		if _, err := link.Write([]byte(strings.Repeat("x", 120) + "\n")); err != nil {
			t.Fatal(err)
		}
	}
	timer.Stop()
	link.Close()
}

func TestNoPort(t *testing.T) {
	checkLeaks(t)
	dir := t.TempDir()
	file := dir + "/file"
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{
		dir + "/none": "there is no such port: is the board plugged in?",
		"/dev/null":   "it is no serial port",
		file:          "it is no serial port",
	} {
		_, err := openSerial(path, DefaultBaud)
		if err == nil || !strings.Contains(err.Error(), "opening "+path+" failed: "+want) {
			t.Errorf("%v", err)
		}
	}
	_, path := terminal.New(t)
	if err := os.Chmod(path, 0); err != nil {
		t.Fatal(err)
	}
	unprivileged(t, func() {
		_, err := openSerial(path, DefaultBaud)
		if err == nil || !strings.Contains(err.Error(), "join the group that owns the port") {
			t.Errorf("no permission: %v", err)
		}
	})
}

// TestPortInUse: a port that another program has for itself.
func TestPortInUse(t *testing.T) {
	_, path := terminal.New(t)
	link, err := openSerial(path, DefaultBaud)
	if err != nil {
		t.Fatal(err)
	}
	defer link.Close()
	unprivileged(t, func() {
		if _, err := openSerial(path, DefaultBaud); err == nil || !strings.Contains(err.Error(), "another program has it open") {
			t.Error(err)
		}
	})
}

// unprivileged calls f without what root may do that others may not.
func unprivileged(t *testing.T, f func()) {
	t.Helper()
	done := make(chan struct{})
	go func() {
		defer close(done)
		// The thread does not get its capabilities back, and ends with the goroutine.
		runtime.LockOSThread()
		var none [2]unix.CapUserData
		if err := unix.Capset(&unix.CapUserHeader{Version: unix.LINUX_CAPABILITY_VERSION_3}, &none[0]); err != nil {
			t.Error(err)
			return
		}
		f()
	}()
	<-done
}

// TestUnpluggedWhileWriting: the message of a port that has gone.
func TestUnpluggedWhileWriting(t *testing.T) {
	checkLeaks(t)
	master, path := terminal.New(t)
	d, _, err := Serial(path)
	if err != nil {
		t.Fatal(err)
	}
	link, err := d.Dial(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	master.Close()
	_, err = link.Write([]byte("hello 1\n"))
	if err == nil || !strings.Contains(err.Error(), "as if it had been unplugged") {
		t.Errorf("Write: %v", err)
	}
	_, err = link.Read(make([]byte, 10))
	if err == nil || !strings.Contains(err.Error(), "as if it had been unplugged") {
		t.Errorf("Read: %v", err)
	}
	link.Close()
}
