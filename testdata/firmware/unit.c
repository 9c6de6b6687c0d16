#include "unit.h"

#include "calendar.h"

#define SECONDS_A_DAY 86400u
#define RESERVE_SECONDS ((uint32_t)RESERVE * 60u)
#define WINDOW_WHOLE 3600u

/* Tables */

static bool weekend(uint8_t weekday)
{
    if (BUG_WEEKEND_FROM_FRIDAY) {
        return weekday == FRIDAY || weekday == SATURDAY;
    }
    return weekday == SATURDAY || weekday == SUNDAY;
}

static bool shared(const struct unit *u)
{
    return u->found[FIT_CHANNELS] == CHANNELS_BOTH && u->found[FIT_TIMING] == TIMING_SHARED;
}

static bool gravity(const struct unit *u)
{
    return u->found[FIT_CHANNELS] == CHANNELS_BOTH && u->found[FIT_COUPLING] == COUPLING_GRAVITY;
}

bool unit_has_channel(const struct unit *u, uint8_t c)
{
    return u->found[FIT_CHANNELS] == CHANNELS_BOTH || u->found[FIT_CHANNELS] == (c == HW ? CHANNELS_HW : CHANNELS_CH);
}

static const struct period *day_of(const struct unit *u, uint8_t c, uint8_t weekday)
{
    return u->table[shared(u) ? HW : c][weekday];
}

static uint8_t day_before(uint8_t weekday)
{
    return weekday == MONDAY ? SUNDAY : (uint8_t)(weekday - 1);
}

static bool active(const struct period *p)
{
    return p->on != p->off;
}

static bool wraps(const struct period *p)
{
    return PAST_MIDNIGHT_WRAP && p->off < p->on;
}

/* Minutes since 00:00 of the day on which the period begins. */
static uint16_t end_of(const struct period *p)
{
    return wraps(p) ? (uint16_t)(p->off + MINUTES_A_DAY) : p->off;
}

static bool table_level(const struct period *today, const struct period *yesterday, uint16_t minute)
{
#if BUG_LAST_EDGE_WINS
    int32_t latest = -1;
    bool level = false;

    for (uint8_t i = 0; i < PERIODS; i++) {
        if (!active(&today[i])) {
            continue;
        }
        if (today[i].on <= minute && today[i].on > latest) {
            latest = today[i].on;
            level = true;
        }
        if (end_of(&today[i]) <= minute && end_of(&today[i]) >= latest) {
            latest = end_of(&today[i]);
            level = false;
        }
    }
    if (latest >= 0) {
        return level;
    }
#endif
    for (uint8_t i = 0; i < PERIODS; i++) {
        const struct period *p = &today[i];

        if (BUG_EQUAL_TIMES_ALL_DAY && p->on == p->off && p->on != 0) {
            return true;
        }
        if (active(p) && p->on <= minute && (minute < end_of(p) || (BUG_OFF_A_MINUTE_LATE && minute == end_of(p)))) {
            return true;
        }
        if (PAST_MIDNIGHT_WRAP && wraps(&yesterday[i]) && minute < yesterday[i].off) {
            return true;
        }
    }
    return false;
}

/* The day's first active on and last active off; false where there is none. */
static bool span_of(const struct period *day, struct period *span)
{
    bool any = false;

    span->on = 0;
    span->off = 0;
    for (uint8_t i = 0; i < PERIODS; i++) {
        if (!active(&day[i])) {
            continue;
        }
        if (!any || (!BUG_SPAN_BY_SLOT && day[i].on < span->on)) {
            span->on = day[i].on;
        }
        if (!any || BUG_SPAN_BY_SLOT || end_of(&day[i]) > span->off) {
            span->off = end_of(&day[i]);
        }
        any = true;
    }
    return any;
}

static bool span_level(const struct period *today, const struct period *yesterday, uint16_t minute)
{
    struct period span;

    if (span_of(today, &span) && span.on <= minute && minute < span.off) {
        return true;
    }
    return PAST_MIDNIGHT_WRAP && span_of(yesterday, &span) && minute + MINUTES_A_DAY < span.off;
}

/* What mode and table ask of a channel at a reading. */
static bool level_at(const struct unit *u, uint8_t c, uint8_t weekday, uint16_t minute)
{
    const struct period *today = day_of(u, c, weekday);
    const struct period *yesterday = day_of(u, c, day_before(weekday));

    switch (u->channel[c].mode) {
    case MODE_TABLE:
        return table_level(today, yesterday, minute);
    case MODE_SPAN:
        return span_level(today, yesterday, minute);
    default:
        return u->channel[c].mode == MODE_ALWAYS;
    }
}

static bool scheduled_now(const struct unit *u, uint8_t c)
{
    if (!u->clock_set) {
        return u->channel[c].mode == MODE_ALWAYS;
    }
    return level_at(u, c, u->weekday, u->minute);
}

/* The present reading is a programmed time of the channel. */
static bool programmed_now(const struct unit *u, uint8_t c)
{
    const struct period *today = day_of(u, c, u->weekday);
    const struct period *yesterday = day_of(u, c, day_before(u->weekday));
    uint32_t since_yesterday = u->minute + (uint32_t)MINUTES_A_DAY;

    if (u->channel[c].mode == MODE_SPAN) {
        struct period span;

        if (span_of(today, &span) && (span.on == u->minute || span.off == u->minute)) {
            return true;
        }
        return span_of(yesterday, &span) && span.off == since_yesterday;
    }
    for (uint8_t i = 0; i < PERIODS; i++) {
        if (active(&today[i]) && (today[i].on == u->minute || end_of(&today[i]) == u->minute)) {
            return true;
        }
        if (active(&yesterday[i]) && end_of(&yesterday[i]) == since_yesterday) {
            return true;
        }
    }
    return false;
}

/* An override given now would find no end of its own. */
static bool endless(const struct unit *u, uint8_t c)
{
    uint8_t mode = u->channel[c].mode;
    bool first = level_at(u, c, MONDAY, 0);

    if (!u->clock_set || mode == MODE_OFF || mode == MODE_ALWAYS) {
        return true;
    }
    for (uint8_t d = MONDAY; d <= SUNDAY; d++) {
        const struct period *today = day_of(u, c, d);
        uint8_t tomorrow = d == SUNDAY ? MONDAY : (uint8_t)(d + 1);

        if (level_at(u, c, d, 0) != first) {
            return false;
        }
        for (uint8_t i = 0; i < PERIODS; i++) {
            const struct period *p = &today[i];

            if (!active(p)) {
                continue;
            }
            if (OVERRIDE_END_PROGRAMMED) {
                return false;
            }
            /* The level can only change where a period begins or ends. */
            if (level_at(u, c, d, p->on) != first) {
                return false;
            }
            if (p->off < MINUTES_A_DAY && level_at(u, c, wraps(p) ? tomorrow : d, p->off) != first) {
                return false;
            }
        }
    }
    return true;
}

static void default_tables(struct unit *u)
{
    for (uint8_t c = 0; c < CHANNEL_COUNT; c++) {
        for (uint8_t d = MONDAY; d <= SUNDAY; d++) {
            struct period *day = u->table[c][d];
            bool long_day = PERIODS == 1 || (u->found[FIT_CYCLE] != CYCLE_24H && weekend(d));

            for (uint8_t i = 0; i < PERIODS; i++) {
                day[i].on = 0;
                day[i].off = 0;
            }
            day[0].on = 7 * 60;
            day[0].off = long_day ? 23 * 60 : 9 * 60;
#if PERIODS > 1
            if (!long_day) {
                day[1].on = 16 * 60;
                day[1].off = 23 * 60;
            }
#endif
        }
    }
}

/* Outputs */

static bool permit(const struct unit *u, uint8_t c)
{
    uint16_t into = u->hour;

    if (u->stage < STAGE_NOTICE) {
        return true;
    }
    if (BUG_PERMIT_ON_CLOCK_HOUR && u->clock_set) {
        into = (uint16_t)(u->minute % 60 * 60 + 60 - u->second_left);
    }
    return into < u->window[u->stage - STAGE_NOTICE][c];
}

static bool demand(const struct unit *u, uint8_t c)
{
    const struct channel *ch = &u->channel[c];

#if BUG_MODE_TAG
    if (ch->given_in != ch->mode) {
        return !u->holiday && ch->scheduled;
    }
#endif
    if (ch->boost_left != 0) {
        return true;
    }
    if (u->holiday) {
        return false;
    }
    return ch->override ? ch->override_level : ch->scheduled;
}

static bool relay(const struct unit *u, uint8_t c)
{
    return u->power && unit_has_channel(u, c) && demand(u, c) && permit(u, c);
}

static bool sounding(const struct unit *u)
{
    if (!u->power || u->stage < STAGE_NOTICE || !(u->clock_set || BUG_SOUNDER_CLOCK_UNSET)) {
        return false;
    }
    for (uint8_t i = 0; i < u->sounder_count; i++) {
        if (u->sounder[i] == u->minute) {
            return true;
        }
    }
    return false;
}

static void put(struct unit *u, uint8_t signal, uint8_t level)
{
    if (u->output[signal] != level) {
        u->output[signal] = level;
        u->changed(u->owner, signal, level);
    }
}

static void show(struct unit *u)
{
    bool ch = relay(u, CH);
    bool pull = ch;
    bool hw;

    if (BUG_GRAVITY_NOT_BOOST && u->channel[CH].boost_left != 0) {
        pull = u->power && !u->holiday && u->channel[CH].scheduled && permit(u, CH);
    }
    hw = relay(u, HW) || (gravity(u) && pull);

    /* Heating never runs with the hot-water relay still to close, or already open. */
    if (hw && !BUG_HEATING_FIRST) {
        put(u, SIGNAL_HW, 1);
    }
    put(u, SIGNAL_CH, ch ? 1 : 0);
    put(u, SIGNAL_HW, hw ? 1 : 0);
    put(u, SIGNAL_ALERT, u->power ? u->stage : STAGE_DORMANT);
    put(u, SIGNAL_SOUNDER, sounding(u) ? 1 : 0);
}

/* Evaluates the schedules; whatever moved a scheduled level ends the override there. */
static void schedule(struct unit *u)
{
    for (uint8_t c = 0; c < CHANNEL_COUNT; c++) {
        struct channel *ch = &u->channel[c];
        bool s = scheduled_now(u, c);

        if (s != ch->scheduled) {
            ch->scheduled = s;
            if (!BUG_OVERRIDE_STORES_END) {
                ch->override = false;
            }
        }
#if BUG_OVERRIDE_STORES_END
        if (ch->override && u->reading >= ch->override_until) {
            ch->override = false;
        }
#endif
    }
}

static void cancel(struct channel *ch)
{
    ch->override = false;
    ch->boost_left = 0;
}

static void cancel_both(struct unit *u)
{
    cancel(&u->channel[HW]);
    cancel(&u->channel[CH]);
}

/* Clock */

static void find_reading(struct unit *u)
{
    int32_t day;

    u->reading = u->standard + (u->summer ? 60 : 0);
    day = calendar_day_of(u->reading);
    u->minute = (uint16_t)(u->reading - day * MINUTES_A_DAY);
    u->weekday = calendar_weekday(day);
}

static bool summer_at(int32_t standard, int32_t *next)
{
    if (!SUMMER_TIME) {
        *next = INT32_MAX;
        return false;
    }
    return calendar_summer(standard, ZONE, next);
}

static void run_from(struct unit *u, int32_t standard)
{
    u->clock_set = true;
    u->standard = standard;
    u->summer = summer_at(standard, &u->next_change);
    find_reading(u);
#if BUG_AUTUMN_ONCE
    u->executed = u->reading;
#endif
}

/* What is due because of the date that the display now shows. */
static void check_holiday(struct unit *u)
{
    if (u->holiday && u->reading >= u->holiday_end) {
        u->holiday = false;
    }
}

static void end_at_programmed(struct unit *u)
{
    for (uint8_t c = 0; c < CHANNEL_COUNT; c++) {
        if (u->channel[c].override && programmed_now(u, c)) {
            u->channel[c].override = false;
        }
    }
}

static void minute_passes(struct unit *u)
{
    u->second_left = 60;
    if (BUG_SOUNDER_CLOCK_UNSET && !u->clock_set) {
        u->minute = (uint16_t)((u->minute + 1) % MINUTES_A_DAY);
        return;
    }
    u->standard++;
    if (u->standard == u->next_change) {
        u->summer = summer_at(u->standard, &u->next_change);
        find_reading(u);
    } else {
        u->reading++;
        u->minute++;
        if (u->minute == MINUTES_A_DAY) {
            u->minute = 0;
            u->weekday = u->weekday == SUNDAY ? MONDAY : (uint8_t)(u->weekday + 1);
        }
    }
    check_holiday(u);
    if (BUG_OVERRIDE_ENDS_AT_MIDNIGHT && u->minute == 0) {
        u->channel[HW].override = false;
        u->channel[CH].override = false;
    }
#if BUG_AUTUMN_ONCE
    if (u->reading <= u->executed) {
        return;
    }
    u->executed = u->reading;
#endif
    schedule(u);
    if (OVERRIDE_END_PROGRAMMED) {
        end_at_programmed(u);
    }
}

/* Interval lock */

static void enter_stage(struct unit *u, uint8_t stage)
{
    u->stage = stage;
    u->hour = 0;
    u->lock_next = u->restricted_at;
}

/* One counted second; true if a stage or a window's edge came with it. */
static bool lock_second(struct unit *u)
{
    bool edge = false;

    if (u->stage >= STAGE_NOTICE) {
        const uint16_t *window = u->window[u->stage - STAGE_NOTICE];

        u->hour++;
        if (u->hour == WINDOW_WHOLE) {
            u->hour = 0;
        }
        edge = u->hour == 0 || u->hour == window[HW] || u->hour == window[CH];
    }
    if (u->stage != STAGE_RESTRICTED) {
        u->lock_count++;
        if (u->lock_count >= u->lock_next) {
            enter_stage(u, u->lock_count >= u->restricted_at ? STAGE_RESTRICTED : STAGE_NOTICE);
            edge = true;
        }
    }
    return edge;
}

static bool credential_right(struct unit *u, const char *credential, size_t length)
{
    static const char right[] = CONFIG_STRING(CREDENTIAL);
    bool same = length == sizeof right - 1;

#if BUG_LOCKED_OUT
    if (u->wrong_tries >= 3) {
        return false;
    }
#endif
    for (size_t i = 0; same && i < length; i++) {
        same = credential[i] == right[i];
    }
#if BUG_LOCKED_OUT
    u->wrong_tries = same ? 0 : (uint8_t)(u->wrong_tries + 1);
#else
    (void)u;
#endif
    return same;
}

/* Power */

static void lose_clock(struct unit *u)
{
    u->lost = true;
    u->holiday = false;
    cancel_both(u);
    if (!LOST_CLOCK_RESUMES) {
        u->clock_set = false;
    }
}

/* True if the boost ends in this second. */
static bool boost_second(struct unit *u, struct channel *ch)
{
    if (ch->boost_left == 0) {
        return false;
    }
#if BUG_BOOST_ON_CIVIL_CLOCK
    if (u->clock_set) {
        if (u->reading > ch->boost_until ||
            (u->reading == ch->boost_until && 60 - u->second_left >= ch->boost_until_second)) {
            ch->boost_left = 0;
        }
        return ch->boost_left == 0;
    }
#else
    (void)u;
#endif
    ch->boost_left--;
    return ch->boost_left == 0;
}

/* A second in which more than the clock's second counter has to move. */
static void full_second(struct unit *u, bool minute)
{
    const uint32_t reserve = RESERVE_SECONDS;
    bool due = minute;

    if (minute) {
        minute_passes(u);
    }
    for (uint8_t c = 0; c < CHANNEL_COUNT; c++) {
        due = boost_second(u, &u->channel[c]) || due;
    }
    if (u->stage != STAGE_DORMANT && (u->power || !BUG_LOCK_STOPS_ON_RESERVE)) {
        due = lock_second(u) || due;
    }
    if (!u->power) {
        u->cut++;
        if (BUG_RESERVE_A_SECOND_LONG ? u->cut > reserve : u->cut >= reserve) {
            lose_clock(u);
        }
    } else if (due) {
        show(u);
    }
}

void unit_tick(struct unit *u)
{
    bool minute = false;

    if (u->lost) {
        return;
    }
    if (u->clock_set || BUG_SOUNDER_CLOCK_UNSET) {
        u->second_left--;
        minute = u->second_left == 0;
    }
    /* Most seconds end here, which is what keeps the tick short. */
    if (minute || !u->power || u->stage != STAGE_DORMANT ||
        (u->channel[HW].boost_left | u->channel[CH].boost_left) != 0) {
        full_second(u, minute);
    }
}

static void power_lost(struct unit *u)
{
    u->power = false;
    u->cut = 0;
    if (!THROUGH_CUT_KEPT) {
        u->channel[HW].override = false;
        u->channel[CH].override = false;
        if (!BUG_CUT_KEEPS_BOOST) {
            cancel_both(u);
        }
    }
    if (RESERVE_SECONDS == 0) {
        lose_clock(u);
    }
}

static void defaults(struct unit *u)
{
    default_tables(u);
    u->channel[HW].mode = MODE_TABLE;
    u->channel[CH].mode = MODE_TABLE;
    cancel_both(u);
}

static void power_returns(struct unit *u)
{
    bool channels = u->fitted[FIT_CHANNELS] != u->found[FIT_CHANNELS];
    bool cycle = u->fitted[FIT_CYCLE] != u->found[FIT_CYCLE];
    bool coupling = u->fitted[FIT_COUPLING] != u->found[FIT_COUPLING];
    bool was_shared = shared(u);

    u->power = true;
    for (uint8_t i = 0; i < FIT_COUNT; i++) {
        u->found[i] = u->fitted[i];
    }
    if (channels || cycle || shared(u) != was_shared || (BUG_COUPLING_DEFAULTS && coupling)) {
        defaults(u);
    }
    if (u->lost) {
        u->lost = false;
        if (LOST_CLOCK_RESTARTS) {
            u->second_left = 60;
            run_from(u, calendar_days(2001, 1, 1) * MINUTES_A_DAY);
        }
    }
    if (BUG_LOCK_SAVED_BY_DAY) {
        u->lock_count -= u->lock_count % SECONDS_A_DAY;
    }
    schedule(u);
}

enum answer unit_power(struct unit *u, bool on)
{
    if (on == u->power) {
        return on ? ANSWER_OK : ANSWER_NO_POWER;
    }
    if (on) {
        power_returns(u);
    } else {
        power_lost(u);
    }
    show(u);
    return ANSWER_OK;
}

/* Back of the unit */

static bool can_fit(uint8_t option, uint8_t value)
{
    static const uint8_t have[FIT_COUNT][3] = {
        {HAVE_CHANNELS_BOTH, HAVE_CHANNELS_HW, HAVE_CHANNELS_CH},
        {HAVE_CYCLE_24H, HAVE_CYCLE_5_2, HAVE_CYCLE_7DAY},
        {HAVE_TIMING_SEPARATE, HAVE_TIMING_SHARED, 0},
        {HAVE_COUPLING_INDEPENDENT, HAVE_COUPLING_GRAVITY, 0},
    };

    return have[option][value] != 0;
}

enum answer unit_fit(struct unit *u, uint8_t option, uint8_t value)
{
    if (!can_fit(option, value)) {
        return ANSWER_UNSUPPORTED;
    }
    if (u->power) {
        return ANSWER_POWERED;
    }
    u->fitted[option] = value;
    return ANSWER_OK;
}

void unit_new(struct unit *u, void (*changed)(void *owner, uint8_t signal, uint8_t level), void *owner)
{
    static const uint8_t factory[FIT_COUNT] = {CHANNELS_FITTED, CYCLE_FITTED, TIMING_FITTED, COUPLING_FITTED};

    u->changed = changed;
    u->owner = owner;
    for (uint8_t i = 0; i < FIT_COUNT; i++) {
        u->fitted[i] = factory[i];
        u->found[i] = factory[i];
    }
    for (uint8_t i = 0; i < SIGNAL_COUNT; i++) {
        u->output[i] = 0;
    }
    u->power = false;
    u->lost = true;
    u->clock_set = false;
    u->summer = false;
    u->second_left = 60;
    u->standard = 0;
    u->next_change = 0;
    u->cut = 0;
    u->holiday = false;
    u->holiday_days = 0;
    u->holiday_end = 0;
    u->stage = STAGE_DORMANT;
    u->lock_count = 0;
    u->lock_next = 0;
    u->restricted_at = 0;
    u->hour = 0;
    u->sounder_count = 0;
#if BUG_LOCKED_OUT
    u->wrong_tries = 0;
#endif
    find_reading(u);
    for (uint8_t c = 0; c < CHANNEL_COUNT; c++) {
        u->channel[c].scheduled = false;
        u->channel[c].override_level = false;
#if BUG_MODE_TAG
        u->channel[c].given_in = MODE_TABLE;
#endif
    }
    defaults(u);
}

/* Front of the unit */

static bool front_live(const struct unit *u)
{
    return u->power || (BUG_FRONT_LIVE_ON_RESERVE && !u->lost);
}

enum answer unit_set_clock(struct unit *u, int32_t year, int32_t month, int32_t day, uint16_t minute)
{
    int32_t days;
    int32_t reading;
    int32_t standard;
    int32_t next;

    if (!front_live(u)) {
        return ANSWER_NO_POWER;
    }
    if (year < 2000 || year > 2099 || !calendar_valid(year, month, day) || minute >= MINUTES_A_DAY) {
        return ANSWER_NO_DATE;
    }
    days = calendar_days(year, month, day);
    reading = days * MINUTES_A_DAY + minute;
    if (summer_at(reading - 60, &next)) {
        standard = reading - 60;
    } else if (!summer_at(reading, &next)) {
        standard = reading;
    } else {
        return ANSWER_NO_READING;
    }
    if (u->clock_set && u->standard == standard && u->second_left == 60) {
        return ANSWER_OK;
    }
    if (!BUG_SET_KEEPS_SECONDS) {
        u->second_left = 60;
    }
    run_from(u, standard);
    if (u->holiday && !BUG_HOLIDAY_END_NOT_MOVED) {
        int32_t latest = (days + u->holiday_days) * MINUTES_A_DAY;

        if (latest < u->holiday_end) {
            u->holiday_end = latest;
        }
    }
    check_holiday(u);
    schedule(u);
    if (OVERRIDE_END_PROGRAMMED) {
        end_at_programmed(u);
    }
    show(u);
    return ANSWER_OK;
}

/* Ends the overrides that an input has left without an end of their own. */
static void end_endless(struct unit *u)
{
    for (uint8_t c = 0; c < CHANNEL_COUNT; c++) {
        if (u->channel[c].override && endless(u, c)) {
            u->channel[c].override = false;
        }
    }
}

enum answer unit_mode(struct unit *u, uint8_t c, uint8_t mode)
{
    struct channel *ch = &u->channel[c];
    bool kept;

    if (!unit_has_channel(u, c)) {
        return ANSWER_UNSUPPORTED;
    }
    if (!front_live(u)) {
        return ANSWER_NO_POWER;
    }
    if (ch->mode == mode && !BUG_SAME_MODE_CANCELS) {
        return ANSWER_OK;
    }
    kept = OVERRIDE_ON_MODE_CHANGE_KEPT && (ch->mode == MODE_TABLE || ch->mode == MODE_SPAN) &&
           (mode == MODE_TABLE || mode == MODE_SPAN);
    ch->mode = mode;
#if BUG_MODE_TAG
    ch->scheduled = scheduled_now(u, c);
#else
    ch->boost_left = 0;
    if (!kept) {
        ch->override = false;
    }
#endif
    (void)kept;
    schedule(u);
    end_endless(u);
    show(u);
    return ANSWER_OK;
}

static bool day_matches(uint8_t day, uint8_t weekday)
{
    switch (day) {
    case DAY_ALL:
        return true;
    case DAY_WEEKDAYS:
        return !weekend(weekday);
    case DAY_WEEKEND:
        return weekend(weekday);
    default:
        return day == weekday;
    }
}

static uint8_t cycle_of_day(uint8_t day)
{
    if (day == DAY_ALL) {
        return CYCLE_24H;
    }
    return day == DAY_WEEKDAYS || day == DAY_WEEKEND ? CYCLE_5_2 : CYCLE_7DAY;
}

enum answer unit_period(struct unit *u, uint8_t table, uint8_t day, uint8_t slot, uint16_t on, uint16_t off)
{
    if (table != TABLE_BOTH && !unit_has_channel(u, table)) {
        return ANSWER_UNSUPPORTED;
    }
    if (!front_live(u)) {
        return ANSWER_NO_POWER;
    }
    if ((table == TABLE_BOTH) != shared(u)) {
        return ANSWER_NO_TABLE;
    }
    if (cycle_of_day(day) != u->found[FIT_CYCLE]) {
        return ANSWER_NO_DAY;
    }
    if (slot < 1 || slot > PERIODS) {
        return ANSWER_NO_SLOT;
    }
    if (on >= MINUTES_A_DAY) {
        if (!BAD_VALUE_CLAMPED) {
            return ANSWER_BAD_TIMES;
        }
        on = MINUTES_A_DAY - 1;
    }
    if (off < on && !PAST_MIDNIGHT_WRAP) {
        if (!BAD_VALUE_CLAMPED) {
            return ANSWER_BAD_TIMES;
        }
        off = MINUTES_A_DAY;
    }
    for (uint8_t d = MONDAY; d <= SUNDAY; d++) {
        if (day_matches(day, d)) {
            struct period *p = &u->table[table == TABLE_BOTH ? HW : table][d][slot - 1];

            p->on = on;
            p->off = off;
        }
    }
    if (BUG_EDIT_AT_NEXT_MINUTE) {
        return ANSWER_OK;
    }
    if (BUG_SHARED_EDIT_ENDS_BOTH && table == TABLE_BOTH &&
        (scheduled_now(u, HW) != u->channel[HW].scheduled || scheduled_now(u, CH) != u->channel[CH].scheduled)) {
        u->channel[HW].override = false;
        u->channel[CH].override = false;
    }
    schedule(u);
    end_endless(u);
    show(u);
    return ANSWER_OK;
}

#if BUG_OVERRIDE_STORES_END
static int32_t next_switching_point(const struct unit *u, uint8_t c)
{
    int32_t r = u->reading;

    do {
        int32_t day;

        r++;
        day = calendar_day_of(r);
        if (level_at(u, c, calendar_weekday(day), (uint16_t)(r - day * MINUTES_A_DAY)) != u->channel[c].scheduled) {
            break;
        }
    } while (r < u->reading + 8 * MINUTES_A_DAY);
    return r;
}
#endif

enum answer unit_override(struct unit *u, uint8_t c)
{
    struct channel *ch = &u->channel[c];

    if (!unit_has_channel(u, c)) {
        return ANSWER_UNSUPPORTED;
    }
    if (!front_live(u)) {
        return ANSWER_NO_POWER;
    }
    if (ch->boost_left != 0) {
        ch->boost_left = 0;
    } else if (u->holiday) {
        return ANSWER_IN_HOLIDAY;
    } else if (!u->clock_set) {
        return ANSWER_CLOCK_UNSET;
    } else if (ch->override) {
        ch->override = false;
    } else if (endless(u, c)) {
        return ANSWER_NEVER_ENDS;
    } else {
        ch->override = true;
        ch->override_level = BUG_OVERRIDE_INVERTS_RELAY ? u->output[c] == 0 : !ch->scheduled;
#if BUG_OVERRIDE_STORES_END
        ch->override_until = next_switching_point(u, c);
#endif
#if BUG_MODE_TAG
        ch->given_in = ch->mode;
#endif
    }
    show(u);
    return ANSWER_OK;
}

enum answer unit_boost(struct unit *u, uint8_t c, uint32_t minutes)
{
    struct channel *ch = &u->channel[c];
    uint32_t seconds;

    if (BOOST_LONGEST == 0 || !unit_has_channel(u, c)) {
        return ANSWER_UNSUPPORTED;
    }
    if (!front_live(u)) {
        return ANSWER_NO_POWER;
    }
    if (minutes == 0) {
        ch->boost_left = 0;
        show(u);
        return ANSWER_OK;
    }
    if (BUG_REFUSED_BOOST_ENDS_OVERRIDE) {
        ch->override = false;
        show(u);
    }
    if (u->holiday && !BOOST_IN_HOLIDAY_ALLOWED) {
        return ANSWER_IN_HOLIDAY;
    }
    if (minutes > BOOST_LONGEST || minutes % BOOST_STEP != 0) {
        if (!BAD_VALUE_CLAMPED) {
            return ANSWER_BAD_BOOST;
        }
        minutes = minutes > BOOST_LONGEST ? BOOST_LONGEST : minutes - minutes % BOOST_STEP;
        minutes = minutes == 0 ? BOOST_STEP : minutes;
    }
    seconds = minutes * 60u;
    if (BUG_BOOST_BY_THE_MINUTE && u->clock_set) {
        seconds -= 60u - u->second_left;
    }
    if (SECOND_BOOST_EXTENDS || BUG_BOOST_ADDS) {
        seconds += ch->boost_left;
        if (seconds > BOOST_LONGEST * 60u) {
            seconds = BOOST_LONGEST * 60u;
        }
    }
    ch->boost_left = seconds;
    ch->override = false;
#if BUG_BOOST_ON_CIVIL_CLOCK
    ch->boost_until = u->reading + (int32_t)(seconds / 60u);
    ch->boost_until_second = (uint8_t)(60 - u->second_left);
#endif
#if BUG_MODE_TAG
    ch->given_in = ch->mode;
#endif
    show(u);
    return ANSWER_OK;
}

enum answer unit_holiday(struct unit *u, uint32_t days)
{
    int32_t end;

    if (!HOLIDAY) {
        return ANSWER_UNSUPPORTED;
    }
    if (!front_live(u)) {
        return ANSWER_NO_POWER;
    }
    if (!u->clock_set) {
        return ANSWER_CLOCK_UNSET;
    }
    if (days < 1 || days > 99) {
        if (!BAD_VALUE_CLAMPED) {
            return ANSWER_BAD_DAYS;
        }
        days = days < 1 ? 1 : 99;
    }
    end = u->reading + (int32_t)days * MINUTES_A_DAY;
    if (!BUG_HOLIDAY_OF_WHOLE_HOURS) {
        end -= u->minute;
    }
    if (u->holiday && u->holiday_days == days && u->holiday_end == end) {
        return ANSWER_OK;
    }
    u->holiday = true;
    u->holiday_days = (uint8_t)days;
    u->holiday_end = end;
    cancel_both(u);
    show(u);
    return ANSWER_OK;
}

enum answer unit_holiday_cancel(struct unit *u)
{
    if (!HOLIDAY) {
        return ANSWER_UNSUPPORTED;
    }
    if (!front_live(u)) {
        return ANSWER_NO_POWER;
    }
    u->holiday = false;
    show(u);
    return ANSWER_OK;
}

static bool terms_good(const struct lock_terms *t)
{
    if (t->days < 1 || t->days > 999 || t->notice_days > t->days || t->sounder_count > SOUNDER_TIMES) {
        return false;
    }
    for (uint8_t s = 0; s < 2; s++) {
        for (uint8_t c = 0; c < CHANNEL_COUNT; c++) {
            uint32_t a = t->allowance[s][c];

            if (a != ALLOWANCE_NONE && (a < 10 || a > 60)) {
                return false;
            }
        }
    }
    for (uint8_t i = 0; i < t->sounder_count; i++) {
        if (t->sounder[i] >= MINUTES_A_DAY) {
            return false;
        }
    }
    return true;
}

enum answer unit_lock_arm(struct unit *u, const char *credential, size_t length, const struct lock_terms *terms)
{
    if (!LOCK) {
        return ANSWER_UNSUPPORTED;
    }
    if (!front_live(u)) {
        return ANSWER_NO_POWER;
    }
    if (!credential_right(u, credential, length)) {
        return ANSWER_BAD_CREDENTIAL;
    }
    if (!terms_good(terms)) {
        return ANSWER_BAD_TERMS;
    }
    for (uint8_t s = 0; s < 2; s++) {
        for (uint8_t c = 0; c < CHANNEL_COUNT; c++) {
            uint32_t a = terms->allowance[s][c];

            u->window[s][c] = a == ALLOWANCE_NONE ? WINDOW_WHOLE : (uint16_t)(a * 60u);
        }
    }
    u->sounder_count = terms->sounder_count;
    for (uint8_t i = 0; i < SOUNDER_TIMES; i++) {
        u->sounder[i] = terms->sounder[i];
    }
    u->lock_count = 0;
    u->restricted_at = terms->days * SECONDS_A_DAY;
    if (terms->notice_days == terms->days) {
        enter_stage(u, STAGE_NOTICE);
    } else {
        enter_stage(u, STAGE_COUNTING);
        u->lock_next = (terms->days - terms->notice_days) * SECONDS_A_DAY;
    }
    show(u);
    return ANSWER_OK;
}

enum answer unit_lock_remove(struct unit *u, const char *credential, size_t length)
{
    if (!LOCK) {
        return ANSWER_UNSUPPORTED;
    }
    if (!front_live(u)) {
        return ANSWER_NO_POWER;
    }
    if (!credential_right(u, credential, length)) {
        return ANSWER_BAD_CREDENTIAL;
    }
    if (u->stage == STAGE_DORMANT) {
        return ANSWER_DORMANT;
    }
    u->stage = STAGE_DORMANT;
    show(u);
    return ANSWER_OK;
}

enum answer unit_reset(struct unit *u)
{
    if (!front_live(u)) {
        return ANSWER_NO_POWER;
    }
    defaults(u);
    u->holiday = false;
    if (CLOCK_AFTER_RESET_UNSET) {
        u->clock_set = false;
    }
    if (BUG_RESET_CLEARS_LOCK) {
        u->stage = STAGE_DORMANT;
    }
    if (BUG_RESET_LOSES_SECONDS) {
        u->second_left = 60;
    }
    schedule(u);
    show(u);
    return ANSWER_OK;
}
