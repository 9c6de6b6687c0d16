package recording

import (
	"bytes"
	"errors"
	"fmt"
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
	for _, s := range l.Levels {
		level := "?"
		if s.Level != Unknown {
			level = fmt.Sprint(s.Level)
		}
		fmt.Fprintf(&b, "%d:%s ", s.From.Milliseconds(), level)
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
		{"and no longer", "0:0 100:1 110:0 150:1", "0:0 150:1", Bounce{Glitches: 1, LongestGlitch: 10 * time.Millisecond, GlitchesAt: []time.Duration{100 * time.Millisecond}}},
		{"a glitch leaves nothing", "0:1 100:0 130:1 500:0", "0:1 500:0", Bounce{Glitches: 1, LongestGlitch: 30 * time.Millisecond, GlitchesAt: []time.Duration{100 * time.Millisecond}}},
		{"a glitch without length", "0:1 100:0 100:1", "0:1", Bounce{Glitches: 1, GlitchesAt: []time.Duration{100 * time.Millisecond}}},
		{"two bounces, the longest", "0:0 100:1 105:0 110:1 500:0 510:1 520:0", "0:0 100:1 500:0", Bounce{Count: 2, Longest: 20 * time.Millisecond}},
		{"opening after closing as soon as may be", "0:0 100:1 150:0", "0:0 100:1 150:0", Bounce{}},
		{"unknown ends a bounce", "0:0 100:1 105:0 107:1 110:? 200:1", "0:0 100:1 110:? 200:1", Bounce{Count: 1, Longest: 7 * time.Millisecond}},
		{"unknown at once", "0:0 100:? 100:1", "0:0 100:1", Bounce{}},
		{"known late", "50:1 300:0", "0:? 50:1 300:0", Bounce{}},
		{"at the end", "0:0 100:1 105:0", "0:0", Bounce{Glitches: 1, LongestGlitch: 5 * time.Millisecond, GlitchesAt: []time.Duration{100 * time.Millisecond}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := newDebouncer("x", false, 50*time.Millisecond)
			inverted := newDebouncer("x", true, 50*time.Millisecond)
			for i, word := range strings.Fields(c.raw) {
				var at int
				var level string
				_, err := fmt.Sscanf(word, "%d:%s", &at, &level)
				require.NoError(t, err)
				l, other := Unknown, Unknown
				if level != "?" {
					l = spec.Level(level[0] - '0')
					other = 1 - l
				}
				d.set(time.Duration(at)*time.Millisecond, time.Duration(at)*time.Millisecond, l, i+1)
				inverted.set(time.Duration(at)*time.Millisecond, time.Duration(at)*time.Millisecond, other, i+1)
			}
			line := d.finish()
			assert.Equal(t, c.want, shown(line))
			assert.Equal(t, c.bounce, line.Bounce)
			assert.Equal(t, c.want, shown(inverted.finish()), "active low")
		})
	}
}

// read reads the columns named, ! before one that is active low; alert has four levels.
func read(name, text string, columns ...string) (*Recording, error) {
	format := strings.ToUpper(name[len(name)-3:])
	return Read(name, format, strings.NewReader(text), DefaultBounce, func(cs Columns) (picks []Pick, err error) {
		for _, column := range columns {
			p := Pick{Most: 1}
			if strings.HasSuffix(column, "alert") {
				p.Most = spec.Level(spec.Restricted)
			}
			column, p.Inverted = strings.CutPrefix(column, "!")
			if p.Column, err = cs.Find(column); err != nil {
				return nil, err
			}
			if p.Column < 0 {
				return nil, fmt.Errorf("there is no %s; there are %s", column, cs)
			}
			picks = append(picks, p)
		}
		return picks, nil
	})
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
			r, err := read("a.csv", c.text, "hw")
			require.NoError(t, err)
			assert.Equal(t, c.hw, shown(r.Lines[0]))
			assert.False(t, r.Sampled)
		})
	}
	r, err := read("a.csv", "time,hw,alert\n0,0,0\n1,0,2\n2,0,3\n", "alert")
	require.NoError(t, err)
	assert.Equal(t, "0:0 1000:2 2000:3", shown(r.Lines[0]))
	assert.Equal(t, 2*time.Second, r.Length)
}

func TestMistakesInCSV(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "a.csv: the file has no rows"},
		{"time,hw\n", "a.csv: the file has a header and no rows"},
		{"time\n0\n", "a.csv:1: the header has one column"},
		{"0,0\n1,1\n", "a.csv:1: the first row is no header"},
		{"time (h),hw\n0,0\n", "the time column's unit in 'time (h)' is not known"},
		{"time,D0\n0,0\n", "a.csv:1: there is no hw; there are D0"},
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
		column := "hw"
		if strings.HasPrefix(c.text, "time,alert") {
			column = "alert"
		}
		_, err := read("a.csv", c.text, column)
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
	r, err := read("a.csv", b.String(), "hw")
	require.NoError(t, err)
	assert.True(t, r.Sampled)
	assert.InDelta(t, 1, r.Resolution.Seconds(), 0.1)
	assert.Regexp(t, `^0:0 360\d\d\d\d:\? 7200000:0 7300000:1$`, shown(r.Lines[0]))

	// The gap comes before it is known that the log samples.
	b.Reset()
	b.WriteString("time,hw\n0,0\n1,0\n2,0\n")
	for second := range 60 {
		fmt.Fprintf(&b, "%d,0\n", 1000+second)
	}
	r, err = read("a.csv", b.String(), "hw")
	require.NoError(t, err)
	assert.Equal(t, "0:0 3000:? 1000000:0", shown(r.Lines[0]))

	// A table of changes at even intervals is none: each row has one.
	b.Reset()
	b.WriteString("time,hw\n")
	for i := range 60 {
		fmt.Fprintf(&b, "%d,%d\n", 3600*i, i%2)
	}
	r, err = read("a.csv", b.String(), "hw")
	require.NoError(t, err)
	assert.False(t, r.Sampled)
}

const vcdHead = "$timescale 1 ms $end $scope module a $end $var wire 1 ! D0 $end $var wire 1 \" D1 $end $upscope $end " +
	"$scope module b $end $var wire 1 # D0 $end $var reg 2 $ alert [1:0] $end $var wire 4 % bus $end $upscope $end $enddefinitions $end\n"

func TestVCD(t *testing.T) {
	r, err := read("a.vcd", vcdHead+"#5000 0! 1\" b10 $ #6000 1! #7000 $dumpoff x! x\" bx $ $end #8000 $dumpon 0! 0\" b11 $ $end #9000 b0x $ #9500", "a.D0", "!D1", "alert")
	require.NoError(t, err)
	assert.Equal(t, "VCD", r.Format)
	assert.Equal(t, 5, r.About.Columns)
	assert.Equal(t, 4500*time.Millisecond, r.Length)
	assert.Equal(t, time.Millisecond, r.Resolution)
	assert.Equal(t, "0:0 1000:1 2000:? 3000:0", shown(r.Lines[0]))
	assert.Equal(t, "0:0 2000:? 3000:1", shown(r.Lines[1]))
	assert.Equal(t, "0:2 2000:? 3000:3 4000:?", shown(r.Lines[2]))

	// The alert bit by bit goes from 1 to 2 without being 3 or 0 between.
	r, err = read("a.vcd", "$timescale 1 s $end $var wire 1 ! alert[0] $end $var wire 1 \" alert[1] $end $var wire 1 # x[3] $end $enddefinitions $end #0 1! 0\" #5 1\" 0! #6 0\"", "alert")
	require.NoError(t, err)
	assert.Equal(t, "0:1 5000:2 6000:0", shown(r.Lines[0]))
	assert.Zero(t, r.Lines[0].Bounce)

	for _, c := range []struct{ text, column, want string }{
		{vcdHead + "#0", "D0", "D0 could be the column a.D0 or b.D0"},
		{vcdHead + "#0", "D7", "there is no D7; there are a.D0, a.D1, b.D0, b.alert, b.bus"},
		{vcdHead + "#0", "bus", "the column b.bus has 4 bits, but what is on or off has one"},
		{vcdHead, "a.D0", "has no time stamps"},
		{vcdHead + "#0\n#1\n1?", "a.D0", "a.vcd:4: no variable has the code '?'"},
		{"$var wire 1 ! hw $end $enddefinitions $end #0 0!", "hw", "states no $timescale"},
		{"$timescale 100 s $end $var wire 1 ! hw $end $enddefinitions $end #0\n#99999999999", "hw", "a.vcd:2: the recording is longer than 292 years"},
	} {
		_, err := read("a.vcd", c.text, c.column)
		assert.ErrorContains(t, err, c.want)
	}
}

// Each stretch knows the line of the file that tells of its beginning: of a bounce the first edge's, of a gap that no row tells none.
func TestRows(t *testing.T) {
	rows := func(l *Line) (all []int) {
		for _, s := range l.Levels {
			all = append(all, s.Row)
		}
		return all
	}
	r, err := read("a.csv", "# note\ntime,hw\n0,0\n1,1\n1.01,0\n1.02,1\n\n9,0\n", "hw")
	require.NoError(t, err)
	assert.Equal(t, []int{3, 4, 8}, rows(r.Lines[0]))
	r, err = read("a.csv", "time,hw\n0,0\n1,0\n2,0\n3,0\n4,0\n5,0\n6,0\n7,0\n8,1\n90,1\n", "hw")
	require.NoError(t, err)
	assert.Equal(t, []int{2, 10, 0, 11}, rows(r.Lines[0]))
	r, err = read("a.vcd", vcdHead+"#0\n0!\n#1000\n1!\n#1010\n0!\n#1020\n1!\n#5000\n0!\n", "a.D0")
	require.NoError(t, err)
	assert.Equal(t, []int{3, 5, 11}, rows(r.Lines[0]))
}

// Whatever the bytes: a recording or an error with the file, in bounded memory; its lines are in order and within its length.
func FuzzRead(f *testing.F) {
	f.Add([]byte(vcdHead+"#5000 0! 1\" b10 $ #6000 1! #7000 $dumpoff x! $end"), true)
	f.Add([]byte("time,hw,ch\n0,0,1\n1,1,\n2026-01-14T05:00:00Z,0,0\n"), false)
	f.Add([]byte("# x\ntime (ms);hw\n0;0\n1e3;1\n"), false)
	f.Fuzz(func(t *testing.T, data []byte, isVCD bool) {
		name, format, column := "a.csv", "CSV", "hw"
		if isVCD {
			name, format, column = "a.vcd", "VCD", "a.D0"
		}
		r, err := Read(name, format, bytes.NewReader(data), DefaultBounce, func(cs Columns) ([]Pick, error) {
			i, err := cs.Find(column)
			if err == nil && i < 0 {
				err = errors.New("there is none")
			}
			return []Pick{{Column: max(0, i), Most: 1}}, err
		})
		if err != nil {
			var wrong *Error
			if !errors.As(err, &wrong) || wrong.File != name {
				t.Fatal(err)
			}
			return
		}
		for _, line := range r.Lines {
			for i, s := range line.Levels {
				if s.From > r.Length || i > 0 && (s.From <= line.Levels[i-1].From || s.Level == line.Levels[i-1].Level) {
					t.Fatalf("%v", line.Levels)
				}
			}
		}
	})
}
