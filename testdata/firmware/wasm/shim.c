/*
 * The unit as a WebAssembly module that a bench can load. It imports nothing. vectors/ADAPTER.md says what its exports
 * are for; those that begin with do_ are a faster way in, which a module can do without.
 */
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "protocol.h"

#define EXPORT(name) __attribute__((export_name(#name)))

#define REQUEST_SIZE 128u
/* As large as it can be for stack, constants, state and buffers to fit into one page of memory. */
#define REPLY_SIZE 49152u
#define EVENTS_SIZE 512u

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

/*
 * Lets one second or more pass, up to most, which is not 0, and returns how many. More than one only where unit_tick would do
 * nothing in all but the last of them but count seconds: the clock's, a boost's, the lock's and those without power. A bench asks
 * for months.
 */
static uint32_t time_passes(uint32_t most)
{
    struct unit *u = &p.unit;
    bool clock = u->clock_set || BUG_SOUNDER_CLOCK_UNSET;
    bool lock = u->stage != STAGE_DORMANT && (u->power || !BUG_LOCK_STOPS_ON_RESERVE);
    uint32_t n = most;

    if (!u->lost) {
        uint32_t counted;

        if (clock) {
            n = least(n, u->second_left);
        }
        for (uint8_t c = 0; c < CHANNEL_COUNT; c++) {
            if (u->channel[c].boost_left != 0) {
                n = BUG_BOOST_ON_CIVIL_CLOCK ? 1u : least(n, u->channel[c].boost_left);
            }
        }
        if (lock) {
            n = least(n, until_lock_edge(u));
        }
        if (!u->power) {
            n = least(n, RESERVE_SECONDS - u->cut);
        }
        /* All of them but the last, which unit_tick counts. */
        counted = n - 1u;
        if (clock) {
            u->second_left = (uint8_t)(u->second_left - counted);
        }
        for (uint8_t c = 0; c < CHANNEL_COUNT; c++) {
            if (u->channel[c].boost_left != 0) {
                u->channel[c].boost_left -= counted;
            }
        }
        if (lock && u->stage >= STAGE_NOTICE) {
            u->hour = (uint16_t)(u->hour + counted);
        }
        if (lock && u->stage != STAGE_RESTRICTED) {
            u->lock_count += counted;
        }
        if (!u->power) {
            u->cut += counted;
        }
    }
    /* The events of the last of these seconds, which is the only one that can have any, are told with its number. */
    p.second += n;
    if (p.second >= BILLION) {
        p.second -= BILLION;
        p.billions++;
    }
    passed += n;
    unit_tick(u);
    return n;
}

/* Goes on with a long "go" while there is room for what it may have to tell. */
static void go_on(void)
{
    while (left != 0 && REPLY_SIZE - replied >= REPLY_LONGEST) {
        left -= time_passes(left);
    }
    if (left == 0) {
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
    replied = 0;
    if (length != 0) {
        left = long_go(request, length - 1);
    }
    if (left != 0) {
        go_on();
        return replied;
    }
    for (uint32_t i = 0; i < length; i++) {
        protocol_byte(&p, request[i]);
    }
    return replied;
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
