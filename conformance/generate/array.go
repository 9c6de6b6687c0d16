package generate

import (
	"slices"
	"strings"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// option is an option of the ICS with the values that the array gives it, each as NAME=VALUE words.
type option struct {
	name   string
	values []string
}

// options are what the array is over: what can be fitted, and what of the ICS a vector can depend on.
var options = []option{
	{"channels", []string{"both", "hw", "ch"}},
	{"cycle", []string{"24h", "5/2", "7day"}},
	{"timing", []string{"separate", "shared"}},
	{"coupling", []string{"independent", "gravity"}},
	{"periods", []string{"1", "2", "6"}},
	{"boost", []string{"60/180", "30/240", "1/1440", "15/90", "60/0"}}, // step and longest
	{"holiday", []string{"yes", "no"}},
	{"summer-time", []string{"automatic", "none"}},
	{"zone", []string{"0", "60", "-60"}},
	{"lock", []string{"yes", "no"}},
	{"reserve", []string{"480", "0"}},
	{"override-on-mode-change", []string{"cancelled", "kept"}},
	{"override-end", []string{"change", "programmed"}},
	{"second-boost", []string{"replaces", "extends"}},
	{"boost-in-holiday", []string{"refused", "allowed"}},
	{"clock-after-reset", []string{"kept", "unset"}},
	{"lost-clock", []string{"unset", "resumes", "restarts"}},
	{"through-cut", []string{"dropped", "kept"}},
	{"past-midnight", []string{"refused", "wrap"}},
	{"bad-value", []string{"refused", "clamped"}},
}

// row is a value for each of the options, by its number; -1 while it is open.
type row []int

// value returns the value of an option, in words.
func (r row) value(name string) string {
	i := slices.IndexFunc(options, func(o option) bool { return o.name == name })
	return options[i].values[r[i]]
}

// String words the row as settings of an ICS.
func (r row) String() string { return strings.Join(r.settings(), " ") }

// settings returns the row as NAME=VALUE, as the ICS has the options.
func (r row) settings() []string {
	var list []string
	for i, o := range options {
		value := o.values[r[i]]
		if o.name == "boost" {
			step, longest, _ := strings.Cut(value, "/")
			list = append(list, "boost-step="+step, "boost-longest="+longest)
			continue
		}
		list = append(list, o.name+"="+value)
	}
	return list
}

// alternative returns the row's value of an option as a change of a statement.
func (r row) alternative(name string) alternative {
	value := r.value(name)
	if o, err := wire.ParseFitOption(name); err == nil {
		v, err := wire.ParseFitValue(o, value)
		if err != nil {
			panic(err) // the values above are good ones
		}
		return func(s *spec.ICS) { s.Fitted, _ = s.Fit(s.Fitted, o, v) }
	}
	if step, longest, ok := strings.Cut(value, "/"); ok && name == "boost" {
		return func(s *spec.ICS) {
			set(s, "boost-step", step)
			set(s, "boost-longest", longest)
		}
	}
	return func(s *spec.ICS) { set(s, name, value) }
}

// set gives an option of a statement a value that it can have.
func set(s *spec.ICS, option, value string) {
	if err := wire.SetOption(s, option, value); err != nil {
		panic(err)
	}
}

// possible reports whether two options can have two values at once: a single channel is independent and has a table of its own.
func possible(i, a, j, b int) bool {
	single := func(i, a int) bool { return options[i].name == "channels" && options[i].values[a] != "both" }
	together := func(i, a int) bool {
		return options[i].name == "timing" && options[i].values[a] == "shared" || options[i].name == "coupling" && options[i].values[a] == "gravity"
	}
	return !(single(i, a) && together(j, b) || single(j, b) && together(i, a))
}

// two values of two options.
type two struct{ i, a, j, b int }

// coveringArray returns rows such that every possible two values of two options stand together in one of them. It is greedy: each row
// begins with the first two values that are still wanting, and gives one option after another the value that brings the most of
// the others, of equal ones the one used least.
func coveringArray() []row {
	wanting := map[two]bool{}
	var order []two
	for i := range options {
		for j := i + 1; j < len(options); j++ {
			for a := range options[i].values {
				for b := range options[j].values {
					if possible(i, a, j, b) {
						order = append(order, two{i, a, j, b})
						wanting[two{i, a, j, b}] = true
					}
				}
			}
		}
	}
	used := make([][]int, len(options))
	for i := range options {
		used[i] = make([]int, len(options[i].values))
	}
	var rows []row
	for _, first := range order {
		if !wanting[first] {
			continue
		}
		r := make(row, len(options))
		for i := range r {
			r[i] = -1
		}
		r[first.i], r[first.j] = first.a, first.b
		for i := range options {
			if r[i] < 0 {
				r[i] = r.best(i, wanting, used[i])
			}
		}
		for i, a := range r {
			used[i][a]++
			for j := i + 1; j < len(r); j++ {
				delete(wanting, two{i, a, j, r[j]})
			}
		}
		rows = append(rows, r)
	}
	return rows
}

// best returns the value of an option that brings the most that is wanting, with the values that the row has.
func (r row) best(i int, wanting map[two]bool, used []int) int {
	best, most := -1, -1
	for a := range options[i].values {
		brings, ok := 0, true
		for j, b := range r {
			if b < 0 || j == i {
				continue
			}
			ok = ok && possible(i, a, j, b)
			t := two{i, a, j, b}
			if j < i {
				t = two{j, b, i, a}
			}
			if wanting[t] {
				brings++
			}
		}
		if ok && (brings > most || brings == most && used[a] < used[best]) {
			best, most = a, brings
		}
	}
	return best
}
