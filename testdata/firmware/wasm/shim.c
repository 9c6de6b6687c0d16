/*
 * The unit as a WebAssembly module that a bench can load. It imports nothing. vectors/ADAPTER.md says what its exports
 * are for; those that begin with do_ are a faster way in, which a module can do without.
 */
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "calendar.h"
#include "protocol.h"

#define EXPORT(name) __attribute__((export_name(#name)))

#define REQUEST_SIZE 128u
/*
 * Together so large that they, the stack, constants and state just fit into one page of memory, with a few hundred bytes to spare
 * for what else can be built in: a bench that visits every state compares all that lies outside the stack and the buffers.
 */
#define REPLY_SIZE 49152u
#define EVENTS_SIZE 1088u

/* No request has a longer answer, but for a "go" of more than SHORT_GO seconds. */
#define REPLY_LONGEST 8192u
#define SHORT_GO 3600u
/* No second, and no input, has more. */
#define EVENTS_MOST 16u

#define GO_LONGEST 1000000000u
#define BILLION 1000000000u

#define AN_HOUR 3600u
/* Seconds without mains for which the clock runs. */
#define RESERVE_SECONDS ((uint32_t)RESERVE * 60u + (BUG_RESERVE_A_SECOND_LONG ? 1u : 0u))

/*
 * Wrong builds in which a minute can matter that idle_minutes does not know of: a level follows an off by a minute, an edit waits
 * for any minute, an override ends at a reading of its own, a permit goes by the display, minutes pass with the clock unset, and
 * each reading is noted. Time stops there at every minute.
 */
#define EVERY_MINUTE_MATTERS                                                                                       \
    (BUG_OFF_A_MINUTE_LATE || BUG_EDIT_AT_NEXT_MINUTE || BUG_OVERRIDE_STORES_END || BUG_PERMIT_ON_CLOCK_HOUR ||    \
     BUG_SOUNDER_CLOCK_UNSET || BUG_AUTUMN_ONCE)

struct event {
    uint32_t second; /* of the call */
    uint8_t signal;
    uint8_t level;
    uint16_t zero;
};

static struct protocol p;
static uint32_t left;   /* seconds of a long "go" that are still to pass */
static uint32_t passed; /* seconds of the call under way */

static char request[REQUEST_SIZE];
static char replies[REPLY_SIZE];
static uint32_t replied;
static struct event events[EVENTS_SIZE];
static uint32_t noted;

static void reply(void *owner, const char *bytes, size_t length)
{
    (void)owner;
    if (length > REPLY_SIZE - replied) {
        /* A reply that went missing could not be told from a relay that did not move. */
        __builtin_trap();
    }
    for (size_t i = 0; i < length; i++) {
        replies[replied + i] = bytes[i];
    }
    replied += (uint32_t)length;
}

static uint32_t least(uint32_t a, uint32_t b)
{
    return a < b ? a : b;
}

/* Seconds until the lock has more to do than count: until its stage ends, or a window of its hour or the hour. */
static uint32_t until_lock_edge(const struct unit *u)
{
    uint32_t n = UINT32_MAX;

    if (u->stage != STAGE_RESTRICTED) {
        n = u->lock_next - u->lock_count;
    }
    if (u->stage >= STAGE_NOTICE) {
        n = least(n, AN_HOUR - u->hour);
        for (uint8_t c = 0; c < CHANNEL_COUNT; c++) {
            uint16_t edge = u->window[u->stage - STAGE_NOTICE][c];

            if (edge > u->hour) {
                n = least(n, (uint32_t)edge - u->hour);
            }
        }
    }
    return n;
}

/* Minutes between the clock's next and a time of today; billions to one that has been. */
static uint32_t minutes_to(const struct unit *u, uint32_t time)
{
    return time - 1u - u->minute;
}

/* The same to the next on or off of a channel's table, whether or not its level changes there. */
static uint32_t to_programmed(const struct unit *u, uint8_t c)
{
    const struct period *today = u->table[c][u->weekday];
    const struct period *yesterday = u->table[c][u->weekday == MONDAY ? SUNDAY : u->weekday - 1];
    uint32_t n = UINT32_MAX;

    for (uint8_t i = 0; i < PERIODS; i++) {
        n = least(n, minutes_to(u, today[i].on));
        n = least(n, minutes_to(u, today[i].off));
        if (PAST_MIDNIGHT_WRAP && yesterday[i].off < yesterday[i].on) {
            n = least(n, minutes_to(u, yesterday[i].off));
        }
    }
    return n;
}

/*
 * How many minutes of a clock that is set pass in which there is nothing to do but count them. What the unit makes of a minute
 * depends on the day and on where the reading lies among the times looked at here, and nothing waits for a minute to come: every
 * input evaluates the schedules and shows the outputs itself.
 */
static uint32_t idle_minutes(const struct unit *u)
{
    uint32_t n = least(minutes_to(u, MINUTES_A_DAY), (uint32_t)u->next_change - 1u - (uint32_t)u->standard);

    if (u->holiday) {
        n = least(n, (uint32_t)u->holiday_end - 1u - (uint32_t)u->reading);
    }
    for (uint8_t c = 0; c < CHANNEL_COUNT; c++) {
        n = least(n, to_programmed(u, c));
    }
    if (u->stage >= STAGE_NOTICE) {
        for (uint8_t i = 0; i < u->sounder_count; i++) {
            n = least(n, minutes_to(u, u->sounder[i]));
            n = least(n, minutes_to(u, u->sounder[i] + 1u));
        }
    }
    return n;
}

/* Counts on the clock, over no minute that matters. */
static void count_clock(struct unit *u, uint32_t seconds)
{
    uint32_t minutes;

    if (seconds < u->second_left) {
        u->second_left = (uint8_t)(u->second_left - seconds);
        return;
    }
    seconds -= u->second_left;
    minutes = seconds / 60u + 1u;
    u->second_left = (uint8_t)(60u - seconds % 60u);
    u->minute = (uint16_t)(u->minute + minutes);
    u->standard += (int32_t)minutes;
    u->reading += (int32_t)minutes;
}

/*
 * Counts on by up to most seconds, and returns how many: only as far as unit_tick would do nothing in them but count, the clock's
 * seconds and minutes, a boost's seconds, the lock's and those without power.
 */
static uint32_t count_idle(struct unit *u, uint32_t most)
{
    bool clock = u->clock_set || BUG_SOUNDER_CLOCK_UNSET;
    bool lock = u->stage != STAGE_DORMANT && (u->power || !BUG_LOCK_STOPS_ON_RESERVE);
    uint32_t n = most;

    if (u->lost) {
        return n;
    }
    for (uint8_t c = 0; c < CHANNEL_COUNT; c++) {
        if (u->channel[c].boost_left != 0) {
            n = BUG_BOOST_ON_CIVIL_CLOCK ? 0 : least(n, u->channel[c].boost_left - 1u);
        }
    }
    if (lock) {
        n = least(n, until_lock_edge(u) - 1u);
    }
    if (!u->power) {
        n = least(n, RESERVE_SECONDS - 1u - u->cut);
    }
    if (clock && n >= u->second_left) {
        n = least(n, (EVERY_MINUTE_MATTERS ? 0 : idle_minutes(u) * 60u) + u->second_left - 1u);
    }
    if (clock) {
        count_clock(u, n);
    }
    for (uint8_t c = 0; c < CHANNEL_COUNT; c++) {
        if (u->channel[c].boost_left != 0) {
            u->channel[c].boost_left -= n;
        }
    }
    if (lock && u->stage >= STAGE_NOTICE) {
        u->hour = (uint16_t)(u->hour + n);
    }
    if (lock && u->stage != STAGE_RESTRICTED) {
        u->lock_count += n;
    }
    if (!u->power) {
        u->cut += n;
    }
    return n;
}

/*
 * Lets one second or more pass, up to most, which is not 0, and returns how many: those of which the unit makes nothing, at
 * once, since a bench asks for months, and the one after them.
 */
static uint32_t time_passes(uint32_t most)
{
    uint32_t idle = count_idle(&p.unit, most);
    uint32_t n = idle < most ? idle + 1u : most;

    /* The events of the last of these seconds, which is the only one that can have any, are told with its number. */
    p.second += n;
    if (p.second >= BILLION) {
        p.second -= BILLION;
        p.billions++;
    }
    passed += n;
    if (idle < most) {
        unit_tick(&p.unit);
    }
    return n;
}

/* Goes on with a long "go" while there is room for what it may have to tell. */
static void go_on(void)
{
    while (left != 0 && REPLY_SIZE - replied >= REPLY_LONGEST) {
        left -= time_passes(left);
    }
    if (left == 0) {
        passed = 0;
        reply(NULL, "ok\n", 3);
    }
}

/* The seconds of a line that is a "go" of more than SHORT_GO; 0 of any other line, right or wrong. */
static uint32_t long_go(const char *line, size_t length)
{
    uint32_t n = 0;

    if (length < 4 || length > 13 || line[0] != 'g' || line[1] != 'o' || line[2] != ' ' || line[3] == '0') {
        return 0;
    }
    for (size_t i = 3; i < length; i++) {
        if (line[i] < '0' || line[i] > '9' || n > GO_LONGEST / 10u) {
            return 0;
        }
        n = n * 10u + (uint32_t)(line[i] - '0');
    }
    return n > SHORT_GO && n <= GO_LONGEST ? n : 0;
}

EXPORT(request) char *request_buffer(void)
{
    return request;
}

EXPORT(request_size) uint32_t request_size(void)
{
    return REQUEST_SIZE;
}

EXPORT(reply) char *reply_buffer(void)
{
    return replies;
}

EXPORT(reply_size) uint32_t reply_size(void)
{
    return REPLY_SIZE;
}

/* The stack, which comes first in memory: nothing lies there between two calls. */
EXPORT(scratch) char *scratch(void)
{
    return (char *)0;
}

EXPORT(scratch_size) uint32_t scratch_size(void)
{
    return STACK_SIZE;
}

EXPORT(reset) void reset(void)
{
    left = 0;
    protocol_init(&p, reply, NULL);
}

EXPORT(feed) uint32_t feed(uint32_t length)
{
    uint32_t bytes;

    if (length != 0) {
        size_t line = length - 1u; /* without its LF and CR */

        if (line != 0 && request[line - 1u] == '\r') {
            line--;
        }
        left = long_go(request, line);
        if (left == 0) {
            /* From where it lies: byte by byte it would stay behind in p. */
            protocol_line(&p, request, line);
        }
    }
    if (left != 0) {
        go_on();
    }
    bytes = replied;
    replied = 0;
    return bytes;
}

/* Without text */

static void note(void *owner, uint8_t signal, uint8_t level)
{
    struct event *e = &events[noted];

    (void)owner;
    if (noted == EVENTS_SIZE) {
        __builtin_trap();
    }
    e->second = passed;
    e->signal = signal;
    e->level = level;
    e->zero = 0;
    noted++;
}

/* Between begin and end the unit tells its changes to note, and otherwise to the line protocol. */
static void (*told)(void *owner, uint8_t signal, uint8_t level);

static struct unit *begin(void)
{
    noted = 0;
    passed = 0;
    told = p.unit.changed;
    p.unit.changed = note;
    return &p.unit;
}

static uint32_t end(enum answer a)
{
    uint32_t outcome = a == ANSWER_OK ? 0 : a == ANSWER_UNSUPPORTED ? 2 : 1;
    uint32_t told_of = noted;

    p.unit.changed = told;
    /* Two ways to one state of the unit should end in one state of the memory. */
    noted = 0;
    passed = 0;
    return told_of << 8 | outcome;
}

EXPORT(events) struct event *events_buffer(void)
{
    return events;
}

EXPORT(events_size) uint32_t events_size(void)
{
    return EVENTS_SIZE;
}

EXPORT(do_new) uint32_t do_new(void)
{
    begin();
    p.second = 0;
    p.billions = 0;
    unit_new(&p.unit, note, &p);
    return end(ANSWER_OK);
}

EXPORT(do_go) uint64_t do_go(uint32_t seconds)
{
    uint32_t done;

    begin();
    while (passed < seconds && EVENTS_SIZE - noted >= EVENTS_MOST) {
        time_passes(seconds - passed);
    }
    done = passed;
    return (uint64_t)(end(ANSWER_OK) >> 8) << 32 | done;
}

EXPORT(do_power) uint32_t do_power(uint32_t on)
{
    return end(unit_power(begin(), on != 0));
}

EXPORT(do_mode) uint32_t do_mode(uint32_t channel, uint32_t mode)
{
    return end(unit_mode(begin(), (uint8_t)channel, (uint8_t)mode));
}

EXPORT(do_period) uint32_t do_period(uint32_t table, uint32_t day, uint32_t slot, uint32_t on, uint32_t off)
{
    static const uint8_t days[] = {0, 1, 2, 3, 4, 5, 6, DAY_WEEKDAYS, DAY_WEEKEND, DAY_ALL};

    return end(unit_period(begin(), (uint8_t)table, days[day], (uint8_t)slot, (uint16_t)on, (uint16_t)off));
}

EXPORT(do_override) uint32_t do_override(uint32_t channel)
{
    return end(unit_override(begin(), (uint8_t)channel));
}

EXPORT(do_boost) uint32_t do_boost(uint32_t channel, uint32_t minutes)
{
    return end(unit_boost(begin(), (uint8_t)channel, minutes));
}

EXPORT(do_clock) uint32_t do_clock(uint32_t year, uint32_t month, uint32_t day, uint32_t minute)
{
    return end(unit_set_clock(begin(), (int32_t)year, (int32_t)month, (int32_t)day, (uint16_t)minute));
}

EXPORT(do_holiday) uint32_t do_holiday(uint32_t days)
{
    return end(unit_holiday(begin(), days));
}

EXPORT(do_holiday_cancel) uint32_t do_holiday_cancel(void)
{
    return end(unit_holiday_cancel(begin()));
}

EXPORT(do_reset) uint32_t do_reset(void)
{
    return end(unit_reset(begin()));
}
