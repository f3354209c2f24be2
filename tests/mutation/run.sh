#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Mutation of one module: every mutant (mutants.awk) is built and must fail the module's own suite. Prints the score, and each
# mutant that passes.
#     sh tests/mutation/run.sh MODULE [EVERY [FIRST [FILE...]]]
# takes each EVERY-th mutant from the FIRST (default 1 1: all, hours) of the files of src/MODULE, or of the files named. Ends with 1
# when fewer than 90 % are caught. With BC_ELSEWHERE=yes what passes is tried again: with the suites above, and with the module's
# own under ASan and UBSan. BC_PATIENCE multiplies the time that a test may take.
# A mutant that does not compile does not count, and neither does one of equivalent.tsv, which gives the reason.
set -eu
root=$(cd "$(dirname "$0")/../.." && pwd)
module=${1:?the module to change: base, tables, optics, callout, design, shop, inspect or report}
every=${2:-1}
first=${3:-1}
shift $(($# < 3 ? $# : 3))
case $module in
    base) elsewhere="Release/tables Release/report Sanitized/base" ;;
    tables) elsewhere="Release/callout Release/cli Sanitized/tables" ;;
    optics) elsewhere="Release/callout Release/shop Sanitized/optics Release/reference" patience=0.2 ;;
    callout) elsewhere="Release/design Release/reference Sanitized/callout" ;;
    design) elsewhere="Release/shop Release/reference Sanitized/design" ;;
    shop) elsewhere="Release/reference Release/cli Sanitized/shop" ;;
    inspect) elsewhere="Release/cli Sanitized/inspect" ;;
    report) elsewhere="Release/documents Release/cli Sanitized/report" ;;
    *) echo "found module '$module'; expected base, tables, optics, callout, design, shop, inspect or report" >&2; exit 2 ;;
esac
patience=${BC_PATIENCE:-${patience:-1}}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT INT TERM
mkdir "$work/tree"
mkfifo "$work/log"
(cd "$root" && tar cf - --exclude=./build --exclude=./.git .) | (cd "$work/tree" && tar xf -)
cd "$work/tree"
generator=$(command -v ninja >/dev/null && echo Ninja || echo "Unix Makefiles")
cmake -S . -B "$work/Release" -G "$generator" -DCMAKE_BUILD_TYPE=Release >/dev/null
[ -z "${BC_ELSEWHERE:-}" ] || cmake -S . -B "$work/Sanitized" -G "$generator" -DBC_SANITIZE=ON >/dev/null

build() { cmake --build "$work/$1" -j2 --target "test_$2" >/dev/null 2>&1; }
# passes BUILD SUITE PATIENCE: ends with the first test that fails, for a mutant may make all the others slow, or takes
# longer than PATIENCE times what it is allowed, for a mutant may never end.
passes() {
    CK_FORK=yes CK_TIMEOUT_MULTIPLIER=$3 CK_TAP_LOG_FILE_NAME=- \
        timeout 600 "$work/$1/tests/test_$2" >"$work/log" 2>/dev/null &
    suite_pid=$!
    if grep -q '^not ok' "$work/log"; then
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

build Release "$module" || { echo "the suite of $module does not build as it is" >&2; exit 1; }
passes Release "$module" "$patience" || {
    echo "the suite of $module fails as it is; expected it to pass before anything is changed" >&2
    exit 1
}
[ $# -gt 0 ] || set -- "src/$module"/*.[ch] "src/$module"/internal/*.[ch]
for file in "$@"; do
    [ ! -f "$file" ] || awk -v module="$module" -f "$root/tests/mutation/mutants.awk" "$file"
done | awk -v every="$every" -v first="$first" '!seen[$0]++ && ++n >= first && (n - first) % every == 0' >"$work/list"
touch "$work/survivors"

made=0 broken=0 equivalent=0
while IFS="$(printf '\t')" read -r file line text; do
    if ! mutate "$file" "$line" "$text"; then
        broken=$((broken + 1))
    elif is_equivalent "$file" "$line" "$text"; then
        equivalent=$((equivalent + 1))
    elif ! build Release "$module"; then
        broken=$((broken + 1))
    else
        made=$((made + 1))
        if passes Release "$module" "$patience"; then
            printf '%s\t%s\t%s\n' "$file" "$line" "$text" >>"$work/survivors"
            printf '%s:%s: %s\n  was: %s\n' "$file" "$line" "$text" "$(was "$line")"
        fi
    fi
    cp "$work/kept" "$file"
done <"$work/list"
survivors=$(wc -l <"$work/survivors")
score=$((made == 0 ? 100 : 100 * (made - survivors) / made))
echo "$module: $made mutants, $((made - survivors)) caught ($score %), $survivors not; $equivalent equivalent, $broken did not compile"

[ -n "${BC_ELSEWHERE:-}" ] && while IFS="$(printf '\t')" read -r file line text; do
    mutate "$file" "$line" "$text"
    caught=
    for suite in $elsewhere; do
        { build "${suite%/*}" "${suite#*/}" && passes "${suite%/*}" "${suite#*/}" 5; } || { caught=$suite; break; }
    done
    echo "${caught:-nowhere}: $file:$line: $text"
    cp "$work/kept" "$file"
done <"$work/survivors"
[ "$score" -ge 90 ]
