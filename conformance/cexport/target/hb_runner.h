/*
 * Puts the vectors of hb_vectors.h to a unit on its own target: no link, no heap, no stdio.
 *
 * Copy hb_runner.c, hb_runner.h and hb_vectors.h into your tree. Write the three functions hb_unit_… for your firmware, call
 * hb_output where it works its outputs, and call hb_run. The unit's time is the runner's: hb_unit_pass makes it pass.
 */
#ifndef HB_RUNNER_H
#define HB_RUNNER_H

#include <stdint.h>

#define HB_RUNNER_FORMAT 1 /* of the tables that this runner reads */

/* Outputs. Levels are 0 and 1 (closed, sounding); of the alert 0 none, 1 counting, 2 notice, 3 restricted. */
enum { HB_HW, HB_CH, HB_ALERT, HB_SOUNDER, HB_SIGNALS };

/* What becomes of an input. */
enum { HB_ACCEPTED, HB_REFUSED, HB_UNSUPPORTED };

/* Kinds of input, each with the fields of struct hb_input that count. The others may have any value. */
enum {
    HB_POWER_OFF,      /* mains is lost */
    HB_POWER_ON,       /* mains returns */
    HB_FIT,            /* of.fit */
    HB_CLOCK,          /* of.clock */
    HB_MODE,           /* channel, mode */
    HB_PERIOD,         /* of.period */
    HB_OVERRIDE,       /* channel */
    HB_BOOST,          /* channel, of.boost */
    HB_HOLIDAY,        /* of.holiday */
    HB_HOLIDAY_CANCEL, /* a holiday is cancelled */
    HB_LOCK_ARM,       /* credential, of.lock */
    HB_LOCK_REMOVE,    /* credential */
    HB_RESET           /* reset */
};

#define HB_NO_ALLOWANCE 255u

struct hb_input {
    uint8_t kind;
    uint8_t channel;        /* HB_HW or HB_CH */
    uint8_t mode;           /* 0 off, 1 table, 2 span, 3 always */
    const char *credential; /* digits, ended by '\0' */
    union {
        uint32_t number[11]; /* all that follow, one after the other */
        struct {
            /* 0 channels: both, hw, ch; 1 cycle: 24h, 5/2, 7day; 2 timing: separate, shared; 3 coupling: independent, gravity */
            uint32_t option, value; /* value counts from 0 */
        } fit;
        struct {
            uint32_t year, month, date; /* which may not be in the calendar */
            uint32_t minute;            /* from midnight, 0 to 1440 */
        } clock;
        struct {
            uint32_t table;   /* 0 hw, 1 ch, 2 both */
            uint32_t day;     /* 0 Monday to 6 Sunday, 7 weekdays, 8 weekend, 9 all */
            uint32_t slot;    /* from 1 */
            uint32_t on, off; /* minutes from midnight, 0 to 1440 */
        } period;
        struct {
            uint32_t minutes; /* 0 cancels */
        } boost;
        struct {
            uint32_t days;
        } holiday;
        struct {
            uint32_t days, notice_days;
            uint32_t allowance[2][2]; /* minutes an hour: in notice and in restricted, each of hw and of ch */
            uint32_t sounders;        /* how many times there are; of more than 4, which are too many, 4 are here */
            uint32_t sounder[4];      /* minutes from midnight */
        } lock;
    } of;
};

/* Where a unit first departs from a vector. */
enum {
    HB_LEVEL, /* in this second the output has the observed level and should have the expected one */
    HB_ORDER, /* the output changes in this second as it should, but after another output that should change after it */
    HB_START, /* as HB_LEVEL, after the inputs that bring the unit to where the test begins */
    HB_REPLY, /* an input was not answered as it should be */
    HB_GIVEN, /* an input that brings the unit to where the test begins was not accepted */
    HB_TIME   /* hb_unit_pass returned a number that it may not */
};

struct hb_departure {
    uint16_t vector; /* its number in hb_vectors.h, from 1 */
    const char *id;  /* "" if the tables have no names */
    uint32_t second; /* since the test began */
    uint8_t what;    /* one of those above */
    uint8_t signal;
    uint8_t expected, observed; /* levels of the signal; with HB_REPLY and HB_GIVEN what became of the input */
};

struct hb_result {
    uint16_t vectors, departed;
};

/* Puts all the vectors to the unit, and reports the first departure from each vector from which it departs. Conformant is none. */
struct hb_result hb_run(void (*report)(const struct hb_departure *departure));

/*
 * For your firmware to call when it works an output: at once, so that the order shows, within the functions below. It may
 * call it with a level that has not changed.
 */
void hb_output(uint8_t signal, uint8_t level);

/*
 * If there is no place for such calls: for the functions below to call at their end. What comes and goes within one of them is
 * not seen, nor is which of two outputs changes first.
 */
static inline void hb_outputs(uint8_t hw, uint8_t ch, uint8_t alert, uint8_t sounder)
{
    /* Hot water closes before any change of heating, and opens after it. */
    if (hw != 0) {
        hb_output(HB_HW, hw);
    }
    hb_output(HB_CH, ch);
    hb_output(HB_HW, hw);
    hb_output(HB_ALERT, alert);
    hb_output(HB_SOUNDER, sounder);
}

/* For you to write. */

/* Makes the unit as it left the factory: no power, nothing set, all outputs 0, fitted as its ICS says. */
void hb_unit_new(void);

/* Gives the unit an input and returns HB_ACCEPTED, HB_REFUSED or HB_UNSUPPORTED. */
uint8_t hb_unit_input(const struct hb_input *input);

/*
 * Lets at least one second pass and at most so many, but none after one in which an output has changed. Returns how many have
 * passed. A unit that lives second by second lets one pass and returns 1.
 */
uint32_t hb_unit_pass(uint32_t most);

#endif
