package wire

import (
	"fmt"
	"testing"

	"example.org/hearthbench/emulator/spec"
)

// checkWords checks that exactly count values have words, all different, and that each parses back.
func checkWords[T ~uint8](t *testing.T, name string, count int, word func(T) string, parse func(string) (T, error)) {
	t.Helper()
	seen := map[string]bool{}
	for value := range T(count) {
		w := word(value)
		got, err := parse(w)
		if err != nil || got != value {
			t.Errorf("%s %d is %q, which parses as %d, %v", name, value, w, got, err)
		}
		if seen[w] {
			t.Errorf("%s: two values are %q", name, w)
		}
		seen[w] = true
	}
	beyond := word(T(count))
	if _, err := parse(beyond); err == nil {
		t.Errorf("%s: the word %q of a value that does not exist parses", name, beyond)
	}
	if _, err := parse("nonsense"); err == nil {
		t.Errorf("%s: nonsense parses", name)
	}
}

func TestWords(t *testing.T) {
	checkWords(t, "signal", spec.NumSignals, SignalWord, ParseSignal)
	checkWords(t, "channel", spec.NumChannels, ChannelWord, ParseChannel)
	checkWords(t, "mode", int(spec.Always)+1, ModeWord, ParseMode)
	checkWords(t, "table", int(spec.BothTables)+1, TableWord, ParseTable)
	checkWords(t, "day", int(spec.All)+1, DayWord, ParseDay)
	checkWords(t, "stage", int(spec.Restricted)+1, StageWord, ParseStage)
	checkWords(t, "outcome", int(spec.Unsupported)+1, OutcomeWord, ParseOutcome)
	checkWords(t, "option", int(spec.FitCoupling)+1, FitOptionWord, ParseFitOption)
	checkWords(t, "channels", int(spec.OnlyCH)+1, ChannelsWord, ParseChannels)
	checkWords(t, "cycle", int(spec.Cycle7Day)+1, CycleWord, ParseCycle)
	checkWords(t, "timing", int(spec.Shared)+1, TimingWord, ParseTiming)
	checkWords(t, "coupling", int(spec.Gravity)+1, CouplingWord, ParseCoupling)
	checkWords(t, "lost-clock", int(spec.LostRestarts)+1, LostClockWord, ParseLostClock)
	checkWords(t, "input", spec.NumKinds, KindWord, ParseKind)
	for o := spec.FitChannels; o <= spec.FitCoupling; o++ {
		checkWords(t, FitOptionWord(o), len(FitWords(o)),
			func(v uint8) string { return FitValueWord(o, v) },
			func(w string) (uint8, error) { return ParseFitValue(o, w) })
	}
	for s := range spec.Signal(spec.NumSignals) {
		count := 2
		if s == spec.SigAlert {
			count = 4
		}
		checkWords(t, "level of "+SignalWord(s), count,
			func(l spec.Level) string { return LevelWord(s, l) },
			func(w string) (spec.Level, error) { return ParseLevel(s, w) })
	}
	if got := RefusalWords(spec.NumRefusals); got != "(18)" {
		t.Errorf("a refusal that does not exist is %q", got)
	}
	if _, err := ParseMode("tabel"); err == nil || err.Error() != "'tabel' is wrong: mode is off, table, span or always" {
		t.Errorf("ParseMode: %v", err)
	}
}

func TestDatesAndTimes(t *testing.T) {
	for minute := range uint16(spec.MinutesPerDay + 1) {
		text := string(AppendTime(nil, minute))
		if got, err := ParseTime(text); err != nil || got != minute || len(text) != 5 {
			t.Fatalf("minute %d is %q, which parses as %d, %v", minute, text, got, err)
		}
	}
	if _, err := ParseTime("24:01"); err == nil || err.Error() != "'24:01' is wrong: a time is hh:mm from 00:00 to 24:00" {
		t.Errorf("ParseTime: %v", err)
	}
	for _, d := range []spec.Date{{}, {Year: 7, Month: 8, Day: 9}, {Year: 2026, Month: 12, Day: 31}, {Year: 9999, Month: 99, Day: 99}} {
		text := string(AppendDate(nil, d))
		if got, err := ParseDate(text); err != nil || got != d || len(text) != 10 {
			t.Errorf("%v is %q, which parses as %v, %v", d, text, got, err)
		}
	}
	if _, err := ParseDate("2026-1-1"); err == nil || err.Error() != "'2026-1-1' is wrong: a date is YYYY-MM-DD" {
		t.Errorf("ParseDate: %v", err)
	}
}

func FuzzDatesAndTimes(f *testing.F) {
	f.Add("2026-02-30")
	f.Add("24:00")
	f.Fuzz(func(t *testing.T, text string) {
		if d, err := ParseDate(text); err == nil && string(AppendDate(nil, d)) != text {
			t.Errorf("%q is %v", text, d)
		}
		if m, err := ParseTime(text); err == nil && (string(AppendTime(nil, m)) != text || m > spec.MinutesPerDay) {
			t.Errorf("%q is %v", text, m)
		}
	})
}

func FuzzOptions(f *testing.F) {
	f.Add("zone", "-60")
	f.Add("cycle", "24h,7day 24h")
	f.Add("credential", "0042")
	f.Fuzz(func(t *testing.T, name, value string) {
		s := spec.FullICS()
		before := s
		switch err := SetOption(&s, name, value); {
		case err != nil && s != before:
			t.Errorf("%s %q changes the ICS in spite of %v", name, value, err)
		case err == nil:
			again := before
			if err := SetOption(&again, name, Option(s, name)); err != nil || again != s {
				t.Errorf("%s %q reads %q, which sets %+v, %v", name, value, Option(s, name), again, err)
			}
		}
	})
}

func TestVersion(t *testing.T) {
	if want := fmt.Sprintf("hello %d", Version); Hello != want {
		t.Errorf("the request is %q, want %q", Hello, want)
	}
}
