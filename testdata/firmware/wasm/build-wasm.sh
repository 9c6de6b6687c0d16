#!/bin/sh
# Builds the unit as a WebAssembly module: build-wasm.sh OUTPUT [-DNAME=VALUE ...]
# Names are the macros of config.h and, for wrong builds, wrong_builds.h.
# CC, which must be a clang that has wasm32 and finds wasm-ld, and CFLAGS come from the environment.
set -eu

if [ $# -lt 1 ]; then
    echo "usage: build-wasm.sh OUTPUT [-DNAME=VALUE ...]" >&2
    exit 2
fi
case $1 in
/*) output=$1 ;;
*) output=$PWD/$1 ;;
esac
shift
# From inside, because paths would be one more thing that two builds could differ in.
cd "$(dirname "$0")/.."

# The compiler would take a misspelt name in silence.
for define in "$@"; do
    name=${define#-D}
    name=${name%%=*}
    if [ "$define" = "${define#-D}" ] || ! grep -qx "#ifndef $name" config.h wrong_builds.h; then
        echo "build-wasm.sh: $define: not a -D of a macro in config.h or wrong_builds.h" >&2
        exit 2
    fi
done

# The stack comes first, so that one that is too small traps and does not write over what lies below it.
exec "${CC:-clang}" --target=wasm32-unknown-unknown -std=c99 -O2 -ffreestanding -fno-builtin -nostdlib \
    -Wall -Wextra -Wpedantic -Wconversion -Werror -I. ${CFLAGS:-} "$@" \
    -Wl,--no-entry -Wl,--stack-first -DSTACK_SIZE=4096u -Wl,-z,stack-size=4096 -Wl,--strip-debug \
    -o "$output" calendar.c unit.c protocol.c wasm/shim.c
