package cexport

import (
	"bytes"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

// published returns the published set.
func published(tb testing.TB) *suite.Suite {
	tb.Helper()
	set, err := suite.Load(vectors.Files)
	require.NoError(tb, err)
	return set
}

// units are ICSs that between them make every choice and fit everything.
func units() map[string]spec.ICS {
	full := spec.FullICS()
	choices := full
	choices.OverrideKept, choices.OverrideProgrammed, choices.BoostExtends, choices.BoostInHoliday = true, true, true, true
	choices.ResetUnsetsClock, choices.LostClock, choices.KeptThroughCut, choices.Wrap, choices.Clamp = true, spec.LostResumes, true, true, true
	choices.Fitted.Cycle, choices.Fitted.Timing, choices.Credential = spec.Cycle52, spec.Shared, "00120099"
	heating := full
	heating.Fitted.Channels, heating.Periods, heating.SummerTime, heating.Zone = spec.OnlyCH, 1, false, -120
	plain := full
	plain.Lock, plain.Credential, plain.Holiday, plain.BoostLongest = false, "", false, 0
	plain.Fitted.Cycle, plain.Fitted.Coupling, plain.Reserve = spec.Cycle24h, spec.Gravity, 0
	return map[string]spec.ICS{"full": full, "every choice": choices, "heating only": heating, "plain": plain}
}

func write(tb testing.TB, t *Tables, h Head) string {
	tb.Helper()
	var text bytes.Buffer
	require.NoError(tb, t.Write(&text, h))
	return text.String()
}

// Whoever reads a file as its head says finds every vector in it as it is bound: nothing is missing, added or moved.
func TestTablesReadAsTheirHeadSays(t *testing.T) {
	set := published(t)
	for name, ics := range units() {
		t.Run(name, func(t *testing.T) {
			require.NoError(t, ics.Validate())
			tables, err := Encode(ics, set.Vectors)
			require.NoError(t, err)
			r := readFile(t, write(t, tables, Head{Names: true}))
			left := 0
			for _, v := range set.Vectors {
				if ok, _ := v.Applies(&ics); !ok {
					left++
					continue
				}
				b, err := v.Bind(&ics)
				require.NoError(t, err)
				want := script{id: v.ID, until: v.Until, initial: b.Initial}
				want.given = slices.Concat(b.Fits, b.Given)
				for _, step := range b.Steps {
					want.steps = append(want.steps, did{step.At, step.Input, step.Want})
				}
				for _, c := range b.Trace {
					want.trace = append(want.trace, spec.Change{At: c.At, Signal: c.Signal, Level: c.Level})
				}
				require.Equal(t, want, r.vector(t), v.ID)
			}
			require.Empty(t, r.at[0], "bytes after the last vector")
			require.Len(t, set.Vectors, left+len(tables.IDs))
			for _, l := range tables.LeftOut {
				left -= l.Count
			}
			require.Zero(t, left, "each that is left out is accounted for")
		})
	}
}

type script struct {
	id      string
	given   []spec.Input
	initial [spec.NumSignals]spec.Level
	steps   []did
	trace   []spec.Change
	until   uint64
}

type did struct {
	at    uint64
	input spec.Input
	want  spec.Outcome
}

// reader reads the arrays of a file. It was written from the file's head.
type reader struct {
	all         []byte
	at          [][]byte // what is to be read: the vectors, and in a vector the repetitions
	credentials []string
	ids         []string
}

func readFile(t *testing.T, text string) *reader {
	text = regexp.MustCompile(`(?s)/\*.*?\*/`).ReplaceAllString(text, "")
	array := func(name string) string {
		m := regexp.MustCompile(`(?s)` + name + `\[\](?:\[\d+\])? = \{(.*?)\};`).FindStringSubmatch(text)
		require.NotNil(t, m, name)
		return m[1]
	}
	r := &reader{}
	for _, n := range regexp.MustCompile(`\d+`).FindAllString(array("hb_vectors"), -1) {
		b, err := strconv.ParseUint(n, 10, 8)
		require.NoError(t, err)
		r.all = append(r.all, byte(b))
	}
	for _, m := range regexp.MustCompile(`"(\d*)"`).FindAllStringSubmatch(array("hb_credentials"), -1) {
		r.credentials = append(r.credentials, m[1])
	}
	id := ""
	for _, m := range regexp.MustCompile(`'(.)'|0`).FindAllStringSubmatch(array("hb_ids"), -1) {
		if id += m[1]; m[0] == "0" {
			r.ids = append(r.ids, id)
			id = ""
		}
	}
	r.at = [][]byte{r.all}
	return r
}

func (r *reader) byte() int {
	top := len(r.at) - 1
	b := r.at[top][0]
	r.at[top] = r.at[top][1:]
	return int(b)
}

func (r *reader) number() (n int) {
	for {
		b := r.byte()
		n = n*128 + b%128
		if b < 128 {
			return n
		}
	}
}

func (r *reader) minute() uint16 {
	b := r.byte()
	if b <= 144 {
		return uint16(b * 10)
	}
	return uint16((b-145)*256 + r.byte())
}

func (r *reader) vector(t *testing.T) script {
	s := script{id: r.ids[0]}
	r.ids = r.ids[1:]
	before := len(r.at[0])
	length := r.number()
	length -= before - len(r.at[0])
	rest := r.at[0][length:]
	r.at = [][]byte{rest, r.at[0][:length]}
	begun, want := false, spec.Accepted
	give := func(in spec.Input) {
		if begun {
			s.steps = append(s.steps, did{s.until, in, want})
		} else {
			require.Equal(t, spec.Accepted, want)
			s.given = append(s.given, in)
		}
	}
	for len(r.at) > 1 {
		if len(r.at[len(r.at)-1]) == 0 {
			r.at = r.at[:len(r.at)-1]
			continue
		}
		b := r.byte()
		kind, a := b%16, b/16
		in := spec.Input{Kind: spec.Kind(kind)}
		switch kind {
		case 0, 1, 9, 12:
		case 2:
			in.FitOption, in.FitValue = spec.FitOption(r.number()), uint8(r.number())
		case 3:
			in.Date = spec.Date{Year: uint16(r.number()), Month: uint8(r.number()), Day: uint8(r.number())}
			in.Minute = r.minute()
		case 4:
			in.Channel, in.Mode = spec.Channel(a%2), spec.Mode(a/2)
		case 5:
			table, day, slot := r.byte(), r.byte(), r.byte()
			var periods [16]spec.Period
			for i := range a {
				periods[i] = spec.Period{On: r.minute(), Off: r.minute()}
			}
			for i := range table/4 + 1 {
				for j := range day/16 + 1 {
					for k := range slot/16 + 1 {
						in.Table, in.Day, in.Slot = spec.TableID(table%4+i), spec.Day(day%16+j), uint8(slot%16+k)
						in.Period = periods[k]
						give(in)
					}
				}
			}
			want = spec.Accepted
			continue
		case 6:
			in.Channel = spec.Channel(a)
		case 7:
			in.Channel, in.Amount = spec.Channel(a), uint32(r.number())
		case 8:
			in.Amount = uint32(r.number())
		case 10:
			in.Credential = r.credentials[a]
			in.Terms.Days, in.Terms.NoticeDays = uint16(r.number()), uint16(r.number())
			in.Terms.Notice = [2]uint8{uint8(r.number()), uint8(r.number())}
			in.Terms.Restricted = [2]uint8{uint8(r.number()), uint8(r.number())}
			in.Terms.Sounders = uint8(r.number())
			for i := range in.Terms.Sounder {
				in.Terms.Sounder[i] = uint16(r.number())
			}
		case 11:
			in.Credential = r.credentials[a]
		case 13:
			s.trace = append(s.trace, spec.Change{At: s.until, Signal: spec.Signal(a % 4), Level: spec.Level(a / 4)})
			continue
		case 14:
			n := a % 8
			if a >= 8 {
				n += 8 * r.number()
			}
			if n%2 == 0 {
				s.until += uint64(n / 2 * 60)
			} else {
				s.until += uint64((n - 1) / 2)
			}
			continue
		case 15:
			switch a {
			case 0:
				levels := r.byte()
				for i := range s.initial {
					s.initial[i] = spec.Level(levels % 4)
					levels /= 4
				}
				begun = true
			case 3:
				from := r.number()
				n := r.number()
				r.at = append(r.at, r.all[from:from+n])
			default:
				want = spec.Outcome(a)
			}
			continue
		default:
			t.Fatalf("item %d", kind)
		}
		give(in)
		want = spec.Accepted
	}
	return s
}

// Two exports of the same give the same bytes.
func TestSameBytes(t *testing.T) {
	set := published(t)
	for name, ics := range units() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			h := Head{Checksum: "abc", Only: []string{"OVR"}, Names: name != "plain"}
			var texts [2]string
			for i := range texts {
				tables, err := Encode(ics, set.Vectors[:1000])
				require.NoError(t, err)
				texts[i] = write(t, tables, h)
			}
			require.True(t, texts[0] == texts[1])
		})
	}
}

// Vectors that share their beginnings are put together: a vector takes less than half of what its items would.
func TestSize(t *testing.T) {
	tables, err := Encode(spec.FullICS(), published(t).Vectors)
	require.NoError(t, err)
	all, names := tables.Size(true)
	without, none := tables.Size(false)
	require.Equal(t, 1, none)
	require.Equal(t, all-names, without-none)
	require.Less(t, float64(without)/float64(len(tables.IDs)), 20.0)
	require.Contains(t, write(t, tables, Head{}), strconv.Itoa(without)+" bytes of tables")
}

// What a comment cannot hold does not end it.
func TestComments(t *testing.T) {
	set := published(t)
	tables, err := Encode(spec.FullICS(), set.Vectors[:3])
	require.NoError(t, err)
	text := write(t, tables, Head{Only: []string{"CLK-5/*", "*/ int x; /*", "a\nb\\"}})
	require.Equal(t, strings.Count(text, "/*"), strings.Count(text, "*/"))
	require.Contains(t, text, "Kept to: CLK-5/ * * / int x; / * a b/.")
}

// What tables cannot hold is refused by name.
func TestCannotBeExported(t *testing.T) {
	set := published(t)
	long := *set.Vectors[0]
	long.Until = 1 << 32
	_, err := Encode(spec.FullICS(), []*suite.Vector{&long})
	require.ErrorContains(t, err, long.ID+" cannot be exported: it lasts 4294967296 seconds")

	many := *set.Vectors[0]
	many.Steps = nil
	for i := range maxCredentials + 1 {
		many.Steps = append(many.Steps, suite.Step{Do: "lock remove " + strconv.Itoa(1000+i), Want: spec.Refused})
	}
	_, err = Encode(spec.FullICS(), []*suite.Vector{&many})
	require.ErrorContains(t, err, "16 different ones")

	ics := units()["plain"]
	locks := slices.DeleteFunc(slices.Clone(set.Vectors), func(v *suite.Vector) bool {
		applies, _ := v.Applies(&ics)
		return applies
	})
	require.NotEmpty(t, locks)
	_, err = Encode(ics, locks)
	require.EqualError(t, err, "the unit's ICS calls for none of these vectors")
}
