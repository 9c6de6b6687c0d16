package wasm

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// The engine runs a module as machine code, out of which nothing takes a goroutine again: a module that does not return would
// stop not only its caller but, from the next garbage collection on, the whole program. The engine's own remedy leaves the
// machine code at every turn of every loop, which makes a module five times slower (BenchmarkTimeLimit). So the bench counts for
// itself: it gives each module a counter, which each turn of a loop lowers, and each call of a function where calls alone could
// go on for long. Only where the counter has run out does the module call back, for the bench to look at the clock.

// metered is a module with the counter built in.
type metered struct {
	binary []byte
	// globals are the names of exports that have been added for the module's own mutable globals.
	globals []string
	// hidden says what of the module's state lies neither in its memory nor in these globals, or "".
	hidden string
}

const (
	hostModule   = "bench"
	hostCheck    = "check" // () -> i32: how far to count until the next call, if there is to be one
	globalExport = "bench global "

	// turns is how far is counted between two looks at the clock: about a millisecond.
	turns = 200_000
	// bulkTurns is what an instruction counts that works on a range of memory or of a table, which it may do all of.
	bulkTurns = turns / 50
)

// Sections of a module.
const (
	secCustom = iota
	secType
	secImport
	secFunction
	secTable
	secMemory
	secGlobal
	secExport
	secStart
	secElement
	secCode
	secData
	secDataCount
	numSections
)

var sectionOrder = [...]byte{secType, secImport, secFunction, secTable, secMemory, secGlobal, secExport, secStart, secElement,
	secDataCount, secCode, secData}

// limits are what a module may ask for.
const (
	maxModule = 4 << 20 // bytes
	maxTable  = 1 << 16 // entries
)

// meter builds the counter into a module. It refuses modules that cannot be run here; whether a module is valid it leaves to the
// engine.
func meter(module []byte, maxPages uint32) (*metered, error) {
	if len(module) < 8 || string(module[:4]) != "\x00asm" {
		return nil, errors.New("it is no WebAssembly module: it does not begin with the bytes 00 61 73 6d")
	}
	if string(module[4:8]) != "\x01\x00\x00\x00" {
		return nil, errors.New("it is no WebAssembly module of version 1: components and other versions cannot be run")
	}
	if len(module) > maxModule {
		return nil, fmt.Errorf("it has %d bytes, and a module may have %d", len(module), maxModule)
	}
	m := &meterer{taken: map[uint32]bool{}}
	if err := m.split(module[8:]); err != nil {
		return nil, err
	}
	for _, part := range []struct {
		section string
		rewrite func(maxPages uint32) error
	}{
		{"import", m.imports}, {"table", m.tables}, {"memory", m.memories}, {"type", m.types}, {"global", m.globals},
		{"export", m.exports}, {"start", m.start}, {"element", m.elements}, {"code", m.code}, {"name", m.names},
	} {
		if err := part.rewrite(maxPages); err != nil {
			return nil, fmt.Errorf("%s section: %w", part.section, err)
		}
	}
	out := slices.Clone(module[:8])
	for _, id := range sectionOrder {
		if m.present[id] {
			out = appendSection(out, id, m.sections[id])
		}
	}
	if m.present[secCustom] {
		out = appendSection(out, secCustom, m.sections[secCustom])
	}
	m.result.binary = out
	return &m.result, nil
}

type meterer struct {
	sections [numSections][]byte
	present  [numSections]bool // of the custom ones only "name" is kept
	result   metered

	checkType   uint32          // the type () -> i32
	counter     uint32          // the global that counts; the module's own ones come before it
	ownFunction uint32          // of the module's own functions, the number of the first
	taken       map[uint32]bool // functions that are called by other means than a call by number
}

func (m *meterer) set(id byte, payload []byte) {
	m.sections[id], m.present[id] = payload, true
}

func (m *meterer) split(rest []byte) error {
	r := reader{in: rest}
	for r.more() {
		id := r.byte()
		payload := r.bytes(r.u32())
		switch {
		case r.err != nil:
			return r.err
		case id == secCustom:
			custom := reader{in: payload}
			if custom.name() == "name" && custom.err == nil {
				m.set(secCustom, payload)
			}
		case id >= numSections:
			return fmt.Errorf("a section of kind %d is of no released version of WebAssembly that can be run here", id)
		case m.present[id]:
			return fmt.Errorf("two sections of kind %d", id)
		default:
			m.set(id, payload)
		}
	}
	return nil
}

// imports refuses a module that imports anything, and gives it the one function that it needs to call back.
func (m *meterer) imports(uint32) error {
	r := reader{in: m.sections[secImport]}
	if m.present[secImport] {
		var wanted []string
		for n := r.u32(); n > 0 && r.err == nil; n-- {
			module, name := r.name(), r.name()
			wanted = append(wanted, fmt.Sprintf("%q.%q", module, name))
			switch r.byte() {
			case 0:
				r.u32()
			case 1:
				r.byte()
				r.limits()
			case 2:
				r.limits()
			case 3:
				r.byte()
				r.byte()
			default:
				r.fail(errors.New("an import of unknown kind"))
			}
		}
		if r.err != nil {
			return r.err
		}
		if len(wanted) > 0 {
			return fmt.Errorf("it imports %s, and a module for the bench can import nothing: it gets no clock, files or "+
				"console, and time passes only by 'go'; build it freestanding, without WASI", listed(wanted))
		}
	}
	m.ownFunction = 1
	return nil
}

// listed are the first few of many.
func listed(words []string) string {
	const most = 5
	if len(words) > most {
		return fmt.Sprintf("%s and %d more", strings.Join(words[:most], ", "), len(words)-most)
	}
	return strings.Join(words, ", ")
}

func (m *meterer) tables(uint32) error {
	r := reader{in: m.sections[secTable]}
	if !m.present[secTable] {
		return nil
	}
	for n := r.u32(); n > 0 && r.err == nil; n-- {
		r.byte()
		if least := r.limits(); least > maxTable {
			return fmt.Errorf("a table of %d entries; it may have %d", least, maxTable)
		}
	}
	return r.err
}

func (m *meterer) memories(maxPages uint32) error {
	r := reader{in: m.sections[secMemory]}
	if !m.present[secMemory] {
		return nil
	}
	for n := r.u32(); n > 0 && r.err == nil; n-- {
		if least := r.limits(); least > maxPages {
			return fmt.Errorf("it begins with %d pages of memory, and the limit is %d pages of 64 KiB", least, maxPages)
		}
	}
	return r.err
}

// types adds the type of the check, and writes its import, which needs the type's number.
func (m *meterer) types(uint32) error {
	count, rest, err := m.vector(secType)
	if err != nil {
		return err
	}
	m.checkType = count
	m.set(secType, append(append(appendU32(nil, count+1), rest...), 0x60, 0, 1, valI32))
	imports := appendName(appendName([]byte{1}, hostModule), hostCheck)
	m.set(secImport, appendU32(append(imports, 0), m.checkType))
	return nil
}

// vector splits the number of entries from a section, which may be missing.
func (m *meterer) vector(id byte) (count uint32, rest []byte, err error) {
	if !m.present[id] {
		return 0, nil, nil
	}
	r := reader{in: m.sections[id]}
	count = r.u32()
	return count, r.in[r.pos:], r.err
}

const (
	valI32       = 0x7f
	valV128      = 0x7b
	opEnd        = 0x0b
	opGlobalGet  = 0x23
	opGlobalSet  = 0x24
	opI32Const   = 0x41
	opI64Const   = 0x42
	opF32Const   = 0x43
	opF64Const   = 0x44
	opRefNull    = 0xd0
	opRefFunc    = 0xd2
	opLoop       = 0x03
	opBlock      = 0x02
	opIf         = 0x04
	opBr         = 0x0c
	opBrIf       = 0x0d
	opBrTable    = 0x0e
	opCall       = 0x10
	opCallVia    = 0x11
	opSelectType = 0x1c
	opLocalGet   = 0x20
	opLocalTee   = 0x22
	opTableGet   = 0x25
	opTableSet   = 0x26
	opFirstMem   = 0x28
	opLastMem    = 0x3e
	opMemorySize = 0x3f
	opMemoryGrow = 0x40
	opFirstPlain = 0x45
	opLastPlain  = 0xc4
	opRefIsNull  = 0xd1
	opPrefix     = 0xfc
)

// globals adds the counter, and exports the module's own mutable globals, which are part of its state.
func (m *meterer) globals(uint32) error {
	count, _, err := m.vector(secGlobal)
	if err != nil {
		return err
	}
	m.counter = count
	out := appendU32(nil, count+1)
	if m.present[secGlobal] {
		r := reader{in: m.sections[secGlobal]}
		r.u32()
		for i := range count {
			kind, mutable := r.byte(), r.byte()
			out = append(out, kind, mutable)
			out = m.constant(out, &r)
			if r.err != nil {
				return r.err
			}
			switch {
			case mutable == 0:
			case kind <= valV128: // references too
				m.hide("a global that changes and holds a reference or a vector")
			default:
				m.result.globals = append(m.result.globals, fmt.Sprintf("%s%d", globalExport, i))
			}
		}
		if r.more() {
			return errors.New("it is longer than its globals")
		}
	}
	out = append(out, valI32, 1, opI32Const)
	m.set(secGlobal, append(appendS32(out, turns), opEnd))
	return nil
}

func (m *meterer) hide(what string) {
	if m.result.hidden == "" {
		m.result.hidden = what
	}
}

// constant copies an expression that gives a constant.
func (m *meterer) constant(out []byte, r *reader) []byte {
	for {
		begin := r.pos
		switch op := r.byte(); op {
		case opEnd:
			return append(out, r.in[begin:r.pos]...)
		case opI32Const, opGlobalGet, opRefNull:
			r.skipLEB(5)
		case opI64Const:
			r.skipLEB(10)
		case opF32Const:
			r.bytes(4)
		case opF64Const:
			r.bytes(8)
		case opRefFunc:
			out = m.take(append(out, op), r.u32())
			continue
		default:
			r.fail(fmt.Errorf("instruction 0x%02x in a constant", op))
		}
		if r.err != nil {
			return out
		}
		out = append(out, r.in[begin:r.pos]...)
	}
}

// function appends the number that one of the module's own functions now has.
func (m *meterer) function(out []byte, n uint32) []byte { return appendU32(out, n+m.ownFunction) }

// take appends the number of a function that from now on may be called by other means than by its number.
func (m *meterer) take(out []byte, n uint32) []byte {
	m.taken[n] = true
	return m.function(out, n)
}

func (m *meterer) exports(uint32) error {
	count, _, err := m.vector(secExport)
	if err != nil {
		return err
	}
	out := appendU32(nil, count+uint32(len(m.result.globals)))
	r := reader{in: m.sections[secExport]}
	if m.present[secExport] {
		r.u32()
	}
	for range count {
		out = appendName(out, r.name())
		kind, n := r.byte(), r.u32()
		if r.err != nil {
			return r.err
		}
		out = append(out, kind)
		if kind == 0 {
			out = m.function(out, n)
		} else {
			out = appendU32(out, n)
		}
	}
	for _, name := range m.result.globals {
		var n uint32
		if _, err := fmt.Sscanf(name, globalExport+"%d", &n); err != nil {
			return err
		}
		out = appendU32(append(appendName(out, name), 3), n)
	}
	m.set(secExport, out)
	return nil
}

func (m *meterer) start(uint32) error {
	if !m.present[secStart] {
		return nil
	}
	r := reader{in: m.sections[secStart]}
	m.set(secStart, m.function(nil, r.u32()))
	return r.err
}

func (m *meterer) elements(uint32) error {
	if !m.present[secElement] {
		return nil
	}
	r := reader{in: m.sections[secElement]}
	count := r.u32()
	out := appendU32(nil, count)
	for range count {
		flags := r.u32()
		if flags > 7 {
			return fmt.Errorf("an element segment of unknown kind %d", flags)
		}
		out = appendU32(out, flags)
		passive, numbered, expressions := flags&1 != 0, flags&2 != 0, flags&4 != 0
		if !passive && numbered {
			out = appendU32(out, r.u32())
		}
		if !passive {
			out = m.constant(out, &r)
		}
		if passive || numbered {
			out = append(out, r.byte())
		}
		entries := r.u32()
		out = appendU32(out, entries)
		for ; entries > 0 && r.err == nil; entries-- {
			if expressions {
				out = m.constant(out, &r)
			} else {
				out = m.take(out, r.u32())
			}
		}
		if r.err != nil {
			return r.err
		}
	}
	m.set(secElement, out)
	return nil
}

// function is one of the module's own functions.
type function struct {
	body   []byte // as it came, but for the numbers of functions
	counts []place
	size   int // instructions
	calls  []uint32
	// callsVia says that it calls functions through a table too.
	callsVia bool

	measuring, measured bool
	counted             bool // each call of it is
	run                 int  // instructions of a call, with those of the functions that it calls and that are not counted
}

// place is where in a body counting goes.
type place struct {
	at int
	n  int32 // 0 for as much as the function's run asks for
}

const (
	// longRun is how many instructions may run uncounted, one after the other.
	longRun = 20_000
	// runPerTurn is how many instructions count as a turn, where a turn may run more.
	runPerTurn = 250
	// maxDepth is how many levels of calls are followed.
	maxDepth = 1000
	maxRun   = 1 << 30
)

func (m *meterer) code(uint32) error {
	if !m.present[secCode] {
		return nil
	}
	r := reader{in: m.sections[secCode]}
	count := r.u32()
	var functions []*function
	for i := range count {
		text := reader{in: r.bytes(r.u32())}
		if r.err != nil {
			return r.err
		}
		f := m.body(&text)
		if text.err != nil {
			return fmt.Errorf("function %d: %w", i, text.err)
		}
		functions = append(functions, f)
	}
	for i := range functions {
		m.measure(functions, uint32(i), 0)
	}
	out := appendU32(make([]byte, 0, 2*len(r.in)), count)
	for _, f := range functions {
		body := f.metered(m)
		out = append(appendU32(out, uint32(len(body))), body...)
	}
	m.set(secCode, out)
	return nil
}

// metered is the body with the counting in its places.
func (f *function) metered(m *meterer) []byte {
	var out []byte
	from := 0
	for i, c := range f.counts {
		out = append(out, f.body[from:c.at]...)
		from = c.at
		n := c.n
		if n == 0 {
			n = int32(1 + min(f.run/runPerTurn, turns))
		}
		if i > 0 || f.counted {
			out = m.count(out, n)
		}
	}
	return append(out, f.body[from:]...)
}

// measure finds a function's run, and has calls of it counted where that is needed to keep runs short: in every circle of
// functions that call each other, where a function that is called through a table calls others, and where functions call
// functions over so many levels that a few instructions become very many.
func (m *meterer) measure(functions []*function, n uint32, depth int) {
	f := functions[n]
	switch {
	case f.measured:
		return
	case f.measuring || depth > maxDepth:
		f.counted = true
		return
	}
	f.measuring = true
	f.run = f.size
	for _, callee := range f.calls {
		if callee >= uint32(len(functions)) {
			continue // the engine refuses it
		}
		m.measure(functions, callee, depth+1)
		if g := functions[callee]; !g.counted {
			f.run = min(f.run+g.run, maxRun)
		}
	}
	f.measuring, f.measured = false, true
	f.counted = f.counted || f.run > longRun || m.taken[n] && (f.callsVia || len(f.calls) > 0)
}

// body copies the body of a function, and finds the places for counting: its beginning, the head of each loop, and before each
// instruction that may take long.
func (m *meterer) body(r *reader) *function {
	for n := r.u32(); n > 0 && r.err == nil; n-- {
		r.u32()
		r.byte()
	}
	f := &function{body: slices.Clone(r.in[:r.pos]), counts: []place{{at: r.pos}}}
	copied := r.pos
	// copyTo copies what has been passed over, up to a position.
	copyTo := func(position int) {
		f.body = append(f.body, r.in[copied:position]...)
		copied = position
	}
	for r.more() {
		begin := r.pos
		f.size++
		switch op := r.byte(); {
		case op == opLoop:
			r.skipLEB(5)
			copyTo(r.pos)
			f.counts = append(f.counts, place{at: len(f.body)})
		case op == opCall:
			n := r.u32()
			copyTo(begin)
			f.body = m.function(append(f.body, op), n)
			copied = r.pos
			f.calls = append(f.calls, n)
		case op == opCallVia:
			r.u32()
			r.u32()
			f.callsVia = true
		case op == opRefFunc:
			n := r.u32()
			copyTo(begin)
			f.body = m.take(append(f.body, op), n)
			copied = r.pos
		case op == opGlobalGet || op == opGlobalSet:
			if n := r.u32(); n >= m.counter && r.err == nil {
				r.fail(fmt.Errorf("it uses global %d, and there are %d", n, m.counter))
			}
		case op == opPrefix:
			if m.prefixed(r.u32(), r) {
				copyTo(begin)
				f.counts = append(f.counts, place{at: len(f.body), n: bulkTurns})
			}
		default:
			m.plain(op, r)
		}
	}
	if r.err == nil {
		copyTo(len(r.in))
	}
	return f
}

// count appends instructions that take turns off the counter, and have the clock looked at if nothing is left.
func (m *meterer) count(out []byte, n int32) []byte {
	get := appendU32([]byte{opGlobalGet}, m.counter)
	set := appendU32([]byte{opGlobalSet}, m.counter)
	out = append(out, get...)
	out = append(appendS32(append(out, opI32Const), n), 0x6b) // i32.sub
	out = append(out, set...)
	out = append(out, get...)
	out = append(out, opI32Const, 0, 0x4c, opIf, 0x40) // i32.le_s
	out = append(out, opCall, 0)
	out = append(out, set...)
	return append(out, opEnd)
}

// plain passes over what follows an instruction that stays as it is.
func (m *meterer) plain(op byte, r *reader) {
	switch {
	case op == opBlock || op == opIf:
		r.skipLEB(5)
	case op == opBr || op == opBrIf:
		r.u32()
	case op == opBrTable:
		for n := r.u32(); n > 0 && r.err == nil; n-- {
			r.u32()
		}
		r.u32()
	case op == opSelectType:
		r.bytes(r.u32())
	case op >= opLocalGet && op <= opLocalTee, op == opTableGet:
		r.u32()
	case op == opTableSet:
		r.u32()
		m.hide("a table that it changes")
	case op >= opFirstMem && op <= opLastMem:
		r.u32()
		r.u32()
	case op == opMemorySize || op == opMemoryGrow:
		r.byte()
	case op == opI32Const:
		r.skipLEB(5)
	case op == opI64Const:
		r.skipLEB(10)
	case op == opF32Const:
		r.bytes(4)
	case op == opF64Const:
		r.bytes(8)
	case op == opRefNull:
		r.skipLEB(5)
	case op == 0x00 || op == 0x01 || op == 0x05 || op == opEnd || op == 0x0f || op == 0x1a || op == 0x1b ||
		op >= opFirstPlain && op <= opLastPlain || op == opRefIsNull:
		// unreachable, nop, else, end, return, drop, select and arithmetic have nothing behind them.
	default:
		r.fail(fmt.Errorf("instruction 0x%02x is none that can be run here: vectors, threads, exceptions and tail calls cannot; "+
			"build for the features of WebAssembly 2.0 without vectors", op))
	}
}

// prefixed passes over what follows the second number of an instruction, and reports whether it works on a range.
func (m *meterer) prefixed(sub uint32, r *reader) bool {
	switch {
	case sub <= 7: // numbers that are cut off where they do not fit
		return false
	case sub == 8 || sub == 10: // memory.init, memory.copy
		r.u32()
		r.byte()
		return true
	case sub == 11: // memory.fill
		r.byte()
		return true
	case sub == 9 || sub == 13: // data.drop, elem.drop
		r.u32()
		m.hide("a segment that it drops")
		return false
	case sub == 12 || sub == 14: // table.init, table.copy
		r.u32()
		r.u32()
		m.hide("a table that it changes")
		return true
	case sub == 16: // table.size
		r.u32()
		return false
	case sub == 17: // table.fill
		r.u32()
		m.hide("a table that it changes")
		return true
	case sub == 15:
		r.fail(errors.New("it lets a table grow (table.grow), which is not possible here"))
	default:
		r.fail(fmt.Errorf("instruction 0xfc %d is none of WebAssembly 2.0", sub))
	}
	return false
}

// names keeps the functions' names, which make a trap readable. A broken name section is no fault of the module's.
func (m *meterer) names(uint32) error {
	if !m.present[secCustom] {
		return nil
	}
	m.present[secCustom] = false
	r := reader{in: m.sections[secCustom]}
	r.name()
	for r.more() {
		kind := r.byte()
		sub := reader{in: r.bytes(r.u32())}
		if kind != 1 {
			continue
		}
		count := sub.u32()
		names := appendU32(nil, count)
		for ; count > 0 && sub.err == nil; count-- {
			names = m.function(names, sub.u32())
			names = appendName(names, sub.name())
		}
		if sub.err == nil && r.err == nil {
			m.set(secCustom, appendSection(appendName(nil, "name"), 1, names))
		}
	}
	return nil
}
