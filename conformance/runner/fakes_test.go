package runner_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// start is where the vectors of these tests begin.
var start = time.Date(2026, 1, 14, 5, 0, 0, 0, time.UTC)

// vector is a vector without needs, two days long.
func vector(trace ...spec.Change) *suite.Vector {
	return &suite.Vector{ID: "OUT-1/x", File: "out.json", Clauses: []string{"OUT-1"}, Start: start, Until: 2 * 86400, Trace: trace}
}

func at(second uint64, s spec.Signal, level spec.Level, by spec.Clause) spec.Change {
	return spec.Change{At: second, Signal: s, Level: level, By: by}
}

// exact is a full unit that claims no tolerance; with changes some.
func exact(changes ...func(*spec.Tolerances)) spec.ICS {
	ics := spec.FullICS()
	ics.Tolerances = spec.Tolerances{}
	for _, change := range changes {
		change(&ics.Tolerances)
	}
	return ics
}

// player shows what it is told to, whatever is done to it. Changes of second 0 come with the first input, all others as their second
// is reached.
type player struct {
	now     uint64
	rest    []spec.Change
	replies map[string]spec.Reply // to inputs, worded as requests; others are accepted
}

func (p *player) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	return p.replies[string(wire.AppendInput(nil, in))], p.play(changes)
}

func (p *player) Advance(seconds uint64, changes []spec.Change) []spec.Change {
	p.now += seconds
	return p.play(changes)
}

func (p *player) play(changes []spec.Change) []spec.Change {
	for len(p.rest) > 0 && p.rest[0].At <= p.now {
		changes, p.rest = append(changes, p.rest[0]), p.rest[1:]
	}
	return changes
}

func playing(ics spec.ICS, replies map[string]spec.Reply, observed ...spec.Change) iut.IUT {
	return iut.InProcess("player", ics, func(spec.ICS) wire.Device {
		return &player{rest: observed, replies: replies}
	})
}

// run puts one vector to a unit.
func run(t require.TestingT, unit iut.IUT, v *suite.Vector) *runner.Result {
	var result *runner.Result
	err := runner.Run(ctx, unit, []*suite.Vector{v}, func(r *runner.Result) {
		result = r
	})
	require.NoError(t, err)
	require.NotNil(t, result)
	require.Same(t, v, result.Vector)
	return result
}

// play puts one vector to a unit that shows what is observed.
func play(t testing.TB, ics spec.ICS, v *suite.Vector, observed ...spec.Change) *runner.Result {
	t.Helper()
	return run(t, playing(ics, nil, observed...), v)
}

// late is the emulator behind a board that shows what the clocks bring a few seconds late.
type late struct {
	wire.Device
	seconds uint64
	now     uint64
	held    []spec.Change
}

func (d *late) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	return d.Device.Do(in, changes)
}

func (d *late) Advance(seconds uint64, changes []spec.Change) []spec.Change {
	d.now += seconds
	d.held = d.Device.Advance(seconds, d.held)
	for len(d.held) > 0 && d.held[0].At+d.seconds <= d.now {
		c := d.held[0]
		c.At += d.seconds
		changes, d.held = append(changes, c), d.held[1:]
	}
	return changes
}

// slow is the emulator behind a board whose outputs follow only some seconds after power has returned.
type slow struct {
	wire.Device
	delay       uint64
	now, ready  uint64
	powered     bool
	true, shown [spec.NumSignals]spec.Level
}

func (d *slow) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	reply, own := d.Device.Do(in, nil)
	if reply.Outcome == spec.Accepted {
		switch {
		case in.Kind == spec.PowerOn && !d.powered:
			d.powered, d.ready = true, d.now+d.delay
		case in.Kind == spec.PowerOff:
			d.powered, d.ready = false, 0
			return reply, d.follow(d.now, own, changes)
		}
	}
	return reply, d.show(own, changes)
}

func (d *slow) Advance(seconds uint64, changes []spec.Change) []spec.Change {
	end := d.now + seconds
	if d.now < d.ready && d.ready <= end {
		changes = d.follow(d.ready, d.Device.Advance(d.ready-d.now, nil), changes)
		d.now = d.ready
	}
	own := d.Device.Advance(end-d.now, nil)
	d.now = end
	return d.show(own, changes)
}

// show shows changes, or holds them back while the board is not ready.
func (d *slow) show(own, changes []spec.Change) []spec.Change {
	for _, c := range own {
		d.true[c.Signal] = c.Level
		if d.now >= d.ready {
			d.shown[c.Signal] = c.Level
			changes = append(changes, c)
		}
	}
	return changes
}

// follow takes in changes, and in one second shows what has come of all that was held back, in the order of OUT-3.
func (d *slow) follow(second uint64, own, changes []spec.Change) []spec.Change {
	for _, c := range own {
		d.true[c.Signal] = c.Level
	}
	order := [...]spec.Signal{spec.SigHW, spec.SigCH, spec.SigAlert, spec.SigSounder}
	if d.true[spec.SigHW] == 0 {
		order[0], order[1] = spec.SigCH, spec.SigHW
	}
	for _, s := range order {
		if d.shown[s] != d.true[s] {
			d.shown[s] = d.true[s]
			changes = append(changes, spec.Change{At: second, Signal: s, Level: d.true[s]})
		}
	}
	return changes
}

func wrapped(ics spec.ICS, wrap func(wire.Device) wire.Device) iut.IUT {
	return iut.InProcess("wrapped", ics, func(ics spec.ICS) wire.Device { return wrap(oracle.Emulator(ics)) })
}
