// Package terminal makes pseudo-terminals, for tests of units on a serial port where there is none. It does so on Linux only.
package terminal
