package plant

import (
	"testing"

	"pgregory.net/rapid"
)

// anything draws an installation with any fittings and up to three faults.
func anything(t *rapid.T) Installation {
	in := Usual(Plan(rapid.IntRange(0, NumPlans-1).Draw(t, "plan")))
	in.Supply = Supply(rapid.IntRange(0, NumSupplies-1).Draw(t, "supply"))
	if rapid.Bool().Draw(t, "full") {
		supply := in.Supply
		in = full(in.Plan)
		in.Supply = supply
	}
	if in.Plan.HasCylinder() && rapid.Bool().Draw(t, "on the relay") {
		in.Immersion = Immersion{Wired: OnHWRelay, Setting: 60 * Celsius}
	}
	in.Room.Setting = Temp(rapid.Int32Range(5_000, 30_000).Draw(t, "room"))
	in.Outdoor = Temp(rapid.Int32Range(-10_000, 25_000).Draw(t, "outdoors"))
	if rapid.Bool().Draw(t, "programmable") {
		in.Room.Setback, in.Room.From, in.Room.To = 12*Celsius, 6*3600, rapid.Uint32Range(0, 86399).Draw(t, "to")
	}
	in.Draws[2] = Draw{At: rapid.Uint32Range(0, 86399).Draw(t, "draw"), Seconds: 300, Percent: 30}
	faults := in.PossibleFaults()
	for range rapid.IntRange(0, 3).Draw(t, "faults") {
		in = in.With(rapid.SampledFrom(faults).Draw(t, "fault"))
	}
	if err := in.Validate(); err != nil {
		t.Fatal(err)
	}
	return in
}

func anyInputs(t *rapid.T) Inputs {
	return Inputs{
		HW: rapid.Bool().Draw(t, "hw"), CH: rapid.Bool().Draw(t, "ch"),
		UnitPower: rapid.IntRange(0, 3).Draw(t, "unit") > 0, PlantPower: rapid.IntRange(0, 3).Draw(t, "plant") > 0,
	}
}

// live decides by another way than the nets do: from the terminals of Conductors and Contact.Ends, one step at a time.
func live(in *Installation, closed Contacts, set Inputs) (s Terminals) {
	sound := *in
	sound.Faults = [MaxFaults]Fault{}
	type pair struct{ a, b Terminal }
	var wires []pair
	for _, c := range sound.Conductors() {
		open := false
		for _, f := range in.Faults {
			open = open || f.Kind == ConductorOpen && f.A == c.A && f.B == c.B
		}
		if !open {
			wires = append(wires, pair{c.A, c.B})
		}
	}
	for _, f := range in.Faults {
		if f.Kind == Crossed {
			for i := range wires {
				for _, end := range []*Terminal{&wires[i].a, &wires[i].b} {
					if *end == f.A {
						*end = f.B
					} else if *end == f.B {
						*end = f.A
					}
				}
			}
		}
	}
	for _, f := range in.Faults {
		if f.Kind == Bridged {
			wires = append(wires, pair{f.A, f.B})
		}
	}
	for c := range Contact(NumContacts) {
		if closed.Has(c) {
			a, b := c.Ends()
			wires = append(wires, pair{a, b})
		}
	}
	if set.UnitPower {
		s |= 1 << UnitSupply
	}
	if set.PlantPower && in.Supply != SwitchesMains {
		s |= 1 << PlantSupply
	}
	if (set.UnitPower || set.PlantPower) && in.Immersion.Wired == OwnCircuit {
		s |= 1 << ImmersionFeed
	}
	for range NumTerminals {
		for _, w := range wires {
			if s.Has(w.a) || s.Has(w.b) {
				s |= 1<<w.a | 1<<w.b
			}
		}
	}
	return s & in.Terminals()
}

func TestInvariants(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anything(t)
		p, err := New(in, UsualStart(rapid.Int64Range(0, 1<<30).Draw(t, "start")))
		if err != nil {
			t.Fatal(err)
		}
		var buf []Change
		for range rapid.IntRange(1, 12).Draw(t, "steps") {
			set := anyInputs(t)
			before := p.Now()
			buf = p.Set(set, buf[:0])
			if again := p.Set(set, nil); len(again) != 0 {
				t.Fatalf("what is set already changes something: %v", says(again))
			}
			d := rapid.Uint64Range(0, 5000).Draw(t, "seconds")
			one, many := p, p
			split := rapid.Uint64Range(0, d).Draw(t, "split")
			whole := one.Advance(d, nil)
			parts := many.Advance(split, nil)
			if all := many.Advance(d-split, parts); many != one || says(all) != says(whole) {
				t.Fatalf("%d s, then %d s, are not %d s:\n%s\nand at once:\n%s", split, d-split, d, says(all), says(whole))
			}
			again := p
			if same := again.Advance(d, nil); again != one || says(same) != says(whole) {
				t.Fatal("a copy did not do the same")
			}
			last := [NumPoints]Level{}
			for pt := range Point(NumPoints) {
				last[pt] = p.Level(pt)
			}
			at, point := before, Point(0)
			for i, c := range whole {
				if c.At <= before || c.At > before+int64(d) || c.At < at || c.At == at && i > 0 && c.Point <= point {
					t.Fatalf("change %d is out of order:\n%s", i, says(whole))
				}
				if last[c.Point] == c.Level || !in.Has(c.Point) {
					t.Fatalf("change %d changes nothing, or what is not there: %v", i, says(whole[i:i+1]))
				}
				at, point, last[c.Point] = c.At, c.Point, c.Level
			}
			p = one
			for pt, l := range last {
				if p.Level(Point(pt)) != l {
					t.Fatalf("%v shows %v, and its last change said %v", Point(pt), p.Level(Point(pt)), l)
				}
			}
			if want := live(&in, p.closed, set); p.Live() != want {
				t.Fatalf("live: %v\nwant: %v", p.Live(), want)
			}
			if !set.UnitPower && !set.PlantPower && p.Live() != 0 {
				t.Fatalf("live without a supply: %v", p.Live())
			}
			for b := range Body(NumBodies) {
				if temp := p.Temp(b); temp < -10*Celsius || temp > 95*Celsius {
					t.Fatalf("%v at %v", b, temp)
				}
			}
		}
	})
}

// Closing a contact never takes mains from a terminal.
func TestClosingAContactNeverKillsATerminal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anything(t)
		n := in.compile()
		closed := Contacts(rapid.Uint32().Draw(t, "closed")) & n.present
		from := uint64(1)<<n.of[UnitSupply] | 1<<n.of[PlantSupply]
		before := n.reach(from, closed)
		c := Contact(rapid.IntRange(0, NumContacts-1).Draw(t, "contact"))
		if after := n.reach(from, closed|1<<c&n.present); before&^after != 0 {
			t.Fatalf("%v closes, and these are dead: %v", c, n.terminals(before&^after))
		}
	})
}

// What a plant says is live, the path behind its words can show, and the other way round.
func TestPathsAgreeWithWhatIsLive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anything(t)
		p, err := New(in, UsualStart(0))
		if err != nil {
			t.Fatal(err)
		}
		p.Set(anyInputs(t), nil)
		p.Advance(rapid.Uint64Range(0, 100_000).Draw(t, "seconds"), nil)
		live := p.Live()
		w := p.Why(Call).Why
		for term := range Terminal(NumTerminals) {
			path, is := in.Path(w, term)
			if is != live.Has(term) {
				t.Fatalf("%v: live %v, by its path %v: %v", term, live.Has(term), is, path)
			}
			for _, c := range path {
				if w.Closed.Has(c) != is {
					t.Fatalf("%v: live %v, and its path has %v", term, is, c)
				}
			}
		}
		for pt := range Point(NumPoints) {
			if in.Has(pt) {
				in.Because(p.Why(pt))
			}
		}
	})
}

// The end switch of a valve, wired so as to feed its own motor when shut and cut it when open, sends the valve back the moment it
// arrives, for ever: every quarter of its spring's travel, and a table says that it never rests.
func TestWiringThatUndoesItselfDoesNotHang(t *testing.T) {
	in := steady(GravityValved).With(Bridge(HWValveEndFeed, HWValveMotor)).With(OpenAt(PlantLive, HWValveEndOpen))
	p := start(t, in)
	p.Set(mains, nil)
	p.Set(heating, nil)
	arrivals := 0
	for p.Now() < 600 {
		next, ok := p.Next()
		if !ok {
			t.Fatal("it has come to rest")
		}
		p.Advance(uint64(next-p.Now()), nil)
		arrivals++
	}
	// From 20 s on every 2 s, a quarter of the spring's 8, and a few other instants.
	if arrivals < (600-20)/2 || arrivals > (600-20)/2+5 {
		t.Errorf("%d instants in 600 s", arrivals)
	}
	rows, err := LiveTable(&in)
	if err != nil {
		t.Fatal(err)
	}
	unsettled := 0
	for _, r := range rows {
		if r.Unsettled {
			unsettled++
		}
	}
	if unsettled == 0 {
		t.Error("every row of the table has come to rest")
	}
}

func TestNothingAllocatesPerStep(t *testing.T) {
	p := start(t, full(MidPosition))
	buf := make([]Change, 0, 10_000)
	if n := testing.AllocsPerRun(5, func() {
		q := p
		buf = twoWeeks(&q, buf[:0])
		buf = q.Draw(Draw{Percent: 50}, buf)
	}); n != 0 {
		t.Errorf("%g allocations", n)
	}
}
