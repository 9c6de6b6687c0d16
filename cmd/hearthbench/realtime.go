package main

import (
	"context"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/realtime"
)

// realTimeHelp is what the help of check says of units in real time.
const realTimeHelp = `

A unit whose time cannot be injected runs by its own clock, and answers "go" when its time has passed:

  hearthbench check --iut serial:/dev/ttyUSB0 --real-time --time 8h
  hearthbench check --iut serial:/dev/ttyUSB0 --real-time --speed 60 --tolerance 5s

Of the vectors that can be told within the tolerance, the shortest are run that fit into the time; the others are inconclusive, which
does not hold: keep to those you want with --only. 'new' has to make such a unit as it left the factory, if need be by cutting its supply.`

// realTimeFlags are the flags of check that are about units in real time.
type realTimeFlags struct {
	on      bool
	speed   float64
	allowed time.Duration
	flags   *pflag.FlagSet
}

func (f *realTimeFlags) add(c *cobra.Command) {
	f.flags = c.Flags()
	f.flags.BoolVar(&f.on, "real-time", false, "the unit's clock runs by itself (exec, serial and tcp); --tolerance is then by its seconds")
	f.flags.Float64Var(&f.speed, "speed", 1, "with --real-time: how many times faster than time the unit's clock runs, in a build with a time lapse")
	f.flags.DurationVar(&f.allowed, "time", 8*time.Hour, "with --real-time: how long the run may take")
}

// open opens the implementation that --iut names, in real time if that was asked for.
func (f *realTimeFlags) open(ctx context.Context, target string, timeout time.Duration, stderr io.Writer) (iut.IUT, error) {
	if !f.on {
		for name, with := range map[string]string{"speed": "", "time": "", "tolerance": " or --capture FILE"} {
			if f.flags.Changed(name) {
				return nil, fmt.Errorf("--%s goes with --real-time%s, which is missing", name, with)
			}
		}
		return openTarget(ctx, target, timeout, stderr)
	}
	if jobs, err := f.flags.GetInt("jobs"); err == nil && jobs > 1 {
		return nil, fmt.Errorf("--jobs %d: with --real-time one unit is tested at a time; leave --jobs out", jobs)
	}
	dialer, options, ok, err := dialTarget(target, stderr)
	switch {
	case err != nil:
		return nil, err
	case !ok:
		return nil, fmt.Errorf("--real-time: the time of '%s' passes only as the bench lets it; it is for 'exec:', 'serial:' and 'tcp:'", target)
	case !(f.speed >= realtime.MinSpeed && f.speed <= realtime.MaxSpeed):
		return nil, fmt.Errorf("--speed %v: it is from %v to %v", f.speed, realtime.MinSpeed, realtime.MaxSpeed)
	case f.allowed <= 0:
		return nil, fmt.Errorf("--time %v: it should be more than 0", f.allowed)
	}
	slack, err := f.flags.GetDuration("tolerance")
	if err != nil {
		return nil, err
	}
	if slack < 0 || slack > realtime.MaxSlack {
		return nil, fmt.Errorf("--tolerance %v: with --real-time it is from 0s to %v", slack, realtime.MaxSlack)
	}
	options.Timeout = timeout
	unit, err := realtime.Open(ctx, dialer, options, realtime.Options{Speed: f.speed, Slack: slack, Allowed: f.allowed})
	if err != nil {
		return nil, err
	}
	return unit, nil
}
