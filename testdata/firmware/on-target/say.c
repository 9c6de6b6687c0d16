/* Words for what the runner reports, on a function that takes characters: there need be no stdio. */
#include "say.h"

#include <stddef.h>

static void (*put)(char character);

static void say(const char *text)
{
    for (; *text != '\0'; text++) {
        put(*text);
    }
}

static void say_number(uint32_t n)
{
    char digits[10];
    size_t i = sizeof digits;

    do {
        digits[--i] = (char)('0' + n % 10u);
        n /= 10u;
    } while (n > 0);
    while (i < sizeof digits) {
        put(digits[i++]);
    }
}

static void say_outcome(uint8_t outcome)
{
    static const char *const words[] = {"accepted", "refused", "unsupported"};

    say(outcome < sizeof words / sizeof words[0] ? words[outcome] : "nothing known");
}

static void departed(const struct hb_departure *d)
{
    static const char *const signals[HB_SIGNALS] = {"hw", "ch", "alert", "sounder"};
    static const char *const what[] = {"level", "order", "start", "reply", "given", "time"};

    say("departs ");
    say_number(d->vector);
    put(' ');
    say(d->id[0] == '\0' ? "-" : d->id);
    say(" second ");
    say_number(d->second);
    put(' ');
    say(what[d->what]);
    switch (d->what) {
    case HB_LEVEL:
    case HB_ORDER:
    case HB_START:
        put(' ');
        say(signals[d->signal]);
        say(" expected ");
        say_number(d->expected);
        say(" observed ");
        say_number(d->observed);
        break;
    case HB_REPLY:
    case HB_GIVEN:
        say(" expected ");
        say_outcome(d->expected);
        say(" observed ");
        say_outcome(d->observed);
        break;
    default:
        break;
    }
    put('\n');
}

bool say_result(void (*put_character)(char character))
{
    struct hb_result r;

    put = put_character;
    r = hb_run(departed);
    say_number(r.vectors);
    say(" vectors, ");
    say_number(r.departed);
    say(" departed\n");
    return r.departed == 0;
}
