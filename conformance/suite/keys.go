package suite

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"
)

// node says which keys an object of a vector file may have. Elements of a list have the list's node.
type node struct {
	known map[string]*node // nil: any
	other *node            // of the values, where any key may stand
}

var (
	vectorNode = keysOf(vectorJSON{}, map[string]*node{
		"needs":   {other: &node{known: map[string]*node{"min": {}, "max": {}}}},
		"steps":   keysOf(stepJSON{}, nil),
		"initial": keysOf(levelsJSON{}, nil),
		"trace":   keysOf(changeJSON{}, nil),
	})
	fileNode = keysOf(fileJSON{}, map[string]*node{"vectors": vectorNode})
)

// keysOf lists the keys of a struct, with nodes for those whose value has keys of its own.
func keysOf(object any, nodes map[string]*node) *node {
	n := &node{known: map[string]*node{}}
	for _, field := range reflect.VisibleFields(reflect.TypeOf(object)) {
		if key := field.Tag.Get("json"); key != "" {
			if n.known[key] = nodes[key]; nodes[key] == nil {
				n.known[key] = &node{}
			}
		}
	}
	return n
}

// checkKeys finds a key that is unknown or stands twice in its object, both of which package json would pass over: to it "Given" is
// as good as "given", and of two the last one counts. The data must be JSON. It returns where each vector begins.
func checkKeys(name string, data []byte) (starts []int, err error) {
	type level struct {
		*node
		object bool
		key    string   // the one whose value is under way
		seen   []string // keys of an object
	}
	var levels []level
	var errs faults
	top := func() *level { return &levels[len(levels)-1] }
	wantKey := false
	for i := 0; i < len(data); i++ {
		switch b := data[i]; b {
		case '{', '[':
			n := fileNode
			if len(levels) > 0 {
				if n = top().node; top().object {
					n = n.child(top().key)
				}
			}
			if n == vectorNode && b == '{' {
				starts = append(starts, i)
			}
			levels = append(levels, level{node: n, object: b == '{'})
			wantKey = b == '{'
		case '}', ']':
			levels = levels[:len(levels)-1]
			wantKey = false
		case ',':
			wantKey = len(levels) > 0 && top().object
		case '"':
			begin := i
			for i++; data[i] != '"'; i++ {
				if data[i] == '\\' {
					i++
				}
			}
			if !wantKey {
				continue
			}
			wantKey = false
			l := top()
			key := string(data[begin+1 : i])
			if strings.Contains(key, `\`) {
				_ = json.Unmarshal(data[begin:i+1], &key) // cannot fail: the data is JSON
			}
			if _, ok := l.known[key]; !ok && l.known != nil {
				errs.add(fmt.Errorf("%s%s: key %q is unknown; the keys here are %s", name, place(data, begin+1), key, l.keys()))
			} else if slices.Contains(l.seen, key) {
				errs.add(fmt.Errorf("%s%s: key %q stands twice in its object", name, place(data, begin+1), key))
			}
			l.key, l.seen = key, append(l.seen, key)
		}
	}
	return starts, errs.err()
}

// child returns the node of a key's value.
func (n *node) child(key string) *node {
	c := n.other
	if n.known != nil {
		c = n.known[key]
	}
	if c == nil {
		return &node{}
	}
	return c
}

func (n *node) keys() string {
	keys := make([]string, 0, len(n.known))
	for key := range n.known {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	return strings.Join(keys, ", ")
}
