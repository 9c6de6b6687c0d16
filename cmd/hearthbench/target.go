package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/link"
	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/sample"
	"example.org/hearthbench/conformance/wasm"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// targetHelp says how a verb's --iut is worded.
const targetHelp = `implementation under test: 'exec:COMMAND' starts a child that speaks the adapter protocol,
'serial:PATH@BAUD' is a board on a serial port (8N1, 115200 if no BAUD is given), 'tcp:HOST:PORT' is one on the network;
either may end with ',ahead=N' requests to be sent ahead of their answers (serial 1, tcp 4096),
'wasm:FILE' is firmware built as a WebAssembly module, 'sample' is the sample firmware as one, which this program carries,
'emulator' or 'emulator:OPTION=VALUE,…' is this program's own`

// openTarget opens the implementation that --iut names.
func openTarget(ctx context.Context, target string, timeout time.Duration, stderr io.Writer) (iut.IUT, error) {
	if dialer, options, ok, err := dialTarget(target, stderr); err != nil {
		return nil, err
	} else if ok {
		options.Timeout = timeout
		return iut.Open(ctx, dialer, options)
	}
	kind, rest, _ := strings.Cut(target, ":")
	switch kind {
	case "emulator":
		ics, err := emulatorICS(rest)
		if err != nil {
			return nil, fmt.Errorf("--iut %s: %w", target, err)
		}
		return iut.InProcess(target, ics, func(ics spec.ICS) wire.Device { return oracle.Emulator(ics) }), nil
	case "sample":
		if rest != "" {
			return nil, fmt.Errorf("--iut %s: 'sample' has no options; another build is 'wasm:FILE'", target)
		}
		return wasm.Open(ctx, target, sample.Module, wasm.Options{Timeout: timeout})
	case "wasm":
		if rest == "" {
			return nil, errors.New("--iut wasm: names no file; write --iut wasm:unit.wasm")
		}
		module, err := os.ReadFile(rest)
		if err != nil {
			return nil, fmt.Errorf("--iut %s: %w", target, err)
		}
		return wasm.Open(ctx, target, module, wasm.Options{Timeout: timeout})
	case "":
		return nil, errors.New("--iut is needed: 'exec:COMMAND', 'serial:PATH@BAUD', 'tcp:HOST:PORT', 'wasm:FILE', 'sample' or 'emulator'")
	default:
		return nil, fmt.Errorf("--iut %s: '%s' is no kind of implementation; it is 'exec:COMMAND', 'serial:PATH@BAUD', 'tcp:HOST:PORT', 'wasm:FILE', 'sample', 'emulator' or 'emulator:OPTION=VALUE,…'", target, kind)
	}
}

// dialTarget returns what opens links to the implementation that --iut names, and the options for them; ok is false if it is spoken to
// over none.
func dialTarget(target string, stderr io.Writer) (dialer iut.Dialer, options iut.Options, ok bool, err error) {
	kind, rest, _ := strings.Cut(target, ":")
	switch kind {
	case "exec":
		if strings.TrimSpace(rest) == "" {
			return nil, options, false, errors.New("--iut exec: names no command; write --iut 'exec:./unit'")
		}
		dialer, err = iut.Exec(rest, stderr)
	case "serial":
		dialer, options, err = link.Serial(rest)
	case "tcp":
		dialer, options, err = link.TCP(rest)
	default:
		return nil, options, false, nil
	}
	if err != nil {
		return nil, options, false, fmt.Errorf("--iut %s: %w", target, err)
	}
	return dialer, options, true, nil
}

// emulatorICS is a full unit with some options changed. One value of an option at the back is the one fitted.
func emulatorICS(changes string) (spec.ICS, error) {
	ics := spec.FullICS()
	if changes == "" {
		return ics, nil
	}
	for _, change := range strings.Split(changes, ",") {
		name, value, ok := strings.Cut(change, "=")
		if !ok {
			return ics, fmt.Errorf("'%s' is not OPTION=VALUE", change)
		}
		if o, err := wire.ParseFitOption(name); err == nil {
			v, err := wire.ParseFitValue(o, value)
			if err != nil {
				return ics, err
			}
			ics.Fitted, _ = ics.Fit(ics.Fitted, o, v)
			continue
		}
		if err := wire.SetOption(&ics, name, value); err != nil {
			return ics, err
		}
	}
	return ics, ics.Validate()
}
