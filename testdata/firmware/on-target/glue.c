/* The unit under the runner: what a firmware author writes to put the vectors to a unit without a link. */
#include <stddef.h>

#include "../unit.h"
#include "hb_runner.h"

static struct unit u;

static void changed(void *owner, uint8_t signal, uint8_t level)
{
    (void)owner;
    hb_output(signal, level);
}

static size_t length(const char *text)
{
    size_t n = 0;

    while (text[n] != '\0') {
        n++;
    }
    return n;
}

static enum answer arm(const struct hb_input *in)
{
    struct lock_terms terms;

    terms.days = in->of.lock.days;
    terms.notice_days = in->of.lock.notice_days;
    for (unsigned stage = 0; stage < 2; stage++) {
        for (unsigned c = 0; c < CHANNEL_COUNT; c++) {
            uint32_t minutes = in->of.lock.allowance[stage][c];

            terms.allowance[stage][c] = minutes == HB_NO_ALLOWANCE ? ALLOWANCE_NONE : minutes;
        }
    }
    terms.sounder_count = (uint8_t)in->of.lock.sounders;
    for (unsigned i = 0; i < SOUNDER_TIMES; i++) {
        terms.sounder[i] = (uint16_t)in->of.lock.sounder[i];
    }
    return unit_lock_arm(&u, in->credential, length(in->credential), &terms);
}

static enum answer edit(const struct hb_input *in)
{
    static const uint8_t days[] = {0, 1, 2, 3, 4, 5, 6, DAY_WEEKDAYS, DAY_WEEKEND, DAY_ALL};

    return unit_period(&u, (uint8_t)in->of.period.table, days[in->of.period.day], (uint8_t)in->of.period.slot,
                       (uint16_t)in->of.period.on, (uint16_t)in->of.period.off);
}

static enum answer carry_out(const struct hb_input *in)
{
    switch (in->kind) {
    case HB_POWER_OFF:
        return unit_power(&u, false);
    case HB_POWER_ON:
        return unit_power(&u, true);
    case HB_FIT:
        return unit_fit(&u, (uint8_t)in->of.fit.option, (uint8_t)in->of.fit.value);
    case HB_CLOCK:
        return unit_set_clock(&u, (int32_t)in->of.clock.year, (int32_t)in->of.clock.month, (int32_t)in->of.clock.date,
                              (uint16_t)in->of.clock.minute);
    case HB_MODE:
        return unit_mode(&u, in->channel, in->mode);
    case HB_PERIOD:
        return edit(in);
    case HB_OVERRIDE:
        return unit_override(&u, in->channel);
    case HB_BOOST:
        return unit_boost(&u, in->channel, in->of.boost.minutes);
    case HB_HOLIDAY:
        return unit_holiday(&u, in->of.holiday.days);
    case HB_HOLIDAY_CANCEL:
        return unit_holiday_cancel(&u);
    case HB_LOCK_ARM:
        return arm(in);
    case HB_LOCK_REMOVE:
        return unit_lock_remove(&u, in->credential, length(in->credential));
    default:
        return unit_reset(&u);
    }
}

void hb_unit_new(void)
{
    unit_new(&u, changed, NULL);
}

uint8_t hb_unit_input(const struct hb_input *in)
{
    enum answer a = carry_out(in);

    return a == ANSWER_OK ? HB_ACCEPTED : a == ANSWER_UNSUPPORTED ? HB_UNSUPPORTED : HB_REFUSED;
}

uint32_t hb_unit_pass(uint32_t most)
{
    (void)most;
    unit_tick(&u);
    return 1;
}
