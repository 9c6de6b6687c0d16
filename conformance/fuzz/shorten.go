package fuzz

import (
	"slices"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// story is a script as it is shortened: inputs with the wait before each, and the wait after the last.
type story struct {
	inputs []timed
	end    uint64 // seconds after the last input
}

type timed struct {
	wait uint64 // seconds before it
	in   spec.Input
}

func storyOf(script iut.Script) story {
	var s story
	for i := range script {
		switch r := &script[i]; r.Kind {
		case iut.Go:
			s.end += r.Seconds
		case iut.Do:
			s.inputs = append(s.inputs, timed{s.end, r.Input})
			s.end = 0
		}
	}
	return s
}

func (s *story) script(dst iut.Script) iut.Script {
	dst = append(dst[:0], iut.Request{Kind: iut.New})
	for i := range s.inputs {
		t := &s.inputs[i]
		if t.wait > 0 {
			dst = append(dst, iut.Request{Kind: iut.Go, Seconds: t.wait})
		}
		dst = append(dst, iut.Request{Kind: iut.Do, Input: t.in})
	}
	if s.end > 0 {
		dst = append(dst, iut.Request{Kind: iut.Go, Seconds: s.end})
	}
	return dst
}

func (s *story) clone() story { return story{slices.Clone(s.inputs), s.end} }

// expressible reports whether a vector can say the story: what is fitted, and then power, in second 0.
func (s *story) expressible() bool {
	for i := range s.inputs {
		t := &s.inputs[i]
		if t.wait > 0 {
			return false
		}
		if t.in.Kind != spec.Fit {
			return t.in.Kind == spec.PowerOn
		}
	}
	return false
}

// waitBefore returns the wait before an input, or after the last.
func (s *story) waitBefore(i int) *uint64 {
	if i < len(s.inputs) {
		return &s.inputs[i].wait
	}
	return &s.end
}

// without returns the story with some inputs left out. The time before them passes nevertheless, if kept.
func (s *story) without(from, to int, keepTime bool) story {
	t := story{slices.Concat(s.inputs[:from], s.inputs[to:]), s.end}
	if keepTime {
		sum := uint64(0)
		for _, in := range s.inputs[from:to] {
			sum += in.wait
		}
		*t.waitBefore(from) += sum
	}
	return t
}

// shortener shortens a story for as long as it fails as it should.
type shortener struct {
	ics *spec.ICS
	// fails reports whether a story fails as it should, and where.
	fails func(*story) (Departure, bool)
	best  story
	at    Departure
	left  int    // how many more stories may be tried
	slack uint64 // s that a story has to go on so that a unit that is let be late has failed
	// canonical says that any failure will do: what is looked for is the form that all failures of the cause have in common.
	canonical bool
	// known reports whether a departure is like one of another cause that is known. What takes the place of something else must not lead there.
	known     func(Departure) bool
	replacing bool
}

// maxTries is how many stories one shortening may try, and maxHangs the same for a unit that does not answer, which takes its time.
const (
	maxTries = 2500
	maxHangs = 30
)

// try takes a story if it fails.
func (s *shortener) try(t story) bool {
	if s.left == 0 || !t.expressible() {
		return false
	}
	s.left--
	t.end += s.slack
	d, ok := s.fails(&t)
	if !ok || s.replacing && s.canonical && s.known(d) {
		return false
	}
	s.best, s.at = t, d
	s.cut()
	return true
}

// beyond are the seconds after a departure up to which a story may have to go on, before a unit that is let be late has failed.
var beyond = [...]uint64{0, 1, 2, 3, 5, 10, calendar.Minute, calendar.Hour}

// cut leaves off what comes after the departure.
func (s *shortener) cut() {
	for _, more := range beyond {
		t := s.best.until(s.at.Request, s.at.At+more)
		if t.length() == s.best.length() && len(t.inputs) == len(s.best.inputs) || s.left == 0 {
			return
		}
		s.left--
		if d, ok := s.fails(&t); ok {
			s.best, s.at = t, d
			return
		}
	}
}

// until returns the story up to a request of its script, and if that is a wait or the last, up to a second.
func (s *story) until(request int, second uint64) story {
	at, n := uint64(0), 0
	for i := range s.inputs {
		t := &s.inputs[i]
		if t.wait > 0 {
			if n++; n == request {
				return story{slices.Clone(s.inputs[:i]), min(t.wait, second-min(at, second))}
			}
			at += t.wait
		}
		if n++; n == request {
			return story{slices.Clone(s.inputs[:i+1]), min(*s.waitBefore(i + 1), second-min(at, second))}
		}
	}
	return story{slices.Clone(s.inputs), min(s.end, second-min(at, second))}
}

// shorten makes the story as short and plain as it gets: fewest inputs, then fewest and roundest waits, then the plainest arguments.
func (s *shortener) shorten() {
	for progress := true; progress && s.left > 0; {
		progress = s.leaveOut()
		progress = s.unfit() || progress
		progress = s.replace() || progress
		progress = s.shortenWaits() || progress
		progress = s.simplify() || progress
		progress = s.order() || progress
	}
}

// separate looks for a like story that fails as it should before it fails in any other way: one input less, or the clock set to an hour
// at which little happens.
func (s *shortener) separate() bool {
	from := s.best
	for i := range from.inputs {
		if s.try(from.without(i, i+1, true)) {
			return true
		}
		if from.inputs[i].in.Kind != spec.SetClock {
			continue
		}
		for _, minute := range [...]uint16{0, 12 * 60} {
			t := from.clone()
			t.inputs[i].in.Minute = minute
			if s.try(t) {
				return true
			}
		}
	}
	return false
}

// leaveOut leaves out inputs, many at once if possible.
func (s *shortener) leaveOut() bool {
	any := false
	for size := max(1, len(s.best.inputs)/2); size > 0; {
		done := false
		for from := len(s.best.inputs) - size; from >= 0; from-- {
			if from+size > len(s.best.inputs) {
				continue
			}
			if s.try(s.best.without(from, from+size, true)) || s.try(s.best.without(from, from+size, false)) {
				done, any = true, true
			}
		}
		if !done {
			size /= 2
		}
	}
	// Two that belong together, such as a cut's ends.
	for i := 0; i < len(s.best.inputs); i++ {
		for j := i + 2; j < len(s.best.inputs); j++ {
			t := s.best.without(j, j+1, true)
			if s.try(t.without(i, i+1, true)) {
				any = true
			}
		}
	}
	return any
}

// plain are inputs that may take the place of others. Where any failure will do, only those will that fail on hardly any unit, or
// another cause might take the place of the one at hand.
func (s *shortener) plain() []spec.Input {
	var list []spec.Input
	for c := range spec.Channel(spec.NumChannels) {
		list = append(list, spec.Input{Kind: spec.SetMode, Channel: c, Mode: spec.Always})
		if !s.canonical {
			list = append(list, spec.Input{Kind: spec.Boost, Channel: c, Amount: uint32(s.ics.BoostStep)}, spec.Input{Kind: spec.Override, Channel: c},
				spec.Input{Kind: spec.SetMode, Channel: c, Mode: spec.Off})
		}
	}
	return list
}

// replace puts one plain input in the place of two, or of one that only makes a channel call, and makes do with the default table at
// another time of day.
func (s *shortener) replace() bool {
	s.replacing = true
	defer func() { s.replacing = false }()
	any := false
	for i := 1; i+1 < len(s.best.inputs) && len(s.best.inputs) > 3; i++ {
		for _, in := range s.plain() {
			t := s.best.without(i, i+1, true)
			t.inputs[i].in = in
			if s.try(t) {
				any = true
				break
			}
		}
	}
	for i := 1; i < len(s.best.inputs); i++ {
		switch in := &s.best.inputs[i].in; in.Kind {
		case spec.Boost, spec.Override, spec.SetPeriod:
			for c := range spec.Channel(spec.NumChannels) {
				t := s.best.clone()
				t.inputs[i].in = spec.Input{Kind: spec.SetMode, Channel: c, Mode: spec.Always}
				if s.try(t) {
					any = true
					break
				}
			}
		}
	}
	clock := slices.IndexFunc(s.best.inputs, func(t timed) bool { return t.in.Kind == spec.SetClock })
	if clock < 0 {
		return any
	}
	for i := len(s.best.inputs) - 1; i > 0; i-- {
		if i >= len(s.best.inputs) || i == clock || s.best.inputs[i].in.Kind == spec.PowerOn {
			continue
		}
		for _, minute := range [...]uint16{419, 420, 480, 539, 540, 600, 959, 960, 1379, 1439, 0, 360} {
			t := s.best.without(i, i+1, false)
			if clock < len(t.inputs) && t.inputs[clock].in.Kind == spec.SetClock {
				t.inputs[clock].in.Minute = minute
				for later := clock + 1; later <= len(t.inputs); later++ {
					if w := t.waitBefore(later); *w > 60 {
						*w = 60
					}
				}
				if s.try(t) {
					any = true
					break
				}
			}
		}
	}
	return any
}

// shortenWaits makes waits 0, or the clock be set later instead, or round.
func (s *shortener) shortenWaits() bool {
	any := false
	slack := s.slack
	defer func() { s.slack = slack }()
	for i := 1; i <= len(s.best.inputs); i++ {
		if *s.best.waitBefore(i) == 0 {
			continue
		}
		if s.slack = slack; i == len(s.best.inputs) {
			s.slack = 0 // it would give back what is taken away
		}
		none := func(j int) bool { // and the time passes before the next one, if there is one
			t := s.best.clone()
			w := t.waitBefore(i)
			if j <= len(t.inputs) {
				*t.waitBefore(j) += *w
			}
			*w = 0
			return s.try(t)
		}
		if none(len(s.best.inputs)+1) || none(i+1) {
			any = true
			continue
		}
		any = s.setLater(i) || any
		// It may have become shorter by then, or the story may.
		if i <= len(s.best.inputs) && *s.best.waitBefore(i) > 0 {
			any = s.round(i) || any
		}
	}
	return any
}

// setLater sets the clock later by what is waited for.
func (s *shortener) setLater(i int) bool {
	for c := min(i, len(s.best.inputs)) - 1; c >= 0; c-- {
		if s.best.inputs[c].in.Kind != spec.SetClock {
			continue
		}
		wait := *s.best.waitBefore(i)
		for _, rest := range [...]uint64{wait % calendar.Minute, calendar.Minute + wait%calendar.Minute} {
			if rest >= wait {
				continue
			}
			t := s.best.clone()
			in := &t.inputs[c].in
			if !calendar.Valid(int(in.Date.Year), int(in.Date.Month), int(in.Date.Day)) {
				return false
			}
			minutes := uint64(in.Minute) + (wait-rest)/calendar.Minute
			in.Date = dateOf(calendar.Days(int(in.Date.Year), int(in.Date.Month), int(in.Date.Day)) + int(minutes/spec.MinutesPerDay))
			in.Minute = uint16(minutes % spec.MinutesPerDay)
			*t.waitBefore(i) = rest
			if s.try(t) {
				return true
			}
		}
		return false
	}
	return false
}

// round makes a wait round.
func (s *shortener) round(i int) bool {
	wait := *s.best.waitBefore(i)
	if wait <= 10 {
		t := s.best.clone()
		*t.waitBefore(i)--
		return s.try(t)
	}
	units := [...]uint64{calendar.Day, calendar.Hour, 10 * calendar.Minute, calendar.Minute}
	for _, unit := range units {
		if wait%unit == 0 && wait == unit {
			return false
		}
		for _, to := range [...]uint64{unit, wait / unit * unit} {
			if to == 0 || to >= wait {
				continue
			}
			t := s.best.clone()
			*t.waitBefore(i) = to
			if s.try(t) {
				return true
			}
		}
	}
	return false
}

// simplify makes arguments plain, one by one.
func (s *shortener) simplify() bool {
	any := s.oneChannel()
	for i := 0; i < len(s.best.inputs); i++ {
		for s.plainer(i) {
			any = true
			if i >= len(s.best.inputs) {
				break
			}
		}
	}
	return any
}

// plainer makes one argument of an input plainer.
func (s *shortener) plainer(i int) bool {
	for _, in := range simpler(s.ics, s.best.inputs[i].in) {
		t := s.best.clone()
		t.inputs[i].in = in
		if s.try(t) {
			return true
		}
	}
	return false
}

// unfit leaves out what is fitted, and words the edits for what is fitted then.
func (s *shortener) unfit() bool {
	any := false
	for i := 0; i < len(s.best.inputs); i++ {
		fit := s.best.inputs[i].in
		if fit.Kind != spec.Fit {
			continue
		}
		t := s.best.without(i, i+1, true)
		weekday := spec.Wed
		for j := range t.inputs {
			switch in := &t.inputs[j].in; {
			case in.Kind == spec.SetClock && calendar.Valid(int(in.Date.Year), int(in.Date.Month), int(in.Date.Day)):
				weekday = spec.Day(calendar.Weekday(calendar.Days(int(in.Date.Year), int(in.Date.Month), int(in.Date.Day))))
			case in.Kind == spec.SetPeriod && fit.FitOption == spec.FitCycle:
				switch s.ics.Fitted.Cycle {
				case spec.Cycle24h:
					in.Day = spec.All
				case spec.Cycle7Day:
					in.Day = weekday
				case spec.Cycle52:
					if in.Day = spec.Weekdays; weekday > spec.Fri {
						in.Day = spec.Weekend
					}
				}
			case in.Kind == spec.SetPeriod && fit.FitOption == spec.FitTiming:
				if in.Table = spec.HWTable; s.ics.Fitted.Timing == spec.Shared {
					in.Table = spec.BothTables
				}
			}
		}
		if s.try(t) {
			any = true
		}
	}
	return any
}

// order puts inputs of one second in the order of their kinds, so that stories that differ in nothing else become one.
func (s *shortener) order() bool {
	any := false
	for i := 1; i+1 < len(s.best.inputs); i++ {
		a, b := &s.best.inputs[i], &s.best.inputs[i+1]
		if b.wait > 0 || orderOf(&a.in) <= orderOf(&b.in) {
			continue
		}
		t := s.best.clone()
		t.inputs[i].in, t.inputs[i+1].in = b.in, a.in
		n := len(s.best.inputs)
		if s.try(t) {
			any = true
			if len(s.best.inputs) < n {
				break
			}
		}
	}
	return any
}

// orderOf is where an input stands by its kind: the clock first.
func orderOf(in *spec.Input) int {
	if in.Kind == spec.SetClock {
		return 0
	}
	return int(in.Kind)
}

// oneChannel makes the channels change places if the first input that is for one is for heating, or makes all be hot water.
func (s *shortener) oneChannel() bool {
	first := slices.IndexFunc(s.best.inputs, func(t timed) bool {
		return channelOf(&t.in) != nil || t.in.Kind == spec.SetPeriod && t.in.Table != spec.BothTables
	})
	if first < 0 {
		return false
	}
	heating := func(t *timed) bool {
		if c := channelOf(&t.in); c != nil {
			return *c == spec.CH
		}
		return t.in.Kind == spec.SetPeriod && t.in.Table == spec.CHTable
	}
	if !heating(&s.best.inputs[first]) {
		return false
	}
	t := s.best.clone()
	for i := range t.inputs {
		in := &t.inputs[i].in
		if c := channelOf(in); c != nil {
			*c = 1 - *c
		} else if in.Kind == spec.SetPeriod && in.Table != spec.BothTables {
			in.Table = 1 - in.Table
		} else if in.Kind == spec.LockArm {
			in.Terms.Notice[0], in.Terms.Notice[1] = in.Terms.Notice[1], in.Terms.Notice[0]
			in.Terms.Restricted[0], in.Terms.Restricted[1] = in.Terms.Restricted[1], in.Terms.Restricted[0]
		}
	}
	return s.try(t)
}

func channelOf(in *spec.Input) *spec.Channel {
	switch in.Kind {
	case spec.SetMode, spec.Override, spec.Boost:
		return &in.Channel
	default:
		return nil
	}
}

// simpler lists plainer arguments for an input, the plainest first.
func simpler(ics *spec.ICS, in spec.Input) (list []spec.Input) {
	add := func(change func(*spec.Input)) {
		t := in
		change(&t)
		list = append(list, t)
	}
	switch in.Kind {
	case spec.SetMode:
		for _, m := range [...]spec.Mode{spec.Always, spec.Off, spec.Span} {
			if in.Mode == m {
				break
			}
			add(func(t *spec.Input) { t.Mode = m })
		}
	case spec.Boost:
		step, longest := uint32(ics.BoostStep), uint32(ics.BoostLongest)
		for _, m := range [...]uint32{step, longest, 0, step + 1, longest + step} {
			if in.Amount == m {
				break
			}
			add(func(t *spec.Input) { t.Amount = m })
		}
	case spec.Holiday:
		for _, n := range [...]uint32{1, 2, 0, 100} {
			if in.Amount == n {
				break
			}
			add(func(t *spec.Input) { t.Amount = n })
		}
	case spec.SetClock:
		list = plainerReadings(in)
	case spec.SetPeriod:
		list = plainerPeriods(in)
	case spec.LockArm:
		list = plainerTerms(ics, in)
	}
	return list
}

func plainerReadings(in spec.Input) (list []spec.Input) {
	for _, date := range [...]spec.Date{
		{Year: 2026, Month: 1, Day: 14}, {Year: 2026, Month: 1, Day: 17}, {Year: 2026, Month: 1, Day: 18}, {Year: 2026, Month: 1, Day: 15}, {Year: 2026, Month: 3, Day: 29},
		{Year: 2026, Month: 10, Day: 25}, {Year: 2026, Month: 2, Day: 30}, {Year: 1999, Month: 12, Day: 31},
	} {
		if date == in.Date {
			break
		}
		t := in
		t.Date = date
		list = append(list, t)
	}
	for _, minute := range [...]uint16{in.Minute / 60 * 60, in.Minute / 30 * 30} {
		if minute != in.Minute {
			t := in
			t.Minute = minute
			list = append(list, t)
		}
	}
	return list
}

func plainerPeriods(in spec.Input) (list []spec.Input) {
	add := func(slot uint8, p spec.Period) {
		t := in
		t.Slot, t.Period = slot, p
		if t != in {
			list = append(list, t)
		}
	}
	p := in.Period
	if p.On != 0 || p.Off != 0 {
		add(1, spec.Period{})
		add(in.Slot, spec.Period{})
	}
	for slot := uint8(1); slot < in.Slot; slot++ {
		add(slot, p)
	}
	for _, q := range [...]spec.Period{
		{On: p.On / 60 * 60, Off: (p.Off + 59) / 60 * 60}, {On: p.On / 60 * 60, Off: p.Off}, {On: p.On, Off: (p.Off + 59) / 60 * 60}, {On: p.On, Off: p.Off / 60 * 60},
	} {
		add(in.Slot, q)
	}
	return list
}

func plainerTerms(ics *spec.ICS, in spec.Input) (list []spec.Input) {
	add := func(change func(*spec.LockTerms)) {
		t := in
		change(&t.Terms)
		if t != in {
			list = append(list, t)
		}
	}
	if ics.Credential != "" && in.Credential != ics.Credential {
		t := in
		t.Credential = ics.Credential
		list = append(list, t)
	}
	plain := spec.LockTerms{Days: 1, Notice: [2]uint8{spec.NoAllowance, spec.NoAllowance}, Restricted: [2]uint8{spec.NoAllowance, spec.NoAllowance}}
	if in.Terms != plain {
		add(func(t *spec.LockTerms) { *t = plain })
		add(func(t *spec.LockTerms) { *t = plain; t.NoticeDays = 1 })
	}
	if in.Terms.Days != 1 {
		add(func(t *spec.LockTerms) { t.NoticeDays, t.Days = min(t.NoticeDays, 1), 1 })
		add(func(t *spec.LockTerms) { t.Days = 1 })
	}
	for c := range spec.NumChannels {
		for _, a := range [...]uint8{spec.NoAllowance, 10} {
			if in.Terms.Notice[c] != spec.NoAllowance {
				add(func(t *spec.LockTerms) { t.Notice[c] = a })
			}
			if in.Terms.Restricted[c] != spec.NoAllowance {
				add(func(t *spec.LockTerms) { t.Restricted[c] = a })
			}
		}
	}
	if in.Terms.Sounders > 0 {
		add(func(t *spec.LockTerms) { t.Sounders, t.Sounder = 0, [spec.MaxSounderTimes]uint16{} })
		if in.Terms.Sounders > 1 {
			for i := range min(in.Terms.Sounders, spec.MaxSounderTimes) {
				add(func(t *spec.LockTerms) {
					t.Sounder = [spec.MaxSounderTimes]uint16{t.Sounder[i]}
					t.Sounders = 1
				})
			}
		}
	}
	return list
}
