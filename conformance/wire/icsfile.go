package wire

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"example.org/hearthbench/emulator/spec"
)

// MaxICSFile is the most bytes that an ICS file may have: far more than the options and a comment on each need.
const MaxICSFile = 64 << 10

// ReadICS reads an ICS file: the 'ics' lines of vectors/ADAPTER.md, with empty lines and comments, which begin with '#', between them. The
// name is for messages. The error names the file and the line, or every option that is missing or wrong.
func ReadICS(name string, r io.Reader) (spec.ICS, error) {
	var reader ICSReader
	in := &io.LimitedReader{R: r, N: MaxICSFile + 1}
	lines := bufio.NewScanner(in)
	lines.Buffer(nil, MaxICSFile+1)
	for n := 1; lines.Scan(); n++ {
		line := strings.TrimRight(lines.Text(), " \t\r")
		if in.N <= 0 {
			return spec.ICS{}, fmt.Errorf("%s: the file is too long; an ICS file has at most %d bytes", name, MaxICSFile)
		}
		if line == "" || line[0] == '#' {
			continue
		}
		if err := reader.Line(line); err != nil {
			return spec.ICS{}, fmt.Errorf("%s:%d: %w", name, n, err)
		}
	}
	if err := lines.Err(); err != nil {
		return spec.ICS{}, fmt.Errorf("%s: %w", name, err)
	}
	ics, err := reader.ICS()
	if err != nil {
		return spec.ICS{}, fmt.Errorf("%s: %w", name, err)
	}
	return ics, nil
}
