package plant

// Contact is something that opens and closes between two terminals. The two sides of a changeover are two contacts with one blade.
type Contact uint8

// The contacts.
const (
	HWRelayOn  Contact = iota // HWCommon to HWOn
	HWRelayOff                // HWCommon to HWOff
	CHRelayOn
	CHRelayOff
	RoomStatContact
	RoomStat2Contact
	CylinderStatCallsContact
	CylinderStatSatisfiedContact
	FrostStatContact
	FrostStatContact2
	SecondControlContact
	HWValveEndOpenContact
	HWValveEndShutContact
	CHValveEndContact
	Zone2ValveEndContact
	MidEndContact
	DiverterEndHWContact
	DiverterEndHeatingContact
	OverrunContact
	ImmersionSwitch

	NumContacts = iota
)

// contactFacts is what is fixed about each contact.
type contactFacts struct {
	name string
	a, b Terminal // a on the side of the supply
	mate Contact  // the other side of the same changeover, or itself
}

var contacts = [NumContacts]contactFacts{
	HWRelayOn:                    {"the hot-water relay's on contact", HWCommon, HWOn, HWRelayOff},
	HWRelayOff:                   {"the hot-water relay's off contact", HWCommon, HWOff, HWRelayOn},
	CHRelayOn:                    {"the heating relay's on contact", CHCommon, CHOn, CHRelayOff},
	CHRelayOff:                   {"the heating relay's off contact", CHCommon, CHOff, CHRelayOn},
	RoomStatContact:              {"the room thermostat", RoomStatFeed, RoomStatOut, RoomStatContact},
	RoomStat2Contact:             {"zone 2's room thermostat", RoomStat2Feed, RoomStat2Out, RoomStat2Contact},
	CylinderStatCallsContact:     {"the cylinder thermostat", CylinderStatFeed, CylinderStatCalls, CylinderStatSatisfiedContact},
	CylinderStatSatisfiedContact: {"the satisfied side of the cylinder thermostat", CylinderStatFeed, CylinderStatSatisfied, CylinderStatCallsContact},
	FrostStatContact:             {"the frost thermostat", FrostStatFeed, FrostStatOut, FrostStatContact},
	FrostStatContact2:            {"the second pole of the frost thermostat", FrostStatFeed, FrostStatOut2, FrostStatContact2},
	SecondControlContact:         {"the second time control", SecondControlFeed, SecondControlOut, SecondControlContact},
	HWValveEndOpenContact:        {"the end switch of the hot-water valve", HWValveEndFeed, HWValveEndOpen, HWValveEndShutContact},
	HWValveEndShutContact:        {"the shut side of the end switch of the hot-water valve", HWValveEndShut, HWValveEndFeed, HWValveEndOpenContact},
	CHValveEndContact:            {"the end switch of the heating valve", CHValveEndFeed, CHValveEndOpen, CHValveEndContact},
	Zone2ValveEndContact:         {"the end switch of zone 2's valve", Zone2ValveEndFeed, Zone2ValveEndOpen, Zone2ValveEndContact},
	MidEndContact:                {"the end switch of the mid-position valve", MidHeatingFeed, MidEnd, MidEndContact},
	DiverterEndHWContact:         {"the hot-water side of the diverter's end switch", DiverterEndHW, DiverterEndOut, DiverterEndHeatingContact},
	DiverterEndHeatingContact:    {"the heating side of the diverter's end switch", DiverterEndHeating, DiverterEndOut, DiverterEndHWContact},
	OverrunContact:               {"the boiler's pump overrun", BoilerLive, BoilerPump, OverrunContact},
	ImmersionSwitch:              {"the immersion heater's switch", ImmersionFeed, ImmersionLive, ImmersionSwitch},
}

// String returns the contact's name, such as "the room thermostat".
func (c Contact) String() string {
	if c < NumContacts {
		return contacts[c].name
	}
	return "no contact"
}

// Ends returns the terminals between which the contact stands, the side of the supply first.
func (c Contact) Ends() (a, b Terminal) { return contacts[c].a, contacts[c].b }

// Contacts is a set of contacts.
type Contacts uint32

// Has reports whether c is in the set.
func (s Contacts) Has(c Contact) bool { return s>>c&1 != 0 }

func contactIf(c Contact, closed bool) Contacts {
	if closed {
		return 1 << c
	}
	return 0
}
