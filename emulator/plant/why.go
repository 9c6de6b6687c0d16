package plant

// Why is a change's reason as a small value: what brought it about, and the state of all contacts and supplies at that instant.
// Installation.Because words it.
type Why struct {
	Closed Contacts // contacts that conduct
	Event  Event
	By     Point // the point that brought it about; with EventStat, EventTimer, EventValve, EventIgnition, EventOwnStat, EventHeat
	Fed    Inputs
}

// Event is what brought a change about.
type Event uint8

// The events. Where several fall in one second, what follows from them is given the first of them in the order in which they act:
// timers and draws, thermostats, valves, overrun, burner.
const (
	NoEvent       Event = iota
	EventRelay          // a relay of the unit moved
	EventSupply         // a supply went or came back
	EventStat           // By: a thermostat moved
	EventTimer          // By: the second time control moved, or a programmable thermostat changed its setting
	EventValve          // By: a valve arrived
	EventOverrun        // the pump overrun is over
	EventIgnition       // the burner has lit, or the boiler has given up
	EventOwnStat        // the boiler's own thermostat: nothing took its heat
	EventHeat           // By: warmed or cooled enough, after its lag
	EventDraw           // hot water began or ceased to flow, or was drawn
	EventRefit          // the installation was changed
	EventReset          // the boiler was reset

	NumEvents = iota
)
