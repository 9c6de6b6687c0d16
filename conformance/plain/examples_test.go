package plain

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/hearthbench/emulator/spec"
)

// The worked examples of vectors/BEHAVIOUR.md, with the changes they state written out by hand.

const (
	powerOn  = spec.PowerOn
	powerOff = spec.PowerOff
)

func heatingOnly(t *testing.T, ics spec.ICS, start string, periods ...spec.Period) *bench {
	b := newBench(t, ics, start)
	b.do(mode(spec.HW, spec.Off))
	b.table(spec.CHTable, spec.All, periods...)
	return b
}

var twoPeriods = []spec.Period{period(6, 30, 9, 0), period(17, 0, 22, 0)}

func TestExample1OverrideInAPeriod(t *testing.T) {
	b := heatingOnly(t, designICS(), "2026-01-14T05:00:00Z", twoPeriods...)
	b.until("2026-01-14T08:00:00Z")
	b.do(override(spec.CH))
	b.until("2026-01-14T23:00:00Z")
	b.changes(
		"2026-01-14T06:30:00Z ch 1 MOD-2",
		"2026-01-14T08:00:00Z ch 0 OVR-1",
		"2026-01-14T17:00:00Z ch 1 MOD-2",
		"2026-01-14T22:00:00Z ch 0 MOD-2",
	)
}

func TestExample1OverrideBetweenPeriods(t *testing.T) {
	b := heatingOnly(t, designICS(), "2026-01-14T05:00:00Z", twoPeriods...)
	b.until("2026-01-14T10:00:00Z")
	b.do(override(spec.CH))
	b.until("2026-01-14T23:00:00Z")
	b.changes(
		"2026-01-14T06:30:00Z ch 1 MOD-2",
		"2026-01-14T09:00:00Z ch 0 MOD-2",
		"2026-01-14T10:00:00Z ch 1 OVR-1",
		"2026-01-14T22:00:00Z ch 0 MOD-2",
	)
}

func TestExample2Boost(t *testing.T) {
	b := heatingOnly(t, designICS(), "2026-01-14T05:00:00Z", twoPeriods...)
	b.until("2026-01-14T07:00:00Z")
	b.do(boost(spec.CH, 60))
	b.until("2026-01-14T08:30:00Z")
	b.do(boost(spec.CH, 60))
	b.until("2026-01-14T12:00:00Z")
	b.changes(
		"2026-01-14T06:30:00Z ch 1 MOD-2",
		"2026-01-14T09:30:00Z ch 0 MOD-2",
	)
}

func TestExample3Spring(t *testing.T) {
	b := heatingOnly(t, designICS(), "2026-03-29T00:00:00Z", period(1, 0, 2, 0))
	b.until("2026-03-29T00:30:00Z")
	b.do(boost(spec.CH, 60))
	b.until("2026-03-29T00:59:59Z")
	assert.Equal(t, "2026-03-29 00:59:59", b.display())
	b.until("2026-03-29T01:00:00Z")
	assert.Equal(t, "2026-03-29 02:00:00", b.display())
	b.until("2026-03-29T01:30:00Z")
	assert.Equal(t, "2026-03-29 02:30:00", b.display())
	b.until("2026-03-30T00:30:00+01:00")
	b.changes(
		"2026-03-29T00:30:00Z ch 1 BST-1",
		"2026-03-29T02:30:00+01:00 ch 0 MOD-2",
	)
}

func TestExample3SpringWithoutBoost(t *testing.T) {
	b := heatingOnly(t, designICS(), "2026-03-28T12:00:00Z", period(1, 0, 2, 0))
	b.until("2026-03-30T12:00:00+01:00")
	b.changes( // nothing in the night of the change
		"2026-03-30T01:00:00+01:00 ch 1 MOD-2",
		"2026-03-30T02:00:00+01:00 ch 0 MOD-2",
	)
}

func TestExample4Autumn(t *testing.T) {
	b := heatingOnly(t, designICS(), "2026-10-25T00:00:00+01:00", period(1, 30, 2, 0))
	b.until("2026-10-25T01:59:59+01:00")
	assert.Equal(t, "2026-10-25 01:59:59", b.display())
	b.until("2026-10-25T01:00:00Z")
	assert.Equal(t, "2026-10-25 01:00:00", b.display())
	b.until("2026-10-25T12:00:00Z")
	b.changes(
		"2026-10-25T01:30:00+01:00 ch 1 MOD-2",
		"2026-10-25T01:00:00Z ch 0 MOD-2",
		"2026-10-25T01:30:00Z ch 1 MOD-2",
		"2026-10-25T02:00:00Z ch 0 MOD-2",
	)
}

func TestExample5Gravity(t *testing.T) {
	b := newBench(t, designICS(), "2026-01-14T05:00:00Z",
		spec.Input{Kind: spec.Fit, FitOption: spec.FitCoupling, FitValue: uint8(spec.Gravity)})
	b.do(mode(spec.HW, spec.Off))
	b.table(spec.CHTable, spec.All, period(6, 30, 9, 0))
	b.until("2026-01-14T12:00:00Z")
	b.changes(
		"2026-01-14T06:30:00Z hw 1 CPL-1",
		"2026-01-14T06:30:00Z ch 1 MOD-2",
		"2026-01-14T09:00:00Z ch 0 MOD-2",
		"2026-01-14T09:00:00Z hw 0 MOD-1",
	)
}

func TestExample6Lock(t *testing.T) {
	const none = spec.NoAllowance
	b := newBench(t, designICS(), "2026-01-10T12:00:00Z")
	b.do(mode(spec.HW, spec.Off))
	b.do(mode(spec.CH, spec.Always))
	b.do(spec.Input{Kind: spec.LockArm, Credential: "2468", Terms: spec.LockTerms{
		Days: 30, NoticeDays: 7,
		Notice:     [2]uint8{none, none},
		Restricted: [2]uint8{none, 20},
	}})
	b.until("2026-02-09T11:59:59Z")
	b.do(spec.Input{Kind: spec.Reset}) // both modes `table`: the default periods are 16:00 to 23:00 and 07:00 to 09:00
	b.do(mode(spec.HW, spec.Off))
	b.do(mode(spec.CH, spec.Always))
	b.until("2026-02-09T12:10:00Z")
	b.do(clock("2026-02-09 09:59")) // moves no window
	b.until("2026-02-09T13:30:00Z")
	b.changes(
		"2026-02-02T12:00:00Z alert 2 LCK-3",
		"2026-02-09T11:59:59Z ch 0 MOD-2",
		"2026-02-09T11:59:59Z ch 1 MOD-6",
		"2026-02-09T12:00:00Z alert 3 LCK-4",
		"2026-02-09T12:20:00Z ch 0 LCK-13",
		"2026-02-09T13:00:00Z ch 1 MOD-6",
		"2026-02-09T13:20:00Z ch 0 LCK-13",
	)
}

func TestExample7CutAtASwitchingPoint(t *testing.T) {
	b := heatingOnly(t, designICS(), "2026-01-14T05:00:00Z", period(6, 30, 9, 0))
	b.until("2026-01-14T06:30:00Z")
	b.do(spec.Input{Kind: powerOff})
	b.until("2026-01-14T07:00:00Z")
	b.do(spec.Input{Kind: powerOn})
	b.until("2026-01-14T08:00:00Z")
	b.changes(
		"2026-01-14T06:30:00Z ch 1 MOD-2",
		"2026-01-14T06:30:00Z ch 0 PWR-1",
		"2026-01-14T07:00:00Z ch 1 MOD-2",
	)
}

func TestExample8TheReservesLastSecond(t *testing.T) {
	for _, c := range []struct {
		back, display string
	}{
		{"2026-01-15T05:59:59Z", "2026-01-15 05:59:59"},
		{"2026-01-15T06:00:00Z", "unset"},
	} {
		b := heatingOnly(t, designICS(), "2026-01-14T21:00:00Z")
		b.until("2026-01-14T22:00:00Z")
		b.do(spec.Input{Kind: powerOff})
		b.until(c.back)
		b.do(spec.Input{Kind: powerOn})
		assert.Equal(t, c.display, b.display())
		b.changes()
	}
}
