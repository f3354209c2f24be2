#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Fuzz one target or all of them: sh tests/fuzz/run.sh [RUNS [TARGET...]]
# Builds with clang twice, plain (most of the executions) and with ASan and UBSan (one in ten). Nothing may hang for more
# than a second or take more than 256 MB. A find is left in $FUZZ_BUILD/found/TARGET/: mend its cause, and keep the file
# in tests/fuzz/found/TARGET/, where the suite `fuzz` replays it.
set -eu
root=$(cd "$(dirname "$0")/../.." && pwd)
build=${FUZZ_BUILD:-$root/build/fuzz}
runs=${1:-100000}
[ $# -gt 0 ] && shift
targets=${*:-dispersion stack callouts drawing process chamber profile request reference measured command_line web}
jobs=$(nproc)
# Without the traces and the filling of every allocation, and with a small quarantine, ASan lets twice as many executions
# pass in the same time; a find is replayed with all of it.
export ASAN_OPTIONS="${ASAN_OPTIONS:-malloc_context_size=0:max_malloc_fill_size=0:quarantine_size_mb=8:allocator_release_to_os_interval_ms=-1}"

for kind in plain sanitized; do
    sanitize=OFF
    [ $kind = sanitized ] && sanitize=ON
    cmake -S "$root" -B "$build/$kind" -DCMAKE_C_COMPILER=clang -DBC_FUZZ=ON -DBC_SANITIZE=$sanitize >/dev/null
    cmake --build "$build/$kind" -j "$jobs" >"$build/$kind/build.log" 2>&1 || { cat "$build/$kind/build.log"; exit 1; }
done

# seeds TARGET FOLDER: the hand-written ones, and the project's own files without their comments.
seeds() {
    mkdir -p "$2"
    [ -d "$root/tests/fuzz/seeds/$1" ] && cp "$root/tests/fuzz/seeds/$1"/* "$2"
    [ -d "$root/tests/fuzz/found/$1" ] && cp "$root/tests/fuzz/found/$1"/* "$2"
    case $1 in
    dispersion) files="$root"/materials/*.csv ;;
    measured) files="$root"/examples/*witness*.txt ;;
    *) files="$root/examples/*$1*.csv" ;;
    esac
    for file in $files; do
        [ -f "$file" ] && grep -v '^#' "$file" | head -n 40 >"$2/$(basename "$file")"
    done
    return 0
}

for target in $targets; do
    corpus=$build/corpus/$target
    found=$build/found/$target
    mkdir -p "$found"
    seeds "$target" "$corpus"
    for kind in plain sanitized; do
        share=$runs
        [ $kind = sanitized ] && share=$((runs / 10))
        log=$build/$target-$kind.log
        echo "== $target, $kind: $share executions"
        (cd "$build" && UBSAN_OPTIONS=halt_on_error=1:print_stacktrace=1 nice -n 19 "$build/$kind/fuzz/fuzz_$target" \
            -runs="$share" -max_len="${FUZZ_LENGTH:-1024}" -timeout=1 -rss_limit_mb=256 -malloc_limit_mb=128 \
            -close_fd_mask=3 -dict="$root/tests/fuzz/words.dict" -artifact_prefix="$found/" -print_final_stats=1 \
            "$corpus" >"$log" 2>&1) || { tail -n 40 "$log"; exit 1; }
        grep -E '^stat::number_of_executed_units|^stat::peak_rss' "$log"
    done
done
