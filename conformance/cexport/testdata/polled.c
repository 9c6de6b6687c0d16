/* The sample behind a glue that has no place for hb_output and looks at the levels instead. */
#include "hb_runner.h"

static void unseen(uint8_t signal, uint8_t level)
{
    (void)signal;
    (void)level;
}

#define hb_output unseen
#define hb_unit_new make
#define hb_unit_input give
#define hb_unit_pass pass
#include GLUE
#undef hb_output
#undef hb_unit_new
#undef hb_unit_input
#undef hb_unit_pass

static void look(void)
{
    hb_outputs(u.output[SIGNAL_HW], u.output[SIGNAL_CH], u.output[SIGNAL_ALERT], u.output[SIGNAL_SOUNDER]);
}

void hb_unit_new(void)
{
    make();
    look();
}

uint8_t hb_unit_input(const struct hb_input *in)
{
    uint8_t outcome = give(in);

    look();
    return outcome;
}

uint32_t hb_unit_pass(uint32_t most)
{
    uint32_t passed = pass(most);

    look();
    return passed;
}
