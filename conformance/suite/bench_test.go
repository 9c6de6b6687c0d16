package suite

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

// The cost of reading the published set and binding it to a unit, which every check begins with: a few milliseconds for 100 vectors.
func BenchmarkLoadAndBind(b *testing.B) {
	full := spec.FullICS()
	n := 0
	for b.Loop() {
		s, err := Load(vectors.Files)
		require.NoError(b, err)
		n = len(s.Vectors)
		for _, v := range s.Vectors {
			if ok, _ := v.Applies(&full); ok {
				_, err := v.Bind(&full)
				require.NoError(b, err)
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/1000/float64(b.N)/float64(n)*100, "ms/100-vectors")
}
