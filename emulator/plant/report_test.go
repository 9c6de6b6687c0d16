package plant

import (
	"slices"
	"strings"
	"testing"
)

func rating(t testing.TB, mark string) Rating {
	t.Helper()
	r, err := ParseRating(mark)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// 3000 W at 230 V are 13.04 A, resistive: more than a relay marked 2(1), 3(1) or 6(2) A carries, on its own contact and on the common
// link. It is warned of whatever the relay carries, since the fault of a welded relay is heat without end.
func TestAnImmersionHeaterNeverHangsOnARelay(t *testing.T) {
	for plan := range Plan(NumPlans) {
		if !plan.HasCylinder() {
			continue
		}
		in := Usual(plan)
		in.Immersion = Immersion{Wired: OnHWRelay, Setting: 60 * Celsius}
		for _, mark := range []string{"2(1) A", "3(1) A", "6(2) A", "16(4) A"} {
			r := rating(t, mark)
			carried, err := CheckLoads(&in, DefaultLoads(0), Board{Contact: r, Common: r})
			if err != nil {
				t.Fatal(err)
			}
			weak := mark != "16(4) A"
			for _, c := range carried {
				if c.Contact == HWRelayOn || c.Common {
					if c.Refused != weak || !slices.Contains(c.By, ImmersionLoad) || c.Amount.Resistive != 13044 {
						t.Errorf("%v, %s: %v", plan, mark, c)
					}
				}
			}
		}
		warnings, err := Warnings(&in, Use{})
		if err != nil {
			t.Fatal(err)
		}
		if !slices.ContainsFunc(warnings, func(w Warning) bool { return w.Kind == ImmersionOnRelay && w.Danger }) {
			t.Errorf("%v: no warning among %v", plan, warnings)
		}
	}
	in := Usual(TwoValves)
	in.Immersion = Immersion{Wired: OwnCircuit, On: true, Setting: 60 * Celsius}
	carried, err := CheckLoads(&in, DefaultLoads(0), Board{rating(t, "3(1) A"), rating(t, "3(1) A")})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range carried {
		if c.Refused || slices.Contains(c.By, ImmersionLoad) {
			t.Errorf("on its own circuit: %v", c)
		}
	}
}

// At 230 V a valve of 6 W draws 27 mA, a pump of 90 W 392 mA, a boiler of 100 W 435 mA, all inductive, rounded up. By hand.
func TestLoadsAreSummedAlongTheirPath(t *testing.T) {
	for _, c := range []struct {
		plan                               Plan
		overrun                            uint16
		hwOn, hwOff, chOn, chOff, together uint32
	}{
		{GravityUnvalved, 0, 435, 0, 392, 0, 827},
		{GravityValved, 0, 27, 0, 827, 0, 827}, // the open valve's end switch takes the boiler off the relays
		{TwoValves, 0, 27, 0, 27, 0, 54},
		{MidPosition, 0, 827, 27, 854, 0, 854},
		{MidPosition, 300, 435, 27, 462, 0, 462}, // the pump hangs on the boiler's own live
		{Diverter, 0, 854, 0, 827, 0, 854},
		{Combination, 0, 0, 0, 827, 0, 827},
		{TwoZones, 0, 27, 0, 27, 0, 54},
	} {
		in := Usual(c.plan)
		in.Overrun = c.overrun
		carried, err := CheckLoads(&in, DefaultLoads(0), Board{rating(t, "2(0.5) A"), rating(t, "2(0.82) A")})
		if err != nil {
			t.Fatal(err)
		}
		want := []uint32{c.hwOn, c.hwOff, c.chOn, c.chOff, c.together}
		for i, got := range carried {
			limit := uint32(500)
			if got.Common {
				limit = 820
			}
			if got.Amount != (Rating{Inductive: want[i]}) || got.Refused != (want[i] > limit) || got.Common != (i == 4) {
				t.Errorf("%v, overrun %d: %v; want %d mA", c.plan, c.overrun, got, want[i])
			}
		}
	}
	// A second time control feeds the same terminal: what hangs on permanent live is not the relay's for that.
	in := Usual(TwoValves)
	in.SecondControl = SecondControl{Fitted: true, From: 1, To: 2}
	carried, err := CheckLoads(&in, DefaultLoads(0), Board{rating(t, "3(1) A"), rating(t, "3(1) A")})
	if err != nil {
		t.Fatal(err)
	}
	if got := carried[2].Amount; got != (Rating{Inductive: 27}) {
		t.Errorf("beside a second time control: %v", carried[2])
	}
	in = Usual(Combination)
	carried, err = CheckLoads(&in, DefaultLoads(115), Board{rating(t, "3(1) A"), rating(t, "3(1) A")})
	if err != nil {
		t.Fatal(err)
	}
	want := "the heating relay's on contact carries 0 A resistive and 1.653 A inductive (the pump and the boiler), more than its 3(1) A"
	if got := carried[2].String(); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestRatings(t *testing.T) {
	for mark, want := range map[string]Rating{
		"2(1) A": {2000, 1000}, "3(1)A": {3000, 1000}, " 6 (2) A ": {6000, 2000}, "16 A": {16000, 0}, "0.5(0.25) A": {500, 250}, "100 A": {100_000, 0},
	} {
		got, err := ParseRating(mark)
		if err != nil || got != want {
			t.Errorf("%q: %+v, %v; want %+v", mark, got, err, want)
		}
		if again, err := ParseRating(got.String()); err != nil || again != got {
			t.Errorf("%q: written %q, and read as %+v, %v", mark, got, again, err)
		}
	}
	for mark, want := range map[string]string{
		"":                       `rating "", column 1: a number of amperes is missing: write it as on the unit, as in "3(1) A"`,
		"A":                      "column 1: a number of amperes is missing",
		"3(1)":                   "column 5: the mark must end with A",
		"3(1 A":                  "column 4: the bracket is not closed",
		"3() A":                  "column 3: a number of amperes is missing",
		"3(1) V":                 "must end with A",
		"3(1) A 250":             "must end with A",
		"1(3) A":                 "the inductive current is higher",
		"101 A":                  "more than 100 A",
		"99999999999999999999 A": "more than 100 A",
		"1.2345 A":               "up to three decimals",
		"1.2.3 A":                "one point",
		"3. A":                   "missing",
		"-3 A":                   "column 1",
	} {
		if _, err := ParseRating(mark); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: error %v, want %q", mark, err, want)
		}
	}
}

func FuzzParseRating(f *testing.F) {
	for _, s := range []string{"3(1) A", "16 A", "0.5(0.25)A", "(", "3(", "1e3 A"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, mark string) {
		r, err := ParseRating(mark)
		if err != nil {
			return
		}
		if r.Inductive > r.Resistive || r.Resistive > 100*Ampere {
			t.Fatalf("%q: %+v", mark, r)
		}
		if again, err := ParseRating(r.String()); err != nil || again != r {
			t.Fatalf("%q: written %q, and read as %+v, %v", mark, r, again, err)
		}
	})
}

func TestInterlock(t *testing.T) {
	frost := func(in *Installation) { in.Frost = Thermostat{Fitted: true, Setting: 4 * Celsius, Band: Celsius} }
	fault := func(f Fault) func(*Installation) { return func(in *Installation) { *in = in.With(f) } }
	for _, c := range []struct {
		name                     string
		plan                     Plan
		change                   func(*Installation)
		holds                    bool
		unsatisfied, unroomed    bool
		leaksMeant, leaksUnmeant int
	}{
		{"unvalved gravity", GravityUnvalved, nil, false, true, false, 0, 0},
		{"a cylinder valve", GravityValved, nil, true, false, false, 0, 0},
		{"two valves", TwoValves, nil, true, false, false, 0, 0},
		{"mid-position", MidPosition, nil, true, false, false, 0, 0},
		{"diverter", Diverter, nil, true, false, false, 0, 0},
		{"combination", Combination, nil, true, false, false, 0, 0},
		{"two zones", TwoZones, nil, true, false, false, 0, 0},
		{"no room thermostat", TwoValves, func(in *Installation) { in.Room.Fitted = false }, false, false, true, 0, 0},
		{"no cylinder thermostat", MidPosition, func(in *Installation) { in.Cylinder.Fitted = false }, false, true, false, 0, 0},
		{"frost thermostat", TwoValves, frost, true, false, false, 2, 0}, // boiler and pump
		{"frost thermostat on a combination boiler", Combination, frost, true, false, false, 2, 0},
		{"second time control", Combination, func(in *Installation) {
			in.SecondControl = SecondControl{Fitted: true, From: 1, To: 2}
		}, true, false, false, 2, 0},
		{"second time control, and a bridge besides", Combination, func(in *Installation) {
			in.SecondControl = SecondControl{Fitted: true, From: 1, To: 2}
			*in = in.With(Bridge(PlantLive, BoilerCall))
		}, false, false, true, 0, 2},
		{"second time control on hot water, which is bridged to heating", Combination, func(in *Installation) {
			in.SecondControl = SecondControl{Fitted: true, OnHW: true, From: 1, To: 2}
			*in = in.With(Bridge(HWOn, CHOn))
		}, false, false, false, 0, 2},
		{"overrun", Combination, func(in *Installation) { in.Overrun = 300 }, true, false, false, 1, 0},
		{"end switch stuck closed", TwoValves, fault(Stuck(CHValveEndContact, true)), false, true, true, 0, 2},
		{"valve stuck open", TwoValves, fault(StuckValve(HWValveLoad, Open)), false, true, true, 0, 2},
		{"bridged room thermostat", Combination, fault(Bridge(RoomStatFeed, RoomStatOut)), false, false, true, 0, 0},
		{"welded relay", Combination, fault(Stuck(CHRelayOn, true)), false, false, false, 0, 2},
		{"boiler bridged to live", Diverter, fault(Bridge(PlantLive, BoilerCall)), false, true, true, 0, 2},
	} {
		in := Usual(c.plan)
		if c.change != nil {
			c.change(&in)
		}
		got, err := CheckInterlock(&in)
		if err != nil {
			t.Fatal(err)
		}
		meant, unmeant := 0, 0
		for _, l := range got.Leaks {
			if l.Meant {
				meant++
			} else {
				unmeant++
			}
		}
		if got.Holds() != c.holds || got.Unsatisfied != c.unsatisfied || got.Unroomed != c.unroomed || meant != c.leaksMeant || unmeant != c.leaksUnmeant {
			t.Errorf("%s: holds %v, unsatisfied %v, unroomed %v, leaks %+v", c.name, got.Holds(), got.Unsatisfied, got.Unroomed, got.Leaks)
		}
	}
}

func TestWarnings(t *testing.T) {
	for _, c := range []struct {
		name   string
		plan   Plan
		change func(*Installation)
		use    Use
		want   []WarningKind
	}{
		{"nothing", TwoValves, nil, Use{}, nil},
		{"unvalved gravity", GravityUnvalved, nil, Use{}, []WarningKind{NoInterlock}},
		{"unvented on it", GravityUnvalved, func(in *Installation) { in.Unvented = true }, Use{}, []WarningKind{UnventedOnGravity, NoInterlock}},
		{"unvented with a valve", TwoValves, func(in *Installation) { in.Unvented = true }, Use{}, nil},
		{"two supplies", Combination, func(in *Installation) { in.Supply = VoltFreeApart }, Use{}, []WarningKind{TwoSupplies, LiveWithoutUnit}},
		{"volt-free", Combination, func(in *Installation) { in.Supply = VoltFree }, Use{}, []WarningKind{LiveWithoutUnit}},
		{"holiday", Combination, nil, Use{Holiday: true}, []WarningKind{NoFrostProtection}},
		{"holiday with frost protection", Combination, func(in *Installation) {
			in.Frost = Thermostat{Fitted: true, Setting: 4 * Celsius, Band: Celsius}
		}, Use{Holiday: true}, nil},
		{"tepid", TwoValves, func(in *Installation) { in.Cylinder.Setting = 50 * Celsius }, Use{}, []WarningKind{TepidCylinder}},
		{"scalding", TwoValves, func(in *Installation) { in.Cylinder.Setting = 70 * Celsius }, Use{}, []WarningKind{Scalding}},
		{"bridged outputs", TwoValves, func(in *Installation) { *in = in.With(Bridge(HWOn, CHOn)) }, Use{}, []WarningKind{BackFed}},
		{"a mid-position plant, which feeds back when sound", MidPosition, func(in *Installation) {
			*in = in.With(Reads(RoomStatContact, Celsius))
		}, Use{}, nil},
		{"immersion on the relay", Diverter, func(in *Installation) {
			in.Immersion = Immersion{Wired: OnHWRelay, Setting: 60 * Celsius}
		}, Use{}, []WarningKind{ImmersionOnRelay}},
	} {
		in := Usual(c.plan)
		if c.change != nil {
			c.change(&in)
		}
		got, err := Warnings(&in, c.use)
		if err != nil {
			t.Fatal(err)
		}
		var kinds []WarningKind
		harm := false
		for _, w := range got {
			kinds = append(kinds, w.Kind)
			if w.Kind == NoInterlock && !strings.Contains(w.Words, "nothing stops the boiler when the cylinder is hot") {
				t.Errorf("%s: %s", c.name, w.Words)
			}
			if w.Words == "" || w.Caution != Caution || harm && w.Danger {
				t.Errorf("%s: %+v", c.name, w)
			}
			harm = harm || !w.Danger
		}
		if !slices.Equal(kinds, c.want) {
			t.Errorf("%s: %v, want %v", c.name, kinds, c.want)
		}
	}
}

// One table as a person sees it, laid out by hand from the truth table.
func TestAPrintedTable(t *testing.T) {
	in := Usual(GravityUnvalved)
	rows, err := LiveTable(&in)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	if err := WriteTable(&b, &in, rows); err != nil {
		t.Fatal(err)
	}
	const want = `mains  hw  ch  room       hw-on  hw-off  ch-on  ch-off  call  pump  valves
on     0   0   calls      -      L       -      L       -     -
on     0   0   satisfied  -      L       -      L       -     -
on     0   1   calls      -      L       L      -       -     L
on     0   1   satisfied  -      L       L      -       -     -
on     1   0   calls      L      -       -      L       L     -
on     1   0   satisfied  L      -       -      L       L     -
on     1   1   calls      L      -       L      -       L     L
on     1   1   satisfied  L      -       L      -       L     -
none   0   0   calls      -      -       -      -       -     -
none   0   0   satisfied  -      -       -      -       -     -
`
	if b.String() != want {
		t.Errorf("got\n%s\nwant\n%s", b.String(), want)
	}
	in.Supply = VoltFreeApart
	if rows, err = LiveTable(&in); err != nil {
		t.Fatal(err)
	}
	b.Reset()
	if err := WriteTable(&b, &in, rows[len(rows)-6:]); err != nil {
		t.Fatal(err)
	}
	const apart = `mains       hw  ch  room       hw-on  hw-off  ch-on  ch-off  call  pump  valves
plant only  0   0   calls      -      L       -      L       -     -
plant only  0   0   satisfied  -      L       -      L       -     -
unit only   0   0   calls      -      -       -      -       -     -
unit only   0   0   satisfied  -      -       -      -       -     -
none        0   0   calls      -      -       -      -       -     -
none        0   0   satisfied  -      -       -      -       -     -
`
	if b.String() != apart {
		t.Errorf("got\n%s\nwant\n%s", b.String(), apart)
	}
	in = Usual(MidPosition)
	if rows, err = LiveTable(&in); err != nil {
		t.Fatal(err)
	}
	b.Reset()
	if err := WriteTable(&b, &in, rows); err != nil {
		t.Fatal(err)
	}
	if line := "on     1   1   satisfied  satisfied  L      L       L      -       -             L          -     -     the three-port valve in the middle, held where it was\n"; !strings.Contains(b.String(), line) {
		t.Errorf("no line %qin\n%s", line, b.String())
	}
}
