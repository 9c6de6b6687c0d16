package complaint

import (
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// Arrangement is what unit, plant and settings are taken to be from an instant on.
type Arrangement struct {
	From     int64 // the first one holds from the account's beginning on
	ICS      spec.ICS
	Plant    plant.Installation
	Settings []Claim
	// Renewed is set where the unit begins anew with the settings, rather than going on as it was.
	Renewed bool
}

// Arrangements returns the arrangements in the course of the account, in order of time: one, and another for each change that says what was otherwise
// before it.
func (c *Complaint) Arrangements() []Arrangement {
	unit, installation, settings := c.Unit, c.Installation, c.Settings
	all := []Arrangement{c.arrangement(c.From, unit, installation, settings)}
	for i := len(c.Changed) - 1; i >= 0; i-- {
		t := &c.Changed[i]
		if len(t.UnitBefore) == 0 && len(t.InstallationBefore) == 0 && len(t.SettingsBefore) == 0 {
			continue
		}
		all[0].From = t.When.Windows[0].Middle()
		all[0].Renewed = t.Kind == NewProgrammer || len(t.SettingsBefore) > 0
		unit = over(unit, t.UnitBefore, func(o *Option) string { return o.Name })
		installation = over(installation, t.InstallationBefore, func(f *Fitting) string { return f.Name })
		if len(t.SettingsBefore) > 0 {
			settings = append(append([]Claim(nil), t.SettingsBefore...), settings...)
		}
		all = append([]Arrangement{c.arrangement(c.From, unit, installation, settings)}, all...)
	}
	all[0].Renewed = true
	for i := 1; i < len(all); i++ {
		// A unit keeps its name only if nothing but what is fitted at its back has changed.
		before, now := all[i-1].ICS, all[i].ICS
		before.Fitted = now.Fitted
		all[i].Renewed = all[i].Renewed || before != now
	}
	return all
}

func (c *Complaint) arrangement(from int64, unit []Option, installation []Fitting, settings []Claim) Arrangement {
	return Arrangement{From: from, ICS: c.icsWith(unit, installation, settings), Plant: c.plantWith(unit, installation), Settings: settings}
}

// over returns what was stated, with what was otherwise in its place.
func over[T any](stated, otherwise []T, name func(*T) string) []T {
	all := append([]T(nil), otherwise...)
	told := map[string]bool{}
	for i := range otherwise {
		told[name(&otherwise[i])] = true
	}
	for i := range stated {
		if !told[name(&stated[i])] {
			all = append(all, stated[i])
		}
	}
	return all
}
