#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# interrupts.sh BUILD [COUNT [COMMAND...]]: COUNT (100) drafts, refinements and quotes (or of the commands named), each
# interrupted at a random moment. Each must leave its whole result, marked as interrupted; a stack must be one that `check`
# reads and whose verdict is the exit code. Not in the suite: some ten minutes.
set -eu
build=$(cd "$1" && pwd)
count=${2:-100}
shift $(($# < 2 ? $# : 2))
[ $# -gt 0 ] || set -- draft refine quote
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
cat >callouts.csv <<'END'
name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization
band,R,max,<= 0.05,400,900,0..30,each
END
cat >process.csv <<'END'
material,rate_nm_per_s,tooling_factor,thickness_sigma_percent,run_thickness_sigma_percent,index_sigma
*,0.5,1,1,0.5,0.005
END
awk 'BEGIN { print "role,material,thickness_nm\nincident,air,"
             for (i = 0; i < 120; i++) printf "layer,%s,%d\n", i % 2 ? "2.1" : "1.38", 60 + (i * 37) % 61
             print "substrate,1.52," }' >start.csv

# run NAME SEED ARGUMENT...: an interrupt between 0.1 and 2.5 s later; code has how it ended, took how long that took.
# Killed before its main(), where a signal ends any program (143: a busy machine is that slow to start it): once more.
run() {
    name=$1 seed=$2 code=143
    shift 2
    while [ "$code" = 143 ]; do
        rm -f out
        "$build/bin/bloomcoat" "$@" --callouts callouts.csv --quiet -o out 2>err.txt &
        process=$!
        sleep "$(awk -v n="$seed$name" 'BEGIN { srand(n); print 0.1 + 2.4 * rand() }')"
        kill -TERM "$process" # a shell has its background processes ignore SIGINT
        from=$(date +%s%N)
        code=0
        wait "$process" || code=$?
    done
    took=$((($(date +%s%N) - from) / 1000000))
    longest=$((took > longest ? took : longest))
}

complain() {
    echo "$1: ended with $code: $(cat err.txt)"
    failed=$((failed + 1))
}

total=0
for command; do
    failed=0 longest=0
    for n in $(seq "$count"); do
        case $command in
        draft) run 1 "$n" draft --substrate 1.52 --materials 1.38,1.65,2.1 --max-layers 16 --effort 100 --seed "$n" ;;
        refine) run 2 "$n" refine start.csv ;;
        quote)
            run 3 "$n" quote --substrate 1.52 --materials 1.38,1.65,2.1 --max-layers 8 --process process.csv
            grep -q '^Verdict: ' out 2>/dev/null && grep -q '^Interrupted, or ' out && [ "$code" = 1 ] ||
                complain "quote $n"
            continue
            ;;
        esac
        checked=0
        "$build/bin/bloomcoat" check out --callouts callouts.csv >check.txt 2>&1 || checked=$?
        grep -q '^# interrupted: ' out 2>/dev/null && [ "$code" = "$checked" ] || complain "$command $n"
    done
    echo "$command: $((count - failed)) of $count left the best so far; the slowest took $longest ms to end"
    total=$((total + failed))
done
[ "$total" = 0 ]
