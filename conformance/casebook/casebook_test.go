package casebook

import (
	"bytes"
	"flag"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/diagnosis"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

var (
	cases = flag.Int("cases", 0, "how many cases with one cause TestBenchmark makes up, and as many with two and with a false statement; 0: a few")
	seed  = flag.Uint64("seed", 1, "the first case's seed")
	list  = flag.Bool("misses", false, "TestBenchmark lists what the first set lacked")
)

// TestBenchmark measures the diagnosis. A few cases are for every day: floors so loose that chance does not break them, and a diagnosis that
// ceased to look would.
func TestBenchmark(t *testing.T) {
	n, more, every := *cases, *cases, 5
	if n == 0 {
		n, more, every = 12, 3, 6
	}
	one, err := Measure(Kind{}, *seed, n, every)
	require.NoError(t, err)
	two, err := Measure(Kind{Two: true}, *seed+1_000_000, more, 0)
	require.NoError(t, err)
	lied, err := Measure(Kind{False: true}, *seed+2_000_000, more, 0)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, WriteTable(&b, one, two, lied))
	t.Logf("seeds from %d\n%s", *seed, &b)
	if *list {
		for _, o := range append(append(one, two...), lied...) {
			if o.Rank != 1 {
				t.Logf("seed %d: %s; in set %d; first %.2f %q", o.Seed, names(o.Truths), o.Rank, o.Probability, o.Named)
			}
		}
	}
	assert.GreaterOrEqual(t, Of(one, nil, InFirst).Percent(), 60.0)
	assert.LessOrEqual(t, Of(one, nil, FalselySure).Percent(), 10.0)
}

func names(truths []Truth) string {
	s := truths[0].Name
	for _, t := range truths[1:] {
		s += " + " + t.Name
	}
	return s
}

func TestSameSeedSameCase(t *testing.T) {
	for _, kind := range []Kind{{}, {Two: true}, {False: true}} {
		for s := range uint64(3) {
			a, err := New(s, kind)
			require.NoError(t, err)
			b, err := New(s, kind)
			require.NoError(t, err)
			assert.Equal(t, string(a.File), string(b.File))
			assert.Equal(t, a.World, b.World)
		}
	}
}

// What is said is so in the world that is the case, but for the one statement that is false, and for what no world can say.
func TestStatementsAreTrue(t *testing.T) {
	said, wrong := 0, 0
	for _, kind := range []Kind{{}, {Two: true}, {False: true}} {
		for s := range uint64(8) {
			c, err := New(s, kind)
			require.NoError(t, err)
			if c.Beyond {
				continue
			}
			l, err := live(c.World)
			require.NoError(t, err)
			lies := 0
			for i := range c.Complaint.Sensed {
				if replay.Compare(l.history, &c.Complaint.Sensed[i]).Verdict == replay.Departs {
					lies++
				}
			}
			said += len(c.Complaint.Sensed)
			if kind.False {
				assert.NotEmpty(t, c.False)
				assert.GreaterOrEqual(t, lies, 1, "seed %d: the false statement is false", s)
				lies--
			}
			wrong += lies
		}
	}
	assert.LessOrEqual(t, float64(wrong), 0.03*float64(said), "memory is blurred, but no more than that: %d of %d", wrong, said)
}

// Where one table serves both channels, both have the same, whatever is the matter with it.
func TestATableThatServesBothIsOne(t *testing.T) {
	n := 0
	for s := range uint64(400) {
		c, err := New(s, Kind{})
		require.NoError(t, err)
		l, err := live(c.World)
		require.NoError(t, err)
		if f := &l.end().Facts; f.Fitted.Effective().Timing == spec.Shared {
			assert.Equal(t, f.Channels[spec.HW].Table, f.Channels[spec.CH].Table, "seed %d: %s", s, names(c.Truths))
			n++
		}
	}
	assert.Greater(t, n, 10)
}

// What was read off the unit when the account was taken is so then.
func TestSettingsThatWereReadAreSo(t *testing.T) {
	for _, kind := range []Kind{{}, {Two: true}, {False: true}} {
		n := uint64(40)
		if kind.Two {
			n = 12 // they take longer to make up
		}
		for s := range n {
			c, err := New(s, kind)
			require.NoError(t, err)
			l, err := live(c.World)
			require.NoError(t, err)
			for i := range c.Complaint.Settings {
				if claim := &c.Complaint.Settings[i]; claim.Source == complaint.Read {
					assert.NotEqual(t, replay.Departs, replay.CompareClaim(l.history, claim).Verdict, "seed %d of %v, %s: %s", s, kind, names(c.Truths), claim.Text)
				}
			}
		}
	}
}

// What one thing alone brings about it explains, and nothing on the list explains what cannot be.
func TestOneExplains(t *testing.T) {
	seized := slices.IndexFunc(ails, func(a ail) bool { return a.name == "the pump has seized" })
	pcg := rand.NewPCG(7, 7)
	for range 60 {
		first := *pcg
		c, err := try(pcg, []*ail{&ails[seized]}, Kind{})
		require.NoError(t, err)
		if c == nil {
			continue
		}
		draws := first
		h := newHouse(rand.New(&draws))
		require.True(t, c.oneExplains(first, h), "%s", c.File)
		said := "sensed:\n" + strings.Repeat("  - {what: ch relay, is: on, when: every day 12:00, who: log}\n  - {what: ch relay, is: off, when: every day 12:00, who: log}\n", 2)
		c.Complaint, err = complaint.Parse("made-up.yaml", bytes.Replace(c.File, []byte("sensed:\n"), []byte(said), 1))
		require.NoError(t, err)
		assert.False(t, c.oneExplains(first, h))
		return
	}
	t.Fatal("no house was found in which a seized pump shows")
}

// Where two things are the matter, and what fits best alone does not fit best together, they are found all the same: here a clock that is
// ahead and a valve, since when has to be looked for together.
func TestWaysThatGoTogether(t *testing.T) {
	c, err := New(1005004, Kind{Two: true})
	require.NoError(t, err)
	truth, err := live(c.World)
	require.NoError(t, err)
	account, err := c.account()
	require.NoError(t, err)
	r, err := diagnosis.Diagnose(c.Complaint)
	require.NoError(t, err)
	i := slices.IndexFunc(r.Sets, func(s diagnosis.Set) bool {
		return slices.ContainsFunc(s.Causes, func(cause diagnosis.Cause) bool { return c.right(&cause, truth, account) })
	})
	require.GreaterOrEqual(t, i, 0, names(c.Truths))
	assert.Empty(t, r.Sets[i].Departs, names(c.Truths))
}

// A truth is known again in the true world, and not in the account, unless that has it.
func TestTruthIsKnownAgain(t *testing.T) {
	found := 0
	const n = 30
	for s := range uint64(n) {
		c, err := New(s, Kind{Two: s%3 == 0})
		require.NoError(t, err)
		truth, err := live(c.World)
		require.NoError(t, err)
		account, err := c.account()
		require.NoError(t, err)
		for i := range c.Truths {
			if tr := &c.Truths[i]; tr.same != nil {
				assert.True(t, tr.same(truth, truth, account), "seed %d: %s", s, tr.Name)
				if tr.found(truth, account) {
					found++
				}
			}
		}
	}
	assert.Less(t, found, n/2, "most accounts do not have it")
}

func TestWhatNoWireTellsApart(t *testing.T) {
	in := plant.Usual(plant.TwoValves)
	welded := plant.Stuck(plant.CHRelayOn, true)
	assert.True(t, alike(&in, welded, plant.Bridge(plant.CHCommon, plant.CHOn)), "either way the terminal is always live")
	assert.False(t, alike(&in, welded, plant.Stuck(plant.HWRelayOn, true)))
	assert.False(t, alike(&in, plant.Dies(plant.PumpLoad), plant.Dies(plant.BoilerLoad)))
	assert.True(t, alike(&in, plant.Reads(plant.RoomStatContact, 5*plant.Celsius), plant.Reads(plant.RoomStatContact, 3*plant.Celsius)))
	assert.False(t, alike(&in, plant.Reads(plant.RoomStatContact, 5*plant.Celsius), plant.Reads(plant.RoomStatContact, -3*plant.Celsius)))
}

func TestSecondControlsOverlap(t *testing.T) {
	const hour = 3600
	night := plant.SecondControl{Fitted: true, From: 23 * hour, To: 2 * hour}
	assert.True(t, overlap(night, plant.SecondControl{From: 1 * hour, To: 3 * hour}))
	assert.False(t, overlap(night, plant.SecondControl{From: 2 * hour, To: 3 * hour}))
}

// Each ail befalls some house and shows there.
func TestEachAilShows(t *testing.T) {
	for i := range ails {
		a := &ails[i]
		pcg := rand.NewPCG(uint64(i), 1)
		found := false
		for range 400 {
			c, err := try(pcg, []*ail{a}, Kind{})
			require.NoError(t, err, a.name)
			if found = c != nil; found {
				break
			}
		}
		assert.True(t, found, a.name)
	}
}

var show = flag.Uint64("show", 0, "TestShow writes the complaint of a seed")

func TestShow(t *testing.T) {
	if *show == 0 {
		t.Skip("no -show")
	}
	kind := Kind{Two: *show/1_000_000 == 1, False: *show/1_000_000 == 2}
	c, err := New(*show, kind)
	require.NoError(t, err)
	fmt.Printf("# %s; false: %s\n%s", names(c.Truths), c.False, c.File)
}
