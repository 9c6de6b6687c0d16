package mutation

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
)

// Core are the files of the sample unit that are mutated. The others carry the adapter's line, which is not what vectors are for.
var Core = []string{"calendar.c", "unit.c"}

var shim = []string{"protocol.c", "stdio_main.c"}

// Design is a choice of the sample's macros.
type Design struct {
	Name    string
	Defines []string // NAME=VALUE
}

// Designs are such that each hand-derived vector is for one of them at least. A mutant goes from one to the next until it is caught.
var Designs = []Design{
	{Name: "defaults"},
	{Name: "other choices", Defines: []string{
		"OVERRIDE_ON_MODE_CHANGE_KEPT=1", "OVERRIDE_END_PROGRAMMED=1", "SECOND_BOOST_EXTENDS=1", "BOOST_IN_HOLIDAY_ALLOWED=1",
		"CLOCK_AFTER_RESET_UNSET=1", "LOST_CLOCK_RESUMES=1", "THROUGH_CUT_KEPT=1", "PAST_MIDNIGHT_WRAP=1", "BAD_VALUE_CLAMPED=1",
	}},
	{Name: "restarts, wraps, east", Defines: []string{
		"LOST_CLOCK_RESTARTS=1", "PAST_MIDNIGHT_WRAP=1", "ZONE=60", "BOOST_LONGEST=120", "BOOST_STEP=30",
	}},
	{Name: "clamps, west, two periods", Defines: []string{
		"BAD_VALUE_CLAMPED=1", "ZONE=-60", "PERIODS=2", "OVERRIDE_ON_MODE_CHANGE_KEPT=1", "BOOST_IN_HOLIDAY_ALLOWED=1",
		"CYCLE_FITTED=CYCLE_5_2",
	}},
	{Name: "one period, no reserve", Defines: []string{
		"PERIODS=1", "RESERVE=0", "ZONE=-90", "BAD_VALUE_CLAMPED=1", "BOOST_LONGEST=60", "BOOST_STEP=20",
	}},
	{Name: "neither summer time nor holiday, resumes without reserve", Defines: []string{
		"SUMMER_TIME=0", "LOST_CLOCK_RESUMES=1", "RESERVE=0", "THROUGH_CUT_KEPT=1", "BOOST_LONGEST=1440", "CYCLE_FITTED=CYCLE_24H",
		"HOLIDAY=0",
	}},
	{Name: "no lock, short boosts that extend, programmed ends", Defines: []string{
		"LOCK=0", "BOOST_LONGEST=120", "SECOND_BOOST_EXTENDS=1", "ZONE=-120", "COUPLING_FITTED=COUPLING_GRAVITY",
		"TIMING_FITTED=TIMING_SHARED", "OVERRIDE_END_PROGRAMMED=1", "THROUGH_CUT_KEPT=1",
	}},
	{Name: "hot water only, with little else, restarts", Defines: []string{
		"CHANNELS_FITTED=CHANNELS_HW", "BOOST_LONGEST=0", "HOLIDAY=0", "LOCK=0", "SUMMER_TIME=0", "LOST_CLOCK_RESTARTS=1",
		"CLOCK_AFTER_RESET_UNSET=1",
	}},
	{Name: "resumes, no gravity, quarter hours", Defines: []string{
		"LOST_CLOCK_RESUMES=1", "HAVE_COUPLING_GRAVITY=0", "ZONE=345",
	}},
	{Name: "restarts without reserve", Defines: []string{
		"LOST_CLOCK_RESTARTS=1", "RESERVE=0", "HAVE_CYCLE_24H=0", "HAVE_CHANNELS_HW=0",
	}},
}

// A reply may take so long: no good one takes a tenth of the first. A unit that takes longer gets the second, because on a busy machine
// it may not be the unit that is slow.
const (
	slowest = 5 * time.Second
	patient = 30 * time.Second
)

// Mutants are built at the first level, which is quick, and those that survive at the second too. The optimizer brings out that many
// mutants are no mistakes: their machine code is that of the unit.
var levels = [...]string{"-O1", "-O2"}

// Bench builds units and puts them to the vectors.
type Bench struct {
	compiler string
	folder   string // of the sample
	scratch  string
	vectors  []*suite.Vector
	built    []*build
}

// build is a design's unit without a mistake.
type build struct {
	design  Design
	once    sync.Once
	err     error
	objects map[string]string              // paths at the first level, by source file
	code    [len(levels)]map[string][]byte // of the objects, by source file
}

// NewBench returns a bench for the sample unit in a folder. It leaves what it makes in the scratch folder.
func NewBench(compiler, folder, scratch string, vectors []*suite.Vector) (*Bench, error) {
	// The compiler runs in the scratch folder.
	folder, err := filepath.Abs(folder)
	if err != nil {
		return nil, err
	}
	b := &Bench{compiler: compiler, folder: folder, scratch: scratch, vectors: vectors}
	for _, d := range Designs {
		b.built = append(b.built, &build{design: d})
	}
	return b, nil
}

// Source returns the text of a file of the sample.
func (b *Bench) Source(file string) (string, error) {
	data, err := os.ReadFile(filepath.Join(b.folder, file))
	return string(data), err
}

// Mutants lists the mutants of the core.
func (b *Bench) Mutants() ([]Mutant, error) {
	var headers []string
	for _, name := range []string{"calendar.h", "unit.h"} {
		text, err := b.Source(name)
		if err != nil {
			return nil, err
		}
		headers = append(headers, text)
	}
	var all []Mutant
	for _, file := range Core {
		text, err := b.Source(file)
		if err != nil {
			return nil, err
		}
		mutants, err := Mutants(file, text, headers...)
		if err != nil {
			return nil, err
		}
		all = append(all, mutants...)
	}
	return all, nil
}

// Fate is what became of a mutant.
type Fate uint8

// The fates.
const (
	Unbuilt    Fate = iota // the compiler refused it
	Equivalent             // it is, in every design, the unit's machine code
	Caught                 // a vector failed, or was inconclusive because the mutant crashed, hung or broke the protocol
	Survived
)

// Result is what became of a mutant, and by what.
type Result struct {
	Mutant Mutant
	Fate   Fate
	Design string // in which it was caught
	By     string // the vector that caught it
	How    string // why that one was inconclusive, or ""
}

// Try builds a mutant in every design and puts it to the vectors until one catches it.
func (b *Bench) Try(ctx context.Context, m Mutant) (Result, error) {
	r := Result{Mutant: m}
	text, err := b.Source(m.File)
	if err != nil {
		return r, err
	}
	dir, err := os.MkdirTemp(b.scratch, "mutant")
	if err != nil {
		return r, err
	}
	defer os.RemoveAll(dir)
	source := filepath.Join(dir, m.File)
	if err := os.WriteFile(source, []byte(m.Apply(text)), 0o600); err != nil {
		return r, err
	}
	survived := false
	for i := range b.built {
		base, err := b.base(ctx, i)
		if err != nil {
			return r, err
		}
		object, same, err := b.object(ctx, base, 0, source)
		var failed *compileError
		switch {
		case errors.As(err, &failed):
			continue // it is left to the other designs, where the mistake may not be compiled
		case err != nil:
			return r, err
		case same:
			r.Fate = Equivalent
			continue
		}
		unit := filepath.Join(dir, "unit")
		if err := b.link(ctx, unit, append(base.except(m.File), object)); err != nil {
			return r, err
		}
		caught, err := b.check(ctx, unit)
		if err != nil {
			return r, err
		}
		if caught != nil {
			r.Fate, r.Design, r.By, r.How = Caught, base.design.Name, caught.by, caught.how
			return r, nil
		}
		survived = true
	}
	if !survived {
		return r, nil
	}
	r.Fate = Equivalent
	for i := range b.built {
		_, same, err := b.object(ctx, b.built[i], 1, source)
		var failed *compileError
		if err != nil && !errors.As(err, &failed) {
			return r, err
		}
		if err == nil && !same {
			r.Fate = Survived
			break
		}
	}
	return r, nil
}

// object compiles a mutant's source and reports whether it is, to the byte, the object of the file without a mistake.
func (b *Bench) object(ctx context.Context, base *build, level int, source string) (path string, same bool, err error) {
	file := filepath.Base(source)
	path = filepath.Join(filepath.Dir(source), "mutant.o")
	if err := b.compile(ctx, base.design, levels[level], source, path); err != nil {
		return "", false, err
	}
	code, err := os.ReadFile(path)
	return path, bytes.Equal(code, base.code[level][file]), err
}

// base returns a design's unit, which the vectors must pass.
func (b *Bench) base(ctx context.Context, i int) (*build, error) {
	base := b.built[i]
	base.once.Do(func() { base.err = b.makeBase(ctx, i, base) })
	return base, base.err
}

// unit returns where a design's unit is built.
func (b *Bench) unit(i int) string {
	return filepath.Join(b.scratch, fmt.Sprintf("design%d", i), "unit")
}

func (b *Bench) makeBase(ctx context.Context, i int, base *build) error {
	dir := filepath.Dir(b.unit(i))
	if err := os.Mkdir(dir, 0o700); err != nil {
		return err
	}
	base.objects = map[string]string{}
	for level := range levels {
		base.code[level] = map[string][]byte{}
		for _, file := range slices.Concat(Core, shim) {
			if level > 0 && slices.Contains(shim, file) {
				continue
			}
			object := filepath.Join(dir, fmt.Sprintf("%s%s.o", file, levels[level]))
			if err := b.compile(ctx, base.design, levels[level], filepath.Join(b.folder, file), object); err != nil {
				return fmt.Errorf("design '%s': %w", base.design.Name, err)
			}
			code, err := os.ReadFile(object)
			if err != nil {
				return err
			}
			base.code[level][file] = code
			if level == 0 {
				base.objects[file] = object
			}
		}
	}
	if err := b.link(ctx, b.unit(i), base.except("")); err != nil {
		return err
	}
	caught, err := b.check(ctx, b.unit(i))
	if err == nil && caught != nil {
		err = fmt.Errorf("design '%s': the unit without a mistake does not pass %s (%s), so mutants cannot be judged",
			base.design.Name, caught.by, caught.how)
	}
	return err
}

// except returns the design's objects but for that of one file, in a fixed order.
func (base *build) except(file string) []string {
	var objects []string
	for _, f := range slices.Concat(Core, shim) {
		if f != file {
			objects = append(objects, base.objects[f])
		}
	}
	return objects
}

// compileError says what the compiler said of a source that it refused.
type compileError struct{ error }

func (b *Bench) compile(ctx context.Context, d Design, level, source, object string) error {
	args := []string{"-std=c99", "-D_POSIX_C_SOURCE=200809L", level, "-w", "-I", b.folder}
	for _, define := range d.Defines {
		args = append(args, "-D"+define)
	}
	err := b.run(ctx, append(args, "-c", "-o", object, source)...)
	var status *exec.ExitError
	if errors.As(err, &status) && status.ExitCode() == 1 && ctx.Err() == nil {
		return &compileError{err}
	}
	return err
}

func (b *Bench) link(ctx context.Context, unit string, objects []string) error {
	return b.run(ctx, append([]string{"-o", unit}, objects...)...)
}

func (b *Bench) run(ctx context.Context, args ...string) error {
	cmd := exec.CommandContext(ctx, b.compiler, args...)
	cmd.Dir = b.scratch
	if said, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%s %s: %w\n%s", b.compiler, strings.Join(args, " "), err, said)
	}
	return nil
}

// caught is how a unit was caught.
type caught struct {
	by, how string
	hung    bool
}

var errCaught = errors.New("caught")

// check puts a unit to the vectors and returns the first that it does not pass, or nil.
func (b *Bench) check(ctx context.Context, unit string) (*caught, error) {
	found, err := b.checkWithin(ctx, unit, slowest)
	if err == nil && found != nil && found.hung {
		return b.checkWithin(ctx, unit, patient)
	}
	return found, err
}

func (b *Bench) checkWithin(ctx context.Context, unit string, timeout time.Duration) (*caught, error) {
	dialer, err := iut.Exec("'"+unit+"'", io.Discard)
	if err != nil {
		return nil, err
	}
	until, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	u, err := iut.Open(until, dialer, iut.Options{Timeout: timeout})
	if err != nil {
		var failure *iut.OpenError
		if errors.As(err, &failure) && failure.Trouble != nil {
			return &caught{"the handshake", failure.Trouble.String(), failure.Trouble.Kind == iut.Hung}, nil
		}
		return nil, err
	}
	defer u.Close() // a unit that has given all its answers has been tested, however it ends
	var found *caught
	err = runner.Run(until, u, b.vectors, func(r *runner.Result) {
		if found == nil && (r.Verdict == runner.Fail || r.Verdict == runner.Inconclusive) {
			found = &caught{r.Vector.ID, r.Why, r.Trouble != nil && r.Trouble.Kind == iut.Hung}
			stop(errCaught)
		}
	})
	if err != nil && !errors.Is(err, errCaught) {
		return nil, err
	}
	return found, nil
}
