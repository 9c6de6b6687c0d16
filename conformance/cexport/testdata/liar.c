/* Units that are none: what the runner says of them. */
#include "hb_runner.h"

#ifndef OUTCOME
#define OUTCOME HB_ACCEPTED
#endif
#ifndef PASSED
#define PASSED most
#endif
#ifndef LEVEL
#define LEVEL 0
#endif
#ifndef CHATTER
#define CHATTER 0
#endif

void hb_unit_new(void)
{
}

uint8_t hb_unit_input(const struct hb_input *in)
{
    (void)in;
    hb_output(HB_ALERT, LEVEL);
    return OUTCOME;
}

uint32_t hb_unit_pass(uint32_t most)
{
    for (int i = CHATTER; i > 0; i--) {
        hb_output(HB_SOUNDER, 1);
        hb_output(HB_SOUNDER, 0);
    }
    return most > 0 ? PASSED : 1;
}
