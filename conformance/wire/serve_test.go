package wire

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"example.org/hearthbench/emulator/spec"
)

// toggler is a device whose hot water changes every ten seconds, and whose heating changes with each override.
type toggler struct {
	elapsed uint64
	ch      spec.Level
	power   bool
}

func (d *toggler) Do(in spec.Input, buf []spec.Change) (spec.Reply, []spec.Change) {
	switch {
	case in.Kind == spec.PowerOn:
		d.power = true
	case in.Kind == spec.LockRemove:
		return spec.Reply{Outcome: spec.Unsupported, Refusal: spec.UnsupportedInput}, buf
	case !d.power:
		return spec.Reply{Outcome: spec.Refused, Refusal: spec.NoPower}, buf
	case in.Kind == spec.Override:
		d.ch = 1 - d.ch
		buf = append(buf, spec.Change{At: d.elapsed, Signal: spec.SigCH, Level: d.ch})
	}
	return spec.Reply{}, buf
}

func (d *toggler) Advance(seconds uint64, buf []spec.Change) []spec.Change {
	end := d.elapsed + seconds
	for next := d.elapsed/10*10 + 10; next <= end; next += 10 {
		buf = append(buf, spec.Change{At: next, Signal: spec.SigHW, Level: spec.Level(next / 10 % 2)})
	}
	d.elapsed = end
	return buf
}

func newToggler(spec.ICS) Device { return &toggler{} }

func TestServe(t *testing.T) {
	long := strings.Repeat("x", 300)
	requests := strings.Join([]string{
		"go 5", // before the first new
		"hello 1", "hello 2", "hello", "new", "override ch", "power on", "go 25", "override ch", "go 0", "lock remove 1234",
		"go 1000000001", "go -1", "go 1 2", "new x", "bye now", "", "frobnicate", "mode ch tabel", "mode ch", "ov\x00erride ch", long,
		"override ch" + strings.Repeat(" ", 110), "new\r", "override ch", "bye", "go 1",
	}, "\n") + "\n"
	want := "ok\n" + string(AppendICS(nil, spec.FullICS())) + `ok
error this unit speaks version 1
error this unit speaks version 1
ok
refused no power
ok
@10 hw 1
@20 hw 0
ok
@25 ch 1
ok
ok
unsupported
error word 2: seconds is a number from 0 to 1000000000 without sign or leading zeros
error word 2: seconds is a number from 0 to 1000000000 without sign or leading zeros
error word 3: the line should have ended before it
error word 2: the line should have ended before it
error word 2: the line should have ended before it
error word 1: a request is hello, new, go, bye or an input
error word 1: a request is hello, new, go, bye or an input
error word 3: mode is off, table, span or always
error word 3 is missing: mode is off, table, span or always
error a line is at most 120 bytes of printable ASCII
error a line is at most 120 bytes of printable ASCII
error a line is at most 120 bytes of printable ASCII
ok
refused no power
ok
`
	for name, reader := range map[string]io.Reader{
		"at once":     strings.NewReader(requests),
		"byte-wise":   iotest.OneByteReader(strings.NewReader(requests)),
		"data at EOF": iotest.DataErrReader(strings.NewReader(requests)),
	} {
		var out bytes.Buffer
		if err := Serve(reader, &out, spec.FullICS(), newToggler); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if got := out.String(); got != want {
			t.Errorf("%s: got\n%s\nwant\n%s", name, got, want)
		}
	}
}

// TestServeSkipsLongLines: a line longer than any buffer is one error, and what follows it is answered.
func TestServeSkipsLongLines(t *testing.T) {
	var out bytes.Buffer
	in := strings.Repeat("x", 200_000) + "\nnew\n"
	if err := Serve(strings.NewReader(in), &out, spec.FullICS(), newToggler); err != nil {
		t.Fatal(err)
	}
	if got, want := out.String(), "error a line is at most 120 bytes of printable ASCII\nok\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestServeEnds(t *testing.T) {
	broken := errors.New("broken")
	for _, test := range []struct {
		name string
		in   io.Reader
		out  string
		want error
	}{
		{"end of input", strings.NewReader("new\n"), "ok\n", nil},
		{"nothing", strings.NewReader(""), "", nil},
		{"half a line", strings.NewReader("new\ngo 1"), "ok\n", io.ErrUnexpectedEOF},
		{"half a long line", strings.NewReader(strings.Repeat("x", 1000)), "", io.ErrUnexpectedEOF},
		{"read error", io.MultiReader(strings.NewReader("new\n"), iotest.ErrReader(broken)), "ok\n", broken},
	} {
		var out bytes.Buffer
		err := Serve(test.in, &out, spec.FullICS(), newToggler)
		if !errors.Is(err, test.want) {
			t.Errorf("%s: %v, want %v", test.name, err, test.want)
		}
		if out.String() != test.out {
			t.Errorf("%s: wrote %q, want %q", test.name, out.String(), test.out)
		}
	}
	in, out := io.Pipe()
	in.CloseWithError(broken)
	if err := Serve(strings.NewReader("new\n"), out, spec.FullICS(), newToggler); !errors.Is(err, broken) {
		t.Errorf("a bench that does not read: %v", err)
	}
}

// TestServeFlushes checks that a bench that waits for each answer gets it.
func TestServeFlushes(t *testing.T) {
	requests, toServe := io.Pipe()
	fromServe, answers := io.Pipe()
	result := make(chan error, 1)
	go func() {
		err := Serve(requests, answers, spec.FullICS(), newToggler)
		answers.Close()
		result <- err
	}()
	buf := make([]byte, 100)
	for range 10 {
		if _, err := toServe.Write([]byte("go 1\n")); err != nil {
			t.Fatal(err)
		}
		n, err := fromServe.Read(buf)
		if err != nil || !strings.HasSuffix(string(buf[:n]), "ok\n") {
			t.Fatalf("got %q, %v", buf[:n], err)
		}
	}
	toServe.Close()
	if err := <-result; err != nil {
		t.Error(err)
	}
}

func FuzzServe(f *testing.F) {
	f.Add([]byte("hello 1\nnew\npower on\noverride ch\ngo 100\nbye\n"))
	f.Add([]byte("go 1000000\r\n\x00\n" + strings.Repeat("y", 200) + "\nmode"))
	f.Fuzz(func(t *testing.T, in []byte) {
		var out bytes.Buffer
		err := Serve(bytes.NewReader(in), &out, spec.FullICS(), newQuiet)
		if complete := len(in) == 0 || in[len(in)-1] == '\n'; err != nil && complete {
			t.Errorf("%q: %v", in, err)
		}
		requests, closings := bytes.Count(in, []byte{'\n'}), 0
		for line := range bytes.Lines(out.Bytes()) {
			line = bytes.TrimSuffix(line, []byte{'\n'})
			if _, err := ParseClosing(line); err == nil {
				closings++
			} else if !bytes.HasPrefix(line, []byte(icsPrefix)) {
				t.Errorf("%q: a line that breaks the protocol: %v", in, err)
			}
		}
		if ended := bytes.Contains(in, []byte(Bye)); closings != requests && !ended {
			t.Errorf("%q: %d requests, %d closing lines:\n%s", in, requests, closings, out.Bytes())
		}
	})
}

type quiet struct{}

func newQuiet(spec.ICS) Device { return quiet{} }

func (quiet) Do(in spec.Input, buf []spec.Change) (spec.Reply, []spec.Change) {
	return spec.Reply{Outcome: spec.Outcome(in.Amount % 3), Refusal: spec.Refusal(in.Minute % spec.NumRefusals)}, buf
}

func (quiet) Advance(_ uint64, buf []spec.Change) []spec.Change { return buf }

func BenchmarkServe(b *testing.B) {
	const lines = "new\npower on\nclock 2026-01-14 06:00\nmode hw off\nperiod ch all 1 06:30 09:00\noverride ch\nboost ch 60\ngo 100\n"
	requests := []byte(strings.Repeat(lines, 1000))
	b.ReportAllocs()
	for b.Loop() {
		if err := Serve(bytes.NewReader(requests), io.Discard, spec.FullICS(), newQuiet); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(8000*b.N), "ns/request")
}
