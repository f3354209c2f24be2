#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Mutation of the optics module: every mutant (mutants.awk) is built and must fail a suite. Prints what the suite of the module
# does not catch, and what does then: the other suites, or that of the module under ASan and UBSan; or nothing.
#     sh tests/mutation/run.sh [EVERY [FIRST]]    each EVERY-th mutant from the FIRST (default 1 1: all, about two hours)
# A mutant that does not compile does not count, and neither does one of equivalent.tsv, which gives the reason.
set -eu
root=$(cd "$(dirname "$0")/../.." && pwd)
every=${1:-1}
first=${2:-1}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT INT TERM
mkdir "$work/tree"
mkfifo "$work/told"
(cd "$root" && tar cf - CMakeLists.txt src include materials tests examples) | (cd "$work/tree" && tar xf -)
cd "$work/tree"
cmake -S . -B "$work/Release" -DCMAKE_BUILD_TYPE=Release >/dev/null
cmake -S . -B "$work/Sanitized" -DBC_SANITIZE=ON >/dev/null

build() { cmake --build "$work/$1" -j2 --target "test_$2" >/dev/null 2>&1; }
# passes BUILD SUITE PATIENCE: ends with the first test that fails, for a mutant may make all the others slow, or takes
# longer than PATIENCE times what it is allowed, for a mutant may never end.
passes() {
    CK_FORK=yes CK_TIMEOUT_MULTIPLIER=$3 CK_TAP_LOG_FILE_NAME=- \
        timeout 600 "$work/$1/tests/test_$2" >"$work/told" 2>/dev/null &
    suite_pid=$!
    if grep -q '^not ok' "$work/told"; then
        kill $suite_pid 2>/dev/null
        wait $suite_pid 2>/dev/null || :
        return 1
    fi
    wait $suite_pid
}

# mutate FILE LINE TEXT: puts a mutant in place of the file; fails when it is no other text.
mutate() {
    cp "$1" "$work/kept"
    # The shell's read drops blanks at the front; C does not mind.
    LINE=$2 TEXT=$3 awk 'NR == ENVIRON["LINE"] { print ENVIRON["TEXT"]; next } { print }' "$work/kept" >"$1"
    ! cmp -s "$1" "$work/kept"
}
# is_equivalent FILE LINE TEXT, while the mutant is in place.
is_equivalent() {
    grep -qF "$(printf '%s\t%s\t%s\t' "$1" "$(was "$2")" "${3#"${3%%[! ]*}"}")" "$root/tests/mutation/equivalent.tsv"
}
was() { sed -n "${1}p" "$work/kept" | sed 's/^ *//'; }

build Release optics
passes Release optics 0.2 || { echo "the suite fails as it is; expected it to pass before anything is changed" >&2; exit 1; }
for file in src/optics/kernel_body.h src/optics/kernel_expm1.h src/optics/media.c src/optics/surface.c \
    src/optics/part.c src/optics/spectrum.c; do
    awk -f "$root/tests/mutation/mutants.awk" $file
done | awk -v every="$every" -v first="$first" '!told[$0]++ && ++n >= first && (n - first) % every == 0' >"$work/list"

made=0 broken=0 equivalent=0
while IFS="$(printf '\t')" read -r file line text; do
    if ! mutate "$file" "$line" "$text" || ! build Release optics; then
        broken=$((broken + 1))
    elif passes Release optics 0.2; then
        if is_equivalent "$file" "$line" "$text"; then
            equivalent=$((equivalent + 1))
        else
            made=$((made + 1))
            printf '%s\t%s\t%s\n' "$file" "$line" "$text" >>"$work/survivors"
        fi
    else
        made=$((made + 1))
    fi
    cp "$work/kept" "$file"
done <"$work/list"
touch "$work/survivors"
echo "mutants: $made, $(wc -l <"$work/survivors") of them pass the module's suite; $equivalent equivalent, $broken did not compile"

alive=0
while IFS="$(printf '\t')" read -r file line text; do
    mutate "$file" "$line" "$text"
    caught=
    for suite in "Release callout" "Release shop" "Sanitized optics" "Release outside"; do
        # shellcheck disable=SC2086 # two words
        { build $suite && passes $suite 5; } || { caught=$suite; break; }
    done
    [ -n "$caught" ] || alive=$((alive + 1))
    echo "${caught:-alive}: $file:$line: $text"
    echo "  was: $(was "$line")"
    cp "$work/kept" "$file"
done <"$work/survivors"
echo "alive: $alive"
[ "$alive" -eq 0 ]
