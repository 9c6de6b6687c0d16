package wasm

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"

	"github.com/tetratelabs/wazero"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Unit is a WebAssembly module as an implementation under test.
type Unit struct {
	name   string
	module *module
	ics    spec.ICS
	reader *iut.Reader
	in     *instance // nil after trouble

	// inRow is how many of the last scripts had trouble that ended their instance.
	inRow int

	again func(context.Context) (*Unit, error)

	// What has come of the reply to the request under way and is not yet used is out[pos:].
	out    []byte
	pos    int
	length uint64 // of the request, until it has been fed
	ctx    context.Context
	err    error // of a call, for what is not the module's fault
}

var _ iut.IUT = (*Unit)(nil)

// maxTroublesInRow is how many scripts in a row may have trouble before the rest are not tried.
const maxTroublesInRow = 3

// Open makes a module ready for test. The name is for messages. An error is an [*iut.OpenError], which says what is wrong with
// the module, or the end of ctx.
//
// Run puts all scripts to one instance, as to any unit, until there is trouble, and goes on with a fresh one. After three scripts in
// a row with trouble it reports those that remain as untried.
func Open(ctx context.Context, name string, binary []byte, options Options) (*Unit, error) {
	// What is compiled is kept for as long as there is a unit that can be opened again.
	return open(ctx, name, binary, options, wazero.NewRuntimeConfig().WithCompilationCache(wazero.NewCompilationCache()))
}

// OpenAgain is [Open] once more, with the same module, name and options, for a unit of its own that may be put to test while u is. It saves
// compiling the module, which is most of the work. u may have been closed.
func (u *Unit) OpenAgain(ctx context.Context) (*Unit, error) { return u.again(ctx) }

func open(ctx context.Context, name string, binary []byte, options Options, config wazero.RuntimeConfig) (*Unit, error) {
	if options.Timeout <= 0 {
		options.Timeout = defaultTimeout
	}
	if options.MemoryPages == 0 {
		options.MemoryPages = defaultPages
	}
	options.MemoryPages = min(options.MemoryPages, 1<<16)
	m, err := compile(ctx, binary, options, config)
	if err != nil {
		return nil, &iut.OpenError{IUT: name, Err: err}
	}
	u := &Unit{name: name, module: m}
	u.again = func(ctx context.Context) (*Unit, error) { return open(ctx, name, binary, options, config) }
	if err := u.introduce(ctx); err != nil {
		m.close()
		return nil, err
	}
	return u, nil
}

// introduce makes the first instance and asks for its conformance statement.
func (u *Unit) introduce(ctx context.Context) error {
	in, err := u.module.instantiate(ctx)
	if ctx.Err() != nil {
		return context.Cause(ctx)
	}
	if err != nil {
		return &iut.OpenError{IUT: u.name, Err: err}
	}
	u.in = in
	u.module.watch.begin()
	u.word(ctx, append([]byte(wire.Hello), '\n'))
	ics, trouble, err := iut.ReadStatement(u)
	switch {
	case u.err != nil:
		return u.err
	case trouble != nil:
		return &iut.OpenError{IUT: u.name, Err: trouble, Trouble: trouble}
	case err != nil:
		return &iut.OpenError{IUT: u.name, Err: err}
	case len(u.rest()) > 0:
		return &iut.OpenError{IUT: u.name, Err: fmt.Errorf("after the answer to '%s' came %q", wire.Hello, u.rest())}
	}
	u.ics = ics
	u.reader = iut.NewReader(&ics)
	return nil
}

// ICS returns the module's conformance statement.
func (u *Unit) ICS() spec.ICS { return u.ics }

// Describe returns the name that Open was given.
func (u *Unit) Describe() string { return u.name }

// Close ends the module. It returns no error.
func (u *Unit) Close() error {
	u.in = nil
	u.module.close()
	return nil
}

// Run runs scripts, as [iut.IUT] says.
func (u *Unit) Run(ctx context.Context, scripts []iut.Script, done func(i int, obs *iut.Observation)) error {
	if err := iut.CheckScripts(scripts); err != nil {
		return err
	}
	for i, script := range scripts {
		obs, err := u.observe(ctx, script)
		if err != nil {
			return err
		}
		done(i, obs)
		if trouble := obs.Trouble; trouble == nil || trouble.Kind == iut.ErrorReply {
			u.inRow = 0
		} else if u.inRow++; u.inRow == maxTroublesInRow {
			u.inRow = 0
			untried := *trouble
			untried.Untried = true
			for j := i + 1; j < len(scripts); j++ {
				done(j, &iut.Observation{Trouble: &untried})
			}
			return nil
		}
	}
	return nil
}

// Ask puts requests to the unit as the last ones have left it, or, if the first is New, to any. The observation is of these
// requests alone, and valid until the next call of a method. After trouble, and before anything else, the first must be New.
//
// An error is requests that break the rules, before any is put, or the end of ctx, which leaves the unit as trouble does.
func (u *Unit) Ask(ctx context.Context, requests []iut.Request) (*iut.Observation, error) {
	if len(requests) == 0 {
		u.reader.Start()
		return u.reader.Observation(), nil
	}
	if requests[0].Kind != iut.New && u.in == nil {
		return nil, errors.New("after trouble the first request must be new")
	}
	if err := iut.CheckRequests(requests); err != nil {
		return nil, err
	}
	return u.observe(ctx, requests)
}

// Expect puts a request to the unit as [Unit.Ask] does, in an elapsed second, and reports whether the answer is this outcome with these changes.
// It looks at nothing else, and so takes less time, for one who knows the answer. A request that the unit takes as text only is not put. Where one
// is put and not answered so, the unit may be in any state, or in none as after trouble. What the bench knows of the unit stays what it was, for
// [Unit.SetStanding] to set before anything is asked. An error is the end of ctx.
func (u *Unit) Expect(ctx context.Context, r *iut.Request, at uint64, outcome spec.Outcome, changes []spec.Change) (put, so bool, err error) {
	if u.in == nil {
		return false, false, nil
	}
	f, ok := u.fast(r)
	if !ok {
		return false, false, nil
	}
	u.module.watch.begin()
	in := u.in
	for left := r.Seconds; ; {
		if f == doGo {
			in.stack[0] = left
		}
		if err := in.call(ctx, in.fast[f]); err != nil {
			u.drop()
			if ctx.Err() != nil {
				return true, false, context.Cause(ctx)
			}
			return true, false, nil
		}
		is, n, passed := in.answer(f)
		if is != outcome || !canPass(passed, left) || !in.told(n, at, changes) {
			return true, false, nil
		}
		changes = changes[n:]
		if at, left = at+passed, left-passed; left == 0 {
			return true, len(changes) == 0, nil
		}
	}
}

// told reports whether a call's n events, whose seconds count from begin, are the first of these changes.
func (in *instance) told(n uint32, begin uint64, changes []spec.Change) bool {
	if uint64(n) > uint64(len(changes)) || uint64(n)*eventSize > uint64(in.events.size) {
		return false
	}
	events := in.linear.bytes[in.events.at:]
	for i := range changes[:n] {
		c := &changes[i]
		second := c.At - begin
		if second>>32 != 0 || binary.LittleEndian.Uint64(events[i*eventSize:]) != second|uint64(c.Signal)<<32|uint64(c.Level)<<40 {
			return false
		}
	}
	return true
}

func (u *Unit) observe(ctx context.Context, requests []iut.Request) (*iut.Observation, error) {
	if ctx.Err() != nil {
		return nil, context.Cause(ctx)
	}
	trouble := u.put(ctx, requests)
	if trouble != nil || u.err != nil {
		u.drop()
	}
	if err := u.err; err != nil {
		u.err = nil
		return nil, err
	}
	return u.reader.Observation(), nil
}

// drop lets go of an instance that is of no further use.
func (u *Unit) drop() {
	if u.in != nil {
		u.in.close()
		u.in = nil
	}
}

// put puts requests to the unit until there is trouble, which it returns, or an error, which is in u.err.
func (u *Unit) put(ctx context.Context, requests []iut.Request) *iut.Trouble {
	u.reader.Start()
	if u.in == nil {
		u.out, u.pos = u.out[:0], 0
		in, err := u.module.instantiate(ctx)
		if err != nil {
			u.reader.Next(&requests[0])
			return u.failed(ctx, err)
		}
		u.in = in
	}
	for i := range requests {
		r := &requests[i]
		u.reader.Next(r)
		u.module.watch.begin()
		var trouble *iut.Trouble
		if f, ok := u.fast(r); ok {
			trouble = u.direct(ctx, f, r)
		} else {
			request := append(r.Append(u.out[:0]), '\n')
			if len(request) > minBuffer {
				u.err = fmt.Errorf("request %d is longer than %d bytes: %q", i, wire.MaxLine, request)
				return nil
			}
			u.word(ctx, request)
			trouble = u.reader.Text(u)
			if trouble == nil && len(u.rest()) > 0 {
				trouble = u.reader.Fail(iut.Nonsense, "more than one answer", u.rest())
			}
		}
		if trouble != nil || u.err != nil {
			return trouble
		}
	}
	return nil
}

// failed makes a trouble of a fault, or keeps an error that is none.
func (u *Unit) failed(ctx context.Context, err error) *iut.Trouble {
	var f *fault
	if !errors.As(err, &f) {
		u.err = err
		if ctx.Err() != nil {
			u.err = context.Cause(ctx)
		}
		return nil
	}
	return u.reader.Fail(f.kind, f.detail, nil)
}

// word begins a request that is text.
func (u *Unit) word(ctx context.Context, request []byte) {
	copy(u.in.linear.bytes[u.in.request.at:], request)
	u.length = uint64(len(request))
	u.out, u.pos = request[:0], 0
	u.ctx = ctx
}

func (u *Unit) rest() []byte { return u.out[u.pos:] }

const (
	tooLong    = "a line of more than 120 bytes"
	unanswered = "feed(0) has nothing more of the answer, which has no closing line"
)

// Line returns the next line of the answer to a request that is text.
func (u *Unit) Line() ([]byte, *iut.Failure) {
	searched := 0
	for {
		rest := u.rest()
		if i := bytes.IndexByte(rest[searched:], '\n'); i >= 0 {
			line := bytes.TrimSuffix(rest[:searched+i], []byte{'\r'})
			if len(line) > wire.MaxLine {
				return nil, &iut.Failure{Kind: iut.Nonsense, Detail: tooLong, Rest: line}
			}
			u.pos += searched + i + 1
			return line, nil
		}
		if len(rest) > wire.MaxLine+1 {
			return nil, &iut.Failure{Kind: iut.Nonsense, Detail: tooLong, Rest: rest}
		}
		searched = len(rest)
		if f := u.pump(); f != nil {
			return nil, f
		}
	}
}

// pump gets more of the answer.
func (u *Unit) pump() *iut.Failure {
	in := u.in
	first := u.length != 0
	in.stack[0] = u.length
	u.length = 0
	if err := in.call(u.ctx, in.feed); err != nil {
		var f *fault
		if !errors.As(err, &f) {
			u.err = context.Cause(u.ctx)
			return &iut.Failure{Kind: iut.Died, Detail: err.Error()}
		}
		return &iut.Failure{Kind: f.kind, Detail: f.detail, Rest: u.rest()}
	}
	n := uint32(in.stack[0])
	if n > in.reply.size {
		return &iut.Failure{Kind: iut.Nonsense, Detail: fmt.Sprintf("feed says that it has replied with %d bytes, and the buffer has %d", n, in.reply.size), Rest: u.rest()}
	}
	if n == 0 && !first {
		return &iut.Failure{Kind: iut.Nonsense, Detail: unanswered, Rest: u.rest()}
	}
	u.out = append(u.out[:copy(u.out, u.rest())], in.linear.bytes[in.reply.at:in.reply.at+n]...)
	u.pos = 0
	return nil
}

// fast finds the function that needs no text, and puts the request's parameters on the stack.
func (u *Unit) fast(r *iut.Request) (fast, bool) {
	s := &u.in.stack
	var f fast
	switch r.Kind {
	case iut.New:
		f = doNew
	case iut.Go:
		f = doGo
	default:
		switch in := &r.Input; in.Kind {
		case spec.PowerOff:
			f, s[0] = doPower, 0
		case spec.PowerOn:
			f, s[0] = doPower, 1
		case spec.SetClock:
			f, s[0], s[1], s[2], s[3] = doClock, uint64(in.Date.Year), uint64(in.Date.Month), uint64(in.Date.Day), uint64(in.Minute)
		case spec.SetMode:
			f, s[0], s[1] = doMode, uint64(in.Channel), uint64(in.Mode)
		case spec.SetPeriod:
			f, s[0], s[1], s[2] = doPeriod, uint64(in.Table), uint64(in.Day), uint64(in.Slot)
			s[3], s[4] = uint64(in.Period.On), uint64(in.Period.Off)
		case spec.Override:
			f, s[0] = doOverride, uint64(in.Channel)
		case spec.Boost:
			f, s[0], s[1] = doBoost, uint64(in.Channel), uint64(in.Amount)
		case spec.Holiday:
			f, s[0] = doHoliday, uint64(in.Amount)
		case spec.HolidayCancel:
			f = doHolidayCancel
		case spec.Reset:
			f = doReset
		default:
			return 0, false
		}
	}
	return f, u.in.fast[f] != nil
}

// direct puts a request to the unit with the function for it, whose parameters are on the stack.
func (u *Unit) direct(ctx context.Context, f fast, r *iut.Request) *iut.Trouble {
	in := u.in
	if f != doGo {
		if err := in.call(ctx, in.fast[f]); err != nil {
			return u.failed(ctx, err)
		}
		outcome, n, _ := in.answer(f)
		if outcome > spec.Unsupported {
			return u.reader.Fail(iut.Nonsense, fmt.Sprintf("%s gives outcome %d; it is 0 for accepted, 1 for refused and 2 for unsupported",
				fastExports[f].name, outcome), nil)
		}
		if trouble := u.take(f, n, u.reader.Elapsed()); trouble != nil {
			return trouble
		}
		return u.reader.Answer(outcome, "")
	}
	begin, left := u.reader.Elapsed(), r.Seconds
	for {
		in.stack[0] = left
		if err := in.call(ctx, in.fast[doGo]); err != nil {
			return u.failed(ctx, err)
		}
		_, n, passed := in.answer(f)
		if !canPass(passed, left) {
			return u.reader.Fail(iut.Nonsense, fmt.Sprintf("do_go(%d) says that %d seconds have passed; it can stop early, but not before the first",
				left, passed), nil)
		}
		if trouble := u.take(f, n, begin); trouble != nil {
			return trouble
		}
		begin, left = begin+passed, left-passed
		if left == 0 {
			return u.reader.Answer(spec.Accepted, "")
		}
	}
}

// answer is what a call has left on the stack: the outcome, how many events there are, and how many seconds have passed.
func (in *instance) answer(f fast) (outcome spec.Outcome, events uint32, passed uint64) {
	if f == doGo {
		return spec.Accepted, uint32(in.stack[0] >> 32), in.stack[0] & 0xffffffff
	}
	return spec.Outcome(in.stack[0] & 0xff), uint32(in.stack[0]) >> 8, 0
}

// canPass reports whether a call may say that so many of the seconds that are left have passed: it can stop early, but not before the first.
func canPass(passed, left uint64) bool { return passed <= left && (passed > 0 || left == 0) }

const eventSize = 8

// take takes the events of a call, whose seconds count from begin.
func (u *Unit) take(f fast, n uint32, begin uint64) *iut.Trouble {
	if n == 0 {
		return nil
	}
	in := u.in
	if uint64(n)*eventSize > uint64(in.events.size) {
		return u.reader.Fail(iut.Nonsense, fmt.Sprintf("%s gives %d events, and the buffer has room for %d",
			fastExports[f].name, n, in.events.size/eventSize), nil)
	}
	events := in.linear.bytes[in.events.at:]
	for i := range n {
		e := events[i*eventSize:][:eventSize]
		signal, level := spec.Signal(e[4]), spec.Level(e[5])
		top := spec.Level(1)
		if signal == spec.SigAlert {
			top = spec.Level(spec.Restricted)
		}
		if signal >= spec.NumSignals || level > top || e[6] != 0 || e[7] != 0 {
			return u.reader.Fail(iut.Nonsense, fmt.Sprintf("event %d of %s is no event: a u32 second, a byte signal 0 to %d, a byte level, two bytes 0",
				i+1, fastExports[f].name, spec.NumSignals-1), e)
		}
		change := spec.Change{At: begin + uint64(binary.LittleEndian.Uint32(e)), Signal: signal, Level: level}
		if trouble := u.reader.Change(change); trouble != nil {
			return trouble
		}
	}
	return nil
}
