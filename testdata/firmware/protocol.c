#include "protocol.h"

#include "calendar.h"

#define GO_LONGEST 1000000000u
#define BILLION 1000000000u
/* No request has more words. */
#define WORDS_MOST 10

struct word {
    const char *at;
    size_t length;
};

/* A request under way: its words. */
struct request {
    struct word word[WORDS_MOST];
    uint8_t count;
};

/* A reply line under way. Every line this unit writes fits. */
struct text {
    char bytes[LINE_LONGEST + 1];
    size_t length;
};

static void add(struct text *t, const char *s)
{
    while (*s != '\0' && t->length < LINE_LONGEST) {
        t->bytes[t->length] = *s;
        t->length++;
        s++;
    }
}

/* Decimal, with leading zeros up to width. */
static void add_number(struct text *t, uint32_t n, uint8_t width)
{
    char digits[11];
    uint8_t i = sizeof digits - 1;
    uint8_t used = 0;

    digits[i] = '\0';
    do {
        i--;
        digits[i] = (char)('0' + n % 10u);
        n /= 10u;
        used++;
    } while (n != 0 || used < width);
    add(t, &digits[i]);
}

static void send(struct protocol *p, struct text *t)
{
    t->bytes[t->length] = '\n';
    p->write(p->owner, t->bytes, t->length + 1);
}

static void say(struct protocol *p, const char *line)
{
    struct text t;

    t.length = 0;
    add(&t, line);
    send(p, &t);
}

/* Events */

static const char *const stage_words[] = {"none", "counting", "notice", "restricted"};

static void output_changed(void *owner, uint8_t signal, uint8_t level)
{
    static const char *const signals[SIGNAL_COUNT] = {" hw ", " ch ", " alert ", " sounder "};
    struct protocol *p = owner;
    struct text t;

    t.length = 0;
    add(&t, "@");
    if (p->billions != 0) {
        add_number(&t, p->billions, 1);
    }
    add_number(&t, p->second, p->billions != 0 ? 9 : 1);
    add(&t, signals[signal]);
    if (signal == SIGNAL_ALERT) {
        add(&t, stage_words[level]);
    } else {
        add_number(&t, level, 1);
    }
    send(p, &t);
}

/* Words */

static bool is(struct word w, const char *s)
{
    size_t i = 0;

    while (i < w.length && s[i] == w.at[i] && s[i] != '\0') {
        i++;
    }
    return i == w.length && s[i] == '\0';
}

/* Position of a word in a list; false if it is not there. */
static bool pick(struct word w, const char *const list[], uint8_t count, uint8_t *value)
{
    for (uint8_t i = 0; i < count; i++) {
        if (is(w, list[i])) {
            *value = i;
            return true;
        }
    }
    return false;
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool all_digits(struct word w)
{
    for (size_t i = 0; i < w.length; i++) {
        if (!is_digit(w.at[i])) {
            return false;
        }
    }
    return w.length > 0;
}

/* A number too large for 32 bits, and so for every use here, reads as the largest. */
static bool number(struct word w, uint32_t *value)
{
    uint32_t n = 0;

    if (!all_digits(w) || (w.at[0] == '0' && w.length > 1)) {
        return false;
    }
    for (size_t i = 0; i < w.length; i++) {
        uint32_t digit = (uint32_t)(w.at[i] - '0');

        n = n > (UINT32_MAX - digit) / 10u ? UINT32_MAX : n * 10u + digit;
        if (n == UINT32_MAX) {
            break;
        }
    }
    *value = n;
    return true;
}

/* A fixed number of digits, which the caller knows to be there. */
static uint16_t fixed(const char *at, uint8_t digits)
{
    uint16_t n = 0;

    for (uint8_t i = 0; i < digits; i++) {
        n = (uint16_t)(n * 10 + (at[i] - '0'));
    }
    return n;
}

static bool has_shape(struct word w, const char *shape)
{
    size_t i = 0;

    while (i < w.length && shape[i] != '\0') {
        if (shape[i] == '0' ? !is_digit(w.at[i]) : w.at[i] != shape[i]) {
            return false;
        }
        i++;
    }
    return i == w.length && shape[i] == '\0';
}

/* hh:mm from 00:00 to 24:00, in minutes. */
static bool time_of_day(struct word w, uint16_t *minutes)
{
    uint16_t hours;
    uint16_t rest;

    if (!has_shape(w, "00:00")) {
        return false;
    }
    hours = fixed(w.at, 2);
    rest = fixed(w.at + 3, 2);
    *minutes = (uint16_t)(hours * 60 + rest);
    return rest < 60 && *minutes <= MINUTES_A_DAY;
}

static bool channel(struct word w, uint8_t *c)
{
    static const char *const words[CHANNEL_COUNT] = {"hw", "ch"};

    return pick(w, words, CHANNEL_COUNT, c);
}

/* Replies */

static void answer(struct protocol *p, enum answer a)
{
    static const char *const words[ANSWER_COUNT] = {
        [ANSWER_OK] = "ok",
        [ANSWER_UNSUPPORTED] = "unsupported",
        [ANSWER_NO_POWER] = "refused no power",
        [ANSWER_POWERED] = "refused the back can be changed only without power",
        [ANSWER_CLOCK_UNSET] = "refused the clock is unset",
        [ANSWER_IN_HOLIDAY] = "refused in a holiday",
        [ANSWER_NO_DATE] = "refused not a date and time from 2000-01-01 00:00 to 2099-12-31 23:59",
        [ANSWER_NO_READING] = "refused the change to summer time skips that reading",
        [ANSWER_NO_TABLE] = "refused no such table with the timing fitted",
        [ANSWER_NO_DAY] = "refused no such day in the cycle fitted",
        [ANSWER_NO_SLOT] = "refused slot beyond the periods of a day",
        [ANSWER_BAD_TIMES] = "refused on of 24:00, or off before on",
        [ANSWER_BAD_BOOST] = "refused not a whole number of steps up to the longest boost",
        [ANSWER_BAD_DAYS] = "refused a holiday is 1 to 99 days",
        [ANSWER_NEVER_ENDS] = "refused the schedule never changes",
        [ANSWER_BAD_CREDENTIAL] = "refused wrong credential",
        [ANSWER_BAD_TERMS] = "refused days 1 to 999, notice up to days, allowances 10 to 60, at most 4 sounder times",
        [ANSWER_DORMANT] = "refused the lock is dormant",
    };

    say(p, words[a]);
}

/* The ICS */

static void send_values(struct protocol *p, const char *option, const char *const values[], const bool have[],
                        uint8_t count, uint8_t fitted)
{
    struct text t;
    bool any = false;

    t.length = 0;
    add(&t, "ics ");
    add(&t, option);
    add(&t, " ");
    for (uint8_t i = 0; i < count; i++) {
        if (have[i]) {
            add(&t, any ? "," : "");
            add(&t, values[i]);
            any = true;
        }
    }
    add(&t, " ");
    add(&t, values[fitted]);
    send(p, &t);
}

static void send_number(struct protocol *p, const char *option, int32_t value)
{
    struct text t;

    t.length = 0;
    add(&t, "ics ");
    add(&t, option);
    add(&t, value < 0 ? " -" : " ");
    add_number(&t, (uint32_t)(value < 0 ? -value : value), 1);
    send(p, &t);
}

static const char *const channels_words[] = {"both", "hw", "ch"};
static const char *const cycle_words[] = {"24h", "5/2", "7day"};
static const char *const timing_words[] = {"separate", "shared"};
static const char *const coupling_words[] = {"independent", "gravity"};

static void send_ics(struct protocol *p)
{
    static const bool channels[] = {HAVE_CHANNELS_BOTH != 0, HAVE_CHANNELS_HW != 0, HAVE_CHANNELS_CH != 0};
    static const bool cycle[] = {HAVE_CYCLE_24H != 0, HAVE_CYCLE_5_2 != 0, HAVE_CYCLE_7DAY != 0};
    static const bool timing[] = {HAVE_TIMING_SEPARATE != 0, HAVE_TIMING_SHARED != 0};
    static const bool coupling[] = {HAVE_COUPLING_INDEPENDENT != 0, HAVE_COUPLING_GRAVITY != 0};

    send_values(p, "channels", channels_words, channels, 3, CHANNELS_FITTED);
    send_values(p, "cycle", cycle_words, cycle, 3, CYCLE_FITTED);
    send_values(p, "timing", timing_words, timing, 2, TIMING_FITTED);
    send_values(p, "coupling", coupling_words, coupling, 2, COUPLING_FITTED);
    send_number(p, "periods", PERIODS);
    send_number(p, "boost-longest", BOOST_LONGEST);
    send_number(p, "boost-step", BOOST_STEP);
    say(p, HOLIDAY ? "ics holiday yes" : "ics holiday no");
    say(p, SUMMER_TIME ? "ics summer-time automatic" : "ics summer-time none");
    send_number(p, "zone", ZONE);
    say(p, LOCK ? "ics lock yes" : "ics lock no");
    if (LOCK) {
        say(p, "ics credential " CONFIG_STRING(CREDENTIAL));
    }
    send_number(p, "reserve", RESERVE);
    say(p, OVERRIDE_ON_MODE_CHANGE_KEPT ? "ics override-on-mode-change kept" : "ics override-on-mode-change cancelled");
    say(p, OVERRIDE_END_PROGRAMMED ? "ics override-end programmed" : "ics override-end change");
    say(p, SECOND_BOOST_EXTENDS ? "ics second-boost extends" : "ics second-boost replaces");
    say(p, BOOST_IN_HOLIDAY_ALLOWED ? "ics boost-in-holiday allowed" : "ics boost-in-holiday refused");
    say(p, CLOCK_AFTER_RESET_UNSET ? "ics clock-after-reset unset" : "ics clock-after-reset kept");
    say(p, LOST_CLOCK_RESUMES    ? "ics lost-clock resumes"
           : LOST_CLOCK_RESTARTS ? "ics lost-clock restarts"
                                 : "ics lost-clock unset");
    say(p, THROUGH_CUT_KEPT ? "ics through-cut kept" : "ics through-cut dropped");
    say(p, PAST_MIDNIGHT_WRAP ? "ics past-midnight wrap" : "ics past-midnight refused");
    say(p, BAD_VALUE_CLAMPED ? "ics bad-value clamped" : "ics bad-value refused");
    send_number(p, "late-power-on", LATE_POWER_ON);
    send_number(p, "late-scan", LATE_SCAN);
    send_number(p, "stagger", STAGGER);
    send_number(p, "boost-rate", BOOST_RATE);
    send_number(p, "clock-rate", CLOCK_RATE);
    send_number(p, "lock-grain", LOCK_GRAIN);
}

/* Requests. Each answers the request and returns true, or returns false if it is malformed. */

static bool do_hello(struct protocol *p, const struct request *r)
{
    if (r->count != 2 || !is(r->word[1], "1")) {
        return false;
    }
    send_ics(p);
    answer(p, ANSWER_OK);
    return true;
}

static void start(struct protocol *p)
{
    p->second = 0;
    p->billions = 0;
    unit_new(&p->unit, output_changed, p);
}

static bool do_new(struct protocol *p, const struct request *r)
{
    if (r->count != 1) {
        return false;
    }
    start(p);
    answer(p, ANSWER_OK);
    return true;
}

static bool do_go(struct protocol *p, const struct request *r)
{
    uint32_t seconds;

    if (r->count != 2 || !number(r->word[1], &seconds) || seconds > GO_LONGEST) {
        return false;
    }
    for (uint32_t i = 0; i < seconds; i++) {
        p->second++;
        if (p->second == BILLION) {
            p->second = 0;
            p->billions++;
        }
        unit_tick(&p->unit);
    }
    answer(p, ANSWER_OK);
    return true;
}

static bool do_bye(struct protocol *p, const struct request *r)
{
    if (r->count != 1) {
        return false;
    }
    p->ended = true;
    answer(p, ANSWER_OK);
    return true;
}

static bool do_fit(struct protocol *p, const struct request *r)
{
    static const char *const options[FIT_COUNT] = {"channels", "cycle", "timing", "coupling"};
    static const char *const *const values[FIT_COUNT] = {channels_words, cycle_words, timing_words, coupling_words};
    static const uint8_t counts[FIT_COUNT] = {3, 3, 2, 2};
    uint8_t option;
    uint8_t value;

    if (r->count != 3 || !pick(r->word[1], options, FIT_COUNT, &option) ||
        !pick(r->word[2], values[option], counts[option], &value)) {
        return false;
    }
    answer(p, unit_fit(&p->unit, option, value));
    return true;
}

static bool do_power(struct protocol *p, const struct request *r)
{
    static const char *const words[] = {"off", "on"};
    uint8_t on;

    if (r->count != 2 || !pick(r->word[1], words, 2, &on)) {
        return false;
    }
    answer(p, unit_power(&p->unit, on == 1));
    return true;
}

static bool do_clock(struct protocol *p, const struct request *r)
{
    uint16_t minute;
    const char *date = r->word[1].at;

    if (r->count != 3 || !has_shape(r->word[1], "0000-00-00") || !time_of_day(r->word[2], &minute)) {
        return false;
    }
    answer(p, unit_set_clock(&p->unit, fixed(date, 4), fixed(date + 5, 2), fixed(date + 8, 2), minute));
    return true;
}

static bool do_mode(struct protocol *p, const struct request *r)
{
    static const char *const words[] = {"off", "table", "span", "always"};
    uint8_t c;
    uint8_t mode;

    if (r->count != 3 || !channel(r->word[1], &c) || !pick(r->word[2], words, 4, &mode)) {
        return false;
    }
    answer(p, unit_mode(&p->unit, c, mode));
    return true;
}

static bool do_period(struct protocol *p, const struct request *r)
{
    static const char *const tables[] = {"hw", "ch", "both"};
    static const char *const days[] = {"mon", "tue", "wed", "thu",      "fri",
                                       "sat", "sun", "all", "weekdays", "weekend"};
    uint8_t table;
    uint8_t day;
    uint32_t slot;
    uint16_t on;
    uint16_t off;

    if (r->count != 6 || !pick(r->word[1], tables, 3, &table) || !pick(r->word[2], days, 10, &day) ||
        !number(r->word[3], &slot) || slot < 1 || slot > 9 || !time_of_day(r->word[4], &on) ||
        !time_of_day(r->word[5], &off)) {
        return false;
    }
    answer(p, unit_period(&p->unit, table, day, (uint8_t)slot, on, off));
    return true;
}

static bool do_override(struct protocol *p, const struct request *r)
{
    uint8_t c;

    if (r->count != 2 || !channel(r->word[1], &c)) {
        return false;
    }
    answer(p, unit_override(&p->unit, c));
    return true;
}

static bool do_boost(struct protocol *p, const struct request *r)
{
    uint8_t c;
    uint32_t minutes;

    if (r->count != 3 || !channel(r->word[1], &c) || !number(r->word[2], &minutes)) {
        return false;
    }
    answer(p, unit_boost(&p->unit, c, minutes));
    return true;
}

static bool do_holiday(struct protocol *p, const struct request *r)
{
    uint32_t days;

    if (r->count != 2) {
        return false;
    }
    if (is(r->word[1], "cancel")) {
        answer(p, unit_holiday_cancel(&p->unit));
        return true;
    }
    if (!number(r->word[1], &days)) {
        return false;
    }
    answer(p, unit_holiday(&p->unit, days));
    return true;
}

static bool allowance(struct word w, uint32_t *minutes)
{
    if (is(w, "none")) {
        *minutes = ALLOWANCE_NONE;
        return true;
    }
    if (!number(w, minutes)) {
        return false;
    }
    if (*minutes == ALLOWANCE_NONE) {
        *minutes = ALLOWANCE_NONE - 1;
    }
    return true;
}

/* Times with commas, or none. All are counted, the first SOUNDER_TIMES kept. */
static bool sounder_times(struct word w, struct lock_terms *terms)
{
    size_t from = 0;

    terms->sounder_count = 0;
    for (uint8_t i = 0; i < SOUNDER_TIMES; i++) {
        terms->sounder[i] = 0;
    }
    if (is(w, "none")) {
        return true;
    }
    for (size_t i = 0; i <= w.length; i++) {
        struct word one;
        uint16_t minutes;

        if (i < w.length && w.at[i] != ',') {
            continue;
        }
        one.at = &w.at[from];
        one.length = i - from;
        if (!time_of_day(one, &minutes)) {
            return false;
        }
        if (terms->sounder_count < SOUNDER_TIMES) {
            terms->sounder[terms->sounder_count] = minutes;
        }
        terms->sounder_count++;
        from = i + 1;
    }
    return true;
}

static bool do_lock(struct protocol *p, const struct request *r)
{
    struct lock_terms terms;
    struct word credential = r->word[2];

    if (r->count == 3 && is(r->word[1], "remove") && all_digits(credential)) {
        answer(p, unit_lock_remove(&p->unit, credential.at, credential.length));
        return true;
    }
    if (r->count != 10 || !is(r->word[1], "arm") || !all_digits(credential) || !number(r->word[3], &terms.days) ||
        !number(r->word[4], &terms.notice_days) || !allowance(r->word[5], &terms.allowance[0][HW]) ||
        !allowance(r->word[6], &terms.allowance[0][CH]) || !allowance(r->word[7], &terms.allowance[1][HW]) ||
        !allowance(r->word[8], &terms.allowance[1][CH]) || !sounder_times(r->word[9], &terms)) {
        return false;
    }
    answer(p, unit_lock_arm(&p->unit, credential.at, credential.length, &terms));
    return true;
}

static bool do_reset(struct protocol *p, const struct request *r)
{
    if (r->count != 1) {
        return false;
    }
    answer(p, unit_reset(&p->unit));
    return true;
}

static const struct {
    const char *word;
    bool (*carry_out)(struct protocol *p, const struct request *r);
    const char *form;
} requests[] = {
    {"go", do_go, "error go SECONDS, 0 to 1000000000"},
    {"period", do_period, "error period hw|ch|both DAY SLOT ON OFF, slot 1 to 9, times hh:mm up to 24:00"},
    {"mode", do_mode, "error mode hw|ch off|table|span|always"},
    {"override", do_override, "error override hw|ch"},
    {"boost", do_boost, "error boost hw|ch MINUTES"},
    {"clock", do_clock, "error clock YYYY-MM-DD hh:mm"},
    {"power", do_power, "error power on|off"},
    {"new", do_new, "error new takes no words"},
    {"fit", do_fit, "error fit channels|cycle|timing|coupling VALUE"},
    {"holiday", do_holiday, "error holiday DAYS, or holiday cancel"},
    {"lock", do_lock, "error lock arm CREDENTIAL DAYS NOTICE NHW NCH RHW RCH SOUNDER, or lock remove CREDENTIAL"},
    {"reset", do_reset, "error reset takes no words"},
    {"hello", do_hello, "error hello 1 is the version spoken here"},
    {"bye", do_bye, "error bye takes no words"},
};

/* False if the words are not separated by exactly one space, or are too many. */
static bool split(struct request *r, const char *line, size_t length)
{
    size_t from = 0;

    r->count = 0;
    for (size_t i = 0; i <= length; i++) {
        if (i < length && line[i] != ' ') {
            continue;
        }
        if (i == from || r->count == WORDS_MOST) {
            return false;
        }
        r->word[r->count].at = &line[from];
        r->word[r->count].length = i - from;
        r->count++;
        from = i + 1;
    }
    return true;
}

void protocol_line(struct protocol *p, const char *line, size_t length)
{
    struct request r;

    if (length > LINE_LONGEST) {
        say(p, "error the line is longer than 120 bytes");
        return;
    }
    for (size_t i = 0; i < length; i++) {
        if (line[i] < 0x20 || line[i] > 0x7e) {
            say(p, "error the line has a byte that is not printable ASCII");
            return;
        }
    }
    if (!split(&r, line, length)) {
        say(p, "error a line is 1 to 10 words separated by exactly one space");
        return;
    }
    for (size_t i = 0; i < sizeof requests / sizeof requests[0]; i++) {
        if (is(r.word[0], requests[i].word)) {
            if (!requests[i].carry_out(p, &r)) {
                say(p, requests[i].form);
            }
            return;
        }
    }
    say(p, "error no such request");
}

void protocol_init(struct protocol *p, void (*write)(void *owner, const char *bytes, size_t length), void *owner)
{
    p->write = write;
    p->owner = owner;
    p->ended = false;
    p->length = 0;
    start(p);
}

void protocol_byte(struct protocol *p, char byte)
{
    if (byte != '\n') {
        if (p->length < sizeof p->line) {
            p->line[p->length] = byte;
        }
        /* The count goes on past the room there is, so that a line too long is known as one. */
        if (p->length < sizeof p->line + 1) {
            p->length++;
        }
        return;
    }
    if (p->length > 0 && p->length <= sizeof p->line && p->line[p->length - 1] == '\r') {
        p->length--;
    }
    protocol_line(p, p->line, p->length);
    p->length = 0;
}
