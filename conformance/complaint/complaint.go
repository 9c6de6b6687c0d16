package complaint

import (
	"fmt"

	"example.org/hearthbench/emulator/spec"
)

// Complaint is what a file says. Only [Parse] makes one from a file; code may build one by hand. It is read only once made.
//
// Instants are seconds of true UTC since 2000-01-01T00:00, as in package calendar; the file itself speaks the household's local time.
type Complaint struct {
	File  string
	Title string
	Zone  Zone
	From  int64 // where the history begins
	Until int64 // where it ends, after From
	Asked int64 // when the account was taken: what is "found" is found then; not after Until

	Safety       []Danger // one for each of the questions, in the order of [Dangers]
	Unit         []Option // what is said of the unit, in the file's order; an option that is not among them is not known
	Installation []Fitting
	Settings     []Claim
	Acts         []Act
	Changed      []Turn // what changed just before or in the course of the history, in order of time
	Sensed       []Observation
	Logs         []*LogFile // what they tell stands in Sensed, after what the file itself says
	Wanted       Wanted
}

// Place is where in its file something stands. Line and Column are 0 in what no file says.
type Place struct{ Line, Column int }

// Zone is the household's civil time.
type Zone struct {
	Minutes    int16 // standard offset from UTC, spec.MinZone to spec.MaxZone
	SummerTime bool  // by the rule of Directive 2000/84/EC
}

// Who is the source of a statement.
type Who uint8

// Those who make statements.
const (
	Household  Who = iota // the householder, or whoever lives there
	Integrator            // whoever writes the complaint, with their own eyes and ears
	Log                   // an instrument
)

// Sure is how sure a source is.
type Sure uint8

// The degrees, the strongest first. What they mean as probabilities is package replay's.
const (
	Measured Sure = iota // an instrument or a log says so
	Certain              // 'sure'
	Fairly               // 'fairly'
	Unsure               // 'unsure'

	NumSures = iota
)

// Source is how a setting, an option or a fitting is known.
type Source uint8

// The sources.
const (
	NotKnown Source = iota // nobody knows; a value, if there is one, is an assumption
	Said                   // somebody said so
	Read                   // read off the display, a label or a photograph
	Metered                // measured, or proved with the supply isolated

	NumSources = iota
)

// Sure returns how sure a source is where its statement says nothing else: said fairly, read certain, metered measured.
func (s Source) Sure() Sure {
	switch s {
	case Metered:
		return Measured
	case Read:
		return Certain
	case Said:
		return Fairly
	default:
		return Unsure
	}
}

// Answer is the answer to a safety question.
type Answer uint8

// The answers. A question that the file leaves out is Unanswered, and is to be asked first.
const (
	Unanswered Answer = iota
	No
	Yes
)

// Peril is what a safety question is about.
type Peril uint8

// The perils, in the order in which they are asked about.
const (
	GasSmell Peril = iota
	CarbonMonoxide
	Burning               // a smell of burning, scorching, something too hot to touch
	Scalding              // hot water that scalds
	VulnerableWithoutHeat // a vulnerable person without heat or hot water

	NumPerils = iota
)

// Danger is a safety question with its answer.
type Danger struct {
	Place
	Peril  Peril
	Answer Answer
	Note   string
}

// Option is an ICS option of the unit as vectors/BEHAVIOUR.md names it, such as coupling.
type Option struct {
	Place
	Name   string
	Value  string // as the adapter protocol words it; of the four fitted options what is fitted; "" with NotKnown
	Source Source
	Sure   Sure
}

// Fitting is a thing of the installation around the unit, such as the plan or the room thermostat. In an act it is a thermostat with the
// degrees to which it was turned, isolator or immersion with on or off, boiler with reset, or draw with hundredths of the cylinder.
type Fitting struct {
	Place
	Name   string // a key of the schema's installation: plant, room-thermostat, ...
	Value  string // "" with NotKnown
	Source Source
	Sure   Sure
}

// About is what a claim about a setting is about.
type About uint8

// What a setting can be. The comments name the fields of [Claim] that count.
const (
	AboutMode     About = iota // Channel, Mode
	AboutTable                 // Table, Days, Periods
	AboutClock                 // Reading
	AboutHoliday               // Amount: days it was given for, 0 none
	AboutLock                  // Stage, and with Terms known the Terms
	AboutAlert                 // Stage
	AboutOverride              // Channel, Amount: 1 the display shows one, 0 none
	AboutBoost                 // Channel, Amount: likewise
)

// Claim is a setting as it was said, read or measured at some time. It may be wrong.
type Claim struct {
	Place
	Text   string // the line as the file has it
	About  About
	Source Source
	Sure   Sure
	When   When // when it was so; one instant

	Channel spec.Channel
	Mode    spec.Mode
	Table   spec.TableID
	Days    spec.Day
	Every   bool // the day word was "every": each day the unit's cycle has
	Periods []spec.Period
	Reading Reading
	Amount  int
	Stage   spec.Stage
	// Terms are those of AboutLock that are known: the allowances and sounder times of the stage. Days and notice days do not count.
	Terms      spec.LockTerms
	TermsKnown bool
	Since      spec.Date // when the stage began
	SinceKnown bool
}

// Covers reports whether a claim about a table is about a day of the week, 0 for Monday.
func (c *Claim) Covers(day int) bool {
	switch {
	case c.Every || c.Days == spec.All:
		return true
	case c.Days == spec.Weekdays:
		return day < int(spec.Sat)
	case c.Days == spec.Weekend:
		return day >= int(spec.Sat)
	default:
		return day == int(c.Days)
	}
}

// Reading is what a display shows of its clock. Parts that were not noted do not count.
type Reading struct {
	Blank     bool  // nothing is to be seen: no power
	Unset     bool  // it flashes, or shows dashes
	HasMinute bool  //
	Minute    int16 // of the day, 0 to 1439
	HasDay    bool
	Day       spec.Day // spec.Mon to spec.Sun
	HasDate   bool
	Date      spec.Date
}

// Deed is what kind of act an act is.
type Deed uint8

// The deeds. The comments name the fields of [Act] that count.
const (
	DoInput   Deed = iota // Inputs, at the unit
	DoCut                 // Seconds: the mains went, for so long
	DoFitting             // Fitting, see there: something around the unit was worked
)

// Act is something done. It may be misremembered.
type Act struct {
	Place
	Text    string // the line as the file has it
	Who     Who
	Sure    Sure
	When    When // one window, or one for each time it was done
	Deed    Deed
	Inputs  []spec.Input
	Today   bool // the date of the clock's setting is that of the day on which it was done
	Seconds int64
	Fitting Fitting
}

// Kind is what kind of thing changed just before the trouble.
type Kind uint8

// The kinds of change.
const (
	NewProgrammer Kind = iota
	NewBoiler
	NewValve
	NewThermostat
	Wiring
	PowerCut
	Clocks // summer time began or ended
	NewTenant
	SetUp // the switches at the back of the unit
	Other

	NumKinds = iota
)

// Turn is something that changed, from when on. What the file's unit, installation and settings say holds from the last turn on; a turn
// may say what was so before it.
type Turn struct {
	Place
	Kind Kind
	When When // one window
	Note string

	UnitBefore         []Option
	InstallationBefore []Fitting
	SettingsBefore     []Claim
}

// What is what a person or an instrument can sense.
type What uint8

// What can be sensed. Levels are 0 and 1 unless something else is said.
const (
	Display    What = iota // what the unit's clock reads, that it flashes unset, or that it is dark
	Click                  // of a relay, whichever
	HWRelay                // the hot-water relay: its light on the unit, a meter, a log
	CHRelay                // the heating relay
	Alert                  // the lock's alert; its levels are spec.Stages
	Sounder                //
	HWValve                // the hot-water valve stands open, or a three-port valve where it lets hot water through
	CHValve                // the heating valve, likewise
	Zone2Valve             // the valve of a second zone
	Pump                   //
	Call                   // the call reaches the boiler
	Flame                  // the boiler fires
	Lockout                // the boiler shows that it has locked out
	Immersion              // the immersion heater draws current
	Radiators              // warm to the touch
	Radiators2             // of a second zone
	Tap                    // the hot tap runs hot
	Room                   // the room is as warm as its thermostat asks

	NumWhats = iota
)

// Form is how an observation is put.
type Form uint8

// The forms.
const (
	Is      Form = iota // it was at the level: throughout the window, or at some moment in it (see [Window])
	Becomes             // it came to the level at some moment in the window; of a click: one was heard
	Never               // it was not at the level at any moment in the window; of a click: none was heard
)

// Observation is what somebody sensed, or did not sense though they would have.
type Observation struct {
	Place
	Text    string // in words, for reports
	What    What
	Form    Form
	Level   spec.Level // 0 or 1; of the alert a spec.Stage
	Reading Reading    // of the display
	When    When
	Who     Who
	Sure    Sure
	Logged  Logged // where it stands in a log; the zero value of what the complaint itself says
}

// LogFile is a log that an instrument wrote into a file beside the complaint's.
type LogFile struct {
	Place
	Number   int    // from 1, in the complaint's order
	File     string // its path from the complaint's folder on
	Format   string // CSV or VCD
	From, To int64  // what counts of it, in true seconds
	Fast     int64  // by how many seconds the logger's clock was fast, or with less than 0 slow; what was logged is put right by that
	Blur     int64  // by how many seconds what was logged may be off
	Note     string
	Tracks   []Track
}

// Track is a column of a log and what it tells of.
type Track struct {
	What     What
	Column   string
	Inverted bool // active low
	Changes  int  // that count
	Bounces  int  // of its contact, and pulses as short, taken out of all the log
}

// Logged is where in a log an observation stands.
type Logged struct {
	Log    *LogFile // nil for none
	Column string
	Line   int // of the log: it tells of the change, or of the beginning of the stretch
}

// String returns the log with its line and column, such as 'logs/boiler.csv:12, column F'; "" for none.
func (l Logged) String() string {
	if l.Log == nil {
		return ""
	}
	return fmt.Sprintf("%s:%d, column %s", l.Log.File, l.Line, l.Column)
}

// When is a time or several as the file has it.
type When struct {
	Text    string
	Windows []Window // in order of time; at least one
	// Rule is set for a statement about every day of a kind: its windows are instances of one statement and not statements of their own.
	Rule bool
}

// Window is a stretch of time, from From up to and including To.
type Window struct {
	From, To int64 // true seconds, as stated
	// Throughout: the statement is about all of the window. Otherwise it is about some moment in it.
	Throughout bool
	// Blur is by how much either end may be off, in seconds.
	Blur int64
}

// Middle returns the instant to take where one must be taken.
func (w Window) Middle() int64 { return w.From + (w.To-w.From)/2 }

// Wanted is what the household wants or expects. It is no evidence of what happened. What is wanted on throughout a time is wanted all of it, and
// what is wanted off or cold is wanted so throughout, whether the time says so or not.
type Wanted struct {
	Words string
	Means []Observation // in the form of observations; empty where only words are given
}
