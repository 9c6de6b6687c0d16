package cexport

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Tables are vectors bound to one unit, encoded.
type Tables struct {
	ICS     spec.ICS
	IDs     []string // of the vectors in the tables, in their order
	LeftOut []LeftOut

	bytes       []byte
	starts      []int // where each vector begins
	credentials []string
	mostChanges int
	depth       int
}

// LeftOut is why so many vectors are not in the tables: what they need of an ICS.
type LeftOut struct {
	Why   string
	Count int
}

// Encode encodes those of the vectors that the unit's ICS, which must be valid, calls for. It fails if there is none, and with a
// vector of which tables cannot hold something.
func Encode(ics spec.ICS, vectors []*suite.Vector) (*Tables, error) {
	t := &Tables{ICS: ics}
	var e encoder
	var s sharer
	why := map[string]int{}
	for _, v := range vectors {
		if ok, missing := v.Applies(&ics); !ok {
			why[missing]++
			continue
		}
		b, err := v.Bind(&ics)
		if err != nil {
			return nil, fmt.Errorf("%s: %s: %w", v.File, v.ID, err)
		}
		list, err := e.items(b)
		if err != nil {
			return nil, fmt.Errorf("%s: %s cannot be exported: %w", v.File, v.ID, err)
		}
		t.IDs = append(t.IDs, v.ID)
		t.starts = append(t.starts, s.add(list))
	}
	for missing, n := range why {
		t.LeftOut = append(t.LeftOut, LeftOut{missing, n})
	}
	slices.SortFunc(t.LeftOut, func(a, b LeftOut) int { return cmp.Or(cmp.Compare(b.Count, a.Count), strings.Compare(a.Why, b.Why)) })
	switch {
	case len(t.IDs) == 0:
		return nil, errors.New("the unit's ICS calls for none of these vectors")
	case len(t.IDs) > maxVectors:
		return nil, fmt.Errorf("these are %d vectors, and tables hold at most %d", len(t.IDs), maxVectors)
	}
	// The runner's arrays have an element at least.
	t.bytes, t.credentials, t.mostChanges, t.depth = s.bytes, e.credentials, max(1, e.mostChanges), max(1, s.depth)
	if len(t.credentials) == 0 {
		t.credentials = []string{""} // C has no empty arrays
	}
	return t, nil
}

// Size returns how many bytes of flash the tables take on a 32-bit target, and how many of them are the vectors' names.
func (t *Tables) Size(names bool) (all, ofNames int) {
	ofNames = 1
	if names {
		ofNames = len(t.ids())
	}
	return len(t.bytes) + len(t.credentials)*t.credentialSize() + ofNames, ofNames
}

func (t *Tables) credentialSize() int {
	longest := 0
	for _, c := range t.credentials {
		longest = max(longest, len(c))
	}
	return longest + 1
}

// ids are the names one after the other, each ended by a zero.
func (t *Tables) ids() string { return strings.Join(t.IDs, "\x00") + "\x00" }

// Head is what the tables' file says of itself beside the tables.
type Head struct {
	Checksum string   // of the set of vectors
	Only     []string // the patterns to which the vectors were kept, none for all
	Outside  int      // how many vectors the patterns left out
	Names    bool     // whether the vectors' names are in the tables
}

// Mark is the first line of every file of tables.
const Mark = "/* Test vectors of a heating programmer as constant tables, written by 'hearthbench vectors export'. Not to be edited. */"

// Write writes the tables as one C99 file. The same tables give the same bytes.
func (t *Tables) Write(w io.Writer, h Head) error {
	b := &strings.Builder{}
	fmt.Fprintln(b, Mark)
	t.head(b, h)
	fmt.Fprintf(b, guard, format)
	fmt.Fprintf(b, "#define HB_COUNT %du\n#define HB_NAMES %d\n#define HB_DEPTH %d\n#define HB_MOST_CHANGES %d\n\n",
		len(t.IDs), map[bool]int{true: 1}[h.Names], t.depth, t.mostChanges)
	fmt.Fprintf(b, "static const char hb_credentials[][%d] = {", t.credentialSize())
	for i, c := range t.credentials {
		if i > 0 {
			b.WriteString(", ")
		}
		fmt.Fprintf(b, "%q", c)
	}
	b.WriteString("};\n\nstatic const uint8_t hb_vectors[] = {\n")
	for i, id := range t.IDs {
		end := len(t.bytes)
		if i+1 < len(t.IDs) {
			end = t.starts[i+1]
		}
		fmt.Fprintf(b, "    /* %d: %s */\n", i+1, comment(id))
		row(b, t.bytes[t.starts[i]:end], func(c byte) string { return fmt.Sprint(c) })
	}
	b.WriteString("};\n\n")
	if h.Names {
		b.WriteString("static const char hb_ids[] = {\n")
		for _, id := range t.IDs {
			row(b, []byte(id+"\x00"), character)
		}
		b.WriteString("};\n")
	} else {
		b.WriteString("static const char hb_ids[] = \"\";\n")
	}
	b.WriteString("\n#endif\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// character writes a character of a name, which is ASCII. A string would be longer than C99 promises to take.
func character(c byte) string {
	if c == 0 {
		return "0"
	}
	return fmt.Sprintf("'%c'", c)
}

const lineWidth = 120

// row writes elements of an array, in as many lines as they need.
func row(b *strings.Builder, bytes []byte, text func(byte) string) {
	width := 0
	for _, c := range bytes {
		element := text(c) + ","
		if width+len(element) > lineWidth {
			b.WriteByte('\n')
			width = 0
		}
		if width == 0 {
			b.WriteString("    ")
			width = 4
		}
		b.WriteString(element)
		width += len(element)
	}
	b.WriteByte('\n')
}

// comment makes a text one that can stand in a comment.
func comment(text string) string {
	return strings.NewReplacer("/*", "/ *", "*/", "* /", "\n", " ", "\\", "/").Replace(text)
}

const guard = `#ifndef HB_VECTORS_H
#define HB_VECTORS_H

#include <stdint.h>

#if HB_RUNNER_FORMAT != %d
#error "this file and hb_runner.h are of different versions: export both anew"
#endif

`

// head writes the comment that tells a stranger what this is.
func (t *Tables) head(b *strings.Builder, h Head) {
	all, names := t.Size(h.Names)
	fmt.Fprintf(b, "/*\n * %s, %d bytes of tables on a 32-bit target: %.1f bytes a vector", plural(len(t.IDs), "vector"), all,
		float64(len(t.bytes))/float64(len(t.IDs)))
	if h.Names {
		fmt.Fprintf(b, ", and %d bytes of names", names)
	}
	fmt.Fprintf(b, `.
 * All of it is 'static const', so that it needs flash only. hb_runner.c includes this file, and nothing else should.
 *
 * Set of vectors: checksum %s.
`, h.Checksum)
	if len(h.Only) > 0 {
		fmt.Fprintf(b, " * Kept to: %s. That leaves out %s.\n", comment(strings.Join(h.Only, " ")), plural(h.Outside, "vector"))
	}
	if len(t.LeftOut) > 0 {
		total := 0
		for _, l := range t.LeftOut {
			total += l.Count
		}
		fmt.Fprintf(b, " * Left out, because the unit's ICS does not call for it: %s.\n", plural(total, "vector"))
		for _, l := range t.LeftOut {
			fmt.Fprintf(b, " *   %5d %s\n", l.Count, comment(l.Why))
		}
	}
	b.WriteString(" *\n * The unit's ICS. Its credential is in the tables.\n")
	for _, line := range strings.Split(strings.TrimSpace(string(wire.AppendICS(nil, t.ICS))), "\n") {
		if !strings.HasPrefix(line, "ics credential ") {
			fmt.Fprintf(b, " *   %s\n", line)
		}
	}
	b.WriteString(encoding)
}

const encoding = ` * Expected seconds are exact: none of the ICS's tolerances is granted here. A unit that needs one departs from these tables, and
 * conforms if 'hearthbench check' says so.
 *
 * How to read it. hb_vectors has the vectors one after the other. Each is its length in bytes, which counts itself, and then items.
 * The first byte of an item says in its low four bits what it is, and has an argument in its high four.
 *
 *   0 power off    1 power on    9 holiday cancel    12 reset
 *   2 fit          numbers: option, value
 *   3 clock        numbers: year, month, day of the month; a minute
 *   4 mode         argument: channel + 2 * mode
 *   5 periods      argument: how many have times; bytes: first table + 4 * further tables, first day + 16 * further days, first slot
 *                  + 16 * further slots; a minute on and a minute off for each that has times, the others being 00:00 00:00.
 *                  One input for each slot of each day of each table, the slots being the innermost.
 *   6 override     argument: channel
 *   7 boost        argument: channel; number: minutes
 *   8 holiday      number: days
 *   10 lock arm    argument: which of hb_credentials; numbers: days, notice days, minutes an hour in notice of hw and ch and in
 *                  restricted of hw and ch (255 none), how many sounder times, four of them
 *   11 lock remove argument: which of hb_credentials
 *   13 change      argument: signal + 4 * level. An output changes in this second; those of a second are in their order and stand
 *                  before its inputs, since the clocks bring some and the inputs bring others.
 *   14 wait        argument: the low three bits of a number n, + 8 if a number with the others follows. Even: n / 2 minutes pass.
 *                  Odd: (n - 1) / 2 seconds.
 *   15 other       argument 0: the test begins, in second 0. All inputs before this had to be accepted, and what changed with
 *                  them does not count. A byte: the levels that the outputs now have, hw + 4 * ch + 16 * alert + 64 * sounder.
 *                  argument 1: the next item's inputs are to be refused. 2: to be unsupported. All others are to be accepted.
 *                  argument 3: numbers: an index of hb_vectors, and how many bytes from there are to be read here as if they stood
 *                  here. There may be the same in them, up to HB_DEPTH deep.
 *
 * A number has seven bits in each byte, the highest first; all bytes but the last have 128 added. A minute, counted from 00:00, is a
 * byte up to 144 that is a tenth of it, or else 145 + minute / 256 and minute % 256. Words are numbered as in hb_runner.h.
 */
`

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
