package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"example.org/hearthbench/conformance/faults"
	"example.org/hearthbench/conformance/kill"
)

func newVectorsMatrix() *cobra.Command {
	var folder string
	c := &cobra.Command{
		Use:   "matrix",
		Short: "Put every seeded fault to every vector, and say what is caught",
		Long: `Matrix puts each seeded fault of the catalogue to every published vector that its unit's ICS calls for, and prints the totals. With
--write it writes the two pages KILLS.md (which vector catches which fault) and TRACE.md (clause, vectors, faults, evidence).

Exit status: 0 every fault is caught, 1 some are not.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if folder != "" {
				if err := isFolder(folder); err != nil {
					return fmt.Errorf("--write: %w", err)
				}
			}
			set, _, err := loadVectors("")
			if err != nil {
				return err
			}
			catalogue := slices.Concat(faults.Catalogue(), faults.Doubles())
			progress := newProgress(c.ErrOrStderr(), len(catalogue), "faults")
			m, err := kill.Compute(c.Context(), set, catalogue, progress.show)
			progress.clear()
			if err != nil {
				return err
			}
			fmt.Fprintln(c.OutOrStdout(), m.Totals())
			for _, f := range m.Uncaught() {
				fmt.Fprintf(c.OutOrStdout(), "uncaught: %s: %s\n", f.ID, f.Words)
			}
			if folder != "" {
				for name, text := range map[string]string{kill.KillsFile: m.KillsPage(), kill.TraceFile: m.TracePage()} {
					if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o644); err != nil {
						return err
					}
				}
			}
			if len(m.Uncaught()) > 0 {
				return errDoesNotHold
			}
			return nil
		},
	}
	c.Flags().StringVar(&folder, "write", "", "the vectors folder, to write the pages to")
	return c
}
