#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Guard against creeping cost: instructions of one fixed spectrum with its derivatives, counted by callgrind (portable
# path), against the count kept in guard.txt. More than 5 % off either way fails; `guard.sh BUILD --keep` keeps the new
# count. Needs valgrind. The count depends on the compiler and libm as well: it was made on Debian 12.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
build=${1:?usage: guard.sh BUILD [--keep]}
count_instructions() {
    valgrind --tool=callgrind --callgrind-out-file=/dev/null --toggle-collect=bc_kernel_portable \
        "$build/tests/bloomcoat-bench" fixed 2>&1 | sed -n 's/.*Collected : //p'
}
now=$(count_instructions)
if [ "${2:-}" = --keep ]; then
    printf "# SPDX-License-Identifier: GPL-3.0-or-later\n%s\n" "$now" >"$here/guard.txt"
fi
kept=$(grep -v "^#" "$here/guard.txt")
echo "instructions of the fixed spectrum: $now, kept: $kept"
awk -v now="$now" -v kept="$kept" 'BEGIN { exit !(now > 0 && now <= 1.05 * kept && now >= 0.95 * kept) }' || {
    echo "more than 5 % off" >&2
    exit 1
}
