package capture

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/recording"
	"example.org/hearthbench/emulator/spec"
)

// Which column is which signal, by name or as it is mapped; what a file has is package recording's.
func TestColumnsOfSignals(t *testing.T) {
	const head = "$timescale 1 ms $end $scope module a $end $var wire 1 ! D0 $end $var wire 1 \" D1 $end $upscope $end " +
		"$scope module b $end $var wire 1 # D0 $end $var reg 2 $ alert [1:0] $end $var wire 4 % bus $end $upscope $end $enddefinitions $end\n"
	open := func(name, text string, pairs ...string) (*Recording, error) {
		m, err := ParseMapping(pairs)
		require.NoError(t, err)
		return Open(name, strings.NewReader(text), &m, DefaultBounce)
	}
	r, err := open("a", head+"#0 0! 1\" b10 $ #9", "hw=a.D0", "ch=!D1")
	require.NoError(t, err)
	assert.Equal(t, "VCD", r.Format)
	assert.Equal(t, "a.D0", r.Lines[spec.SigHW].Name)
	assert.Equal(t, "a.D1", r.Lines[spec.SigCH].Name)
	assert.True(t, r.Lines[spec.SigCH].Inverted)
	assert.Equal(t, spec.Level(2), r.Lines[spec.SigAlert].Levels[0].Level)
	assert.Nil(t, r.Lines[spec.SigSounder])
	r, err = open("a", "time,hw\n0,0\n1,1\n")
	require.NoError(t, err)
	assert.Equal(t, "CSV", r.Format)
	assert.Len(t, edgesOf(r.Lines[spec.SigHW]), 1)

	for _, c := range []struct {
		name, text string
		pairs      []string
		want       string
	}{
		{"a.csv", "time,D0\n0,0\n", nil, "a.csv:1: no column is called hw, ch, alert or sounder; say what is what with --map hw=COLUMN,ch=COLUMN; there are D0"},
		{"a.csv", "time,hw,hw\n0,0,0\n", nil, "a.csv:1: hw could be the column hw or hw; say which is hw with --map hw=…"},
		{"a.csv", "time,alert\n0,4\n", nil, "a.csv:2: '4' in the column alert is no level"},
		{"a.vcd", head + "#0", []string{"hw=D0"}, "D0 could be the column a.D0 or b.D0; say which is hw with --map hw=…"},
		{"a.vcd", head + "#0", []string{"hw=D7"}, "there is no column D7 for hw; there are a.D0, a.D1, b.D0, b.alert, b.bus"},
		{"a.vcd", head + "#0", []string{"hw=a.D0", "ch=b.D0", "sounder=alert"}, "the column b.alert would be both alert and sounder"},
	} {
		_, err := open(c.name, c.text, c.pairs...)
		var wrong *recording.Error
		require.ErrorAs(t, err, &wrong)
		assert.ErrorContains(t, err, c.want)
	}
}

func TestMappings(t *testing.T) {
	m, err := ParseMapping([]string{"hw=D0", "ch=!D1"})
	require.NoError(t, err)
	assert.Equal(t, Mapping{spec.SigHW: {"D0", false}, spec.SigCH: {"D1", true}}, m)
	for pair, want := range map[string]string{
		"hw":        "'hw' is not SIGNAL=COLUMN",
		"hq=D0":     "signal is hw, ch, alert or sounder",
		"hw=":       "'hw=' names no column",
		"hw=!":      "'hw=!' names no column",
		"alert=!D0": "cannot be active low",
		"hw=D9":     "hw is mapped twice, to D0 and to D9",
		"ch=D0":     "the column D0 is mapped twice, to hw and to ch",
	} {
		pairs := []string{pair}
		if strings.HasSuffix(want, "hw and to ch") || strings.HasSuffix(want, "to D9") {
			pairs = []string{"hw=D0", pair}
		}
		_, err := ParseMapping(pairs)
		assert.ErrorContains(t, err, want)
	}
	for pair, want := range map[string]string{
		"late-scan":    "'late-scan' is not TOLERANCE=NUMBER",
		"periods=2":    "'periods' is no tolerance",
		"late-scan=-1": "late-scan",
	} {
		_, err := ParseTolerances([]string{pair})
		assert.ErrorContains(t, err, want)
	}
	claims, err := ParseTolerances([]string{"late-scan=60"})
	require.NoError(t, err)
	assert.Equal(t, &spec.Tolerances{LatePowerOn: 2, LateScan: 60, LockGrain: 1}, claims)
}
