package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"example.org/hearthbench/conformance/cexport"
	"example.org/hearthbench/conformance/verify"
	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

type exportFlags struct {
	format  string
	target  string
	ics     string
	vectors string
	only    []string
	names   bool
	runner  bool
	out     string
	timeout time.Duration
}

func newVectorsExport() *cobra.Command {
	var f exportFlags
	c := &cobra.Command{
		Use:   "export {FOLDER | --format c {--iut TARGET | --ics STATEMENT} --out FILE}",
		Short: "Write the published set into a new folder, or vectors as C tables for a firmware's own tests",
		Long: `Export writes the published files into a new folder: pages, vectors, schema, index and checksums.

With --format c it writes one C99 file of constant tables: the vectors that a unit's ICS calls for, bound to that ICS, for
firmware that tests itself without a link. With --runner it writes, beside it, the runner that puts them to the firmware;
hb_runner.h says what there is to write for it, which is three functions. The unit's ICS is asked of the unit with --iut, or
stated with --ics. The same vectors and ICS give the same bytes.`,
		Example: `  hearthbench vectors export set
  hearthbench vectors export --format c --runner --ics unit.ics --out tests/hb_vectors.h
  hearthbench vectors export --format c --iut 'exec:./unit' --only OVR,BST-8 --names=false --out tests/hb_vectors.h`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			switch f.format {
			case "files":
				for _, name := range []string{"iut", "ics", "vectors", "only", "names", "runner", "out", "timeout"} {
					if c.Flags().Changed(name) {
						return fmt.Errorf("--%s goes with --format c", name)
					}
				}
				if len(args) == 0 {
					return errors.New("name a new folder, or write --format c")
				}
				return exportFiles(args[0], c.OutOrStdout())
			case "c":
				if len(args) > 0 {
					return fmt.Errorf("'%s' is one word too many: with --format c, --out names the file", args[0])
				}
				return f.tables(c.Context(), c.OutOrStdout(), c.ErrOrStderr())
			default:
				return fmt.Errorf("--format %s: it is files or c", f.format)
			}
		},
	}
	c.Flags().StringVar(&f.format, "format", "files", "files or c")
	c.Flags().StringVar(&f.target, "iut", "", "the unit whose ICS it is, as for check")
	c.Flags().StringVar(&f.ics, "ics", "", "the unit's ICS: a file of 'ics' lines as in ADAPTER.md, comments after #, or OPTION=VALUE,… that differ from the full unit's")
	c.Flags().StringVar(&f.vectors, "vectors", "", "a vector file of your own, or a folder of them, instead of the published set")
	c.Flags().StringSliceVar(&f.only, "only", nil, "families, clauses or vector ids (with * as wildcard) to which to keep")
	c.Flags().BoolVar(&f.names, "names", true, "have the vectors' ids in the tables; without them the runner tells numbers, which the file's comments name")
	c.Flags().BoolVar(&f.runner, "runner", false, "write "+cexport.RunnerFile+" and "+cexport.HeaderFile+" beside the tables too")
	c.Flags().StringVar(&f.out, "out", "", "the file of tables to write; one that this command wrote is replaced")
	c.Flags().DurationVar(&f.timeout, "timeout", 5*time.Second, "how long the unit's answer may keep the bench waiting")
	return c
}

// exportFiles copies the published set.
func exportFiles(folder string, stdout io.Writer) error {
	// CopyFS never overwrites, so an existing folder keeps what it has.
	if entries, err := os.ReadDir(folder); err == nil && len(entries) > 0 {
		return fmt.Errorf("%s is not empty; name a new folder", folder)
	}
	if err := os.CopyFS(folder, vectors.Files); err != nil {
		return err
	}
	fmt.Fprintf(stdout, "wrote the published set to %s; 'sha256sum -c %s' in there checks it\n", folder, verify.SumsFile)
	return nil
}

// tables writes vectors as C tables.
func (f *exportFlags) tables(ctx context.Context, stdout, stderr io.Writer) error {
	if f.out == "" {
		return fmt.Errorf("--out is needed: the file of tables to write, such as --out tests/%s", cexport.TablesFile)
	}
	if err := isFolder(filepath.Dir(f.out)); err != nil {
		return fmt.Errorf("--out %s: its folder has to be there: %w", f.out, err)
	}
	if f.runner && filepath.Base(f.out) != cexport.TablesFile {
		return fmt.Errorf("--out %s: the runner includes %s, so with --runner the file has that name", f.out, cexport.TablesFile)
	}
	set, checksum, err := loadVectors(f.vectors)
	if err != nil {
		return err
	}
	picked, err := pick(set, f.only)
	if err != nil {
		return err
	}
	ics, err := f.statement(ctx, stderr)
	if err != nil {
		return err
	}
	tables, err := cexport.Encode(ics, picked)
	if err != nil {
		return err
	}
	var text bytes.Buffer
	head := cexport.Head{Checksum: checksum, Only: f.only, Outside: len(set.Vectors) - len(picked), Names: f.names}
	if err := tables.Write(&text, head); err != nil {
		return err
	}
	files := []exported{{f.out, text.Bytes(), true}}
	if f.runner {
		for _, name := range []string{cexport.RunnerFile, cexport.HeaderFile} {
			source, err := cexport.Runner(name)
			if err != nil {
				return err
			}
			files = append(files, exported{filepath.Join(filepath.Dir(f.out), name), source, false})
		}
	}
	if err := writeExported(files); err != nil {
		return err
	}
	size, _ := tables.Size(f.names)
	fmt.Fprintf(stdout, "%s: %d of %d vectors, %d bytes of tables on a 32-bit target\n", f.out, len(tables.IDs), len(set.Vectors), size)
	for _, file := range files[1:] {
		fmt.Fprintf(stdout, "%s\n", file.path)
	}
	return nil
}

// statement returns the ICS for which to export.
func (f *exportFlags) statement(ctx context.Context, stderr io.Writer) (spec.ICS, error) {
	switch {
	case f.target != "" && f.ics != "":
		return spec.ICS{}, errors.New("--iut and --ics are one too many: the unit's ICS is asked of the unit, or stated")
	case f.target != "":
		if f.timeout <= 0 {
			return spec.ICS{}, fmt.Errorf("--timeout %v: it should be more than 0", f.timeout)
		}
		unit, err := openTarget(ctx, f.target, f.timeout, stderr)
		if err != nil {
			return spec.ICS{}, err
		}
		if err := unit.Close(); err != nil {
			fmt.Fprintf(stderr, "hearthbench: %s did not end as it should: %v\n", f.target, err)
		}
		return unit.ICS(), nil
	case strings.Contains(f.ics, "="):
		ics, err := emulatorICS(f.ics)
		if err != nil {
			return ics, fmt.Errorf("--ics %s: %w", f.ics, err)
		}
		return ics, nil
	case f.ics != "":
		ics, err := readStatement(f.ics)
		if err != nil {
			return ics, fmt.Errorf("--ics: %w", err)
		}
		return ics, nil
	default:
		return spec.ICS{}, errors.New("the unit's ICS is needed, for tables are bound to it: --iut TARGET asks the unit, --ics FILE or --ics OPTION=VALUE,… states it")
	}
}

// exported is a file to write. Tables that an earlier export wrote are replaced; a runner that differs may have been changed by hand.
type exported struct {
	path   string
	text   []byte
	tables bool
}

// writeExported writes all the files, or none if there is one in whose place something of somebody else's stands.
func writeExported(files []exported) error {
	for _, f := range files {
		there, err := os.ReadFile(f.path)
		switch {
		case errors.Is(err, os.ErrNotExist):
		case err != nil:
			return err
		case f.tables && !bytes.HasPrefix(there, []byte(cexport.Mark)):
			return fmt.Errorf("%s is there and is no export; name another file, or take it away", f.path)
		case !f.tables && !bytes.Equal(there, f.text):
			return fmt.Errorf("%s is there and differs from this version's; take it away, or leave out --runner", f.path)
		}
	}
	var written []string
	undo := func() {
		for _, name := range written {
			os.Remove(name)
		}
	}
	for _, f := range files {
		temporary, err := writeBeside(f.path, f.text)
		if err != nil {
			undo()
			return err
		}
		written = append(written, temporary)
	}
	for i, f := range files {
		if err := os.Rename(written[i], f.path); err != nil {
			undo()
			return err
		}
	}
	return nil
}

// writeBeside writes a file that is to take the place of another, and returns its name.
func writeBeside(path string, text []byte) (name string, err error) {
	file, err := os.CreateTemp(filepath.Dir(path), ".hb-*")
	if err != nil {
		return "", err
	}
	_, err = file.Write(text)
	err = errors.Join(err, file.Chmod(0o644), file.Close())
	if err != nil {
		os.Remove(file.Name())
		return "", err
	}
	return file.Name(), nil
}
