#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Ten kinds of requests of a quoter's week, each typed in the words of its drawing, with the shop's folder for the rest,
# and the seconds to the answer on this machine. Invented demo data.
#
#     sh examples/quoter-week.sh [OUT-FOLDER]
#
# With a folder every quote is kept there, with its page for the customer on A4 and on Letter. BLOOMCOAT is the program
# (default: bloomcoat).
set -eu
examples=$(cd "$(dirname "$0")" && pwd)
program=${BLOOMCOAT:-bloomcoat}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT INT TERM
out=${1:-}
[ -z "$out" ] || mkdir -p "$out"
number=0

# ask KIND OPTION...: one request, and its line of the table.
ask() {
    kind=$1 code=0
    shift
    number=$((number + 1))
    [ -z "$out" ] || set -- "$@" --report "$out/$number-a4.pdf" --quote-number "Q-$number" --date 2026-05-04
    from=$(date +%s%N)
    "$program" quote --shop "$examples/shop" --quantity 100 --part-diameter-mm 25 --quiet -o "$work/quote.txt" "$@" ||
        code=$?
    [ $code -le 1 ] || exit $code
    took=$(($(date +%s%N) - from))
    awk -v number=$number -v kind="$kind" -v seconds=$took '
        /^Verdict: / { verdict = substr($0, 10) }
        / <- / { row = $0; by = ($NF == "recommended" || $NF == "nearest") ? "search" : "standard coating" }
        END { split(row, cell, " ")
              printf "%2d  %-42s  %-12s  %-16s  %6s  %7s  %7.1f\n", number, kind, verdict, by, cell[1], cell[4], seconds / 1e9 }' \
        "$work/quote.txt"
    [ -z "$out" ] || { cp "$work/quote.txt" "$out/$number.txt"; "$program" quote --shop "$examples/shop" --quantity 100 \
        --part-diameter-mm 25 --quiet -o /dev/null "$@" --report "$out/$number-letter.pdf" --paper letter || [ $? -eq 1 ]; }
}

printf '%2s  %-42s  %-12s  %-16s  %6s  %7s  %7s\n' '' request verdict 'answered by' layers 'yield %' seconds
ask 'a repeat, on its glass' --substrate 517642 \
    --callout 'Ravg <= 0.5 % and Rmax <= 1 %, 425-675 nm, AOI 0-30 deg, unpolarized'
ask 'the same on another glass' --substrate 603606 --callout 'Ravg <= 0.5 %, Rmax <= 1 %, 450 to 650 nm, 0°'
ask 'one laser line' --substrate 785257 --callout 'R < 0.25 % @ 850 nm, normal incidence'
ask 'two laser lines' --substrate fused-silica --max-layers 4 --callout 'R < 0.25 % @ 1064 nm, 0°; R < 0,5 % @ 532 nm'
ask 'visible, and a laser line at an angle' --substrate 517642 --max-layers 5 \
    --callout 'Ravg < 0.6 %, 430-670 nm, 0 deg; R < 1 % at 785 nm, AOI up to 20 deg'
ask 's and p at 45 degrees' --substrate 517642 --max-layers 4 --callout 'R < 1 %, 633 nm, 45 deg, s and p'
ask 'transmittance of the whole part' --substrate 517642 --max-layers 4 --both-sides \
    --callout 'Tavg > 98.5 % per part, 450-650 nm'
ask 'both faces, loose, a large lot' --substrate 620603 --max-layers 3 --both-sides \
    --callout 'average reflectance over 450-650 nm shall not exceed 0.8 %'
ask 'infrared' --substrate Si --materials Y2O3,MgF2,ZnS --max-layers 3 --callout 'Ravg < 3 %, 3 to 5 µm'
ask 'more than a coating can do' --substrate 805254 --max-layers 4 --callout 'R < 0.05 %, 400–900 nm, 0–30°'
