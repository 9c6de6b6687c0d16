package main

import (
	"fmt"
	"io"
	"os"
	"strconv"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"example.org/hearthbench/conformance/capture"
	"example.org/hearthbench/conformance/scenario"
	"example.org/hearthbench/conformance/timing"
)

func newEmulate() *cobra.Command {
	var format string
	c := &cobra.Command{
		Use:   "emulate FILE",
		Short: "Show what a unit does in a scenario, second by second, with the rule behind every change",
		Long: `Emulate reads a scenario from a file, or from standard input if FILE is -, and shows what a unit does in it: what was
done and what the unit answered, every change of a relay, of the alert and of the sounder with the rule and the clause
behind it, and a timing diagram. It is as wide as the terminal, or as COLUMNS says.

A scenario is YAML:

  title: Heating on a short day
  unit: {coupling: gravity, periods: 3}     # options of BEHAVIOUR.md; what is left out is as in a unit that has everything
  start: 2026-01-14 05:00                   # local time; the unit's clock is set to it (clock: unset leaves it)
  given:                                    # lines of ADAPTER.md and VECTORS.md
    - mode hw off
    - table ch every 06:30-09:00 17:00-22:00
  steps:
    - {at: 2026-01-14 08:00, do: override ch}
    - {at: +01:30:00, do: boost ch 60}      # after the step before
    - {at: 2026-01-14 12:00:30, do: override hw, expect: refused}
  until: 2026-01-15 05:00

Local times are true ones, whatever the unit's clock says. Of a reading that comes twice, the first is meant unless an offset
such as +00:00 follows.

JSON has format, title, unit, start, until, given, initial (signal to level), trace, holds, limits and safety. Each entry of
trace has at (seconds since the start), local (ISO 8601) and display (what the unit itself showed). An input has number,
input, reply, and where they apply why, clause and expected. A change has signal, level, clause, cause, slot and why; cause is
input, boost-end, holiday-end, summer-time, period, stage, permit or sounder.

VCD (IEEE 1364) has a tick of a second from the start on: hw, ch and sounder, the alert as two bits (0 none, 1 counting, 2 notice,
3 restricted), and inputs, the number of the input done last.

Exit status: 0, or 1 if a step had another outcome than it expects, or 2 if the scenario could not be run.`,
		Example: `  hearthbench emulate testdata/scenarios/gravity.yaml
  hearthbench emulate --format json - <scenario.yaml
  hearthbench emulate --format vcd day.yaml >day.vcd`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return emulate(args[0], format, c.InOrStdin(), c.OutOrStdout())
		},
	}
	c.Flags().StringVar(&format, "format", "table", "table, json or vcd")
	return c
}

func emulate(file, format string, stdin io.Reader, stdout io.Writer) error {
	write := map[string]func(*scenario.Trace) error{
		"table": func(t *scenario.Trace) error { return t.WriteTable(stdout, columns(stdout)) },
		"json":  func(t *scenario.Trace) error { return t.WriteJSON(stdout) },
		"vcd":   func(t *scenario.Trace) error { return capture.WriteTrace(stdout, t) },
	}[format]
	if write == nil {
		return fmt.Errorf("--format %s: it is table, json or vcd", format)
	}
	name := file
	var data []byte
	var err error
	if file == "-" {
		name = "standard input"
		data, err = io.ReadAll(io.LimitReader(stdin, scenario.MaxSize+1))
	} else {
		data, err = readScenario(file)
	}
	if err != nil {
		return fmt.Errorf("reading the scenario: %w", err)
	}
	s, err := scenario.Parse(name, data)
	if err != nil {
		return fmt.Errorf("the scenario cannot be run:\n%w", err)
	}
	trace := s.Run()
	if err := write(trace); err != nil {
		return err
	}
	if !trace.Holds() {
		return errDoesNotHold
	}
	return nil
}

// readScenario reads no more of a file than a scenario can have, and a byte, so that one that is too long is found out.
func readScenario(file string) ([]byte, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, scenario.MaxSize+1))
}

// columns returns how wide a drawing may be: what COLUMNS says, or else the terminal that it goes to.
func columns(stdout io.Writer) int {
	if n, err := strconv.Atoi(os.Getenv("COLUMNS")); err == nil && n > 0 {
		return min(n, widest)
	}
	if f, ok := stdout.(*os.File); ok {
		if n, _, err := term.GetSize(int(f.Fd())); err == nil && n > 0 {
			return min(n, widest)
		}
	}
	return timing.DefaultWidth
}

// widest is the widest drawing that can still be read.
const widest = 400
