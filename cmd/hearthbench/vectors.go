package main

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/verify"
	"example.org/hearthbench/vectors"
)

// loadVectors reads the published set or, if a path is given, the vector files there, together with the published clauses. The
// checksum is that of all it has read.
func loadVectors(from string) (set *suite.Suite, checksum string, err error) {
	if from == "" {
		set, err = suite.Load(vectors.Files)
		if err != nil {
			return nil, "", err
		}
		sums, err := fs.ReadFile(vectors.Files, verify.SumsFile)
		if err != nil {
			return nil, "", err
		}
		return set, fmt.Sprintf("%x", sha256.Sum256(sums)), nil
	}
	names := []string{from}
	if info, err := os.Stat(from); err != nil {
		return nil, "", fmt.Errorf("--vectors: %w", err)
	} else if info.IsDir() {
		if names, err = filepath.Glob(filepath.Join(from, "*.json")); err != nil || len(names) == 0 {
			return nil, "", fmt.Errorf("--vectors %s: there are no .json files in this folder", from)
		}
	}
	if set, err = suite.New(vectors.Files); err != nil {
		return nil, "", err
	}
	sum := sha256.New()
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			return nil, "", fmt.Errorf("--vectors: %w", err)
		}
		if err := verify.Schema(vectors.Files, name, data); err != nil {
			return nil, "", err
		}
		if err := set.Add(name, data); err != nil {
			return nil, "", err
		}
		sum.Write(data)
	}
	return set, fmt.Sprintf("%x", sum.Sum(nil)), nil
}

func newVectors() *cobra.Command {
	c := &cobra.Command{
		Use:   "vectors",
		Short: "List, show, verify and export the test vectors",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return errors.New("say which: vectors list, show, verify, export, matrix, generate or seal")
		},
	}
	c.AddCommand(newVectorsList(), newVectorsShow(), newVectorsVerify(), newVectorsExport(), newVectorsMatrix(), newVectorsGenerate(), newVectorsSeal())
	return c
}

func newVectorsList() *cobra.Command {
	return &cobra.Command{
		Use:     "list [FAMILY | CLAUSE | ID]…",
		Short:   "List vectors with what each is for",
		Example: "  hearthbench vectors list OVR 'LCK-13'",
		RunE: func(c *cobra.Command, args []string) error {
			set, _, err := loadVectors("")
			if err != nil {
				return err
			}
			picked, err := pick(set, args)
			if err != nil {
				return err
			}
			table := tabwriter.NewWriter(c.OutOrStdout(), 0, 0, 2, ' ', 0)
			for _, v := range picked {
				fmt.Fprintf(table, "%s\t%s\n", v.ID, v.Purpose)
			}
			return table.Flush()
		},
	}
}

func newVectorsShow() *cobra.Command {
	return &cobra.Command{
		Use:     "show ID…",
		Short:   "Show vectors as a person reads them, with the clauses they are for",
		Example: "  hearthbench vectors show OVR-2/ends-at-the-off-time",
		Args:    cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			set, _, err := loadVectors("")
			if err != nil {
				return err
			}
			picked, err := pick(set, args)
			if err != nil {
				return err
			}
			for i, v := range picked {
				if i > 0 {
					fmt.Fprintln(c.OutOrStdout())
				}
				showVector(c.OutOrStdout(), set.Page, v)
			}
			return nil
		},
	}
}

func newVectorsVerify() *cobra.Command {
	var from string
	c := &cobra.Command{
		Use:   "verify",
		Short: "Check schema, checksums, clauses, and that both models give every trace",
		Long: `Verify checks the published set: every file against the schema and SHA256SUMS, every clause reference, that each clause
has its vectors, that INDEX.md lists them, and that the emulator and the second model, which share no logic, both give every
expected trace, the emulator on every unit of a spread over all ICS options that a vector's needs leave open.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			files := fs.FS(vectors.Files)
			if from != "" {
				if err := isFolder(from); err != nil {
					return fmt.Errorf("--dir: %w", err)
				}
				files = os.DirFS(from)
			}
			return verifyVectors(c.OutOrStdout(), c.ErrOrStderr(), files)
		},
	}
	c.Flags().StringVar(&from, "dir", "", "a copy of the vectors folder, instead of the set built in")
	return c
}

func verifyVectors(stdout, stderr io.Writer, files fs.FS) error {
	set, err := suite.Load(files)
	if err != nil {
		return err
	}
	errs := verify.Files(files)
	errs = append(errs, verify.Index(files, set)...)
	errs = append(errs, verify.Coverage(set)...)
	progress := newProgress(stderr, len(set.Vectors), "vectors")
	for i, v := range set.Vectors {
		if err := verify.Vector(v); err != nil {
			errs = append(errs, err)
		}
		progress.show(i + 1)
	}
	progress.clear()
	for _, err := range errs {
		fmt.Fprintln(stdout, err)
	}
	if len(errs) > 0 {
		fmt.Fprintf(stdout, "%d vectors, %d faults\n", len(set.Vectors), len(errs))
		return errDoesNotHold
	}
	clauses := 0
	for _, f := range set.Page.Families {
		clauses += len(f.Clauses)
	}
	fmt.Fprintf(stdout, "%d vectors for %d clauses: schema, checksums, index and clauses hold, and both models give every trace\n", len(set.Vectors), clauses)
	return nil
}

func newVectorsSeal() *cobra.Command {
	return &cobra.Command{
		Use:   "seal FOLDER",
		Short: "For contributors: write INDEX.md and SHA256SUMS anew after vectors or clauses have changed",
		Args:  cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			dir := args[0]
			if err := isFolder(dir); err != nil {
				return err
			}
			set, err := suite.Load(os.DirFS(dir))
			if err != nil {
				return err
			}
			if err := os.WriteFile(filepath.Join(dir, verify.IndexFile), []byte(verify.IndexText(set)), 0o644); err != nil {
				return err
			}
			sums, err := verify.Sums(os.DirFS(dir))
			if err != nil {
				return err
			}
			return os.WriteFile(filepath.Join(dir, verify.SumsFile), []byte(sums), 0o644)
		},
	}
}

// isFolder reports a path that is none.
func isFolder(path string) error {
	info, err := os.Stat(path)
	if err == nil && !info.IsDir() {
		return fmt.Errorf("%s is not a folder", path)
	}
	return err
}

// showVector writes a vector as a person reads it.
func showVector(w io.Writer, page *suite.Page, v *suite.Vector) {
	fmt.Fprintf(w, "%s\n  purpose  %s\n  catches  %s\n", v.ID, v.Purpose, v.Catches)
	for _, id := range v.Clauses {
		c := page.Clause(id)
		fmt.Fprintf(w, "  clause   %s %s\n", c.ID, c.Text)
	}
	if v.Derivation != "" {
		fmt.Fprintf(w, "  derived  %s\n", v.Derivation)
	}
	if len(v.About) > 0 {
		fmt.Fprintf(w, "  file     %s: %s\n", v.File, v.About[0])
	}
	if needs := v.Requirements(); len(needs) > 0 {
		fmt.Fprintf(w, "  needs    %s\n", strings.Join(needs, ", "))
	}
	const layout = "Mon 2006-01-02 15:04:05"
	given := slices.Clone(v.Given)
	if !v.ClockUnset {
		given = slices.Insert(given, 0, "clock "+v.Start.Format("2006-01-02 15:04"))
	}
	fmt.Fprintf(w, "  given    %s\n", strings.Join(slices.Insert(given, 0, "power on"), "; "))
	for _, row := range v.Story() {
		fmt.Fprintf(w, "  %s  %s\n", v.At(row.At).Format(layout), row.Text)
	}
	fmt.Fprintf(w, "  %s  end\n", v.At(v.Until).Format(layout))
}
