package main

import (
	"bufio"
	"os"
	"os/exec"
	"sync"
	"syscall"
	"testing"

	"example.org/hearthbench/conformance/link/terminal"
)

// systemWays are ways of processes that need this system.
var systemWays = map[string]way{
	"stop-itself": {at: atInput, then: func(h *hostile) {
		_ = syscall.Kill(os.Getpid(), syscall.SIGSTOP)
		hang(h)
	}},
	"leave-escaped-grandchild": {at: atInput, then: func(h *hostile) {
		grandchild := exec.Command(os.Args[0], childWord, "linger", "leave-escaped-grandchild")
		grandchild.SysProcAttr = &syscall.SysProcAttr{Setsid: true}
		leave(h, grandchild)
	}},
	"leave-zombie": {at: atInput, then: func(h *hostile) {
		if err := exec.Command(os.Args[0], childWord, "hostile", "end-at-start").Start(); err != nil {
			panic(err)
		}
		hang(h)
	}},
}

func withSerial(plugs map[string]plug) map[string]plug {
	plugs["serial"] = plug{onTerminal}
	return plugs
}

// onTerminal is a unit on a pseudo-terminal, the same one whatever links come and go.
func onTerminal(t *testing.T, way string) (string, func()) {
	master, path := terminal.New(t)
	terminal.HoldOpen(t, path)
	var running sync.WaitGroup
	running.Go(func() {
		defer master.Close()
		(&hostile{way: ways[way], in: bufio.NewReader(master), out: master}).run()
	})
	return "serial:" + path, func() {
		master.Close()
		running.Wait()
	}
}
