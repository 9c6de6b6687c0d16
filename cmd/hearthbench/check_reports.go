package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"runtime/debug"
	"strings"
	"time"

	"example.org/hearthbench/conformance/known"
	"example.org/hearthbench/conformance/report"
	"example.org/hearthbench/conformance/runner"
)

// reportHelp is what the help of check says of reports and known failures.
const reportHelp = `

--format says what is written to standard output, and each --report FORMAT=FILE writes a report into a file beside it, whole or
not at all. json follows the schema that --report-schema prints; html is one page that needs nothing beside it; tap and junit are what
other programs read. An interrupted run (Ctrl-C) reports what it has done, marked as interrupted.

A list of known failures (--known) is plain text, a line for each: a vector's id, or a pattern with *, and after # the reason, which
is needed. What is listed and does not pass is only counted; what is listed and passes is told and makes the run fail, so that the
list stays true; what is listed and is no vector, or does not apply, is told. --write-known makes a first list and never overwrites.
In tap a known failure is 'not ok … # TODO', in junit it is skipped with its reason, in json and html it has the reason beside it.`

// reportFormats are the formats of reports that are written as a whole.
var reportFormats = map[string]func(*report.Report, io.Writer) error{
	"json": (*report.Report).JSON, "tap": (*report.Report).TAP, "junit": (*report.Report).JUnit, "html": (*report.Report).HTML,
}

// reportFile is one report to be written.
type reportFile struct {
	arg    string // as given
	write  func(*report.Report, io.Writer) error
	output *report.Output
}

// openReports finds out whether the files of --report can be written.
func (f *checkFlags) openReports() ([]reportFile, error) {
	var files []reportFile
	for _, arg := range f.reports {
		format, file, _ := strings.Cut(arg, "=")
		write := reportFormats[format]
		switch {
		case write == nil || file == "":
			return nil, fmt.Errorf("--report %s: it is FORMAT=FILE, with json, tap, junit or html", arg)
		case file == "-":
			return nil, fmt.Errorf("--report %s: what goes to standard output is said by --format", arg)
		}
		output, err := report.NewOutput(file)
		if err != nil {
			return nil, fmt.Errorf("--report %s: %w", arg, err)
		}
		for flag, other := range map[string]string{"known": f.known, "write-known": f.writeKnown, "vectors": f.vectors} {
			if other == file || sameFile(other, file) {
				return nil, fmt.Errorf("--report %s: this is the file of --%s too; name another", arg, flag)
			}
		}
		for _, earlier := range files {
			if earlier.output.Path() == output.Path() {
				return nil, fmt.Errorf("--report %s: --report %s has the same file; name another", arg, earlier.arg)
			}
		}
		files = append(files, reportFile{arg, write, output})
	}
	return files, nil
}

// sameFile reports whether two paths name one file that is there.
func sameFile(a, b string) bool {
	x, errX := os.Stat(a)
	y, errY := os.Stat(b)
	return errX == nil && errY == nil && os.SameFile(x, y)
}

// writeReports writes all files that it can.
func writeReports(files []reportFile, r *report.Report) error {
	var errs []error
	for _, f := range files {
		if err := f.output.Write(func(w io.Writer) error { return f.write(r, w) }); err != nil {
			errs = append(errs, fmt.Errorf("--report %s: %w", f.arg, err))
		}
	}
	return errors.Join(errs...)
}

// readKnown reads the list of known failures, if there is one, and finds out whether one can be written that is to be.
func (f *checkFlags) readKnown() (*known.List, error) {
	if f.writeKnown != "" {
		if f.known != "" {
			return nil, errors.New("--write-known makes a first list of known failures, so it does not go with --known; add what is new to that list by hand")
		}
		if _, err := os.Lstat(f.writeKnown); err == nil {
			return nil, fmt.Errorf("--write-known %s: the file is there already, and is not overwritten; name another, or use --known", f.writeKnown)
		}
		if _, err := report.NewOutput(f.writeKnown); err != nil {
			return nil, fmt.Errorf("--write-known %s: %w", f.writeKnown, err)
		}
	}
	if f.known == "" {
		return nil, nil
	}
	file, err := os.Open(f.known)
	if err != nil {
		return nil, fmt.Errorf("--known: %w", err)
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, known.MaxSize+1))
	if err != nil {
		return nil, fmt.Errorf("--known: %w", err)
	}
	list, err := known.Parse(f.known, data)
	if err != nil {
		return nil, fmt.Errorf("the list of known failures cannot be used:\n%w", err)
	}
	return list, nil
}

// makeKnown writes a first list of known failures, if one is asked for. Half a run would make half a list.
func (f *checkFlags) makeKnown(r *report.Report, stderr io.Writer) (err error) {
	if f.writeKnown == "" {
		return nil
	}
	var entries []known.Entry
	for _, result := range r.Results {
		if !r.IsNew(result) || result.Trouble != nil && result.Trouble.Untried {
			continue
		}
		reason := result.Why
		if result.Verdict == runner.Fail {
			reason = report.Departure(result.Departure, result.Bound)
		}
		entries = append(entries, known.Entry{Pattern: result.Vector.ID, Reason: reason})
	}
	switch {
	case len(r.Results) < r.Planned:
		return fmt.Errorf("--write-known %s: the run did not come to its end, so nothing is written", f.writeKnown)
	case len(entries) == 0:
		fmt.Fprintf(stderr, "hearthbench: nothing failed, so %s is not written\n", f.writeKnown)
		return nil
	}
	file, err := os.OpenFile(f.writeKnown, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("--write-known %s: the file has come to be there meanwhile, and is not overwritten", f.writeKnown)
	} else if err != nil {
		return fmt.Errorf("--write-known: %w", err)
	}
	header := []string{
		fmt.Sprintf("Known failures of %s, as of %s. Say after # why each is known, such as the number of an issue.", r.Name(), r.When.UTC().Format(time.DateOnly)),
		"A line whose vector passes makes a run with --known fail: take it out then.",
	}
	if err := errors.Join(known.Write(file, header, entries), file.Close()); err != nil {
		return errors.Join(fmt.Errorf("--write-known %s: %w", f.writeKnown, err), os.Remove(f.writeKnown))
	}
	fmt.Fprintf(stderr, "hearthbench: wrote %d known failures to %s; say there why each is known, and then use --known\n", len(entries), f.writeKnown)
	return nil
}

// version returns the version of this program, if its build has one.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "" || info.Main.Version == "(devel)" {
		return "unknown"
	}
	return info.Main.Version
}
