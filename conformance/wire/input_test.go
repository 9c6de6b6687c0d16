package wire

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/hearthbench/emulator/spec"
)

// Each line of ADAPTER.md's table of inputs, with what it means.
var goodInputs = []struct {
	line string
	want spec.Input
}{
	{"power on", spec.Input{Kind: spec.PowerOn}},
	{"power off", spec.Input{Kind: spec.PowerOff}},
	{"fit channels both", spec.Input{Kind: spec.Fit, FitOption: spec.FitChannels, FitValue: uint8(spec.BothChannels)}},
	{"fit channels ch", spec.Input{Kind: spec.Fit, FitOption: spec.FitChannels, FitValue: uint8(spec.OnlyCH)}},
	{"fit cycle 5/2", spec.Input{Kind: spec.Fit, FitOption: spec.FitCycle, FitValue: uint8(spec.Cycle52)}},
	{"fit timing shared", spec.Input{Kind: spec.Fit, FitOption: spec.FitTiming, FitValue: uint8(spec.Shared)}},
	{"fit coupling gravity", spec.Input{Kind: spec.Fit, FitOption: spec.FitCoupling, FitValue: uint8(spec.Gravity)}},
	{"clock 2026-01-14 06:00", spec.Input{Kind: spec.SetClock, Date: spec.Date{Year: 2026, Month: 1, Day: 14}, Minute: 360}},
	{"clock 2026-02-30 24:00", spec.Input{Kind: spec.SetClock, Date: spec.Date{Year: 2026, Month: 2, Day: 30}, Minute: 1440}},
	{"clock 0000-00-00 00:00", spec.Input{Kind: spec.SetClock}},
	{"clock 9999-99-99 23:59", spec.Input{Kind: spec.SetClock, Date: spec.Date{Year: 9999, Month: 99, Day: 99}, Minute: 1439}},
	{"mode hw off", spec.Input{Kind: spec.SetMode, Channel: spec.HW, Mode: spec.Off}},
	{"mode ch always", spec.Input{Kind: spec.SetMode, Channel: spec.CH, Mode: spec.Always}},
	{"period both weekend 9 00:00 24:00", spec.Input{Kind: spec.SetPeriod, Table: spec.BothTables, Day: spec.Weekend, Slot: 9,
		Period: spec.Period{On: 0, Off: 1440}}},
	{"period ch sun 1 22:05 06:30", spec.Input{Kind: spec.SetPeriod, Table: spec.CHTable, Day: spec.Sun, Slot: 1,
		Period: spec.Period{On: 22*60 + 5, Off: 390}}},
	{"override hw", spec.Input{Kind: spec.Override, Channel: spec.HW}},
	{"boost ch 0", spec.Input{Kind: spec.Boost, Channel: spec.CH}},
	{"boost hw 4294967295", spec.Input{Kind: spec.Boost, Channel: spec.HW, Amount: 4294967295}},
	{"holiday 14", spec.Input{Kind: spec.Holiday, Amount: 14}},
	{"holiday cancel", spec.Input{Kind: spec.HolidayCancel}},
	{"lock arm 0042 30 7 none 254 60 20 08:00,18:30", spec.Input{Kind: spec.LockArm, Credential: "0042", Terms: spec.LockTerms{
		Days: 30, NoticeDays: 7,
		Notice: [2]uint8{spec.NoAllowance, 254}, Restricted: [2]uint8{60, 20},
		Sounder: [4]uint16{480, 1110}, Sounders: 2}}},
	{"lock arm 1234 65535 0 0 0 0 0 none", spec.Input{Kind: spec.LockArm, Credential: "1234", Terms: spec.LockTerms{Days: 65535}}},
	{"lock remove 1", spec.Input{Kind: spec.LockRemove, Credential: "1"}},
	{"reset", spec.Input{Kind: spec.Reset}},
}

func TestInputLines(t *testing.T) {
	seen := [spec.NumKinds]bool{}
	for _, test := range goodInputs {
		got, err := ParseInput(test.line)
		if err != nil {
			t.Errorf("%v", err)
			continue
		}
		if diff := cmp.Diff(test.want, got); diff != "" {
			t.Errorf("ParseInput(%q): -want +got\n%s", test.line, diff)
		}
		if line := string(AppendInput(nil, test.want)); line != test.line {
			t.Errorf("AppendInput gives %q, want %q", line, test.line)
		}
		seen[test.want.Kind] = true
	}
	for kind, tested := range seen {
		if !tested {
			t.Errorf("no line tests the kind %q", KindWord(spec.Kind(kind)))
		}
	}
}

func TestTooManySounderTimes(t *testing.T) {
	in, err := ParseInput("lock arm 1234 30 7 none none 10 10 01:00,02:00,03:00,04:00,05:00")
	if err != nil {
		t.Fatal(err)
	}
	if in.Terms.Sounders != 5 || in.Terms.Sounder != [4]uint16{60, 120, 180, 240} {
		t.Errorf("got %d times %v, want 5 of which the first four are kept", in.Terms.Sounders, in.Terms.Sounder)
	}
	const want = "lock arm 1234 30 7 none none 10 10 01:00,02:00,03:00,04:00,00:00"
	if got := string(AppendInput(nil, in)); got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

func TestBadInputLines(t *testing.T) {
	const (
		space  = "words are separated by exactly one space"
		kind   = "an input is power, fit, clock, mode, period, override, boost, holiday, lock or reset"
		date   = "a date is YYYY-MM-DD"
		time   = "a time is hh:mm from 00:00 to 24:00"
		ended  = "the line should have ended before it"
		amount = " is a number from 0 to 4294967295 without sign or leading zeros"
	)
	for _, test := range []struct{ line, want string }{
		{"", "word 1 of '': " + kind},
		{" ", "word 1 of ' ': " + space},
		{" reset", "word 1 of ' reset': " + space},
		{"reset ", "word 2 of 'reset ': " + space},
		{"reset now", "word 2 of 'reset now': " + ended},
		{"reset\r", `word 1 of 'reset\r': ` + kind},
		{"reset\x00", `word 1 of 'reset\x00': ` + kind},
		{"Reset", "word 1 of 'Reset': " + kind},
		{"new", "word 1 of 'new': " + kind},
		{"power", "word 2 of 'power' is missing: power is on or off"},
		{"power ", "word 2 of 'power ': " + space},
		{"power up", "word 2 of 'power up': power is on or off"},
		{"power on on", "word 3 of 'power on on': " + ended},
		{"mode ch tabel", "word 3 of 'mode ch tabel': mode is off, table, span or always"},
		{"mode ch", "word 3 of 'mode ch' is missing: mode is off, table, span or always"},
		{"mode  ch off", "word 2 of 'mode  ch off': " + space},
		{"mode both off", "word 2 of 'mode both off': channel is hw or ch"},
		{"mode ch\toff", `word 2 of 'mode ch\toff': channel is hw or ch`},
		{"mode ch süd", `word 3 of 'mode ch s\u00fcd': mode is off, table, span or always`},
		{"fit colour red", "word 2 of 'fit colour red': option is channels, cycle, timing or coupling"},
		{"fit cycle 6day", "word 3 of 'fit cycle 6day': cycle is 24h, 5/2 or 7day"},
		{"fit coupling", "word 3 of 'fit coupling' is missing: coupling is independent or gravity"},
		{"clock 2026-1-14 06:00", "word 2 of 'clock 2026-1-14 06:00': " + date},
		{"clock 2026/01/14 06:00", "word 2 of 'clock 2026/01/14 06:00': " + date},
		{"clock 2026-01-1x 06:00", "word 2 of 'clock 2026-01-1x 06:00': " + date},
		{"clock 2026-01-14", "word 3 of 'clock 2026-01-14' is missing: " + time},
		{"clock 2026-01-14 6:00", "word 3 of 'clock 2026-01-14 6:00': " + time},
		{"clock 2026-01-14 06:60", "word 3 of 'clock 2026-01-14 06:60': " + time},
		{"clock 2026-01-14 24:01", "word 3 of 'clock 2026-01-14 24:01': " + time},
		{"clock 2026-01-14 99:59", "word 3 of 'clock 2026-01-14 99:59': " + time},
		{"clock 2026-01-14 06:00:00", "word 3 of 'clock 2026-01-14 06:00:00': " + time},
		{"period ac all 1 06:00 07:00", "word 2 of 'period ac all 1 06:00 07:00': table is hw, ch or both"},
		{"period ch every 1 06:00 07:00", "word 3 of 'period ch every 1 06:00 07:00': " +
			"day is mon, tue, wed, thu, fri, sat, sun, weekdays, weekend or all"},
		{"period ch all 0 06:00 07:00", "word 4 of 'period ch all 0 06:00 07:00': slot is 1 to 9"},
		{"period ch all 10 06:00 07:00", "word 4 of 'period ch all 10 06:00 07:00': slot is 1 to 9"},
		{"period ch all 01 06:00 07:00", "word 4 of 'period ch all 01 06:00 07:00': slot is 1 to 9"},
		{"period ch all 1 06:00", "word 6 of 'period ch all 1 06:00' is missing: " + time},
		{"override", "word 2 of 'override' is missing: channel is hw or ch"},
		{"boost ch", "word 3 of 'boost ch' is missing: minutes" + amount},
		{"boost ch -60", "word 3 of 'boost ch -60': minutes" + amount},
		{"boost ch +60", "word 3 of 'boost ch +60': minutes" + amount},
		{"boost ch 060", "word 3 of 'boost ch 060': minutes" + amount},
		{"boost ch 4294967296", "word 3 of 'boost ch 4294967296': minutes" + amount},
		{"boost ch 18446744073709551616", "word 3 of 'boost ch 18446744073709551616': minutes" + amount},
		{"boost ch 60.0", "word 3 of 'boost ch 60.0': minutes" + amount},
		{"holiday", "word 2 of 'holiday' is missing: days is cancel, or" + amount[3:]},
		{"holiday Cancel", "word 2 of 'holiday Cancel': days is cancel, or" + amount[3:]},
		{"lock", "word 2 of 'lock' is missing: lock is arm or remove"},
		{"lock open 1234", "word 2 of 'lock open 1234': lock is arm or remove"},
		{"lock remove", "word 3 of 'lock remove' is missing: credential is decimal digits"},
		{"lock remove 12a4", "word 3 of 'lock remove 12a4': credential is decimal digits"},
		{"lock arm 1234 65536 7 none none none none none", "word 4 of 'lock arm 1234 65536 7 none none none none none': " +
			"days is a number from 0 to 65535 without sign or leading zeros"},
		{"lock arm 1234 30 x none none none none none", "word 5 of 'lock arm 1234 30 x none none none none none': " +
			"notice days is a number from 0 to 65535 without sign or leading zeros"},
		{"lock arm 1234 30 7 none none 255 none none", "word 8 of 'lock arm 1234 30 7 none none 255 none none': " +
			"an allowance is none, or a number of minutes from 0 to 254 without sign or leading zeros"},
		{"lock arm 1234 30 7 none none none none", "word 10 of 'lock arm 1234 30 7 none none none none' is missing: " +
			"sounder is none, or times hh:mm from 00:00 to 24:00 joined by commas"},
		{"lock arm 1 1 1 none none none none 08:00,", "word 10 of 'lock arm 1 1 1 none none none none 08:00,': " +
			"sounder is none, or times hh:mm from 00:00 to 24:00 joined by commas"},
		{"lock arm 1 1 1 none none none none 08:00, 09:00", "word 10 of 'lock arm 1 1 1 none none none none 08:00, 09:00': " +
			"sounder is none, or times hh:mm from 00:00 to 24:00 joined by commas"},
		{"lock arm 1 1 1 none none none none 08:00;09:00", "word 10 of 'lock arm 1 1 1 none none none none 08:00;09:00': " +
			"sounder is none, or times hh:mm from 00:00 to 24:00 joined by commas"},
		{"lock arm 1 1 1 none none none none none none", "word 11 of 'lock arm 1 1 1 none none none none none none': " + ended},
		{"lock remove " + strings.Repeat("1", 109), "line 'lock remove " + strings.Repeat("1", 108) +
			"…': a line has at most 120 bytes"},
	} {
		in, err := ParseInput(test.line)
		if err == nil {
			t.Errorf("ParseInput(%q) = %+v, want the error %q", test.line, in, test.want)
			continue
		}
		if err.Error() != test.want {
			t.Errorf("ParseInput(%q)\n got %q\nwant %q", test.line, err, test.want)
		}
		if in != (spec.Input{}) {
			t.Errorf("ParseInput(%q) gives %+v with its error, want none", test.line, in)
		}
	}
}

func TestLongestLineParses(t *testing.T) {
	line := "lock remove " + strings.Repeat("1", 108)
	if len(line) != MaxLine {
		t.Fatalf("the test's line has %d bytes", len(line))
	}
	if _, err := ParseInput(line); err != nil {
		t.Error(err)
	}
}

func FuzzInput(f *testing.F) {
	for _, test := range goodInputs {
		f.Add(test.line)
	}
	f.Add("mode  ch off ")
	f.Add("lock arm 1 1 1 none none none none 08:00,09:00,10:00,11:00,12:00,13:00")
	f.Fuzz(func(t *testing.T, line string) {
		in, err := ParseInput(line)
		if err != nil {
			if in != (spec.Input{}) {
				t.Errorf("%q: an input with the error %v", line, err)
			}
			return
		}
		again := string(AppendInput(nil, in))
		if again != line && in.Terms.Sounders <= spec.MaxSounderTimes {
			t.Errorf("%q becomes %q", line, again)
		}
		if len(again) != len(line) {
			t.Errorf("%q becomes %q", line, again)
		}
		in2, err := ParseInput(again)
		if err != nil || in2 != in {
			t.Errorf("%q becomes %q, which parses as %+v, %v", line, again, in2, err)
		}
	})
}

func TestInputDoesNotAllocate(t *testing.T) {
	buf := make([]byte, 0, 256)
	for _, test := range goodInputs {
		copies := 0.0
		if test.want.Credential != "" {
			copies = 1
		}
		if len(test.line) > 32 {
			copies++ // of the line, in this test: the compiler keeps only short ones on the stack
		}
		line := []byte(test.line)
		n := testing.AllocsPerRun(20, func() {
			in, err := ParseInput(string(line))
			if err != nil {
				t.Fatal(err)
			}
			buf = AppendInput(buf[:0], in)
		})
		if n > copies {
			t.Errorf("%q allocates %v times, want at most %v", test.line, n, copies)
		}
	}
}
