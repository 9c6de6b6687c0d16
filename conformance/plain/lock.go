package plain

import (
	"time"

	"example.org/hearthbench/emulator/spec"
)

const (
	secondsPerHour = 3600
	secondsPerDay  = 24 * secondsPerHour
)

// stage returns the lock's stage and the counted seconds since it began.
func (u *Unit) stage() (stage spec.Stage, since uint64) {
	if !u.armed {
		return spec.Dormant, 0 // LCK-1
	}
	noticeAt := uint64(u.terms.Days-u.terms.NoticeDays) * secondsPerDay
	restrictedAt := uint64(u.terms.Days) * secondsPerDay
	switch {
	case u.counted >= restrictedAt:
		return spec.Restricted, u.counted - restrictedAt // LCK-4
	case u.counted >= noticeAt:
		return spec.Notice, u.counted - noticeAt // LCK-3
	default:
		return spec.Counting, u.counted // LCK-2
	}
}

// permit reports whether a channel may call (LCK-13, LCK-15).
func (u *Unit) permit(c spec.Channel) bool {
	stage, since := u.stage()
	allowance := spec.NoAllowance
	switch stage {
	case spec.Notice:
		allowance = u.terms.Notice[c]
	case spec.Restricted:
		allowance = u.terms.Restricted[c]
	}
	if allowance == spec.NoAllowance {
		return true
	}
	return since%secondsPerHour < uint64(allowance)*60
}

// sounds is LCK-18, but for the power.
func (u *Unit) sounds(now time.Time) bool {
	stage, _ := u.stage()
	if !u.clockSet || stage != spec.Notice && stage != spec.Restricted {
		return false
	}
	for _, m := range u.terms.Sounder[:u.terms.Sounders] {
		if int(m) == minute(now) {
			return true
		}
	}
	return false
}

// goodTerms is LCK-5.
func goodTerms(t spec.LockTerms) bool {
	if t.Days < 1 || t.Days > spec.MaxLockDays || t.NoticeDays > t.Days {
		return false
	}
	for _, c := range channels {
		if !goodAllowance(t.Notice[c]) || !goodAllowance(t.Restricted[c]) {
			return false
		}
	}
	if t.Sounders > spec.MaxSounderTimes {
		return false
	}
	for _, m := range t.Sounder[:t.Sounders] {
		if m >= spec.MinutesPerDay {
			return false
		}
	}
	return true
}

func goodAllowance(minutes uint8) bool {
	return minutes == spec.NoAllowance || spec.MinAllowance <= minutes && minutes <= spec.MaxAllowance
}
