/* The vectors put to the unit on the board, which tells on its serial line what became of them and starts afresh. */
#include "../cortex-m3/board.h"
#include "say.h"

int main(void)
{
    board_init();
    say_result(board_put);
    return 0;
}
