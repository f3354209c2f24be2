#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# How the 30 runs in history/ were made: nobody measured them, they are invented. Each run of the window's stack comes out
# with the errors below, normal and from a fixed seed; its reflectance at 8 degrees is computed (the witness' back being
# ground), with noise of 0.02 %.
#
#   came out at   MgF2 1.012, HfO2 0.985, Al2O3 1.000 of what was asked
#   within a run  MgF2 0.6 %, HfO2 0.9 %, Al2O3 0.8 % (standard deviation of a layer)
#   between runs  0.8 % (of all layers of a run)
#   drift         HfO2 +2 % from the first run to the last
#
#   sh examples/make-history.sh [PROGRAM [FOLDER]]
set -eu
LC_ALL=C
export LC_ALL
examples=$(cd "$(dirname "$0")" && pwd)
bloomcoat=${1:-$examples/../build/release/bin/bloomcoat}
folder=${2:-$examples/history}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir -p "$folder"

# What the layers of each run came out by, from one stream of random numbers.
awk -v OFS=, '
    # The multiplicative generator of Park and Miller, Commun. ACM 31, 1192 (1988): the same in every awk.
    function uniform() { seed = (seed * 16807) % 2147483647; return seed / 2147483647 }
    function normal(    sum, i) { for (i = 0; i < 12; i++) sum += uniform(); return sum - 6 }
    BEGIN {
        seed = 424242
        for (run = 1; run <= 30; run++) {
            of_run = 0.008 * normal()
            print run, 1.012 + of_run + 0.006 * normal(), 0.985 + 0.02 * ((run - 1) / 29 - 0.5) + of_run + 0.009 * normal(),
                1 + of_run + 0.008 * normal()
        }
    }' >"$work/factors.csv"

while IFS=, read -r run MgF2 HfO2 Al2O3; do
    name=$(printf 'run-%02d' "$run")
    awk -F, -v OFS=, -v MgF2="$MgF2" -v HfO2="$HfO2" -v Al2O3="$Al2O3" '
        BEGIN { factor["MgF2"] = MgF2; factor["HfO2"] = HfO2; factor["Al2O3"] = Al2O3 }
        $1 == "layer" { $3 = $3 * factor[$2] }
        { print }' "$examples/window-stack.csv" >"$work/stack.csv"
    "$bloomcoat" spectrum "$work/stack.csv" --from 400 --to 720 --step 4 --aoi 8 --quiet -o "$work/spectrum.csv"
    awk -F, -v run="$run" '
        function uniform() { seed = (seed * 16807) % 2147483647; return seed / 2147483647 }
        function normal(    sum, i) { for (i = 0; i < 12; i++) sum += uniform(); return sum - 6 }
        NR == 1 {
            seed = 909091 + 104729 * run
            print "Invented: made by examples/make-history.sh, measured by nobody"
            print "Sample: window witness, run " run ", back ground"
            print "Angle of incidence: 8 degrees"
            print "Wavelength (nm),%R"
        }
        NR > 1 { printf "%d,%.3f\n", $1, $4 + 0.02 * normal() }' "$work/spectrum.csv" >"$folder/$name.txt"
done <"$work/factors.csv"
