#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Mutation of one module: every mutant (mutants.awk) is built and must fail the module's own suite. Prints each mutant that
# passes, and the score with its 95 % interval (Wilson's).
#     sh tests/mutation/run.sh [-n COUNT] [-s SHIFT] [-m MUTANTS] [-a] [-w FOLDER] MODULE [FILE...]
#     -n COUNT    a sample of so many, spread evenly over the module's mutants (or those of FILE...); a larger COUNT holds
#                 the smaller one, another SHIFT (0 to 1; default 0.5) starts elsewhere. Without it, all: hours
#     -m MUTANTS  those of this file, each "file TAB line TAB new text", instead
#     -a          judge again those that passed: after adding a test
#     -w FOLDER   keeps the copy of the source, the builds and the verdicts (default build/mutation). A mutant that has a
#                 verdict in FOLDER/MODULE.verdicts is not judged again, so a run may be ended and started anew.
# Ends with 1 when fewer than 90 % are caught. With BC_ELSEWHERE=yes what passes is tried again: with the suites above, and
# with the module's own under ASan and UBSan. BC_PATIENCE multiplies the time that a test may take.
# A mutant that does not compile does not count, and neither does one of equivalent.tsv, which gives the reason.
#
# A mutant is run by the test cases that reach its line, the shortest first, until one fails: which those are, gcov says
# before the first mutant, and anew when a file of the module or of its tests has changed. One process for a case, no forks. A
# case that takes 10 s more than 5 times what it took before counts as failed.
set -eu
root=$(cd "$(dirname "$0")/../.." && pwd)
work=$root/build/mutation count=0 shift=0.5 mutants='' again=
while getopts n:s:m:aw: option; do
    case $option in
        n) count=$OPTARG ;;
        s) shift=$OPTARG ;;
        m) mutants=$(cd "$(dirname "$OPTARG")" && pwd)/$(basename "$OPTARG") ;;
        a) again=yes ;;
        w) work=$OPTARG ;;
        *) exit 2 ;;
    esac
done
shift $((OPTIND - 1))
module=${1:?the module to change: base, tables, optics, callout, design, shop, inspect or report}
shift
case $module in
    base) elsewhere="release/tables release/report sanitized/base" ;;
    tables) elsewhere="release/callout release/cli sanitized/tables" ;;
    optics) elsewhere="release/callout release/shop sanitized/optics release/reference" ;;
    callout) elsewhere="release/design release/reference sanitized/callout" ;;
    design) elsewhere="release/shop release/reference sanitized/design" ;;
    shop) elsewhere="release/reference release/cli sanitized/shop" ;;
    inspect) elsewhere="release/cli sanitized/inspect" ;;
    report) elsewhere="release/documents release/cli sanitized/report" ;;
    *) echo "found module '$module'; expected base, tables, optics, callout, design, shop, inspect or report" >&2; exit 2 ;;
esac
patience=${BC_PATIENCE:-1}
tab=$(printf '\t')
mkdir -p "$work/tree"
work=$(cd "$work" && pwd)
verdicts=$work/$module.verdicts reach=$work/$module.reach cases=$work/$module.cases
touch "$verdicts"
scratch=$(mktemp -d)
suite_pid=
trap '[ -z "$suite_pid" ] || kill "$suite_pid" 2>/dev/null; rm -rf "$scratch"' EXIT
trap 'exit 130' INT TERM
mkfifo "$scratch/log"

# Only what has changed is copied, with a new time of its own, for a run that was ended may have left a mutant behind.
(cd "$root" && find . \( -path ./build -o -path ./.git \) -prune -o -type f -print) | while IFS= read -r file; do
    cmp -s "$root/$file" "$work/tree/$file" ||
        { mkdir -p "$work/tree/${file%/*}" && cp "$root/$file" "$work/tree/$file"; }
done
cd "$work/tree"

# configure BUILD OPTION...
configure() {
    build=$1
    shift
    if command -v ccache >/dev/null; then set -- "$@" -DCMAKE_C_COMPILER_LAUNCHER=ccache; fi
    if command -v ninja >/dev/null; then set -- "$@" -G Ninja; fi
    cmake -S . -B "$work/$build" -DBC_TESTS=ON "$@" >/dev/null
}
build() { cmake --build "$work/$1" -j1 --target "test_$2" >/dev/null 2>&1; }
configure release -DCMAKE_BUILD_TYPE=Release
[ -z "${BC_ELSEWHERE:-}" ] || configure sanitized -DBC_SANITIZE=ON

# passes SECONDS COMMAND...: ends with the first test that fails, for a mutant may make all the others slow. 124 after
# SECONDS, for a mutant may never end.
passes() {
    seconds=$1 rc=0
    shift
    CK_TAP_LOG_FILE_NAME=- timeout "$seconds" "$@" >"$scratch/log" 2>/dev/null &
    suite_pid=$!
    if grep -q '^not ok' "$scratch/log"; then
        kill $suite_pid 2>/dev/null
        wait $suite_pid 2>/dev/null || :
        rc=1
    else
        wait $suite_pid || rc=$?
    fi
    suite_pid=
    return $rc
}

# The test cases as they are, the shortest first: number, seconds, suite, case.
list_cases() {
    build release "$module" || { echo "the suite of $module does not build as it is" >&2; exit 1; }
    CK_FORK=no CK_XML_LOG_FILE_NAME="$scratch/xml" "$work/release/tests/test_$module" >"$scratch/out" || {
        echo "the suite of $module fails as it is; expected it to pass before anything is changed" >&2
        exit 1
    }
    awk '
        function inner() { sub(/^[^>]*>/, ""); sub(/<.*/, ""); return $0 }
        /<title>/ { suite = inner() }
        /<duration>/ { seconds = inner() }
        /<description>/ { took[suite "\t" inner()] += seconds }
        END { for (name in took) printf "%.3f\t%s\n", took[name], name }' "$scratch/xml" | sort -n | awk '{ print NR "\t" $0 }'
}
# reach_of NUMBER SUITE CASE: what it reaches, "file line TAB number", and the lines of code that any may reach, "file line TAB 0".
reach_of() {
    find "$work/reach" -name '*.gcda' -exec rm -f {} +
    CK_FORK=no CK_RUN_SUITE=$2 CK_RUN_CASE=$3 "$work/reach/tests/test_$module" >/dev/null 2>&1 || :
    find "$work/reach/src" -name '*.gcda' -path "*$module*" -exec gcov -t {} + 2>/dev/null |
        awk -F : -v number="$1" -v module="src/$module/" '
            $3 == "Source" { file = substr($4, index($4, module)); next }
            index(file, module) == 1 {
                gsub(/ /, "", $1); gsub(/ /, "", $2)
                if ($1 != "-") print file " " $2 "\t" ($1 ~ /^[0-9]/ ? number : 0)
            }'
}
state=$(find "src/$module" "tests/$module" tests/CMakeLists.txt -type f | sort | xargs cat | cksum)
if [ ! -f "$work/$module.state" ] || [ "$(cat "$work/$module.state")" != "$state" ]; then
    rm -f "$reach".*
    list_cases >"$scratch/cases"
    mv "$scratch/cases" "$cases"
    echo "$state" >"$work/$module.state"
fi
# -O1 and no function inlined: lines of their own, in a time like that of the release
configure reach -DCMAKE_BUILD_TYPE=Release -DCMAKE_C_FLAGS_RELEASE="-O1 -fno-inline --coverage"
build reach "$module" || { echo "the suite of $module does not build with --coverage" >&2; exit 1; }
while IFS=$tab read -r number _ suite name; do
    [ -f "$reach.$number" ] || { reach_of "$number" "$suite" "$name" >"$scratch/reach" && mv "$scratch/reach" "$reach.$number"; }
done <"$cases"
sort -u "$reach".* >"$reach"

# cases_for FILE LINE: those that reach it, or all for what is no code of its own (a table, a macro).
cases_for() {
    awk -F "\t" -v at="$1 $2" '
        FILENAME == ARGV[1] { if ($1 == at) { code = 1; reached[$2] = 1 } next }
        !code || ($1 in reached)' "$reach" "$cases"
}

# mutate FILE LINE TEXT: puts a mutant in place of the file; fails when it is no other text.
mutate() {
    cp "$1" "$scratch/kept"
    # The shell's read drops blanks at the front; C does not mind.
    LINE=$2 TEXT=$3 awk 'NR == ENVIRON["LINE"] { print ENVIRON["TEXT"]; next } { print }' "$scratch/kept" >"$1"
    ! cmp -s "$1" "$scratch/kept"
}
was() { sed -n "${2}{s/^ *//;p;}" "$1"; }
# judge FILE LINE TEXT, while the mutant is in place: sets `verdict`.
judge() {
    verdict=passed
    build release "$module" || { verdict=broken; return; }
    cases_for "$1" "$2" >"$scratch/these"
    while IFS=$tab read -r _ seconds suite name; do
        limit=$(echo "$seconds" | awk -v patience="$patience" '{ print int(patience * (10 + 5 * $1)) + 1 }')
        passes "$limit" env CK_FORK=no CK_RUN_SUITE="$suite" CK_RUN_CASE="$name" "$work/release/tests/test_$module" || :
        case $rc in
            0) ;;
            124) verdict="caught by time: $name"; return ;;
            *) verdict="caught: $suite, $name"; return ;;
        esac
    done <"$scratch/these"
}

if [ -n "$mutants" ]; then
    cp "$mutants" "$scratch/list"
else
    [ $# -gt 0 ] || set -- "src/$module"/*.[ch] "src/$module"/internal/*.[ch]
    for file in "$@"; do
        [ ! -f "$file" ] || awk -v module="$module" -f "$root/tests/mutation/mutants.awk" "$file"
    done | awk '!seen[$0]++' | awk -v count="$count" -v place="$shift" '
        { line[NR - 1] = $0 }
        END {
            if (count == 0 || count > NR) for (i = 0; i < NR; i++) print line[i]
            else for (; count > 0; count--) { # steps of the golden ratio spread out, however many they are
                for (i = int(place * NR) % NR; i in taken; i = (i + 1) % NR);
                taken[i] = 1
                print line[i]
                place += 0.6180339887; place -= int(place)
            }
        }' >"$scratch/list"
fi

while IFS=$tab read -r file line text; do
    key=$(printf '%s\t%s\t%s' "$file" "$(was "$file" "$line")" "${text#"${text%%[! ]*}"}")
    before=$(KEY=$key awk -F "\t" '$2 "\t" $4 "\t" $5 == ENVIRON["KEY"] { v = $1 } END { print v }' "$verdicts")
    case $before in
        '') ;;
        passed) [ -n "$again" ] || before=kept ;;
        *) before=kept ;;
    esac
    if [ "$before" != kept ]; then
        if grep -qF "$key$tab" "$root/tests/mutation/equivalent.tsv"; then
            verdict=equivalent
        elif mutate "$file" "$line" "$text"; then
            judge "$file" "$line" "$text"
            cp "$scratch/kept" "$file"
        else
            cp "$scratch/kept" "$file"
            verdict=broken
        fi
        printf '%s\t%s\t%s\t%s\n' "$verdict" "$file" "$line" "${key#*"$tab"}" >>"$verdicts"
    fi
    printf '%s\n' "$key" >>"$scratch/keys"
done <"$scratch/list"

# The last verdict of each mutant of the list.
awk -F "\t" '
    FILENAME == ARGV[1] { at = $2 "\t" $4 "\t" $5; verdict[at] = $1; line[at] = $3; next }
    !seen[$0]++ { print verdict[$0] "\t" $1 "\t" line[$0] "\t" $2 "\t" $3 }' "$verdicts" "$scratch/keys" >"$scratch/result"
awk -F "\t" '$1 == "passed" { print $2 ":" $3 ": " $5 "\n  was: " $4 }' "$scratch/result"
rc=0
awk -F "\t" -v module="$module" '
    $1 ~ /^caught/ { caught++ } $1 ~ /^caught by time/ { late++ } $1 == "passed" { passed++ }
    $1 == "equivalent" { equivalent++ } $1 == "broken" { broken++ }
    END {
        made = caught + passed
        p = made > 0 ? caught / made : 1; n = made > 0 ? made : 1; z = 1.96
        middle = (p + z * z / (2 * n)) / (1 + z * z / n)
        half = z / (1 + z * z / n) * sqrt(p * (1 - p) / n + z * z / (4 * n * n))
        printf "%s: %d mutants, %d caught (%.0f %%, 95 %% interval %.0f to %.0f %%; %d by time), %d not; ", \
               module, made, caught, 100 * p, 100 * (middle - half), 100 * (middle + half), late, passed
        printf "%d equivalent, %d did not compile\n", equivalent, broken
        exit p < 0.9
    }' "$scratch/result" || rc=1

[ -z "${BC_ELSEWHERE:-}" ] || awk -F "\t" '$1 == "passed" { print $2 "\t" $3 "\t" $5 }' "$scratch/result" |
    while IFS=$tab read -r file line text; do
        mutate "$file" "$line" "$text" || :
        caught=
        for suite in $elsewhere; do
            { build "${suite%/*}" "${suite#*/}" && passes 3000 "$work/${suite%/*}/tests/test_${suite#*/}"; } ||
                { caught=$suite; break; }
        done
        echo "${caught:-nowhere}: $file:$line: $text"
        cp "$scratch/kept" "$file"
    done
exit $rc
