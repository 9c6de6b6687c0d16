//go:build unix

package iut

import (
	"os/exec"
	"syscall"
)

// group is a child's process group.
type group struct {
	id int
}

// startGroup starts a command in a process group of its own.
func startGroup(cmd *exec.Cmd) (*group, error) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	return &group{id: cmd.Process.Pid}, nil
}

// terminate asks the group to end, and reports that it has asked.
func (g *group) terminate() bool {
	g.signal(syscall.SIGTERM)
	return true
}

// kill ends what is left of the group.
func (g *group) kill() { g.signal(syscall.SIGKILL) }

// signal sends a signal to the group. An error means that nothing is left of it. While anything is left no other process can
// get its id; nor, in practice, in the moment between the end of the last member and the signal.
func (g *group) signal(s syscall.Signal) { _ = syscall.Kill(-g.id, s) }

// release gives back what the group holds, which here is nothing.
func (g *group) release() {}
