package plant

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestRemainingIsTheExponential(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Uint64Range(0, 60<<40).Draw(t, "x")
		want := math.Exp(-float64(x) / (1 << 40))
		if got := float64(remaining(x)) / (1 << 63); math.Abs(got-want) > 1e-13 {
			t.Fatalf("e^-%g: %g, want %g", float64(x)/(1<<40), got, want)
		}
	})
	if remaining(0) != 1<<63 {
		t.Errorf("e^0 is %d in 2^-63", remaining(0))
	}
}

func curves(t *rapid.T) curve {
	temp := func(label string) micro { return Temp(rapid.Int32Range(-40_000, 95_000).Draw(t, label)).micro() }
	return curve{
		from: temp("from"), to: temp("to"), at: rapid.Int64Range(0, 1<<31).Draw(t, "at"),
		rate: rateOf(rapid.Uint32Range(60, 1_000_000).Draw(t, "tau")),
	}
}

// The crossing is by definition the first second at which the value has passed the threshold: looked for by halving, which needs
// nothing but a value that never turns back.
func TestReachesIsTheFirstSecondPastTheThreshold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := curves(t)
		threshold := c.from + micro(rapid.Float64Range(0.001, 0.999).Draw(t, "share")*float64(c.to-c.from))
		if threshold == c.from || threshold == c.to {
			t.Skip("nothing to cross")
		}
		past := func(at int64) bool {
			if c.from < c.to {
				return c.value(at) >= threshold
			}
			return c.value(at) <= threshold
		}
		lo, hi := c.at, c.at+64*1_000_000
		for hi-lo > 1 {
			if mid := (lo + hi) / 2; past(mid) {
				hi = mid
			} else {
				lo = mid
			}
		}
		if got := c.reaches(threshold, c.at); got != hi {
			t.Fatalf("%+v reaches %d at %d, want %d", c, threshold, got, hi)
		}
	})
}

// A threshold that the value has just come to, or just not, in some second is where the logarithm alone could be a second out.
func TestReachesIsTheFirstSecondNearThresholdsToo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := curves(t)
		after := rapid.Int64Range(1, 5*(1<<40/int64(c.rate))).Draw(t, "after")
		threshold := c.value(c.at+after) + micro(rapid.Int64Range(-1, 1).Draw(t, "off"))
		whole, left := c.from-c.to, threshold-c.to
		if whole < 0 {
			whole, left = -whole, -left
		}
		if left < 0 || left >= whole {
			t.Skip("nothing to cross")
		}
		if got, want := c.reaches(threshold, c.at), c.at+c.first(uint64(left), 1, after); got != want {
			t.Fatalf("%+v reaches %d at %d, want %d", c, threshold, got, want)
		}
	})
}

// Machines differ in the last digits of a logarithm. It only says where to look, so that any guess leads to the same second.
func TestTheSecondOfACrossingDoesNotDependOnFloatingPoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := curves(t)
		whole := max(c.from-c.to, c.to-c.from)
		if whole == 0 {
			t.Skip("nothing to cross")
		}
		left := uint64(rapid.Int64Range(int64(whole)/1000, int64(whole)-1).Draw(t, "left"))
		near := c.first(left, 1, 1)
		for _, off := range []int64{-1000, -1, 0, 1, 1000} {
			if got := c.first(left, 1, near+off); got != near {
				t.Fatalf("with a guess of %d: %d, with one of 1: %d", near+off, got, near)
			}
		}
	})
}

func TestAThresholdBeyondTheEndIsNeverReached(t *testing.T) {
	c := curve{from: 10, to: 20, rate: rateOf(60)}
	for _, threshold := range []micro{21, 9, 10} {
		if got := c.reaches(threshold, 0); got != never {
			t.Errorf("from 10 to 20: reaches %d at %d", threshold, got)
		}
	}
}

// Radiators of 15 minutes go from 20 to 38 °C, on their way to 70, in 900 s × ln(50/32) = 401.66 s: in the 402nd second. Worked out
// by hand.
func TestRadiatorsAreWarmWhenTheLogarithmSaysSo(t *testing.T) {
	c := curve{from: (20 * Celsius).micro(), to: (70 * Celsius).micro(), rate: rateOf(900)}
	if got := c.reaches((38 * Celsius).micro(), 0); got != 402 {
		t.Errorf("after %d s, want 402", got)
	}
}
