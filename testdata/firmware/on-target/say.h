#ifndef SAY_H
#define SAY_H

#include <stdbool.h>

#include "hb_runner.h"

/* Runs the vectors, a line for each departure and one at the end, and returns whether there was none. */
bool say_result(void (*put_character)(char character));

#endif
