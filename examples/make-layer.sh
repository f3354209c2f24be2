#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# How the single-layer scans of the demo were made: invented, measured by nobody. One layer of an invented oxide, n = 1.92 +
# 0.0155 / x^2 (x in um), k = 0.0012 exp(7 (1/x - 1/0.4)), 482.6 nm on fused silica 1 mm thick, back polished; R at 8 and T
# at 0 degrees with an offset, a scale error of R and noise from a fixed seed.
#
#   sh examples/make-layer.sh [PROGRAM [FOLDER]]
set -eu
LC_ALL=C
export LC_ALL
examples=$(cd "$(dirname "$0")" && pwd)
bloomcoat=${1:-$examples/../build/release/bin/bloomcoat}
folder=${2:-$examples}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

awk 'BEGIN {
    print "wavelength_nm,n,k"
    for (nm = 380; nm <= 1010; nm += 5) {
        x = nm / 1000
        printf "%d,%.7f,%.4g\n", nm, 1.92 + 0.0155 / (x * x), 0.0012 * exp(7 * (1 / x - 1 / 0.4))
    }
}' >"$work/invented.csv"
printf 'role,material,thickness_nm\nincident,air,\nlayer,invented,482.6\nsubstrate,fused-silica,\n' >"$work/stack.csv"

# scan QUANTITY COLUMN AOI SEED SCALE
scan() {
    "$bloomcoat" spectrum "$work/stack.csv" --tables "$work" --from 400 --to 1000 --step 2 --aoi "$3" --back uncoated --substrate-mm 1 \
        --quiet -o "$work/spectrum.csv"
    awk -F, -v quantity="$1" -v column="$2" -v aoi="$3" -v seed="$4" -v scale="$5" '
        # The multiplicative generator of Park and Miller, Commun. ACM 31, 1192 (1988): the same in every awk.
        function uniform() { seed = (seed * 16807) % 2147483647; return seed / 2147483647 }
        function normal(    sum, i) { for (i = 0; i < 12; i++) sum += uniform(); return sum - 6 }
        NR == 1 {
            print "Invented: made by examples/make-layer.sh, measured by nobody"
            print "Sample: one oxide layer on fused silica, 1 mm, back polished"
            print "Angle of incidence: " aoi " degrees"
            print "Wavelength (nm)," (quantity == "R" ? "%R" : "%T")
        }
        NR > 1 { printf "%.1f,%.3f\n", $1, scale * $column + 0.01 + 0.03 * normal() }' "$work/spectrum.csv" >"$folder/oxide-layer-$1.txt"
}

scan R 4 8 12121 1.002
scan T 5 0 34343 1
