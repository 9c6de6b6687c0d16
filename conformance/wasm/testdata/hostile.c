/*
 * A module that answers every request with "ok" but one of boost, at which it does what ACT names or, without ACT, the minutes of the
 * boost; with FAST, or with FAST_MINUTES and the minutes, it does so without text. It has no behaviour.
 */
#include <stdint.h>

#define EXPORT(name) __attribute__((export_name(#name)))
#define NOINLINE __attribute__((noinline))

static char request[128];
static char reply[256];
static uint32_t replied;

#ifndef ICS_END
#define ICS_END "ok\n"
#endif
#ifndef ICS
#define ICS                                                                                                          \
    "ics channels both both\nics cycle 24h 24h\nics timing separate separate\nics coupling independent independent\n" \
    "ics periods 1\nics boost-longest 60\nics boost-step 60\nics holiday no\nics summer-time none\nics lock no\n"    \
    "ics reserve 0\n" ICS_END
#endif
static const char ics[] = ICS;
static uint32_t told = sizeof ics; /* of the statement; it needs more than one feed */

static volatile uint32_t zero;

static void say(const char *s)
{
    while (*s != '\0') {
        reply[replied++] = *s++;
    }
}

static uint32_t go_on(void)
{
    while (told < sizeof ics - 1 && replied < sizeof reply) {
        reply[replied++] = ics[told++];
    }
    return replied;
}

NOINLINE static uint32_t deep(uint32_t n)
{
    volatile uint32_t here = n;

    return n == zero ? 0 : deep(n + 1) + here;
}

/* No loop, no circle, and a call that is over in 2^40 others. */
#define PAIR(n, m) \
    NOINLINE static uint32_t chain##n(uint32_t x) { return chain##m(x + zero) + chain##m(x ^ 1u); }
#define FOUR(a, b, c, d, e) PAIR(d, e) PAIR(c, d) PAIR(b, c) PAIR(a, b)
NOINLINE static uint32_t chain40(uint32_t x) { return x + zero; }
FOUR(36, 37, 38, 39, 40)
FOUR(32, 33, 34, 35, 36)
FOUR(28, 29, 30, 31, 32)
FOUR(24, 25, 26, 27, 28)
FOUR(20, 21, 22, 23, 24)
FOUR(16, 17, 18, 19, 20)
FOUR(12, 13, 14, 15, 16)
FOUR(8, 9, 10, 11, 12)
FOUR(4, 5, 6, 7, 8)
FOUR(0, 1, 2, 3, 4)

/* The same through a table. */
static uint32_t (*volatile over_table)(uint32_t);
NOINLINE static uint32_t table_circle(uint32_t x) { return x > 40 ? x : over_table(x + 1) + over_table(x + 1); }

NOINLINE static void fill(void)
{
    for (;;) {
        __builtin_memset((char *)65536, (int)zero, 2 << 20);
    }
}

#ifndef ACT
static uint32_t minutes_of(const char *line)
{
    uint32_t n = 0;

    for (line += sizeof "boost hw " - 1; *line >= '0' && *line <= '9'; line++) {
        n = n * 10 + (uint32_t)(*line - '0');
    }
    return n;
}
#define ACT minutes_of(request)
#endif

static uint32_t act(void)
{
    zero = 0;
    over_table = table_circle;
    /* Every act, so that each is compiled and none warns of being unused. */
    switch (ACT) {
    case 1: /* an endless loop */
        for (;;) {
            zero++;
        }
    case 2: /* a trap */
        __builtin_trap();
    case 3: /* recursion without end */
        zero = deep(1);
        break;
    case 4: /* outside its memory */
        zero = *(volatile uint32_t *)0xfffffff0u;
        break;
    case 5: /* memory without end */
        while (__builtin_wasm_memory_grow(0, 16) != (uint32_t)-1) {
        }
        break;
    case 6: /* nothing at all */
        return replied;
    case 7: /* half a line */
        say("@0 hw");
        return replied;
    case 8: /* nonsense */
        say("fine thanks\n");
        return replied;
    case 9: /* two answers */
        say("ok\nok\n");
        return replied;
    case 10: /* a line too long */
        for (uint32_t i = 0; i < 130; i++) {
            say("x");
        }
        return replied;
    case 11: /* more than there is room for */
        return 257;
    case 12: /* an event of another second */
        say("@9 hw 1\nok\n");
        return replied;
    case 13: /* error */
        say("error no such request\n");
        return replied;
    case 14: /* calls without end, without a loop */
        zero = chain0(1);
        break;
    case 15: /* the same through a table */
        zero = table_circle(1);
        break;
    case 16: /* slow instructions without end */
        fill();
        break;
    case 17: /* a byte that is no text */
        say("ok \x01\n");
        return replied;
    case 18: /* it lasts, but ends */
        for (uint32_t i = 0; i < 3000000; i++) {
            zero++;
        }
        break;
    case 19: /* memory within the limit */
        if (__builtin_wasm_memory_grow(0, 1) == (uint32_t)-1) {
            __builtin_trap();
        }
        say("refused ");
        reply[replied++] = (char)('0' + __builtin_wasm_memory_size(0));
        say("\n");
        return replied;
    default:
        break;
    }
    say("ok\n");
    return replied;
}

EXPORT(request) uint32_t where_request(void)
{
#ifdef OUTSIDE
    return 0x7fffffff;
#else
    return (uint32_t)request;
#endif
}

EXPORT(request_size) uint32_t request_size(void)
{
#ifdef SMALL
    return 64;
#else
    return sizeof request;
#endif
}

EXPORT(reply) uint32_t where_reply(void)
{
    return (uint32_t)reply;
}

#ifndef INCOMPLETE
EXPORT(reply_size) uint32_t reply_size(void)
{
    return sizeof reply;
}
#endif

#ifdef OTHER_TYPE
EXPORT(feed) uint64_t feed(uint64_t length)
#else
EXPORT(feed) uint32_t feed(uint32_t length)
#endif
{
    replied = 0;
    if (length == 0) {
        return go_on();
    }
    if (request[0] == 'h') {
        told = 0;
        return go_on();
    }
    if (request[0] == 'b') {
        return act();
    }
    say("ok\n");
    return replied;
}

EXPORT(reset) void reset(void)
{
#ifdef RESET_LOOPS
    for (;;) {
        zero++;
    }
#endif
}

#ifdef IMPORTS
__attribute__((import_module("wasi_snapshot_preview1"), import_name("clock_time_get"))) extern uint32_t clock_time_get(uint32_t a);
__attribute__((import_module("env"), import_name("puts"))) extern uint32_t puts(uint32_t a);
EXPORT(imports) uint32_t imports(void) { return clock_time_get(1) + puts(2); }
#endif

#ifdef FAST_MINUTES
static uint32_t fast;
#define FAST fast
#endif

#ifdef FAST
/* Without text. */
static struct {
    uint32_t second;
    uint8_t signal, level;
    uint16_t none;
} event[16];

EXPORT(events) uint32_t where_events(void) { return (uint32_t)event; }
EXPORT(events_size) uint32_t events_size(void) { return 16; }

EXPORT(do_boost) uint32_t do_boost(uint32_t channel, uint32_t minutes)
{
    (void)channel;
    (void)minutes;
#ifdef FAST_MINUTES
    fast = minutes;
#endif
    switch (FAST) {
    case 1: /* no outcome */
        return 7;
    case 2: /* more events than there is room for */
        return 17u << 8;
    case 3: /* an event of a signal that there is not */
        event[0].signal = 4;
        return 1u << 8;
    case 4: /* an event of another second */
        event[0].second = 1;
        event[0].level = 1;
        return 1u << 8;
    case 5: /* a change that is none */
        return 1u << 8;
    case 6:
        __builtin_trap();
    case 7: /* the level of an alert, of a relay */
        event[0].level = 2;
        return 1u << 8;
    default:
        return 0;
    }
}

EXPORT(do_new) uint32_t do_new(void)
{
#ifdef FAST_MINUTES
    fast = 0;
#endif
    return 0;
}

EXPORT(do_go) uint64_t do_go(uint32_t seconds)
{
    if (FAST == 8 && seconds > 10) {
        return 0;
    }
    if (FAST == 9 && seconds > 10) {
        return seconds + 1;
    }
    if (FAST == 10 && seconds > 10) { /* in pieces */
        event[0].second = 10;
        event[0].signal = 1;
        event[0].level ^= 1;
        return (uint64_t)1 << 32 | 10;
    }
    return seconds;
}
#endif
