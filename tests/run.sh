#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Install what is missing, build, and pass the tests: once as shipped, once under AddressSanitizer and UBSan.
#     sh tests/run.sh [quick]
# quick, for while you work: as shipped only, the modules and the command line. Before a commit all is to pass.
# BC_WERROR=ON makes warnings errors; BC_BUILD names another folder for the builds; MORE_TEST_PACKAGES are installed, too.
set -eu
case ${1:-} in
    '') kinds='release sanitized' without='^$' ;;
    quick) kinds=release without='^(documents|faults|fuzz|desk|install)' ;;
    *) echo "found '$1'; expected quick, or nothing for all tests" >&2; exit 2 ;;
esac
root=$(cd "$(dirname "$0")/.." && pwd)
. "$root/.ci/packages.sh"
# shellcheck disable=SC2086 # lists of words
need_packages $BUILD_PACKAGES $TEST_PACKAGES ${MORE_TEST_PACKAGES:-}
build=${BC_BUILD:-$root/build}
jobs=$(nproc)
# Check's timeouts are there for what hangs. On a busy machine under the sanitizers an honest test takes many times longer.
export CK_TIMEOUT_MULTIPLIER="${CK_TIMEOUT_MULTIPLIER:-8}"
for kind in $kinds; do
    sanitize=OFF
    werror=${BC_WERROR:-OFF}
    # Under -fsanitize=undefined gcc sees null pointers that are none (-Wformat-truncation): errors only as shipped.
    [ "$kind" = sanitized ] && sanitize=ON werror=OFF
    echo "== $kind"
    cmake -S "$root" -B "$build/$kind" -DBC_TESTS=ON -DBC_SANITIZE=$sanitize -DBC_WERROR="$werror" >/dev/null
    cmake --build "$build/$kind" -j "$jobs" >/dev/null
    ctest --test-dir "$build/$kind" --timeout 3600 --no-tests=error --output-on-failure -j "$jobs" -E "$without"
done
