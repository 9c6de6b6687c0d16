package realtime

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

// unit is a unit in real time at the other end of a pipe, in the time of a synctest bubble.
type unit struct {
	ics    spec.ICS
	speed  float64
	answer time.Duration // that each answer takes
	wrap   func(wire.Device) wire.Device
}

func (*unit) Describe() string { return "a unit" }

func (u *unit) Dial(context.Context) (iut.Link, error) {
	bench, own := net.Pipe()
	go func() {
		var in io.Reader = own
		if u.answer > 0 {
			in = &slowly{bufio.NewReader(own), u.answer}
		}
		_ = wire.Serve(in, own, u.ics, func(ics spec.ICS) wire.Device { // the bench sees what becomes of it
			d := wire.Device(oracle.Emulator(ics))
			if u.wrap != nil {
				d = u.wrap(d)
			}
			return Device(d, u.speed)
		})
		own.Close()
	}()
	return link{bench}, nil
}

type link struct{ net.Conn }

func (link) Ending() iut.Ending { return iut.Ending{} }

// slowly lets each line take its time.
type slowly struct {
	*bufio.Reader
	each time.Duration
}

func (s *slowly) Read(p []byte) (int, error) {
	line, err := s.ReadString('\n')
	time.Sleep(s.each)
	return copy(p, line), err
}

func hand(t testing.TB) (vs []*suite.Vector) {
	t.Helper()
	s, err := suite.Load(vectors.Files)
	require.NoError(t, err)
	for _, v := range s.Vectors {
		if !v.IsGenerated() {
			vs = append(vs, v)
		}
	}
	return vs
}

func plain() spec.ICS {
	ics := spec.FullICS()
	ics.Tolerances = spec.Tolerances{}
	return ics
}

func check(t testing.TB, u *unit, o Options, vs []*suite.Vector) (results []*runner.Result) {
	t.Helper()
	opened, err := Open(t.Context(), u, iut.Options{}, o)
	require.NoError(t, err)
	require.NoError(t, runner.Run(t.Context(), opened, vs, func(r *runner.Result) { results = append(results, r) }))
	require.NoError(t, opened.Close())
	require.Len(t, results, len(vs))
	return results
}

func count(results []*runner.Result) (n map[runner.Verdict]int, exact int) {
	n = map[runner.Verdict]int{}
	for _, r := range results {
		n[r.Verdict]++
		if r.Exact {
			exact++
		}
	}
	return n, exact
}

const day = 24 * time.Hour

// A unit that is right passes whatever it is put to, at real time and with a time lapse, with a clock that is off by what the ICS claims; and
// what it is not put to is inconclusive.
func TestARightUnit(t *testing.T) {
	all := hand(t)
	for _, c := range []struct {
		speed float64
		off   float64 // parts per million by which its clock is fast
		slack time.Duration
		each  time.Duration // that an answer takes
		run   int           // at least
	}{
		{speed: 3600, slack: 2 * time.Second, run: 60},
		{speed: 3600, slack: 2 * time.Second, off: 400, run: 60},
		{speed: 3600, slack: 2 * time.Second, off: -400, run: 60},
		{speed: 1800, slack: 5 * time.Minute, each: time.Millisecond, run: 60},
	} {
		t.Run(fmt.Sprintf("%+v", c), func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				ics := plain()
				ics.Tolerances.ClockRate = 400
				ics.Tolerances.BoostRate = 400
				u := &unit{ics: ics, speed: c.speed * (1 + c.off/1e6), answer: c.each}
				results := check(t, u, Options{Speed: c.speed, Slack: c.slack, Allowed: day}, all)
				n, exact := count(results)
				for _, r := range results {
					switch {
					case r.Verdict == runner.Fail:
						t.Errorf("%s: %+v %v", r.Vector.ID, r.Departure, r.Observed)
					case r.Verdict == runner.Inconclusive && (r.Trouble == nil || r.Trouble.Kind != iut.NotRun || !strings.HasPrefix(r.Why, "not run: ") || strings.Contains(r.Why, "received")):
						t.Errorf("%s: %s", r.Vector.ID, r.Why)
					}
				}
				assert.Greater(t, n[runner.Pass], c.run)
				assert.NotZero(t, n[runner.Inconclusive])
				t.Log(n, exact)
			})
		})
	}
}

// At real time: the shortest that fit into eight hours, in the set's order, and of the rest it is said why not.
func TestTimeAllowed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		begin := time.Now()
		const allowed = 8 * time.Hour
		results := check(t, &unit{ics: plain(), speed: 1}, Options{Speed: 1, Slack: 2 * time.Second, Allowed: allowed}, hand(t))
		took := time.Since(begin)
		assert.LessOrEqual(t, took, allowed+time.Minute)
		assert.Greater(t, took, allowed/2)
		longest, spent, left := uint64(0), uint64(0), ""
		for _, r := range results {
			switch {
			case r.Verdict == runner.Pass:
				longest, spent = max(longest, r.Vector.Until), spent+r.Vector.Until
			case r.Verdict == runner.Fail:
				t.Errorf("%s: %+v", r.Vector.ID, r.Departure)
			case strings.Contains(r.Why, "it takes"):
				left = r.Why
				assert.GreaterOrEqual(t, r.Vector.Until, longest, "%s is shorter than one that was run", r.Vector.ID)
			}
		}
		assert.LessOrEqual(t, time.Duration(spent)*time.Second, allowed)
		assert.Regexp(t, `^not run: it takes \d+h\d+m\d+s, and of the 8h0m0s allowed the shorter ones leave .*s$`, left)
	})
}

// A unit that is wrong is told by the vectors that it is put to.
func TestAWrongUnit(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		u := &unit{ics: plain(), speed: 3600, wrap: func(d wire.Device) wire.Device { return &forgetsOverride{d} }}
		failed := 0
		for _, r := range check(t, u, Options{Speed: 3600, Slack: 2 * time.Second, Allowed: day}, hand(t)) {
			if r.Verdict == runner.Fail {
				failed++
				assert.True(t, slices.ContainsFunc(r.Bound.Steps, func(s suite.BoundStep) bool { return s.Input.Kind == spec.Override }) ||
					slices.ContainsFunc(r.Bound.Given, func(in spec.Input) bool { return in.Kind == spec.Override }), r.Vector.ID)
			}
		}
		assert.Greater(t, failed, 15)
	})
}

// forgetsOverride accepts every override, and does nothing.
type forgetsOverride struct{ wire.Device }

func (d *forgetsOverride) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	if in.Kind == spec.Override {
		return spec.Reply{}, changes
	}
	return d.Device.Do(in, changes)
}

// quiet is a vector with a table alone, some hours long.
func quiet() *suite.Vector {
	v := &suite.Vector{ID: "OUT-1/x", File: "out.json", Clauses: []string{"OUT-1"}, Start: time.Date(2026, 1, 14, 5, 0, 0, 0, time.UTC), Until: 10_000}
	v.Given = []string{"mode hw off", "table ch wed 06:30-07:00", "override ch"}
	v.Initial[spec.SigCH] = 1
	v.Trace = []spec.Change{{At: 7200, Signal: spec.SigCH, By: spec.ClauseTable}}
	return v
}

// The unit's clock is off by 1 in 1000, which after 10 000 s is 10 s, all but the line's time.
func TestTheClocksDifference(t *testing.T) {
	for _, c := range []struct {
		off   float64
		slack time.Duration
		claim uint32
		want  runner.Verdict
	}{
		{-1000, 11 * time.Second, 0, runner.Pass}, {1000, 11 * time.Second, 0, runner.Pass},
		{-1000, 9 * time.Second, 0, runner.Inconclusive}, {1000, 9 * time.Second, 0, runner.Inconclusive},
		{-1000, time.Second, 1000, runner.Pass}, {1000, time.Second, 1000, runner.Pass},
	} {
		synctest.Test(t, func(t *testing.T) {
			u := &unit{ics: plain(), speed: 60 * (1 + c.off/1e6)}
			u.ics.Tolerances.ClockRate = c.claim
			r := check(t, u, Options{Speed: 60, Slack: c.slack, Allowed: day}, []*suite.Vector{quiet()})[0]
			assert.Equal(t, c.want, r.Verdict, "%+v: %s %+v", c, r.Why, r.Departure)
			if c.want == runner.Inconclusive {
				assert.Equal(t, iut.Untimely, r.Trouble.Kind)
				assert.Contains(t, r.Why, "of its seconds off, and 9.0 are allowed: its clock is "+map[bool]string{true: "slow", false: "fast"}[c.off < 0])
			}
		})
	}
}

// What cannot be judged is not judged, and says what to do about it.
func TestTroubleInRealTime(t *testing.T) {
	for _, c := range []struct {
		name string
		unit unit
		o    Options
		want string
	}{
		// Some twenty answers, each of which takes 0.2 s or 12 of the unit's, come before the first wait.
		{"answers too slow for the speed", unit{speed: 60, answer: 200 * time.Millisecond}, Options{Speed: 60, Slack: 2 * time.Second},
			"times too uncertain to 'power on' (request 2 of the script): this input of second 0 may have come as much as 12.0 of the unit's seconds later, which is more than the tolerance of 2 s"},
		{"a unit that is faster than stated", unit{speed: 120}, Options{Speed: 60, Slack: 2 * time.Second},
			"the unit's second 60 came 30.0 of its seconds off, and 2.0 are allowed: its clock is fast"},
		{"a unit that is slower than stated", unit{speed: 1}, Options{Speed: 60, Slack: 2 * time.Second},
			"no answer in time to 'go 60' (request "},
		{"a unit that cannot be made new", unit{speed: 60, wrap: func(wire.Device) wire.Device { panic("never made") }}, Options{Speed: 60, Slack: 2 * time.Second},
			"without new no test can begin"},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				c.unit.ics, c.o.Allowed = plain(), day
				var dialer iut.Dialer = &c.unit
				if c.unit.wrap != nil {
					dialer = noNew{}
				}
				u, err := Open(t.Context(), dialer, iut.Options{}, c.o)
				require.NoError(t, err)
				assert.Equal(t, dialer.Describe()+", at 60 times real time", u.Describe())
				var why string
				require.NoError(t, runner.Run(t.Context(), u, []*suite.Vector{quiet()}, func(r *runner.Result) {
					assert.Equal(t, runner.Inconclusive, r.Verdict, "%+v", r.Departure)
					why = r.Why
				}))
				assert.Contains(t, why, c.want)
				_ = u.Close()               // what it says is not the point here
				time.Sleep(2 * time.Minute) // for the unit that sleeps
			})
		})
	}
}

// noNew opens links to a unit that answers new with 'unsupported'.
type noNew struct{}

func (noNew) Describe() string { return "a unit without new" }

func (noNew) Dial(context.Context) (iut.Link, error) {
	bench, own := net.Pipe()
	go func() {
		defer own.Close()
		in := bufio.NewScanner(own)
		for in.Scan() {
			answer := "ok\n"
			switch in.Text() {
			case wire.Hello:
				answer = string(wire.AppendICS(nil, plain())) + "ok\n"
			case wire.New:
				answer = "unsupported\n"
			}
			if _, err := io.WriteString(own, answer); err != nil {
				return
			}
		}
	}()
	return link{bench}, nil
}

// An interrupted run has told what it had, and ends at once.
func TestInterrupted(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		u, err := Open(t.Context(), &unit{ics: plain(), speed: 1}, iut.Options{}, Options{Speed: 1, Slack: 2 * time.Second, Allowed: day})
		require.NoError(t, err)
		stop := errors.New("enough")
		ctx, cancel := context.WithCancelCause(t.Context())
		time.AfterFunc(15_000*time.Second, func() { cancel(stop) })
		begin, told := time.Now(), 0
		err = runner.Run(ctx, u, []*suite.Vector{quiet(), quiet(), quiet()}, func(r *runner.Result) {
			told++
			assert.Equal(t, runner.Pass, r.Verdict)
		})
		assert.ErrorIs(t, err, stop)
		assert.Equal(t, 1, told)
		assert.Less(t, time.Since(begin), 15_100*time.Second)
		require.NoError(t, u.Close())
		time.Sleep(time.Minute) // for the unit, which has been told to wait
	})
}

func TestOptionsOutOfRange(t *testing.T) {
	good := Options{Speed: 1, Allowed: time.Hour}
	for want, change := range map[string]func(*Options){
		"a speed of 0 is not":             func(o *Options) { o.Speed = 0 },
		"a speed of 1e+07 is not":         func(o *Options) { o.Speed = 1e7 },
		"a tolerance of -1s is not":       func(o *Options) { o.Slack = -time.Second },
		"a tolerance of 2h0m0s is not":    func(o *Options) { o.Slack = 2 * time.Hour },
		"0s is no time in which anything": func(o *Options) { o.Allowed = 0 },
	} {
		o := good
		change(&o)
		_, err := Open(t.Context(), &unit{}, iut.Options{}, o)
		assert.ErrorContains(t, err, want)
	}
}

func script(t require.TestingT, lines ...string) (s iut.Script) {
	s = iut.Script{{Kind: iut.New}}
	for _, line := range lines {
		var seconds uint64
		if n, _ := fmt.Sscanf(line, "go %d", &seconds); n == 1 {
			s = append(s, iut.Request{Kind: iut.Go, Seconds: seconds})
			continue
		}
		in, err := wire.ParseInput(line)
		require.NoError(t, err)
		s = append(s, iut.Request{Kind: iut.Do, Input: in})
	}
	return s
}

// The default table is 07:00 to 09:00 and 16:00 to 23:00 on a Wednesday; 05:00 and 7200 s is 07:00.
func TestSteady(t *testing.T) {
	ics := spec.FullICS()
	begin := []string{"power on", "clock 2026-01-14 05:00"}
	for _, c := range []struct {
		name  string
		lines []string
		slack uint64
		want  bool
	}{
		{"a table", []string{"go 20000"}, 2, true},
		{"an override far from everything", []string{"go 3600", "override ch", "go 20000"}, 2, true},
		{"an override a second before the table closes", []string{"go 7199", "override ch", "go 20000"}, 2, false},
		{"the same, without slack", []string{"go 7199", "override ch", "go 20000"}, 0, true},
		{"an override some seconds before", []string{"go 7196", "override ch", "go 20000"}, 2, true},
		{"an override some seconds before, and more slack", []string{"go 7196", "override ch", "go 20000"}, 4, false},
		{"a boost that ends before the table", []string{"boost ch 60", "go 20000"}, 2, true},
		{"an override in the second of a boost's end", []string{"boost ch 60", "go 3600", "override ch", "go 20000"}, 2, false},
		{"a cut as long as the reserve", []string{"go 10", "power off", "go 28800", "power on", "go 20000"}, 2, false},
		{"a shorter cut", []string{"go 10", "power off", "go 28700", "power on", "go 9000"}, 2, true},
	} {
		assert.Equal(t, c.want, Steady(&ics, script(t, append(slices.Clone(begin), c.lines...)...), c.slack), c.name)
	}
}

// What is observed of a script in pieces is joined to what is observed of it whole.
func TestJoin(t *testing.T) {
	device := func(ics spec.ICS) wire.Device { return oracle.Emulator(ics) }
	observe := func(t *rapid.T, s iut.Script) (o iut.Observation) {
		err := iut.InProcess("emulator", spec.FullICS(), device).Run(context.Background(), []iut.Script{s}, func(_ int, obs *iut.Observation) {
			o = iut.Observation{Answers: slices.Clone(obs.Answers), Changes: slices.Clone(obs.Changes)}
		})
		require.NoError(t, err)
		return o
	}
	rapid.Check(t, func(t *rapid.T) {
		lines := rapid.SliceOfN(rapid.SampledFrom([]string{"power on", "mode hw always", "mode hw off", "boost ch 60", "boost ch 61", "override ch", "go 0", "go 1", "go 59", "go 60", "go 61", "go 7200", "go 100000", "power off"}), 1, 20).Draw(t, "lines")
		u := &Unit{o: Options{Speed: float64(rapid.SampledFrom([]int{1, 7, 60, 3600}).Draw(t, "speed"))}}
		if u.o.Speed == 1 {
			lines = slices.DeleteFunc(lines, func(s string) bool { return s == "go 100000" })
		}
		s := script(t, lines...)
		pieces := u.pieces(s)
		for _, r := range pieces {
			require.LessOrEqual(t, r.Seconds, u.piece())
		}
		want, got := observe(t, s), iut.Observation{}
		inPieces := observe(t, pieces)
		u.join(s, &inPieces, &got)
		require.Equal(t, want.Answers, got.Answers)
		require.Equal(t, len(want.Changes), len(got.Changes))
		for i := range want.Changes {
			require.Equal(t, want.Changes[i], got.Changes[i])
		}
		// With trouble half way, what came before the request under way is left.
		cut := rapid.IntRange(0, len(inPieces.Answers)-1).Draw(t, "cut")
		part := iut.Observation{Answers: inPieces.Answers[:cut], Trouble: &iut.Trouble{Kind: iut.Died, Index: cut}}
		if cut > 0 {
			part.Changes = inPieces.Changes[:inPieces.Answers[cut-1].Changes]
		}
		u.join(s, &part, &got)
		require.Equal(t, iut.Died, got.Trouble.Kind)
		require.Len(t, got.Answers, got.Trouble.Index)
		require.Equal(t, want.Answers[:got.Trouble.Index], got.Answers)
		changes := 0
		if n := len(got.Answers); n > 0 {
			changes = got.Answers[n-1].Changes
		}
		require.Len(t, got.Changes, changes)
		require.Less(t, got.Trouble.Index, len(s))
	})
}

// A change after the end is none of the script's.
func TestJoinDropsWhatComesAfterTheEnd(t *testing.T) {
	u := &Unit{o: Options{Speed: 10}}
	s := script(t, "go 15")
	pieces := &iut.Observation{Answers: []iut.Answer{{}, {Changes: 1}, {Changes: 3}}, Changes: []spec.Change{{At: 3, Level: 1}, {At: 15}, {At: 16, Level: 1}}}
	var whole iut.Observation
	u.join(s, pieces, &whole)
	assert.Equal(t, []iut.Answer{{}, {Changes: 2}}, whole.Answers)
	assert.Equal(t, pieces.Changes[:2], whole.Changes)
}
