#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# How the measured witnesses of the demo were made: nobody measured them, they are invented. For each, the stack in
# window-stack.csv is given known errors, its reflectance at 8 degrees is computed (the witness' back being ground), and
# three scans are made of it with one offset and with noise from a fixed seed. They are written as a spectrophotometer
# might: a preamble, falling wavelengths, semicolons, decimal commas.
#
#   sh examples/make-witness.sh [PROGRAM [FOLDER]]
set -eu
LC_ALL=C
export LC_ALL
examples=$(cd "$(dirname "$0")" && pwd)
bloomcoat=${1:-$examples/../build/release/bin/bloomcoat}
folder=${2:-$examples}
stack=$(mktemp)
spectrum=$(mktemp)
trap 'rm -f "$stack" "$spectrum"' EXIT

# witness RUN SEED MGF2 HFO2 AL2O3: the factors that the layers came out by.
witness() {
    awk -F, -v OFS=, -v MgF2="$3" -v HfO2="$4" -v Al2O3="$5" '
        BEGIN { factor["MgF2"] = MgF2; factor["HfO2"] = HfO2; factor["Al2O3"] = Al2O3 }
        $1 == "layer" { $3 = $3 * factor[$2] }
        { print }' "$examples/window-stack.csv" >"$stack"
    "$bloomcoat" spectrum "$stack" --from 400 --to 720 --step 2 --aoi 8 --quiet -o "$spectrum"
    awk -F, -v run="$1" -v seed="$2" '
        # The multiplicative generator of Park and Miller, Commun. ACM 31, 1192 (1988): the same in every awk.
        function uniform() { seed = (seed * 16807) % 2147483647; return seed / 2147483647 }
        function normal(    sum, i) { for (i = 0; i < 12; i++) sum += uniform(); return sum - 6 }
        NR > 1 { nm[++rows] = $1; R[rows] = $4 }
        END {
            print "Invented: made by examples/make-witness.sh, measured by nobody"
            print "Sample: window witness, run " run ", disc 25,4 mm, back ground"
            print "Angle of incidence: 8 degrees; 3 scans; 400-720 nm, step 2 nm"
            print ""
            print "Wavelength (nm);R1 (%);R2 (%);R3 (%)"
            for (row = rows; row > 0; row--) {
                line = sprintf("%.1f", nm[row])
                for (scan = 1; scan <= 3; scan++)
                    line = line ";" sprintf("%.3f", R[row] + 0.012 + 0.015 * normal())
                gsub(/\./, ",", line)
                print line
            }
            print "End of data"
        }' "$spectrum" >"$folder/window-witness-$1.txt"
}

witness 7 70707 1.015 1.12 1.015
witness 8 80808 0.994 1.008 1.010
