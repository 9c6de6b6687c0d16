package explore

import (
	"bytes"
	"context"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/sample"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/testtool"
	"example.org/hearthbench/conformance/wasm"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/vectors"
)

func clauses(t testing.TB) []string {
	set, err := suite.New(vectors.Files)
	require.NoError(t, err)
	var ids []string
	for _, f := range set.Page.Families {
		for _, c := range f.Clauses {
			ids = append(ids, c.ID)
		}
	}
	return ids
}

func opens(module []byte) func(context.Context) (*wasm.Unit, error) {
	return func(ctx context.Context) (*wasm.Unit, error) {
		return wasm.Open(ctx, "firmware", module, wasm.Options{})
	}
}

func boundsOfSample(t testing.TB, groups string, horizon uint64) Bounds {
	u, err := opens(sample.Module)(t.Context())
	require.NoError(t, err)
	defer u.Close()
	b := boundsOf(t, u.ICS(), groups)
	b.Horizon = horizon
	return b
}

// Within the bounds the sample does as the clauses say: every state of both together is seen, and no step departs.
func TestTheSampleDoesAsTheClausesSay(t *testing.T) {
	for _, groups := range []string{"override", "mode,override", "override,boost", "override,holiday,reset", "power,override", "lock,reset"} {
		b := boundsOfSample(t, groups, 75*calendar.Minute)
		r, err := Run(t.Context(), b, Options{Workers: 2, Firmware: opens(sample.Module)})
		require.NoError(t, err)
		require.Nil(t, r.Counterexample, "%+v", r.Counterexample)
		require.True(t, r.Complete, r.Stopped)

		alone, err := Run(t.Context(), b, Options{})
		require.NoError(t, err)
		require.GreaterOrEqual(t, r.States, alone.States, "of the emulator's states none is missing")
		require.Equal(t, alone.Depth <= r.Depth, true)
		t.Logf("%s: %d states, of the emulator %d", groups, r.States, alone.States)

		again, err := Run(t.Context(), b, Options{Workers: 3, Firmware: opens(sample.Module)})
		require.NoError(t, err)
		require.Equal(t, [3]any{r.States, r.Transitions, r.Depth}, [3]any{again.States, again.Transitions, again.Depth})
	}
}

// A wrong build is found out, on a way that is as short as it can be and departs again from new.
func TestWrongBuildsAreFound(t *testing.T) {
	testtool.Need(t, "clang", "clang")
	testtool.Need(t, "wasm-ld", "lld")
	for _, test := range []struct {
		build, groups string
		steps         int // by hand
	}{
		// A boost, a cut, and its return: no shorter way shows a boost that outlives a cut.
		{"CUT_KEEPS_BOOST", "boost,power", 3},
		// Arming, a reset: the alert goes out.
		{"RESET_CLEARS_LOCK", "lock,reset", 2},
		// An override before the first period, then its on and its off: the end it has stored is that of another point.
		{"OFF_A_MINUTE_LATE", "override", 2},
	} {
		t.Run(test.build, func(t *testing.T) {
			module := wrongBuild(t, test.build)
			b := boundsOfSample(t, test.groups, 75*calendar.Minute)
			r, err := Run(t.Context(), b, Options{Workers: 2, Firmware: opens(module)})
			require.NoError(t, err)
			require.NotNil(t, r.Counterexample)
			require.Nil(t, r.Counterexample.Invariant)
			require.NotNil(t, r.Counterexample.Departure)
			t.Log(r.Counterexample.Departure)
			require.Len(t, r.Counterexample.Steps, test.steps, "%+v", r.Counterexample)
			confirmed, err := Confirm(t.Context(), &b, r.Counterexample, opens(module))
			require.NoError(t, err)
			require.Equal(t, r.Counterexample.Departure, confirmed)
			right, err := Confirm(t.Context(), &b, r.Counterexample, opens(sample.Module))
			require.NoError(t, err)
			require.Nil(t, right)
		})
	}
}

// A firmware that traps is found out too, though there is nothing left of it to be put back.
func TestAFirmwareThatTrapsIsTold(t *testing.T) {
	testtool.Need(t, "clang", "clang")
	testtool.Need(t, "wasm-ld", "lld")
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS("../../testdata/firmware")))
	shim := filepath.Join(dir, "wasm", "shim.c")
	source := string(readFile(t, shim))
	const boost = "    return end(unit_boost(begin(), (uint8_t)channel, minutes));\n"
	require.Contains(t, source, boost)
	source = strings.Replace(source, boost, "    if (p.unit.channel[HW].override && channel == CH && minutes != 0) {\n        __builtin_trap();\n    }\n"+boost, 1)
	require.NoError(t, os.WriteFile(shim, []byte(source), 0o600))
	module := filepath.Join(dir, "unit.wasm")
	out, err := exec.Command("sh", filepath.Join(dir, "wasm", "build-wasm.sh"), module).CombinedOutput()
	require.NoError(t, err, "%s", out)

	b := boundsOfSample(t, "override,boost", 75*calendar.Minute)
	r, err := Run(t.Context(), b, Options{Workers: 2, Firmware: opens(readFile(t, module))})
	require.NoError(t, err)
	require.NotNil(t, r.Counterexample)
	require.Len(t, r.Counterexample.Steps, 2, "an override, a boost")
	d := r.Counterexample.Departure
	require.Equal(t, "boost ch 60", string(d.Request.Append(nil)))
	require.Contains(t, d.Trouble, "trapped")
	confirmed, err := Confirm(t.Context(), &b, r.Counterexample, opens(readFile(t, module)))
	require.NoError(t, err)
	require.Equal(t, d, confirmed)
}

// With the clock unset nothing but the room for seconds ends time, after 136 years, and the sample does as the clauses say until then.
func TestTimeWithoutAClockEndsWhereThereIsRoomForIt(t *testing.T) {
	w := worlds["SOUNDER_CLOCK_UNSET"]
	b := boundsOfSample(t, "override", w.horizon)
	b.Given = given(t, b.ICS, strings.Split(w.given, "; ")...)
	b.Letters = given(t, b.ICS, strings.Split(w.letters, "; ")...)
	b.States = 200_000
	r, err := Run(t.Context(), b, Options{Workers: 2, Firmware: opens(sample.Module)})
	require.NoError(t, err)
	require.Nil(t, r.Counterexample)
	require.Positive(t, r.Pruned)
	require.True(t, r.Complete, r.Stopped)
}

func wrongBuild(t testing.TB, name string) []byte {
	output := filepath.Join(t.TempDir(), "unit.wasm")
	out, err := exec.Command("sh", "../../testdata/firmware/wasm/build-wasm.sh", output, "-DBUG_"+name+"=1").CombinedOutput()
	require.NoError(t, err, "%s", out)
	return readFile(t, output)
}

// A firmware of another statement, and one that cannot be put back, are refused.
func TestFirmwareThatCannotBeExplored(t *testing.T) {
	b := boundsOfSample(t, "override", 0)
	b.ICS.SummerTime = false
	_, err := Run(t.Context(), b, Options{Firmware: opens(sample.Module)})
	require.ErrorContains(t, err, "a firmware needs a horizon")
	b.Horizon = calendar.Hour
	_, err = Run(t.Context(), b, Options{Firmware: opens(sample.Module)})
	require.ErrorContains(t, err, "another conformance statement")
	_, err = Run(t.Context(), b, Options{Firmware: opens([]byte("no module"))})
	var open *iut.OpenError
	require.ErrorAs(t, err, &open)
}

// Memories come back whole from the forest, have one name if and only if they are equal, and one hash in every order.
func TestForest(t *testing.T) {
	for name, changed := range map[string]func(leaf) int{
		"most change often": func(l leaf) int { return l.from % 5 },
		"few change often":  func(l leaf) int { return map[int]int{128: 9, 640: 3, 1280: 1}[l.from] },
		"none was seen to":  func(leaf) int { return 0 },
	} {
		t.Run(name, func(t *testing.T) { testForest(t, changed) })
	}
}

func testForest(t *testing.T, changed func(leaf) int) {
	random := rand.New(rand.NewPCG(7, 4))
	const size = 2500 // no multiple of a leaf's, and so many leaves that those below the root lie on two levels
	var memories [][]byte
	base := make([]byte, size)
	for i := range base {
		base[i] = byte(random.Uint32())
	}
	for range 300 {
		m := append([]byte(nil), base...)
		for range random.IntN(6) {
			m[random.IntN(size)] = byte(random.IntN(3))
		}
		memories = append(memories, m)
	}
	memories = append(memories, append([]byte(nil), memories[17]...), make([]byte, size), append([]byte(nil), base...))

	parts := func(m []byte) [][]byte { return [][]byte{m[:700], m[700:700], m[700:]} } // one of them empty
	l := newLayout([]int{700, 0, size - 700}, changed)
	type name struct {
		root  uint32
		apart node
	}
	names, hashes := map[string]name{}, map[string]uint64{}
	f := newForest()
	image := newImage(f, l, parts(base))
	live := bytes.Clone(base)
	for _, m := range memories {
		copy(live, m)
		image.take(parts(live))
		taken := image.taken
		require.Equal(t, taken.hash, f.hash(taken.root.name)^taken.apart.hash())
		require.Equal(t, base, live, "what is taken is put back")
		require.Equal(t, string(m) == string(base), taken.same)
		require.Equal(t, string(m[700:]) != string(base[700:]), image.lastDiffers())
		is := name{taken.root.name, taken.apart}
		if known, ok := names[string(m)]; ok {
			require.Equal(t, known, is)
		}
		names[string(m)], hashes[string(m)] = is, taken.hash
	}
	unique, apart := map[name]bool{}, map[node]bool{}
	for _, is := range names {
		unique[is], apart[is.apart] = true, true
	}
	require.Len(t, unique, len(names))
	require.Greater(t, len(apart), 1)

	for m, is := range names {
		image.load(is.root, &is.apart, parts(live))
		require.Equal(t, m, string(live))
		require.Equal(t, m, string(slices.Concat(image.parts...)))
		image.take(parts(live))
		require.Equal(t, is, name{image.taken.root.name, image.taken.apart})
		require.Equal(t, hashes[m], image.taken.hash)
		require.Equal(t, newImage(f, l, parts([]byte(m))).under, image.under)
	}

	for i := len(memories) - 1; i >= 0; i-- {
		again := newImage(newForest(), l, parts(memories[i]))
		require.Equal(t, hashes[string(memories[i])], again.root.hash^again.apart.hash())
	}
}

// Nodes that several workers keep at once have one name each, and are found by all.
func TestForestIsKeptByManyAtOnce(t *testing.T) {
	f := newForest()
	const many = 20_000
	var names [4][many]uint32
	var group sync.WaitGroup
	for w := range names {
		group.Go(func() {
			for i := range many {
				n := node{uint64(i * [...]int{1, 3, 7, 9}[w] % many)} // each in an order of its own
				names[w][n[0]] = f.keep(&n, mix(n[0]))
			}
		})
	}
	group.Wait()
	seen := map[uint32]bool{}
	for i := range many {
		for w := range names {
			require.Equal(t, names[0][i], names[w][i])
		}
		require.Equal(t, node{uint64(i)}, *f.at(names[0][i]))
		seen[names[0][i]] = true
	}
	require.Len(t, seen, many)
}

func readFile(t testing.TB, name string) []byte {
	data, err := os.ReadFile(name)
	require.NoError(t, err)
	return data
}
