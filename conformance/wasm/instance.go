package wasm

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/experimental"

	"example.org/hearthbench/conformance/iut"
)

// instance is one module in being. After an error of call it is of no further use.
type instance struct {
	module  *module
	own     api.Module
	memory  api.Memory
	linear  *linear
	globals []api.MutableGlobal

	feed  api.Function
	fast  [numFast]api.Function
	stack [5]uint64 // of the call under way: its parameters, then its result

	request, reply, events, scratch area
	holes                           []area // these four, in the order in which they lie
}

// area is a range of a module's memory.
type area struct{ at, size uint32 }

// instantiate makes an instance, which has been reset.
func (m *module) instantiate(ctx context.Context) (_ *instance, err error) {
	in := &instance{module: m, linear: &linear{limit: m.maxBytes}}
	allocator := experimental.MemoryAllocatorFunc(func(_, _ uint64) experimental.LinearMemory { return in.linear })
	// A constructor may run here, and for too long.
	m.watch.begin()
	config := wazero.NewModuleConfig().WithName("").WithStartFunctions("_initialize")
	in.own, err = m.runtime.InstantiateModule(experimental.WithMemoryAllocator(ctx, allocator), m.compiled, config)
	if err != nil {
		return nil, in.failure(ctx, "when it was loaded", err)
	}
	defer func() {
		if err != nil {
			in.close()
		}
	}()
	in.memory = in.own.ExportedMemory(exportMemory)
	for _, name := range m.metered.globals {
		in.globals = append(in.globals, in.own.ExportedGlobal(name).(api.MutableGlobal))
	}
	in.feed = in.own.ExportedFunction(exportFeed)
	if err := in.call(ctx, in.own.ExportedFunction(exportReset)); err != nil {
		return nil, err
	}
	if in.request, err = in.area(ctx, exportRequest, exportRequestSize, 1, minBuffer); err != nil {
		return nil, err
	}
	if in.reply, err = in.area(ctx, exportReply, exportReplySize, 1, minBuffer); err != nil {
		return nil, err
	}
	if slices.Contains(m.fast[:], true) {
		if in.events, err = in.area(ctx, exportEvents, exportEventsSize, eventSize, 16); err != nil {
			return nil, err
		}
	}
	if m.scratch {
		if in.scratch, err = in.area(ctx, exportScratch, exportScratchSize, 1, 0); err != nil {
			return nil, err
		}
	}
	for i, ok := range m.fast {
		if ok {
			in.fast[i] = in.own.ExportedFunction(fastExports[i].name)
		}
	}
	in.findHoles()
	return in, nil
}

func (in *instance) close() {
	// Its memory belongs to this program and cannot fail to be given back.
	_ = in.own.Close(context.Background())
}

// area asks the module where a buffer is.
func (in *instance) area(ctx context.Context, at, size string, unit, least uint32) (area, error) {
	var got [2]uint32
	for i, name := range []string{at, size} {
		if err := in.call(ctx, in.own.ExportedFunction(name)); err != nil {
			return area{}, err
		}
		got[i] = uint32(in.stack[0])
	}
	begin, count := got[0], got[1]
	if count < least {
		return area{}, &fault{kind: iut.Nonsense, detail: fmt.Sprintf("%s gives %d, and should give %d or more", size, count, least)}
	}
	if uint64(begin)+uint64(count)*uint64(unit) > uint64(in.memory.Size()) {
		return area{}, &fault{kind: iut.Nonsense, detail: fmt.Sprintf("%s gives %d and %s gives %d, which goes beyond the module's %d bytes of memory",
			at, begin, size, count, in.memory.Size())}
	}
	return area{begin, count * unit}, nil
}

// call calls a function with the parameters on the stack, and leaves its result there. An error is a [*fault] or the end of ctx.
func (in *instance) call(ctx context.Context, f api.Function) error {
	if err := f.CallWithStack(ctx, in.stack[:]); err != nil || in.linear.refused != 0 {
		return in.failure(ctx, f.Definition().ExportNames()[0], err)
	}
	return nil
}

// fault is what a module has done wrong.
type fault struct {
	kind   iut.TroubleKind
	detail string
}

func (f *fault) Error() string { return f.detail }

// failure words what ended a call, or the loading, of something.
func (in *instance) failure(ctx context.Context, what string, err error) error {
	if ctx.Err() != nil {
		return context.Cause(ctx)
	}
	text := ""
	if err != nil {
		text = err.Error()
	}
	cause, trace, _ := strings.Cut(text, "\nwasm stack trace:\n")
	if _, after, ok := strings.Cut(cause, "wasm error: "); ok {
		cause = after
	}
	switch {
	case in.linear.refused != 0:
		return &fault{kind: iut.Died, detail: fmt.Sprintf("%s: the module asked for %d KiB of memory, and the limit is %d KiB",
			what, in.linear.refused>>10, in.linear.limit>>10)}
	case errors.Is(err, errTooLong):
		return &fault{kind: iut.Hung, detail: fmt.Sprintf("%s: no answer within %v%s", what, in.module.watch.limit, callers(trace))}
	default:
		return &fault{kind: iut.Died, detail: fmt.Sprintf("%s: it trapped: %s%s", what, cause, callers(trace))}
	}
}

// callers is the innermost of a stack trace, for a message.
func callers(trace string) string {
	var names []string
	for line := range strings.Lines(trace) {
		name, _, ok := strings.Cut(strings.TrimSpace(line), "(")
		name = strings.TrimPrefix(name, ".")
		if ok && name != "" && name != hostModule+"."+hostCheck {
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return ""
	}
	return ", in " + strings.Join(names[:min(len(names), 4)], ", called by ")
}

// linear is a module's memory, of which it cannot have more than the limit.
type linear struct {
	bytes   []byte
	limit   uint64
	refused uint64 // how much it asked for in vain
}

func (l *linear) Reallocate(size uint64) []byte {
	if size > l.limit {
		l.refused = max(l.refused, size)
		return nil
	}
	if size > uint64(cap(l.bytes)) || l.bytes == nil {
		l.bytes = append(make([]byte, 0, size), l.bytes...)
	}
	l.bytes = l.bytes[:size]
	return l.bytes
}

func (l *linear) Free() { l.bytes = nil }
