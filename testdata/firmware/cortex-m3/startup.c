/*
 * From reset to main: the vector table, .data and .bss. ARMv7-M takes its stack
 * pointer and its first instruction from the first two words at address 0, so that
 * all of it can be C.
 */
#include <stdint.h>

#include "board.h"

/* Places that the linker script names. */
extern uint32_t data_image[];
extern uint32_t data_begin[];
extern uint32_t data_end[];
extern uint32_t bss_begin[];
extern uint32_t bss_end[];
extern uint32_t stack_top[];

int main(void);

void reset(void);

void reset(void)
{
    const uint32_t *from = data_image;

    for (uint32_t *to = data_begin; to < data_end; to++) {
        *to = *from;
        from++;
    }
    for (uint32_t *to = bss_begin; to < bss_end; to++) {
        *to = 0;
    }
    main();
    board_restart();
}

/*
 * Every exception here is a fault, since no interrupt is ever taken. The line is none
 * of the protocol's, so that the bench ends the vector with what it says.
 */
static void fault(void)
{
    uint32_t number;

    __asm__ volatile("mrs %0, ipsr" : "=r"(number));
    board_say("firmware fault, exception ");
    board_put((char)('0' + number / 10u % 10u));
    board_put((char)('0' + number % 10u));
    board_put('\n');
    board_restart();
}

struct vectors {
    uint32_t *stack;
    void (*exception[15])(void); /* exceptions 1 to 15 */
};

/* The device's interrupts, from exception 16 on, are masked and need no vectors. */
__attribute__((section(".vectors"), used)) static const struct vectors vectors = {
    stack_top,
    {reset, fault, fault, fault, fault, fault, fault, fault, fault, fault, fault, fault, fault, fault, fault},
};
