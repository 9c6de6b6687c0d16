package capture

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/spec"
)

// shown writes a line as pairs of millisecond and level, ? where it is not known.
func shown(l *Line) string {
	var b strings.Builder
	for _, s := range l.levels {
		level := "?"
		if s.level != unknown {
			level = fmt.Sprint(s.level)
		}
		fmt.Fprintf(&b, "%d:%s ", s.from.Milliseconds(), level)
	}
	return strings.TrimSpace(b.String())
}

// With a bounce time of 50 ms: what a contact does, and what is taken for it.
func TestBounce(t *testing.T) {
	for _, c := range []struct {
		name, raw, want string
		bounce          Bounce
	}{
		{"clean", "0:0 100:1 200:0", "0:0 100:1 200:0", Bounce{}},
		{"collapses to the first edge", "0:0 100:1 101:0 103:1 120:0 121:1", "0:0 100:1", Bounce{Count: 1, Longest: 21 * time.Millisecond}},
		{"to the last millisecond", "0:0 100:1 110:0 149:1", "0:0 100:1", Bounce{Count: 1, Longest: 49 * time.Millisecond}},
		{"and no longer", "0:0 100:1 110:0 150:1", "0:0 150:1", Bounce{Glitches: 1, LongestGlitch: 10 * time.Millisecond, glitches: []time.Duration{100 * time.Millisecond}}},
		{"a glitch leaves nothing", "0:1 100:0 130:1 500:0", "0:1 500:0", Bounce{Glitches: 1, LongestGlitch: 30 * time.Millisecond, glitches: []time.Duration{100 * time.Millisecond}}},
		{"a glitch without length", "0:1 100:0 100:1", "0:1", Bounce{Glitches: 1, glitches: []time.Duration{100 * time.Millisecond}}},
		{"two bounces, the longest", "0:0 100:1 105:0 110:1 500:0 510:1 520:0", "0:0 100:1 500:0", Bounce{Count: 2, Longest: 20 * time.Millisecond}},
		{"opening after closing as soon as may be", "0:0 100:1 150:0", "0:0 100:1 150:0", Bounce{}},
		{"unknown ends a bounce", "0:0 100:1 105:0 107:1 110:? 200:1", "0:0 100:1 110:? 200:1", Bounce{Count: 1, Longest: 7 * time.Millisecond}},
		{"unknown at once", "0:0 100:? 100:1", "0:0 100:1", Bounce{}},
		{"known late", "50:1 300:0", "0:? 50:1 300:0", Bounce{}},
		{"at the end", "0:0 100:1 105:0", "0:0", Bounce{Glitches: 1, LongestGlitch: 5 * time.Millisecond, glitches: []time.Duration{100 * time.Millisecond}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := newDebouncer("x", false, 50*time.Millisecond)
			inverted := newDebouncer("x", true, 50*time.Millisecond)
			for _, word := range strings.Fields(c.raw) {
				var at int
				var level string
				_, err := fmt.Sscanf(word, "%d:%s", &at, &level)
				require.NoError(t, err)
				l, other := unknown, unknown
				if level != "?" {
					l = spec.Level(level[0] - '0')
					other = 1 - l
				}
				d.set(time.Duration(at)*time.Millisecond, l)
				inverted.set(time.Duration(at)*time.Millisecond, other)
			}
			line := d.finish()
			assert.Equal(t, c.want, shown(line))
			assert.Equal(t, c.bounce, line.Bounce)
			assert.Equal(t, c.want, shown(inverted.finish()), "active low")
		})
	}
}

func read(t require.TestingT, name, text string, pairs ...string) (*Recording, error) {
	m, err := ParseMapping(pairs)
	require.NoError(t, err)
	return Open(name, strings.NewReader(text), &m, DefaultBounce)
}

func TestCSV(t *testing.T) {
	for _, c := range []struct{ name, text, hw string }{
		{"seconds", "time,hw\n0,0\n1.5,1\n3,0\n", "0:0 1500:1 3000:0"},
		{"seconds by name", "Time [s], HW\n10,0\n11.5,1\n", "0:0 1500:1"},
		{"milliseconds", "time (ms),hw\n0,0\n1500,1\n", "0:0 1500:1"},
		{"microseconds", "t_us,hw\n0,0\n1500000,1\n", "0:0 1500:1"},
		{"exponents and signs", "time,hw\n-1e0,0\n+5.0E-1,1\n", "0:0 1500:1"},
		{"dates", "time,hw\n2026-01-14T05:00:00Z,0\n2026-01-14T05:00:01.500Z,1\n", "0:0 1500:1"},
		{"over the end of summer time", "time,hw\n2026-10-25T01:59:59+01:00,0\n2026-10-25T01:00:00.5+0000,1\n", "0:0 1500:1"},
		{"without an offset", "time,hw\n2026-01-14 05:00:00,0\n2026-01-14 05:00:01.5,1\n", "0:0 1500:1"},
		{"unknown", "time,hw\n0,x\n1,0\n2,\n3,Z\n4,1\n", "0:? 1000:0 2000:? 4000:1"},
		{"notes before the header", "\ufeff; made by a logger\r\n# serial 7\r\n\r\ntime,hw\r\n0,0\r\n1,1\r\n", "0:0 1000:1"},
		{"semicolons", "time;hw\n0;0\n1;1\n", "0:0 1000:1"},
		{"tabs and quotes", "\"time\"\t\"hw\"\n\"0\"\t0\n1\t1\n", "0:0 1000:1"},
		{"other columns", "time,volts,hw\n0,3.3,0\n1,2.9,1\n", "0:0 1000:1"},
		{"bounce at one instant", "time,hw\n0,0\n1,1\n1,0\n1,1\n", "0:0 1000:1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := read(t, "a.csv", c.text)
			require.NoError(t, err)
			assert.Equal(t, c.hw, shown(r.Lines[spec.SigHW]))
			assert.False(t, r.Sampled)
		})
	}
	r, err := read(t, "a.csv", "time,hw,alert\n0,0,0\n1,0,2\n2,0,3\n")
	require.NoError(t, err)
	assert.Equal(t, "0:0 1000:2 2000:3", shown(r.Lines[spec.SigAlert]))
	assert.Equal(t, 2*time.Second, r.Length)
}

func TestMistakesInCSV(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "a.csv: the file has no rows"},
		{"time,hw\n", "a.csv: the file has a header and no rows"},
		{"time\n0\n", "a.csv:1: the header has one column"},
		{"0,0\n1,1\n", "a.csv:1: the first row is no header"},
		{"time (h),hw\n0,0\n", "the time column's unit in 'time (h)' is not known"},
		{"time,D0\n0,0\n", "a.csv:1: no column is called hw, ch, alert or sounder; say what is what with --map"},
		{"time,hw,hw\n0,0,0\n", "hw could be the column hw or hw"},
		{"# note\n\ntime,hw\n0,0\n1,2\n", "a.csv:5: '2' in the column hw is no level"},
		{"time,hw\n0,0\n1,on\n", "a.csv:3: 'on' in the column hw"},
		{"time,alert\n0,4\n", "'4' in the column alert"},
		{"time,hw\n0,0\n2,1\n1,0\n", "a.csv:4: time goes back to '1'"},
		{"time,hw\n2026-10-25T01:59:59,0\n2026-10-25T01:00:00,1\n", "local times need an offset"},
		{"time,hw\n0,0\nnoon,1\n", "a.csv:3: 'noon' is no time"},
		{"time,hw\n0,0\n2026-01-14T05:00:00Z,1\n", "is another kind of time than the first row has"},
		{"time,hw\n2026-01-14T05:00:00Z,0\n2026-01-14T05:00:01,1\n", "some rows have an offset"},
		{"time,hw\n2026-01-32T05:00:00Z,0\n", "is no time of ISO 8601"},
		{"time,hw\n1000-01-01T00:00:00Z,0\n2026-01-01T00:00:00Z,0\n", "more than 292 years"},
		{"time,hw\n0,0\n1e99,0\n", "more than 292 years"},
		{"time,hw\n0,0\n1e999999999,0\n", "'1e999999999' is no time"},
		{"time,hw\n0,0\n1,0,1\n", "a.csv:3: the row has another number of columns than the header"},
		{"time,hw\n0,\"0\n", "a.csv:2: "},
	} {
		_, err := read(t, "a.csv", c.text)
		var wrong *Error
		require.ErrorAs(t, err, &wrong, c.text)
		assert.ErrorContains(t, err, c.want)
	}
}

// A log that samples each second, of which an hour is missing: that is a gap, though no row says so.
func TestSampledLogs(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,hw\n")
	for second := range 3 * 3600 {
		if second >= 3600 && second < 7200 {
			continue
		}
		level := 0
		if second >= 7300 {
			level = 1
		}
		fmt.Fprintf(&b, "%d.0%d,%d\n", second, second%10, level) // with some jitter of its own
	}
	r, err := read(t, "a.csv", b.String())
	require.NoError(t, err)
	assert.True(t, r.Sampled)
	assert.InDelta(t, 1, r.Resolution.Seconds(), 0.1)
	assert.Regexp(t, `^0:0 360\d\d\d\d:\? 7200000:0 7300000:1$`, shown(r.Lines[spec.SigHW]))

	// The gap comes before it is known that the log samples.
	b.Reset()
	b.WriteString("time,hw\n0,0\n1,0\n2,0\n")
	for second := range 60 {
		fmt.Fprintf(&b, "%d,0\n", 1000+second)
	}
	r, err = read(t, "a.csv", b.String())
	require.NoError(t, err)
	assert.Equal(t, "0:0 3000:? 1000000:0", shown(r.Lines[spec.SigHW]))

	// A table of changes at even intervals is none: each row has one.
	b.Reset()
	b.WriteString("time,hw\n")
	for i := range 60 {
		fmt.Fprintf(&b, "%d,%d\n", 3600*i, i%2)
	}
	r, err = read(t, "a.csv", b.String())
	require.NoError(t, err)
	assert.False(t, r.Sampled)
}

const vcdHead = "$timescale 1 ms $end $scope module a $end $var wire 1 ! D0 $end $var wire 1 \" D1 $end $upscope $end " +
	"$scope module b $end $var wire 1 # D0 $end $var reg 2 $ alert [1:0] $end $var wire 4 % bus $end $upscope $end $enddefinitions $end\n"

func TestVCD(t *testing.T) {
	r, err := read(t, "a.vcd", vcdHead+"#5000 0! 1\" b10 $ #6000 1! #7000 $dumpoff x! x\" bx $ $end #8000 $dumpon 0! 0\" b11 $ $end #9000 b0x $ #9500", "hw=a.D0", "ch=!D1")
	require.NoError(t, err)
	assert.Equal(t, "VCD", r.Format)
	assert.Equal(t, 5, r.Columns)
	assert.Equal(t, 4500*time.Millisecond, r.Length)
	assert.Equal(t, time.Millisecond, r.Resolution)
	assert.Equal(t, "0:0 1000:1 2000:? 3000:0", shown(r.Lines[spec.SigHW]))
	assert.Equal(t, "0:0 2000:? 3000:1", shown(r.Lines[spec.SigCH]))
	assert.Equal(t, "0:2 2000:? 3000:3 4000:?", shown(r.Lines[spec.SigAlert]))
	assert.Nil(t, r.Lines[spec.SigSounder])

	// The alert bit by bit goes from 1 to 2 without being 3 or 0 between.
	r, err = read(t, "a", "$timescale 1 s $end $var wire 1 ! alert[0] $end $var wire 1 \" alert[1] $end $var wire 1 # x[3] $end $enddefinitions $end #0 1! 0\" #5 1\" 0! #6 0\"")
	require.NoError(t, err)
	assert.Equal(t, "0:1 5000:2 6000:0", shown(r.Lines[spec.SigAlert]))
	assert.Zero(t, r.Lines[spec.SigAlert].Bounce)

	for _, c := range []struct {
		text  string
		pairs []string
		want  string
	}{
		{vcdHead + "#0", nil, "a.vcd: the column b.alert"},
		{vcdHead + "#0", []string{"hw=D0"}, "hw could be the column a.D0 or b.D0; say which with --map hw=…"},
		{vcdHead + "#0", []string{"hw=D7"}, "there is no column D7 for hw; there are a.D0, a.D1, b.D0, b.alert, b.bus"},
		{vcdHead + "#0", []string{"hw=bus"}, "the column b.bus has 4 bits, but a relay or the sounder has one"},
		{vcdHead + "#0", []string{"hw=a.D0", "ch=b.D0", "sounder=alert"}, "the column b.alert would be both alert and sounder"},
		{vcdHead, []string{"hw=a.D0"}, "has no time stamps"},
		{vcdHead + "#0\n#1\n1?", []string{"hw=a.D0"}, "a.vcd:4: no variable has the code '?'"},
		{"$var wire 1 ! hw $end $enddefinitions $end #0 0!", nil, "states no $timescale"},
		{"$timescale 100 s $end $var wire 1 ! hw $end $enddefinitions $end #0\n#99999999999", nil, "a.vcd:2: the recording is longer than 292 years"},
	} {
		_, err := read(t, "a.vcd", c.text, c.pairs...)
		if c.want == "a.vcd: the column b.alert" { // found by its name: no error
			require.NoError(t, err)
			continue
		}
		assert.ErrorContains(t, err, c.want)
	}
}

func TestMappings(t *testing.T) {
	m, err := ParseMapping([]string{"hw=D0", "ch=!D1"})
	require.NoError(t, err)
	assert.Equal(t, Mapping{spec.SigHW: {"D0", false}, spec.SigCH: {"D1", true}}, m)
	for pair, want := range map[string]string{
		"hw":        "'hw' is not SIGNAL=COLUMN",
		"hq=D0":     "signal is hw, ch, alert or sounder",
		"hw=":       "'hw=' names no column",
		"hw=!":      "'hw=!' names no column",
		"alert=!D0": "cannot be active low",
		"hw=D9":     "hw is mapped twice, to D0 and to D9",
		"ch=D0":     "the column D0 is mapped twice, to hw and to ch",
	} {
		pairs := []string{pair}
		if strings.HasSuffix(want, "hw and to ch") || strings.HasSuffix(want, "to D9") {
			pairs = []string{"hw=D0", pair}
		}
		_, err := ParseMapping(pairs)
		assert.ErrorContains(t, err, want)
	}
	for pair, want := range map[string]string{
		"late-scan":    "'late-scan' is not TOLERANCE=NUMBER",
		"periods=2":    "'periods' is no tolerance",
		"late-scan=-1": "late-scan",
	} {
		_, err := ParseTolerances([]string{pair})
		assert.ErrorContains(t, err, want)
	}
	claims, err := ParseTolerances([]string{"late-scan=60"})
	require.NoError(t, err)
	assert.Equal(t, &spec.Tolerances{LatePowerOn: 2, LateScan: 60, LockGrain: 1}, claims)
}

// A line that is exact but for some points has its slope, however far off those are.
func TestFitOfALineWithOutliers(t *testing.T) {
	var points []point
	for i := range 20 {
		x := float64(i * 1000)
		points = append(points, point{x, 7 + x*(1+50e-6)})
	}
	for _, i := range []int{3, 8, 13, 14} {
		points[i].seen += 500 * float64(i)
	}
	slope, offset := fit(points, 1e-6)
	require.True(t, slope.Known)
	assert.InDelta(t, 50e-6, slope.Value, 1e-9)
	assert.InDelta(t, 7, offset.Value, 1e-6)

	// By hand: of (0,0), (1,1), (2,2), (3,3), (4,5) the slopes are 1 six times, and 2, 3/2, 4/3, 5/4: the median is 1, and so is that of the rest
	// of them all but the offset, 0. Half the width of the interval covers 1.96 sqrt(5 x 4 x 15 / 18) = 8.0 of 10 slopes: from the second to the
	// last but none.
	slope, offset = fit([]point{{4, 5}, {0, 0}, {1, 1}, {3, 3}, {2, 2}}, 0)
	assert.Equal(t, Estimate{true, 0, 1}, slope)
	assert.Equal(t, 0.0, offset.Value)

	// Points that share a second have no slope between them.
	slope, _ = fit([]point{{0, 0}, {0, 1}, {10, 10}, {10, 11}, {20, 20}, {20, 21}}, 0)
	assert.Equal(t, 0.0, slope.Value)

	few, offset := fit([]point{{0, 3}, {10, 13}, {20, 23}}, 0)
	assert.False(t, few.Known)
	assert.Equal(t, 3.0, offset.Value)
	_, offset = fit(nil, 0)
	assert.False(t, offset.Known)
}

// The interval holds the true drift about as often as it says.
func TestFitIsAsUncertainAsItSays(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 7))
	const runs = 1000
	held, heldOffset := 0, 0
	for range runs {
		var points []point
		for x := 0.0; x < 200_000; x += 5000 + 10_000*random.Float64() {
			points = append(points, point{x, 12 + x*(1-80e-6) + 0.2*random.NormFloat64()})
		}
		slope, offset := fit(points, 1e-6)
		if slope.Value-slope.Uncertainty <= -80e-6 && slope.Value+slope.Uncertainty >= -80e-6 {
			held++
		}
		if offset.Value-offset.Uncertainty <= 12 && offset.Value+offset.Uncertainty >= 12 {
			heldOffset++
		}
	}
	assert.Greater(t, held, 930)
	assert.Less(t, held, 1000, "nor is it too wide to say anything")
	assert.Greater(t, heldOffset, 900)
}

// Whatever the bytes: a recording or an error with the file, in bounded memory; its lines are in order and within its length.
func FuzzOpen(f *testing.F) {
	f.Add([]byte(vcdHead+"#5000 0! 1\" b10 $ #6000 1! #7000 $dumpoff x! $end"), true)
	f.Add([]byte("time,hw,ch\n0,0,1\n1,1,\n2026-01-14T05:00:00Z,0,0\n"), false)
	f.Add([]byte("# x\ntime (ms);hw\n0;0\n1e3;1\n"), false)
	f.Fuzz(func(t *testing.T, data []byte, isVCD bool) {
		name, m := "a.csv", Mapping{}
		if isVCD {
			name = "a.vcd"
			m[spec.SigHW] = Column{"a.D0", false}
		}
		r, err := Open(name, bytes.NewReader(data), &m, DefaultBounce)
		if err != nil {
			var wrong *Error
			if !errors.As(err, &wrong) || wrong.File != name {
				t.Fatal(err)
			}
			return
		}
		for _, line := range r.Lines {
			if line == nil {
				continue
			}
			for i, s := range line.levels {
				if s.from > r.Length || i > 0 && (s.from <= line.levels[i-1].from || s.level == line.levels[i-1].level) {
					t.Fatalf("%v", line.levels)
				}
			}
		}
	})
}
