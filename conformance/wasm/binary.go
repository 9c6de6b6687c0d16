package wasm

import "errors"

// reader reads the binary format of the WebAssembly core specification. After an error all that it reads is zero.
type reader struct {
	in  []byte
	pos int
	err error
}

var errCut = errors.New("the module ends in the middle")

func (r *reader) fail(err error) {
	if r.err == nil {
		r.err = err
	}
	r.pos = len(r.in)
}

func (r *reader) more() bool { return r.err == nil && r.pos < len(r.in) }

func (r *reader) byte() byte {
	if r.pos >= len(r.in) {
		r.fail(errCut)
		return 0
	}
	b := r.in[r.pos]
	r.pos++
	return b
}

func (r *reader) bytes(n uint32) []byte {
	if uint64(n) > uint64(len(r.in)-r.pos) {
		r.fail(errCut)
		return nil
	}
	b := r.in[r.pos : r.pos+int(n)]
	r.pos += int(n)
	return b
}

// u32 reads an unsigned number in LEB128.
func (r *reader) u32() uint32 {
	var n uint64
	for shift := uint(0); shift < 35; shift += 7 {
		b := r.byte()
		n |= uint64(b&0x7f) << shift
		if b < 0x80 {
			if n > 1<<32-1 {
				break
			}
			return uint32(n)
		}
	}
	r.fail(errors.New("a number that is too large"))
	return 0
}

// skipLEB passes over a number in LEB128 of at most the given number of bytes.
func (r *reader) skipLEB(longest int) {
	for range longest {
		if r.byte() < 0x80 {
			return
		}
	}
	r.fail(errors.New("a number that is too large"))
}

func (r *reader) name() string { return string(r.bytes(r.u32())) }

// limits reads the limits of a memory or a table, of which the largest may be missing.
func (r *reader) limits() (least uint32) {
	flags := r.byte()
	least = r.u32()
	if flags&1 != 0 {
		r.u32()
	}
	return least
}

func appendU32(dst []byte, n uint32) []byte {
	for n >= 0x80 {
		dst = append(dst, byte(n)|0x80)
		n >>= 7
	}
	return append(dst, byte(n))
}

func appendS32(dst []byte, n int32) []byte {
	for n < -64 || n > 63 {
		dst = append(dst, byte(n)&0x7f|0x80)
		n >>= 7
	}
	return append(dst, byte(n)&0x7f)
}

func appendName(dst []byte, name string) []byte {
	return append(appendU32(dst, uint32(len(name))), name...)
}

func appendSection(dst []byte, id byte, payload []byte) []byte {
	return append(appendU32(append(dst, id), uint32(len(payload))), payload...)
}
