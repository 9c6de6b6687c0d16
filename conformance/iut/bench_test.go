package iut

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"example.org/hearthbench/conformance/testtool"
	"example.org/hearthbench/emulator/spec"
)

// BenchmarkRequests measures requests a second, end to end, against a trivial child in C: with requests sent ahead, and with
// one at a time as the baseline.
func BenchmarkRequests(b *testing.B) {
	gcc := testtool.Need(b, "gcc", "gcc")
	program := filepath.Join(b.TempDir(), "echo")
	if out, err := exec.Command(gcc, "-O2", "-Wall", "-Wextra", "-Werror", "-o", program, "testdata/echo.c").CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	scripts, requests := benchScripts(400, 50)
	for _, bench := range []struct {
		name    string
		options Options
	}{
		{"pipelined", Options{}},
		{"lock-step", Options{Ahead: 1}},
	} {
		b.Run(bench.name, func(b *testing.B) {
			dialer, err := Exec("'"+program+"'", os.Stderr)
			if err != nil {
				b.Fatal(err)
			}
			u, err := Open(b.Context(), dialer, bench.options)
			if err != nil {
				b.Fatal(err)
			}
			defer u.Close()
			b.ReportAllocs()
			for b.Loop() {
				err := u.Run(b.Context(), scripts, func(i int, obs *Observation) {
					if obs.Trouble != nil || len(obs.Answers) != len(scripts[i]) {
						b.Fatalf("script %d: %d answers, trouble %v", i, len(obs.Answers), obs.Trouble)
					}
				})
				if err != nil {
					b.Fatal(err)
				}
			}
			perRequest := float64(b.Elapsed().Nanoseconds()) / float64(requests*b.N)
			b.ReportMetric(perRequest, "ns/request")
			b.ReportMetric(1e9/perRequest, "requests/s")
		})
	}
}

// benchScripts makes scripts of inputs of every common kind, and counts their requests.
func benchScripts(scripts, length int) ([]Script, int) {
	var all []Script
	for range scripts {
		script := Script{{}, input(spec.Input{Kind: spec.PowerOn}),
			input(spec.Input{Kind: spec.SetClock, Date: spec.Date{Year: 2026, Month: 1, Day: 14}, Minute: 360})}
		for i := len(script); i < length; i++ {
			switch i % 5 {
			case 0:
				script = append(script, input(spec.Input{Kind: spec.SetPeriod, Table: spec.CHTable, Day: spec.Mon, Slot: 1,
					Period: spec.Period{On: 390, Off: 540}}))
			case 1:
				script = append(script, input(spec.Input{Kind: spec.Override, Channel: spec.CH}))
			case 2:
				script = append(script, input(spec.Input{Kind: spec.Boost, Channel: spec.HW, Amount: 60}))
			default:
				script = append(script, pass(uint64(60*i)))
			}
		}
		all = append(all, script)
	}
	return all, scripts * length
}
