/*
 * The programmer: two channels, tables, override, boost, holiday, interval lock.
 * It knows nothing of the line it is tested over. The owner calls unit_tick once a
 * second and the other functions for what happens at the front, the back and the
 * mains; each change of an output is told through the callback.
 */
#ifndef UNIT_H
#define UNIT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "config.h"
#include "wrong_builds.h"

enum { HW, CH, CHANNEL_COUNT };

enum { MODE_OFF, MODE_TABLE, MODE_SPAN, MODE_ALWAYS };

/* The stages of the interval lock, and the levels of the alert. */
enum { STAGE_DORMANT, STAGE_COUNTING, STAGE_NOTICE, STAGE_RESTRICTED };

/* Outputs. SIGNAL_HW and SIGNAL_CH are HW and CH. */
enum { SIGNAL_HW, SIGNAL_CH, SIGNAL_ALERT, SIGNAL_SOUNDER, SIGNAL_COUNT };

/* What is fitted at the back. */
enum { FIT_CHANNELS, FIT_CYCLE, FIT_TIMING, FIT_COUPLING, FIT_COUNT };

/* The table of an edit: HW or CH with separate timing, TABLE_BOTH with shared. */
enum { TABLE_BOTH = CHANNEL_COUNT };

/* The day of an edit: Monday 0 to Sunday 6, or a block. */
enum { DAY_ALL = 7, DAY_WEEKDAYS, DAY_WEEKEND };

enum answer {
    ANSWER_OK,
    ANSWER_UNSUPPORTED,
    /* Everything from here on is a refusal. */
    ANSWER_NO_POWER,
    ANSWER_POWERED,
    ANSWER_CLOCK_UNSET,
    ANSWER_IN_HOLIDAY,
    ANSWER_NO_DATE,
    ANSWER_NO_READING,
    ANSWER_NO_TABLE,
    ANSWER_NO_DAY,
    ANSWER_NO_SLOT,
    ANSWER_BAD_TIMES,
    ANSWER_BAD_BOOST,
    ANSWER_BAD_DAYS,
    ANSWER_NEVER_ENDS,
    ANSWER_BAD_CREDENTIAL,
    ANSWER_BAD_TERMS,
    ANSWER_DORMANT,
    ANSWER_COUNT
};

#define ALLOWANCE_NONE UINT32_MAX
#define SOUNDER_TIMES 4

/* What arming states. Days are days, allowances minutes an hour or ALLOWANCE_NONE. */
struct lock_terms {
    uint32_t days;
    uint32_t notice_days;
    uint32_t allowance[2][CHANNEL_COUNT]; /* [0] in notice, [1] in restricted */
    uint8_t sounder_count;                /* may be more than SOUNDER_TIMES, and is refused then */
    uint16_t sounder[SOUNDER_TIMES];      /* minutes since 00:00 */
};

/* Minutes since 00:00. Equal times are an inactive period. */
struct period {
    uint16_t on;
    uint16_t off;
};

struct channel {
    uint8_t mode;
    bool scheduled;      /* s, as last evaluated */
    bool override;
    bool override_level; /* what the override asks for */
    uint32_t boost_left; /* seconds; 0 is no boost */
#if BUG_OVERRIDE_STORES_END
    int32_t override_until; /* reading, minutes */
#endif
#if BUG_BOOST_ON_CIVIL_CLOCK
    int32_t boost_until; /* reading, minutes */
    uint8_t boost_until_second;
#endif
#if BUG_MODE_TAG
    uint8_t given_in; /* mode in which override or boost was given */
#endif
};

/*
 * What changes from minute to minute comes first, the tables last: whoever keeps many states of a unit keeps what
 * changes once for each.
 */
struct unit {
    void (*changed)(void *owner, uint8_t signal, uint8_t level);
    void *owner;

    bool power;
    bool lost;            /* the reserve has run out, or there never was power */
    bool clock_set;
    bool summer;          /* the reading is an hour ahead of standard time */
    uint8_t second_left;  /* 60 to 1: seconds to the next minute */
    uint8_t weekday;      /* of the reading */
    uint16_t minute;      /* of the reading, since 00:00 */
    int32_t standard;     /* standard time, minutes since 2000-01-01 00:00 */
    int32_t reading;      /* what the display shows, in the same minutes */
    int32_t next_change;  /* standard time of the next change of summer time */
    uint32_t cut;         /* seconds since power was lost */

    struct channel channel[CHANNEL_COUNT];
    uint8_t output[SIGNAL_COUNT];

    bool holiday;
    uint8_t holiday_days;
    int32_t holiday_end;  /* reading, minutes */

    uint8_t stage;
    uint32_t lock_count;    /* seconds counted since arming; stands still once restricted */
    uint32_t lock_next;     /* count at which the next stage begins */
    uint32_t restricted_at;
    uint16_t hour;          /* seconds into the hour since the stage began */
    uint16_t window[2][CHANNEL_COUNT]; /* seconds of each hour in which the permit is open */
    uint8_t sounder_count;
    uint16_t sounder[SOUNDER_TIMES];
#if BUG_LOCKED_OUT
    uint8_t wrong_tries;
#endif
#if BUG_AUTUMN_ONCE
    int32_t executed; /* latest reading whose table was carried out */
#endif

    uint8_t fitted[FIT_COUNT]; /* as the switches at the back stand */
    uint8_t found[FIT_COUNT];  /* as they stood when power last returned */

    struct period table[CHANNEL_COUNT][7][PERIODS];
};

/* Makes the unit as it left the factory: no power, nothing set, all outputs 0. */
void unit_new(struct unit *u, void (*changed)(void *owner, uint8_t signal, uint8_t level), void *owner);

/* One second has passed. */
void unit_tick(struct unit *u);

/* True if the channel is there, by what was fitted when power last returned. */
bool unit_has_channel(const struct unit *u, uint8_t c);

/* Moves a switch at the back; value is one of the macros of config.h. */
enum answer unit_fit(struct unit *u, uint8_t option, uint8_t value);

enum answer unit_power(struct unit *u, bool on);

/* Any numbers may be given for the date; minute is 0 to 1440 since 00:00. */
enum answer unit_set_clock(struct unit *u, int32_t year, int32_t month, int32_t day, uint16_t minute);

enum answer unit_mode(struct unit *u, uint8_t c, uint8_t mode);

/* slot counts from 1; on and off are 0 to 1440 minutes since 00:00. */
enum answer unit_period(struct unit *u, uint8_t table, uint8_t day, uint8_t slot, uint16_t on, uint16_t off);

enum answer unit_override(struct unit *u, uint8_t c);

/* Any number of minutes may be given; 0 cancels. */
enum answer unit_boost(struct unit *u, uint8_t c, uint32_t minutes);

/* Any number of days may be given. */
enum answer unit_holiday(struct unit *u, uint32_t days);

enum answer unit_holiday_cancel(struct unit *u);

/* The credential is length characters, not ended by anything. */
enum answer unit_lock_arm(struct unit *u, const char *credential, size_t length, const struct lock_terms *terms);

enum answer unit_lock_remove(struct unit *u, const char *credential, size_t length);

enum answer unit_reset(struct unit *u);

#endif
