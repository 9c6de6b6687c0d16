package fsm

import (
	"errors"
	"fmt"
	"slices"
)

// Session is a black box in some state, for [Explore].
type Session interface {
	// Step applies an input and returns the output.
	Step(input string) (output string)
	// Key returns what stands for the state: sessions with equal keys must answer every further input alike.
	Key() string
	// Clone returns a session in the same state that goes its own way from here.
	Clone() Session
}

// Explore builds the machine of a black box by trying every input in every state, breadth first from reset. Its states are the
// keys, in the order in which they were met, its inputs those given, in their order, and its outputs those that were seen.
//
// It returns an error when there are no inputs or two alike, when an input leads to more than limit states, when reset does
// not always lead to the same key, and when two sessions with one key answer an input differently or go to different keys:
// then the key leaves out something that matters. For this check every input is tried once more after every transition, so
// the cost is about n·k·k steps and clones for n states and k inputs. The check looks one input ahead from the sessions that
// it meets; a key that hides a difference better than that goes unnoticed.
func Explore(reset func() Session, inputs []string, limit int) (*Machine, error) {
	if reset == nil {
		return nil, errors.New("there is no reset function to begin from")
	}
	if limit < 1 {
		return nil, fmt.Errorf("a limit of %d states: give at least 1", limit)
	}
	if err := checkNames("input", inputs); err != nil {
		return nil, err
	}
	start := reset()
	if again := reset().Key(); again != start.Key() {
		return nil, fmt.Errorf("reset leads to the key %q and then to %q: it must always lead to one state", start.Key(), again)
	}
	e := explorer{inputs: inputs, limit: limit}
	if _, err := e.meet(start.Key(), start, nil); err != nil {
		return nil, err
	}
	for s := 0; s < len(e.sessions); s++ {
		if err := e.try(s); err != nil {
			return nil, err
		}
	}
	for s := range e.sessions {
		if err := e.verify(s); err != nil {
			return nil, err
		}
	}
	e.table.States, e.table.Inputs, e.table.Outputs = e.keys.names, slices.Clone(inputs), e.outputs.names
	return New(e.table)
}

type explorer struct {
	inputs        []string
	limit         int
	keys, outputs numbering
	sessions      []Session  // by state: the one that was met first
	paths         [][]string // by state: the inputs that led to it
	table         Table
}

// meet returns the number of the state with a key, and takes the session for its first when the key is new.
func (e *explorer) meet(key string, session Session, path []string) (int, error) {
	if s, known := e.keys.known[key]; known {
		return s, nil
	}
	if len(e.sessions) == e.limit {
		return 0, fmt.Errorf("more than %d states: inputs %q lead to one more, with the key %q: raise the limit, or leave out of the key what does not matter",
			e.limit, path, key)
	}
	e.sessions, e.paths = append(e.sessions, session), append(e.paths, path)
	return e.keys.number(key), nil
}

// try fills a state's row of the table.
func (e *explorer) try(s int) error {
	next, output := make([]int, len(e.inputs)), make([]int, len(e.inputs))
	for i, input := range e.inputs {
		session := e.sessions[s].Clone()
		output[i] = e.outputs.number(session.Step(input))
		to, err := e.meet(session.Key(), session, append(slices.Clone(e.paths[s]), input))
		if err != nil {
			return err
		}
		next[i] = to
	}
	e.table.Next, e.table.Output = append(e.table.Next, next), append(e.table.Output, output)
	return nil
}

// verify compares what every input does after every transition out of a state with the table's row of the state it led to.
func (e *explorer) verify(s int) error {
	for i, input := range e.inputs {
		session := e.sessions[s].Clone()
		session.Step(input)
		to := e.table.Next[s][i]
		for j, then := range e.inputs {
			probe := session.Clone()
			output, key := probe.Step(then), probe.Key()
			wantOutput, wantKey := e.outputs.names[e.table.Output[to][j]], e.keys.names[e.table.Next[to][j]]
			if output != wantOutput || key != wantKey {
				return fmt.Errorf("the key %q hides a difference: on input %q, it gives %q and goes to %q after inputs %q, but %q and %q after %q: put into the key what differs",
					e.keys.names[to], then, wantOutput, wantKey, e.paths[to], output, key, append(slices.Clone(e.paths[s]), input))
			}
		}
	}
	return nil
}
