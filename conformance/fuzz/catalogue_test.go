package fuzz

import (
	"flag"
	"fmt"
	"runtime"
	"slices"
	"sync"
	"testing"
	"text/tabwriter"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/hearthbench/conformance/faults"
	"example.org/hearthbench/conformance/rapidtest"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

var (
	full = flag.Bool("full", false, "measure on every fault of the catalogue, with the baselines, and print the figures")
	seed = flag.Uint64("seed", 1, "of the campaigns on the catalogue, and of its baselines")
)

const (
	enough       = 10_000_000 // steps in which every fault is to be found
	baselineStop = 200_000    // steps after which a baseline gives up
)

// measured is how one fault fared.
type measured struct {
	fault    *faults.Fault
	steps    uint64 // to find it
	found    bool
	causes   int
	extra    int // inputs more than the witness has
	finding  *Finding
	own, our uint64 // steps of the two baselines
}

// measure looks for a fault, and goes on for as long again to see whether it is told more than once.
func measure(tb testing.TB, f *faults.Fault, seed, limit uint64) measured {
	c, err := New(faulty(f), Options{Seed: seed, Steps: limit, Patience: Jumping, First: true})
	require.NoError(tb, err)
	require.NoError(tb, c.Run(tb.Context()))
	m := measured{fault: f, steps: c.Progress().Steps}
	if len(c.Findings()) == 0 {
		return m
	}
	m.finding, m.found = c.Findings()[0], true
	m.steps = m.finding.Step
	m.extra = m.finding.Inputs() - (len(f.Witness) - 1) // the witness's last step is its end
	long, err := New(faulty(f), Options{Seed: seed, Steps: max(20_000, 2*m.steps), Patience: Jumping})
	require.NoError(tb, err)
	require.NoError(tb, long.Run(tb.Context()))
	m.causes = len(long.Findings())
	return m
}

// Every seeded fault is found, and comes down to about the shortest sequence known by hand. On a sample here; with -full on all of them,
// beside rapid's own state-machine driver.
func TestCatalogue(t *testing.T) {
	list := faults.Catalogue()
	limit, every := uint64(enough), 1
	if !*full {
		limit, every = 400_000, 20
	}
	var results []measured
	var mutex sync.Mutex
	var group sync.WaitGroup
	next := make(chan *faults.Fault)
	for range runtime.GOMAXPROCS(0) {
		group.Go(func() {
			for f := range next {
				m := measure(t, f, *seed, limit)
				if *full {
					m.own = baseline(f, false)
					m.our = baseline(f, true)
				}
				mutex.Lock()
				results = append(results, m)
				mutex.Unlock()
			}
		})
	}
	for i := 0; i < len(list); i += every {
		next <- &list[i]
	}
	close(next)
	group.Wait()
	slices.SortFunc(results, func(a, b measured) int { return int(a.steps) - int(b.steps) })
	var steps, own, our []uint64
	var extra, causes []int
	for _, m := range results {
		if !assert.True(t, m.found, "%s is not found within %d steps: %s", m.fault.ID, limit, m.fault.Words) {
			continue
		}
		steps, own, our = append(steps, m.steps), append(own, m.own), append(our, m.our)
		extra, causes = append(extra, m.extra), append(causes, m.causes)
		assert.LessOrEqual(t, m.extra, 4, "%s: %s", m.fault.ID, Format(m.finding.Script))
		assert.LessOrEqual(t, m.causes, 16, "%s is told too often", m.fault.ID)
	}
	assert.LessOrEqual(t, median(extra), 2)
	assert.LessOrEqual(t, median(causes), 1)
	if *full {
		table(t, results, steps, own, our, extra, causes)
	}
}

func median[T int | uint64](list []T) T {
	sorted := slices.Sorted(slices.Values(list))
	return sorted[len(sorted)/2]
}

func table(t *testing.T, results []measured, steps, own, our []uint64, extra, causes []int) {
	w := tabwriter.NewWriter(t.Output(), 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "\tmedian\t90 %\tmost\tnot found")
	row := func(name string, list []uint64, limit uint64) {
		sorted := slices.Sorted(slices.Values(list))
		missed := 0
		for _, n := range list {
			if n >= limit {
				missed++
			}
		}
		fmt.Fprintf(w, "%s\t%d\t%d\t%d\t%d of %d\n", name, sorted[len(sorted)/2], sorted[len(sorted)*9/10], sorted[len(sorted)-1], missed, len(list))
	}
	row("steps to find, fuzz", steps, enough)
	row("steps to find, rapid's driver and its arguments", own, baselineStop)
	row("steps to find, rapid's driver and fuzz's arguments", our, baselineStop)
	number := func(name string, list []int) {
		sorted := slices.Sorted(slices.Values(list))
		fmt.Fprintf(w, "%s\t%d\t%d\t%d\t\n", name, sorted[len(sorted)/2], sorted[len(sorted)*9/10], sorted[len(sorted)-1])
	}
	number("inputs more than the witness", extra)
	number("causes told of one fault", causes)
	require.NoError(t, w.Flush())
	assert.GreaterOrEqual(t, median(own), 10*median(steps), "rapid's driver is not left behind")
	t.Logf("fuzz takes %.1f times fewer steps in the median than rapid's driver, and %.1f times fewer than that with fuzz's arguments",
		float64(median(own))/float64(median(steps)), float64(median(our))/float64(median(steps)))
	for _, m := range results[max(0, len(results)-10):] {
		t.Logf("last found: %s, %d steps", m.fault.ID, m.steps)
	}
}

// baseline returns how many steps rapid's own state-machine driver takes to find a fault, baselineStop if it does not: all kinds of input
// and a wait with equal chances, arguments drawn by rapid or as a campaign draws them, and waits drawn uniformly from 0 s to 36 h. On both
// sides a step is an input or a wait that is put to the unit, whatever comes of it, up to the one that departs; new units do not count.
func baseline(f *faults.Fault, ours bool) uint64 {
	ics := f.ICS()
	right, err := newOracle(ics)
	if err != nil {
		return 0
	}
	draw := newAlphabet(&ics, random{})
	steps, found := uint64(0), false
	coin := rapid.Bool()
	// The integers that rapid draws are mostly small; coins are fair.
	number := func(t *rapid.T, bits int) (n uint64) {
		for range bits {
			n <<= 1
			if coin.Draw(t, "coin") {
				n |= 1
			}
		}
		return n
	}
	test := rapid.Custom(func(t *rapid.T) bool {
		right.begin()
		tested := f.Unit(ics)
		var v view
		var changes []spec.Change
		from := 0
		compare := func(want, have spec.Outcome) {
			steps++
			wants := right.changes[from:]
			found = found || want != have || len(wants) != len(changes)
			for i := range min(len(wants), len(changes)) {
				found = found || !alike(&wants[i], &changes[i])
			}
			from, changes = len(right.changes), changes[:0]
		}
		actions := map[string]func(*rapid.T){"wait": func(t *rapid.T) {
			if found {
				return
			}
			seconds := number(t, 17)
			changes = tested.Advance(seconds, changes)
			right.wait(seconds)
			compare(spec.Accepted, spec.Accepted)
		}}
		for k := range spec.Kind(spec.NumKinds) {
			actions[wire.KindWord(k)] = func(t *rapid.T) {
				if found {
					return
				}
				var in spec.Input
				if ours {
					v.look(&right.unit)
					draw.state = number(t, 32)
					in, _ = draw.input(k, &v)
				} else {
					in = rapidtest.Input(&ics, k).Draw(t, "input")
				}
				var have spec.Reply
				have, changes = tested.Do(in, changes)
				compare(right.do(in).Outcome, have.Outcome)
			}
		}
		t.Repeat(actions)
		return true
	})
	for example := 1 + int(*seed-1)<<20; steps < baselineStop && !found; example++ {
		test.Example(example)
	}
	if !found {
		return baselineStop
	}
	return steps
}

// The doubles, of whose mistakes one hides the other on what comes to mind first, are found too.
func TestDoubles(t *testing.T) {
	for _, f := range faults.Doubles() {
		if !*full && f.ID[0] > 'H' {
			continue
		}
		c := run(t, faulty(&f), Options{Seed: 1, Steps: enough, Patience: Jumping, First: true})
		assert.Len(t, c.Findings(), 1, "%s: %s", f.ID, f.Words)
	}
}

// A wait lands on the very instants at which the oracle's unit can change, and just beside them.
func TestWaitsLandOnInstants(t *testing.T) {
	ics := spec.FullICS()
	g, err := newGenerator(&ics, newRandom(1, 0))
	require.NoError(t, err)
	g.start()
	for _, in := range []spec.Input{
		{Kind: spec.PowerOn}, {Kind: spec.SetClock, Date: spec.Date{Year: 2026, Month: 3, Day: 28}, Minute: 6 * 60}, {Kind: spec.Boost, Amount: 120}, {Kind: spec.PowerOff},
	} {
		g.do(in)
	}
	g.look(&g.unit)
	landed := map[uint64]bool{}
	for range 5000 {
		seconds, _ := g.alphabet.wait(&g.view)
		landed[seconds] = true
	}
	const hour = calendar.Hour
	for what, at := range map[string]uint64{"the next on": hour, "the reserve's end": 8 * hour, "midnight": 18 * hour, "summer time": 19 * hour} {
		assert.True(t, landed[at] && landed[at-1] && landed[at+1], what)
	}
}
