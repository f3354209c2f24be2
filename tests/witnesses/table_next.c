/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "world.h"
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define SCATTER 0.01
#define LIMIT   0.008
#define MOST    4096

enum { RANDOM, COMMON, MATERIAL, MATERIALS, LAYER, WAVELENGTH, SCALE, OFFSET, KINDS };

/* What is wrong in this run and will be in the next one: of the chamber, or of the instrument. */
static void strike(world *w, int kind, made *m)
{
    const double way = world_pick(w, 2) == 0 ? 1.0 : -1.0;
    double factor = 1.0;
    if (kind == COMMON || kind == MATERIAL)
        factor += way * world_between(w, 0.03, 0.05);
    if (kind == LAYER)
        m->nm[world_pick(w, m->layers)] *= 1.0 + way * world_between(w, 0.05, 0.08);
    for (size_t j = 0; j < m->layers && kind == MATERIALS; j++)
        m->nm[j] *= m->material[j] == w->medium[HFO2].dispersion ? 1.0 + 0.03 * way : 1.0 - 0.03 * way;
    for (size_t j = 0; j < m->layers; j++)
        if (kind == COMMON || m->material[j] == w->medium[HFO2].dispersion)
            m->nm[j] *= factor;
    m->shift_nm = kind == WAVELENGTH ? way * world_between(w, 2.0, 5.0) : 0.0;
    m->scale = kind == SCALE ? 1.0 + way * world_between(w, 0.05, 0.15) : 1.0;
    m->offset = kind == OFFSET ? way * world_between(w, 0.0015, 0.004) : 0.0;
}

static double median(double *value, size_t count)
{
    gsl_sort(value, 1, count);
    return gsl_stats_median_from_sorted_data(value, 1, count);
}

typedef struct score {
    size_t all, worse, better, corrected;
    double before[MOST], after[MOST];
} score;

/* One run, what --next-stack makes of it, and the next run as it was and corrected. */
static void try_run(world *w, size_t d, int kind, const bc_inspect_setup *setup, score *s)
{
    double exact[POINTS], old, new;
    made m = made_as_designed(w, d), next;
    bc_measurement scan;
    bc_inspect_result result;
    strike(w, kind, &m);
    next = m;
    made_scatter(w, &m, SCATTER);
    scan_exact(w, &m, exact);
    scan = scan_of(w, exact);
    result = look(&scan, setup);
    made_scatter(w, &next, SCATTER);
    old = true_worst(w, &next, 0.0) / LIMIT;
    for (size_t j = 0; j < m.layers; j++)
        next.nm[j] *= result.next_stack.layer[j].thickness_nm / w->design[d].layer[j].thickness_nm;
    new = result.corrected ? true_worst(w, &next, 0.0) / LIMIT : old;
    s->corrected += result.corrected;
    s->worse += new > old + 0.01;
    s->better += new < old - 0.01;
    s->before[s->all] = old;
    s->after[s->all++] = new;
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
}

static void try_kind(world *w, size_t runs, int kind, const char *what, const bc_callouts *callouts)
{
    static score s;
    bc_process_row row = {.material = "*", .tooling = 1.0, .has_thickness_sigma = true, .thickness_sigma = SCATTER};
    const bc_process process = {.rows = 1, .row = &row, .has_thickness_sigma = true};
    double mean_before = 0.0, mean_after = 0.0, all;
    memset(&s, 0, sizeof s);
    for (size_t r = 0; r < runs * DESIGNS && s.all < MOST; r++) {
        bc_inspect_setup setup = bc_inspect_defaults(&w->design[r % DESIGNS]);
        setup.process = &process;
        setup.uncertainty = w->uncertainty;
        setup.callouts = callouts;
        try_run(w, r % DESIGNS, kind, &setup, &s);
    }
    all = (double)s.all;
    for (size_t i = 0; i < s.all; i++) {
        mean_before += s.before[i] / all;
        mean_after += s.after[i] / all;
    }
    printf("%-16s %-9s %8.3f -> %5.3f  %8.3f -> %5.3f   %5.0f %%  %4.1f %%  %4.1f %%\n", what,
           callouts == NULL ? "none" : "given", median(s.before, s.all), median(s.after, s.all), mean_before,
           mean_after, 100.0 * (double)s.corrected / all, 100.0 * (double)s.worse / all,
           100.0 * (double)s.better / all);
    fflush(stdout);
}

void table_next(world *w, size_t runs)
{
    static const char *const words[KINDS] = {"random",    "common factor", "material factor", "each material",
                                             "one layer", "wavelength",    "reading scale",   "reading offset"};
    bc_callout row = {.name = "row",
                      .quantity = BC_R,
                      .statistic = BC_EXTREME,
                      .sense = BC_AT_MOST,
                      .limit = LIMIT,
                      .from_nm = BAND_FROM_NM,
                      .to_nm = BAND_TO_NM,
                      .polarization = BC_POL_UNPOLARIZED};
    const bc_callouts callouts = {.count = 1, .callout = &row};
    w->noise = 1e-4;
    w->uncertainty = 5e-4;
    printf("The next run with --next-stack against the next run with the stack as it was: the same chamber error and "
           "the\nsame new scatter of %.0f %%; limit_used of Rmax <= %.1f %%; %zu runs of each of %d designs. Worse, "
           "better: by more\nthan 0.01.\n%-16s callouts  median           average           corrected  worse  better\n",
           100.0 * SCATTER, 100.0 * LIMIT, runs, DESIGNS, "wrong");
    for (int kind = 0; kind < KINDS; kind++)
        for (int given = 1; given >= 0; given--)
            if (strstr(words[kind], w->only) != NULL)
                try_kind(w, runs, kind, words[kind], given ? &callouts : NULL);
}
