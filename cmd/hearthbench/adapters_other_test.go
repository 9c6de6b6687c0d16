//go:build !linux

package main

import "testing"

var onPort func(tb testing.TB, program string) (path string)
