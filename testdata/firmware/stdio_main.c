/*
 * The unit at the end of a pipe: requests on standard input, replies on standard
 * output. Replies are written when the buffer is full, or when no request is at
 * hand, so never later than the next wait for input.
 */
#include <errno.h>
#include <stdbool.h>
#include <stdlib.h>
#include <unistd.h>

#include "protocol.h"

#define BUFFER 65536

static char input[BUFFER];
static char output[BUFFER];
static size_t output_used;

static void flush(void)
{
    size_t done = 0;

    while (done < output_used) {
        ssize_t n = write(STDOUT_FILENO, output + done, output_used - done);

        if (n < 0 && errno == EINTR) {
            continue;
        }
        if (n < 0) {
            /* Nobody is left to answer. */
            _exit(EXIT_FAILURE);
        }
        done += (size_t)n;
    }
    output_used = 0;
}

static void reply(void *owner, const char *bytes, size_t length)
{
    (void)owner;
    if (length > BUFFER - output_used) {
        flush();
    }
    for (size_t i = 0; i < length; i++) {
        output[output_used + i] = bytes[i];
    }
    output_used += length;
}

int main(void)
{
    static struct protocol p;

    protocol_init(&p, reply, NULL);
    while (!p.ended) {
        ssize_t n = read(STDIN_FILENO, input, sizeof input);

        if (n < 0 && errno == EINTR) {
            continue;
        }
        if (n <= 0) {
            return n == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
        }
        for (size_t i = 0; i < (size_t)n && !p.ended; i++) {
            protocol_byte(&p, input[i]);
        }
        flush();
    }
    return EXIT_SUCCESS;
}
