#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# A standard coating for every substrate there is a table of, the work shared by the machines of a cluster: a Slurm array
# job of N parts, and a last job that makes the table of all. Without Slurm the parts run here, one after the other. A
# folder that was begun goes on where it was. All machines see the folder under the same path.
#
#     sh examples/standard-sweep.sh OUT-FOLDER [PARTS]
#
# BLOOMCOAT is the program (default: bloomcoat). What is asked for stands in the options below: put in your own.
set -eu
examples=$(cd "$(dirname "$0")" && pwd)
out=$1
parts=${2:-4}
program=${BLOOMCOAT:-bloomcoat}
case $out in /*) ;; *) out=$PWD/$out ;; esac

set -- standard build --shop "$examples/shop" --substrates all --callouts "$examples/sweep-callouts.csv" \
    --materials MgF2,Ta2O5 --max-layers 4 --effort 0.05 --quiet -o "$out"

if command -v sbatch >/dev/null 2>&1; then
    job=$(mktemp)
    trap 'rm -f "$job"' EXIT
    {
        echo '#!/bin/sh'
        printf 'exec'
        for word in "$program" "$@"; do
            printf " '%s'" "$(printf '%s' "$word" | sed "s/'/'\\\\''/g")"
        done
        # shellcheck disable=SC2016 # the job's shell expands it
        printf ' ${SLURM_ARRAY_TASK_ID:+--shard $SLURM_ARRAY_TASK_ID/%s --threads 1}\n' "$parts"
    } >"$job"
    array=$(sbatch --parsable --array "1-$parts" --cpus-per-task 1 --job-name coating-parts --output "$out-%a.log" "$job")
    sbatch --parsable --wait --dependency "afterok:${array%%;*}" --kill-on-invalid-dep=yes --job-name coating-table \
        --output "$out.log" "$job" >/dev/null
else
    part=1
    while [ "$part" -le "$parts" ]; do
        "$program" "$@" --shard "$part/$parts" --threads 1
        part=$((part + 1))
    done
    "$program" "$@" >/dev/null
fi
echo "$out: $(grep -c ',yes,' "$out/sweep.csv") of $(($(wc -l <"$out/sweep.csv") - 1)) substrates have a stack that does"
