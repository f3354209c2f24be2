/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "world.h"
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdio.h>

#define SCATTER 0.01
#define LIMIT   0.008
#define MOST    4096

enum { RANDOM, COMMON, MATERIAL, WAVELENGTH, SCALE, OFFSET, KINDS };

/* What is wrong in this run and will be in the next one: of the chamber, or of the instrument. */
static void strike(world *w, int kind, made *m)
{
    const double way = world_pick(w, 2) == 0 ? 1.0 : -1.0;
    double factor = 1.0;
    if (kind == COMMON || kind == MATERIAL)
        factor += way * world_between(w, 0.03, 0.05);
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

void table_next(world *w, size_t runs)
{
    static const char *const words[KINDS] = {"random",     "common factor", "material factor",
                                             "wavelength", "reading scale", "reading offset"};
    static double before[MOST], after[MOST];
    bc_process_row row = {.material = "*", .tooling = 1.0, .has_thickness_sigma = true, .thickness_sigma = SCATTER};
    const bc_process process = {.rows = 1, .row = &row, .has_thickness_sigma = true};
    w->noise = 1e-4;
    w->uncertainty = 5e-4;
    printf(
        "The next run with --next-stack against the next run with the stack as it was: the same chamber error and the\n"
        "same new scatter of %.0f %%; limit_used of Rmax <= %.1f %%, medians; %zu runs of each of %d designs.\n"
        "%-16s uncorrected  corrected  worse  better\n",
        100.0 * SCATTER, 100.0 * LIMIT, runs, DESIGNS, "wrong");
    for (int kind = 0; kind < KINDS; kind++) {
        size_t all = 0, worse = 0, better = 0;
        for (size_t r = 0; r < runs * DESIGNS && all < MOST; r++, all++) {
            const size_t d = r % DESIGNS;
            double exact[POINTS], old, new;
            bc_inspect_setup setup = bc_inspect_defaults(&w->design[d]);
            made m = made_as_designed(w, d), as_it_was;
            bc_measurement scan;
            bc_inspect_result result;
            setup.process = &process;
            setup.uncertainty = w->uncertainty;
            strike(w, kind, &m);
            as_it_was = m;
            made_scatter(w, &m, SCATTER);
            scan_exact(w, &m, exact);
            scan = scan_of(w, exact);
            result = look(&scan, &setup);
            made_scatter(w, &as_it_was, SCATTER);
            old = true_worst(w, &as_it_was, 0.0) / LIMIT;
            for (size_t j = 0; j < m.layers; j++)
                as_it_was.nm[j] *= result.next_stack.layer[j].thickness_nm / w->design[d].layer[j].thickness_nm;
            new = true_worst(w, &as_it_was, 0.0) / LIMIT;
            worse += new > old + 0.01;
            better += new < old - 0.01;
            before[all] = old;
            after[all] = new;
            bc_inspect_result_clear(&result);
            bc_measurement_clear(&scan);
        }
        printf("%-16s %11.3f  %9.3f  %3.0f %%  %3.0f %%\n", words[kind], median(before, all), median(after, all),
               100.0 * (double)worse / (double)all, 100.0 * (double)better / (double)all);
        fflush(stdout);
    }
}
