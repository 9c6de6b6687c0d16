package identify

import (
	"bytes"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

func TestWrittenICSIsRead(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	s := whole(t)
	for range 50 {
		ics := s.byClass(r)
		var b bytes.Buffer
		result := Result{ICS: ics, Idle: []Open{{Options: []string{"timing"}, Why: "a reason"}}}
		require.NoError(t, result.WriteICS(&b))
		back, err := wire.ReadICS("unit.ics", &b)
		require.NoError(t, err)
		require.Equal(t, ics, back)

		// What is not settled is not read as if it were.
		b.Reset()
		result.Unsettled = []Open{{Options: []string{"through-cut"}, Values: "dropped or kept", Why: "another"}}
		require.NoError(t, result.WriteICS(&b))
		require.Contains(t, b.String(), "# not settled: through-cut dropped or kept: another\n")
		_, err = wire.ReadICS("unit.ics", &b)
		require.ErrorContains(t, err, "through-cut")
	}
}

// What identify writes is read again, comments and all, whatever the unit.
func FuzzWriteICS(f *testing.F) {
	f.Add(string(wire.AppendICS(nil, spec.FullICS())))
	f.Fuzz(func(t *testing.T, text string) {
		ics, err := wire.ReadICS("unit.ics", strings.NewReader(text))
		if err != nil {
			return
		}
		var b bytes.Buffer
		require.NoError(t, (&Result{ICS: ics, Idle: []Open{{Options: []string{"timing"}, Why: "a reason"}}}).WriteICS(&b))
		back, err := wire.ReadICS("unit.ics", &b)
		require.NoError(t, err)
		require.Equal(t, ics, back)
	})
}

func TestGive(t *testing.T) {
	for _, test := range [][3]string{
		{"periods", "7", "periods"},
		{"period", "3", "'period' is no option"},
		{"credential", "1234", "'credential' is no option"},
		{"cycle", "weekly", "24h, 5/2 or 7day"},
		{"boost-longest", "77", "is not among what is looked for"},
		{"reserve", "480", "is not among what is looked for"},
		{"lock", "perhaps", "yes"},
	} {
		err := HandSpace(1e9).Give(test[0], test[1])
		require.ErrorContains(t, err, test[2])
	}
	s := whole(t)
	require.NoError(t, s.Give("reserve", "480"))
	require.NoError(t, s.Give("zone", "60"))
	require.NoError(t, s.Give("channels", "ch"))
	require.True(t, s.settled(Reserve, SummerTime))
	require.Len(t, s.values[Channels], 4)
	ics := spec.FullICS()
	ics.Zone, ics.Fitted.Channels = 60, spec.OnlyCH
	found, err := Run(t.Context(), emulated(ics), s, Options{})
	require.NoError(t, err)
	requireFound(t, s, ics, found)
}
