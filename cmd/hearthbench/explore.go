package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"example.org/hearthbench/conformance/explore"
	"example.org/hearthbench/conformance/fuzz"
	"example.org/hearthbench/conformance/sample"
	"example.org/hearthbench/conformance/wasm"
)

type exploreFlags struct {
	target  string
	groups  []string
	inputs  []string
	given   []string
	horizon time.Duration
	states  int
	jobs    int
	out     string
	format  string
}

func newExplore() *cobra.Command {
	var f exploreFlags
	c := &cobra.Command{
		Use:   "explore --iut TARGET",
		Short: "Visit every state within stated bounds, and check what the clauses promise in each",
		Long: `Explore visits every state that a unit can come to within stated bounds: inputs, instants and a horizon. In each it checks
the emulator against invariants worked out from the facts by rules of their own, and, for firmware that is a WebAssembly
module, that the firmware answers and changes exactly as the emulator does. If nothing departs, that is proved for the bounds;
otherwise a shortest way to the departure is shown. A firmware's departure is put to it once more, from new on, by the runner of 'check'
too, and told as the vector that shows it; with --out it becomes a file there, which 'check --vectors' reads.

Time passes to the next instant of change and, where that is a full minute of the clock, to the second before it: at other
seconds no input is tried. Firmware has to be a WebAssembly module because it must be put back into any state.

Groups of inputs: ` + groupHelp() + `

Exit status: 0 holds, 1 does not hold, 2 could not be run or not settled within --states or before an interruption.`,
		Example: `  hearthbench explore --iut emulator --inputs mode,override,boost
  hearthbench explore --iut sample
  hearthbench explore --iut wasm:unit.wasm --inputs override,power --input 'boost ch 120' --horizon 3h`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return f.run(c.Context(), c.OutOrStdout(), c.ErrOrStderr()) },
	}
	c.Flags().StringVar(&f.target, "iut", "", "'emulator', 'emulator:OPTION=VALUE,…', 'sample', or 'wasm:FILE'")
	c.Flags().StringSliceVar(&f.groups, "inputs", []string{"override", "boost", "reset"}, "groups of inputs")
	c.Flags().StringArrayVar(&f.inputs, "input", nil, "a line of the adapter protocol more; may be given again")
	c.Flags().StringArrayVar(&f.given, "given", nil, "a line done once at the start, after power, clock and table; may be given again")
	c.Flags().DurationVar(&f.horizon, "horizon", 0, "how far the clock may run; default 75m where one is needed: for firmware and with automatic summer time")
	c.Flags().IntVar(&f.states, "states", explore.DefaultStates, fmt.Sprintf("the most states to keep, at most %d; a million of the emulator alone take about 75 MB, with a firmware about 150 MB", explore.MaxStates))
	c.Flags().IntVar(&f.jobs, "jobs", runtime.NumCPU(), "how many processors to use; the result is the same")
	c.Flags().StringVar(&f.out, "out", "", "a folder for the vector file of a firmware's departure; it is made if need be")
	c.Flags().StringVar(&f.format, "format", "text", "text or json")
	return c
}

func groupHelp() string {
	var b strings.Builder
	for i, g := range explore.Groups() {
		if i > 0 {
			b.WriteString("; ")
		}
		fmt.Fprintf(&b, "%s (%s)", g.Name, g.About)
	}
	return b.String()
}

const defaultHorizon = 75 * time.Minute

func (f *exploreFlags) run(ctx context.Context, stdout, stderr io.Writer) error {
	if f.format != "text" && f.format != "json" {
		return fmt.Errorf("--format %s: it is text or json", f.format)
	}
	if f.jobs < 1 {
		return fmt.Errorf("--jobs %d: it should be 1 or more", f.jobs)
	}
	if f.horizon < 0 || f.horizon%time.Second != 0 {
		return fmt.Errorf("--horizon %v: it should be whole seconds, and not less than 0", f.horizon)
	}
	b, open, err := f.bounds(ctx)
	if err != nil {
		return err
	}
	if f.out != "" {
		if err := os.MkdirAll(f.out, 0o755); err != nil {
			return fmt.Errorf("--out: %w", err)
		}
	}
	progress := newProgress(stderr, b.States, "states")
	begun := time.Now()
	r, err := explore.Run(ctx, b, explore.Options{Workers: f.jobs, Firmware: open, Progress: func(states, _ int) { progress.show(states) }})
	took := explore.Took{Time: time.Since(begun), Workers: f.jobs}
	progress.clear()
	if err != nil {
		return err
	}
	if r.Counterexample != nil && open != nil {
		if err := f.confirm(ctx, &b, r.Counterexample, open); err != nil {
			return err
		}
	}
	if f.format == "json" {
		err = r.WriteJSON(stdout, f.target)
	} else {
		err = r.WriteText(stdout, f.target, took)
	}
	switch {
	case err != nil:
		return err
	case r.Counterexample != nil:
		return errDoesNotHold
	case !r.Complete:
		return fmt.Errorf("not settled: %s; fewer inputs, a nearer --horizon or more --states would settle it", r.Stopped)
	}
	return nil
}

// confirm puts a firmware's departure to it once more, and makes a vector of it.
func (f *exploreFlags) confirm(ctx context.Context, b *explore.Bounds, c *explore.Counterexample, open func(context.Context) (*wasm.Unit, error)) error {
	if c.Departure == nil {
		return nil // the emulator's own: no vector can be trusted then
	}
	if d, err := explore.Confirm(ctx, b, c, open); err != nil {
		return err
	} else if d == nil {
		return errors.New("the firmware departs when it is put back into a state, and not when it is brought there: nothing can be said of it, for it depends on more than its memory")
	}
	finding, err := explore.Vector(ctx, b, c, open)
	if err != nil || finding == nil {
		return err
	}
	if c.Vector, err = finding.File(); err != nil || f.out == "" {
		return err
	}
	if err := fuzz.WriteFile(f.out, finding.Name(), c.Vector); err != nil {
		return fmt.Errorf("--out: %w", err)
	}
	c.File = filepath.Join(f.out, finding.Name()+".json")
	c.Again = fmt.Sprintf("hearthbench check --iut %s --vectors %s", quoted(f.target), quoted(c.File))
	return nil
}

// bounds makes the bounds, and says how a firmware is opened; nil for the emulator.
func (f *exploreFlags) bounds(ctx context.Context) (b explore.Bounds, open func(context.Context) (*wasm.Unit, error), err error) {
	kind, rest, _ := strings.Cut(f.target, ":")
	switch kind {
	case "emulator":
		if b.ICS, err = emulatorICS(rest); err != nil {
			return b, nil, fmt.Errorf("--iut %s: %w", f.target, err)
		}
	case "sample", "wasm":
		module := sample.Module
		if kind == "wasm" {
			if module, err = os.ReadFile(rest); err != nil {
				return b, nil, fmt.Errorf("--iut %s: %w", f.target, err)
			}
		}
		open = func(ctx context.Context) (*wasm.Unit, error) { return wasm.Open(ctx, f.target, module, wasm.Options{}) }
		u, err := open(ctx)
		if err != nil {
			return b, nil, err
		}
		b.ICS = u.ICS()
		if err := u.Close(); err != nil {
			return b, nil, err
		}
	case "":
		return b, nil, errors.New("--iut is needed: 'emulator', 'sample' or 'wasm:FILE'")
	default:
		return b, nil, fmt.Errorf("--iut %s: only the emulator and WebAssembly modules can be put back into any state; 'check' and 'fuzz' take the rest", f.target)
	}
	if b, err = explore.ForGroups(b.ICS, f.groups); err != nil {
		return b, nil, fmt.Errorf("--inputs: %w", err)
	}
	for _, line := range f.given {
		l, err := explore.ParseLetter(&b.ICS, line)
		if err != nil {
			return b, nil, fmt.Errorf("--given: %w", err)
		}
		b.Given = append(b.Given, l)
	}
	for _, line := range f.inputs {
		l, err := explore.ParseLetter(&b.ICS, line)
		if err != nil {
			return b, nil, fmt.Errorf("--input: %w", err)
		}
		b.Letters = append(b.Letters, l)
	}
	b.States = f.states
	b.Horizon = uint64(f.horizon / time.Second)
	if f.horizon == 0 && (open != nil || b.ICS.SummerTime) {
		b.Horizon = uint64(defaultHorizon / time.Second)
	}
	return b, open, nil
}
