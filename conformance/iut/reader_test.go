package iut

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/spec"
)

// lines are lines of an answer, of which the last has no end.
type lines struct{ text string }

func (l *lines) Line() ([]byte, *Failure) {
	line, rest, ok := strings.Cut(l.text, "\n")
	if !ok {
		return nil, &Failure{Kind: Died, Detail: "no more", Rest: []byte(line)}
	}
	l.text = rest
	return []byte(line), nil
}

// An adapter without a link reads text, changes and outcomes as they come, and each is held against the same rules.
func TestReader(t *testing.T) {
	ics := spec.FullICS()
	r := NewReader(&ics)
	script := Script{{}, input(spec.Input{Kind: spec.Override}), pass(60), pass(5)}

	r.Start()
	r.Next(&script[0])
	require.Nil(t, r.Text(&lines{"ok\n"}))
	r.Next(&script[1])
	require.Nil(t, r.Text(&lines{"@0 hw 1\nrefused not now\n"}))
	r.Next(&script[2])
	require.Nil(t, r.Change(spec.Change{At: 60, Signal: spec.SigHW}))
	require.Nil(t, r.Answer(spec.Accepted, ""))
	require.Equal(t, uint64(60), r.Elapsed())
	there := r.Standing()
	obs := r.Observation()
	require.Equal(t, []Answer{{}, {Outcome: spec.Refused, Words: "not now", Changes: 1}, {Changes: 2}}, obs.Answers)
	require.Equal(t, []spec.Change{{At: 0, Signal: spec.SigHW, Level: 1}, {At: 60, Signal: spec.SigHW}}, obs.Changes)

	for _, c := range []struct {
		answer func() *Trouble
		kind   TroubleKind
		want   string
	}{
		{func() *Trouble { return r.Text(&lines{"@66 hw 1\nok\n"}) }, Nonsense, "an event of second 66, where it should be 61 to 65"},
		{func() *Trouble { return r.Text(&lines{"@61 hw 1\n@62"}) }, Died, `received "@61 hw 1" "@62"`},
		{func() *Trouble { return r.Text(&lines{"error\n"}) }, ErrorReply, `received "error"`},
		{func() *Trouble { return r.Text(&lines{"refused\n"}) }, Nonsense, "new and go are answered with ok"},
		{func() *Trouble { return r.Change(spec.Change{At: 61, Signal: spec.SigHW}) }, Nonsense, "hw was 0 already"},
		{func() *Trouble { return r.Answer(spec.Unsupported, "") }, Nonsense, "new and go are answered with ok"},
		{func() *Trouble { return r.Fail(Hung, "it sleeps", []byte("zzz")) }, Hung, `it sleeps; received "zzz"`},
	} {
		r.SetStanding(there)
		r.Start()
		r.Next(&script[3])
		trouble := c.answer()
		require.NotNil(t, trouble)
		require.Equal(t, c.kind, trouble.Kind)
		require.Contains(t, trouble.String(), c.want)
		require.Same(t, trouble, r.Observation().Trouble)
		require.Empty(t, r.Observation().Answers)
		require.Empty(t, r.Observation().Changes, "changes of a request without an answer are none")
	}
}

func TestReadStatement(t *testing.T) {
	_, trouble, err := ReadStatement(&lines{"ics periods 1\nnonsense\n"})
	require.NoError(t, err)
	require.Contains(t, trouble.String(), "neither an ics line nor a closing line")
	_, trouble, err = ReadStatement(&lines{"ics periods 1\nok\n"})
	require.Nil(t, trouble)
	require.ErrorContains(t, err, "its conformance statement: ")
}
