#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Each command once on the demo's files under valgrind: a read of what was never written, a write out of bounds or a block
# that nobody holds any more fails. `sh tests/valgrind.sh BUILD` (a Release build, so that it is the program that ships;
# needs valgrind). Searches run with little effort: what is looked for is not in their results.
set -u
root=$(cd "$(dirname "$0")/.." && pwd)
bloomcoat=${1:?usage: valgrind.sh BUILD}/bin/bloomcoat
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$root/examples" || exit 1
broken=99
failed=0

# run WORD...: one line of the program; met, not met and refused are all well.
run() {
    valgrind --quiet --error-exitcode=$broken --leak-check=full --suppressions="$root/tests/valgrind.supp" \
        --log-file="$work/log" \
        "$bloomcoat" "$@" >"$work/out" 2>"$work/err"
    code=$?
    if [ $code -gt 1 ]; then
        failed=1
        echo "FAILED ($code): bloomcoat $*"
        cat "$work/err" "$work/log"
    else
        echo "clean: bloomcoat $*" | sed "s#$work#.#g"
    fi
}

layers="--materials MgF2,HfO2,Al2O3"
# shellcheck disable=SC2086 # a list of words
{
    run materials
    run materials MgF2 --plot "$work/material.svg"
    run spectrum window-stack.csv --back same --from 400 --to 700 --step 5 --plot "$work/spectrum.png"
    run check window-stack.csv --callouts window-callouts.csv --plot "$work/check.pdf"
    run refine window-stack.csv --callouts window-callouts.csv -o "$work/refined.csv"
    run draft --callouts window-callouts.csv --substrate 517642 $layers --max-layers 2 --effort 0.01 -o "$work/draft.csv"
    run yield window-stack.csv --callouts window-callouts.csv --process process.csv --runs 50
    run quote --callouts window-callouts.csv --substrate 517642 $layers --process process.csv --chamber chamber.csv \
        --quantity 400 --part-diameter-mm 60 --max-layers 2 --effort 0.01 --report "$work/quote.html" \
        --report "$work/quote.pdf" -o "$work/quote.txt"
    run deposit window-stack.csv --process process.csv --chamber chamber.csv --signal-csv "$work/signal.csv"
    run lens window-stack.csv --callouts window-callouts.csv --radius-mm 40 --clear-aperture-mm 20
    run inspect window-witness-7.txt --stack window-stack.csv --callouts window-callouts.csv --column 2 --aoi 8 \
        --uncertainty-percent 0.05 --from-fit --process process.csv
    run check window-stack.csv --callouts window-callouts.csv --json
}
exit $failed
