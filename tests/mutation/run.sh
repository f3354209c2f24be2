#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Mutation of the optics room: every mutant (mutants.awk) is built and must fail a suite. Prints the survivors.
#     sh tests/mutation/run.sh [EVERY [FIRST]]    each EVERY-th mutant from the FIRST (default 1 1: all, about two hours)
# A mutant that does not compile does not count, and neither does one of equivalent.tsv, which gives the reason. The suite
# of the room comes first, then the same suite under ASan and UBSan, for what reads past an end; only then the others.
set -eu
root=$(cd "$(dirname "$0")/../.." && pwd)
every=${1:-1}
first=${2:-1}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT INT TERM
mkdir "$work/tree"
(cd "$root" && tar cf - CMakeLists.txt src include materials tests examples) | (cd "$work/tree" && tar xf -)
cd "$work/tree"
cmake -S . -B "$work/Release" -DCMAKE_BUILD_TYPE=Release >/dev/null
cmake -S . -B "$work/Sanitized" -DBC_SANITIZE=ON >/dev/null

build() { cmake --build "$work/$1" -j2 --target "test_$2" >/dev/null 2>&1; }
passes() { CK_FORK=yes CK_TIMEOUT_MULTIPLIER=5 timeout 600 "$work/$1/tests/test_$2" >/dev/null 2>&1; }
# survives: no suite fails.
survives() {
    passes Release optics || return 1
    for suite in "Sanitized optics" "Release callout" "Release design" "Release outside"; do
        # shellcheck disable=SC2086 # two words
        build $suite && passes $suite || return 1
    done
}

build Release optics
survives || { echo "a suite fails as it is; expected all to pass before anything is changed" >&2; exit 1; }
for file in src/optics/kernel_body.h src/optics/kernel_expm1.h src/optics/media.c src/optics/surface.c \
    src/optics/part.c src/optics/spectrum.c; do
    awk -f "$root/tests/mutation/mutants.awk" $file
done | awk -v every="$every" -v first="$first" '!told[$0]++ && ++n >= first && (n - first) % every == 0' >"$work/list"

made=0 alive=0 broken=0 equivalent=0
while IFS="$(printf '\t')" read -r file line text; do
    cp "$file" "$work/kept"
    # The shell's read drops blanks at the front; C does not mind.
    LINE=$line TEXT=$text awk 'NR == ENVIRON["LINE"] { print ENVIRON["TEXT"]; next } { print }' "$work/kept" >"$file"
    if cmp -s "$file" "$work/kept" || ! build Release optics; then
        broken=$((broken + 1))
    elif passes Release optics; then
        if grep -qF "$(printf '%s\t%s\t' "$file" "$text")" "$root/tests/mutation/equivalent.tsv"; then
            equivalent=$((equivalent + 1))
        else
            made=$((made + 1))
            if survives; then
                alive=$((alive + 1))
                echo "alive: $file:$line: $text"
                echo "  was: $(sed -n "${line}p" "$work/kept" | sed 's/^ *//')"
            fi
        fi
    else
        made=$((made + 1))
    fi
    cp "$work/kept" "$file"
done <"$work/list"
echo "mutants: $made, alive: $alive; $equivalent equivalent, $broken did not compile"
[ "$alive" -eq 0 ]
