package recording

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"example.org/hearthbench/conformance/vcd"
	"example.org/hearthbench/emulator/spec"
)

// bus is a column of a VCD file: a variable, or bits of one name that are recorded one by one.
type bus struct {
	name    string
	signals []int // in the file; more than one are bits, most significant first
	width   int
}

// buses returns the columns of a file, and the names of them.
func buses(h *vcd.Header) ([]bus, Columns) {
	var all []bus
	var cs Columns
	add := func(name, path string, b bus) {
		b.name = path
		for i := range all {
			if all[i].name == path {
				return // a variable declared twice
			}
		}
		all, cs = append(all, b), append(cs, names{name, path})
	}
	type bit struct {
		v      *vcd.Var
		number int
	}
	bits := map[string][]bit{}
	var order []string
	for i := range h.Vars {
		v := &h.Vars[i]
		if v.Kind == "real" || v.Kind == "realtime" || v.Kind == "string" {
			continue
		}
		single := strings.TrimSuffix(strings.TrimPrefix(v.Index, "["), "]")
		if n, err := strconv.Atoi(single); err == nil && v.Width == 1 {
			whole := *v
			whole.Index = ""
			path := whole.Path()
			if bits[path] == nil {
				order = append(order, path)
			}
			bits[path] = append(bits[path], bit{v, n})
			add(v.Name+v.Index, v.Path(), bus{signals: []int{v.Signal}, width: 1})
			continue
		}
		whole := *v
		whole.Index = "" // the range of a vector is no part of its name
		add(v.Name, whole.Path(), bus{signals: []int{v.Signal}, width: v.Width})
	}
	for _, path := range order {
		set := bits[path]
		b := bus{signals: make([]int, len(set)), width: len(set)}
		whole := true // bits 0 to n-1, each once
		seen := make([]bool, len(set))
		for _, one := range set {
			if one.number < 0 || one.number >= len(set) || seen[one.number] {
				whole = false
				break
			}
			seen[one.number] = true
			b.signals[len(set)-1-one.number] = one.v.Signal
		}
		if whole && len(set) > 1 {
			add(set[0].v.Name, path, b)
		}
	}
	return all, cs
}

// tap feeds a line from a VCD file.
type tap struct {
	*debouncer
	values []byte // of the signals of the bus
	digits int    // how many bits each of them has
	most   spec.Level
}

func (t *tap) level() spec.Level {
	level := spec.Level(0)
	for _, b := range t.values {
		switch {
		case b != '0' && b != '1':
			return Unknown
		case level > t.most/2:
			return Unknown // more than there are levels
		}
		level = level<<1 | spec.Level(b-'0')
	}
	return level
}

func readVCD(r *Recording, in io.Reader, choose func(Columns) ([]Pick, error), bounce time.Duration) error {
	d, err := vcd.NewReader(in)
	if err != nil {
		return err
	}
	h := d.Header()
	if !h.Scaled {
		return &Error{Message: "the file states no $timescale, so its times mean nothing; record it again, or add the right one"}
	}
	all, cs := buses(h)
	picks, err := choose(cs)
	if err != nil {
		return &Error{Message: err.Error()}
	}
	r.Columns = len(all)
	r.Resolution, _ = h.Timescale.Duration(1)
	taps := make([][]*tap, h.Signals())
	places := make([][]int, h.Signals()) // where in the tap's values the signal's begin
	var every []*tap
	for _, p := range picks {
		b := &all[p.Column]
		t := &tap{most: p.Most, digits: b.width / len(b.signals)}
		if p.Most == 1 && b.width != 1 {
			return &Error{Message: fmt.Sprintf("the column %s has %d bits, but what is on or off has one", b.name, b.width)}
		}
		t.debouncer = newDebouncer(b.name, p.Inverted, bounce)
		t.values = []byte(strings.Repeat("x", b.width))
		for k, s := range b.signals {
			taps[s] = append(taps[s], t)
			places[s] = append(places[s], k*t.digits)
		}
		every = append(every, t)
	}
	first, stamped, last := uint64(0), false, 0
	for {
		e, err := d.Next()
		if err != nil && err != io.EOF {
			return err
		}
		if err == io.EOF || e.Kind == vcd.Stamp {
			for _, t := range every {
				t.set(r.Length, r.Length, t.level(), last) // bits that come one by one are a level once all of their instant are told
			}
		}
		if err == io.EOF {
			break
		}
		last = e.Line
		switch e.Kind {
		case vcd.Stamp:
			if !stamped {
				first, stamped = e.Time, true
			}
			length, ok := h.Timescale.Duration(e.Time - first)
			if !ok {
				return &vcd.Error{Line: e.Line, Message: "the recording is longer than 292 years; is its time scale right?"}
			}
			r.Length = length
		case vcd.Off:
			for _, t := range every {
				copy(t.values, strings.Repeat("x", len(t.values)))
			}
		case vcd.Change:
			for i, t := range taps[e.Signal] {
				copy(t.values[places[e.Signal][i]:], e.Bits)
				if t.digits == len(t.values) {
					t.set(r.Length, r.Length, t.level(), e.Line)
				}
			}
		}
	}
	if !stamped {
		return &Error{Message: "the file has no time stamps, so it records nothing"}
	}
	for _, t := range every {
		r.Lines = append(r.Lines, t.finish())
	}
	return nil
}
