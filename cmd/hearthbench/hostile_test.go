package main

import (
	"bufio"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/testtool"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// The scripts put to hostile units. The first brings one to its point, of which the second passes none but new and hello; the requests of
// the first at which units turn hostile stand in it once.
var (
	hostileScript = []string{"new", "power on", atInput, atGo, "mode ch always", "go 100", atEnd}
	goodScript    = []string{"new", "power on", "mode ch always", "go 15", "boost hw 61"}
)

const (
	atInput = "boost hw 60"
	atGo    = "go 7200" // answered with goAnswer
	atEnd   = "go 7"

	goAnswer = "@3600 hw 0\nok\n"
)

// way is how a unit that is otherwise the emulator misbehaves.
type way struct {
	at    string                               // the request at which it does
	nth   int                                  // which of them, from 1; 0 is each
	since string                               // a request before which none counts: how often a bench says hello until a line is clear is its own affair
	say   string                               // in place of the answer
	then  func(h *hostile)                     // after that
	alter func(answer string) string           // what becomes of the answers from then on
	write func(h *hostile, answer string)      // how answers are written from then on
	start func(h *hostile)                     // before anything
	ics   func(statement string) (lies string) // what becomes of the statement
}

// hostile is a unit at the end of a line, or a process.
type hostile struct {
	way     way
	in      *bufio.Reader
	out     io.Writer
	process bool
	ended   bool
	status  int
}

func beHostile(name string) int {
	w, ok := ways[name]
	if !ok {
		w, ok = systemWays[name]
	}
	if !ok {
		panic("there is no way " + name)
	}
	h := &hostile{way: w, in: bufio.NewReader(os.Stdin), out: os.Stdout, process: true}
	h.run()
	return h.status
}

// run serves the line to its end.
func (h *hostile) run() {
	var device wire.Device
	count, turned, counts := 0, false, h.way.since == ""
	if h.way.start != nil {
		h.way.start(h)
	}
	for !h.ended {
		line, err := h.in.ReadString('\n')
		if err != nil {
			return
		}
		line = strings.TrimSuffix(line, "\n")
		counts = counts || line == h.way.since
		if counts && line == h.way.at {
			if count++; h.way.nth == 0 || count == h.way.nth {
				turned = true
				if h.way.say != "" || h.way.then != nil {
					h.write(h.way.say)
					if h.way.then != nil {
						h.way.then(h)
					}
					continue
				}
			}
		}
		if line == wire.New || device == nil {
			device = emulated(spec.FullICS())
		}
		var answer strings.Builder
		if err := wire.Serve(strings.NewReader(line+"\n"), &answer, spec.FullICS(), func(spec.ICS) wire.Device { return device }); err != nil {
			panic(err)
		}
		text := answer.String()
		if line == wire.Hello && h.way.ics != nil {
			text = h.way.ics(text)
		}
		if turned && h.way.alter != nil {
			text = h.way.alter(text)
		}
		if turned && h.way.write != nil {
			h.way.write(h, text)
		} else {
			h.write(text)
		}
		if line == wire.Bye && h.process {
			return
		}
	}
}

func (h *hostile) write(text string) {
	if text == "" {
		return
	}
	if _, err := io.WriteString(h.out, text); err != nil {
		h.ended, h.status = true, 8
	}
}

// hang is for ever as far as a test is concerned. A process outlives no bench that has been killed for long; a board goes on to receive.
func hang(h *hostile) {
	if h.process {
		time.Sleep(time.Minute)
		os.Exit(97)
	}
	_, _ = io.Copy(io.Discard, h.in)
	h.ended = true
}

// end ends a process, or takes a board from its line.
func end(status int) func(*hostile) {
	return func(h *hostile) { h.ended, h.status = true, status }
}

func flood(text string) func(*hostile) {
	return func(h *hostile) {
		for !h.ended {
			h.write(text)
		}
	}
}

// drip writes byte by byte.
func drip(each time.Duration) func(*hostile, string) {
	return func(h *hostile, answer string) {
		for _, b := range []byte(answer) {
			h.write(string(b))
			time.Sleep(each)
		}
	}
}

// ways are those that need nothing of the system.
var ways = map[string]way{
	"hang-at-hello": {at: wire.Hello, then: hang},
	"hang-in-hello": {at: wire.Hello, say: "ics channels both both\nics cyc", then: hang},
	"hang-at-new":   {at: wire.New, then: hang},
	"hang-at-input": {at: atInput, then: hang},
	"hang-in-event": {at: atGo, say: "@10 ch 1\n@20 h", then: hang},
	"hang-in-go":    {at: atGo, say: "@10 ch 1\n", then: hang},
	"hang-at-end":   {at: atEnd, say: "ok\n", then: hang},

	"end-at-hello":   {at: wire.Hello, say: "ics channels both both\n", then: end(4)},
	"end-at-input":   {at: atInput, then: end(5)},
	"end-in-go":      {at: atGo, say: "@10 ch 1\n", then: end(6)},
	"end-in-event":   {at: atGo, say: "@10 ch 1\n@20 h", then: end(0)},
	"end-after-last": {at: atEnd, say: "ok\n", then: end(7)},

	"flood-at-hello":   {at: wire.Hello, then: flood("ics periods 3\n")},
	"flood-at-input":   {at: atInput, then: flood("@0 hw 1\n@0 hw 0\n")},
	"flood-in-go":      {at: atGo, then: flood("@1 ch 1\n@1 ch 0\n")},
	"flood-same-event": {at: atInput, say: "@0 hw 1\n@0 hw 1\n", then: hang},
	"flood-without-lf": {at: atInput, then: flood(strings.Repeat("x", 500))},

	"nonsense-at-hello": {at: wire.Hello, say: "Welcome!\nok\n"},
	"wrong-version":     {at: wire.Hello, say: "error version 2 only\n"},
	"refuse-hello":      {at: wire.Hello, say: "refused\n"},
	"unknown-option":    {at: wire.Hello, say: "ics colour red\nok\n"},
	"option-twice":      {ics: func(s string) string { return "ics reserve 3\n" + s }},
	"value-too-large":   {ics: func(s string) string { return strings.Replace(s, "ics periods 6", "ics periods 99", 1) }},
	"no-options":        {at: wire.Hello, say: "ok\n"},

	"other-statement-later":    {at: wire.Hello, nth: 1, since: wire.New, alter: reserveOne},
	"other-statement-once":     {at: wire.Hello, nth: 2, alter: reserveOne},
	"statement-in-other-order": {at: wire.Hello, nth: 2, alter: shuffled},

	"nonsense":       {at: atInput, say: "Segmentation fault\n"},
	"nul":            {at: atInput, say: "o\x00k\n"},
	"not-ascii":      {at: atInput, say: "refused caf\xe9\n"},
	"ansi-colour":    {at: atInput, say: "\x1b[32mok\x1b[0m\n"},
	"bell":           {at: atInput, say: "\aok\n"},
	"tab":            {at: atInput, say: "refused\tno\n"},
	"two-spaces":     {at: atGo, say: "@3600  hw 0\nok\n"},
	"space-at-end":   {at: atInput, say: "ok \n"},
	"capitals":       {at: atInput, say: "OK\n"},
	"empty-line":     {at: atInput, say: "\nok\n"},
	"long-line":      {at: atInput, say: "refused " + strings.Repeat("x", 113) + "\n"},
	"echo":           {at: atInput, say: atInput + "\n@0 hw 1\nok\n"},
	"prompt":         {at: atInput, say: "> @0 hw 1\n> ok\n"},
	"statement":      {at: atInput, say: "ics periods 3\nok\n"},
	"no-lf":          {at: atInput, alter: func(s string) string { return strings.ReplaceAll(s, "\n", "") }},
	"cr-only":        {at: atInput, alter: func(s string) string { return strings.ReplaceAll(s, "\n", "\r") }},
	"twice":          {at: atInput, say: "@0 hw 1\nok\nok\n"},
	"twice-at-end":   {at: atEnd, say: "ok\nok\n"},
	"more-after-end": {at: atEnd, say: "ok\nhave a nice day\n"},
	"early":          {at: atInput, say: "@0 hw 1\nok\n@3600 hw 0\nok\n"},
	"of-another":     {at: atGo, say: "refused not a whole number of steps\n"},
	"skips-one":      {at: atInput, alter: new(delayed).one},

	"unknown-signal": {at: atGo, say: "@10 pump 1\nok\n"},
	"unknown-level":  {at: atGo, say: "@10 ch on\nok\n"},
	"no-level":       {at: atGo, say: "@10 ch\nok\n"},
	"huge-second":    {at: atGo, say: "@99999999999999999999 ch 1\nok\n"},
	"leading-zero":   {at: atGo, say: "@010 ch 1\nok\n"},
	"negative":       {at: atGo, say: "@-1 ch 1\nok\n"},
	"past":           {at: atGo, say: "@0 hw 0\nok\n"},
	"backwards":      {at: atGo, say: "@20 ch 1\n@10 hw 0\nok\n"},
	"future":         {at: atGo, say: "@7201 hw 0\nok\n"},
	"no-change":      {at: atGo, say: "@10 ch 0\nok\n"},
	"event-at-new":   {at: wire.New, say: "@0 hw 1\nok\n"},
	"refuse-new":     {at: wire.New, say: "refused\n"},
	"no-new":         {at: wire.New, say: "unsupported\n"},
	"unsupported-go": {at: atGo, say: "unsupported\n"},
	"error":          {at: atInput, say: "error what is a boost\n"},
	"error-and-more": {at: atInput, say: "error what is a boost\nnonsense\n"},

	"error-then-nonsense": {at: atInput, alter: func(s string) string {
		return strings.NewReplacer("@0 hw 1\nok", "error what is a boost", goAnswer, "nonsense\n").Replace(s)
	}},

	"crlf":      {at: wire.Hello, alter: func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }},
	"slow-drip": {at: atInput, write: drip(time.Millisecond)},
	// A byte now and then is no answer.
	"endless-drip": {at: atInput, write: func(h *hostile, _ string) { drip(400*time.Millisecond)(h, "refused "+strings.Repeat("x", 110)) }},

	// What a line without checksum can do to goAnswer.
	"lost-at":      {at: atGo, say: "3600 hw 0\nok\n"},
	"lost-lf":      {at: atGo, say: "@3600 hw 0ok\n"},
	"lost-o":       {at: atGo, say: "@3600 hw 0\nk\n"},
	"lost-last-lf": {at: atGo, say: "@3600 hw 0\nok", then: hang},
	"doubled-byte": {at: atGo, say: "@3600 hw 0\nook\n"},
	"doubled-lf":   {at: atGo, say: "@3600 hw 0\n\nok\n"},
	"restarts":     {at: atGo, say: "\x00\xffboot 1.0\r\nok\r\nloading\r\n"},
	"says-unasked": {start: func(h *hostile) { h.write("ok\n") }},
	"boots-with-art": {start: func(h *hostile) {
		h.write("\x00\xff*** boot 1.0 ***\r\n\r\nok\r\n" + strings.Repeat(".", 300) + "\r\nready")
	}},

	// Of processes.
	"deaf": {at: wire.New, then: func(h *hostile) {
		time.Sleep(time.Minute)
		os.Exit(97)
	}},
	"end-at-start":   {start: end(3)},
	"ignore-sigterm": {start: func(*hostile) { signal.Ignore(syscall.SIGTERM) }, at: atInput, then: hang},
	"kill-itself": {at: atInput, then: func(h *hostile) {
		p, _ := os.FindProcess(os.Getpid())
		_ = p.Kill()
		hang(h)
	}},
	"complain": {at: atInput, then: func(h *hostile) {
		fmt.Fprintf(os.Stderr, "first\nassertion failed: \x1b[31mred\x1b[0m\nlast words without LF")
		end(134)(h)
	}},
	"complain-for-ever": {start: func(*hostile) {
		go func() {
			for {
				fmt.Fprintln(os.Stderr, strings.Repeat("n", 99))
			}
		}()
	}},
	"close-stdout": {at: atInput, then: func(h *hostile) {
		os.Stdout.Close()
		hang(h)
	}},
	"close-stdin": {at: atInput, then: func(h *hostile) {
		os.Stdin.Close()
		hang(h)
	}},
	"fail-after-bye":   {at: wire.Bye, say: "ok\n", then: end(23)},
	"leave-grandchild": {at: atInput, then: func(h *hostile) { leave(h, exec.Command(os.Args[0], childWord, "linger", "leave-grandchild")) }},
}

// leave starts a process that has this one's output for its own, and ends.
func leave(h *hostile, grandchild *exec.Cmd) {
	grandchild.Stdout, grandchild.Stderr = os.Stdout, os.Stderr
	if err := grandchild.Start(); err != nil {
		panic(err)
	}
	end(11)(h)
}

func reserveOne(s string) string { return strings.Replace(s, "ics reserve 480", "ics reserve 1", 1) }

func shuffled(statement string) string {
	lines := slices.Collect(strings.Lines(statement))
	slices.Reverse(lines[:len(lines)-1])
	return strings.Join(lines, "")
}

// delayed gives each answer for the request after.
type delayed struct{ last string }

func (d *delayed) one(answer string) string {
	was := d.last
	d.last = answer
	return was
}

// row is what must come of a way.
type row struct {
	way   string
	on    string // exec, serial, tcp; all if empty
	kind  iut.TroubleKind
	index int    // of the request in trouble
	want  string // pattern of what the trouble says
	// again says that every script has the trouble; dead, that a board on a serial port has none to come.
	again, dead bool
	// fine says that there is no trouble at all, and opens that want is why the unit cannot be opened.
	fine, opens bool
	waits       bool // for a time-out
}

// The table: every way in which a unit on a line can misbehave that we could think of, on every kind of line on which it can, with the trouble
// it must get and the words in it.
var rows = []row{
	{way: "hang-at-hello", on: "exec", opens: true, want: `no answer in time to 'hello 1': no closing line within .*; received nothing; when the link was closed it ended with signal: terminated after SIGTERM`, waits: true},
	{way: "hang-at-hello", on: "serial tcp", opens: true, want: `to 'hello 1': no (whole )?answer within 1.*s`, waits: true},
	{way: "hang-in-hello", on: "exec", opens: true, want: `no answer in time to 'hello 1': no closing line within .*received "ics channels both both\\n.*`, waits: true},
	{way: "hang-in-hello", on: "serial tcp", opens: true, want: `no whole answer within 1.*s, but other lines; received ".*ics channels both both\\nics cyc"`},
	{way: "hang-at-new", kind: iut.Hung, index: 0, want: `to 'new' \(request 1 of the script\): no closing line within`, again: true, waits: true, dead: true},
	{way: "hang-at-input", kind: iut.Hung, index: 2, want: `to 'boost hw 60' \(request 3 of the script\): no closing line within .*; received nothing`, waits: true, dead: true},
	{way: "hang-in-go", kind: iut.Hung, index: 3, want: `no closing line within .*; received "@10 ch 1"`, waits: true, dead: true},
	{way: "hang-in-event", kind: iut.Hung, index: 3, want: `no closing line within .*; received "@10 ch 1" "@20 h"`, waits: true, dead: true},
	{way: "hang-at-end", kind: iut.Hung, index: -1, want: `to 'hello 1': no closing line within`, waits: true, dead: true},
	{way: "endless-drip", kind: iut.Hung, index: 2, want: `no closing line within .*received "refused x+`, waits: true, dead: true},
	{way: "no-lf", on: "exec tcp", kind: iut.Nonsense, index: 2, want: `a line of more than 120 bytes; received "@0 hw 1ok@3600 hw 0ok`},
	{way: "no-lf", on: "serial", kind: iut.Hung, index: 2, want: `no closing line within .*received "@0 hw 1ok"`, waits: true, dead: true},
	{way: "cr-only", on: "exec tcp", kind: iut.Nonsense, index: 2, want: `a line of more than 120 bytes; received "@0 hw 1\\rok\\r@3600 hw 0\\rok\\r`},
	{way: "cr-only", on: "serial", kind: iut.Hung, index: 2, want: `no closing line within .*received "@0 hw 1\\rok\\r"`, waits: true, dead: true},
	{way: "lost-last-lf", kind: iut.Hung, index: 3, want: `no closing line within .*received "@3600 hw 0" "ok"`, waits: true, dead: true},

	{way: "end-at-hello", on: "exec", opens: true, want: `the implementation ended to 'hello 1': its output ended; received "ics channels both both\\n"; it ended with exit status 4`},
	{way: "end-at-hello", on: "tcp", opens: true, want: `the implementation ended to 'hello 1': `},
	{way: "end-at-hello", on: "serial", opens: true, want: `the implementation ended to 'hello 1': .*as if it had been unplugged`},
	{way: "end-at-start", on: "exec", opens: true, want: `the implementation ended to 'hello 1'`},
	{way: "end-at-input", on: "exec", kind: iut.Died, index: 2, want: `its output ended; received nothing; it ended with exit status 5`},
	{way: "end-at-input", on: "tcp", kind: iut.Died, index: 2, want: `to 'boost hw 60'`},
	{way: "end-at-input", on: "serial", kind: iut.Died, index: 2, want: `the port has gone, as if it had been unplugged`, dead: true},
	{way: "end-in-go", on: "exec tcp", kind: iut.Died, index: 3, want: `received "@10 ch 1"`},
	{way: "end-in-event", on: "exec", kind: iut.Died, index: 3, want: `its output ended in the middle of a line; received "@10 ch 1" "@20 h"; it ended with exit status 0`},
	{way: "end-after-last", on: "exec", kind: iut.Died, index: -1, want: `to 'hello 1': its output ended; .*it ended with exit status 7`},
	{way: "end-after-last", on: "tcp", kind: iut.Died, index: -1, want: `to 'hello 1'`},

	{way: "flood-at-hello", on: "exec", opens: true, want: `too much output to 'hello 1': more lines than a conformance statement can have`},
	{way: "flood-at-hello", on: "serial tcp", opens: true, want: `to 'hello 1': .*(no whole answer within|could not be sent within)`},
	{way: "flood-at-input", kind: iut.Flooded, index: 2, want: `more than 64 events; received 61 events, "@0 hw 0" "@0 hw 1" "@0 hw 0" "@0 hw 1"`, dead: true},
	{way: "flood-in-go", kind: iut.Flooded, index: 3, want: `more than 4184 events; received 4181 events, "@1 ch 0" "@1 ch 1" "@1 ch 0" "@1 ch 1"`, dead: true},
	{way: "flood-same-event", kind: iut.Nonsense, index: 2, want: `hw was 1 already.*received "@0 hw 1" "@0 hw 1"`, dead: true},
	{way: "flood-without-lf", kind: iut.Nonsense, index: 2, want: `a line of more than 120 bytes; received "x{100}`, dead: true},

	{way: "nonsense-at-hello", on: "exec", opens: true, want: `the protocol was broken to 'hello 1': neither an ics line nor a closing line`},
	{way: "nonsense-at-hello", on: "serial tcp", opens: true, want: `no whole answer within .*received "`},
	{way: "wrong-version", opens: true, want: `error reply to 'hello 1': the unit does not speak version 1 of the protocol; received "error version 2 only`},
	{way: "refuse-hello", on: "exec", opens: true, want: `hello is answered with ics lines and ok; received "refused"`},
	{way: "refuse-hello", on: "serial tcp", opens: true, want: `no whole answer within .*received ".*refused`},
	{way: "unknown-option", opens: true, want: `its conformance statement: line 'ics colour red': ICS option 'colour' is unknown`},
	{way: "option-twice", opens: true, want: `its conformance statement: line 'ics reserve 480': .*reserve.*twice`},
	{way: "value-too-large", opens: true, want: `its conformance statement: .*periods`},
	{way: "no-options", on: "exec", opens: true, want: `its conformance statement: ICS option channels is missing`},
	{way: "no-options", on: "serial tcp", opens: true, want: `no whole answer within .*received ".*ok`},
	{way: "says-unasked", on: "exec", opens: true, want: `its conformance statement: ICS option channels is missing`},
	{way: "says-unasked", on: "serial tcp", fine: true},
	{way: "boots-with-art", on: "exec", opens: true, want: `the protocol was broken to 'hello 1'`},
	{way: "boots-with-art", on: "serial tcp", fine: true},

	{way: "other-statement-once", on: "exec", kind: iut.Nonsense, index: -1, want: `the conformance statement is not the one of the start; this hello was sent after all scripts.*received "`, again: true},
	{way: "other-statement-later", on: "serial", kind: iut.Nonsense, index: -1, want: `the conformance statement is not the one of the start`, again: true},
	{way: "statement-in-other-order", fine: true},

	{way: "nonsense", kind: iut.Nonsense, index: 2, want: `an answer ends with ok, refused.*received "Segmentation fault"`},
	{way: "nul", kind: iut.Nonsense, index: 2, want: `an answer ends with ok, refused.*received "o\\x00k"`},
	{way: "not-ascii", kind: iut.Nonsense, index: 2, want: `words are printable ASCII.*received "refused caf\\xe9"`},
	{way: "ansi-colour", kind: iut.Nonsense, index: 2, want: `received "\\x1b\[32mok\\x1b\[0m"`},
	{way: "bell", kind: iut.Nonsense, index: 2, want: `received "\\aok"`},
	{way: "tab", kind: iut.Nonsense, index: 2, want: `received "refused\\tno"`},
	{way: "two-spaces", kind: iut.Nonsense, index: 3, want: `received "@3600  hw 0"`},
	{way: "space-at-end", kind: iut.Nonsense, index: 2, want: `received "ok "`},
	{way: "capitals", kind: iut.Nonsense, index: 2, want: `an answer ends with ok, refused.*received "OK"`},
	{way: "empty-line", kind: iut.Nonsense, index: 2, want: `an answer ends with ok, refused`},
	{way: "long-line", kind: iut.Nonsense, index: 2, want: `a line of more than 120 bytes; received "refused x+`},
	{way: "echo", kind: iut.Nonsense, index: 2, want: `received "boost hw 60"`},
	{way: "prompt", kind: iut.Nonsense, index: 2, want: `received "> @0 hw 1"`},
	{way: "statement", kind: iut.Nonsense, index: 2, want: `received "ics periods 3"`},
	{way: "of-another", kind: iut.Nonsense, index: 3, want: `new and go are answered with ok; received "refused not a whole number of steps"`},
	{way: "unknown-signal", kind: iut.Nonsense, index: 3, want: `signal is hw, ch, alert or sounder.*received "@10 pump 1"`},
	{way: "unknown-level", kind: iut.Nonsense, index: 3, want: `level is 0 or 1.*received "@10 ch on"`},
	{way: "no-level", kind: iut.Nonsense, index: 3, want: `received "@10 ch"`},
	{way: "huge-second", kind: iut.Nonsense, index: 3, want: `received "@99999999999999999999 ch 1"`},
	{way: "leading-zero", kind: iut.Nonsense, index: 3, want: `received "@010 ch 1"`},
	{way: "negative", kind: iut.Nonsense, index: 3, want: `received "@-1 ch 1"`},
	{way: "past", kind: iut.Nonsense, index: 3, want: `an event of second 0, where it should be 1 to 7200; received "@0 hw 0"`},
	{way: "backwards", kind: iut.Nonsense, index: 3, want: `an event of second 10, where it should be 20 to 7200; received "@20 ch 1" "@10 hw 0"`},
	{way: "future", kind: iut.Nonsense, index: 3, want: `an event of second 7201, where it should be 1 to 7200; received "@7201 hw 0"`},
	{way: "no-change", kind: iut.Nonsense, index: 3, want: `ch was 0 already`},
	{way: "event-at-new", kind: iut.Nonsense, index: 0, want: `new has no events; received "@0 hw 1"`, again: true},
	{way: "refuse-new", kind: iut.Nonsense, index: 0, want: `new and go are answered with ok; received "refused"`, again: true},
	{way: "no-new", kind: iut.Nonsense, index: 0, want: `without new no test can begin`, again: true},
	{way: "unsupported-go", kind: iut.Nonsense, index: 3, want: `new and go are answered with ok; received "unsupported"`},
	{way: "lost-at", kind: iut.Nonsense, index: 3, want: `an answer ends with ok.*received "3600 hw 0"`},
	{way: "lost-lf", kind: iut.Nonsense, index: 3, want: `level is 0 or 1.*received "@3600 hw 0ok"`},
	{way: "lost-o", kind: iut.Nonsense, index: 3, want: `an answer ends with ok.*received "@3600 hw 0" "k"`},
	{way: "doubled-byte", kind: iut.Nonsense, index: 3, want: `an answer ends with ok.*received "@3600 hw 0" "ook"`},
	{way: "doubled-lf", kind: iut.Nonsense, index: 3, want: `an answer ends with ok`},
	{way: "restarts", kind: iut.Nonsense, index: 3, want: `received "\\x00\\xffboot 1.0"`},

	// Where requests are sent ahead, an answer too many is taken for that of the next request until it does not fit.
	{way: "twice", on: "exec tcp", kind: iut.Nonsense, index: 5, want: `an event of second 7200, where it should be 7201 to 7300; received "@7200 ch 1"`},
	{way: "twice", on: "serial", kind: iut.Nonsense, index: 3, want: `a line to which no request has been sent: one before it was answered twice, or something came unasked`},
	{way: "early", on: "exec tcp", kind: iut.Nonsense, index: 5, want: `an event of second 7200, where it should be 7201 to 7300; received "@7200 ch 1"`},
	{way: "early", on: "serial", kind: iut.Nonsense, index: 3, want: `a line to which no request has been sent`},
	{way: "skips-one", on: "exec tcp", kind: iut.Hung, index: -1, want: `no answer in time to 'hello 1'`, waits: true},
	{way: "twice-at-end", kind: iut.Nonsense, index: -1, want: `(hello was sent after all scripts|no request has been sent|neither an ics line)`},
	{way: "more-after-end", kind: iut.Nonsense, index: -1, want: `(received "have a nice day"|no request has been sent)`},
	{way: "error", kind: iut.ErrorReply, index: 2, want: `error reply to 'boost hw 60' .*none of the protocol's; received "error what is a boost"`},
	{way: "error-and-more", on: "exec tcp", kind: iut.ErrorReply, index: 2, want: `received "error what is a boost"|after that, the protocol was broken`},

	{way: "error-then-nonsense", kind: iut.ErrorReply, index: 2, want: `received "error what is a boost".*|after that, the protocol was broken to 'go 7200' \(request 4 of the script\)`},

	{way: "crlf", fine: true},
	{way: "slow-drip", fine: true},

	{way: "deaf", on: "exec", kind: iut.Hung, index: 0, want: `no closing line within`, again: true, waits: true},
	{way: "ignore-sigterm", on: "exec", kind: iut.Hung, index: 2, want: `it ended with signal: killed by force`, waits: true},
	{way: "stop-itself", on: "exec", kind: iut.Hung, index: 2, want: `it ended with signal: (killed by force|terminated after SIGTERM)`, waits: true},
	{way: "close-stdin", on: "exec", kind: iut.Hung, index: 2, want: `no closing line within`, waits: true},
	{way: "close-stdout", on: "exec", kind: iut.Died, index: 2, want: `its output ended; .*after SIGTERM`},
	{way: "kill-itself", on: "exec", kind: iut.Died, index: 2, want: `it ended with signal: killed`},
	{way: "complain", on: "exec", kind: iut.Died, index: 2, want: `it ended with exit status 134`},
	{way: "complain-for-ever", on: "exec", fine: true},
	{way: "leave-grandchild", on: "exec", kind: iut.Died, index: 2, want: `its output ended; received nothing; it ended with exit status 11`},
	{way: "leave-escaped-grandchild", on: "exec", kind: iut.Hung, index: 2, want: `it ended with exit status 11`, waits: true},
	{way: "leave-zombie", on: "exec", kind: iut.Hung, index: 2, want: `no closing line within`, waits: true},
}

// plug is a line on which a hostile unit can be put.
type plug struct {
	// target returns what --iut names for a unit that misbehaves in a way, which runs until the returned function is called.
	target func(t *testing.T, way string) (target string, stop func())
}

// plugs are the kinds of line there are on this system.
var plugs = withSerial(map[string]plug{
	"exec": {func(t *testing.T, way string) (string, func()) { return child(t, "hostile", way), func() {} }},
	"tcp":  {listening},
})

// listening is a unit on a TCP port, which begins afresh with each connection.
func listening(t *testing.T, way string) (string, func()) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		panic(err)
	}
	var running sync.WaitGroup
	var mutex sync.Mutex
	var conns []net.Conn
	running.Go(func() {
		for {
			conn, err := listener.Accept()
			if err != nil {
				return
			}
			mutex.Lock()
			conns = append(conns, conn)
			mutex.Unlock()
			running.Go(func() {
				defer conn.Close()
				(&hostile{way: ways[way], in: bufio.NewReader(conn), out: conn}).run()
			})
		}
	})
	return "tcp:" + listener.Addr().String(), func() {
		listener.Close()
		mutex.Lock()
		for _, conn := range conns {
			conn.Close()
		}
		mutex.Unlock()
		running.Wait()
	}
}

func toScript(tb testing.TB, lines []string) (s iut.Script) {
	tb.Helper()
	for _, line := range lines {
		var seconds uint64
		if n, _ := fmt.Sscanf(line, "go %d", &seconds); n == 1 {
			s = append(s, iut.Request{Kind: iut.Go, Seconds: seconds})
			continue
		}
		if line == wire.New {
			s = append(s, iut.Request{Kind: iut.New})
			continue
		}
		in, err := wire.ParseInput(line)
		require.NoError(tb, err)
		s = append(s, iut.Request{Kind: iut.Do, Input: in})
	}
	return s
}

// seen is an observation that outlives the call of done. Of changes it has what a link carries.
type seen struct {
	Answers []iut.Answer
	Changes []spec.Change
	Trouble *iut.Trouble
}

func put(tb testing.TB, u iut.IUT, script iut.Script) (s seen, err error) {
	err = u.Run(tb.Context(), []iut.Script{script}, func(_ int, o *iut.Observation) {
		s = seen{Answers: append([]iut.Answer{}, o.Answers...), Trouble: o.Trouble, Changes: []spec.Change{}}
		for _, c := range o.Changes {
			s.Changes = append(s.Changes, spec.Change{At: c.At, Signal: c.Signal, Level: c.Level})
		}
	})
	return s, err
}

// Every unit of the table gets its trouble, with what came before it observed and nothing else; the next script gets a fresh link, or is told
// why there is none; and nothing is left behind.
func TestHostileUnits(t *testing.T) {
	if len(rows) < 30 {
		t.Fatal("the table has been cut short")
	}
	bad, good := toScript(t, hostileScript), toScript(t, goodScript)
	emulator := iut.InProcess("emulator", spec.FullICS(), emulated)
	wantBad, err := put(t, emulator, bad)
	require.NoError(t, err)
	wantGood, err := put(t, emulator, good)
	require.NoError(t, err)
	require.Len(t, wantBad.Changes, 3)
	checkLeaks(t)
	type one struct {
		*row
		kind string
	}
	var all []one
	for kind := range plugs {
		before := len(all)
		for i := range rows {
			r := &rows[i]
			_, known := ways[r.way]
			if _, system := systemWays[r.way]; known && (r.on == "" || slices.Contains(strings.Fields(r.on), kind)) || system && kind == "exec" {
				all = append(all, one{r, kind})
			}
		}
		require.Greater(t, len(all)-before, 30, kind)
	}
	// Those that wait come first, so that the others run meanwhile.
	slices.SortStableFunc(all, func(a, b one) int { return boolean(b.waits || b.opens) - boolean(a.waits || a.opens) })
	processes := make(chan struct{}, 12) // boards take no time of this machine's
	atOnce(len(all), len(all), func(i int) {
		r := all[i]
		if r.kind == "exec" {
			processes <- struct{}{}
			defer func() { <-processes }()
		}
		target, stop := plugs[r.kind].target(t, r.way)
		defer stop()
		r.check(t, r.kind, target, wantBad, wantGood, bad, good)
		if r.kind != "exec" {
			return
		}
		for end := time.Now().Add(20 * time.Second); len(children(r.way)) > 0; time.Sleep(10 * time.Millisecond) {
			if time.Now().After(end) {
				t.Errorf("%s: left behind: %v", r.way, children(r.way))
				return
			}
		}
	})
}

func boolean(b bool) int {
	if b {
		return 1
	}
	return 0
}

func (r *row) check(t *testing.T, kind, target string, wantBad, wantGood seen, bad, good iut.Script) {
	bug := func(format string, args ...any) {
		t.Helper()
		t.Errorf("%s on %s: %s", r.way, kind, fmt.Sprintf(format, args...))
	}
	timeout := time.Minute // for what comes in time even if the machine is busy
	if r.waits {
		timeout = 4 * time.Second // for what does not come
	}
	var complaints strings.Builder
	var u iut.IUT
	var err error
	// A child that this machine has not let start in time is none that misbehaves.
	tries := 0
	for {
		u, err = openTarget(t.Context(), target, timeout, &complaints)
		if tries++; r.opens || err == nil || !r.waits || tries == 10 {
			break
		}
	}
	if r.opens {
		if err == nil {
			u.Close()
			bug("opened")
		} else if !regexp.MustCompile(`^cannot test .*(?s:` + r.want + `)`).MatchString(err.Error()) {
			bug("%v\nwant %s", err, r.want)
		}
		return
	}
	if err != nil {
		bug("%v", err)
		return
	}
	got, err := put(t, u, bad)
	if err != nil {
		bug("%v", err)
	}
	later := (*iut.Trouble)(nil)
	if r.again {
		later = &iut.Trouble{Kind: r.kind}
	} else if r.dead && kind == "serial" {
		later = &iut.Trouble{Kind: iut.NoLink, Untried: true}
	}
	if tr := got.Trouble; r.fine {
		if diff := cmp.Diff(wantBad, got); diff != "" {
			bug("-want +got\n%s", diff)
		}
	} else {
		if tr == nil || tr.Kind != r.kind || tr.Index != r.index || tr.Untried || !regexp.MustCompile(`(?s)`+r.want).MatchString(tr.String()) {
			bug("trouble: %v\nwant %v to request %d, %s", tr, r.kind, r.index, r.want)
			_ = u.Close() // its descriptors would be a second failure
			return
		}
		answers := r.index
		if answers < 0 {
			answers = len(bad)
		}
		if want := wantBad.Answers[:min(answers, 3)]; len(got.Answers) != answers || !cmp.Equal(want, got.Answers[:len(want)]) {
			bug("%d answers before the trouble, want %d, beginning with %v: %v", len(got.Answers), answers, want, got.Answers)
		}
	}
	if r.way == "complain" {
		want := []string{"first", `assertion failed: \x1b[31mred\x1b[0m`, "last words without LF"}
		if diff := cmp.Diff(want, got.Trouble.Ending.Stderr); diff != "" {
			bug("stderr: -want +got\n%s", diff)
		}
		if want := "iut: " + strings.Join(want, "\niut: ") + "\n"; complaints.String() != want {
			bug("stderr shown: %q, want %q", complaints.String(), want)
		}
	}
	// Two boards that are dead for good will do, since it takes long to be sure; and so will one process that talks nonsense.
	if r.dead && kind == "serial" && r.way != "hang-at-input" && r.way != "end-at-input" || kind == "exec" && r.kind == iut.Nonsense && r.index > 0 && r.way != "nonsense" {
		_ = u.Close() // what it says is not the point here
		return
	}
	next, err := put(t, u, good)
	for tries := 0; r.waits && kind == "exec" && next.Trouble != nil && next.Trouble.Untried && tries < 10; tries++ {
		next, err = put(t, u, good)
	}
	switch tr := next.Trouble; {
	case err != nil:
		bug("%v", err)
	case later == nil:
		if diff := cmp.Diff(wantGood, next); diff != "" {
			bug("second script: -want +got\n%s", diff)
		}
	case tr == nil || tr.Untried != later.Untried && kind != "serial":
		bug("second script: %v, want %v", tr, later)
	}
	_ = u.Close() // what it says is not the point here
}

// Each boost has the module do one thing wrong. The scripts before and after it are answered, and the trouble says what it was. What the module
// does at a boost of so many minutes stands in hostile.c.
func TestHostileModule(t *testing.T) {
	checkLeaks(t)
	const fine = "none"
	cc := testtool.Need(t, "clang", "clang")
	testtool.Need(t, "wasm-ld", "lld")
	build := func(flags ...string) string {
		module := filepath.Join(t.TempDir(), "unit.wasm")
		text, err := exec.Command(cc, append([]string{"--target=wasm32-unknown-unknown", "-std=c99", "-Os", "-mbulk-memory", "-ffreestanding", "-nostdlib",
			"-Wall", "-Wextra", "-Werror", "-Wl,--no-entry,--stack-first,-z,stack-size=1048576,--initial-memory=4194304", "-o", module,
			"../../conformance/wasm/testdata/hostile.c"}, flags...)...).CombinedOutput()
		require.NoError(t, err, string(text))
		return "wasm:" + module
	}
	text, fast := build(), build("-DFAST_MINUTES")
	good := toScript(t, []string{"new", "power on", "go 5"})
	for _, r := range []struct {
		name    string
		target  string
		minutes int
		kind    iut.TroubleKind
		want    string
	}{
		{"an endless loop", text, 1, iut.Hung, "feed: no answer within 200ms, in feed"},
		{"a trap", text, 2, iut.Died, "feed: it trapped: unreachable, in feed"},
		{"recursion without end", text, 3, iut.Died, "feed: it trapped: out of bounds memory access, in deep"},
		{"outside its memory", text, 4, iut.Died, "feed: it trapped: out of bounds memory access, in feed"},
		{"memory without end", text, 5, iut.Died, "feed: the module asked for 17408 KiB of memory, and the limit is 16384 KiB"},
		{"silence", text, 6, iut.Nonsense, "feed(0) has nothing more of the answer, which has no closing line; received nothing"},
		{"half a line", text, 7, iut.Nonsense, `feed(0) has nothing more of the answer, which has no closing line; received "@0 hw"`},
		{"nonsense", text, 8, iut.Nonsense, `received "fine thanks"`},
		{"two answers", text, 9, iut.Nonsense, `more than one answer; received "ok\n"`},
		{"a line too long", text, 10, iut.Nonsense, "a line of more than 120 bytes; received \"xxx"},
		{"more than there is room for", text, 11, iut.Nonsense, "feed says that it has replied with 257 bytes, and the buffer has 256"},
		{"an event of another second", text, 12, iut.Nonsense, `an event of second 9 in the answer to an input of second 0; received "@9 hw 1"`},
		{"error", text, 13, iut.ErrorReply, `received "error no such request"`},
		{"calls without end", text, 14, iut.Hung, "feed: no answer within 200ms, in chain"},
		{"calls through a table without end", text, 15, iut.Hung, "feed: no answer within 200ms, in table_circle, called by table_circle"},
		{"slow instructions without end", text, 16, iut.Hung, "feed: no answer within 200ms"},
		{"a byte that is no text", text, 17, iut.Nonsense, `line 'ok \x01': an answer ends with ok`},
		{"it takes its time", text, 18, 0, fine},
		{"memory within the limit", text, 19, 0, fine},
		{"no outcome", fast, 1, iut.Nonsense, "do_boost gives outcome 7"},
		{"more events than there is room for", fast, 2, iut.Nonsense, "do_boost gives 17 events, and the buffer has room for 16"},
		{"no such signal", fast, 3, iut.Nonsense, "event 1 of do_boost is no event"},
		{"a later second", fast, 4, iut.Nonsense, "an event of second 1 in the answer to an input of second 0"},
		{"a change that is none", fast, 5, iut.Nonsense, "hw was 0 already"},
		{"a trap without text", fast, 6, iut.Died, "do_boost: it trapped: unreachable, in do_boost"},
		{"no such level", fast, 7, iut.Nonsense, "event 1 of do_boost is no event"},
		{"no time passes", fast, 8, iut.Nonsense, "do_go(60) says that 0 seconds have passed"},
		{"too much time passes", fast, 9, iut.Nonsense, "do_go(60) says that 61 seconds have passed"},
	} {
		t.Run(r.name, func(t *testing.T) {
			bad := toScript(t, []string{"new", "power on", fmt.Sprintf("boost hw %d", r.minutes), "go 60"})
			limit := time.Minute // for the machine may be busy
			if r.kind == iut.Hung && r.want != fine {
				limit = 200 * time.Millisecond
			}
			u, err := openTarget(t.Context(), r.target, limit, io.Discard)
			require.NoError(t, err)
			defer u.Close()
			for i, script := range []iut.Script{good, bad, good, bad, good} {
				got, err := put(t, u, script)
				require.NoError(t, err)
				if i%2 == 0 || r.want == fine {
					require.Nil(t, got.Trouble)
					require.Len(t, got.Answers, len(script))
					continue
				}
				require.NotNil(t, got.Trouble)
				require.Equal(t, r.kind, got.Trouble.Kind, got.Trouble.String())
				require.Contains(t, got.Trouble.String(), r.want)
				require.Len(t, got.Answers, got.Trouble.Index, "what came before the trouble was observed")
				require.False(t, got.Trouble.Untried)
			}
		})
	}
}

// A unit that claims a lock and has none fails by its own word.
func TestALieInTheStatement(t *testing.T) {
	status, stdout, stderr := hearthbench(t, "check", "--iut", child(t, "without-the-lock-it-claims"), "--only", "LCK-6", "--format", "json")
	require.Equal(t, doesNotHold, status, stdout+stderr)
	require.Contains(t, stdout, "unsupported")
}
