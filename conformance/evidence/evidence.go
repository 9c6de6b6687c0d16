package evidence

// Check is one check against the outside world.
type Check struct {
	// What is checked.
	What string
	// Against is the published source, with '(from memory)' where nobody could look the value up, or [CommonPractice].
	Against string
	// Clauses are those of vectors/BEHAVIOUR.md that the check bears on; none where it bears on files or methods instead.
	Clauses []string
	// Package is the folder of the test, from the module's root, and Test its name.
	Package, Test string
}

// CommonPractice is the source of a fact of the trade that nobody has laid down.
const CommonPractice = "common practice, no source"

const (
	here     = "conformance/evidence"
	calendar = "emulator/calendar"
	capture  = "conformance/capture"
	fsm      = "conformance/fsm"
	report   = "conformance/report"
	verify   = "conformance/verify"

	tz         = "IANA tz database (Go's time/tzdata)"
	directive  = "Directive 2000/84/EC, articles 2 and 3; for the UK the Summer Time Act 1972 as amended by SI 2002/262; " + tz
	recurrence = "RFC 5545, section 3.3.10, as expanded by github.com/teambition/rrule-go"
	gas        = "Gas Safety (Installation and Use) Regulations 1998, regulations 36 and 36A (Great Britain only)"
	iso        = "ISO 8601-1, as Go's time package has it"
	chow       = "T. S. Chow, 'Testing Software Design Modeled by Finite-State Machines', IEEE TSE SE-4(3), 1978"
	lee        = "D. Lee and M. Yannakakis, 'Principles and Methods of Testing Finite State Machines', Proc. IEEE 84(8), 1996"
)

// Checks are all checks against something that this project did not write, by subject.
var Checks = []Check{
	{
		What:    "instants of summer time from 1996 to 2037, as calendar arithmetic",
		Against: directive, Clauses: []string{"CLK-5", "CLK-6"},
		Package: calendar, Test: "TestSummerTimeAgreesWithTimeZoneDatabase",
	},
	{
		What: "readings before and after each change of summer time from 2000 to 2037, as the relays of both models show them: Europe/London, " +
			"Europe/Dublin, Europe/Berlin, Atlantic/Azores",
		Against: directive, Clauses: []string{"CLK-5", "CLK-6", "CLK-7", "CLK-9", "TAB-1", "OUT-1"},
		Package: here, Test: "TestReadingsAroundEachChangeOfSummerTime",
	},
	{
		What:    "noon of every day from 2000 to 2037 on a clock set once: the same four zones, the emulator",
		Against: tz, Clauses: []string{"CLK-1", "CLK-5", "CLK-6", "CLK-7"},
		Package: here, Test: "TestAClockSetOnceKeepsCivilTime",
	},
	{
		What:    "switching points of tables of each cycle over five years in Europe/London",
		Against: recurrence, Clauses: []string{
			"CLK-1", "CLK-5", "CLK-6", "TAB-1", "TAB-3", "TAB-4", "TAB-5", "TAB-7", "TAB-8", "TAB-9", "TAB-10", "TAB-11", "TAB-12", "MOD-2",
		},
		Package: here, Test: "TestSwitchingPointsAreRecurrences",
	},
	{
		What:    "switching points at readings that summer time skips or repeats, where clauses and recurrences part as stated there",
		Against: recurrence + "; its treatment of such readings (from memory)", Clauses: []string{"CLK-5", "CLK-6", "TAB-1"},
		Package: here, Test: "TestRecurrencesAtSkippedAndRepeatedReadings",
	},
	{
		What:    "the next switching point, one after the other over five years and from wherever the clock is set",
		Against: "the general cron library github.com/robfig/cron/v3", Clauses: []string{"CLK-3", "CLK-5", "CLK-6", "TAB-1", "TAB-10", "MOD-2"},
		Package: here, Test: "TestNextSwitchingPointIsCrons",
	},
	{
		What:    "the default table is a standard occupancy pattern: 9 h on weekdays, 16 h on Saturdays and Sundays, 77 h a week",
		Against: "SAP 2012 (BRE), table 9 (from memory); later editions differ", Clauses: []string{"TAB-18", "RST-1"},
		Package: here, Test: "TestDefaultTableIsTheStandardOccupancyPattern",
	},
	{
		What: "a countdown in days holds the 12 months of a landlord's gas check, and the 14 of one done early, from every date of 2000 to 2098: " +
			"the emulator",
		Against: gas, Clauses: []string{"LCK-4", "LCK-5"},
		Package: here, Test: "TestCountdownHoldsTheGasCheckInterval",
	},
	{
		What:    "arming takes the days of 12 months, of 14, and up to 999",
		Against: gas, Clauses: []string{"LCK-5"},
		Package: here, Test: "TestArmingTakesFourteenMonths",
	},
	{
		What:    "notice can cover the two months in which a gas check done early keeps its date: the emulator",
		Against: gas, Clauses: []string{"LCK-2", "LCK-3", "LCK-4", "LCK-7"},
		Package: here, Test: "TestNoticeCoversTheTwoMonthsInWhichACheckKeepsItsDate",
	},
	{
		What:    "the countdown is of counted days of 86 400 s, not of the calendar's, so what it shows is no proof that a legal duty is met",
		Against: gas, Clauses: []string{"LCK-4", "LCK-10", "LCK-12"},
		Package: here, Test: "TestCountdownIsNoProofOfALegalDuty",
	},
	{
		What:    "dates and days of the week from 1995 to 2104, as calendar arithmetic",
		Against: iso, Clauses: []string{"CLK-1", "CLK-2"},
		Package: calendar, Test: "TestDatesAgreeWithTimePackage",
	},
	{
		What:    "the day of the week of every date of 2000 to 2099, as the relays show it",
		Against: iso, Clauses: []string{"CLK-1", "CLK-2", "TAB-11"},
		Package: here, Test: "TestDayOfTheWeekFollowsFromTheDate",
	},
	{
		What:    "which dates the clock can be set to",
		Against: iso, Clauses: []string{"CLK-4"},
		Package: here, Test: "TestDatesAreTheCalendars",
	},
	{
		What:    "a boost's length as a duration of elapsed time, over changes of summer time",
		Against: iso, Clauses: []string{"BST-1", "BST-8"},
		Package: here, Test: "TestBoostIsADurationOfElapsedTime",
	},
	{
		What:    "a holiday's length as a duration of calendar days",
		Against: iso + "; " + tz, Clauses: []string{"HOL-1"},
		Package: here, Test: "TestHolidayIsADurationOfCalendarDays",
	},
	{
		What:    "instants of the published vectors, with the offsets of Europe/London",
		Against: "RFC 3339, a profile of ISO 8601; " + tz,
		Package: here, Test: "TestInstantsOfTheVectorsAreISO8601",
	},
	{
		What:    "first on to last off",
		Against: CommonPractice, Clauses: []string{"MOD-3"},
		Package: here, Test: "TestPracticeFirstOnToLastOff",
	},
	{
		What:    "flip until the next switching point",
		Against: CommonPractice, Clauses: []string{"OVR-1", "OVR-2"},
		Package: here, Test: "TestPracticeFlipUntilTheNextSwitchingPoint",
	},
	{
		What:    "equal times delete a period",
		Against: CommonPractice, Clauses: []string{"TAB-2"},
		Package: here, Test: "TestPracticeEqualTimesDeleteAPeriod",
	},
	{
		What:    "a boost of one to three hours",
		Against: CommonPractice, Clauses: []string{"BST-1", "BST-2"},
		Package: here, Test: "TestPracticeBoostOfOneToThreeHours",
	},
	{
		What:    "heating brings hot water on a gravity system",
		Against: CommonPractice, Clauses: []string{"CPL-1", "CPL-4"},
		Package: here, Test: "TestPracticeHeatingBringsHotWaterOnGravity",
	},
	{
		What:    "a countdown set in days, a year with notice a month before, outlives a reset",
		Against: CommonPractice, Clauses: []string{"LCK-3", "LCK-4", "LCK-9"},
		Package: here, Test: "TestPracticeCountdownOutlivesAReset",
	},
	{
		What:    "test suites made for finite-state machines are complete: no wrong machine within the stated bounds passes, of all there are",
		Against: chow, Package: fsm, Test: "TestNoWrongImplementationSurvives",
	},
	{
		What:    "a suite passes a machine if, and only if, it behaves as its specification: all small specifications, all implementations",
		Against: chow, Package: fsm, Test: "TestEveryImplementationOfEverySmallSpecification",
	},
	{
		What:    "a worked machine's distinguishing sequence, with its responses and the states in which it ends",
		Against: lee + ", figure 1 (from memory); M. Krichen, 'State Identification', LNCS 3472, 2005, table 2.1",
		Package: fsm, Test: "TestCycle3PresetDistinguishingSequence",
	},
	{
		What:    "a worked machine with an adaptive distinguishing sequence and no preset one",
		Against: "M. Krichen, 'State Identification', LNCS 3472, 2005, section 2.2", Package: fsm, Test: "TestAdaptiveWithoutPreset",
	},
	{
		What:    "a worked machine's transition cover and characterization set",
		Against: "A. P. Mathur, 'Foundations of Software Testing', after A. Gill, 1962 (from memory)",
		Package: fsm, Test: "TestGillTransitionCoverAndW",
	},
	{
		What:    "a known machine that has no distinguishing sequence",
		Against: "Z. Kohavi, 'Switching and Finite Automata Theory', chapter 13 (from memory)", Package: fsm, Test: "TestKohavi",
	},
	{
		What:    "TAP reports, as another program reads them",
		Against: "prove, of Perl's Test::Harness", Package: report, Test: "TestProveReadsTAP",
	},
	{
		What:    "JUnit XML reports, as a general library reads them",
		Against: "github.com/joshdk/go-junit", Package: report, Test: "TestJUnit",
	},
	{
		What: "loads through each contact against a board's rating: 2 A resistive and 1 A inductive and the marks 2(1) A, 3(1) A and 6(2) A; a 3 kW immersion heater " +
			"hangs on none of them",
		Against: CommonPractice + "; the marks as in EN 60730-1 (from memory)", Package: "emulator/plant", Test: "TestAnImmersionHeaterNeverHangsOnARelay",
	},
	{
		What:    "JSON reports follow their schema",
		Against: "JSON Schema 2020-12, by github.com/santhosh-tekuri/jsonschema", Package: report, Test: "TestReportsFollowTheSchema",
	},
	{
		What:    "known failures in the Test Anything Protocol, as a reader takes them",
		Against: "prove (Perl's TAP::Harness)", Package: report, Test: "TestProveReadsKnownFailures",
	},
	{
		What:    "value change dumps of traces, as another program reads them: every signal's level in every second",
		Against: "IEEE Std 1364, as sigrok-cli has it", Package: capture, Test: "TestAnIndependentReaderOfTraces",
	},
	{
		What:    "the published vector files follow their schema",
		Against: "JSON Schema 2020-12, by github.com/santhosh-tekuri/jsonschema", Package: verify, Test: "TestThePublishedSetVerifies",
	},
	{
		What:    "the schema turns down what does not follow it, and says where",
		Against: "JSON Schema 2020-12, by github.com/santhosh-tekuri/jsonschema", Package: verify, Test: "TestSchemaNamesThePlace",
	},
}
