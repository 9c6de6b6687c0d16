package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/diagnosis"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/conformance/replaypage"
)

func newReplay() *cobra.Command {
	var format string
	var width int
	var fresh bool
	c := &cobra.Command{
		Use:   "replay FILE",
		Short: "Replay a complaint: where the account first departs from what unit and plant do, and the causes that explain it",
		Long: `Replay reads a complaint from a file, or from standard input if FILE is -: what is known of the unit and of the installation, the
settings as found, what was done, what changed, and what was sensed, each with its time, its source and how sure that is. It lets
the emulator and the plant around it live through the account, and shows

  - what was said of safety, before anything else
  - what unit, plant and settings were taken to be, and how each is known
  - where the replay first departs from what was said, and why it is as it is there
  - the days that matter on one time axis, what was said below what happened, with the reason of every relay change
  - how every statement compares: agrees, departs, or cannot tell
  - the causes that would explain it, the question that tells them apart, and what to do

A log that an instrument wrote, as CSV or VCD, is named in the file by its path from the file's folder on; each change in it, and each
stretch between changes, counts as an observation. Nothing outside that folder is read, and a complaint from standard input has none.

--new writes a template with comments, to FILE or to standard output, and overwrites nothing.

Local times are true ones, as on a telephone, whatever the unit's clock says. 'About 18:00' is a quarter of an hour either way; a
plain 18:00 is five minutes either way from the household, two from who writes the account, seconds from a log.

HTML is one page that needs nothing beside it: it works from a file, in light and dark, by keyboard and on A4. It draws a day as lanes of
unit, installation and statements, tells the reason of every change, and has a table of what each set of causes explains.

JSON has replay (what was taken to be, acts, statements with verdict and likelihood, every lane with every change and its reason)
and diagnosis.

Exit status: 0 if a cause is named, or the replay departs from nothing that was said; 1 if it departs and nothing explains that;
2 if the file is bad, or the complaint could not be replayed.`,
		Example: `  hearthbench replay --new wren-house.yaml
  hearthbench replay wren-house.yaml
  hearthbench replay --format html wren-house.yaml > wren-house.html
  hearthbench replay --format json - <wren-house.yaml`,
		Args: func(c *cobra.Command, args []string) error {
			if fresh {
				return cobra.MaximumNArgs(1)(c, args)
			}
			return cobra.ExactArgs(1)(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error {
			if fresh {
				return newComplaint(args, c.OutOrStdout())
			}
			if width == 0 {
				width = columns(c.OutOrStdout())
			}
			if width < 0 {
				return fmt.Errorf("--width %d: it is a number of columns, such as 96", width)
			}
			return replayComplaint(c.Context(), args[0], format, min(width, widest), c.InOrStdin(), c.OutOrStdout())
		},
	}
	c.Flags().StringVar(&format, "format", "text", "text, html or json, on standard output")
	c.Flags().IntVar(&width, "width", 0, "columns of the text; 0 for those of the terminal")
	c.Flags().BoolVar(&fresh, "new", false, "write a template instead")
	return c
}

// newComplaint writes the template to a file that must not be there yet, or to standard output.
func newComplaint(args []string, stdout io.Writer) error {
	if len(args) == 0 || args[0] == "-" {
		_, err := stdout.Write(complaint.Template)
		return err
	}
	f, err := os.OpenFile(args[0], os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	switch {
	case errors.Is(err, fs.ErrExist):
		return fmt.Errorf("%s is there already, and nothing is overwritten; choose another name", args[0])
	case err != nil:
		return fmt.Errorf("writing the template: %w", err)
	}
	if _, err = f.Write(complaint.Template); err == nil {
		err = f.Close()
	}
	if err != nil {
		return fmt.Errorf("writing the template: %w", err)
	}
	_, err = fmt.Fprintf(stdout, "%s is a template now: fill it in, then run hearthbench replay %s\n", args[0], args[0])
	return err
}

// account is everything that is known of a complaint once it has been replayed.
type account struct {
	Replay    *replay.Report
	Diagnosis *answer // nil if there is none
}

// answer is what a diagnosis comes to, as far as the verb needs to know.
type answer struct {
	Named  bool                  // a cause is named
	Text   func(io.Writer) error // writes it for the terminal
	Result *diagnosis.Result
}

// formats are the ways in which an account can be written.
var formats = map[string]func(w io.Writer, a *account, width int) error{
	"text": writeAccountText,
	"html": writeAccountPage,
	"json": writeAccountJSON,
}

func replayComplaint(ctx context.Context, file, format string, width int, stdin io.Reader, stdout io.Writer) error {
	write := formats[format]
	if write == nil {
		return fmt.Errorf("--format %s: it is text, html or json", format)
	}
	c, err := readComplaint(file, stdin)
	if err != nil {
		return err
	}
	r, err := replay.NewReport(c)
	if err != nil {
		return fmt.Errorf("the complaint cannot be replayed: %w", err)
	}
	a := &account{Replay: r}
	if a.Diagnosis, err = diagnose(ctx, c); err != nil {
		return fmt.Errorf("the complaint cannot be diagnosed: %w", err)
	}
	if err := write(stdout, a, width); err != nil {
		return err
	}
	return a.status()
}

// status is how the verb ends once it has answered.
func (a *account) status() error {
	if a.Replay.Explained() || a.Diagnosis != nil && a.Diagnosis.Named {
		return nil
	}
	return errDoesNotHold
}

func readComplaint(file string, stdin io.Reader) (*complaint.Complaint, error) {
	name := file
	var data []byte
	var folder fs.FS
	var err error
	if file == "-" {
		name = "standard input"
		data, err = io.ReadAll(io.LimitReader(stdin, complaint.MaxSize+1))
	} else if data, err = readScenario(file); err == nil {
		var root *os.Root // no log leads out of the complaint's folder, by links neither
		if root, err = os.OpenRoot(filepath.Dir(file)); err == nil {
			defer root.Close()
			folder = root.FS()
		}
	}
	if err != nil {
		return nil, fmt.Errorf("reading the complaint: %w", err)
	}
	c, err := complaint.ParseIn(folder, name, data)
	if err != nil {
		return nil, fmt.Errorf("the complaint cannot be replayed:\n%w", err)
	}
	return c, nil
}

func writeAccountText(w io.Writer, a *account, width int) error {
	if err := a.Replay.WriteText(w, width); err != nil {
		return err
	}
	if a.Diagnosis != nil {
		if err := a.Diagnosis.Text(w); err != nil {
			return err
		}
	}
	if _, err := fmt.Fprintln(w); err != nil {
		return err
	}
	return replay.WriteCaution(w, width)
}

func writeAccountPage(w io.Writer, a *account, _ int) error {
	var r *diagnosis.Result
	if a.Diagnosis != nil {
		r = a.Diagnosis.Result
	}
	return replaypage.Write(w, a.Replay, r)
}

func writeAccountJSON(w io.Writer, a *account, _ int) error {
	j := struct {
		Replay    *replay.JSON `json:"replay"`
		Diagnosis any          `json:"diagnosis"`
	}{Replay: a.Replay.JSON()}
	if a.Diagnosis != nil {
		j.Diagnosis = a.Diagnosis.Result
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(j)
}

// diagnose looks for the causes that explain a complaint.
func diagnose(_ context.Context, c *complaint.Complaint) (*answer, error) {
	r, err := diagnosis.Diagnose(c)
	if err != nil {
		return nil, err
	}
	return &answer{
		Named: len(r.Sets) > 0 && r.Sets[0].Causes[0].Family != diagnosis.NoneOfThese,
		Text: func(w io.Writer) error {
			told := *r
			told.Safety = nil // the report has begun with it
			return diagnosis.WriteText(w, &told)
		},
		Result: r,
	}, nil
}
