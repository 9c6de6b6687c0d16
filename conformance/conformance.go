// Package conformance is the shortest way in for a unit that is written in Go: [Test] puts the published vectors to it in a test of
// its own package.
package conformance

import (
	"strings"
	"testing"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/report"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

// Test puts every published vector to devices that newDevice makes, one for each vector, as it left the factory, for the conformance
// statement. Each vector is a subtest by its id, so that
//
//	go test -run 'TestUnit/OVR-2/'
//
// keeps to those of a clause. One that does not pass is told as 'hearthbench check' tells it, within the statement's tolerances as
// there. One that the statement does not call for is skipped and says what it needs; that is no pass.
//
// A device that panics fails the vector, and the next one gets a fresh device. A statement that is not valid ends the test.
func Test(t *testing.T, ics spec.ICS, newDevice func(spec.ICS) wire.Device) {
	t.Helper()
	if err := ics.Validate(); err != nil {
		t.Fatalf("the conformance statement is not valid:\n%v", err)
	}
	set, err := suite.Load(vectors.Files)
	if err != nil {
		t.Fatal(err)
	}
	unit := iut.InProcess(t.Name(), ics, newDevice)
	for _, v := range set.Vectors {
		t.Run(v.ID, func(t *testing.T) {
			t.Helper()
			if err := runner.Run(t.Context(), unit, []*suite.Vector{v}, func(r *runner.Result) { tell(t, set.Page, r) }); err != nil {
				t.Fatal(err)
			}
		})
	}
}

// tell makes the test what the verdict is.
func tell(t *testing.T, page *suite.Page, r *runner.Result) {
	t.Helper()
	switch r.Verdict {
	case runner.Pass:
	case runner.NotApplicable:
		t.Skipf("not applicable: %s", r.Why)
	default:
		var text strings.Builder
		report.Failure(&text, page, r)
		t.Errorf("\n%s", text.String())
	}
}
