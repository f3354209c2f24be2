#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# interrupts.sh BUILD [COUNT]: COUNT (100) drafts, each interrupted at a random moment. Each must leave a whole stack that
# says so and that `check` reads, and end as its verdict says. Not in the suite: a few minutes.
set -eu
build=$(cd "$1" && pwd)
count=${2:-100}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
cat >callouts.csv <<'END'
name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization
band,R,max,<= 0.05,400,900,0..30,each
END
failed=0
for n in $(seq "$count"); do
    rm -f out.csv
    "$build/bin/bloomcoat" draft --callouts callouts.csv --substrate 1.52 --materials 1.38,1.65,2.1 --max-layers 16 \
        --effort 100 --seed "$n" --quiet -o out.csv 2>err.txt &
    process=$!
    sleep "$(awk -v n="$n" 'BEGIN { srand(n); print 0.1 + 2 * rand() }')"
    kill -TERM "$process" # a shell has its background processes ignore SIGINT
    code=0
    wait "$process" || code=$?
    checked=0
    "$build/bin/bloomcoat" check out.csv --callouts callouts.csv >check.txt 2>&1 || checked=$?
    if ! grep -q '^# interrupted: ' out.csv 2>/dev/null || [ "$code" != "$checked" ]; then
        echo "draft $n: ended with $code, check with $checked: $(cat err.txt)"
        failed=$((failed + 1))
    fi
done
echo "$((count - failed)) of $count left the best so far"
[ "$failed" = 0 ]
