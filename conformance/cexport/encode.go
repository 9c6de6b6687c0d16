package cexport

import (
	"fmt"
	"math"
	"slices"

	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/emulator/spec"
)

// format is the version of the encoding. A runner reads one.
const format = 1

// An item begins with a byte: in its low four bits what it is, the numbers of inputs being those of spec, in its high four an argument.
const (
	itemChange = byte(spec.NumKinds) + iota // argument: signal and 4 times the level
	itemWait                                // argument: how long, or its low bits
	itemOther                               // argument: one of those below, or the outcome of the input that follows
)

const (
	otherBegin = byte(spec.Accepted)        // the test begins; a byte with the levels follows
	otherAgain = byte(spec.Unsupported) + 1 // bytes that stand elsewhere: where and how many
)

const (
	// maxVectors is how many vectors the runner can count.
	maxVectors = math.MaxUint16 - 1
	// maxCredentials is how many an argument can tell apart.
	maxCredentials = 16
)

// encoder turns bound vectors into items.
type encoder struct {
	credentials []string
	mostChanges int // in one second
}

// items returns what happens in a vector, each item encoded by itself.
func (e *encoder) items(b *suite.Bound) ([]string, error) {
	if b.Vector.Until > math.MaxUint32 {
		return nil, fmt.Errorf("it lasts %d seconds, and tables count up to %d", b.Vector.Until, uint32(math.MaxUint32))
	}
	var list []string
	var err error
	if list, err = e.inputs(list, b.Fits, spec.Accepted); err != nil {
		return nil, err
	}
	if list, err = e.inputs(list, b.Given, spec.Accepted); err != nil {
		return nil, err
	}
	levels := byte(0)
	for s, level := range b.Initial {
		levels |= byte(level) << (2 * s)
	}
	list = append(list, string([]byte{itemOther | otherBegin<<4, levels}))

	steps, trace, now := b.Steps, b.Trace, uint64(0)
	for {
		// What is expected in a second stands before its inputs: nothing says which of them brings it.
		changes := 0
		for ; len(trace) > 0 && trace[0].At == now; trace = trace[1:] {
			list = append(list, string([]byte{itemChange | byte(trace[0].Signal)<<4 | byte(trace[0].Level)<<6}))
			changes++
		}
		e.mostChanges = max(e.mostChanges, changes)
		for len(steps) > 0 && steps[0].At == now {
			var together []spec.Input
			for _, s := range steps {
				if s.Step != steps[0].Step {
					break
				}
				together = append(together, s.Input)
			}
			if list, err = e.inputs(list, together, steps[0].Want); err != nil {
				return nil, err
			}
			steps = steps[len(together):]
		}
		if now == b.Vector.Until {
			return list, nil
		}
		next := b.Vector.Until
		if len(trace) > 0 {
			next = min(next, trace[0].At)
		}
		if len(steps) > 0 {
			next = min(next, steps[0].At)
		}
		list = append(list, string(wait(next-now)))
		now = next
	}
}

// inputs encodes inputs that follow each other in one second and have the same outcome.
func (e *encoder) inputs(list []string, inputs []spec.Input, want spec.Outcome) ([]string, error) {
	for len(inputs) > 0 {
		n := 1
		var item []byte
		if want != spec.Accepted {
			item = append(item, itemOther|byte(want)<<4)
		}
		if inputs[0].Kind == spec.SetPeriod {
			n, item = appendPeriods(item, inputs)
		} else {
			var err error
			if item, err = e.appendInput(item, &inputs[0]); err != nil {
				return nil, err
			}
		}
		list = append(list, string(item))
		inputs = inputs[n:]
	}
	return list, nil
}

// wait encodes a time of which nothing is expected but at its end: twice its minutes or, where they are not whole, twice its seconds
// and 1. Its three low bits are in the argument, with a bit that says whether there are more.
func wait(seconds uint64) []byte {
	n := seconds<<1 | 1
	if seconds%60 == 0 {
		n = seconds / 60 << 1
	}
	if n < 8 {
		return []byte{itemWait | byte(n)<<4}
	}
	return appendNumber([]byte{itemWait | byte(8|n&7)<<4}, n>>3)
}

// appendInput encodes any input but the edit of a period.
func (e *encoder) appendInput(item []byte, in *spec.Input) ([]byte, error) {
	argument := byte(0)
	switch in.Kind {
	case spec.SetMode, spec.Override, spec.Boost:
		argument = byte(in.Channel) | byte(in.Mode)<<1
	case spec.LockArm, spec.LockRemove:
		i := slices.Index(e.credentials, in.Credential)
		if i < 0 {
			if i = len(e.credentials); i == maxCredentials {
				return nil, fmt.Errorf("its credential is one more than the %d different ones that tables can hold", maxCredentials)
			}
			e.credentials = append(e.credentials, in.Credential)
		}
		argument = byte(i)
	}
	item = append(item, byte(in.Kind)|argument<<4)
	switch in.Kind {
	case spec.Fit:
		item = appendNumber(item, uint64(in.FitOption))
		item = appendNumber(item, uint64(in.FitValue))
	case spec.SetClock:
		item = appendNumber(item, uint64(in.Date.Year))
		item = appendNumber(item, uint64(in.Date.Month))
		item = appendNumber(item, uint64(in.Date.Day))
		item = appendMinute(item, in.Minute)
	case spec.Boost, spec.Holiday:
		item = appendNumber(item, uint64(in.Amount))
	case spec.LockArm:
		t := &in.Terms
		item = appendNumber(item, uint64(t.Days))
		item = appendNumber(item, uint64(t.NoticeDays))
		for _, minutes := range [...]uint8{t.Notice[spec.HW], t.Notice[spec.CH], t.Restricted[spec.HW], t.Restricted[spec.CH]} {
			item = appendNumber(item, uint64(minutes))
		}
		item = appendNumber(item, uint64(t.Sounders))
		for _, m := range t.Sounder {
			item = appendNumber(item, uint64(m))
		}
	}
	return item, nil
}

// appendNumber encodes a number in groups of seven bits, the highest first; all bytes but the last have 128 added.
func appendNumber(item []byte, n uint64) []byte {
	if n > 127 {
		item = appendNumber(item, n>>7)
		item[len(item)-1] |= 128
	}
	return append(item, byte(n&127))
}

// overTens is the first byte that is no multiple of ten minutes up to 24:00.
const overTens = spec.MinutesPerDay/10 + 1

// appendMinute encodes minutes from midnight, 0 to 1440: whole tens, as most are, in one byte.
func appendMinute(item []byte, m uint16) []byte {
	if m%10 == 0 {
		return append(item, byte(m/10))
	}
	return append(item, byte(overTens+m>>8), byte(m))
}

// appendPeriods encodes as many edits of periods as are those of one block: tables by days by slots, of which the first few have
// times of their own and the others are inactive. It returns how many those are.
func appendPeriods(item []byte, inputs []spec.Input) (int, []byte) {
	first := &inputs[0]
	// is reports whether edit i is of slot j of the block.
	is := func(i int, table, day, j int) bool {
		return i < len(inputs) && inputs[i].Kind == spec.SetPeriod && inputs[i].Table == first.Table+spec.TableID(table) &&
			inputs[i].Day == first.Day+spec.Day(day) && inputs[i].Slot == first.Slot+uint8(j)
	}
	slots, timed := 0, 0
	for is(slots, 0, 0, slots) {
		if slots++; inputs[slots-1].Period != (spec.Period{}) {
			timed = slots
		}
	}
	row := func(from, table, day int) bool {
		for j := range slots {
			if !is(from+j, table, day, j) || inputs[from+j].Period != inputs[j].Period {
				return false
			}
		}
		return true
	}
	days := 1
	for row(days*slots, 0, days) {
		days++
	}
	tables := 1
	for {
		for d := range days {
			if row((tables*days+d)*slots, tables, d) {
				continue
			}
			item = append(item, byte(spec.SetPeriod)|byte(timed)<<4, byte(first.Table)|byte(tables-1)<<2,
				byte(first.Day)|byte(days-1)<<4, first.Slot|byte(slots-1)<<4)
			for i := range timed {
				item = appendMinute(item, inputs[i].Period.On)
				item = appendMinute(item, inputs[i].Period.Off)
			}
			return tables * days * slots, item
		}
		tables++
	}
}
