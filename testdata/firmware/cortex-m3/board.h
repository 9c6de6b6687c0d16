/* What the firmware needs of its board: one serial line, and a restart. */
#ifndef BOARD_H
#define BOARD_H

/* Sets the serial line to 115200 baud, 8N1. */
void board_init(void);

/* Waits for a byte from the bench; the processor sleeps meanwhile. */
char board_get(void);

/* Sends a byte to the bench, waiting while the last one is on its way. */
void board_put(char byte);

/* Sends a text. */
void board_say(const char *text);

/* Sends what is still on its way and starts afresh, as from the reset button. */
_Noreturn void board_restart(void);

#endif
