/*
 * The MPS2 board with the AN385 image: UART 0, a CMSDK APB UART, on a 25 MHz clock.
 * Registers are those of the Cortex-M System Design Kit's and the ARMv7-M
 * architecture's reference manuals.
 */
#include "board.h"

#include <stdint.h>

#define CLOCK_HZ 25000000u
#define BAUD 115200u

struct uart {
    volatile uint32_t data;
    volatile uint32_t state;
    volatile uint32_t control;
    volatile uint32_t interrupt; /* a 1 written clears */
    volatile uint32_t divider;
};

#define UART ((struct uart *)0x40004000u)
#define STATE_SEND_FULL 0x1u
#define STATE_RECEIVE_FULL 0x2u
#define CONTROL_SEND 0x1u
#define CONTROL_RECEIVE 0x2u
#define CONTROL_RECEIVE_INTERRUPT 0x8u
#define INTERRUPT_RECEIVE 0x2u

/* Interrupt 0 of the device is UART 0's receiver. */
#define NVIC_ENABLE (*(volatile uint32_t *)0xe000e100u)
#define NVIC_UNPEND (*(volatile uint32_t *)0xe000e280u)
#define RECEIVER 0x1u

#define RESET_CONTROL (*(volatile uint32_t *)0xe000ed0cu)
#define RESET_KEY 0x05fa0000u
#define RESET_REQUEST 0x4u

void board_init(void)
{
    /* Masked for good: the receiver's interrupt only wakes the processor. */
    __asm__ volatile("cpsid i" ::: "memory");
    UART->divider = CLOCK_HZ / BAUD;
    UART->control = CONTROL_SEND | CONTROL_RECEIVE | CONTROL_RECEIVE_INTERRUPT;
    NVIC_ENABLE = RECEIVER;
}

char board_get(void)
{
    while ((UART->state & STATE_RECEIVE_FULL) == 0) {
        /* Cleared before the next look, so that a byte that comes between the two still wakes. */
        UART->interrupt = INTERRUPT_RECEIVE;
        NVIC_UNPEND = RECEIVER;
        if ((UART->state & STATE_RECEIVE_FULL) == 0) {
            __asm__ volatile("wfi" ::: "memory");
        }
    }
    return (char)UART->data;
}

void board_put(char byte)
{
    while ((UART->state & STATE_SEND_FULL) != 0) {
    }
    UART->data = (uint8_t)byte;
}

void board_say(const char *text)
{
    for (; *text != '\0'; text++) {
        board_put(*text);
    }
}

void board_restart(void)
{
    while ((UART->state & STATE_SEND_FULL) != 0) {
    }
    RESET_CONTROL = RESET_KEY | RESET_REQUEST;
    for (;;) {
    }
}
