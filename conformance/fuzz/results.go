package fuzz

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/suite"
)

// Summary is what a campaign, or one shard of it, has done: a JSON file beside its findings,
// whose name ends in .campaign so that 'check --vectors' takes the folder for one of vectors.
type Summary struct {
	IUT         string  `json:"iut"`
	Seed        uint64  `json:"seed"`
	Shard       int     `json:"shard"` // from 1
	Shards      int     `json:"shards"`
	Steps       uint64  `json:"steps"`
	Scripts     uint64  `json:"scripts"`
	Places      int     `json:"places"`
	ClausePairs int     `json:"clause-pairs"`
	Failures    uint64  `json:"failures"`
	Causes      []Cause `json:"causes"`
}

// Cause is a finding in a summary.
type Cause struct {
	Name   string `json:"name"` // of its file, without .json
	Group  string `json:"group"`
	Clause string `json:"clause"`
	Inputs int    `json:"inputs"` // of the shortest sequence
	Step   uint64 `json:"step"`   // at which it first showed
	Times  uint64 `json:"times"`  // failures that were shortened to it
}

// Summarize returns what the campaign has done so far.
func (c *Campaign) Summarize(target string, shards int) Summary {
	p := c.progress
	s := Summary{
		IUT: target, Seed: c.options.Seed, Shard: c.options.Shard + 1, Shards: shards, Steps: p.Steps, Scripts: p.Scripts, Places: p.Places,
		ClausePairs: p.ClausePairs, Failures: p.Failures, Causes: []Cause{},
	}
	for _, f := range c.findings {
		s.Causes = append(s.Causes, Cause{Name: f.Name(), Group: f.Group, Clause: f.Clause, Inputs: f.Inputs(), Step: f.Step, Times: f.Times})
	}
	return s
}

// Write writes the summary into a folder.
func (s *Summary) Write(folder string) error {
	data, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return err
	}
	return writeWhole(filepath.Join(folder, fmt.Sprintf("seed-%d-shard-%d-of-%d.campaign", s.Seed, s.Shard, s.Shards)), append(data, '\n'))
}

// WriteFile writes a finding's vector file into a folder.
func WriteFile(folder, name string, data []byte) error {
	return writeWhole(filepath.Join(folder, name+".json"), data)
}

// CorpusFolder is where in a folder of results a merged corpus stands.
const CorpusFolder = "corpus"

// Merged is what has come of a merge.
type Merged struct {
	Summaries []Summary // in the order of seed and shard
	Causes    []Cause   // one for each, in the order of their names
	Scripts   int       // of the united corpus
}

// Merge unites the results of campaigns, or of the shards of one: findings of one cause become one, of which the shortest stays, and
// corpora, which stand in the folder corpus of each, become one. The target folder may be one of them. An error names the file that
// cannot be read.
func Merge(target string, folders []string) (*Merged, error) {
	m := &Merged{}
	best := map[string]file{}
	scripts := map[string][]byte{}
	seen := map[string]Cause{}
	for _, folder := range folders {
		if info, err := os.Stat(folder); err != nil {
			return nil, err
		} else if !info.IsDir() {
			return nil, fmt.Errorf("%s is no folder; name the --out of a campaign", folder)
		}
		if err := m.readSummaries(folder, seen); err != nil {
			return nil, err
		}
		if err := readFindings(folder, best); err != nil {
			return nil, err
		}
		corpus, err := ReadCorpus(filepath.Join(folder, CorpusFolder))
		if err != nil {
			return nil, err
		}
		for _, script := range corpus {
			text := Format(script)
			scripts[string(text)] = text
		}
	}
	if len(m.Summaries) == 0 {
		return nil, errors.New("there is no file *.campaign in these folders; name the --out of campaigns")
	}
	slices.SortFunc(m.Summaries, func(a, b Summary) int {
		return strings.Compare(fmt.Sprintf("%20d %8d %8d", a.Seed, a.Shards, a.Shard), fmt.Sprintf("%20d %8d %8d", b.Seed, b.Shards, b.Shard))
	})
	if err := os.MkdirAll(target, 0o755); err != nil {
		return nil, err
	}
	for name, f := range best {
		if err := WriteFile(target, name, f.data); err != nil {
			return nil, err
		}
		cause := seen[name]
		cause.Name, cause.Inputs, cause.Clause = name, f.inputs, f.clause
		m.Causes = append(m.Causes, cause)
	}
	slices.SortFunc(m.Causes, func(a, b Cause) int { return strings.Compare(a.Name, b.Name) })
	for i := range m.Summaries {
		if err := m.Summaries[i].Write(target); err != nil {
			return nil, err
		}
	}
	var list []string
	for text := range scripts {
		list = append(list, text)
	}
	slices.Sort(list)
	m.Scripts = len(list)
	for _, text := range list {
		script, err := Parse([]byte(text))
		if err != nil {
			return nil, err
		}
		if err := WriteCorpus(filepath.Join(target, CorpusFolder), []iut.Script{script}); err != nil {
			return nil, err
		}
	}
	return m, nil
}

// file is a finding's file.
type file struct {
	data   []byte
	inputs int
	until  uint64
	clause string
}

func readFindings(folder string, best map[string]file) error {
	names, err := filepath.Glob(filepath.Join(folder, "fuzz-*.json"))
	if err != nil {
		return err
	}
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		set, err := read(name, data)
		if err != nil {
			return err
		}
		f := fileOf(data, set.Vectors[0])
		key := strings.TrimSuffix(filepath.Base(name), ".json")
		if have, known := best[key]; !known || f.less(&have) {
			best[key] = f
		}
	}
	return nil
}

func fileOf(data []byte, v *suite.Vector) file {
	inputs := len(v.Steps) + 1 // and power
	if !v.ClockUnset {
		inputs++
	}
	return file{data: data, inputs: inputs, until: v.Until, clause: v.Clauses[0]}
}

// less orders files of one cause: the shortest first, and where they are as short, always the same one.
func (f *file) less(g *file) bool {
	if f.inputs != g.inputs {
		return f.inputs < g.inputs
	}
	if f.until != g.until {
		return f.until < g.until
	}
	return string(f.data) < string(g.data)
}

// readSummaries reads the campaigns of a folder, each once.
func (m *Merged) readSummaries(folder string, seen map[string]Cause) error {
	names, err := filepath.Glob(filepath.Join(folder, "*.campaign"))
	if err != nil {
		return err
	}
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		var s Summary
		if err := json.Unmarshal(data, &s); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		if slices.ContainsFunc(m.Summaries, func(t Summary) bool {
			return t.Seed == s.Seed && t.Shard == s.Shard && t.Shards == s.Shards && t.IUT == s.IUT
		}) {
			continue
		}
		m.Summaries = append(m.Summaries, s)
		for _, c := range s.Causes {
			have, known := seen[c.Name]
			if known {
				c.Times += have.Times
				c.Step = min(c.Step, have.Step)
			}
			seen[c.Name] = c
		}
	}
	return nil
}
