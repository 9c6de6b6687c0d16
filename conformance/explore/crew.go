package explore

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// crew is the workers of an exploration. A level of a few hundred states takes less than a millisecond and ends twice with all of them
// waiting for each other, so that for a moment they wait awake.
type crew struct {
	workers []*worker // the first is the caller's

	n    int
	do   func(w *worker, i int)
	next atomic.Int64 // of the things to do
	busy atomic.Int32 // workers, the first apart

	calls   atomic.Uint32 // how often they were called on
	called  gate
	done    gate
	leaving atomic.Bool
}

func newCrew(workers []*worker) *crew {
	c := &crew{workers: workers}
	c.called.cond.L, c.done.cond.L = &c.called.mu, &c.done.mu
	for _, w := range workers[1:] {
		go c.serve(w)
	}
	return c
}

// end lets the workers go. They must not be called on after that.
func (c *crew) end() {
	c.leaving.Store(true)
	c.calls.Add(1)
	c.called.open()
}

func (c *crew) serve(w *worker) {
	for seen := uint32(0); ; seen++ {
		c.called.wait(func() bool { return c.calls.Load() != seen })
		if c.leaving.Load() {
			return
		}
		c.work(w)
		if c.busy.Add(-1) == 0 {
			c.done.open()
		}
	}
}

func (c *crew) work(w *worker) {
	for i := int(c.next.Add(1)) - 1; i < c.n; i = int(c.next.Add(1)) - 1 {
		c.do(w, i)
	}
}

// each does n things, or none: by the caller alone if there is but one.
func (c *crew) each(n int, do func(w *worker, i int)) {
	c.n, c.do = n, do
	c.next.Store(0)
	if n <= 1 || len(c.workers) == 1 {
		c.work(c.workers[0])
		return
	}
	c.busy.Store(int32(len(c.workers) - 1))
	c.calls.Add(1)
	c.called.open()
	c.work(c.workers[0])
	c.done.wait(func() bool { return c.busy.Load() == 0 })
}

// gate is where something is waited for.
type gate struct {
	mu     sync.Mutex
	cond   sync.Cond
	asleep atomic.Int32
}

// awake is for how many looks at a gate one waits awake, some tens of microseconds, and looks how many of them without giving way to others.
const (
	awake = 1 << 14
	looks = 1 << 6
)

// wait returns when the gate is ready, which only one who then opens it makes it.
func (g *gate) wait(ready func() bool) {
	for i := range awake {
		if ready() {
			return
		}
		if i%looks == looks-1 {
			runtime.Gosched()
		}
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	g.asleep.Add(1)
	for !ready() {
		g.cond.Wait()
	}
	g.asleep.Add(-1)
}

// open wakes those who sleep before the gate.
func (g *gate) open() {
	if g.asleep.Load() > 0 {
		g.mu.Lock()
		defer g.mu.Unlock()
		g.cond.Broadcast()
	}
}
