#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Line and branch coverage of src/ by all suites, for each module and in total; fails below 95 % of lines or 90 % of
# branches. `sh tests/coverage.sh --lines` also lists every line and branch that is not covered.
#
# Built with gcc's --coverage at -O0 (BC_COVERAGE in CMakeLists.txt; the vector kernels at -O2), so that every branch of
# the source is counted and none that the optimizer made. Every place that allocates fails once (BC_FAULTS=sites).
# BC_BUILD names another folder for the builds.
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
. "$root/.ci/packages.sh"
# shellcheck disable=SC2086 # lists of words
need_packages $BUILD_PACKAGES $TEST_PACKAGES gcovr
build=${BC_BUILD:-$root/build}/coverage
jobs=$(nproc)
failed=0
cmake -S "$root" -B "$build" -DCMAKE_BUILD_TYPE=Debug -DBC_TESTS=ON -DBC_COVERAGE=ON >/dev/null
cmake --build "$build" -j "$jobs" >/dev/null
find "$build" -name '*.gcda' -exec rm -f {} +
# A program that may write no file complains about its counters' files, too: not where the tests look.
BC_FAULTS=${BC_FAULTS:-sites} CK_TIMEOUT_MULTIPLIER=10 GCOV_ERROR_FILE="$build/gcov-errors.txt" \
    ctest --test-dir "$build" --no-tests=error --output-on-failure --timeout 7200 -j "$jobs" ||
    failed=1
cd "$build"
gcovr --root "$root" --filter "$root/src/" --gcov-executable gcov --csv "$build/coverage.csv" "$build/src" \
    --txt "$build/coverage.txt" >/dev/null
if [ "${1:-}" = --lines ]; then
    cat "$build/coverage.txt"
    gcovr --root "$root" --filter "$root/src/" --branches --txt "$build/branches.txt" "$build/src" >/dev/null
    cat "$build/branches.txt"
fi
awk -F, -v least_lines=95 -v least_branches=90 '
    NR > 1 {
        split($1, part, "/")
        module = part[2]
        if (!(module in lines)) order[++modules] = module
        lines[module] += $2; hit[module] += $3; branches[module] += $5; taken[module] += $6
        lines["total"] += $2; hit["total"] += $3; branches["total"] += $5; taken["total"] += $6
    }
    function percent(some, all) { return all > 0 ? 100 * some / all : 100 }
    function tell(module) {
        printf "%-8s %6d lines %6.2f %%  %6d branches %6.2f %%\n", module, lines[module],
               percent(hit[module], lines[module]), branches[module], percent(taken[module], branches[module])
    }
    END {
        for (i = 1; i <= modules; i++) tell(order[i])
        tell("total")
        exit !(lines["total"] > 0 && percent(hit["total"], lines["total"]) >= least_lines &&
               percent(taken["total"], branches["total"]) >= least_branches)
    }' "$build/coverage.csv" || failed=1
exit $failed
