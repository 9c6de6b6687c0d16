package faults

import (
	"slices"
	"strings"
	"testing"

	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/vectors"
)

// masks are sequences that show one of a double's two faults by itself and not the double.
var masks = map[string]struct {
	single string
	steps  []WitnessStep
}{
	"BST/short-and-held":                 {"BST/a-minute-short", witness("0 power on", "0 boost ch 60", "3600")},
	"CPL/boosted-instead-of-coupled":     {"CPL/not-under-boost", witness("0 power on", "0 boost ch 60", "3600")},
	"CPL/overridden-instead-of-coupled":  {"CPL/not-under-override", witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "10800")},
	"CPL/mode-turned-instead-of-coupled": {"CPL/hot-water-off-means-off", witness("0 power on", "0 mode hw off", "0 boost ch 60", "3600")},
	"LCK/mains-and-the-cut-added":        {"LCK/mains-only", witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0 power off", "3600 power on", "86400")},
	"LCK/reset-restores-the-hour":        {"LCK/reset-restarts-count", witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "3600 reset", "90000")},
	"LCK/reset-and-the-clocks-hour": {"LCK/reset-restarts-window", witness("0 power on", "0 clock 2026-01-14 16:00", "0 lock arm 246810 1 1 10 10 10 10 none",
		"600 reset", "7200")},
	"PWR/long-reserve-on-the-minute": {"PWR/reserve-on-the-minute", witness("0 power on", "0 clock 2026-01-14 00:00", "1 power off", "28800 power on", "36000")},
	"PWR/second-lost-and-found":      {"PWR/clock-a-second-late", witness("0 power on", "0 clock 2026-01-14 06:58", "0 power off", "60 power on", "10800")},
	"PWR/boost-kept-to-the-start-up": {"PWR/keeps-boost", witness("0 power on", "0 boost ch 60", "0 power off", "60 power on", "60")},
	"CLK/fast-clock-late-table":      {"CLK/set-a-minute-fast", witness("0 power on", "0 clock 2026-01-14 06:58", "10800")},
	"TAB/days-from-sunday-twice":     {"TAB/edits-tomorrows-row", witness("0 power on", "0 clock 2026-01-14 12:00", "0 period ch wed 1 12:00 13:00", "3600")},
	"HOL/day-added-and-taken":        {"HOL/days-from-one", witness("0 power on", "0 clock 2026-01-14 07:00", "0 holiday 2", "259200")},
	"OUT/fast-clock-late-relays":     {"CLK/set-a-second-fast", witness("0 power on", "0 clock 2026-01-14 06:58", "10800")},
}

func TestHalves(t *testing.T) {
	for _, f := range halves {
		right, err := told(oracle.Emulator(f.ICS()), f.Witness)
		if err != nil {
			t.Fatal(err)
		}
		if faulty, _ := told(f.Unit(f.ICS()), f.Witness); faulty == right {
			t.Errorf("%s: nothing differs on its witness:\n%s", f.ID, right)
		}
	}
}

// Each double departs on its witness, and hides one of its two on a sequence that shows that one.
func TestDoubles(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range Doubles() {
		ics := f.ICS()
		if seen[f.ID] || !strings.HasPrefix(f.ID, f.Family+"/") {
			t.Errorf("%s is there twice, or not of family %s", f.ID, f.Family)
		}
		seen[f.ID] = true
		differs := func(f *Fault, steps []WitnessStep) (string, bool) {
			right, err := told(oracle.Emulator(ics), steps)
			if err != nil {
				t.Fatalf("%s: %v", f.ID, err)
			}
			faulty, _ := told(f.Unit(ics), steps)
			return right + "against\n" + faulty, faulty != right
		}
		if text, ok := differs(&f, f.Witness); !ok {
			t.Errorf("%s: nothing differs on its witness:\n%s", f.ID, text)
		}
		mask := masks[f.ID]
		alone := single(mask.single)
		if text, ok := differs(&alone, mask.steps); !ok {
			t.Errorf("%s: %s by itself does not show:\n%s", f.ID, mask.single, text)
		}
		if text, ok := differs(&f, mask.steps); ok {
			t.Errorf("%s: %s is not hidden:\n%s", f.ID, mask.single, text)
		}
	}
}

// Every double is caught by a published vector.
func TestVectorsCatchDoubles(t *testing.T) {
	s, err := suite.Load(vectors.Files)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range Doubles() {
		if !slices.ContainsFunc(s.Vectors, func(v *suite.Vector) bool {
			caught, _ := catches(t, &f, v)
			return caught
		}) {
			t.Errorf("%s: no published vector catches it: %s", f.ID, f.Words)
		}
	}
}
