package capture

import (
	"bufio"
	"errors"
	"io"
	"strings"
	"time"

	"example.org/hearthbench/conformance/vcd"
)

// Open reads a recording; the name is for messages and to tell the formats apart: one that ends in .csv, or that does not end in .vcd
// and does not begin with a keyword of VCD, is CSV. Edges that follow another within the bounce time belong to it. No more is kept in memory than the edges of the
// signals mapped. An error is of type *[Error] unless reading itself failed.
func Open(name string, in io.Reader, m *Mapping, bounce time.Duration) (*Recording, error) {
	b := bufio.NewReaderSize(in, 1<<16)
	read := readVCD
	switch lower := strings.ToLower(name); {
	case strings.HasSuffix(lower, ".csv"):
		read = readCSV
	case !strings.HasSuffix(lower, ".vcd"):
		head, _ := b.Peek(1 << 10)
		if text := strings.TrimLeft(strings.TrimPrefix(string(head), "\ufeff"), " \t\r\n"); !strings.HasPrefix(text, "$") {
			read = readCSV
		}
	}
	r := &Recording{File: name}
	err := read(r, b, m, bounce)
	var syntax *vcd.Error
	var own *Error
	switch {
	case errors.As(err, &syntax):
		return nil, &Error{name, syntax.Line, syntax.Message}
	case errors.As(err, &own):
		own.File = name
		return nil, own
	case err != nil:
		return nil, err
	}
	return r, nil
}
