// Command hearthbench tells what a domestic heating time control will do, and whether a design does that.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"
)

// Exit statuses, the same for every verb.
const (
	holds       = 0
	doesNotHold = 1
	couldNotRun = 2
)

// errDoesNotHold says that the question was answered, with no. The verb has told why.
var errDoesNotHold = errors.New("does not hold")

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	os.Exit(run(ctx, os.Args[1:], os.Stdout, os.Stderr))
}

// run runs one command line and returns its exit status.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	root := newRoot()
	root.SetArgs(args)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := root.ExecuteContext(ctx)
	switch {
	case err == nil:
		return holds
	case errors.Is(err, errDoesNotHold):
		return doesNotHold
	default:
		fmt.Fprintf(stderr, "hearthbench: %v\n", err)
		return couldNotRun
	}
}

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "hearthbench",
		Short: "What a heating programmer will do, and whether a design does that",
		Long: `Hearthbench is a deterministic emulator of a generic two-channel heating programmer, with numbered behaviour
clauses, test vectors, and a harness that puts them to an implementation.

It models time control only. It does not replace safety controls, a frost thermostat, a cylinder thermostat's
temperature against legionella, or a competent person. Isolate mains wiring and prove it dead before work on it;
gas work is for registered engineers; local codes rule.

Exit status: 0 holds, 1 does not hold, 2 could not be run.`,
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.AddCommand(newCheck(), newEmulate(), newReplay(), newFuzz(), newExplore(), newIdentify(), newVectors())
	root.CompletionOptions.HiddenDefaultCmd = true
	return root
}
