/* The Gregorian calendar and the dates of summer time, in whole days and minutes. */
#ifndef CALENDAR_H
#define CALENDAR_H

#include <stdbool.h>
#include <stdint.h>

#define MINUTES_A_DAY 1440

/* Weekdays count from Monday 0 to Sunday 6. */
enum { MONDAY, TUESDAY, WEDNESDAY, THURSDAY, FRIDAY, SATURDAY, SUNDAY };

/* True for a date that is in the calendar; any numbers may be asked about. */
bool calendar_valid(int32_t year, int32_t month, int32_t day);

/* Days from 2000-01-01 to a valid date; negative before it. */
int32_t calendar_days(int32_t year, int32_t month, int32_t day);

/* The day that holds a minute counted from 2000-01-01 00:00; rounds towards the past. */
int32_t calendar_day_of(int32_t minute);

uint8_t calendar_weekday(int32_t days);

/*
 * Whether summer time holds at a minute of standard time (counted from
 * 2000-01-01 00:00), and in *next the minute of standard time of the next change
 * after it. zone is standard time less UTC in minutes.
 */
bool calendar_summer(int32_t standard, int32_t zone, int32_t *next);

#endif
