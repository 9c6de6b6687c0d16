/* The least that speaks the adapter protocol: it accepts everything and nothing ever changes. It is as fast as an
 * implementation can be, so that a benchmark against it measures the bench. */
#include <string.h>
#include <unistd.h>

static const char statement[] =
    "ics channels both both\n"
    "ics cycle 24h,7day 24h\n"
    "ics timing separate separate\n"
    "ics coupling independent,gravity independent\n"
    "ics periods 3\n"
    "ics boost-longest 180\n"
    "ics boost-step 60\n"
    "ics holiday yes\n"
    "ics summer-time automatic\n"
    "ics lock no\n"
    "ics reserve 480\n";

static char in[65536], out[3 * 65536 + sizeof statement];
static size_t held, filled;

static void say(const char *text, size_t n)
{
    memcpy(out + filled, text, n);
    filled += n;
}

static int flush(void)
{
    size_t done = 0;
    while (done < filled) {
        ssize_t n = write(1, out + done, filled - done);
        if (n <= 0)
            return 0;
        done += (size_t)n;
    }
    filled = 0;
    return 1;
}

int main(void)
{
    for (;;) {
        ssize_t n = read(0, in + held, sizeof in - held);
        if (n <= 0)
            return n < 0;
        char *line = in, *end = in + held + n, *lf;
        while ((lf = memchr(line, '\n', (size_t)(end - line))) != NULL) {
            if (*line == 'h') {
                if (!flush())
                    return 1;
                say(statement, sizeof statement - 1);
            }
            say("ok\n", 3);
            if (*line == 'b' && line[1] == 'y')
                return !flush();
            line = lf + 1;
        }
        held = (size_t)(end - line);
        memmove(in, line, held);
        if (!flush() || held == sizeof in)
            return 1;
    }
}
