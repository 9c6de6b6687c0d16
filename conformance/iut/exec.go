package iut

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strconv"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"
)

// Exec returns a dialer that starts a command for each link and speaks to it through its standard input and output. The
// command is split into words without a shell; quotes are understood. The error says what is wrong with the command.
//
// The child gets a process group of its own (on Windows a job object), and closing the link ends the whole group: first by
// closing its input and output, after two seconds with SIGTERM, half a second later with SIGKILL (on Windows without that
// half second).
//
// What the child writes to its standard error is copied to stderr line by line, each line with a prefix, in one Write each
// and from another goroutine; nil drops it. Its last lines are kept for [Trouble].
func Exec(command string, stderr io.Writer) (Dialer, error) {
	argv, err := splitCommand(command)
	if err != nil {
		return nil, err
	}
	if stderr == nil {
		stderr = io.Discard
	}
	return &execDialer{command: command, argv: argv, stderr: stderr, grace: grace}, nil
}

type execDialer struct {
	command string
	argv    []string
	stderr  io.Writer
	grace   time.Duration // for a child to end by itself
}

func (d *execDialer) Describe() string { return d.command }

const (
	grace       = 2 * time.Second        // for a child to end by itself: those with a sanitizer take their time
	termGrace   = 500 * time.Millisecond // for it to end after SIGTERM
	killGrace   = 2 * time.Second        // for the system to end one that has been killed
	pipeGrace   = 500 * time.Millisecond // for its standard error to end, once the group has been killed
	orphanGrace = 100 * time.Millisecond // for what a child leaves behind, when it has ended by itself
	keptLines   = 10
	maxErrLine  = 1024 // bytes of a line of standard error, which is split if it is longer
)

// errPrefix comes before each line of a child's standard error.
const errPrefix = "iut: "

func (d *execDialer) Dial(context.Context) (link Link, err error) {
	var files []*os.File
	defer func() {
		if err != nil {
			closeAll(files)
		}
	}()
	for range 3 {
		r, w, err := os.Pipe()
		if err != nil {
			return nil, fmt.Errorf("making pipes for %s: %w", d.argv[0], err)
		}
		files = append(files, r, w)
	}
	cmd := exec.Command(d.argv[0], d.argv[1:]...)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = files[0], files[3], files[5]
	group, err := startGroup(cmd)
	if err != nil {
		return nil, fmt.Errorf("starting it failed: %w", err)
	}
	closeAll([]*os.File{files[0], files[3], files[5]})
	c := &child{
		cmd: cmd, group: group,
		in: files[1], out: files[2], err: files[4],
		stderr: d.stderr, grace: d.grace,
		exited: make(chan struct{}), cleared: make(chan struct{}), closing: make(chan struct{}), errRead: make(chan struct{}),
	}
	go c.wait()
	go c.readStderr()
	return c, nil
}

func closeAll(files []*os.File) {
	for _, f := range files {
		f.Close()
	}
}

// child is a link to a child process.
type child struct {
	cmd    *exec.Cmd
	group  *group
	in     *os.File
	out    *os.File
	err    *os.File
	stderr io.Writer
	grace  time.Duration

	exited  chan struct{} // closed when the child has been waited for
	cleared chan struct{} // closed when, after that, wait has nothing more to do
	closing chan struct{} // closed when Close begins
	errRead chan struct{} // closed when standard error has been read to its end

	once   sync.Once
	ending Ending

	last []string // lines of standard error, complete when errRead is closed
}

func (c *child) Read(p []byte) (int, error)  { return c.out.Read(p) }
func (c *child) Write(p []byte) (int, error) { return c.in.Write(p) }

// wait waits for the child. A descendant that holds the pipes open would keep the bench waiting for the end of the stream,
// so the rest of the group follows a child that has ended.
func (c *child) wait() {
	defer close(c.cleared)
	_ = c.cmd.Wait() // how it ended is in ProcessState
	close(c.exited)
	select {
	case <-c.closing:
	case <-time.After(orphanGrace):
		c.group.kill()
	}
}

func (c *child) Close() error {
	c.once.Do(c.close)
	return nil
}

func (c *child) close() {
	close(c.closing)
	c.in.Close()
	c.out.Close()
	how := ""
	gone := c.wentWithin(c.grace)
	if !gone && c.group.terminate() {
		how = " after SIGTERM"
		gone = c.wentWithin(termGrace)
	}
	if !gone {
		how = " by force"
	}
	c.group.kill()
	if !gone {
		gone = c.wentWithin(killGrace)
	}
	select {
	case <-c.errRead:
	case <-time.After(pipeGrace):
		// A descendant that left the group holds the pipe.
	}
	c.err.Close()
	<-c.errRead
	c.ending.Stderr = c.last
	if !gone {
		c.ending.Status = "no success: it cannot be killed"
		return
	}
	<-c.cleared
	c.group.release()
	c.ending.Status = c.cmd.ProcessState.String() + how
	c.ending.Clean = how == "" && c.cmd.ProcessState.Success()
}

func (c *child) wentWithin(d time.Duration) bool {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-c.exited:
		return true
	case <-timer.C:
		return false
	}
}

func (c *child) Ending() Ending { return c.ending }

// readStderr copies standard error line by line.
func (c *child) readStderr() {
	defer close(c.errRead)
	r := bufio.NewReaderSize(c.err, maxErrLine)
	for {
		line, err := r.ReadSlice('\n')
		if len(line) > 0 {
			text := readable(bytes.TrimRight(line, "\r\n"))
			if len(c.last) == keptLines {
				copy(c.last, c.last[1:])
				c.last = c.last[:keptLines-1]
			}
			c.last = append(c.last, text)
			// The bench goes on if nobody can be shown what the child says.
			_, _ = io.WriteString(c.stderr, errPrefix+text+"\n")
		}
		if err != nil && err != bufio.ErrBufferFull {
			return
		}
	}
}

// readable returns text from outside with everything escaped that could do more to a terminal than be read.
func readable(text []byte) string {
	plain := utf8.Valid(text)
	for _, r := range string(text) {
		plain = plain && (unicode.IsPrint(r) || r == '\t')
	}
	if plain {
		return string(text)
	}
	quoted := strconv.Quote(string(text))
	return quoted[1 : len(quoted)-1]
}
