#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Install what is missing, build bloomcoat, and run the main job on the demo: the window and the objective of a stereo
# camera on an orchard robot. All demo data is invented. Results go to build/demo/.
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
cd "$root"
. .ci/packages.sh
# shellcheck disable=SC2086 # a list of words
need_packages $BUILD_PACKAGES
cmake -S . -B build/release -DBC_TESTS=OFF >/dev/null
cmake --build build/release -j "$(nproc)" >/dev/null
bloomcoat=build/release/bin/bloomcoat
demo=build/demo
mkdir -p "$demo"

# show COMMAND...: print it, then run it.
show() {
    echo
    echo "\$ $*" | sed "s#$bloomcoat#bloomcoat#g"
    "$@"
}

echo "The orchard robot's stereo camera (invented demo). Its drawing asks of the objective's front element, glass 620603:"
grep -v '^#' examples/objective-callouts.csv
echo
echo "1. A stack that meets it with the fewest layers, from three layer materials at hand."
show $bloomcoat draft --callouts examples/objective-callouts.csv --substrate 620603 --materials MgF2,Al2O3,Ta2O5 \
    --quiet -o $demo/objective.csv
grep -v '^#' $demo/objective.csv
echo
echo "2. Does it hold? Each callout with its worst point, and where every index came from."
show $bloomcoat check $demo/objective.csv --callouts examples/objective-callouts.csv
echo
echo "3. Its spectrum, for a spreadsheet (every 50 nm shown; all of it is in $demo/objective-spectrum.csv)."
$bloomcoat spectrum $demo/objective.csv --from 400 --to 700 --step 1 --quiet -o $demo/objective-spectrum.csv
show $bloomcoat spectrum $demo/objective.csv --from 400 --to 700 --step 50 --quiet
echo
echo "The window in front of it, glass 517642, sees light up to 30 degrees and is coated on both faces:"
grep -v '^#' examples/window-callouts.csv
show $bloomcoat draft --callouts examples/window-callouts.csv --substrate 517642 --materials MgF2,HfO2,Al2O3 \
    --quiet -o $demo/window.csv --plot $demo/window.svg --part-number "Front window"
$bloomcoat check $demo/window.csv --callouts examples/window-callouts.csv --json >$demo/window-check.json
$bloomcoat spectrum $demo/window.csv --back same --from 400 --to 700 --step 1 --quiet -o $demo/window-spectrum.csv
grep -v '^#' $demo/window.csv
echo "Its picture is $demo/window.svg: the curves, the regions they must stay out of, and the layers."
echo
echo "Can the shop make all three parts? (Of each quote $demo/ has the page for the customer, NAME-quote.pdf and .html, which says"
echo "nothing of the recipe, and all of it for the house, NAME-quote-internal.pdf and .txt.)"
number=1041
for part in window:517642:60 objective:620603:32 concave:805254:24; do
    name=${part%%:*}
    rest=${part#*:}
    number=$((number + 1))
    # A quote that is not feasible ends with exit code 1, which is no failure here.
    $bloomcoat quote --callouts "examples/$name-callouts.csv" --substrate "${rest%:*}" --materials MgF2,HfO2,Al2O3 \
        --process examples/process.csv --chamber examples/chamber.csv --quantity 400 --part-diameter-mm "${rest#*:}" \
        --report "$demo/$name-quote.html" --report "$demo/$name-quote.pdf" \
        --internal-report "$demo/$name-quote-internal.pdf" --title "Coating of the $name" \
        --quote-number Q-$number --request-number ORCHARD-7 --date 2026-05-04 --validity-days 30 \
        --part-number "orchard robot, stereo camera, $name (invented demo)" -o "$demo/$name-quote.txt" || [ $? -eq 1 ]
    echo
    echo "$name: $(grep '^Verdict' "$demo/$name-quote.txt")"
done
echo
sed -n '/^What could be offered/,/^$/p' $demo/concave-quote.txt
echo
echo "Most requests are repeats: typed in the drawing's words, with the shop's folder for all else, and answered by a standard"
echo "coating before any search. --save keeps the request as a file that 'quote' reads."
show $bloomcoat quote --shop examples/shop --substrate 517642 --quantity 400 --part-diameter-mm 60 --quiet \
    --callout "Ravg <= 0.5 % and Rmax <= 1 %, 425-675 nm, AOI 0-30 deg" --save $demo/repeat.request.csv \
    --report $demo/repeat-quote.pdf -o $demo/repeat-quote.txt
sed -n '/^Verdict/,/^$/p' $demo/repeat-quote.txt
grep -v '^#' $demo/repeat.request.csv
show $bloomcoat quote $demo/repeat.request.csv --shop examples/shop --quantity 800 --quiet -o $demo/repeat-800-quote.txt
grep '^Verdict' $demo/repeat-800-quote.txt
echo
echo "The concave element again, with the callouts that were agreed on, now from its centre to its rim, which slopes by 42"
echo "degrees: a design for a plane surface, and one for the whole aperture."
surface="--radius-mm 15 --shape concave --clear-aperture-mm 20 --angle-reference axis"
agreed="--callouts examples/concave-agreed-callouts.csv"
glass="--substrate 805254 --materials MgF2,HfO2,Al2O3"
# shellcheck disable=SC2086 # lists of options
$bloomcoat draft $agreed $glass --quiet -o $demo/concave-flat.csv
# shellcheck disable=SC2086
$bloomcoat lens $demo/concave-flat.csv $agreed $surface -o $demo/concave-flat-lens.txt --plot $demo/concave-flat-lens.svg \
    --part-number "Concave element, designed as if it were plane" || [ $? -eq 1 ]
# shellcheck disable=SC2086
$bloomcoat draft $agreed $glass $surface --effort 0.2 --quiet -o $demo/concave.csv
# shellcheck disable=SC2086
$bloomcoat lens $demo/concave.csv $agreed $surface -o $demo/concave-lens.txt
echo
sed -n '/ the clear aperture:/,/^$/p' $demo/concave-flat-lens.txt
sed -n '/ the clear aperture:/,/^$/p' $demo/concave-lens.txt
echo
echo "The sheet for the chamber: the objective's layers in order, with what the optical monitor shows at each cut. (All of it, and"
echo "the signal as a curve, are in $demo/.)"
$bloomcoat deposit $demo/objective.csv --process examples/process.csv --chamber examples/chamber.csv \
    --signal-csv $demo/objective-signal.csv --plot $demo/objective-signal.svg --part-number "Objective" -o $demo/objective-sheet.txt
sed -n '/^Layers in order/,/^QW/{/^QW/!p;}' $demo/objective-sheet.txt
echo
echo "The window was coated. Is its witness good, and if not, what went wrong? (Two measured witnesses, invented.)"
for run in 7 8; do
    # A witness that is rejected ends with exit code 1, which is no failure here.
    show $bloomcoat inspect examples/window-witness-$run.txt --stack examples/window-stack.csv \
        --callouts examples/window-callouts.csv --column 2 --column 3 --column 4 --aoi 8 --uncertainty-percent 0.05 \
        --from-fit --process examples/process.csv --next-process $demo/process-after-$run.csv \
        --plot $demo/window-witness-$run.svg --report $demo/window-certificate-$run.html \
        --report $demo/window-certificate-$run.pdf --internal-report $demo/window-witness-$run.pdf \
        --certificate-number C-$run --quote-number Q-1042 --lot-size 25 --date 2026-05-20 --part-number "Front window" -o $demo/window-witness-$run.txt || [ $? -eq 1 ]
    sed -n '/^Verdict/,/^+-/{/^+-/!p;};/^What the run/,/^Layer 1/{/^Layer 1/!p;}' $demo/window-witness-$run.txt
done
echo
echo "Thirty runs of the window (invented), each inspected and kept in the shop's record; what they say of the chamber:"
rm -rf $demo/shop
cp -RL examples/shop $demo/shop
for run in examples/history/run-*.txt; do
    # A run that is rejected ends with exit code 1, and is recorded as well.
    $bloomcoat inspect "$run" --stack examples/window-stack.csv --callouts examples/window-callouts.csv --uncertainty-percent 0.05 \
        --shop $demo/shop --record --quiet -o $demo/window-run.txt || [ $? -eq 1 ]
done
show $bloomcoat process learn --shop $demo/shop --next-process $demo/learned.csv --quiet -o $demo/window-learned.txt
sed -n '/^Scatter/,/^$/p' $demo/window-learned.txt
grep -v '^#' $demo/learned.csv
show $bloomcoat yield examples/window-stack.csv --callouts examples/window-callouts.csv --process $demo/learned.csv --quiet -o $demo/window-yield.txt
sed -n '/^Of 100 runs/,/^The design itself/{/^The design/!p;}' $demo/window-yield.txt
echo
echo "And did one of them leave its lines?"
show $bloomcoat process chart --shop $demo/shop --plot $demo/window-runs.svg --quiet -o $demo/window-runs.txt || [ $? -eq 1 ]
sed -n '/^ALARM/,$p' $demo/window-runs.txt
echo
echo "Objective and window meet their callouts. Change a thickness in $demo/objective.csv and run the check again: the"
echo "effect shows at once."
echo
echo "Pictures to look at, in $demo/: window.svg (what it was designed for), objective-signal.svg (what the optical monitor"
echo "shows), concave-flat-lens.svg (from centre to rim), window-witness-7.svg (measured against its design), window-runs.svg (its runs on"
echo "control charts)."
echo "Pages for the customer: window-quote.pdf, and the certificates window-certificate-7.pdf and -8.pdf. For the house, with the"
echo "recipe and the fit: window-quote-internal.pdf, window-witness-7.pdf."
echo "A predicted spectrum is no measurement: coat a witness and measure it."
echo
echo "All of this as a page in the browser, on the demo's shop:"
echo "    $bloomcoat desk --shop examples/shop"
