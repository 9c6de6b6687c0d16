package terminal

import (
	"fmt"
	"os"
	"testing"

	"golang.org/x/sys/unix"
)

// New makes a pseudo-terminal: a file, at whose other end is a serial port of the path it returns, as far as a program can tell.
func New(tb testing.TB) (master *os.File, path string) {
	tb.Helper()
	fd, err := unix.Open("/dev/ptmx", unix.O_RDWR|unix.O_NOCTTY|unix.O_CLOEXEC|unix.O_NONBLOCK, 0)
	if err != nil {
		tb.Fatal(err)
	}
	master = os.NewFile(uintptr(fd), "/dev/ptmx")
	tb.Cleanup(func() { master.Close() })
	if err := unix.IoctlSetPointerInt(fd, unix.TIOCSPTLCK, 0); err != nil {
		tb.Fatal(err)
	}
	n, err := unix.IoctlGetInt(fd, unix.TIOCGPTN)
	if err != nil {
		tb.Fatal(err)
	}
	return master, fmt.Sprintf("/dev/pts/%d", n)
}

// HoldOpen keeps the port open, as a port stays powered while no program has it, and without echo, until the test ends.
func HoldOpen(tb testing.TB, path string) {
	tb.Helper()
	fd, err := unix.Open(path, unix.O_RDWR|unix.O_NOCTTY|unix.O_CLOEXEC, 0)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { unix.Close(fd) })
	settings, err := unix.IoctlGetTermios(fd, unix.TCGETS)
	if err != nil {
		tb.Fatal(err)
	}
	settings.Lflag &^= unix.ECHO | unix.ICANON
	settings.Oflag &^= unix.OPOST
	if err := unix.IoctlSetTermios(fd, unix.TCSETS, settings); err != nil {
		tb.Fatal(err)
	}
}
