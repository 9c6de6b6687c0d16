package faults

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

func TestIDs(t *testing.T) {
	page, err := suite.New(vectors.Files)
	if err != nil {
		t.Fatal(err)
	}
	families := map[string]bool{}
	for _, f := range page.Page.Families {
		families[f.ID] = true
	}
	form := regexp.MustCompile(`^([A-Z]{3})/[a-z0-9]+(-[a-z0-9]+)*$`)
	seen := map[string]bool{}
	words := map[string]string{}
	for _, f := range Catalogue() {
		m := form.FindStringSubmatch(f.ID)
		switch {
		case m == nil || m[1] != f.Family:
			t.Errorf("%q is not FAMILY/short-words of family %s", f.ID, f.Family)
		case !families[f.Family]:
			t.Errorf("%s: there is no family %s", f.ID, f.Family)
		case seen[f.ID]:
			t.Errorf("%s is there twice", f.ID)
		case words[f.Words] != "":
			t.Errorf("%s has the words of %s", f.ID, words[f.Words])
		case !strings.HasSuffix(f.Words, "."):
			t.Errorf("%s: its words are no sentence: %q", f.ID, f.Words)
		}
		seen[f.ID] = true
		words[f.Words] = f.ID
		if err := f.ICS().Validate(); err != nil {
			t.Errorf("%s: %v", f.ID, err)
		}
	}
}

// told is everything that a unit shows and answers along a witness.
func told(d oracle.Device, steps []WitnessStep) (string, error) {
	var b strings.Builder
	var changes []spec.Change
	now := uint64(0)
	show := func() {
		for _, c := range changes {
			fmt.Fprintf(&b, "@%d %s %s\n", c.At, wire.SignalWord(c.Signal), wire.LevelWord(c.Signal, c.Level))
		}
		changes = changes[:0]
	}
	for _, s := range steps {
		if s.At < now {
			return "", fmt.Errorf("step at %d comes after second %d", s.At, now)
		}
		changes = d.Advance(s.At-now, changes)
		now = s.At
		show()
		if s.Do == "" {
			continue
		}
		in, err := wire.ParseInput(s.Do)
		if err != nil {
			return "", fmt.Errorf("%q: %w", s.Do, err)
		}
		var r spec.Reply
		r, changes = d.Do(in, changes)
		show()
		fmt.Fprintf(&b, "@%d %s: %s\n", now, s.Do, wire.OutcomeWord(r.Outcome))
	}
	return b.String(), nil
}

// Each fault's witness sets it apart from a right unit.
func TestWitnesses(t *testing.T) {
	for _, f := range Catalogue() {
		ics := f.ICS()
		if n := len(f.Witness); n == 0 || f.Witness[n-1].Do != "" || slices.ContainsFunc(f.Witness[:n-1], func(s WitnessStep) bool { return s.Do == "" }) {
			t.Errorf("%s: a witness is lines and then its end", f.ID)
			continue
		}
		right, err := told(oracle.Emulator(ics), f.Witness)
		if err != nil {
			t.Errorf("%s: %v", f.ID, err)
			continue
		}
		faulty, err := told(f.Unit(ics), f.Witness)
		if err != nil {
			t.Errorf("%s: %v", f.ID, err)
		} else if faulty == right {
			t.Errorf("%s: nothing differs on its witness:\n%s", f.ID, right)
		}
	}
}

// Two faults of a family that do the same on the witnesses of all of it are one.
func TestNoTwoFaultsAreAlike(t *testing.T) {
	type behaviour struct {
		ics  spec.ICS
		told string
	}
	seen := map[behaviour]string{}
	for _, f := range Catalogue() {
		b := behaviour{ics: f.ICS()}
		for _, g := range Catalogue() {
			if g.Family == f.Family && g.ICS() == b.ics {
				text, _ := told(f.Unit(b.ics), g.Witness)
				b.told += text
			}
		}
		if twin := seen[b]; twin != "" {
			t.Errorf("%s and %s do the same on all witnesses of their family", twin, f.ID)
		}
		seen[b] = f.ID
	}
}

// The hooks add nothing of their own: without any the unit is the emulator.
func TestNoHooks(t *testing.T) {
	for _, f := range Catalogue() {
		right, _ := told(oracle.Emulator(f.ICS()), f.Witness)
		if have, _ := told(wrap(f.ICS(), hooks{}), f.Witness); have != right {
			t.Errorf("witness of %s: a unit with no hooks\n%s\nthe emulator\n%s", f.ID, have, right)
		}
	}
}

// Whatever is done to it, a faulty unit comes to an end of each step, and shows each change once and in its second.
func TestRandomInputs(t *testing.T) {
	faults := slices.Concat(Catalogue(), Doubles())
	lines := []string{
		"power on", "power on", "power on", "power off", "clock 2026-01-14 06:59", "clock 2026-03-29 00:59", "clock 2026-10-25 01:59",
		"clock 2027-12-31 23:59", "clock 2028-02-28 23:00", "clock 2026-02-30 24:00", "mode hw off", "mode ch table", "mode ch span", "mode ch always",
		"period hw mon 1 06:30 09:00", "period ch wed 2 22:00 24:00", "period ch sun 1 23:00 02:00", "period both all 1 00:00 24:00",
		"override hw", "override ch", "boost hw 60", "boost ch 180", "boost ch 0", "boost ch 61", "holiday 1", "holiday 99", "holiday 100", "holiday cancel",
		"lock arm 246810 1 1 10 none 20 20 07:00", "lock arm 000000 2 1 none none 10 10 none", "lock remove 246810", "reset",
		"fit cycle 5/2", "fit cycle 24h", "fit timing shared", "fit coupling gravity", "fit channels ch",
	}
	const every = 10 // each sequence is put to a tenth of the faults
	rapid.Check(t, func(t *rapid.T) {
		type step struct {
			line string
			wait uint64
		}
		steps := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) step {
			return step{
				line: rapid.SampledFrom(lines).Draw(t, "line"),
				wait: rapid.SampledFrom([]uint64{0, 0, 1, 59, 60, 3600, 28800, 86400, 3 * 86400}).Draw(t, "wait"),
			}
		}), 1, 15).Draw(t, "steps")
		for i := rapid.IntRange(0, every-1).Draw(t, "first"); i < len(faults); i += every {
			f := &faults[i]
			d := f.Unit(f.ICS())
			now := uint64(0)
			var shown [spec.NumSignals]spec.Level
			check := func(changes []spec.Change, from uint64) {
				for _, c := range changes {
					if c.At < from || c.At > now || c.Level == shown[c.Signal] {
						t.Fatalf("%s shows %+v in %d to %d over %d", f.ID, c, from, now, shown[c.Signal])
					}
					from = c.At
					shown[c.Signal] = c.Level
				}
				for s, level := range shown {
					if d.Level(spec.Signal(s)) != level {
						t.Fatalf("%s: signal %d is %d, the last change said %d", f.ID, s, d.Level(spec.Signal(s)), level)
					}
				}
			}
			for _, s := range steps {
				in, err := wire.ParseInput(s.line)
				if err != nil {
					t.Fatal(err)
				}
				_, changes := d.Do(in, nil)
				check(changes, now)
				from := now
				now += s.wait
				check(d.Advance(s.wait, nil), from)
			}
		}
	})
}
