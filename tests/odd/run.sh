#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Odd measured files, made here from one computed witness, and what `inspect` does with each. Ends in a table: read
# right, asked, refused (held counts as refused), wrong. Exit 1 when one is wrong.
#
#   sh tests/odd/run.sh build/release/bin/bloomcoat [FOLDER]
set -eu
LC_ALL=C
export LC_ALL
program=$(realpath "$1")
here=$(realpath "$(dirname "$0")/../..")
folder=${2:-$(mktemp -d)}
mkdir -p "$folder"
cd "$folder"
export BLOOMCOAT_TABLES="$here/materials" BLOOMCOAT_MATERIALS="$here/materials"

cat > stack.csv <<'END'
role,material,thickness_nm
incident,air,
layer,1.38,97.787
layer,2.1,133.11
layer,1.38,35.081
layer,2.1,15.658
substrate,1.52,
END
cat > callouts.csv <<'END'
name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization
band,R,max,<= 0.8,420,680,0,unpolarized
END
"$program" spectrum stack.csv --from 400 --to 720 --step 4 --quiet -o design.csv
# wavelength and R in percent, with noise of 0.01 % that repeats
awk -F, 'BEGIN { srand(7) } NR > 1 { printf "%s %.4f\n", $1, $4 + 0.02 * (rand() - 0.5) }' design.csv > rows
right=$("$program" spectrum stack.csv --from 400 --to 720 --step 4 --quiet |
    awk -F, 'NR > 1 && $1 >= 420 && $1 <= 680 && $4 > worst { worst = $4 } END { print worst }')

: > list.txt

# rows_as FORMAT [SCALE [OFFSET]]: the rows by awk's printf
rows_as() {
    awk -v f="$1" -v s="${2:-1}" -v o="${3:-0}" '{ printf f "\n", $1, s * $2 + o }' rows
}

tell() {
    printf '%-8s %s\n' "$1" "$(printf %s "$2" | tr '\n' ' ')" >> list.txt
}

# try right|never|beside WHAT [OPTION...] < file: a file that must be read right, or never accepted,
# or accepted only with the reason beside the verdict
try() {
    expected=$1 what=$2
    shift 2
    number=$(($(wc -l < list.txt) + 1))
    cat > "odd-$number.txt"
    code=0
    "$program" inspect "odd-$number.txt" --stack stack.csv --callouts callouts.csv --uncertainty-percent 0.05 --json \
        "$@" > out.json 2> err.txt || code=$?
    value=$(sed -n 's/.*"value_percent":[ \t]*\([-0-9.e]*\).*/\1/p' out.json | head -1)
    if [ $code -eq 2 ]; then
        if [ "$expected" = right ]; then
            tell WRONG "$what: $(cat err.txt)"
        elif grep -q -- 'expected.*--[a-z]' err.txt; then
            tell asked "$what: $(cat err.txt)"
        else
            tell refused "$what: $(cat err.txt)"
        fi
    elif [ $code -gt 2 ]; then
        tell WRONG "$what: exit $code"
    elif [ "$expected" = right ]; then
        if awk -v v="$value" -v r="$right" 'BEGIN { exit !(v > r - 0.03 && v < r + 0.03) }' && [ $code -eq 0 ]; then
            tell right "$what: $value %"
        else
            tell WRONG "$what: exit $code, $value %, not $right %"
        fi
    elif [ "$expected" = beside ] && [ $code -eq 0 ] && grep -q '"run":[[:space:]]*"no fit"' out.json; then
        tell right "$what: accepted on its values, with \"is this the right witness?\" beside the verdict"
    elif [ $code -eq 1 ]; then
        tell refused "$what: $(sed -n 's/.*"held_text":[ \t]*"\([^"]*\)".*/held: \1/p' out.json | head -1)"
    else
        tell WRONG "$what: accepted at $value %"
    fi
}

# ---- read right: nothing of this may ever be refused ----
{ echo 'nm,%R'; rows_as '%g,%.4f'; } | try right 'plain'
{ echo 'Wavelength (nm);Reflectance (%)'; rows_as '%.1f;%.4f' | tr . ,; } | try right 'semicolons, decimal commas'
{ printf 'nm\t%%R\n'; rows_as '%g\t%.4f'; } | try right 'tabs'
{ printf 'nm\t%%R\n'; rows_as '%g\t%.4f' | tr . ,; } | try right 'tabs, decimal commas'
{ echo 'nm   %R'; rows_as '  %g   %.4f'; } | try right 'blanks'
{ echo 'nm, %R'; rows_as '%g, %.4f'; } | try right 'a comma and a blank'
{ echo '"nm","R, %"'; rows_as '"%g","%.4f"'; } | try right 'quoted'
{ echo 'nm,%R'; rows_as '%g,%.4f' | sort -t, -k1,1 -nr; } | try right 'falling'
{ echo 'Wavelength (um),R (%)'; awk '{ printf "%.3f,%s\n", $1 / 1000, $2 }' rows; } | try right 'micrometres'
{ printf '\302\265m;R%%\n'; awk '{ printf "%.3f;%s\n", $1 / 1000, $2 }' rows; } | try right 'a micro sign'
{ echo 'nm,R (fraction)'; rows_as '%g,%.6f' 0.01; } | try right 'fractions by the header'
{ echo 'nm,R'; rows_as '%g,%.6f' 0.01; } | try right 'fractions by the option' --unit fraction
{ echo 'nm,R'; rows_as '%g,%.4f %%'; } | try right 'a % behind each value'
{ printf '\357\273\277nm,%%R\r\n'; rows_as '%g,%.4f\r'; } | try right 'byte order mark and CRLF'
{ echo 'nm,%R'; rows_as '%g,%.4f'; } | tr '\n' '\r' | try right 'lone CR'
{ echo 'nm;%R'; rows_as '%g;%.4f'; } | iconv -t UTF-16 | try right 'UTF-16'
{ printf 'Pr\374fglas\nnm;%%R\n'; rows_as '%g;%.4f'; } | try right 'Latin-1 in the preamble'
{ i=0; while [ $i -lt 200 ]; do echo "Setting $i: value $i"; i=$((i + 1)); done; echo 'nm,%R'; rows_as '%g,%.4f'; } |
    try right '200 lines of preamble'
{ echo 'nm,%R'; rows_as '%g,%.4f'; printf '\nEnd of data\nOperator: B. N.\n'; } | try right 'words behind'
{ echo '# nm,%R'; rows_as '%g,%.4f'; } | try right 'the header in a comment'
{ echo 'nm,%R'; rows_as '%g,%.4f'; echo '# done'; } | try right 'a comment behind'
{ echo 'No;nm;%R'; rows_as '%g;%.4f' | awk '{ print NR ";" $0 }'; } | try right 'a number of the row ahead'
{ echo '%R;nm'; awk '{ print $2 ";" $1 }' rows; } | try right 'the value first'
{ echo 'nm;%R;flag'; rows_as '%g;%.4f;ok'; } | try right 'a flag behind'
{ echo 'nm;%R;Temperature (C)'; rows_as '%g;%.4f;21.5'; } | try right 'a temperature behind'
{ echo 'nm,%R,%T'; rows_as '%g,%.4f,98.5'; } | try right 'R and T'
{ echo 'nm,%R,R uncertainty (%)'; rows_as '%g,%.4f,0.05'; } | try right 'an uncertainty beside' \
    --uncertainty-column 3
{ echo 'nm,%R'; rows_as '%.2E,%.4E'; } | try right 'exponents'
{ echo 'Wavelength,Reflectance'; echo 'nm,%'; rows_as '%g,%.4f'; } | try right 'a row of units'
{ echo 'nm,Witness 12 (%)'; rows_as '%g,%.4f'; } | try right 'the quantity by the callouts'
{ echo 'Mode: %R'; echo 'nm,Value'; rows_as '%g,%.4f'; } | try right 'the quantity by a setting' --unit percent
{ echo 'nm,%R'; rows_as '%g,%.4f'; rows_as '%g,%.4f'; } | try right 'two scans, by the option' --scan all
{ echo '2 scans'; echo 'nm,%R'; rows_as '%g,%.4f'; rows_as '%g,%.4f'; } | try right 'two scans, counted ahead'
{ echo 'Scan 1'; echo 'nm,%R'; rows_as '%g,%.4f'; echo 'Scan 2'; echo 'nm,%R'; rows_as '%g,%.4f'; } |
    try right 'scan 1, scan 2'
{ echo 'Repeat 1'; echo 'nm,%R'; rows_as '%g,%.4f'; echo 'Repeat 2'; rows_as '%g,%.4f'; } | try right 'repeat 2'
{ echo 'nm,%R'; rows_as '%g,%.4f'; rows_as '%g,%.4f' | sort -t, -k1,1 -nr | tail -n +2; } | try right 'there and back'
{ echo 'nm,%R'; rows_as '%g,%.4f' | sed p; } | try right 'each wavelength twice'
{ echo 'Witness 7'; echo 'nm,%R'; rows_as '%g,%.4f'; echo 'Witness 8'; echo 'nm,%R'; rows_as '%g,%.4f' 3; } |
    try right 'witness 7 of two' --scan 1
{ echo 'nm,R design (%),Measured (%)'; rows_as '%g,0.1,%.4f'; } | try right 'a design beside'
{ echo 'nm,Dark %R,W12'; rows_as '%g,0.01,%.4f'; } | try right 'a dark scan beside' --unit percent
{ echo 'nm,0 %R line,Witness 12'; rows_as '%g,0.01,%.4f'; } | try right 'a zero line beside' --unit percent
{ echo 'nm,Baseline R,Sample (%)'; rows_as '%g,0.01,%.4f'; } | try right 'a baseline beside'
{ echo 'nm,Reference R,Sample (%)'; rows_as '%g,88,%.4f'; } | try right 'a reference beside'
{ echo 'nm,R limit (%),R (%)'; rows_as '%g,0.8,%.4f'; } | try right 'a limit beside'
{ echo 'nm,R target (%),R (%)'; rows_as '%g,0.2,%.4f'; } | try right 'a target beside'
{ echo 'nm,R theory,R (%)'; rows_as '%g,0.2,%.4f'; } | try right 'a theory beside'
{ echo 'nm,R simulated (%),R measured (%)'; rows_as '%g,0.2,%.4f'; } | try right 'a simulation beside'
{ echo 'nm,R spec (%),R (%)'; rows_as '%g,0.8,%.4f'; } | try right 'a specification beside'
{ echo 'nm,100 %R line,R (%)'; rows_as '%g,100,%.4f'; } | try right 'a 100 % line beside'
{ echo 'nm,R (dB),R (%)'; rows_as '%g,-23,%.4f'; } | try right 'decibels beside'
{ echo 'nm,Diffuse R (%),R (%)'; rows_as '%g,0.01,%.4f'; } | try right 'scattered light beside'
{ echo 'nm,Mirror/2 R (%)'; rows_as '%g,%.4f'; } | try right 'a name with a number behind a stroke'
{ echo 'Angle of incidence: 0 deg'; echo 'nm,%R'; rows_as '%g,%.4f'; } | try right 'an angle of 0' --aoi 0
{ echo 'Normal incidence'; echo 'nm,%R'; rows_as '%g,%.4f'; } | try right 'normal incidence'
{ echo 'Temperature 21 deg C'; echo 'nm,%R'; rows_as '%g,%.4f'; } | try right 'a temperature is no angle'
{ echo 'Polarization: none'; echo 'nm,%R'; rows_as '%g,%.4f'; } | try right 'no polarizer'
{ echo 'Wedge 3 deg'; echo 'nm,%R'; rows_as '%g,%.4f'; } | try right 'a wedge is no angle of incidence' --aoi 0
{ rows_as '%g,%.4f'; } | try right 'no header, answered' --quantity R --unit percent
{ echo 'nm;R1;R2'; awk '{ print $1 ";" $2 ";" $2 }' rows; } | try right 'two columns, answered' --column 2 --column 3 \
    --unit percent
{ echo 'nm,Residual reflectance (%)'; rows_as '%g,%.4f'; } | try right 'the trade: residual reflectance'
{ echo 'nm,%R,%T'; awk '{ print $1 "," $2 "," ($1 == 560 ? "*" : 100 - $2) }' rows; } |
    try right 'T missing at one wavelength' --column 2 --t-column 3
{ echo 'nm,%R,%T'; awk '{ print $1 "," ($1 == 600 ? "" : $2) "," 100 - $2 }' rows; } |
    try right 'R missing at one wavelength' --column 2 --t-column 3
{ echo 'nm,%R'; echo '396,---'; rows_as '%g,%.4f'; echo '724,over'; } | try right 'words at the ends'

# ---- never accepted ----
{ echo 'nm,%R'; rows_as '%g,-3'; } | try never 'R of -3 % everywhere'
{ echo 'nm,%R'; rows_as '%g,0'; } | try never 'all zeros'
{ echo 'nm,%R'; rows_as '%g,0.0000'; } | try never 'all 0.0000'
{ echo 'nm,%R'; rows_as '%g,0.3'; } | try never 'one number throughout'
{ echo 'nm,%R'; awk '{ printf "%g,%s\n", $1, $1 == 560 ? -1 : $2 }' rows; } | try never 'a -1 for a missing value'
{ echo 'nm,%R'; awk '{ printf "%g,%s\n", $1, $1 == 400 ? -1 : $2 }' rows; } | try never 'a -1 at the edge'
{ echo 'nm,%R'; awk '{ printf "%g,%s\n", $1, $1 == 560 ? -99 : $2 }' rows; } | try never 'a -99 for a missing value'
{ echo 'nm,%R'; awk '{ printf "%g,%s\n", $1, $1 == 560 ? 105 : $2 }' rows; } | try never 'one value above 100 %'
{ echo 'nm,%R'; awk '{ printf "%g,%.4f\n", $1, 0.3 * sin($1 / 20) }' rows; } | try never 'a difference around 0'
{ echo 'nm,%R'; awk 'BEGIN { srand(3) } { printf "%g,%.4f\n", $1, 0.04 * (rand() - 0.5) }' rows; } |
    try never 'noise around 0'
{ echo 'nm,%R'; rows_as '%g,%.4f' 1 -0.6; } | try never 'an offset below 0'
{ echo 'nm,%R'; awk '{ printf "%g,%s\n", $1, ($1 >= 480 && $1 < 580 ? 0 : $2) }' rows; } | try never 'a fifth of it is 0'
{ echo 'nm,%R'; rows_as '%g,%.6f' 0.01; } | try never 'fractions under %R'
{ echo 'nm,%R'; rows_as '%g,%.4f' 0.1; } | try never 'a tenth of it'
{ echo 'nm,R'; awk '{ printf "%g,%.6f\n", $1, $1 == 400 ? 1.62 : $2 / 100 }' rows; } | try never 'one edge point of 1.62'
{ echo 'nm,R'; rows_as '%g,%.6f' 0.01; } | try never 'fractions and no word'
{ echo 'nm,R'; rows_as '%g,%.6f' 0.01; } | try never 'fractions called percent' --unit percent
{ echo 'nm,%R'; rows_as '%g,%.6f' 0.01; } | try never 'fractions against the header' --unit fraction
{ echo 'nm,Rp (%)'; rows_as '%g,%.4f'; } | try never 'p where unpolarized was said' --polarization unpolarized --aoi 45
{ echo 'nm,Rp (%)'; rows_as '%g,%.4f'; } | try never 'p at 45 degrees' --aoi 45
{ echo 'nm,Rs (%)'; rows_as '%g,%.4f'; } | try never 's where p was said' --polarization p
{ echo 'nm,R p-pol (%)'; rows_as '%g,%.4f'; } | try never 'p-pol where s was said' --polarization s
{ echo 'nm,R at 45 deg (%)'; rows_as '%g,%.4f'; } | try never 'R at 45 deg'
{ printf 'nm,R 45\302\260 (%%)\n'; rows_as '%g,%.4f'; } | try never 'R 45 degree sign'
{ echo 'nm,R at 45 deg (%)'; rows_as '%g,%.4f'; } | try never 'R at 45 deg against --aoi 0' --aoi 0
{ echo 'Angle of incidence: 45 deg'; echo 'nm,%R'; rows_as '%g,%.4f'; } | try never 'an angle of 45 deg above'
{ echo 'Angle of incidence: 45 deg'; echo 'nm,%R'; rows_as '%g,%.4f'; } | try never 'against --aoi 0' --aoi 0
{ echo 'AOI=30'; echo 'nm,%R'; rows_as '%g,%.4f'; } | try never 'AOI=30'
{ echo 'aoi;30'; echo 'nm;%R'; rows_as '%g;%.4f'; } | try never 'aoi;30'
{ echo 'Incidence 0.785 rad'; echo 'nm,%R'; rows_as '%g,%.4f'; } | try never 'radians'
{ echo 'nm,%R'; rows_as '%g,%.4f'; echo 'Angle: 45 deg'; } | try never 'an angle below the rows'
{ echo 'Angles: 0 deg and 45 deg'; echo 'nm,%R'; rows_as '%g,%.4f'; } | try never 'two angles'
{ echo 'nm,aoi_deg,%R'; rows_as '%g,45,%.4f'; } | try never 'a column of angles'
{ echo 'Polarizer: 90 deg'; echo 'nm,%R'; rows_as '%g,%.4f'; } | try never 'a polarizer at 90 deg' --aoi 20
{ echo 'Polarization: s'; echo 'nm,%R'; rows_as '%g,%.4f'; } | try never 's above, p said' --polarization p
{ echo 'Mode: %T'; echo 'nm,Value (%)'; rows_as '%g,%.4f'; } | try never 'Mode: %T'
{ echo 'Mode: %T'; echo 'nm,%R'; rows_as '%g,%.4f'; } | try never 'Mode: %T above %R'
{ echo 'Mode: %T'; echo 'nm,Value (%)'; rows_as '%g,%.4f'; } | try never 'Mode: %T against --quantity R' --quantity R
{ echo 'Mode: Abs'; echo 'nm,Value'; rows_as '%g,%.4f'; } | try never 'Mode: Abs' --unit percent
{ echo 'Photometric mode;dB'; echo 'nm;Value'; rows_as '%g;%.4f'; } | try never 'a mode of dB' --unit percent
{ echo 'Transmittance of witness 4'; echo 'nm,Value (%)'; rows_as '%g,%.4f'; } | try never 'transmittance in passing'
{ echo 'nm,%T'; rows_as '%g,%.4f'; } | try never 'T'
{ echo 'nm,R (dB)'; rows_as '%g,%.4f'; } | try never 'dB'
{ printf 'nm,R (\342\200\260)\n'; rows_as '%g,%.4f'; } | try never 'per mille'
{ echo 'nm,R per mille'; rows_as '%g,%.4f' 10; } | try never 'per mille in two words'
{ echo 'nm,R (ppm)'; rows_as '%g,%.4f'; } | try never 'ppm'
{ echo 'nm,100-R (%)'; rows_as '%g,%.4f'; } | try never '100-R'
{ echo 'nm,1-R'; rows_as '%g,%.4f'; } | try never '1-R' --unit percent
{ echo 'nm,delta R (%)'; rows_as '%g,%.4f'; } | try never 'delta R'
{ printf 'nm,\316\224R (%%)\n'; rows_as '%g,%.4f'; } | try never 'delta R by its letter'
{ echo 'nm,dR (%)'; rows_as '%g,%.4f'; } | try never 'dR'
{ echo 'nm,R difference (%)'; rows_as '%g,%.4f'; } | try never 'a difference by a word'
{ echo 'nm,R/Rref (%)'; rows_as '%g,%.4f'; } | try never 'a ratio'
{ echo 'nm,R/2 (%)'; rows_as '%g,%.4f' 0.5; } | try never 'half of R'
{ echo 'nm,R*10 (%)'; rows_as '%g,%.4f'; } | try never 'ten times R'
{ echo 'nm,10 x R (%)'; rows_as '%g,%.4f'; } | try never 'ten times R, the ten ahead'
{ echo 'nm,R^2 (%)'; rows_as '%g,%.4f'; } | try never 'R squared'
{ echo 'nm,sqrt(R) (%)'; rows_as '%g,%.4f'; } | try never 'the root of R'
{ echo 'nm,R noise (%)'; rows_as '%g,%.4f'; } | try never 'noise alone'
{ echo 'nm,R haze (%)'; rows_as '%g,%.4f'; } | try never 'haze alone'
{ echo 'nm,Diffuse R (%)'; rows_as '%g,%.4f'; } | try never 'scattered light alone'
{ echo 'nm,R predicted (%)'; rows_as '%g,%.4f'; } | try never 'a prediction alone'
{ echo 'nm,log R'; rows_as '%g,%.4f'; } | try never 'log R' --unit percent
{ echo 'nm,Absorbance'; rows_as '%g,%.4f'; } | try never 'absorbance'
{ echo 'nm,OD'; rows_as '%g,%.4f'; } | try never 'OD'
{ echo 'nm,Absorptance (%)'; rows_as '%g,%.4f'; } | try never 'absorptance'
{ echo 'nm,Counts'; rows_as '%g,%.4f' 1000; } | try never 'counts'
{ echo 'nm,Intensity (a.u.)'; rows_as '%g,%.4f'; } | try never 'an intensity' --unit percent
{ echo 'nm,R design (%)'; rows_as '%g,%.4f'; } | try never 'a design alone'
{ echo 'nm,R limit (%)'; rows_as '%g,%.4f'; } | try never 'a limit alone'
{ echo 'nm,Dark (%)'; rows_as '%g,%.4f'; } | try never 'a dark scan alone'
{ echo 'nm,R target (%)'; rows_as '%g,%.4f'; } | try never 'a target alone'
{ echo 'nm,Baseline (%)'; rows_as '%g,%.4f'; } | try never 'a baseline alone'
{ echo 'nm,R simulated (%)'; rows_as '%g,%.4f'; } | try never 'a simulation alone'
{ echo 'nm,R limit (%),R (%)'; rows_as '%g,%.4f,9'; } | try never 'a limit by --column' --column 2
{ echo 'nm,%R,Witness 12'; awk '{ print $1 "," $2 "," 3 * $2 }' rows; } | try never 'a second column that may be it'
{ echo 'nm,Run 7,Run 8'; awk '{ print $1 "," $2 "," 3 * $2 }' rows; } | try never 'two runs beside each other'
{ echo 'nm,%R,%R'; awk '{ print $1 "," $2 "," 3 * $2 }' rows; } | try never 'R twice'
{ echo 'nm,R before (%),R after (%)'; awk '{ print $1 "," $2 "," 3 * $2 }' rows; } | try never 'before and after'
for head in 'Run 7:Run 8' '7:8' 'Witness 7:Witness 8' 'A:B' 'Sample 7:Sample 8' 'Position 1:Position 2'; do
    { echo "${head%:*}"; echo 'nm,%R'; rows_as '%g,%.4f' 0.9; echo "${head#*:}"; echo 'nm,%R'; rows_as '%g,%.4f' 1.1; } |
        try never "blocks headed $head"
done
{ echo 'nm,%R'; rows_as '%g,%.4f' 0.9; echo; rows_as '%g,%.4f' 1.1; } | try never 'blocks parted by a blank line'
{ echo 'nm,%R'; rows_as '%g,%.4f' 0.9; echo; rows_as '%g,%.4f' 1.1 | sort -t, -k1,1 -nr; } |
    try never 'blank line, and the other way'
{ echo 'nm,%R'; rows_as '%g,%.4f' 0.9; rows_as '%g,%.4f' 1.1; } | try never 'a scan below a scan'
{ echo 'nm,%R'; rows_as '%g,%.4f' 0.9; echo; echo 'nm,%R'; rows_as '%g,%.4f' 1.1; } | try never 'the header again'
{ echo 'cm-1,%R'; awk '{ printf "%.2f,%s\n", 1e7 / $1, $2 }' rows; } | try never 'wavenumbers'
{ echo 'eV,%R'; awk '{ printf "%.4f,%s\n", 1239.84 / $1, $2 }' rows; } | try never 'energies'
{ echo 'nm,%R'; awk '{ printf "%g,%s\n", $1, $1 == 560 ? "1,234.5" : $2 }' rows; } | try never 'a thousands separator'
{ rows_as '%g,%.6f' 0.01; } | try never 'no header'
{ echo 'nm;%R'; rows_as '%g;%.4f' | sed '5s/;.*/;0,3/'; } | try never 'two decimal signs'
printf 'nm,%%R\n500,0.3\n' | try never 'one row'
: | try never 'an empty file'
printf 'PK\003\004\000\000' | try never 'a workbook'
{ echo 'nm,%R'; awk '{ printf "%g,%.4f\n", $1, 4.26 }' rows | awk -F, 'BEGIN { srand(5) } { printf "%s,%.4f\n", $1, $2 + 0.01 * rand() }'; } |
    try never 'bare glass'
{ echo 'nm,%R'; awk '{ printf "%g,%.4f\n", $1, 0.35 + 0.3 * sin($1 / 9) }' rows; } | try beside 'fringes of something else'
{ echo 'nm,%R'; awk '$1 < 500 || $1 > 620 { printf "%g,%s\n", $1, $2 }' rows; } | try never 'a gap in the band'
{ echo 'nm,%R'; awk '$1 >= 440 { printf "%g,%s\n", $1, $2 }' rows; } | try never 'a band not covered'

for head in 'Simulated spectrum' 'Data: dark scan' 'Sample: none (100 % line)' 'Sample: reference mirror' 'DO NOT USE' \
    'Scan aborted by operator' 'Warning: detector saturated' 'Lamp: off' 'Unit: fraction' 'Ordinate scale: 0.1' \
    'Multiplied by 0.5' 'Diffuse reflectance'; do
    { echo "$head"; echo 'nm,%R'; rows_as '%g,%.4f'; } | try never "above: $head"
done
for head in 'R_45 (%)' 'R(45) (%)' '%R 45'; do
    { echo "nm,$head"; rows_as '%g,%.4f'; } | try never "$head"
done
{ echo 'nm,%R,status'; awk '{ print $1 "," $2 "," ($1 > 500 && $1 < 600 ? "SAT" : "ok") }' rows; } | try never 'SAT beside'
{ echo 'nm,%R,valid'; awk '{ print $1 "," $2 ",0" }' rows; } | try never 'none of them valid'
{ echo 'nm,%R,valid'; awk '{ print $1 "," $2 ",1" }' rows; } | try right 'all of them valid'
{ echo 'Reference: mirror'; echo 'Dark: none'; echo 'Aborted: no'; echo 'nm,%R'; rows_as '%g,%.4f'; } |
    try right 'settings with these words'

# ---- the instrument and the sample were not as the command says ----
for head in 'Smoothing: 51 points' 'Smoothing: on' 'Slit width: 40 nm' 'Bandwidth (nm): 20' 'Both sides coated' \
    'Both sides coated, R total' 'Back: coated' 'Uncertainty: 1 %' 'Expanded uncertainty (k=2): 0,3 %'; do
    { echo "$head"; echo 'nm,%R'; rows_as '%g,%.4f'; } | try never "above: $head"
done
{ echo 'nm,%R,U (%)'; rows_as '%g,%.4f,1.5'; } | try never 'a larger uncertainty beside'
{ echo 'Slit width: 2 nm'; echo 'Smoothing: off'; echo 'Back: uncoated'; echo 'Uncertainty (k=2): 0.05 %'
    echo 'Wavelength uncertainty: 0.3 nm'; echo 'nm,%R'; rows_as '%g,%.4f'; } | try right 'settings as the command says'
{ echo 'nm,%R,U (%)'; rows_as '%g,%.4f,0.05'; } | try right 'the same uncertainty beside'
{ echo 'Both sides coated'; echo 'nm,%R'; rows_as '%g,%.4f'; } | try right 'a line that is overruled' --overrule
{ echo 'nm,%R'; awk '$1 <= 560 { print $1 "," $2; last = $2 } $1 > 560 { print $1 "," last }' rows; } |
    try never 'held at its last value'
{ echo 'nm,%R'; awk '{ print $1 "," ($1 > 500 && $1 < 600 ? 0.1 : $2) }' rows; } | try never 'one number for 100 nm'
{ echo 'nm,%R'; rows_as '%g,%.2f'; } | try right 'two decimals'

cat list.txt
echo
awk '{ count[$1]++ }
    END {
        printf "read right %5d\nasked      %5d\nrefused    %5d\nwrong      %5d\nfiles      %5d\n", count["right"],
            count["asked"], count["refused"], count["WRONG"], NR
        exit count["WRONG"] > 0
    }' list.txt
