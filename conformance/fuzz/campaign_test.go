package fuzz

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/faults"
	"example.org/hearthbench/conformance/iut"
	models "example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/sample"
	"example.org/hearthbench/conformance/wasm"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

func emulated(ics spec.ICS) iut.IUT {
	return iut.InProcess("emulator", ics, func(ics spec.ICS) wire.Device { return models.Emulator(ics) })
}

func faulty(f *faults.Fault) iut.IUT {
	return iut.InProcess(f.ID, f.ICS(), func(ics spec.ICS) wire.Device { return f.Unit(ics) })
}

// fault returns the fault of the catalogue with the id.
func fault(tb testing.TB, id string) *faults.Fault {
	tb.Helper()
	list := slices.Concat(faults.Catalogue(), faults.Doubles())
	i := slices.IndexFunc(list, func(f faults.Fault) bool { return f.ID == id })
	require.GreaterOrEqual(tb, i, 0, id)
	return &list[i]
}

func opened(tb testing.TB, module []byte) iut.IUT {
	tb.Helper()
	u, err := wasm.Open(tb.Context(), "a module", module, wasm.Options{})
	require.NoError(tb, err)
	tb.Cleanup(func() { require.NoError(tb, u.Close()) })
	return u
}

// run runs a campaign to its end.
func run(tb testing.TB, unit iut.IUT, o Options) *Campaign {
	tb.Helper()
	c, err := New(unit, o)
	require.NoError(tb, err)
	require.NoError(tb, c.Run(tb.Context()))
	return c
}

// told words what has been found.
func told(c *Campaign) string {
	var b strings.Builder
	for _, f := range c.Findings() {
		fmt.Fprintf(&b, "%s (%d inputs)\n%s\n", f.Group, f.Inputs(), Format(f.Script))
	}
	return b.String()
}

// Units that keep to the clauses have nothing to be found: the emulator itself, the second model, and the sample, which was written from
// the published pages alone.
func TestNothingIsFoundInWhatIsRight(t *testing.T) {
	everyChoice := spec.FullICS()
	everyChoice.OverrideKept, everyChoice.OverrideProgrammed, everyChoice.BoostExtends, everyChoice.BoostInHoliday = true, true, true, true
	everyChoice.ResetUnsetsClock, everyChoice.KeptThroughCut, everyChoice.Wrap, everyChoice.Clamp = true, true, true, true
	everyChoice.LostClock, everyChoice.Zone, everyChoice.Reserve = spec.LostRestarts, 60, 60
	second := func(ics spec.ICS) iut.IUT {
		return iut.InProcess("second model", ics, func(ics spec.ICS) wire.Device { return models.SecondModel(ics) })
	}
	for name, c := range map[string]struct {
		unit     iut.IUT
		steps    uint64
		patience uint64
	}{
		"emulator":                   {emulated(spec.FullICS()), 100_000, Jumping},
		"second model":               {second(spec.FullICS()), 10_000, Ticking},
		"second model, every choice": {second(everyChoice), 10_000, Ticking},
		"sample":                     {opened(t, sample.Module), 50_000, Ticking},
	} {
		t.Run(name, func(t *testing.T) {
			campaign := run(t, c.unit, Options{Seed: 1, Steps: c.steps, Patience: c.patience})
			assert.Empty(t, told(campaign))
			p := campaign.Progress()
			assert.Zero(t, p.Failures)
			assert.GreaterOrEqual(t, p.Steps, c.steps)
			assert.Greater(t, p.Places, 1000)
			assert.Greater(t, p.ClausePairs, 100)
		})
	}
}

// The same seed gives the same campaign to the last byte; another seed or shard gives another.
func TestSameSeedSameBytes(t *testing.T) {
	everything := func(o Options) string {
		c := run(t, faulty(fault(t, "HOL/24-hours-a-day")), o)
		var b strings.Builder
		for _, f := range c.Findings() {
			data, err := f.File()
			require.NoError(t, err)
			b.Write(data)
		}
		for _, script := range c.Corpus() {
			b.Write(Format(script))
		}
		fmt.Fprintf(&b, "%+v", c.Summarize("unit", 1))
		return b.String()
	}
	o := Options{Seed: 7, Steps: 3000, Patience: Jumping}
	first := everything(o)
	assert.Equal(t, first, everything(o))
	batched := o
	batched.Stop = func() bool { return false }
	assert.Equal(t, first, everything(batched), "a limit of time that is not reached changes nothing")
	o.Shard = 1
	assert.NotEqual(t, first, everything(o))
	o.Shard, o.Seed = 0, 8
	assert.NotEqual(t, first, everything(o))
}

// A campaign that is interrupted keeps what it has.
func TestInterruption(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	c, err := New(faulty(fault(t, "BST/a-second-long")), Options{Seed: 1, Found: func(*Finding) error { cancel(); return nil }})
	require.NoError(t, err)
	require.ErrorIs(t, c.Run(ctx), context.Canceled)
	assert.Len(t, c.Findings(), 1)
	assert.NotEmpty(t, c.Corpus())
	assert.Len(t, c.Summarize("unit", 1).Causes, 1)
}

// A corpus is where the next campaign begins.
func TestCorpusIsReplayed(t *testing.T) {
	unit := faulty(fault(t, "OVR/ends-with-the-week"))
	long := run(t, unit, Options{Seed: 3, Steps: 200_000, Patience: Jumping, First: true})
	require.Len(t, long.Findings(), 1)
	again := run(t, unit, Options{Seed: 4, Steps: 100, Corpus: []iut.Script{long.Findings()[0].Script}, First: true})
	require.Len(t, again.Findings(), 1)
	assert.Equal(t, long.Findings()[0].Group, again.Findings()[0].Group)
}

// breaks is a device that panics on an input.
type breaks struct {
	models.Device
	on spec.Kind
}

func (b breaks) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	if in.Kind == b.on {
		panic("stack overflow")
	}
	return b.Device.Do(in, changes)
}

// A unit that breaks down is a cause like another.
func TestBrokenUnit(t *testing.T) {
	unit := iut.InProcess("fragile", spec.FullICS(), func(ics spec.ICS) wire.Device { return breaks{models.Emulator(ics), spec.HolidayCancel} })
	c := run(t, unit, Options{Seed: 1, Steps: 2000, Patience: Jumping})
	require.Len(t, c.Findings(), 1, told(c))
	f := c.Findings()[0]
	assert.Equal(t, iut.Died, f.Trouble.Kind)
	assert.Equal(t, "new\npower on\nholiday cancel\n", string(Format(f.Script)))
	assert.Equal(t, "HOL-7", f.Clause)
}

// late is a device whose relays follow later after power has returned.
type late struct {
	models.Device
	by    uint64
	left  uint64 // until they follow
	held  []spec.Change
	now   uint64
	shown [spec.NumSignals]spec.Level
}

func (l *late) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	var fresh []spec.Change
	r, fresh := l.Device.Do(in, fresh)
	if in.Kind == spec.PowerOn && l.left == 0 {
		l.left = l.by
	}
	if in.Kind == spec.PowerOff && r.Outcome == spec.Accepted {
		l.left = 0
	}
	return r, l.pass(fresh, changes)
}

// pass shows what changes, or holds it back: at last only the levels count.
func (l *late) pass(fresh, changes []spec.Change) []spec.Change {
	if l.left > 0 {
		return changes
	}
	for s := range spec.Signal(spec.NumSignals) {
		at := l.now
		for _, c := range fresh {
			if c.Signal == s {
				at = c.At
			}
		}
		if level := l.Device.Level(s); level != l.shown[s] {
			l.shown[s] = level
			changes = append(changes, spec.Change{At: at, Signal: s, Level: level})
		}
	}
	return changes
}

func (l *late) Advance(seconds uint64, changes []spec.Change) []spec.Change {
	for range seconds {
		fresh := l.Device.Advance(1, nil)
		l.now++
		if l.left > 0 {
			l.left--
		}
		changes = l.pass(fresh, changes)
	}
	return changes
}

// What the statement's tolerances allow is not found, and what they do not is.
func TestTolerances(t *testing.T) {
	ics := spec.FullICS()
	ics.Tolerances.LatePowerOn = 5
	ics.Lock = false
	ics.Credential = ""
	unit := func(by uint64) iut.IUT {
		return iut.InProcess("late", ics, func(ics spec.ICS) wire.Device { return &late{Device: models.Emulator(ics), by: by} })
	}
	beyond := run(t, unit(6), Options{Seed: 1, Steps: 20_000, Patience: 60, First: true})
	require.Len(t, beyond.Findings(), 1)
	assert.NotZero(t, beyond.Progress().Failures)
}

// Two mistakes in one unit are both found, though one shows nearly everywhere.
func TestOneCauseDoesNotHideAnother(t *testing.T) {
	first, second := fault(t, "OUT/heating-first"), fault(t, "HOL/takes-a-hundred")
	unit := iut.InProcess("both", spec.FullICS(), func(ics spec.ICS) wire.Device {
		return &either{Device: first.Unit(ics), other: second.Unit(ics)}
	})
	c := run(t, unit, Options{Seed: 1, Steps: 20_000, Patience: Jumping})
	var clauses []string
	for _, f := range c.Findings() {
		clauses = append(clauses, f.Clause)
	}
	assert.Contains(t, clauses, "OUT-3", told(c))
	assert.Contains(t, clauses, "HOL-2", told(c))
}

// either is a unit with the changes of one device and the answers to holidays of another.
type either struct {
	models.Device
	other models.Device
}

func (e *either) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	r, _ := e.other.Do(in, nil)
	if in.Kind == spec.Holiday && r.Outcome == spec.Accepted {
		mine, after := e.Device.Do(in, changes)
		mine.Outcome = spec.Accepted
		return mine, after
	}
	return e.Device.Do(in, changes)
}

func (e *either) Advance(seconds uint64, changes []spec.Change) []spec.Change {
	e.other.Advance(seconds, nil)
	return e.Device.Advance(seconds, changes)
}

func TestStatementThatIsNotValid(t *testing.T) {
	_, err := New(iut.InProcess("none", spec.ICS{}, nil), Options{})
	require.ErrorContains(t, err, "ICS option channels")
}
