package realtime

import (
	"time"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Device returns a device whose time passes by itself from now on, speed times as fast as time does: what an adapter for such a unit
// does, for wire.Serve. What has changed meanwhile is told with the next answer, and Advance returns when so many seconds have passed
// since the beginning as all calls together ask for.
func Device(d wire.Device, speed float64) wire.Device {
	return &running{device: d, speed: speed, begin: time.Now()}
}

type running struct {
	device wire.Device
	speed  float64
	begin  time.Time
	now    uint64 // the device's second
	asked  uint64
}

// follow brings the device to the second it is.
func (r *running) follow(changes []spec.Change) []spec.Change {
	if second := uint64(time.Since(r.begin).Seconds() * r.speed); second > r.now {
		changes = r.device.Advance(second-r.now, changes)
		r.now = second
	}
	return changes
}

func (r *running) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	return r.device.Do(in, r.follow(changes))
}

func (r *running) Advance(seconds uint64, changes []spec.Change) []spec.Change {
	r.asked += seconds
	time.Sleep(time.Until(r.begin.Add(time.Duration(float64(r.asked) / r.speed * 1e9))))
	changes = r.follow(changes)
	if r.now < r.asked { // by the rounding of the division
		changes = r.device.Advance(r.asked-r.now, changes)
		r.now = r.asked
	}
	return changes
}
