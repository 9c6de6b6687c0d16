#!/bin/sh
# Builds the unit with the vectors in it: build.sh host|board OUTPUT VECTORS [-DNAME=VALUE ...]
# VECTORS is the folder to which 'hearthbench vectors export --format c --runner' has written, for the ICS of this build.
# Names are the macros of config.h and, for wrong builds, wrong_builds.h.
# CC and CFLAGS come from the environment; CC is cc for the host and arm-none-eabi-gcc for the board if it is not set.
set -eu

if [ $# -lt 3 ] || { [ "$1" != host ] && [ "$1" != board ]; }; then
    echo "usage: build.sh host|board OUTPUT VECTORS [-DNAME=VALUE ...]" >&2
    exit 2
fi
target=$1
output=$2
vectors=$3
shift 3
here=$(cd "$(dirname "$0")" && pwd)
unit=$here/..

for file in hb_vectors.h hb_runner.h hb_runner.c; do
    if [ ! -f "$vectors/$file" ]; then
        echo "build.sh: $vectors has no $file: write it with 'hearthbench vectors export --format c --runner --out $vectors/hb_vectors.h'" >&2
        exit 2
    fi
done

# The compiler would take a misspelt name in silence.
for define in "$@"; do
    name=${define#-D}
    name=${name%%=*}
    if [ "$define" = "${define#-D}" ] || ! grep -qx "#ifndef $name" "$unit/config.h" "$unit/wrong_builds.h"; then
        echo "build.sh: $define: not a -D of a macro in config.h or wrong_builds.h" >&2
        exit 2
    fi
done

objects=$(mktemp -d)
trap 'rm -rf "$objects"' EXIT

# compile STANDARD SOURCE ... puts objects into the folder.
compile() {
    standard=$1
    shift
    for source in "$@"; do
        name=$(basename "$source" .c)
        # shellcheck disable=SC2086 # flags are words
        "$cc" -std="$standard" $flags -Wall -Wextra -pedantic -Wconversion -Wshadow -Werror -I"$vectors" ${CFLAGS:-} $defines \
            -c "$source" -o "$objects/$name.o"
    done
}

defines=$*
if [ "$target" = host ]; then
    cc=${CC:-cc}
    flags=-O2
    compile c99 "$here/host_main.c"
else
    cc=${CC:-arm-none-eabi-gcc}
    # Without the two -fno options gcc would call a memset and a memcpy that are not there.
    flags="-mcpu=cortex-m3 -mthumb -Os -ffreestanding -fno-builtin -fno-tree-loop-distribute-patterns -ffunction-sections -fdata-sections"
    compile c11 "$here/board_main.c" "$here/../cortex-m3/startup.c" "$here/../cortex-m3/board.c"
fi
compile c99 "$vectors/hb_runner.c" "$here/glue.c" "$here/say.c" "$unit/calendar.c" "$unit/unit.c"

if [ "$target" = board ]; then
    flags="$flags -nostdlib -nostartfiles -Wl,--gc-sections -Wl,--fatal-warnings -Wl,-T,$here/../cortex-m3/unit.ld"
fi
# shellcheck disable=SC2086
"$cc" $flags ${CFLAGS:-} "$objects"/*.o -o "$output"
