#!/bin/sh
# Builds the unit: build.sh OUTPUT [-DNAME=VALUE ...]
# Names are the macros of config.h and, for wrong builds, wrong_builds.h.
# CC and CFLAGS come from the environment.
set -eu

if [ $# -lt 1 ]; then
    echo "usage: build.sh OUTPUT [-DNAME=VALUE ...]" >&2
    exit 2
fi
output=$1
shift
here=$(cd "$(dirname "$0")" && pwd)

# The compiler would take a misspelt name in silence.
for define in "$@"; do
    name=${define#-D}
    name=${name%%=*}
    if [ "$define" = "${define#-D}" ] || ! grep -qx "#ifndef $name" "$here/config.h" "$here/wrong_builds.h"; then
        echo "build.sh: $define: not a -D of a macro in config.h or wrong_builds.h" >&2
        exit 2
    fi
done

exec "${CC:-cc}" -std=c99 -D_POSIX_C_SOURCE=200809L -O2 -Wall -Wextra -Wpedantic -Wconversion -Werror ${CFLAGS:-} "$@" \
    -o "$output" "$here/calendar.c" "$here/unit.c" "$here/protocol.c" "$here/stdio_main.c"
