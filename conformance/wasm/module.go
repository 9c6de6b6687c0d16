package wasm

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"

	"example.org/hearthbench/conformance/wire"
)

// Options are the limits of a module. The zero value has the defaults.
type Options struct {
	// Timeout is how long the answer to a request may take, and the loading of the module. Default 5 s.
	Timeout time.Duration
	// MemoryPages is how much memory a module may have, in pages of 64 KiB. Default 256, which are 16 MiB; at most 65536.
	MemoryPages uint32
	// Text has everything asked as text, even if the module has the faster exports.
	Text bool
}

const (
	defaultTimeout = 5 * time.Second
	defaultPages   = 256
	pageSize       = 64 << 10
)

// module is a module that is ready to be instantiated.
type module struct {
	runtime  wazero.Runtime
	compiled wazero.CompiledModule
	metered  *metered
	maxBytes uint64
	fast     [numFast]bool // the faster exports that it has, and that are wanted
	scratch  bool          // it says where its scratch memory is
	watch    *watch
}

// compile makes a module ready. An error says what is wrong with it.
func compile(ctx context.Context, binary []byte, o Options, config wazero.RuntimeConfig) (_ *module, err error) {
	metered, err := meter(binary, o.MemoryPages)
	if err != nil {
		return nil, err
	}
	m := &module{metered: metered, maxBytes: uint64(o.MemoryPages) * pageSize, watch: &watch{limit: o.Timeout}}
	// Vectors are refused by the meter, which reads every instruction.
	m.runtime = wazero.NewRuntimeWithConfig(ctx, config.WithCoreFeatures(api.CoreFeaturesV2&^api.CoreFeatureSIMD))
	defer func() {
		if err != nil {
			m.close()
		}
	}()
	check := m.runtime.NewHostModuleBuilder(hostModule).NewFunctionBuilder()
	check = check.WithGoFunction(api.GoFunc(m.watch.check), nil, []api.ValueType{api.ValueTypeI32})
	if _, err := check.Export(hostCheck).Instantiate(ctx); err != nil {
		return nil, err
	}
	if m.compiled, err = m.runtime.CompileModule(ctx, metered.binary); err != nil {
		return nil, fmt.Errorf("it is not valid: %w", err)
	}
	return m, m.contract(o.Text)
}

func (m *module) close() {
	// Nothing of it is left to be lost, whatever the engine says.
	_ = m.runtime.Close(context.Background())
}

// signature is what a function takes and gives.
type signature struct {
	params  int // each an i32
	results []api.ValueType
}

var (
	none = []api.ValueType(nil)
	i32  = []api.ValueType{api.ValueTypeI32}
	i64  = []api.ValueType{api.ValueTypeI64}
)

// The exports of vectors/ADAPTER.md that every module has.
const (
	exportMemory      = "memory"
	exportReset       = "reset"
	exportRequest     = "request"
	exportRequestSize = "request_size"
	exportReply       = "reply"
	exportReplySize   = "reply_size"
	exportFeed        = "feed"
	exportEvents      = "events"
	exportEventsSize  = "events_size"
	exportScratch     = "scratch"
	exportScratchSize = "scratch_size"
)

var needed = []struct {
	name string
	signature
}{
	{exportReset, signature{0, none}},
	{exportRequest, signature{0, i32}},
	{exportRequestSize, signature{0, i32}},
	{exportReply, signature{0, i32}},
	{exportReplySize, signature{0, i32}},
	{exportFeed, signature{1, i32}},
}

var forScratch = []struct {
	name string
	signature
}{
	{exportScratch, signature{0, i32}},
	{exportScratchSize, signature{0, i32}},
}

var forEvents = []struct {
	name string
	signature
}{
	{exportEvents, signature{0, i32}},
	{exportEventsSize, signature{0, i32}},
}

// fast is one of the exports that need no text, each of which a module can do without.
type fast uint8

const (
	doNew fast = iota
	doGo
	doPower
	doMode
	doPeriod
	doOverride
	doBoost
	doClock
	doHoliday
	doHolidayCancel
	doReset
	numFast
)

var fastExports = [numFast]struct {
	name string
	signature
}{
	doNew:           {"do_new", signature{0, i32}},
	doGo:            {"do_go", signature{1, i64}},
	doPower:         {"do_power", signature{1, i32}},
	doMode:          {"do_mode", signature{2, i32}},
	doPeriod:        {"do_period", signature{5, i32}},
	doOverride:      {"do_override", signature{1, i32}},
	doBoost:         {"do_boost", signature{2, i32}},
	doClock:         {"do_clock", signature{4, i32}},
	doHoliday:       {"do_holiday", signature{1, i32}},
	doHolidayCancel: {"do_holiday_cancel", signature{0, i32}},
	doReset:         {"do_reset", signature{0, i32}},
}

// contract holds the exports against the page, and says everything that is wrong with them.
func (m *module) contract(textOnly bool) error {
	functions := m.compiled.ExportedFunctions()
	var faults []string
	fault := func(name string, want signature, optional bool) bool {
		f, ok := functions[name]
		switch {
		case !ok && !optional:
			faults = append(faults, fmt.Sprintf("function %s is missing, which has %s", name, want))
		case ok && !want.is(f):
			got := typeWords(f.ParamTypes()) + " -> " + typeWords(f.ResultTypes())
			faults = append(faults, fmt.Sprintf("function %s has %s and should have %s", name, got, want))
		}
		return ok
	}
	if _, ok := m.compiled.ExportedMemories()[exportMemory]; !ok {
		faults = append(faults, "memory 'memory' is missing")
	}
	for _, e := range needed {
		fault(e.name, e.signature, false)
	}
	hasFast := false
	for i, e := range fastExports {
		m.fast[i] = fault(e.name, e.signature, true)
		hasFast = hasFast || m.fast[i]
	}
	for _, e := range forEvents {
		fault(e.name, e.signature, !hasFast)
	}
	for _, e := range forScratch {
		_, has := functions[e.name]
		m.scratch = m.scratch || has
	}
	for _, e := range forScratch {
		fault(e.name, e.signature, !m.scratch)
	}
	if textOnly {
		clear(m.fast[:])
	}
	if len(faults) > 0 {
		return fmt.Errorf("its exports are not those that vectors/ADAPTER.md asks for: %s", strings.Join(faults, "; "))
	}
	return nil
}

func (s signature) is(f api.FunctionDefinition) bool {
	return slices.Equal(f.ParamTypes(), slices.Repeat(i32, s.params)) && slices.Equal(f.ResultTypes(), s.results)
}

func (s signature) String() string {
	return typeWords(slices.Repeat(i32, s.params)) + " -> " + typeWords(s.results)
}

func typeWords(types []api.ValueType) string {
	words := make([]string, len(types))
	for i, t := range types {
		words[i] = api.ValueTypeName(t)
	}
	return "(" + strings.Join(words, ", ") + ")"
}

// watch looks at the clock for the request under way.
type watch struct {
	limit time.Duration
	since time.Time // of the first look at the clock; zero before it
}

// begin begins a request. Most are over before there is a look at the clock, which takes longer than they do.
func (w *watch) begin() { w.since = time.Time{} }

var errTooLong = errors.New("the answer took too long")

// check is what a module calls when its counter has run out. A panic ends the call with its value for an error.
func (w *watch) check(ctx context.Context, stack []uint64) {
	now := time.Now()
	switch {
	case ctx.Err() != nil:
		panic(context.Cause(ctx))
	case w.since.IsZero():
		w.since = now
	case now.Sub(w.since) > w.limit:
		panic(errTooLong)
	}
	stack[0] = turns
}

// minBuffer is what a request or a reply line can need, with its LF.
const minBuffer = wire.MaxLine + 1
