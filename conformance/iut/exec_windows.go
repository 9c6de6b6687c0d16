package iut

import (
	"fmt"
	"os/exec"
	"unsafe"

	"golang.org/x/sys/windows"
)

// group is the job object that holds a child and its descendants.
type group struct {
	job windows.Handle
}

// startGroup starts a command in a job object of its own.
func startGroup(cmd *exec.Cmd) (*group, error) {
	job, err := windows.CreateJobObject(nil, nil)
	if err != nil {
		return nil, fmt.Errorf("making a job object: %w", err)
	}
	g := &group{job: job}
	var limits windows.JOBOBJECT_EXTENDED_LIMIT_INFORMATION
	limits.BasicLimitInformation.LimitFlags = windows.JOB_OBJECT_LIMIT_KILL_ON_JOB_CLOSE
	_, err = windows.SetInformationJobObject(job, windows.JobObjectExtendedLimitInformation,
		uintptr(unsafe.Pointer(&limits)), uint32(unsafe.Sizeof(limits)))
	if err != nil {
		g.release()
		return nil, fmt.Errorf("setting up a job object: %w", err)
	}
	if err := cmd.Start(); err != nil {
		g.release()
		return nil, err
	}
	if err := g.add(cmd.Process.Pid); err != nil {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		g.release()
		return nil, fmt.Errorf("putting it into a job object: %w", err)
	}
	return g, nil
}

func (g *group) add(pid int) error {
	process, err := windows.OpenProcess(windows.PROCESS_SET_QUOTA|windows.PROCESS_TERMINATE, false, uint32(pid))
	if err != nil {
		return err
	}
	defer windows.CloseHandle(process)
	return windows.AssignProcessToJobObject(g.job, process)
}

// terminate would ask the group to end, and reports that there is no way to ask.
func (g *group) terminate() bool { return false }

// kill ends what is left of the group.
func (g *group) kill() { _ = windows.TerminateJobObject(g.job, 1) }

// release gives back the job object.
func (g *group) release() { _ = windows.CloseHandle(g.job) }
