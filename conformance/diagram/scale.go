package diagram

import (
	"fmt"
	"slices"
	"strings"
)

// Scale places the seconds of a run from left to right. Make one with [Linear], [Aligned] or [Fit].
type Scale struct {
	knots []knot
	even  bool // one length for every second
}

// knot is a second with its place, from 0 at the left to 1 at the right. Between two of them a scale is linear.
type knot struct {
	at    uint64
	place float64
}

// Linear returns a scale from one second to a later one that gives every second the same length.
func Linear(from, to uint64) Scale {
	return Scale{knots: []knot{{from, 0}, {max(to, from+1), 1}}, even: true}
}

// Aligned returns a scale with a column for each of the instants, as wide as any other, whatever lies between them. The last column ends at
// end, or a second after the last instant if end is not later. There must be an instant, and they must be in order, each once.
func Aligned(instants []uint64, end uint64) Scale {
	n := len(instants)
	s := Scale{knots: make([]knot, 0, n+1)}
	for i, at := range instants {
		s.knots = append(s.knots, knot{at, float64(i) / float64(n)})
	}
	s.knots = append(s.knots, knot{max(end, instants[n-1]+1), 1})
	return s
}

// Fit returns the linear scale from the first of the instants to end if that leaves room for a tick's label at each of them, and
// otherwise the aligned one. Its conditions are those of Aligned.
func Fit(instants []uint64, end uint64) Scale {
	linear := Linear(instants[0], max(end, instants[len(instants)-1]+1))
	for i := 1; i < len(instants); i++ {
		if (linear.place(instants[i])-linear.place(instants[i-1]))*plotWidth < tickRoom {
			return Aligned(instants, end)
		}
	}
	return linear
}

func (s *Scale) from() uint64 { return s.knots[0].at }
func (s *Scale) to() uint64   { return s.knots[len(s.knots)-1].at }

// place returns where a second stands, at an edge if it is beyond it.
func (s *Scale) place(second uint64) float64 {
	i, found := slices.BinarySearchFunc(s.knots, second, func(k knot, second uint64) int {
		switch {
		case k.at < second:
			return -1
		case k.at > second:
			return 1
		}
		return 0
	})
	switch {
	case found:
		return s.knots[i].place
	case i == 0:
		return 0
	case i == len(s.knots):
		return 1
	}
	a, b := s.knots[i-1], s.knots[i]
	return a.place + (b.place-a.place)*float64(second-a.at)/float64(b.at-a.at)
}

var units = [...]struct {
	name   string
	length uint64
}{{"d", 86400}, {"h", 3600}, {"m", 60}, {"s", 1}}

// length words a number of seconds in at most so many characters, but for what cannot be said in so few: what there is no room for is left
// out, and an ≈ says so.
func length(seconds uint64, characters int) string {
	var parts []string
	rest := seconds
	for _, u := range units {
		if n := rest / u.length; n > 0 {
			parts = append(parts, fmt.Sprintf("%d%s", n, u.name))
			rest %= u.length
		}
	}
	if len(parts) == 0 {
		return "0s"
	}
	text := strings.Join(parts, " ")
	for len(text) > characters && len(parts) > 1 {
		parts = parts[:len(parts)-1]
		text = "≈" + strings.Join(parts, " ")
	}
	return text
}
