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
	key   string           // whose value has this node; "" if it is not one in particular
	known map[string]*node // nil: any
	other *node            // of the values, where any key may stand
}

var (
	vectorNode = keysOf(vectorJSON{}, map[string]*node{
		"needs":   {other: keyed(map[string]*node{"min": {}, "max": {}})},
		"steps":   keysOf(stepJSON{}, nil),
		"initial": keysOf(levelsJSON{}, nil),
		"trace":   keysOf(changeJSON{}, nil),
	})
	fileNode = keysOf(fileJSON{}, map[string]*node{"vectors": vectorNode})
)

// keysOf lists the keys of a struct, with nodes for those whose value has keys of its own.
func keysOf(object any, nodes map[string]*node) *node {
	known := map[string]*node{}
	for _, field := range reflect.VisibleFields(reflect.TypeOf(object)) {
		if key := field.Tag.Get("json"); key != "" {
			if known[key] = nodes[key]; nodes[key] == nil {
				known[key] = &node{}
			}
		}
	}
	return keyed(known)
}

// keyed is an object that may have these keys and no others.
func keyed(known map[string]*node) *node {
	for key, value := range known {
		value.key = key
	}
	return &node{known: known}
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
	var levels []level // and beyond its end those that have been, whose lists of keys are used again
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
			if depth := len(levels); depth < cap(levels) {
				levels = levels[:depth+1]
			} else {
				levels = append(levels, level{})
			}
			l := top()
			l.node, l.object, l.key, l.seen = n, b == '{', "", l.seen[:0]
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
			var key string
			if n := l.known[string(data[begin+1:i])]; n != nil {
				key = n.key // without a copy of what stands in the file
			} else if key = string(data[begin+1 : i]); strings.Contains(key, `\`) {
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
