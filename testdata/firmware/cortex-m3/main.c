/* The unit at the end of the board's serial line. */
#include <stddef.h>

#include "../protocol.h"
#include "board.h"

static struct protocol p;

static void reply(void *owner, const char *bytes, size_t length)
{
    (void)owner;
    for (size_t i = 0; i < length; i++) {
        board_put(bytes[i]);
    }
}

int main(void)
{
    board_init();
    protocol_init(&p, reply, NULL);
    while (!p.ended) {
        protocol_byte(&p, board_get());
    }
    return 0;
}
