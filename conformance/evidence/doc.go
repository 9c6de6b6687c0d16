// Package evidence checks the emulator and the second model against what this project did not write: published rules, general
// libraries, and the common practice of the trade. [Checks] lists every such check with its source; the tests do the work.
//
// Nothing here takes an expected value from either model. Where a check reaches only one of them, for the second model lives through
// every second in which the interval lock is armed, the test says so.
package evidence
