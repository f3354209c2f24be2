/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef INSPECT_HISTORY_H
#define INSPECT_HISTORY_H
/*
 * Histories of runs whose truth is known, of the six-layer design: what a scan says of a run is drawn from the
 * information that a real inspection has.
 */
#include "witness.h"
#include <bloomcoat/learn.h>

#define HISTORY_MATERIALS 2 /* "1.38", the outer one's, and "2.10" */

typedef struct history_truth {
    double off[HISTORY_MATERIALS], line[HISTORY_MATERIALS]; /* shares; a line's change from first to last */
    double within[HISTORY_MATERIALS];
    double between_runs, between_layers;
    double index; /* standard deviation of the index of the first; 0: none was fitted */
} history_truth;

/* The inspection of a good run; noise of this standard deviation. Release it. */
bc_inspect_result history_pattern(bench *b, double noise);
/* `runs` of them; release with history_clear(). */
bc_learn_run *history_make(bench *b, const bc_inspect_result *pattern, const history_truth *was, size_t runs);
void history_clear(size_t runs, bc_learn_run *run);

#endif
