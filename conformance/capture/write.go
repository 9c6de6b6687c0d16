package capture

import (
	"io"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/scenario"
	"example.org/hearthbench/conformance/vcd"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// The signals of a trace's file. The alert is recorded bit by bit, and the inputs as a real, since simple readers stop at a vector, and
// all others show the two bits as one register and the real as its number.
const (
	fileHW = iota
	fileCH
	fileAlertHigh
	fileAlertLow
	fileSounder
	fileInputs
)

// WriteTrace writes a trace as a VCD file with a tick of a second, from the scenario's start to its end: relays and sounder as wires, the
// alert as a register of two bits (0 none, 1 counting, 2 notice, 3 restricted), and the number of the input done last.
func WriteTrace(out io.Writer, t *scenario.Trace) error {
	s := t.Scenario
	scope := []string{"unit"}
	one := func(kind, name, index string, signal int) vcd.Var {
		return vcd.Var{Scope: scope, Kind: kind, Width: 1, Name: name, Index: index, Signal: signal}
	}
	alert := wire.SignalWord(spec.SigAlert)
	h := &vcd.Header{
		Date: s.At(0).Format("2006-01-02T15:04:05-07:00"), Version: "Hearthbench",
		Comments: []string{words(s.Title), "alert: 0 none, 1 counting, 2 notice, 3 restricted; inputs: the number of the last step done"},
		Vars: []vcd.Var{
			one("wire", wire.SignalWord(spec.SigHW), "", fileHW), one("wire", wire.SignalWord(spec.SigCH), "", fileCH),
			one("reg", alert, "[1]", fileAlertHigh), one("reg", alert, "[0]", fileAlertLow),
			one("wire", wire.SignalWord(spec.SigSounder), "", fileSounder),
			{Scope: scope, Kind: "real", Width: 64, Name: "inputs", Signal: fileInputs},
		},
	}
	w, err := vcd.NewWriter(out, h)
	if err != nil {
		return err
	}
	level := func(sig spec.Signal, level spec.Level) {
		bit := func(signal int, set bool) { w.Change(signal, map[bool]string{false: "0", true: "1"}[set]) }
		switch sig {
		case spec.SigAlert:
			bit(fileAlertHigh, level&2 != 0)
			bit(fileAlertLow, level&1 != 0)
		case spec.SigSounder:
			bit(fileSounder, level != 0)
		default:
			bit(int(sig), level != 0)
		}
	}
	w.At(0)
	w.Begin(vcd.Vars)
	for sig, l := range t.Initial {
		level(spec.Signal(sig), l)
	}
	w.Real(fileInputs, 0)
	w.End()
	for i := range t.Entries {
		e := &t.Entries[i]
		w.At(e.At)
		if e.Input != nil {
			w.Real(fileInputs, float64(e.Input.Number))
		} else {
			level(e.Change.Signal, e.Change.Level)
		}
	}
	w.At(s.Until)
	return w.Flush()
}

// words makes a title fit for a section of the file.
func words(title string) string {
	all := strings.FieldsFunc(title, func(r rune) bool { return r <= ' ' || r == 0x7f })
	return strings.Join(slices.DeleteFunc(all, func(word string) bool { return word == "$end" }), " ")
}
