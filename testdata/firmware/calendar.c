#include "calendar.h"
#include "wrong_builds.h"

static bool leap(int32_t year)
{
    return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
}

static int32_t month_length(int32_t year, int32_t month)
{
    static const uint8_t length[12] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};

    return length[month - 1] + (month == 2 && leap(year) ? 1 : 0);
}

bool calendar_valid(int32_t year, int32_t month, int32_t day)
{
    return year >= 1 && month >= 1 && month <= 12 && day >= 1 && day <= month_length(year, month);
}

static int32_t days_before_year(int32_t year)
{
    int32_t y = year - 1;

    /* 730119 days lie before the year 2000 in the Gregorian calendar carried back. */
    return y * 365 + y / 4 - y / 100 + y / 400 - 730119;
}

int32_t calendar_days(int32_t year, int32_t month, int32_t day)
{
    int32_t days = days_before_year(year) + day - 1;

    for (int32_t m = 1; m < month; m++) {
        days += month_length(year, m);
    }
    return days;
}

int32_t calendar_day_of(int32_t minute)
{
    int32_t day = minute / MINUTES_A_DAY;

    return minute % MINUTES_A_DAY < 0 ? day - 1 : day;
}

uint8_t calendar_weekday(int32_t days)
{
    /* 2000-01-01 was a Saturday. */
    int32_t w = (days + SATURDAY) % 7;

    return (uint8_t)(w < 0 ? w + 7 : w);
}

static int32_t year_of(int32_t days)
{
    int32_t year = 2000 + days / 366 - (days < 0 ? 1 : 0);

    while (days_before_year(year + 1) <= days) {
        year++;
    }
    return year;
}

/* 01:00 UTC on the last Sunday of a month of 31 days, in minutes of UTC. */
static int32_t change_in(int32_t year, int32_t month)
{
    int32_t last = calendar_days(year, month, BUG_FOURTH_SUNDAY ? 28 : 31);
    int32_t sunday = last - (calendar_weekday(last) + 1) % 7;
    int32_t hour = BUG_AUTUMN_AN_HOUR_EARLY && month == 10 ? 0 : 60;

    return sunday * MINUTES_A_DAY + hour;
}

bool calendar_summer(int32_t standard, int32_t zone, int32_t *next)
{
    int32_t utc = standard - zone;
    int32_t year = year_of(calendar_day_of(utc));
    int32_t start = change_in(year, 3);
    int32_t end = change_in(year, 10);

    if (utc < start) {
        *next = start + zone;
        return false;
    }
    if (utc < end) {
        *next = end + zone;
        return true;
    }
    *next = change_in(year + 1, 3) + zone;
    return false;
}
