package main

import (
	"os"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"example.org/hearthbench/conformance/link/terminal"
)

// onPort runs a program, which knows of no terminal, at the other end of a serial port, and returns the port's path. The program should have
// ended well when the test ends.
var onPort = func(tb testing.TB, program string) (path string) {
	tb.Helper()
	master, path := terminal.New(tb)
	terminal.HoldOpen(tb, path)
	raw, err := master.SyscallConn()
	require.NoError(tb, err)
	// The program expects to wait in a read, as on a pipe.
	require.NoError(tb, raw.Control(func(fd uintptr) { err = unix.SetNonblock(int(fd), false) }))
	require.NoError(tb, err)
	unit := exec.Command(program)
	unit.Stdin, unit.Stdout, unit.Stderr = master, master, os.Stderr
	require.NoError(tb, unit.Start())
	tb.Cleanup(func() {
		if err := unit.Wait(); err != nil {
			tb.Errorf("%s on a port: %v", program, err)
		}
	})
	return path
}
