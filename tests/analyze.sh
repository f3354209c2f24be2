#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# src/ under clang-tidy (.clang-tidy), cppcheck and gcc's -fanalyzer with the strictest format warnings: any finding
# fails. BC_BUILD names another folder for the builds. Where a finding is none, its reason stands beside it: NOLINT in
# the source, or in src/*/CMakeLists.txt.
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
. "$root/.ci/packages.sh"
# shellcheck disable=SC2086 # lists of words
need_packages $BUILD_PACKAGES clang-tidy cppcheck
build=${BC_BUILD:-$root/build}/analyze
cmake -S "$root" -B "$build" -DBC_TESTS=OFF -DCMAKE_EXPORT_COMPILE_COMMANDS=ON >/dev/null
sources=$(cd "$root" && ls src/*/*.c)
failed=0
cd "$root"

echo "== clang-tidy"
# One file a run: the analyzer's va_list check remembers the file before.
for source in $sources; do
    clang-tidy -p "$build" --quiet --warnings-as-errors='*' "$source" 2>/dev/null || failed=1
done

echo "== cppcheck"
cppcheck --project="$build/compile_commands.json" --enable=warning,performance,portability --inline-suppr --quiet \
    --error-exitcode=1 || failed=1

echo "== gcc -fanalyzer"
cmake -S "$root" -B "$build-gcc" -DBC_TESTS=OFF -DBC_WERROR=ON -DCMAKE_C_COMPILER=gcc \
    -DCMAKE_C_FLAGS="-fanalyzer -Wformat-nonliteral" >/dev/null
cmake --build "$build-gcc" -j "$(nproc)" -- -s --keep-going --no-print-directory || failed=1
[ $failed -eq 0 ] && echo "nothing found"
exit $failed
