package fsm_test

import (
	"fmt"
	"log"
	"strings"

	"example.org/hearthbench/conformance/fsm"
)

// A lamp with a child lock: a press switches it, unless it is locked.
func Example() {
	lamp, err := fsm.Build("dark", []fsm.Transition{
		{From: "dark", Input: "press", Output: "switches", To: "lit"},
		{From: "dark", Input: "lock", Output: "nothing", To: "dark locked"},
		{From: "lit", Input: "press", Output: "switches", To: "dark"},
		{From: "lit", Input: "lock", Output: "nothing", To: "lit locked"},
		{From: "dark locked", Input: "press", Output: "nothing", To: "dark locked"},
		{From: "dark locked", Input: "lock", Output: "nothing", To: "dark"},
		{From: "lit locked", Input: "press", Output: "nothing", To: "lit locked"},
		{From: "lit locked", Input: "lock", Output: "nothing", To: "lit"},
	})
	if err != nil {
		log.Fatal(err)
	}
	// Whether it is lit shows in no output, so the machine has two states, not four.
	small := lamp.Minimal()
	fmt.Println(small.StateNames())

	analysis, err := fsm.Analyse(small)
	if err != nil {
		log.Fatal(err)
	}
	suite, err := analysis.HSIMethod(0)
	if err != nil {
		log.Fatal(err)
	}
	for n := range suite.Len() {
		inputs, outputs := suite.Test(n)
		fmt.Println(strings.Join(inputs, " "), "->", strings.Join(outputs, " "))
	}

	// A lamp whose lock cannot be released:
	different, err := suite.Check(func(inputs []string) ([]string, error) {
		var outputs []string
		locked := false
		for _, input := range inputs {
			switch {
			case input == "press" && !locked:
				outputs = append(outputs, "switches")
			case input == "press":
				outputs = append(outputs, "nothing")
			default:
				locked = true
				outputs = append(outputs, "nothing")
			}
		}
		return outputs, nil
	})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(different)
	// Output:
	// [dark dark locked]
	// press press -> switches switches
	// lock press press -> nothing nothing nothing
	// lock lock press -> nothing nothing switches
	// after ["lock" "lock" "press"]: want "switches", got "nothing"
}
