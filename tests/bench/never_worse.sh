#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# never_worse.sh BUILD [REQUEST...]: ask the same quotes with more allowed layers, another seed and more effort, and say where the answer
# becomes worse: the verdict, the expected hours of a feasible one (by over 1 %), or the yield of a marginal one (by over 0.3 points). Twenty
# requests by default, some ten minutes on two cores; not in the suite, which has a small part of it (test_estimate.c). Needs python3.
set -eu
bloomcoat=$(realpath "$1")/bin/bloomcoat
shift
cd "$(dirname "$0")/../.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
header="name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization"

# name | rows of callouts, separated by blanks | options
requests() {
    cat <<'LIST'
window|band,R,max,<= 0.8,425,675,0 mean,R,average,<= 0.5,425,675,0..30 oblique,R,max,<= 1.4,440,650,0..30|--substrate 517642 --materials MgF2,HfO2,Al2O3
objective|band,R,max,<= 0.5,450,650,0 mean,R,average,<= 0.25,450,650,0|--substrate 620603 --materials MgF2,HfO2,Al2O3
broad|band,R,max,<= 0.5,430,680,0..15|--substrate 517642 --materials MgF2,Al2O3,Ta2O5
lines|a,R,max,<= 0.2,532,532,0 b,R,max,<= 0.1,1064,1064,0|--substrate fused-silica --materials SiO2,Ta2O5
lines-hafnia|a,R,max,<= 0.2,532,532,0 b,R,max,<= 0.1,1064,1064,0|--substrate fused-silica --materials SiO2,HfO2
narrow-bands|a,R,max,<= 0.2,529,535,0..5 b,R,max,<= 0.1,1059,1069,0..5|--substrate fused-silica --materials SiO2,HfO2
three-glasses|band,R,max,<= 0.8,425,675,0 mean,R,average,<= 0.5,425,675,0|--substrate 517642 --substrate 620603 --substrate 805254 --materials MgF2,HfO2,Al2O3
one-line|a,R,max,<= 0.1,1064,1064,0|--substrate fused-silica --materials SiO2,Ta2O5
oblique-line|a,R,max,<= 0.3,633,633,45|--substrate 517642 --materials MgF2,Ta2O5
visible-tight|band,R,max,<= 0.3,430,660,0|--substrate 517642 --materials MgF2,Al2O3,Ta2O5
visible-easy|band,R,max,<= 1.0,450,650,0|--substrate 517642 --materials MgF2,Ta2O5
wide-angle|band,R,max,<= 2.5,450,650,0..45|--substrate 517642 --materials MgF2,HfO2,Al2O3
dense-glass|band,R,max,<= 0.4,420,680,0|--substrate 805254 --materials MgF2,HfO2,Al2O3
mean-only|mean,R,average,<= 0.2,400,700,0|--substrate 517642 --materials MgF2,Al2O3,Ta2O5
near-infrared|band,R,max,<= 0.5,900,1700,0|--substrate 517642 --materials SiO2,Ta2O5
two-bands|a,R,max,<= 0.6,450,650,0 b,R,max,<= 0.6,1030,1080,0|--substrate 517642 --materials MgF2,Al2O3,Ta2O5
thermal|band,R,max,<= 1.0,8000,12000,0|--substrate Ge --materials ZnS,YbF3,Ge-film
carbon-dioxide|a,R,max,<= 0.5,10600,10600,0|--substrate ZnSe --materials ZnS,YbF3
two-glasses|band,R,max,<= 1.0,450,650,0|--substrate 517642 --substrate 805254 --materials MgF2,Al2O3,Ta2O5
hopeless|band,R,max,<= 0.1,400,900,0|--substrate 517642 --materials MgF2,Ta2O5
LIST
}

ask() {
    # shellcheck disable=SC2086
    nice "$bloomcoat" quote --callouts "$work/callouts.csv" $options --process examples/process.csv --chamber examples/chamber.csv \
        --quantity 200 --part-diameter-mm 25 --prove 0 --quiet --json "$@" 2>/dev/null || true
}

requests | while IFS='|' read -r name rows options; do
    [ $# -eq 0 ] || echo " $* " | grep -q " $name " || continue
    { echo "$header"; echo "$rows" | sed 's/ \([a-z]*,R\)/,unpolarized\n\1/g; s/$/,unpolarized/'; } >"$work/callouts.csv"
    for layers in 5 6 7 8 10; do ask --max-layers $layers >"$work/layers-$layers.json"; done
    for seed in 2 3; do ask --max-layers 8 --seed $seed >"$work/seed-$seed.json"; done
    ask --max-layers 8 --effort 2 >"$work/effort-2.json"
    python3 tests/bench/never_worse.py "$name" "$work"
done
