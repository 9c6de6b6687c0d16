/* The adapter protocol, version 1, between a line of bytes and one unit. */
#ifndef PROTOCOL_H
#define PROTOCOL_H

#include "unit.h"

#define LINE_LONGEST 120

struct protocol {
    uint32_t second;   /* elapsed since new, below 1 000 000 000 */
    uint32_t billions; /* elapsed since new, in units of 1 000 000 000 s */
    struct unit unit;

    /* Takes reply bytes, whole lines at a time. */
    void (*write)(void *owner, const char *bytes, size_t length);
    void *owner;

    bool ended; /* bye has been answered */

    char line[LINE_LONGEST + 1]; /* one more than the longest line, for its CR */
    size_t length;               /* bytes of the line so far, those that found no room too */
};

/* The unit is as after a request new. The struct must stay where it is. */
void protocol_init(struct protocol *p, void (*write)(void *owner, const char *bytes, size_t length), void *owner);

/* Takes one byte of the bench's; at the end of a line the line is carried out and answered. */
void protocol_byte(struct protocol *p, char byte);

/* Carries out and answers one line, given without its LF and CR. Any bytes of any length may be given. */
void protocol_line(struct protocol *p, const char *line, size_t length);

#endif
