package main

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"strings"
	"sync"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wasm"
)

// instances says how many instances of a target are to be tested at once.
type instances struct {
	n     int
	asked bool // rather than found fitting
}

const (
	asSuits = 0 // the default of --jobs
	maxJobs = 256
	// worthAnInstance is how many vectors make up for opening one more instance unasked.
	worthAnInstance = 64
)

// instances returns how many instances of the target --jobs asks for. Only what this program makes by itself has more than one unasked: a
// child may hold a file or a port that another one needs.
func (f *checkFlags) instances() (instances, error) {
	kind, _, _ := strings.Cut(f.target, ":")
	single := kind == "serial" || kind == "tcp"
	switch {
	case f.jobs == asSuits && (kind == "emulator" || kind == "sample" || kind == "wasm"):
		return instances{n: runtime.GOMAXPROCS(0)}, nil
	case f.jobs == asSuits:
		return instances{n: 1}, nil
	case f.jobs < 1 || f.jobs > maxJobs:
		return instances{}, fmt.Errorf("--jobs %d: it is a number from 1 to %d, or 0 for as many as suit the target", f.jobs, maxJobs)
	case f.jobs > 1 && single:
		return instances{}, fmt.Errorf("--jobs %d: what '%s:' names is one unit, which can do one thing at a time; leave --jobs out", f.jobs, kind)
	}
	return instances{n: f.jobs, asked: true}, nil
}

// of returns how many instances to open for so many vectors.
func (i instances) of(vectors int) int {
	worth := vectors
	if !i.asked {
		worth = vectors/worthAnInstance + 1
	}
	return max(1, min(i.n, worth))
}

// openUnits opens instances of one implementation. The first is opened alone, so that what keeps it from being opened is told once.
func openUnits(ctx context.Context, n int, open func() (iut.IUT, error)) (units []iut.IUT, err error) {
	first, err := open()
	if err != nil {
		return nil, err
	}
	if u, ok := first.(*wasm.Unit); ok {
		open = func() (iut.IUT, error) { return u.OpenAgain(ctx) }
	}
	units = make([]iut.IUT, n)
	errs := make([]error, n)
	units[0] = first
	var openings sync.WaitGroup
	for i := 1; i < n; i++ {
		openings.Go(func() { units[i], errs[i] = open() })
	}
	openings.Wait()
	var opened []iut.IUT
	for i, unit := range units {
		if errs[i] != nil {
			err = errors.Join(err, fmt.Errorf("instance %d of %d: %w", i+1, n, errs[i]))
			continue
		}
		opened = append(opened, unit)
		if unit.ICS() != first.ICS() {
			err = errors.Join(err, fmt.Errorf("instance %d of %d states another ICS than the first; test one at a time, without --jobs", i+1, n))
		}
	}
	if err == nil {
		return units, nil
	}
	for _, unit := range opened {
		// That they end badly is no news beside what kept the others from being opened.
		_ = unit.Close()
	}
	return nil, err
}

// runOn puts the vectors to the units, each to one of them, and calls each with every result, in the vectors' order, whatever the number of
// units; arrived is called as soon as there is a result, in any order. It never calls both at once, nor either twice at once. After an
// error each has been called for all results that there are.
//
// The results are the same whatever the number of units, but for units that break the adapter protocol: when such a one is opened afresh, and
// when it is given up, depends on what else was put to it.
func runOn(ctx context.Context, units []iut.IUT, vectors []*suite.Vector, arrived, each func(*runner.Result)) error {
	if len(units) == 1 {
		return runner.Run(ctx, units[0], vectors, func(r *runner.Result) {
			arrived(r)
			each(r)
		})
	}
	q := queue{vectors: vectors, portion: max(1, min(maxPortion, len(vectors)/(8*len(units))))}
	results := make([]*runner.Result, len(vectors))
	var mutex sync.Mutex
	told := 0
	errs := make([]error, len(units))
	var workers sync.WaitGroup
	for i, unit := range units {
		workers.Go(func() {
			for errs[i] == nil {
				from, portion := q.next()
				if len(portion) == 0 {
					return
				}
				next := from
				errs[i] = runner.Run(ctx, unit, portion, func(r *runner.Result) {
					mutex.Lock()
					defer mutex.Unlock()
					results[next] = r
					next++
					arrived(r)
					for told < len(results) && results[told] != nil {
						each(results[told])
						told++
					}
					if r.Trouble != nil && r.Trouble.Untried {
						q.giveUp()
					}
				})
			}
		})
	}
	workers.Wait()
	for ; told < len(results); told++ {
		if results[told] != nil {
			each(results[told])
		}
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// maxPortion is how many vectors an instance is given at once, at most: few enough for all to be at work to the end.
const maxPortion = 512

// queue hands out vectors in portions.
type queue struct {
	mutex   sync.Mutex
	vectors []*suite.Vector
	from    int
	portion int
}

// next returns the next portion, with the index of its first vector. It is empty when there are no more.
func (q *queue) next() (from int, portion []*suite.Vector) {
	q.mutex.Lock()
	defer q.mutex.Unlock()
	from = q.from
	q.from = min(len(q.vectors), from+q.portion)
	return from, q.vectors[from:q.from]
}

// giveUp makes one portion of all that remains. A unit that its link has given up would otherwise be tried, and waited for, with each.
func (q *queue) giveUp() {
	q.mutex.Lock()
	defer q.mutex.Unlock()
	q.portion = len(q.vectors)
}
