/* The vectors put to the unit in a program of the host. The exit status is 1 if the unit departs from any. */
#include <stdio.h>

#include "say.h"

static void put(char character)
{
    putchar(character);
}

int main(void)
{
    return say_result(put) ? 0 : 1;
}
