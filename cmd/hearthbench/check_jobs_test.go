package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/report"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

func emptyReport(tb testing.TB) *report.Report {
	tb.Helper()
	set, err := suite.New(vectors.Files)
	require.NoError(tb, err)
	return &report.Report{IUT: "emulator", ICS: spec.FullICS(), Page: set.Page}
}

// Whatever the number of instances, what is written is the same to the byte.
func TestJobsMakeNoDifference(t *testing.T) {
	mine := spoilt(t, 60)
	same := func(target string, args []string, jobs ...string) {
		var first string
		for i, n := range jobs {
			status, stdout, stderr := hearthbench(t, append([]string{"check", "--iut", target, "--vectors", mine, "--jobs", n}, args...)...)
			require.Equal(t, doesNotHold, status, stderr)
			if i == 0 {
				first = timeless(stdout)
			}
			require.Equal(t, first, timeless(stdout), "%s %v --jobs %s", target, args, n)
		}
	}
	for _, args := range [][]string{{"--all"}, {"--format", "json"}, {"--format", "tap"}, {"--format", "html"}} {
		same("emulator", args, "1", "2", "5", "200")
	}
	same("sample", []string{"--all"}, "1", "3")
}

func TestInstances(t *testing.T) {
	for _, c := range []struct {
		target   string
		jobs     int
		vectors  int
		at, most int
	}{
		{"exec:./unit", asSuits, 5000, 1, 1},
		{"exec:./unit", 7, 5000, 7, 7},
		{"exec:./unit", 7, 3, 3, 3},
		{"tcp:a:1", 1, 5000, 1, 1},
		{"emulator:periods=3", asSuits, 5000, 1, 256},
		{"sample", asSuits, 63, 1, 1},
		{"wasm:x", 4, 63, 4, 4},
		{"emulator", 1, 0, 1, 1},
	} {
		n, err := (&checkFlags{target: c.target, jobs: c.jobs}).instances()
		require.NoError(t, err)
		require.GreaterOrEqual(t, n.of(c.vectors), c.at, "%+v", c)
		require.LessOrEqual(t, n.of(c.vectors), c.most, "%+v", c)
	}
}

// fake is the emulator as a unit of which a test may decide what it states and how it ends.
type fake struct {
	iut.IUT
	ics    spec.ICS
	run    func(ctx context.Context, scripts []iut.Script, done func(int, *iut.Observation)) error
	closed *atomic.Int32
}

func newFake(closed *atomic.Int32) *fake {
	ics := spec.FullICS()
	return &fake{IUT: iut.InProcess("fake", ics, func(ics spec.ICS) wire.Device { return oracle.Emulator(ics) }), ics: ics, closed: closed}
}

func (f *fake) ICS() spec.ICS { return f.ics }
func (f *fake) Close() error  { f.closed.Add(1); return nil }
func (f *fake) Run(ctx context.Context, scripts []iut.Script, done func(int, *iut.Observation)) error {
	if f.run != nil {
		return f.run(ctx, scripts, done)
	}
	return f.IUT.Run(ctx, scripts, done)
}

// An instance that cannot be opened, or that states another ICS, is told, and those that were opened are closed.
func TestOpenUnits(t *testing.T) {
	var closed, opened atomic.Int32
	open := func(wrong func(n int32, f *fake) error) func() (iut.IUT, error) {
		return func() (iut.IUT, error) {
			f := newFake(&closed)
			if err := wrong(opened.Add(1), f); err != nil {
				return nil, err
			}
			return f, nil
		}
	}
	good := func(int32, *fake) error { return nil }
	units, err := openUnits(context.Background(), 3, open(good))
	require.NoError(t, err)
	require.Len(t, units, 3)
	require.Zero(t, closed.Load())

	opened.Store(0)
	_, err = openUnits(context.Background(), 3, open(func(n int32, _ *fake) error {
		if n > 1 {
			return errors.New("the port is taken")
		}
		return nil
	}))
	require.ErrorContains(t, err, "instance 2 of 3: the port is taken\ninstance 3 of 3: the port is taken")
	require.EqualValues(t, 1, closed.Load())

	opened.Store(0)
	_, err = openUnits(context.Background(), 3, open(func(int32, *fake) error { return errors.New("no such file") }))
	require.EqualError(t, err, "no such file")
	require.EqualValues(t, 1, opened.Load(), "what keeps the first from being opened is told once")

	opened.Store(0)
	_, err = openUnits(context.Background(), 2, open(func(n int32, f *fake) error { f.ics.Periods = uint8(n); return nil }))
	require.ErrorContains(t, err, "instance 2 of 2 states another ICS than the first; test one at a time, without --jobs")
	require.EqualValues(t, 3, closed.Load())
}

// manyVectors are that many that pass.
func manyVectors(tb testing.TB, n int) []*suite.Vector {
	tb.Helper()
	set, _, err := loadVectors("")
	require.NoError(tb, err)
	picked, err := pick(set, []string{"MOD-6"})
	require.NoError(tb, err)
	var list []*suite.Vector
	for i := range n {
		v := *picked[0]
		v.ID = fmt.Sprintf("MOD-6/x-%d", i)
		list = append(list, &v)
	}
	return list
}

// The end of the context leaves all results there are, in order, with those between them missing.
func TestRunOnInterrupted(t *testing.T) {
	var closed atomic.Int32
	ctx, cancel := context.WithCancel(context.Background())
	first, second := newFake(&closed), newFake(&closed)
	reached := make(chan struct{})
	first.run = func(ctx context.Context, scripts []iut.Script, done func(int, *iut.Observation)) error {
		// It answers one and hangs; the other has the rest.
		if err := first.IUT.Run(ctx, scripts[:1], done); err != nil {
			return err
		}
		<-ctx.Done()
		return context.Cause(ctx)
	}
	second.run = func(ctx context.Context, scripts []iut.Script, done func(int, *iut.Observation)) error {
		err := second.IUT.Run(ctx, scripts, done)
		select {
		case <-reached:
		default:
			close(reached)
		}
		return err
	}
	go func() {
		<-reached
		cancel()
	}()
	all := manyVectors(t, 160) // portions of 10
	var ids []string
	arrived := 0
	err := runOn(ctx, []iut.IUT{first, second}, all, func(*runner.Result) { arrived++ }, func(r *runner.Result) { ids = append(ids, r.Vector.ID) })
	require.ErrorIs(t, err, context.Canceled)
	require.Greater(t, len(ids), 10)
	require.Less(t, len(ids), 160)
	require.Equal(t, len(ids), arrived)
	at := 0
	for _, id := range ids {
		for all[at].ID != id {
			at++
			require.Less(t, at, len(all), "%s is out of order", id)
		}
	}
}

// Once an instance has been given up, all that remains is put to one instance at a time, so that a dead unit is not waited for again and again.
func TestRunOnGivesUpOnce(t *testing.T) {
	var closed, runs atomic.Int32
	dead := func(ctx context.Context, scripts []iut.Script, done func(int, *iut.Observation)) error {
		runs.Add(1)
		for i := range scripts {
			done(i, &iut.Observation{Trouble: &iut.Trouble{Kind: iut.Hung, Untried: true}})
		}
		return nil
	}
	a, b := newFake(&closed), newFake(&closed)
	a.run, b.run = dead, dead
	n := 0
	err := runOn(context.Background(), []iut.IUT{a, b}, manyVectors(t, 160), func(*runner.Result) {}, func(r *runner.Result) {
		require.Equal(t, runner.Inconclusive, r.Verdict)
		n++
	})
	require.NoError(t, err)
	require.Equal(t, 160, n)
	require.LessOrEqual(t, runs.Load(), int32(4))
}

// The line stands still while its numbers grow, and goes away for what else is written.
func TestProgress(t *testing.T) {
	var screen bytes.Buffer
	p := &progress{w: &screen, total: 1000, what: "vectors"}
	p.add(false)
	require.Equal(t, "\r   1 of 1000 vectors,  999 left", screen.String())
	screen.Reset()
	p.add(true)
	require.Empty(t, screen.String(), "not again so soon")
	p.next = time.Time{}
	p.add(false)
	require.Equal(t, "\r   3 of 1000 vectors,  997 left, 1 not passed so far", screen.String())
	screen.Reset()
	p.next = time.Time{}
	p.show(1000)
	require.Equal(t, "\r1000 of 1000 vectors,    0 left, 1 not passed so far", screen.String())
	screen.Reset()
	var out bytes.Buffer
	n, err := fmt.Fprint(p.over(&out), "iut: hello\n")
	require.NoError(t, err)
	require.Equal(t, 11, n)
	require.Equal(t, "iut: hello\n", out.String())
	require.Equal(t, "\r"+strings.Repeat(" ", 52)+"\r", screen.String())
	screen.Reset()
	p.clear()
	require.Empty(t, screen.String(), "there is nothing to take away")

	silent := newProgress(&screen, 10, "vectors")
	silent.next = time.Time{}
	silent.add(true)
	silent.clear()
	require.Empty(t, screen.String(), "what is no terminal is told nothing")
}
