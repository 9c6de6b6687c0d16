package emulator

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/spec"
)

// What Apart says without looking at what is long is so, and what has become another is in every bit what that is.
func TestApart(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 8))
	for _, change := range []func(*spec.ICS){
		func(*spec.ICS) {},
		func(s *spec.ICS) { s.OverrideProgrammed, s.Wrap, s.Clamp = true, true, true },
		func(s *spec.ICS) { s.LostClock, s.ResetUnsetsClock, s.Reserve = spec.LostRestarts, true, 1 },
	} {
		ics := spec.FullICS()
		change(&ics)
		u, err := New(ics)
		require.NoError(t, err)
		v := u
		var facts []Facts
		seen := map[Parts]int{}
		short := 0
		for range 20_000 {
			in := spec.Input{Kind: spec.Kind(random.IntN(spec.NumKinds)), Channel: spec.Channel(random.IntN(2))}
			switch in.Kind {
			case spec.PowerOff:
				if random.IntN(4) > 0 {
					in.Kind = spec.PowerOn
				}
			case spec.SetClock:
				in.Date, in.Minute = spec.Date{Year: 2026, Month: 10, Day: uint8(24 + random.IntN(3))}, uint16(random.IntN(1440))
			case spec.SetMode:
				in.Mode = spec.Mode(random.IntN(4))
			case spec.SetPeriod:
				in.Table, in.Day, in.Slot = spec.TableID(in.Channel), spec.Day(random.IntN(7)), 1
				in.Period = spec.Period{On: 400, Off: uint16(400 + random.IntN(3))}
			case spec.Boost, spec.Holiday:
				in.Amount = uint32(random.IntN(3)) * 60
			case spec.Fit:
				in.FitOption, in.FitValue = spec.FitOption(random.IntN(4)), uint8(random.IntN(2))
			case spec.LockArm, spec.LockRemove:
				in.Credential = ics.Credential
				in.Terms = spec.LockTerms{Days: 1, NoticeDays: 1, Notice: [2]uint8{10, spec.NoAllowance}, Restricted: [2]uint8{20, 30}}
			}
			u.Give(&in, nil)
			switch random.IntN(6) {
			case 0:
				u.Advance(uint64(random.IntN(100_000)), nil)
			case 1:
				facts = append(facts, u.Facts())
				to := &facts[random.IntN(len(facts))]
				moved := u
				u.Restore(to)
				require.Equal(t, *to, u.Facts())
				if moved.tables == u.tables {
					moved.RestoreMoment(to)
					require.Equal(t, u, moved, "the tables stay as they were")
					short++
				}
			}

			parts := u.Apart(&v)
			require.Equal(t, u.moment != v.moment, parts&Moment != 0)
			require.Equal(t, u.tables != v.tables, parts&Tables != 0)
			require.Equal(t, u.plans != v.plans, parts&Plans != 0)
			seen[parts]++
			if random.IntN(2) == 0 {
				v.Become(&u, parts)
				require.Equal(t, u, v)
			} else {
				u.Become(&v, parts)
				require.Equal(t, v, u)
			}
		}
		for _, parts := range []Parts{0, Moment, Moment | Plans, Moment | Tables | Plans} {
			require.Greater(t, seen[parts], 10, "%d", parts)
		}
		require.Greater(t, short, 10)
	}
}
