/*
 * What this unit has and which choices it made: the implementation conformance
 * statement (ICS) as compile-time macros. Every one can be set with -D.
 * Yes/no macros are 1 or 0.
 */
#ifndef CONFIG_H
#define CONFIG_H

/* Names for the *_FITTED macros. */
#define CHANNELS_BOTH 0
#define CHANNELS_HW 1
#define CHANNELS_CH 2
#define CYCLE_24H 0
#define CYCLE_5_2 1
#define CYCLE_7DAY 2
#define TIMING_SEPARATE 0
#define TIMING_SHARED 1
#define COUPLING_INDEPENDENT 0
#define COUPLING_GRAVITY 1

/* What can be fitted at the back, and what leaves the factory fitted. */
#ifndef HAVE_CHANNELS_BOTH
#define HAVE_CHANNELS_BOTH 1
#endif
#ifndef HAVE_CHANNELS_HW
#define HAVE_CHANNELS_HW 1
#endif
#ifndef HAVE_CHANNELS_CH
#define HAVE_CHANNELS_CH 1
#endif
#ifndef CHANNELS_FITTED
#define CHANNELS_FITTED CHANNELS_BOTH
#endif
#ifndef HAVE_CYCLE_24H
#define HAVE_CYCLE_24H 1
#endif
#ifndef HAVE_CYCLE_5_2
#define HAVE_CYCLE_5_2 1
#endif
#ifndef HAVE_CYCLE_7DAY
#define HAVE_CYCLE_7DAY 1
#endif
#ifndef CYCLE_FITTED
#define CYCLE_FITTED CYCLE_7DAY
#endif
#ifndef HAVE_TIMING_SEPARATE
#define HAVE_TIMING_SEPARATE 1
#endif
#ifndef HAVE_TIMING_SHARED
#define HAVE_TIMING_SHARED 1
#endif
#ifndef TIMING_FITTED
#define TIMING_FITTED TIMING_SEPARATE
#endif
#ifndef HAVE_COUPLING_INDEPENDENT
#define HAVE_COUPLING_INDEPENDENT 1
#endif
#ifndef HAVE_COUPLING_GRAVITY
#define HAVE_COUPLING_GRAVITY 1
#endif
#ifndef COUPLING_FITTED
#define COUPLING_FITTED COUPLING_INDEPENDENT
#endif

/* Periods a day, 1 to 6. */
#ifndef PERIODS
#define PERIODS 6
#endif
/* Minutes, a multiple of the step; 0 is a unit without boost. */
#ifndef BOOST_LONGEST
#define BOOST_LONGEST 180
#endif
/* Minutes, 1 to 240. */
#ifndef BOOST_STEP
#define BOOST_STEP 60
#endif
#ifndef HOLIDAY
#define HOLIDAY 1
#endif
/* 1 automatic, 0 none. */
#ifndef SUMMER_TIME
#define SUMMER_TIME 1
#endif
/* Standard time less UTC in minutes, -720 to 840, a multiple of 15. */
#ifndef ZONE
#define ZONE 0
#endif
#ifndef LOCK
#define LOCK 1
#endif
/* 4 to 8 digits; leading zeros count. */
#ifndef CREDENTIAL
#define CREDENTIAL 246810
#endif
/* Minutes for which the clock runs without mains, 0 to 525600. */
#ifndef RESERVE
#define RESERVE 480
#endif

/* The choices. 0 is the default of each. */
#ifndef OVERRIDE_ON_MODE_CHANGE_KEPT
#define OVERRIDE_ON_MODE_CHANGE_KEPT 0
#endif
#ifndef OVERRIDE_END_PROGRAMMED
#define OVERRIDE_END_PROGRAMMED 0
#endif
#ifndef SECOND_BOOST_EXTENDS
#define SECOND_BOOST_EXTENDS 0
#endif
#ifndef BOOST_IN_HOLIDAY_ALLOWED
#define BOOST_IN_HOLIDAY_ALLOWED 0
#endif
#ifndef CLOCK_AFTER_RESET_UNSET
#define CLOCK_AFTER_RESET_UNSET 0
#endif
/* At most one of these two; neither leaves a lost clock unset. */
#ifndef LOST_CLOCK_RESUMES
#define LOST_CLOCK_RESUMES 0
#endif
#ifndef LOST_CLOCK_RESTARTS
#define LOST_CLOCK_RESTARTS 0
#endif
#ifndef THROUGH_CUT_KEPT
#define THROUGH_CUT_KEPT 0
#endif
#ifndef PAST_MIDNIGHT_WRAP
#define PAST_MIDNIGHT_WRAP 0
#endif
#ifndef BAD_VALUE_CLAMPED
#define BAD_VALUE_CLAMPED 0
#endif

/* What is claimed as tolerance: seconds, but the rates in parts per million. */
#ifndef LATE_POWER_ON
#define LATE_POWER_ON 0
#endif
#ifndef LATE_SCAN
#define LATE_SCAN 0
#endif
#ifndef STAGGER
#define STAGGER 0
#endif
#ifndef BOOST_RATE
#define BOOST_RATE 0
#endif
#ifndef CLOCK_RATE
#define CLOCK_RATE 0
#endif
#ifndef LOCK_GRAIN
#define LOCK_GRAIN 0
#endif

#if PERIODS < 1 || PERIODS > 6
#error "PERIODS: 1 to 6"
#endif
#if BOOST_STEP < 1 || BOOST_STEP > 240
#error "BOOST_STEP: 1 to 240 minutes"
#endif
#if BOOST_LONGEST < 0 || BOOST_LONGEST > 1440 || BOOST_LONGEST % BOOST_STEP != 0
#error "BOOST_LONGEST: 0 to 1440 minutes, a multiple of BOOST_STEP"
#endif
#if ZONE < -720 || ZONE > 840 || ZONE % 15 != 0
#error "ZONE: -720 to 840 minutes, a multiple of 15"
#endif
#if RESERVE < 0 || RESERVE > 525600
#error "RESERVE: 0 to 525600 minutes"
#endif
#if LOST_CLOCK_RESUMES && LOST_CLOCK_RESTARTS
#error "LOST_CLOCK_RESUMES and LOST_CLOCK_RESTARTS: set one of them"
#endif
#if (CHANNELS_FITTED == CHANNELS_BOTH && !HAVE_CHANNELS_BOTH) || \
    (CHANNELS_FITTED == CHANNELS_HW && !HAVE_CHANNELS_HW) || \
    (CHANNELS_FITTED == CHANNELS_CH && !HAVE_CHANNELS_CH)
#error "CHANNELS_FITTED: one of the HAVE_CHANNELS_* that are 1"
#endif
#if (CYCLE_FITTED == CYCLE_24H && !HAVE_CYCLE_24H) || \
    (CYCLE_FITTED == CYCLE_5_2 && !HAVE_CYCLE_5_2) || \
    (CYCLE_FITTED == CYCLE_7DAY && !HAVE_CYCLE_7DAY)
#error "CYCLE_FITTED: one of the HAVE_CYCLE_* that are 1"
#endif
#if (TIMING_FITTED == TIMING_SEPARATE && !HAVE_TIMING_SEPARATE) || \
    (TIMING_FITTED == TIMING_SHARED && !HAVE_TIMING_SHARED)
#error "TIMING_FITTED: one of the HAVE_TIMING_* that are 1"
#endif
#if (COUPLING_FITTED == COUPLING_INDEPENDENT && !HAVE_COUPLING_INDEPENDENT) || \
    (COUPLING_FITTED == COUPLING_GRAVITY && !HAVE_COUPLING_GRAVITY)
#error "COUPLING_FITTED: one of the HAVE_COUPLING_* that are 1"
#endif

#define CONFIG_STRING_OF(x) #x
#define CONFIG_STRING(x) CONFIG_STRING_OF(x)

#endif
