package generate

import (
	"errors"
	"fmt"
	"io/fs"
	"runtime"
	"strings"
	"sync"

	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/emulator/spec"
)

// File is one generated file.
type File struct {
	Name string // such as "override.json"
	Data []byte
}

// Files generates all files, in the order of their making. The published folder is read for the clauses only. It returns an error when
// a machine cannot be explored, and when the two models do not agree on a vector.
func Files(published fs.FS) ([]File, error) {
	set, err := suite.New(published)
	if err != nil {
		return nil, err
	}
	all, err := machines()
	if err != nil {
		return nil, err
	}
	var jobs []job
	for _, m := range all {
		jobs = append(jobs, job{m.name, func() ([]byte, error) {
			about, list, err := m.vectors(set.Page)
			if err != nil {
				return nil, err
			}
			for _, v := range list {
				if err := finish(v, &m.ics); err != nil {
					return nil, err
				}
			}
			return file(append(about, unitsOf(list)), list)
		}})
	}
	jobs = append(jobs, job{"pairs", func() ([]byte, error) { return pairsFile(set.Page) }})
	return run(jobs)
}

// job makes one file.
type job struct {
	name string
	make func() ([]byte, error)
}

// run does the jobs on all processors. What comes of them does not depend on how they are spread.
func run(jobs []job) ([]File, error) {
	files, errs := make([]File, len(jobs)), make([]error, len(jobs))
	var next sync.Mutex
	taken := 0
	take := func() int {
		next.Lock()
		defer next.Unlock()
		taken++
		return taken - 1
	}
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := take(); i < len(jobs); i = take() {
				data, err := jobs[i].make()
				if err != nil {
					errs[i] = fmt.Errorf("%s: %w", jobs[i].name, err)
				}
				files[i] = File{Name: jobs[i].name + ".json", Data: data}
			}
		})
	}
	wait.Wait()
	return files, errors.Join(errs...)
}

// finish reports a vector on which the models do not agree, and finds its needs.
func finish(v *suite.Vector, ics *spec.ICS) error {
	b, err := v.Bind(ics)
	if err != nil {
		return fmt.Errorf("%s: %w", v.ID, err)
	}
	if text := departure(b, oracle.Play(b, v.Until, oracle.SecondModel(*ics))); text != "" {
		return fmt.Errorf("%s: the second model does not agree with the emulator: %s", v.ID, text)
	}
	return settle(v, ics)
}

// unitsOf words which units all vectors of a file are for, which is what its guarantee needs.
func unitsOf(list []*suite.Vector) string {
	var seen []string
	known := map[string]bool{}
	for _, v := range list {
		for _, text := range v.Requirements() {
			if !known[text] {
				known[text] = true
				seen = append(seen, text)
			}
		}
	}
	if seen == nil {
		return "All of them are for every unit."
	}
	return "All of them are for a unit with: " + strings.Join(seen, ", ") + "."
}
