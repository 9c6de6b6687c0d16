package plant

import (
	"math"
	"math/bits"
)

// Temperatures follow exponentials, reckoned in whole numbers: e^-x for x in 2^-40 comes from tables and integer multiplication, and a
// crossing is the first second at which the value so reckoned has passed its threshold. A machine that fuses a multiplication with an
// addition cannot come to another second: the one table that floating point makes is trusted to far less than its last digits.

// micro is a temperature in millionths of a degree Celsius.
type micro int64

func (t Temp) micro() micro { return micro(t) * 1000 }

// rateOf returns the share of a time constant that passes in a second, in 2^-40.
func rateOf(tau uint32) uint64 { return (1<<40 + uint64(tau)/2) / uint64(tau) }

// Powers of 1/e in 2^-63: whole exponents, steps of 2^-8, and steps of 2^-16.
var wholes, middles, fines = powers()

func powers() (wholes [64]uint64, middles, fines [256]uint64) {
	const one = 1 << 63
	// The series in h = 2^-16: its term in h^4 is below 2^-63.
	const h, h2, h3 = one >> 16, one >> 33, (one >> 48) / 6
	step := uint64(one - h + h2 - h3)
	run := func(table []uint64, step uint64) uint64 {
		table[0] = one
		for i := 1; i < len(table); i++ {
			table[i] = product(table[i-1], step)
		}
		return product(table[len(table)-1], step)
	}
	run(wholes[:], run(middles[:], run(fines[:], step)))
	return wholes, middles, fines
}

// product multiplies two numbers in 2^-63.
func product(a, b uint64) uint64 {
	hi, lo := bits.Mul64(a, b)
	return hi<<1 | lo>>63
}

// remaining returns the share of a distance, in 2^-63, that remains after x (in 2^-40) time constants.
func remaining(x uint64) uint64 {
	if x>>46 != 0 {
		return 0
	}
	e := product(product(wholes[x>>40], middles[x>>32&255]), fines[x>>24&255])
	r := (x & (1<<24 - 1)) << 23 // what is left, in 2^-63
	return product(e, 1<<63-r+(r>>32)*r>>32)
}

// curve is one body's way from a temperature to the one it would settle at. It is drawn anew only where its course changes, so that
// looking at it in between leaves no rounding behind.
type curve struct {
	from, to micro
	at       int64
	rate     uint64
}

// distance returns how far the curve is from its end after so many seconds.
func (c *curve) distance(seconds int64) uint64 {
	d := uint64(max(c.from-c.to, c.to-c.from))
	hi, lo := bits.Mul64(uint64(seconds), c.rate)
	if hi != 0 {
		return 0
	}
	hi, lo = bits.Mul64(d, remaining(lo))
	return hi<<1 | lo>>63
}

// value returns the temperature at a second not before the curve's first.
func (c *curve) value(now int64) micro {
	d := micro(c.distance(now - c.at))
	if c.from > c.to {
		return c.to + d
	}
	return c.to - d
}

// reaches returns the first second after now at which the curve has come to the threshold, or never. The curve must not have passed
// it by now.
func (c *curve) reaches(threshold micro, now int64) int64 {
	whole, left := c.from-c.to, threshold-c.to
	if whole < 0 {
		whole, left = -whole, -left
	}
	if left < 0 || left >= whole {
		return never
	}
	earliest := now + 1 - c.at
	x := logarithm(uint64(whole)) - logarithm(uint64(left+1))
	seconds, over := int64(x/c.rate), x%c.rate
	if over > logError && c.rate-over > logError {
		return c.at + max(seconds+1, earliest)
	}
	// So near a full second only the curve itself can tell.
	return c.at + c.first(uint64(left), earliest, seconds)
}

// logSteps is how many steps the table of logarithms has. logError, in 2^-40, is more than is wrong with the difference of two: a chord lies
// below its arc by an eighth of the step's square at most, which is half of it, and all rounding is a small share of the rest.
const (
	logBits  = 10
	logSteps = 1 << logBits
	logError = 1 << 18
)

// logs are the natural logarithms of 1 + i/logSteps in 2^-40.
var logs = func() (t [logSteps + 1]uint64) {
	for i := range t {
		t[i] = uint64(math.Log1p(float64(i)/logSteps) * (1 << 40))
	}
	return t
}()

// logarithm returns the natural logarithm of a number, 1 or more, in 2^-40.
func logarithm(n uint64) uint64 {
	const ln2 = 0xb17217f7d1 // in 2^-40
	whole := bits.Len64(n) - 1
	fraction := n << (64 - whole) // what n is beyond 2^whole, as a share of it in 2^-64
	i, rest := fraction>>(64-logBits), fraction<<logBits>>32
	return uint64(whole)*ln2 + logs[i] + (logs[i+1]-logs[i])*rest>>32
}

// first returns the first time, not before the earliest, at which the distance is small enough. The guess only says where to look: the
// outcome is the same for any.
func (c *curve) first(left uint64, earliest, guess int64) int64 {
	t := max(guess, earliest)
	for t > earliest && c.distance(t-1) <= left {
		t--
	}
	for c.distance(t) > left {
		t++
	}
	return t
}

const never = math.MaxInt64
