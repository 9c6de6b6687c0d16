package timing

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"example.org/hearthbench/emulator/spec"
)

// The drawings below were made by hand: from the seconds of the changes, the first column's time and the length of a column.

const (
	minute = 60
	hour   = 3600
)

// from returns the local time of a run that begins at hh:mm on Wednesday 14 January 2026, with no change of summer time.
func from(hh, mm int) func(uint64) time.Time {
	start := time.Date(2026, 1, 14, hh, mm, 0, 0, time.UTC)
	return func(second uint64) time.Time { return start.Add(time.Duration(second) * time.Second) }
}

func drawn(l Linear) string {
	var b strings.Builder
	l.Draw(&b)
	return "\n" + b.String()
}

// trim takes the first newline and the indent of a raw string away.
func trim(text string) string {
	lines := strings.Split(text, "\n")
	for i := range lines {
		lines[i] = strings.TrimPrefix(lines[i], "\t\t")
	}
	return strings.Join(lines, "\n")
}

func TestStrip(t *testing.T) {
	// 6 hours in 40 columns: 7 for names, 5 to stand out, 28 remain. 361 min in 15 min are 25 columns, in 10 min 37.
	changes := []spec.Change{
		change(30*minute, spec.SigHW, 1), // 05:30, column 2
		change(30*minute, spec.SigCH, 1),
		change(59*minute, spec.SigHW, 0),    // 05:59, column 3: off when it ends
		change(120*minute, spec.SigHW, 1),   // 07:00, column 8, a glitch of a second
		change(120*minute+1, spec.SigHW, 0), //
		change(6*hour, spec.SigCH, 0),       // the last second, column 24
	}
	assert.Equal(t, trim(`
		       |Wed 2026-01-14
		       |05 |06 |07 |08 |09 |10 |11
		hw     __#_____+________________
		ch     __######################_
		inputs 1 2+      5          16
		# on, _ off, + more than one change; a column is 15 min; numbers: inputs, + more of them
		`), drawn(Linear{
		Lanes: []Lane{{Name: "hw", Signal: spec.SigHW, Changes: changes}, {Name: "ch", Signal: spec.SigCH, Changes: changes}},
		// 3 and 4 are too close to 2; 5 stands in column 10, and 16 in column 21.
		Marks: []Mark{{0, 1}, {30 * minute, 2}, {31 * minute, 3}, {46 * minute, 4}, {150 * minute, 5}, {315 * minute, 16}},
		End:   6 * hour, Local: from(5, 0), Width: 40,
	}))
}

func TestStripBeginsBetweenColumns(t *testing.T) {
	// From 05:07 in steps of 20 minutes the first column is that of 05:00. A day's 1440 min and the 7 are 73 columns of the 84 that
	// there are; steps of 15 min would be 97.
	changes := []spec.Change{change(13*minute, spec.SigCH, 0)} // 05:20, column 1
	assert.Equal(t, trim(`
		       |Wed 2026-01-14                                          |Thu 2026-01-15
		          |06   |08   |10   |12   |14   |16   |18   |20   |22   |00   |02   |04
		ch     #________________________________________________________________________
		# on, _ off, + more than one change; a column is 20 min
		`), drawn(Linear{
		Lanes: []Lane{{Name: "ch", Signal: spec.SigCH, Initial: 1, Changes: changes}},
		End:   24 * hour, Local: from(5, 7), Width: DefaultWidth,
	}))
}

func TestAlertAndSounder(t *testing.T) {
	// 10 min in steps of 30 s are 21 columns of the 27 that there are, since "sounder" has 7 letters; in steps of 15 s 41.
	changes := []spec.Change{
		change(60, spec.SigAlert, spec.Level(spec.Counting)),    // column 2
		change(180, spec.SigAlert, spec.Level(spec.Notice)),     // column 6
		change(300, spec.SigAlert, spec.Level(spec.Restricted)), // column 10
		change(310, spec.SigSounder, 1),                         // column 10
		change(370, spec.SigSounder, 0),                         // column 12
		change(400, spec.SigAlert, spec.Level(spec.Dormant)),    // column 13, there and back
		change(410, spec.SigAlert, spec.Level(spec.Counting)),   //
	}
	assert.Equal(t, trim(`
		        |Wed 2026-01-14
		        |05:00    |05:05    |05:10
		alert   ..ccccnnnnrrr+ccccccc
		sounder __________##_________
		# on, _ off, + more than one change; a column is 30 s; alert: . none, c counting, n notice, r restricted
		`), drawn(Linear{
		Lanes: []Lane{
			{Name: "alert", Signal: spec.SigAlert, Changes: changes},
			{Name: "sounder", Signal: spec.SigSounder, Changes: changes},
		},
		End: 10 * minute, Local: from(5, 0), Width: 40,
	}))
}

func TestWidthIsKept(t *testing.T) {
	for width := 1; width < 200; width += 7 {
		for _, end := range []uint64{1, 100, hour, 5 * hour, 24 * hour, 3 * 24 * hour, MaxStripDays * 24 * hour, 40 * 24 * hour} {
			text := drawn(Linear{
				Lanes: []Lane{{Name: "sounder", Signal: spec.SigSounder}},
				Marks: []Mark{{end, 7}}, End: end, Local: from(5, 7), Width: width,
			})
			for _, line := range strings.Split(text, "\n") {
				if !strings.HasPrefix(line, "# on") && !strings.Contains(line, "day before") {
					assert.LessOrEqual(t, len(line), max(width, MinWidth), line)
				}
			}
		}
	}
}

func TestSummerTimeEnds(t *testing.T) {
	// 00:00 +01:00 to 03:00 +00:00 are four hours: 01 comes twice. 240 min in steps of 10 min are 25 columns of 28.
	start := time.Date(2026, 10, 24, 23, 0, 0, 0, time.UTC)
	local := func(second uint64) time.Time {
		utc := start.Add(time.Duration(second) * time.Second)
		if second < 2*hour {
			return utc.In(time.FixedZone("", hour))
		}
		return utc
	}
	changes := []spec.Change{change(90*minute, spec.SigCH, 1), change(120*minute, spec.SigCH, 0)} // columns 9 and 12
	assert.Equal(t, trim(`
		       |Sun 2026-10-25
		       |00   |01   |01   |02   |03
		ch     _________###_____________
		# on, _ off, + more than one change; a column is 10 min
		`), drawn(Linear{
		Lanes: []Lane{{Name: "ch", Signal: spec.SigCH, Changes: changes}}, End: 4 * hour, Local: local, Width: 40,
	}))
}

func TestDays(t *testing.T) {
	// From Wednesday 05:00 for 16 days, on from 07:00 to 09:00 each day but the second Friday. 25 h in steps of 1 h are 25 columns of 28.
	const day = 24 * hour
	var changes []spec.Change
	for d := range uint64(16) {
		if d != 9 {
			changes = append(changes, change(d*day+2*hour, spec.SigCH, 1), change(d*day+4*hour, spec.SigCH, 0))
		}
	}
	assert.Equal(t, trim(`
		       |00   |06   |12   |18
		Wed 2026-01-14
		ch          __##_______________
		inputs      1
		Thu 2026-01-15
		ch     _______##_______________
		Fri 2026-01-16 to Mon 2026-01-19: each as the day before
		Tue 2026-01-20
		ch     _______##_______________
		inputs             2
		Wed 2026-01-21 to Thu 2026-01-22: each as the day before
		Fri 2026-01-23
		ch     ________________________
		Sat 2026-01-24
		ch     _______##_______________
		Sun 2026-01-25 to Thu 2026-01-29: each as the day before
		Fri 2026-01-30
		ch     ______
		# on, _ off, + more than one change; a column is 1 h; numbers: inputs, + more of them
		`), drawn(Linear{
		Lanes: []Lane{{Name: "ch", Signal: spec.SigCH, Changes: changes}},
		Marks: []Mark{{0, 1}, {6*day + 7*hour, 2}}, // Tuesday 20 January 12:00
		End:   16 * day, Local: from(5, 0), Width: 40,
	}))
}

func TestDaysOverSummerTime(t *testing.T) {
	// Summer time ends on the second day, which has 25 hours and an axis of its own; on from 06:00 to 07:00 by the clock.
	const day = 24 * hour
	start := time.Date(2026, 10, 23, 23, 0, 0, 0, time.UTC) // Saturday 24 October 00:00 +01:00
	const back = day + 2*hour                               // Sunday's first 02:00, which is the second 01:00
	local := func(second uint64) time.Time {
		utc := start.Add(time.Duration(second) * time.Second)
		if second < back {
			return utc.In(time.FixedZone("", hour))
		}
		return utc
	}
	var changes []spec.Change
	for d := range uint64(15) {
		at := d*day + 6*hour
		if d > 0 {
			at += hour
		}
		changes = append(changes, change(at, spec.SigCH, 1), change(at+hour, spec.SigCH, 0))
	}
	assert.Equal(t, trim(`
		       |00   |06   |12   |18
		Sat 2026-10-24
		ch     ______#_________________
		       |00    |06   |12   |18
		Sun 2026-10-25
		ch     _______#_________________
		       |00   |06   |12   |18
		Mon 2026-10-26
		ch     ______#_________________
		Tue 2026-10-27 to Fri 2026-11-06: each as the day before
		Sat 2026-11-07
		ch     ______#________________
		# on, _ off, + more than one change; a column is 1 h
		`), drawn(Linear{
		Lanes: []Lane{{Name: "ch", Signal: spec.SigCH, Changes: changes}},
		End:   15*day - hour, Local: local, Width: 40, // Saturday 22:00
	}))
}
