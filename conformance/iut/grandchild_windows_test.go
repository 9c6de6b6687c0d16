package iut

import (
	"os"
	"os/exec"
)

// startGrandchild starts a process that lingers with this one's standard output and error. None escapes a job object.
func startGrandchild(bool) {
	cmd := exec.Command(os.Args[0], childWord, "linger")
	cmd.Stdout, cmd.Stderr = os.Stdout, os.Stderr
	if err := cmd.Start(); err != nil {
		os.Exit(10)
	}
}
