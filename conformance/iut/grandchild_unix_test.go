//go:build unix

package iut

import (
	"os"
	"os/exec"
	"syscall"
)

// startGrandchild starts a process that lingers with this one's standard output and error, in its group or in one of its own.
func startGrandchild(escape bool) {
	cmd := exec.Command(os.Args[0], childWord, "linger")
	cmd.Stdout, cmd.Stderr = os.Stdout, os.Stderr
	if escape {
		cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true}
	}
	if err := cmd.Start(); err != nil {
		os.Exit(10)
	}
}
