package generate

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// publishedRows reads the rows at the head of the file of pairs: their settings and the unit.
func publishedRows(t *testing.T) (settings []map[string]string, units []spec.ICS) {
	t.Helper()
	for _, text := range inFile(t, "pairs.json")[0].About {
		_, row, ok := strings.Cut(text, ": ")
		if !ok || !strings.HasPrefix(text, "Row ") {
			continue
		}
		have, ics := map[string]string{}, spec.FullICS()
		for _, setting := range strings.Fields(row) {
			name, value, _ := strings.Cut(setting, "=")
			have[name] = value
			if o, err := wire.ParseFitOption(name); err == nil {
				require.NoError(t, wire.SetFitted(&ics, o, wire.FitWords(o), value))
			} else {
				require.NoError(t, wire.SetOption(&ics, name, value))
			}
		}
		require.NoError(t, ics.Validate())
		have["boost"] = have["boost-step"] + "/" + have["boost-longest"]
		settings, units = append(settings, have), append(units, ics)
	}
	require.NotEmpty(t, settings)
	return settings, units
}

// Every two values of two options stand together in a row of the published file, but for a single channel with what takes both.
func TestThePublishedRowsCoverEveryTwoValues(t *testing.T) {
	rows, _ := publishedRows(t)
	want := map[string][]string{
		"channels": {"both", "hw", "ch"}, "periods": {"1", "2", "6"}, "zone": {"0", "60", "-60"}, "reserve": {"0", "480"},
		"boost": {"60/180", "30/240", "1/1440", "15/90", "60/0"},
		"cycle": wire.FitWords(spec.FitCycle), "timing": wire.FitWords(spec.FitTiming), "coupling": wire.FitWords(spec.FitCoupling),
	}
	for _, name := range wire.OptionNames() {
		if words := wire.OptionWords(name); words != nil {
			want[name] = words
		}
	}
	require.Len(t, want, 20)
	takesBoth := map[string]bool{"timing=shared": true, "coupling=gravity": true}
	twos := 0
	for a, valuesA := range want {
		for b, valuesB := range want {
			if a >= b {
				continue
			}
			for _, x := range valuesA {
				for _, y := range valuesB {
					alone := a == "channels" && x != "both" && takesBoth[b+"="+y] || b == "channels" && y != "both" && takesBoth[a+"="+x]
					have := slices.ContainsFunc(rows, func(r map[string]string) bool { return r[a] == x && r[b] == y })
					assert.Equal(t, !alone, have, "%s=%s with %s=%s", a, x, b, y)
					twos++
				}
			}
		}
	}
	assert.Greater(t, twos, 1000)
	assert.LessOrEqual(t, len(rows), 25)
}

var purposes = regexp.MustCompile(`^(?:With (.+) under way|Soon after (.+)), (.+)\.$`)

// Every published pair is what it says: on its row's unit, the first is under way, or has just been, when the other happens. And every
// ordered pair of features is tried on two rows, every row tries some.
func TestEveryPairOfFeaturesIsTried(t *testing.T) {
	_, units := publishedRows(t)
	rowsOf := map[[2]string][]int{}
	perRow := make([]int, len(units))
	for _, v := range inFile(t, "pairs.json") {
		m := purposes.FindStringSubmatch(v.Purpose)
		require.NotNil(t, m, v.Purpose)
		first, then := m[1]+m[2], m[3]
		row, err := strconv.Atoi(strings.Trim(v.Derivation, "Row ."))
		require.NoError(t, err)
		ics := units[row-1]
		ok, why := v.Applies(&ics)
		require.True(t, ok, "%s: %s", v.ID, why)
		require.True(t, holds(v, &ics), v.ID)
		found := false
		for _, at := range watch(t, v, ics) {
			found = found || at.happens == then && slices.Contains(at.underWay, first)
		}
		assert.True(t, found, "%s: %s", v.ID, v.Purpose)
		pair := [2]string{first, then}
		assert.NotContains(t, rowsOf[pair], row)
		rowsOf[pair] = append(rowsOf[pair], row)
		perRow[row-1]++
	}
	for _, first := range featureWords {
		for _, then := range featureWords {
			if first == featureWords[summerTime] && then == first {
				continue
			}
			assert.GreaterOrEqual(t, len(rowsOf[[2]string{first, then}]), 2, "%s, %s", first, then)
		}
	}
	assert.Positive(t, slices.Min(perRow))
}

// moment is something that happens in a vector, and what is under way just before.
type moment struct {
	happens  string
	underWay []string
}

var kindFeatures = map[spec.Kind]feature{
	spec.SetMode: modeChange, spec.SetPeriod: periodEdit, spec.Override: override, spec.Boost: boost, spec.Holiday: holiday, spec.PowerOff: cut,
	spec.SetClock: clockSet, spec.Reset: reset, spec.LockArm: lock,
}

// watch plays a vector on a unit and notes what happens, looking at the unit's facts at every minute: all instants of these vectors are
// whole minutes.
func watch(t *testing.T, v *suite.Vector, ics spec.ICS) []moment {
	t.Helper()
	b, err := v.Bind(&ics)
	require.NoError(t, err)
	u, err := emulator.New(ics)
	require.NoError(t, err)
	for _, in := range append(slices.Clone(b.Fits), b.Given...) {
		u.Do(in, nil)
	}
	w := &world{ics: ics}
	var moments []moment
	last := map[feature]uint64{} // when what is soon over last happened
	note := func(f feature, before *emulator.Facts) {
		m := moment{happens: f.String()}
		for g := range numFeatures {
			at, has := last[g]
			within := uint64(30 * calendar.Minute)
			if f.timed() {
				within = calendar.Day
			}
			if underWay(g, before) || !g.lasts() && has && u.Now()-at <= within {
				m.underWay = append(m.underWay, g.String())
			}
		}
		moments = append(moments, m)
	}
	steps := b.Steps
	for {
		for len(steps) > 0 && steps[0].At == u.Now() {
			before := u.Facts()
			f, is := kindFeatures[steps[0].Input.Kind]
			if is {
				note(f, &before)
			}
			if r, _ := u.Do(steps[0].Input, nil); is && r.Outcome == spec.Accepted {
				last[f] = u.Now()
			}
			steps = steps[1:]
		}
		if u.Now() >= v.Until {
			return moments
		}
		before := u.Facts()
		u.Advance(calendar.Minute, nil)
		after := u.Facts()
		for _, f := range broughtByTheClock(w, &before, &after) {
			note(f, &before)
			last[f] = u.Now()
		}
	}
}

func underWay(f feature, facts *emulator.Facts) bool {
	switch f {
	case override:
		return anyOverride(facts)
	case boost:
		return anyBoost(facts)
	case holiday:
		return facts.Holiday.On
	case cut:
		return !facts.Powered
	case lock:
		return facts.Lock.Stage >= spec.Notice
	default:
		return false
	}
}

// broughtByTheClock says what the clock has brought in a minute.
func broughtByTheClock(w *world, before, after *emulator.Facts) []feature {
	if !before.ClockSet || !after.ClockSet || after.ClockStopped {
		return nil
	}
	was, is := w.reading(before.UTC), w.reading(after.UTC)
	var list []feature
	if w.ics.SummerTime && calendar.SummerTime(before.UTC) != calendar.SummerTime(after.UTC) {
		list = append(list, summerTime)
	}
	if calendar.DayOf(is) > calendar.DayOf(was) {
		list = append(list, midnight)
	}
	// 2000-01-01 was a Saturday.
	day, minute := (calendar.DayOf(is)+5)%7, uint16(calendar.SecondOfDay(is)/calendar.Minute)
	for c := range after.Channels {
		ch := &after.Channels[c]
		if !w.ics.Fitted.Channels.Has(spec.Channel(c)) || ch.Mode != spec.Table && ch.Mode != spec.Span {
			continue
		}
		for _, p := range ch.Table[day] {
			if p.On != p.Off && (p.On == minute || p.Off == minute) {
				list = append(list, switchingPoint)
			}
		}
	}
	return list
}

// The array's rows need no more than the greedy choice makes of them, and a row never has what cannot be.
func TestArrayIsPossible(t *testing.T) {
	for n, r := range coveringArray() {
		for i, a := range r {
			for j, b := range r {
				assert.True(t, i == j || possible(i, a, j, b), fmt.Sprintf("row %d", n+1))
			}
		}
	}
}
