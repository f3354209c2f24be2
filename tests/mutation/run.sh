#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Mutation of the optics room: every mutant (mutants.awk) is built and must fail a suite. Prints the survivors.
#     sh tests/mutation/run.sh [EVERY]      only each EVERY-th mutant (default 1: all, which takes about an hour)
# A mutant that does not compile does not count. The portable path is what is tested (BC_PATH_AUTO picks it when the
# others are not built); the suite holds the other paths against it.
set -eu
root=$(cd "$(dirname "$0")/../.." && pwd)
every=${1:-1}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT INT TERM
mkdir "$work/tree"
(cd "$root" && tar cf - CMakeLists.txt src include materials tests examples) | (cd "$work/tree" && tar xf -)
cd "$work/tree"
cmake -S . -B "$work/build" -DCMAKE_BUILD_TYPE=Release >/dev/null
build() { cmake --build "$work/build" -j2 --target test_optics test_callout test_outside >/dev/null 2>&1; }
caught() { ! { CK_FORK=yes timeout 60 "$work/build/tests/test_$1" >/dev/null 2>&1; }; }
build
for suite in optics callout outside; do
    caught $suite && { echo "the suite $suite fails as it is; expected it to pass before anything is changed" >&2; exit 1; }
done
for file in src/optics/kernel_body.h src/optics/kernel_expm1.h src/optics/media.c src/optics/surface.c \
    src/optics/part.c src/optics/spectrum.c; do
    awk -f "$root/tests/mutation/mutants.awk" $file
done | awk -v every="$every" 'NR % every == 0' >"$work/list"
made=0 alive=0 broken=0
while IFS="$(printf '\t')" read -r file line text; do
    cp "$file" "$work/kept"
    # The shell's read drops blanks at the front; C does not mind.
    LINE=$line TEXT=$text awk 'NR == ENVIRON["LINE"] { print ENVIRON["TEXT"]; next } { print }' "$work/kept" >"$file"
    if ! cmp -s "$file" "$work/kept" && build; then
        made=$((made + 1))
        if ! caught optics && ! caught callout && ! caught outside; then
            alive=$((alive + 1))
            echo "alive: $file:$line: $text"
            echo "  was: $(sed -n "${line}p" "$work/kept" | sed 's/^ *//')"
        fi
    else
        broken=$((broken + 1))
    fi
    cp "$work/kept" "$file"
done <"$work/list"
echo "mutants: $made, alive: $alive; $broken did not compile"
[ "$alive" -eq 0 ]
