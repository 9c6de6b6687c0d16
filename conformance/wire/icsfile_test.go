package wire

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/spec"
)

func TestICSFile(t *testing.T) {
	good := string(AppendICS(nil, spec.FullICS()))
	for _, text := range []string{good, "\n# a comment\n" + strings.ReplaceAll(good, "\n", "\r\n"), strings.TrimSuffix(good, "\n"), strings.ReplaceAll(good, "\n", " \t\n")} {
		back, err := ReadICS("unit.ics", strings.NewReader(text))
		require.NoError(t, err)
		require.Equal(t, spec.FullICS(), back)
	}
	comments := strings.Repeat("# so much to say\n", MaxICSFile/17-len(good)/17-1)
	_, err := ReadICS("unit.ics", strings.NewReader(comments+good))
	require.NoError(t, err)
	for text, want := range map[string]string{
		"":                                     "unit.ics: ICS option channels is missing",
		"# no more than this\n":                "unit.ics: ICS option channels is missing",
		good + "ics periods 3\n":               "given twice",
		"\n" + good + "ics periods 3\n":        fmt.Sprintf("unit.ics:%d: ", strings.Count(good, "\n")+2),
		strings.Replace(good, "ics", "icS", 1): "unit.ics:1: ",
		" " + good:                             "unit.ics:1: ",
		good + strings.Repeat("x", 121):        "at most 120 bytes",
		good + strings.Repeat("x", 70_000):     "unit.ics: the file is too long; an ICS file has at most 65536 bytes",
		good + comments + comments:             "unit.ics: the file is too long",
		strings.Replace(good, "ics credential 246810\n", "", 1):                  "unit.ics: ",
		strings.Replace(good, "ics through-cut dropped", "ics through-cut ?", 1): "through-cut",
	} {
		_, err := ReadICS("unit.ics", strings.NewReader(text))
		require.ErrorContains(t, err, want)
	}
	_, err = ReadICS("unit.ics", io.MultiReader(strings.NewReader(good), broken{}))
	require.ErrorIs(t, err, errBroken)
}

var errBroken = errors.New("broken")

type broken struct{}

func (broken) Read([]byte) (int, error) { return 0, errBroken }

func FuzzReadICS(f *testing.F) {
	f.Add(string(AppendICS(nil, spec.FullICS())))
	f.Add("# not settled: reserve\n\nics periods 3\nics lock maybe\n")
	f.Fuzz(func(t *testing.T, text string) {
		ics, err := ReadICS("unit.ics", strings.NewReader(text))
		if err != nil {
			require.True(t, strings.HasPrefix(err.Error(), "unit.ics:"), err)
			return
		}
		require.NoError(t, ics.Validate())
		back, err := ReadICS("unit.ics", bytes.NewReader(AppendICS(nil, ics)))
		require.NoError(t, err)
		require.Equal(t, ics, back)
	})
}
