package timing

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/hearthbench/emulator/spec"
)

func secondLabel(second uint64) string { return "t=" + strconv.FormatUint(second, 10) }

func drawAligned(a *Aligned) string {
	var b strings.Builder
	a.Label = secondLabel
	a.Draw(&b, "  ")
	return b.String()
}

func change(at uint64, s spec.Signal, level spec.Level) spec.Change {
	return spec.Change{At: at, Signal: s, Level: level}
}

// Columns stand at 0, where every drawing begins, at 10 and 20, where hw changes, at 15, a step, and at 20 again, the mark. A lane
// draws from its column to the next what has come of everything in its second.
func TestAlignedDrawing(t *testing.T) {
	a := Aligned{
		Lanes: []Lane{
			{Name: "hw expected", Signal: spec.SigHW, Changes: []spec.Change{change(10, spec.SigHW, 1), change(12, spec.SigCH, 1), change(20, spec.SigHW, 0)}},
			{Name: "hw", Signal: spec.SigHW, Initial: 1, Changes: []spec.Change{change(20, spec.SigHW, 0)}},
		},
		Extra: []uint64{15},
		Mark:  20,
	}
	assert.Equal(t, strings.Join([]string{
		"              t=0      t=10     t=15     t=20",
		"  hw expected _________##################_________",
		"  hw          ###########################_________",
		"                                         ^ here",
		"",
	}, "\n"), drawAligned(&a), "the heating relay's change at 12 is no lane's and has no column")
}

// With changes at every ten seconds up to 100 and the mark at 50, four columns stand before it and three after it.
func TestAlignedWindow(t *testing.T) {
	lane := Lane{Name: "ch", Signal: spec.SigCH}
	for i := uint64(1); i <= 10; i++ {
		lane.Changes = append(lane.Changes, change(10*i, spec.SigCH, spec.Level(i%2)))
	}
	a := Aligned{Lanes: []Lane{lane}, Mark: 50}
	assert.Equal(t, strings.Join([]string{
		"     t=10     t=20     t=30     t=40     t=50     t=60     t=70     t=80",
		"  ch #########_________#########_________#########_________#########_________",
		"                                         ^ here",
		"",
	}, "\n"), drawAligned(&a))

	a.Mark = 0 // at the left edge: nothing before it
	assert.Equal(t, strings.Join([]string{
		"     t=0      t=10     t=20     t=30",
		"  ch _________#########_________#########",
		"     ^ here",
		"",
	}, "\n"), drawAligned(&a))

	a.Mark = 100 // at the right edge: nothing after it
	assert.Equal(t, strings.Join([]string{
		"     t=60     t=70     t=80     t=90     t=100",
		"  ch _________#########_________#########_________",
		"                                         ^ here",
		"",
	}, "\n"), drawAligned(&a))

	a.Mark = 45 // between two changes it has a column of its own
	assert.Equal(t, strings.Join([]string{
		"     t=10     t=20     t=30     t=40     t=45     t=50     t=60     t=70",
		"  ch #########_________#########__________________#########_________#########",
		"                                         ^ here",
		"",
	}, "\n"), drawAligned(&a))
}

func TestAlignedWithoutChanges(t *testing.T) {
	a := Aligned{Lanes: []Lane{{Name: "hw", Signal: spec.SigHW, Initial: 1}}}
	assert.Equal(t, "     t=0\n  hw #########\n     ^ here\n", drawAligned(&a))
	a.Lanes = nil
	assert.Equal(t, "   t=0\n   ^ here\n", drawAligned(&a))
}

// Several changes in one second show as a star and the level that is left; one change, or changes of another signal, do not.
func TestAlignedStars(t *testing.T) {
	a := Aligned{
		Lanes: []Lane{
			{Name: "hw", Signal: spec.SigHW, Changes: []spec.Change{change(10, spec.SigHW, 1), change(10, spec.SigHW, 0), change(20, spec.SigHW, 1)}},
			{Name: "ch", Signal: spec.SigCH, Initial: 1, Changes: []spec.Change{
				change(10, spec.SigCH, 0), change(10, spec.SigHW, 1), change(20, spec.SigCH, 1), change(20, spec.SigCH, 0), change(20, spec.SigCH, 1)}},
			{Name: "sounder", Signal: spec.SigSounder, Changes: []spec.Change{change(20, spec.SigSounder, 1)}},
		},
		Mark: 10,
	}
	assert.Equal(t, strings.Join([]string{
		"          t=0      t=10     t=20",
		"  hw      _________*________#########",
		"  ch      #########_________*########",
		"  sounder __________________#########",
		"                   ^ here",
		"",
	}, "\n"), drawAligned(&a))
}

// The alert is written out, as far as it fits with a space after it, and a star goes before the whole word.
func TestAlignedAlert(t *testing.T) {
	lane := Lane{Name: "alert", Signal: spec.SigAlert, Initial: spec.Level(spec.Counting), Changes: []spec.Change{
		change(10, spec.SigAlert, spec.Level(spec.Notice)), change(20, spec.SigAlert, spec.Level(spec.Restricted)),
		change(30, spec.SigAlert, spec.Level(spec.Dormant)), change(30, spec.SigAlert, spec.Level(spec.Notice)),
		change(40, spec.SigAlert, spec.Level(spec.Dormant)), change(40, spec.SigAlert, spec.Level(spec.Restricted)),
	}}
	a := Aligned{Lanes: []Lane{lane}, Mark: 30}
	assert.Equal(t, strings.Join([]string{
		"        t=0      t=10     t=20     t=30     t=40",
		"  alert counting notice   restrict *notice  *restric",
		"                                   ^ here",
		"",
	}, "\n"), drawAligned(&a))
}
