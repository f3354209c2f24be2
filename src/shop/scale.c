/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scale.h"
#include <math.h>

#define RUNS           ((size_t)5000)
#define MOST_BAD       (RUNS / 20)
#define MOST_SCALE     20.0
#define MOST_HALVINGS  14
#define FINE_ENOUGH    0.002 /* relative; 5000 runs resolve no finer */
#define SCALES_USUALLY 8.0

double bc_scale_work(void)
{
    return SCALES_USUALLY * (double)RUNS;
}

static void count_good(void *context, bc_run_worker *worker, size_t run)
{
    const double *scale = context;
    bc_run_draw(worker, BC_FOR_YIELD, run, worker->draw);
    worker->good += bc_run_judge(worker, worker->draw, *scale) <= 1.0;
}

/* Whether at least 95 % of the runs are good. Where that cannot be any more the rest is left out. */
static bool is_good_enough(bc_runs *runs, double scale)
{
    size_t run = 0;
    bc_runs_count_from_zero(runs);
    while (run < RUNS && !runs->stopped && run - bc_runs_good(runs) <= MOST_BAD) {
        const size_t end = RUNS - run < BC_SLICE ? RUNS : run + BC_SLICE;
        bc_runs_slice(runs, run, end, 1.0, count_good, &scale);
        run = end;
    }
    return run - bc_runs_good(runs) <= MOST_BAD;
}

double bc_scale_find(bc_runs *runs, bool passes)
{
    double low = 0.0, high = 1.0;
    if (!passes)
        return 0.0;
    while (high <= MOST_SCALE && is_good_enough(runs, high) && !runs->stopped) {
        if (high == MOST_SCALE)
            return INFINITY;
        low = high;
        high = fmin(2.0 * high, MOST_SCALE);
    }
    for (int step = 0; step < MOST_HALVINGS && high - low > FINE_ENOUGH * high && !runs->stopped; step++) {
        const double middle = 0.5 * (low + high);
        if (is_good_enough(runs, middle))
            low = middle;
        else
            high = middle;
    }
    return runs->stopped ? NAN : 0.5 * (low + high);
}
