package realtime

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/emulator/spec"
)

// Options are how a unit in real time is tested.
type Options struct {
	// Speed is how many of the unit's seconds pass in one: 1 but for a build with a time lapse. MinSpeed to MaxSpeed.
	Speed float64
	// Slack is how far from its second, by the unit's clock, anything may come beyond what the ICS allows. It is rounded up to seconds.
	Slack time.Duration
	// Allowed is how long all scripts of a run may take together. Of those that take longer the shortest are run.
	Allowed time.Duration
}

// The range of Options.Speed.
const (
	MinSpeed = 0.001
	MaxSpeed = 1e6
)

// MaxSlack is the most that Options.Slack can be.
const MaxSlack = time.Hour

// Unit is an implementation in real time.
type Unit struct {
	inner iut.IUT
	o     Options
	slack uint64
}

var _ iut.Inexact = (*Unit)(nil)

// Open opens an implementation in real time that speaks the adapter protocol, as [iut.Open] does, with these options of the link: of them
// Ahead, Watch and Slack do not count. An error is an [*iut.OpenError], a value of o that is out of range, or the end of ctx.
//
// Run puts the scripts to it that fit into the time allowed, in their order. The others get a trouble that says why.
func Open(ctx context.Context, dialer iut.Dialer, link iut.Options, o Options) (*Unit, error) {
	switch {
	case !(o.Speed >= MinSpeed && o.Speed <= MaxSpeed):
		return nil, fmt.Errorf("a speed of %v is not from %v to %v", o.Speed, MinSpeed, MaxSpeed)
	case o.Slack < 0 || o.Slack > MaxSlack:
		return nil, fmt.Errorf("a tolerance of %v is not from 0s to %v", o.Slack, MaxSlack)
	case o.Allowed <= 0:
		return nil, fmt.Errorf("%v is no time in which anything could be tested", o.Allowed)
	}
	u := &Unit{o: o, slack: uint64((o.Slack + time.Second - 1) / time.Second)}
	link.Slack = u.slack
	if link.Timeout <= 0 {
		link.Timeout = iut.DefaultTimeout
	}
	link.Timeout += time.Duration(float64(u.piece()) / o.Speed * 1e9) // the unit is silent so long because it has been told to
	w := &watch{speed: o.Speed, slack: float64(u.slack)}
	link.Watch = w
	inner, err := iut.Open(ctx, dialer, link)
	if err != nil {
		return nil, err
	}
	u.inner = inner
	w.rate = float64(inner.ICS().Tolerances.ClockRate) / 1e6
	return u, nil
}

// ICS returns the unit's conformance statement.
func (u *Unit) ICS() spec.ICS { return u.inner.ICS() }

// Slack returns the slack in seconds.
func (u *Unit) Slack() uint64 { return u.slack }

// Close ends the unit.
func (u *Unit) Close() error { return u.inner.Close() }

// Describe says what is under test.
func (u *Unit) Describe() string {
	if u.o.Speed == 1 {
		return u.inner.Describe() + ", in real time"
	}
	return fmt.Sprintf("%s, at %v times real time", u.inner.Describe(), u.o.Speed)
}

// Run runs scripts, as [iut.IUT] says.
func (u *Unit) Run(ctx context.Context, scripts []iut.Script, done func(i int, obs *iut.Observation)) error {
	if err := iut.CheckScripts(scripts); err != nil {
		return err
	}
	why, err := u.choose(ctx, scripts)
	if err != nil {
		return err
	}
	var chosen []iut.Script
	var at []int
	for i := range scripts {
		if why[i] == "" {
			chosen, at = append(chosen, u.pieces(scripts[i])), append(at, i)
		}
	}
	told := 0
	tell := func(upTo int) {
		for ; told < upTo; told++ {
			done(told, &iut.Observation{Trouble: &iut.Trouble{Kind: iut.NotRun, Index: -1, Detail: why[told], Untried: true}})
		}
	}
	var whole iut.Observation
	err = u.inner.Run(ctx, chosen, func(i int, obs *iut.Observation) {
		tell(at[i])
		u.join(scripts[at[i]], obs, &whole)
		done(at[i], &whole)
		told = at[i] + 1
	})
	if err != nil {
		return err
	}
	tell(len(scripts))
	return nil
}

// seconds returns how long a script is.
func seconds(script iut.Script) (n uint64) {
	for i := range script {
		if script[i].Kind == iut.Go {
			n += script[i].Seconds
		}
	}
	return n
}

// choose says of each script why it is not run, or "".
func (u *Unit) choose(ctx context.Context, scripts []iut.Script) (why []string, err error) {
	why = make([]string, len(scripts))
	ics := u.ICS()
	var steady []int
	for i, script := range scripts {
		if ctx.Err() != nil {
			return nil, context.Cause(ctx)
		}
		if Steady(&ics, script, u.slack) {
			steady = append(steady, i)
		} else {
			why[i] = fmt.Sprintf("in real time nothing can be held to less than %d s, and with inputs that far off a unit that is right could do something else here", u.slack)
		}
	}
	length := func(i int) time.Duration {
		return time.Duration(min(float64(seconds(scripts[i]))/u.o.Speed*1e9, math.MaxInt64/2))
	}
	slices.SortStableFunc(steady, func(a, b int) int { return int(length(a)/time.Millisecond - length(b)/time.Millisecond) })
	left := u.o.Allowed
	for n, i := range steady {
		if need := length(i); need > left {
			for _, i := range steady[n:] {
				why[i] = fmt.Sprintf("it takes %v, and of the %v allowed the shorter ones leave %v", rounded(length(i)), u.o.Allowed, rounded(left))
			}
			break
		} else {
			left -= need
		}
	}
	return why, nil
}

func rounded(d time.Duration) time.Duration {
	if d < time.Second {
		return d.Round(time.Millisecond)
	}
	return d.Round(time.Second)
}

// pieces returns the script with each wait in pieces of about a second of real time, so that a unit has to keep no more changes than one
// brings.
func (u *Unit) pieces(script iut.Script) (pieces iut.Script) {
	most := u.piece()
	for _, r := range script {
		for r.Kind == iut.Go && r.Seconds > most {
			pieces = append(pieces, iut.Request{Kind: iut.Go, Seconds: most})
			r.Seconds -= most
		}
		pieces = append(pieces, r)
	}
	return pieces
}

func (u *Unit) piece() uint64 { return max(1, uint64(u.o.Speed)) }

// join makes of what was observed of a script in pieces what was observed of the script. Changes after its end are none of its own:
// the unit's clock may be ahead.
func (u *Unit) join(script iut.Script, pieces, whole *iut.Observation) {
	whole.Answers, whole.Trouble = whole.Answers[:0], nil
	whole.Changes = append(whole.Changes[:0], pieces.Changes...)
	end := seconds(script)
	for n := len(whole.Changes); n > 0 && whole.Changes[n-1].At > end; n-- {
		whole.Changes = whole.Changes[:n-1]
	}
	most, at := u.piece(), 0
	for i, r := range script {
		if r.Kind == iut.Go && r.Seconds > most {
			at += int((r.Seconds - 1) / most)
		}
		if at >= len(pieces.Answers) {
			// Of an answer whose pieces did not all come there is none.
			last := 0
			if i > 0 {
				last = whole.Answers[i-1].Changes
			}
			whole.Changes = whole.Changes[:last]
			if trouble := pieces.Trouble; trouble != nil {
				own := *trouble
				if own.Index >= 0 {
					own.Index = i
				}
				whole.Trouble = &own
			}
			return
		}
		a := pieces.Answers[at]
		a.Changes = min(a.Changes, len(whole.Changes))
		whole.Answers = append(whole.Answers, a)
		at++
	}
	whole.Trouble = pieces.Trouble
}
