package capture

import (
	"math"
	"slices"
)

// Estimate is an estimated value with the half width of an interval that holds the true one in 95 cases of 100.
type Estimate struct {
	Known       bool
	Value       float64
	Uncertainty float64
}

// point is a matched change: when it was expected and when it was seen, in seconds.
type point struct{ expected, seen float64 }

// fewestPoints is how many points it takes for the uncertainty of a fit to mean something.
const fewestPoints = 5

// mostPoints bounds the pairs that a fit looks at; of more points, as many spread evenly are taken.
const mostPoints = 1200

// fit fits seen = offset + (1 + slope) x expected with the estimator of Theil and Sen: the slope is the median of those of all pairs, so that
// a change that is far off does not move it, up to 29 in 100 of them. The interval is Sen's, from the distribution of Kendall's tau with
// ties (P. K. Sen, 'Estimates of the Regression Coefficient Based on Kendall's Tau', JASA 63, 1968). Nothing can be more certain than the
// recording's resolution in seconds lets it be.
func fit(points []point, resolution float64) (slope, offset Estimate) {
	points = thin(points)
	n := len(points)
	if n == 0 {
		return slope, offset
	}
	slices.SortFunc(points, func(a, b point) int {
		switch {
		case a.expected < b.expected:
			return -1
		case a.expected > b.expected:
			return 1
		}
		return 0
	})
	span := points[n-1].expected - points[0].expected
	var slopes []float64
	for i := range points {
		for k := range i {
			if apart := points[i].expected - points[k].expected; apart > 0 {
				slopes = append(slopes, (points[i].seen-points[k].seen)/apart-1)
			}
		}
	}
	if n >= fewestPoints && span > 0 {
		slices.Sort(slopes)
		slope.Known, slope.Value = true, median(slopes)
		variance := kendall(n)
		for i := 0; i < n; { // ties: points that share a second
			same := i + 1
			for same < n && points[same].expected == points[i].expected {
				same++
			}
			variance -= kendall(same - i)
			i = same
		}
		const z = 1.96
		half := z * math.Sqrt(max(variance, 0))
		low := int(math.Floor((float64(len(slopes)) - half) / 2))
		high := int(math.Ceil((float64(len(slopes)) + half) / 2))
		low, high = max(low, 0), min(high, len(slopes)-1)
		slope.Uncertainty = max(slopes[high]-slope.Value, slope.Value-slopes[low], resolution/span)
	}
	left := make([]float64, n)
	middle := make([]float64, n)
	for i, p := range points {
		left[i] = p.seen - p.expected*(1+slope.Value)
		middle[i] = p.expected
	}
	offset.Known, offset.Value = true, medianOf(left)
	for i := range left {
		left[i] = math.Abs(left[i] - offset.Value)
	}
	// Of a median of normal errors the standard error is 1.25 times that of a mean; 1.48 times the median deviation estimates theirs.
	spread := 1.96 * 1.2533 * 1.4826 * medianOf(left) / math.Sqrt(float64(n))
	offset.Uncertainty = max(math.Hypot(spread, slope.Uncertainty*medianOf(middle)), resolution)
	return slope, offset
}

// kendall returns n(n-1)(2n+5)/18, the variance of Kendall's score of n points.
func kendall(n int) float64 { return float64(n) * float64(n-1) * float64(2*n+5) / 18 }

func thin(points []point) []point {
	if len(points) <= mostPoints {
		return slices.Clone(points)
	}
	some := make([]point, mostPoints)
	for i := range some {
		some[i] = points[i*(len(points)-1)/(mostPoints-1)]
	}
	return some
}

// median returns the median of sorted values, of which there is at least one.
func median(sorted []float64) float64 {
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}

func medianOf(values []float64) float64 {
	values = slices.Clone(values)
	slices.Sort(values)
	return median(values)
}
