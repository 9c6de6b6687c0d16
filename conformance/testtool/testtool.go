// Package testtool finds the programs that fuller tests need. On a user's machine a test whose program is missing skips and says
// what to install; with CI=true it fails, so that no run is green for want of a tool.
package testtool

import (
	"os"
	"os/exec"
	"testing"
)

// Need returns the path of a program. Install says how to get it, as the name of a Debian package.
func Need(tb testing.TB, program, install string) string {
	tb.Helper()
	path, err := exec.LookPath(program)
	if err == nil {
		return path
	}
	if os.Getenv("CI") == "true" {
		tb.Fatalf("%s is missing: install the Debian package %s", program, install)
	}
	tb.Skipf("%s is missing, so this is not tested: install the Debian package %s", program, install)
	return ""
}
