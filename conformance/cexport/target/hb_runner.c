/* Puts the vectors of hb_vectors.h to a unit. hb_runner.h says how to use it; the head of hb_vectors.h describes the encoding. */
#include "hb_runner.h"

#include <stdbool.h>

#include "hb_vectors.h"

/* Items that are no input. Arguments of the last, beside an outcome, which is due to the next input. */
enum { CHANGE = HB_RESET + 1, WAIT, OTHER };
enum { BEGIN = HB_ACCEPTED, AGAIN = HB_UNSUPPORTED + 1 };

/* The changes of one second: signal and 4 times the level. There is room for one more than any vector expects, so that it shows. */
struct changes {
    uint8_t n, at[HB_MOST_CHANGES + 1];
};

static struct changes expected, seen;
static uint8_t shown[HB_SIGNALS], level[HB_SIGNALS]; /* as the unit has told last; as compared so far */
static uint8_t due, wrong;                           /* outcome of the next input, and what it is if that is another */
static struct hb_input in;
static struct hb_departure found;

/* Where items are read: in the vector, and in repetitions within repetitions. */
static const uint8_t *at[HB_DEPTH + 1], *end[HB_DEPTH + 1];
static uint8_t depth;

static uint32_t number(void)
{
    uint32_t n = 0;
    do {
        n = n << 7 | (*at[depth] & 127u);
    } while (*at[depth]++ > 127u);
    return n;
}

static uint32_t minute(void)
{
    uint8_t b = *at[depth]++;
    return b <= 144u ? b * 10u : (b - 145u) * 256u + *at[depth]++;
}

static bool depart(unsigned what, unsigned signal, unsigned want, unsigned got)
{
    found.what = (uint8_t)what;
    found.signal = (uint8_t)signal;
    found.expected = (uint8_t)want;
    found.observed = (uint8_t)got;
    return false;
}

void hb_output(uint8_t signal, uint8_t new_level)
{
    if (shown[signal] != new_level && seen.n <= HB_MOST_CHANGES) {
        seen.at[seen.n++] = (uint8_t)(signal | new_level << 2);
    }
    shown[signal] = new_level;
}

static bool has(const struct changes *c, uint8_t from, uint8_t change)
{
    while (from < c->n && c->at[from] != change) {
        from++;
    }
    return from < c->n;
}

/* Compares what has changed in this second with what should have. */
static bool settle(void)
{
    for (uint8_t i = 0; i < expected.n || i < seen.n; i++) {
        uint8_t want = expected.at[i], wanted = want & 3u, got = seen.at[i], signal = got & 3u;
        if (i < seen.n && !has(&expected, i, got)) {
            return depart(HB_LEVEL, signal, i < expected.n && wanted == signal ? want >> 2 : level[signal], got >> 2);
        }
        if (i >= seen.n || want != got) {
            return depart(has(&seen, i, want) ? HB_ORDER : HB_LEVEL, wanted, want >> 2, level[wanted]);
        }
        level[signal] = got >> 2;
    }
    expected.n = seen.n = 0;
    return true;
}

static bool pass(uint32_t seconds)
{
    while (seconds > 0 && settle()) {
        uint32_t passed = hb_unit_pass(seconds);
        if (passed == 0 || passed > seconds) {
            return depart(HB_TIME, 0, 0, 0);
        }
        found.second += passed;
        seconds -= passed;
    }
    return seconds == 0;
}

static bool give(void)
{
    uint8_t outcome = hb_unit_input(&in);
    return outcome == due || depart(wrong, 0, due, outcome);
}

/* Edits a block of periods: tables by days by slots, of which the first few have times and the others are inactive. */
static bool give_periods(uint8_t timed)
{
    uint8_t tables = *at[depth]++, days = *at[depth]++, slots = *at[depth]++;
    const uint8_t *times = at[depth];
    for (unsigned table = 0; table <= tables >> 2; table++) {
        for (unsigned day = 0; day <= days >> 4; day++) {
            at[depth] = times;
            for (unsigned slot = 0; slot <= slots >> 4; slot++) {
                in.of.period.table = (tables & 3u) + table;
                in.of.period.day = (days & 15u) + day;
                in.of.period.slot = (slots & 15u) + slot;
                in.of.period.on = slot < timed ? minute() : 0;
                in.of.period.off = slot < timed ? minute() : 0;
                if (!give()) {
                    return false;
                }
            }
        }
    }
    return true;
}

/* Gives any other input: in the item's argument are channel and mode, or the credential; numbers follow. */
static bool give_other(uint8_t a)
{
    static const uint8_t numbers[] = {0, 0, 2, 4, 0, 0, 0, 1, 1, 0, 11, 0, 0}; /* by kind */
    in.channel = a & 1u;
    in.mode = a >> 1;
    in.credential = hb_credentials[in.kind == HB_LOCK_ARM || in.kind == HB_LOCK_REMOVE ? a : 0];
    for (uint8_t i = 0; i < numbers[in.kind]; i++) {
        in.of.number[i] = in.kind == HB_CLOCK && i == 3 ? minute() : number();
    }
    return give();
}

static bool item(void)
{
    uint8_t kind = *at[depth] & 15u, a = *at[depth]++ >> 4;
    bool ok = true;
    if (kind == CHANGE) {
        expected.at[expected.n++] = a;
    } else if (kind == WAIT) {
        uint32_t n = (a & 7u) | (a > 7u ? number() << 3 : 0u);
        ok = pass((n & 1u) != 0 ? n >> 1 : (n >> 1) * 60u);
    } else if (kind != OTHER) {
        in.kind = kind;
        ok = kind == HB_PERIOD ? give_periods(a) : give_other(a);
        due = HB_ACCEPTED;
    } else if (a == BEGIN) {
        uint8_t levels = *at[depth]++;
        for (uint8_t s = 0; ok && s < HB_SIGNALS; s++, levels >>= 2) {
            level[s] = levels & 3u;
            ok = shown[s] == level[s] || depart(HB_START, s, level[s], shown[s]);
        }
        seen.n = 0;
        wrong = HB_REPLY;
    } else if (a == AGAIN) {
        at[depth + 1] = hb_vectors + number();
        end[depth + 1] = at[depth + 1] + number();
        depth++;
    } else {
        due = a;
    }
    return ok;
}

struct hb_result hb_run(void (*report)(const struct hb_departure *departure))
{
    struct hb_result result = {HB_COUNT, 0};
    end[0] = hb_vectors;
    found.id = hb_ids;
    for (found.vector = 1; found.vector <= HB_COUNT; found.vector++) {
        bool ok = true;
        depth = 0;
        at[0] = end[0];
        end[0] += number(); /* the length counts its own bytes */
        found.second = 0;
        expected.n = seen.n = due = 0;
        wrong = HB_GIVEN;
        for (uint8_t s = 0; s < HB_SIGNALS; shown[s++] = 0) {
        }
        hb_unit_new();
        while (ok && (at[depth] < end[depth] || depth > 0)) {
            ok = at[depth] < end[depth] ? item() : depth-- > 0;
        }
        if (!ok || !settle()) {
            result.departed++;
            report(&found);
        }
        while (HB_NAMES && *found.id++ != '\0') {
        }
    }
    return result;
}
