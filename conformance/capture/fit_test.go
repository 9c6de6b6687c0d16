package capture

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A line that is exact but for some points has its slope, however far off those are.
func TestFitOfALineWithOutliers(t *testing.T) {
	var points []point
	for i := range 20 {
		x := float64(i * 1000)
		points = append(points, point{x, 7 + x*(1+50e-6)})
	}
	for _, i := range []int{3, 8, 13, 14} {
		points[i].seen += 500 * float64(i)
	}
	slope, offset := fit(points, 1e-6)
	require.True(t, slope.Known)
	assert.InDelta(t, 50e-6, slope.Value, 1e-9)
	assert.InDelta(t, 7, offset.Value, 1e-6)

	// By hand: of (0,0), (1,1), (2,2), (3,3), (4,5) the slopes are 1 six times, and 2, 3/2, 4/3, 5/4: the median is 1, and so is that of the rest
	// of them all but the offset, 0. Half the width of the interval covers 1.96 sqrt(5 x 4 x 15 / 18) = 8.0 of 10 slopes: from the second to the
	// last but none.
	slope, offset = fit([]point{{4, 5}, {0, 0}, {1, 1}, {3, 3}, {2, 2}}, 0)
	assert.Equal(t, Estimate{true, 0, 1}, slope)
	assert.Equal(t, 0.0, offset.Value)

	// Points that share a second have no slope between them.
	slope, _ = fit([]point{{0, 0}, {0, 1}, {10, 10}, {10, 11}, {20, 20}, {20, 21}}, 0)
	assert.Equal(t, 0.0, slope.Value)

	few, offset := fit([]point{{0, 3}, {10, 13}, {20, 23}}, 0)
	assert.False(t, few.Known)
	assert.Equal(t, 3.0, offset.Value)
	_, offset = fit(nil, 0)
	assert.False(t, offset.Known)
}

// The interval holds the true drift about as often as it says.
func TestFitIsAsUncertainAsItSays(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 7))
	const runs = 1000
	held, heldOffset := 0, 0
	for range runs {
		var points []point
		for x := 0.0; x < 200_000; x += 5000 + 10_000*random.Float64() {
			points = append(points, point{x, 12 + x*(1-80e-6) + 0.2*random.NormFloat64()})
		}
		slope, offset := fit(points, 1e-6)
		if slope.Value-slope.Uncertainty <= -80e-6 && slope.Value+slope.Uncertainty >= -80e-6 {
			held++
		}
		if offset.Value-offset.Uncertainty <= 12 && offset.Value+offset.Uncertainty >= 12 {
			heldOffset++
		}
	}
	assert.Greater(t, held, 930)
	assert.Less(t, held, 1000, "nor is it too wide to say anything")
	assert.Greater(t, heldOffset, 900)
}
