package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"example.org/hearthbench/conformance/capture"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/scenario"
	"example.org/hearthbench/conformance/wire"
)

// captureHelp is what the help of check says of captures.
const captureHelp = `

A unit without a test port shows only what its relay contacts do. Record them, do what a scenario says, and hold the recording
against it:

  hearthbench check --capture unit.vcd --scenario day.yaml --map hw=D0,ch=!D1

A capture is a VCD file, or CSV with a header, a time in the first column (seconds, or the unit that its name says, or ISO 8601)
and a 0 or 1 in each other, or nothing where it is not known. Contact bounce is taken out; offset and drift of the unit's clock
against the recorder's are estimated and reported. What was not recorded or mapped makes the verdict inconclusive, which does not
hold. The order of changes within one second is not judged.

Never connect a logic analyser or logger to mains. Record relay contacts on the volt-free side only, with nothing else connected
to them; isolate the supply and prove it dead before any work on wiring; leave this to a competent person.`

// captureFlags are the flags of check that are about a capture.
type captureFlags struct {
	file      string
	scenario  string
	mapping   []string
	signals   []string
	ics       []string
	start     string
	tolerance time.Duration
	drift     float64
	bounce    time.Duration
}

// captureFlagNames are the flags that mean nothing without --capture; iutFlagNames those that mean nothing with it.
var (
	captureFlagNames = []string{"scenario", "map", "signals", "ics", "start", "drift", "bounce"}
	iutFlagNames     = []string{"iut", "vectors", "only", "timeout", "real-time", "speed", "time"}
)

func (f *captureFlags) add(c *cobra.Command) {
	flags := c.Flags()
	flags.StringVar(&f.file, "capture", "", "a recording of the unit's contacts, as VCD or CSV, to hold against a scenario")
	flags.StringVar(&f.scenario, "scenario", "", "with --capture: the scenario that was done")
	flags.StringSliceVar(&f.mapping, "map", nil, "with --capture: which column is which signal, as hw=D0,ch=!D1 (! is active low); by name if not given")
	flags.StringSliceVar(&f.signals, "signals", nil, "with --capture: the signals to judge, as hw,ch; if not given, the relays and whatever else the scenario moves")
	flags.StringSliceVar(&f.ics, "ics", nil, "with --capture: the tolerances that the unit's ICS claims, as late-scan=60,clock-rate=50")
	flags.StringVar(&f.start, "start", "0s", "with --capture: when the scenario starts after the first sample, as 1m30s, as a date and time, or auto to find it")
	flags.DurationVar(&f.tolerance, "tolerance", capture.DefaultTolerance, "with --capture or --real-time: how far off a change may be, beyond the ICS's tolerances")
	flags.Float64Var(&f.drift, "drift", capture.DefaultDrift, "with --capture: parts per million by which the clocks may drift apart, beyond the ICS's clock-rate")
	flags.DurationVar(&f.bounce, "bounce", capture.DefaultBounce, "with --capture: how long contacts may bounce")
}

// asked reports whether the command line is about a capture. An error says which flags do not go together.
func (f *captureFlags) asked(c *cobra.Command) (bool, error) {
	with, others := c.Flags().Changed("capture"), captureFlagNames
	if with {
		others = iutFlagNames
	}
	for _, name := range others {
		switch {
		case !c.Flags().Changed(name):
		case with:
			return false, fmt.Errorf("--%s does not go with --capture", name)
		default:
			return false, fmt.Errorf("--%s goes with --capture FILE, which is missing", name)
		}
	}
	return with, nil
}

// run holds a capture against a scenario.
func (f *captureFlags) run(format string, stdout io.Writer) error {
	write := map[string]func(*capture.Result, io.Writer) error{"text": (*capture.Result).WriteText, "json": (*capture.Result).WriteJSON}[format]
	switch {
	case write == nil:
		return fmt.Errorf("--format %s: with --capture it is text or json", format)
	case f.file == "":
		return errors.New("--capture names no file")
	case f.scenario == "":
		return errors.New("--scenario FILE is needed, to say what should have happened")
	case f.tolerance < 0:
		return fmt.Errorf("--tolerance %v: it should be 0 or more", f.tolerance)
	case f.bounce < 0 || f.bounce > time.Second:
		return fmt.Errorf("--bounce %v: it should be from 0 to 1s; contacts bounce for some milliseconds", f.bounce)
	case !(f.drift >= 0 && f.drift <= 10_000):
		return fmt.Errorf("--drift %v: it should be from 0 to 10000 parts per million", f.drift)
	}
	mapping, err := capture.ParseMapping(f.mapping)
	if err != nil {
		return fmt.Errorf("--map: %w", err)
	}
	o := capture.Options{Tolerance: f.tolerance, Drift: f.drift}
	if o.ICS, err = capture.ParseTolerances(f.ics); err != nil {
		return fmt.Errorf("--ics: %w", err)
	}
	for _, word := range f.signals {
		sig, err := wire.ParseSignal(word)
		if err != nil {
			return fmt.Errorf("--signals: %w", err)
		}
		o.Signals = append(o.Signals, sig)
	}
	trace, err := runScenario(f.scenario)
	if err != nil {
		return err
	}
	in, err := os.Open(f.file)
	if err != nil {
		return fmt.Errorf("reading the capture: %w", err)
	}
	defer in.Close()
	recording, err := capture.Open(f.file, in, &mapping, f.bounce)
	if err != nil {
		return fmt.Errorf("the capture cannot be used: %w", err)
	}
	if err := f.readStart(&o, recording); err != nil {
		return err
	}
	result, err := capture.Check(recording, trace, o)
	if err != nil {
		return err
	}
	if err := write(result, stdout); err != nil {
		return err
	}
	if result.Verdict != runner.Pass {
		return errDoesNotHold
	}
	return nil
}

// readStart reads where the scenario starts.
func (f *captureFlags) readStart(o *capture.Options, r *capture.Recording) error {
	if strings.EqualFold(f.start, "auto") {
		o.Align = true
		return nil
	}
	if after, err := time.ParseDuration(f.start); err == nil {
		o.Start = after
		return nil
	}
	when, err := time.Parse(time.RFC3339, f.start)
	switch {
	case err != nil:
		return fmt.Errorf("--start %s: it is a time after the first sample such as 1m30s, a date and time such as 2026-01-14T05:00:00Z, or auto", f.start)
	case r.Origin.IsZero():
		return fmt.Errorf("--start %s: the capture has no dates; say how long after the first sample the scenario starts, such as 1m30s", f.start)
	}
	o.Start = when.Sub(r.Origin)
	return nil
}

func runScenario(file string) (*scenario.Trace, error) {
	data, err := readScenario(file)
	if err != nil {
		return nil, fmt.Errorf("reading the scenario: %w", err)
	}
	s, err := scenario.Parse(file, data)
	if err != nil {
		return nil, fmt.Errorf("the scenario cannot be run:\n%w", err)
	}
	return s.Run(), nil
}
