package rapidtest_test

import (
	"fmt"
	"runtime"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/faults"
	"example.org/hearthbench/conformance/rapidtest"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// The second model has been written from the clauses alone, and no step sets it apart.
func TestSecondModel(t *testing.T) {
	rapidtest.Check(t, spec.FullICS(), newProgrammer)
}

// A device that makes a common mistake fails, and the failure tells the steps and what should have been, with the clause if one has
// brought it about.
func TestFaultIsFound(t *testing.T) {
	change := "by [A-Z]{3}-[0-9]+\n|nothing has been done by which [a-z]+ changes"
	for _, c := range []struct{ fault, says string }{
		{"BST/waits-for-the-minute", change},
		{"HOL/none-cancels", "it should be refused"},
		{"TAB/off-minute-is-on", change},
	} {
		t.Run(c.fault, func(t *testing.T) {
			t.Chdir(t.TempDir()) // where rapid leaves what failed
			text := failure(func(t *recorder) {
				for _, f := range faults.Catalogue() {
					if f.ID == c.fault {
						rapidtest.Check(t, f.ICS(), func(ics spec.ICS) wire.Device { return f.Unit(ics) })
					}
				}
			})
			require.Regexp(t, c.says, text)
			require.Contains(t, text, "@0 power on")
		})
	}
}

func TestStatementThatIsNotValid(t *testing.T) {
	text := failure(func(t *recorder) { rapidtest.Check(t, spec.ICS{}, newProgrammer) })
	require.True(t, strings.HasPrefix(text, "the conformance statement is not valid: ICS option channels"), text)
}

// recorder is a test that keeps what it is told.
type recorder struct {
	testing.TB
	mutex sync.Mutex
	text  strings.Builder
	ended bool
}

// failure returns what a test that should fail has told.
func failure(test func(*recorder)) string {
	r := &recorder{}
	done := make(chan struct{})
	go func() { // FailNow ends the goroutine
		defer close(done)
		test(r)
	}()
	<-done
	if !r.ended {
		return "did not fail"
	}
	return r.text.String()
}

func (r *recorder) add(text string) {
	r.mutex.Lock()
	defer r.mutex.Unlock()
	r.text.WriteString(text)
	r.text.WriteByte('\n')
}

func (r *recorder) Helper()                         {}
func (r *recorder) Name() string                    { return "recorder" }
func (r *recorder) Logf(format string, args ...any) { r.add(fmt.Sprintf(format, args...)) }
func (r *recorder) Log(args ...any)                 { r.add(fmt.Sprint(args...)) }
func (r *recorder) Errorf(format string, args ...any) {
	r.add(fmt.Sprintf(format, args...))
	r.ended = true
}
func (r *recorder) Error(args ...any)                 { r.add(fmt.Sprint(args...)); r.ended = true }
func (r *recorder) Fatalf(format string, args ...any) { r.Errorf(format, args...); runtime.Goexit() }
func (r *recorder) Fatal(args ...any)                 { r.Error(args...); runtime.Goexit() }
func (r *recorder) FailNow()                          { r.ended = true; runtime.Goexit() }
func (r *recorder) Fail()                             { r.ended = true }
func (r *recorder) Failed() bool                      { return r.ended }
