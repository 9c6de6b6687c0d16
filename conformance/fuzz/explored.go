package fuzz

import (
	"context"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/emulator/calendar"
)

// Explored makes a finding of a script on which a unit departs, and which is as short as it can be: an exploration's counterexample. At its end
// time passes for as long as a vector takes to tell the departure. There is no finding, and no error, if none does: the unit's tolerances
// excuse it, or the next input makes up for it within its second.
func Explored(ctx context.Context, unit iut.IUT, script iut.Script) (*Finding, error) {
	c, err := New(unit, Options{})
	if err != nil {
		return nil, err
	}
	for _, more := range [...]uint64{0, calendar.Minute, calendar.Hour, calendar.Day} {
		s := storyOf(script)
		s.end += more
		list, err := c.watch(ctx, &s)
		if err != nil {
			return nil, err
		}
		if len(list) == 0 {
			continue
		}
		f := &Finding{Departure: list[0], Script: s.script(nil), ICS: c.ics, Times: 1, explored: true, story: s}
		f.Group = f.group()
		if err := c.confirm(ctx, f); err != nil || f.Result != nil {
			return f, err
		}
	}
	return nil, nil
}
