package fuzz

import "math/bits"

// random is a stream of numbers that is the same on every machine and with every release of Go: SplitMix64, after Steele, Lea and
// Flood, "Fast splittable pseudorandom number generators" (2014).
type random struct{ state uint64 }

const golden = 0x9e3779b97f4a7c15

// newRandom returns the stream of a shard of a campaign.
func newRandom(seed uint64, shard int) random {
	r := random{state: seed}
	// Streams whose states lie a few steps apart would be one stream: the shard goes through the mixer.
	r.state = r.next() + uint64(shard)*0xd1342543de82ef95
	r.state = r.next()
	return r
}

func (r *random) next() uint64 {
	r.state += golden
	z := r.state
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// below returns a number from 0 to n-1.
func (r *random) below(n int) int {
	hi, _ := bits.Mul64(r.next(), uint64(n))
	return int(hi)
}

// oneIn returns true once in n times.
func (r *random) oneIn(n int) bool { return r.below(n) == 0 }

// pick returns one of the values.
func pick[T any](r *random, values ...T) T { return values[r.below(len(values))] }
