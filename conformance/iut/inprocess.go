package iut

import (
	"context"
	"fmt"
	"runtime/debug"
	"strings"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// InProcess returns an implementation that is a Go device in this process: no text, no link. The ICS must be valid. A device
// that panics is reported as one that died; a device that hangs hangs Run.
func InProcess(name string, ics spec.ICS, newDevice func(spec.ICS) wire.Device) IUT {
	return &inProcess{name: name, ics: ics, newDevice: newDevice, observer: observer{fittedAtNew: ics.Fitted.Channels}}
}

type inProcess struct {
	name      string
	ics       spec.ICS
	newDevice func(spec.ICS) wire.Device
	observer  observer
}

func (p *inProcess) ICS() spec.ICS    { return p.ics }
func (p *inProcess) Describe() string { return p.name }
func (p *inProcess) Close() error     { return nil }

func (p *inProcess) Run(ctx context.Context, scripts []Script, done func(i int, obs *Observation)) error {
	if err := CheckScripts(scripts); err != nil {
		return err
	}
	for i, script := range scripts {
		if ctx.Err() != nil {
			return context.Cause(ctx)
		}
		if trouble := p.run(script); trouble != nil {
			p.observer.end(trouble)
		}
		done(i, &p.observer.Observation)
	}
	return nil
}

func (p *inProcess) run(script Script) (trouble *Trouble) {
	o := &p.observer
	defer func() {
		if r := recover(); r != nil {
			trouble = o.trouble(Died, fmt.Sprintf("panic: %v", r), nil)
			trouble.Ending = Ending{Status: "a panic", Stderr: strings.Split(strings.TrimSpace(string(debug.Stack())), "\n")}
		}
	}()
	var device wire.Device
	o.start()
	for i := range script {
		r := &script[i]
		o.next(r)
		var reply spec.Reply
		switch r.Kind {
		case New:
			device = p.newDevice(p.ics)
		case Do:
			reply, o.Changes = device.Do(r.Input, o.Changes)
		case Go:
			o.Changes = device.Advance(r.Seconds, o.Changes)
		}
		for j := o.begin; j < len(o.Changes); j++ {
			if kind, wrong := o.change(&o.Changes[j]); wrong != "" {
				bad := wire.AppendChange(nil, o.Changes[j])
				o.Changes = o.Changes[:j]
				return o.trouble(kind, wrong, bad)
			}
		}
		words := ""
		if reply.Outcome == spec.Refused {
			words = wire.RefusalWords(reply.Refusal)
		}
		o.answer(reply.Outcome, words)
	}
	return nil
}
