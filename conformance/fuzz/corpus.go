package fuzz

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/report"
	"example.org/hearthbench/conformance/wire"
)

// A corpus is a folder of scripts, each a file of the lines of ADAPTER.md from "new" on, named after its content. Files of other
// names are left alone.

const corpusPattern = "script-*.txt"

// Format words a script as a file of a corpus.
func Format(script iut.Script) []byte {
	var b []byte
	for i := range script {
		b = append(script[i].Append(b), '\n')
	}
	return b
}

// Parse reads a script from the text of a file of a corpus. The error says in which line what is wrong.
func Parse(text []byte) (iut.Script, error) {
	var script iut.Script
	for i, line := range strings.Split(strings.TrimSuffix(string(text), "\n"), "\n") {
		r, err := parseRequest(line)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", i+1, err)
		}
		script = append(script, r)
	}
	if err := iut.CheckScripts([]iut.Script{script}); err != nil {
		return nil, err
	}
	return script, nil
}

func parseRequest(line string) (iut.Request, error) {
	if line == wire.New {
		return iut.Request{Kind: iut.New}, nil
	}
	if text, ok := strings.CutPrefix(line, "go "); ok {
		seconds, err := strconv.ParseUint(text, 10, 64)
		if err != nil || seconds > wire.MaxGo {
			return iut.Request{}, fmt.Errorf("%q is not 'go SECONDS' with 0 to %d seconds", line, wire.MaxGo)
		}
		return iut.Request{Kind: iut.Go, Seconds: seconds}, nil
	}
	in, err := wire.ParseInput(line)
	return iut.Request{Kind: iut.Do, Input: in}, err
}

// ReadCorpus reads the scripts of a folder in the order of their names. A folder that is not there holds none.
func ReadCorpus(folder string) ([]iut.Script, error) {
	names, err := filepath.Glob(filepath.Join(folder, corpusPattern))
	if err != nil {
		return nil, err
	}
	slices.Sort(names)
	var scripts []iut.Script
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			return nil, err
		}
		script, err := Parse(text)
		if err != nil {
			return nil, fmt.Errorf("%s: %w; mend the file or take it away", name, err)
		}
		scripts = append(scripts, script)
	}
	return scripts, nil
}

// WriteCorpus adds scripts to a folder, which it makes if need be. Each file is written whole or not at all.
func WriteCorpus(folder string, scripts []iut.Script) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	for _, script := range scripts {
		text := Format(script)
		sum := sha256.Sum256(text)
		name := filepath.Join(folder, fmt.Sprintf("script-%x.txt", sum[:8]))
		if have, err := os.ReadFile(name); err == nil && bytes.Equal(have, text) {
			continue
		}
		// A half-written script would stop the next campaign. There may be thousands, so none is waited for on its way to the disk.
		if err := errors.Join(os.WriteFile(name+".tmp", text, 0o644), os.Rename(name+".tmp", name)); err != nil {
			return err
		}
	}
	return nil
}

// writeWhole writes a file whole or not at all.
func writeWhole(name string, data []byte) error {
	output, err := report.NewOutput(name)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return output.Write(func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}
