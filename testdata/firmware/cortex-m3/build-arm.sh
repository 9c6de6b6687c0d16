#!/bin/sh
# Builds the unit for a Cortex-M3: build-arm.sh OUTPUT.elf [-DNAME=VALUE ...]
# Names are the macros of config.h and, for wrong builds, wrong_builds.h.
# CC and CFLAGS come from the environment; CC is arm-none-eabi-gcc if it is not set.
set -eu

if [ $# -lt 1 ]; then
    echo "usage: build-arm.sh OUTPUT.elf [-DNAME=VALUE ...]" >&2
    exit 2
fi
output=$1
shift
here=$(cd "$(dirname "$0")" && pwd)
unit=$here/..

# The compiler would take a misspelt name in silence.
for define in "$@"; do
    name=${define#-D}
    name=${name%%=*}
    if [ "$define" = "${define#-D}" ] || ! grep -qx "#ifndef $name" "$unit/config.h" "$unit/wrong_builds.h"; then
        echo "build-arm.sh: $define: not a -D of a macro in config.h or wrong_builds.h" >&2
        exit 2
    fi
done

# Without the two -fno options gcc would call a memset and a memcpy that are not there.
exec "${CC:-arm-none-eabi-gcc}" -mcpu=cortex-m3 -mthumb -std=c11 -Os -ffreestanding -fno-builtin -fno-tree-loop-distribute-patterns \
    -ffunction-sections -fdata-sections -Wall -Wextra -Wpedantic -Wconversion -Werror ${CFLAGS:-} "$@" \
    -nostdlib -nostartfiles -Wl,--gc-sections -Wl,--fatal-warnings -Wl,-T,"$here/unit.ld" -o "$output" \
    "$here/startup.c" "$here/board.c" "$here/main.c" "$unit/calendar.c" "$unit/unit.c" "$unit/protocol.c"
