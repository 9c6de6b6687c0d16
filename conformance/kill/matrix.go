// Package kill measures what the hand-derived vectors catch: every seeded fault of the catalogue put to every one of them that its
// unit's ICS calls for. What generated vectors catch follows from how they are made: see package generate.
package kill

import (
	"context"
	"runtime"
	"slices"
	"sync"

	"example.org/hearthbench/conformance/faults"
	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/report"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Row is what became of one fault.
type Row struct {
	Fault *faults.Fault
	Ran   int             // vectors that the unit's ICS calls for
	By    []*suite.Vector // those that catch it, in the set's order
	// Named are the families of the clauses that the report names as most broken, the likeliest first. The report leads to the
	// fault if its family is among them.
	Named []string
}

// Matrix is what the hand-derived vectors of a set catch.
type Matrix struct {
	Page    *suite.Page
	Vectors []*suite.Vector // the hand-derived ones
	Rows    []Row           // in the catalogue's order
}

// Compute puts every fault to every vector. It fails only if ctx ends or a vector is itself wrong. told is called after each fault,
// one call at a time.
func Compute(ctx context.Context, set *suite.Suite, catalogue []faults.Fault, told func(done int)) (*Matrix, error) {
	m := &Matrix{Page: set.Page, Rows: make([]Row, len(catalogue))}
	for _, v := range set.Vectors {
		if !v.IsGenerated() {
			m.Vectors = append(m.Vectors, v)
		}
	}
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	var (
		workers sync.WaitGroup
		mutex   sync.Mutex
		done    int
	)
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for i := range next {
				row, err := m.try(ctx, &catalogue[i])
				if err != nil {
					cancel(err)
					continue
				}
				mutex.Lock()
				m.Rows[i] = row
				done++
				told(done)
				mutex.Unlock()
			}
		})
	}
	for i := range catalogue {
		if ctx.Err() != nil {
			break
		}
		next <- i
	}
	close(next)
	workers.Wait()
	return m, context.Cause(ctx)
}

func (m *Matrix) try(ctx context.Context, f *faults.Fault) (Row, error) {
	row := Row{Fault: f}
	ics := f.ICS()
	unit := iut.InProcess(f.ID, ics, func(ics spec.ICS) wire.Device { return f.Unit(ics) })
	r := report.Report{IUT: f.ID, ICS: ics, Page: m.Page}
	err := runner.Run(ctx, unit, m.Vectors, func(result *runner.Result) {
		r.Results = append(r.Results, result)
		switch result.Verdict {
		case runner.NotApplicable:
			return
		case runner.Fail, runner.Inconclusive:
			row.By = append(row.By, result.Vector)
		}
		row.Ran++
	})
	if err != nil {
		return row, err
	}
	for _, b := range r.MostBroken() {
		row.Named = append(row.Named, suite.FamilyOf(b.Clause))
	}
	return row, nil
}

// Leads reports whether the report names the fault's family.
func (r *Row) Leads() bool { return slices.Contains(r.Named, r.Fault.Family) }

// LeadsAtOnce reports whether it names the family first.
func (r *Row) LeadsAtOnce() bool { return len(r.Named) > 0 && r.Named[0] == r.Fault.Family }

// Totals are the matrix's figures.
type Totals struct {
	Faults, Caught, Uncaught int
	Leads, LeadsAtOnce       int // caught faults whose report names the right family, and names it first
	Alone                    int // vectors that alone catch some fault
}

// Totals counts.
func (m *Matrix) Totals() (t Totals) {
	t.Faults = len(m.Rows)
	for i := range m.Rows {
		row := &m.Rows[i]
		if len(row.By) == 0 {
			t.Uncaught++
			continue
		}
		t.Caught++
		if row.Leads() {
			t.Leads++
		}
		if row.LeadsAtOnce() {
			t.LeadsAtOnce++
		}
	}
	for _, needed := range m.Alone() {
		if len(needed) > 0 {
			t.Alone++
		}
	}
	return t
}

// Alone returns, for each vector that alone catches some fault, those faults.
func (m *Matrix) Alone() map[string][]*faults.Fault {
	alone := map[string][]*faults.Fault{}
	for i := range m.Rows {
		if row := &m.Rows[i]; len(row.By) == 1 {
			id := row.By[0].ID
			alone[id] = append(alone[id], row.Fault)
		}
	}
	return alone
}

// Uncaught returns the faults that no vector catches.
func (m *Matrix) Uncaught() []*faults.Fault {
	var list []*faults.Fault
	for i := range m.Rows {
		if len(m.Rows[i].By) == 0 {
			list = append(list, m.Rows[i].Fault)
		}
	}
	return list
}

// caughtBy returns the ids of the faults that each vector catches, in the catalogue's order.
func (m *Matrix) caughtBy() map[string][]string {
	by := map[string][]string{}
	for i := range m.Rows {
		for _, v := range m.Rows[i].By {
			by[v.ID] = append(by[v.ID], m.Rows[i].Fault.ID)
		}
	}
	return by
}

// Twins returns groups of vectors that catch just the same faults and list the same clauses: all but one of a group need a
// reason to be kept.
func (m *Matrix) Twins() [][]*suite.Vector {
	groups := map[string][]*suite.Vector{}
	var order []string
	caught := m.caughtBy()
	for _, v := range m.Vectors {
		key := ""
		for _, id := range slices.Sorted(slices.Values(v.Clauses)) {
			key += id + " "
		}
		for _, id := range caught[v.ID] {
			key += id + " "
		}
		if len(groups[key]) == 0 {
			order = append(order, key)
		}
		groups[key] = append(groups[key], v)
	}
	var twins [][]*suite.Vector
	for _, key := range order {
		if len(groups[key]) > 1 {
			twins = append(twins, groups[key])
		}
	}
	return twins
}
