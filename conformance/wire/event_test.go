package wire

import (
	"bytes"
	"strings"
	"testing"

	"example.org/hearthbench/emulator/spec"
)

func TestChanges(t *testing.T) {
	for _, test := range []struct {
		line string
		want spec.Change
	}{
		{"@0 hw 0", spec.Change{}},
		{"@1800 hw 1", spec.Change{At: 1800, Signal: spec.SigHW, Level: 1}},
		{"@7200 ch 0", spec.Change{At: 7200, Signal: spec.SigCH}},
		{"@18446744073709551615 sounder 1", spec.Change{At: 1<<64 - 1, Signal: spec.SigSounder, Level: 1}},
		{"@5 alert none", spec.Change{At: 5, Signal: spec.SigAlert}},
		{"@5 alert restricted", spec.Change{At: 5, Signal: spec.SigAlert, Level: spec.Level(spec.Restricted)}},
	} {
		got, err := ParseChange([]byte(test.line))
		if err != nil || got != test.want {
			t.Errorf("ParseChange(%q) = %+v, %v, want %+v", test.line, got, err, test.want)
		}
		if line := string(AppendChange(nil, test.want)); line != test.line {
			t.Errorf("AppendChange gives %q, want %q", line, test.line)
		}
	}
}

func TestBadChanges(t *testing.T) {
	const (
		event  = "an event is @SECOND SIGNAL LEVEL, SECOND a number without sign or leading zeros"
		signal = "signal is hw, ch, alert or sounder"
		level  = "level is 0 or 1, for the alert none, counting, notice or restricted"
	)
	for _, test := range []struct{ line, want string }{
		{"", "word 1 of '': " + event},
		{"ok", "word 1 of 'ok': " + event},
		{"@", "word 1 of '@': " + event},
		{"@ 12 hw 1", "word 1 of '@ 12 hw 1': " + event},
		{"@-1 hw 1", "word 1 of '@-1 hw 1': " + event},
		{"@007 hw 1", "word 1 of '@007 hw 1': " + event},
		{"@18446744073709551616 hw 1", "word 1 of '@18446744073709551616 hw 1': " + event},
		{"@12", "word 2 of '@12': " + signal},
		{"@12 hw", "word 3 of '@12 hw': " + level},
		{"@12 pump 1", "word 2 of '@12 pump 1': " + signal},
		{"@12 pump", "word 2 of '@12 pump': " + signal},
		{"@12  hw 1", "word 2 of '@12  hw 1': " + signal},
		{"@12 hw on", "word 3 of '@12 hw on': " + level},
		{"@12 hw 2", "word 3 of '@12 hw 2': " + level},
		{"@12 hw 1 ", "word 3 of '@12 hw 1 ': " + level},
		{"@12 hw none", "word 3 of '@12 hw none': " + level},
		{"@12 alert 1", "word 3 of '@12 alert 1': " + level},
		{"@12 hw 1\r", `word 3 of '@12 hw 1\r': ` + level},
	} {
		got, err := ParseChange([]byte(test.line))
		if err == nil {
			t.Errorf("ParseChange(%q) = %+v, want the error %q", test.line, got, test.want)
		} else if err.Error() != test.want {
			t.Errorf("ParseChange(%q)\n got %q\nwant %q", test.line, err, test.want)
		}
	}
}

func FuzzChange(f *testing.F) {
	f.Add([]byte("@1800 hw 1"))
	f.Add([]byte("@0 alert restricted"))
	f.Add([]byte("@99999999999999999999 sounder 0"))
	f.Fuzz(func(t *testing.T, line []byte) {
		c, err := ParseChange(line)
		if err != nil {
			return
		}
		if again := AppendChange(nil, c); !bytes.Equal(again, line) {
			t.Errorf("%q becomes %q", line, again)
		}
	})
}

func TestClosings(t *testing.T) {
	for _, test := range []struct {
		line    string
		outcome spec.Outcome
		isError bool
		words   string
	}{
		{"ok", spec.Accepted, false, ""},
		{"refused", spec.Refused, false, ""},
		{"refused not a whole number of steps", spec.Refused, false, "not a whole number of steps"},
		{"unsupported", spec.Unsupported, false, ""},
		{"error", spec.Accepted, true, ""},
		{"error what", spec.Accepted, true, "what"},
	} {
		got, err := ParseClosing([]byte(test.line))
		if err != nil {
			t.Error(err)
			continue
		}
		if got.Outcome != test.outcome || got.Error != test.isError || string(got.Words) != test.words {
			t.Errorf("ParseClosing(%q) = %+v", test.line, got)
		}
		if line := string(AppendClosing(nil, got)); line != test.line {
			t.Errorf("AppendClosing gives %q, want %q", line, test.line)
		}
	}
	for _, line := range []string{
		"", "OK", "ok ", "ok then", " ok", "ok\r", "unsupported here", "refused ", "refused  twice", "refused  ", "refused end ",
		"refusedx", "error\tx", "error x\x00", "error caf\xe9", "okay", "@5 hw 1", "refused " + strings.Repeat("x", 113),
	} {
		if got, err := ParseClosing([]byte(line)); err == nil {
			t.Errorf("ParseClosing(%q) = %+v, want an error", line, got)
		}
	}
}

func TestClosingWordsArePutRight(t *testing.T) {
	for _, test := range []struct{ words, want string }{
		{"two  spaces ", "error two spaces"},
		{" \x00caf\u00e9\n", "error caf"},
		{"\x01", "error"},
		{strings.Repeat("ab ", 60), "error " + strings.Repeat("ab ", 37) + "a"},
		{strings.Repeat("x", 200), "error " + strings.Repeat("x", 112)},
	} {
		got := string(AppendClosing(nil, Closing{Error: true, Words: []byte(test.words)}))
		if got != test.want {
			t.Errorf("AppendClosing(%q)\n got %q\nwant %q", test.words, got, test.want)
		}
		if _, err := ParseClosing([]byte(got)); err != nil {
			t.Error(err)
		}
	}
}

func TestEveryReplyParses(t *testing.T) {
	for r := spec.NoRefusal; r < spec.NumRefusals; r++ {
		line := AppendReply(nil, spec.Reply{Outcome: spec.Refused, Refusal: r})
		c, err := ParseClosing(line)
		if err != nil || c.Outcome != spec.Refused || string(c.Words) != RefusalWords(r) {
			t.Errorf("refusal %d gives %q, which parses as %+v, %v", r, line, c, err)
		}
		if r != spec.NoRefusal && RefusalWords(r) == "" {
			t.Errorf("refusal %d has no words", r)
		}
	}
	if got := string(AppendReply(nil, spec.Reply{Outcome: spec.Unsupported, Refusal: spec.UnsupportedInput})); got != "unsupported" {
		t.Errorf("got %q, want no words after unsupported", got)
	}
}

func FuzzClosing(f *testing.F) {
	for _, line := range []string{"ok", "refused", "refused no power", "unsupported", "error", "error what is that", "refused  x"} {
		f.Add([]byte(line))
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		if c, err := ParseClosing(line); err == nil {
			if again := AppendClosing(nil, c); !bytes.Equal(again, line) {
				t.Errorf("%q becomes %q", line, again)
			}
		}
		// Whatever the words are, the line that is made of them keeps to the protocol.
		made := AppendClosing(nil, Closing{Outcome: spec.Refused, Words: line})
		if _, err := ParseClosing(made); err != nil {
			t.Errorf("words %q make %q: %v", line, made, err)
		}
	})
}

func TestEventsDoNotAllocate(t *testing.T) {
	event, closing := []byte("@123456 alert counting"), []byte("refused no power")
	buf := make([]byte, 0, 256)
	n := testing.AllocsPerRun(20, func() {
		change, err := ParseChange(event)
		if err != nil {
			t.Fatal(err)
		}
		c, err := ParseClosing(closing)
		if err != nil {
			t.Fatal(err)
		}
		buf = AppendClosing(AppendChange(buf[:0], change), c)
	})
	if n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func BenchmarkInput(b *testing.B) {
	buf := make([]byte, 0, 256)
	b.ReportAllocs()
	for b.Loop() {
		for _, test := range goodInputs[:8] {
			in, err := ParseInput(test.line)
			if err != nil {
				b.Fatal(err)
			}
			buf = AppendInput(buf[:0], in)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(8*b.N), "ns/line")
}
