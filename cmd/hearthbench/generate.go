package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"example.org/hearthbench/conformance/generate"
	"example.org/hearthbench/vectors"
)

func newVectorsGenerate() *cobra.Command {
	return &cobra.Command{
		Use:   "generate FOLDER",
		Short: "For contributors: write the generated vectors, FOLDER/generated/*.json, anew after clauses or models have changed",
		Long: `Generate writes the generated vectors into the folder 'generated' of a copy of the published files: complete test suites of
small machines, and pairs of features over a covering array of the ICS options. VECTORS.md says what they guarantee. The
same program writes the same bytes. No file is written unless both models agree on every vector; files of earlier
machines are removed. 'hearthbench vectors seal FOLDER' comes next.`,
		Example: "  hearthbench vectors generate vectors",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			// A mistyped folder would be made, and files removed.
			if _, err := os.Stat(filepath.Join(args[0], "schema.json")); err != nil {
				return fmt.Errorf("%s is no copy of the published files: %w", args[0], err)
			}
			files, err := generate.Files(vectors.Files)
			if err != nil {
				return err
			}
			return writeGenerated(filepath.Join(args[0], "generated"), files)
		},
	}
}

func writeGenerated(folder string, files []generate.File) error {
	old, err := filepath.Glob(filepath.Join(folder, "*.json"))
	if err != nil {
		return err
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	for _, name := range old {
		if err := os.Remove(name); err != nil {
			return err
		}
	}
	for _, f := range files {
		if err := os.WriteFile(filepath.Join(folder, f.Name), f.Data, 0o644); err != nil {
			return err
		}
	}
	return nil
}
