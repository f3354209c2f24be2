/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/draft.h>

/* Counted in November 2026: the problems of tests/bench/calibrate.c, numbers 1 to 200, seed 1, against the lowest
 * limit_used of efforts 0.25, 1 and 5. By effort. */
static const bc_draft_trials trials[] = {{0.25, 118, 15, 82, 13}, {1.0, 141, 5, 59, 6}};

const bc_draft_trials *bc_draft_trials_for(double effort)
{
    const bc_draft_trials *found = NULL;
    for (size_t t = 0; t < sizeof trials / sizeof *trials; t++)
        if (trials[t].effort <= effort)
            found = &trials[t];
    return found;
}
