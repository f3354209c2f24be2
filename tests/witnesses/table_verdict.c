/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "world.h"
#include <math.h>
#include <stdio.h>

#define SCATTER     0.01
#define INDEX_SIGMA 0.005
#define DRAWS       8 /* of noise for each spectrum */
#define GOOD_BY     8e-4
#define OBLIQUE     (40.0 * 3.14159265358979 / 180.0)

typedef struct counts {
    size_t accepted, rejected, all;
} counts;

static void judge(world *w, const bc_inspect_setup *setup, const double *exact, counts *c)
{
    for (size_t i = 0; i < DRAWS; i++) {
        bc_measurement scan = scan_of(w, exact);
        bc_inspect_result result = look(&scan, setup);
        c->accepted += result.verdict == BC_ACCEPT;
        c->rejected += result.verdict == BC_REJECT;
        c->all++;
        bc_inspect_result_clear(&result);
        bc_measurement_clear(&scan);
    }
}

static void show(const char *what, const counts *c)
{
    const double all = (double)c->all;
    printf("%-44s accept %5.1f %%  undecided %5.1f %%  reject %5.1f %%  of %zu\n", what,
           100.0 * (double)c->accepted / all, 100.0 * (double)(c->all - c->accepted - c->rejected) / all,
           100.0 * (double)c->rejected / all, c->all);
    fflush(stdout);
}

/* One row at an angle; the limit is the true worst value plus `good_by`. */
static counts at_limit(world *w, size_t runs, double aoi_rad, double good_by, bool index_off)
{
    bc_process_row row = {.material = "*",
                          .tooling = 1.0,
                          .has_thickness_sigma = true,
                          .thickness_sigma = SCATTER,
                          .has_index_sigma = true,
                          .index_sigma = INDEX_SIGMA};
    const bc_process process = {.rows = 1, .row = &row, .has_thickness_sigma = true, .has_index_sigma = true};
    counts c = {0};
    for (size_t r = 0; r < runs * DESIGNS; r++) {
        const size_t d = r % DESIGNS;
        double exact[POINTS];
        bc_inspect_setup setup = bc_inspect_defaults(&w->design[d]);
        made m = made_as_designed(w, d);
        bc_callout callout = {.name = "row",
                              .quantity = BC_R,
                              .statistic = BC_EXTREME,
                              .sense = BC_AT_MOST,
                              .from_nm = BAND_FROM_NM,
                              .to_nm = BAND_TO_NM,
                              .aoi_from_rad = aoi_rad,
                              .aoi_to_rad = aoi_rad,
                              .polarization = BC_POL_UNPOLARIZED};
        const bc_callouts callouts = {.count = 1, .callout = &callout};
        setup.process = &process;
        setup.callouts = &callouts;
        setup.uncertainty = w->uncertainty;
        setup.from_fit = aoi_rad > 0.0;
        made_scatter(w, &m, SCATTER);
        for (size_t a = 0; index_off && a < AT_HAND; a++) {
            const double dn = world_normal(w, INDEX_SIGMA);
            for (size_t j = 0; j < m.layers; j++)
                m.dn[j] += m.material[j] == w->medium[a].dispersion ? dn : 0.0;
        }
        callout.limit = true_worst(w, &m, aoi_rad) + good_by;
        scan_exact(w, &m, exact);
        judge(w, &setup, exact, &c);
    }
    return c;
}

void table_verdict(world *w, size_t runs)
{
    counts c;
    w->noise = 3e-4;
    w->uncertainty = 2e-4;
    printf("Rmax <= limit, %g to %g nm; noise %.2g %%, U = %.2g %%; %zu lots of each of %d designs, %d scans each\n",
           BAND_FROM_NM, BAND_TO_NM, 100.0 * w->noise, 100.0 * w->uncertainty, runs, DESIGNS, DRAWS);
    c = at_limit(w, runs, 0.0, 0.0, false);
    show("at the limit", &c);
    c = at_limit(w, runs, 0.0, 0.0, true);
    show("at the limit, index off", &c);
    c = at_limit(w, runs, 0.0, GOOD_BY, false);
    show("good by 0.08 %", &c);
    c = at_limit(w, runs, 0.0, -GOOD_BY, false);
    show("bad by 0.08 %", &c);
    c = at_limit(w, runs, OBLIQUE, 0.0, false);
    show("from the fit at 40 degrees, at the limit", &c);
    c = at_limit(w, runs, OBLIQUE, 0.0, true);
    show("the same, index off", &c);
    c = at_limit(w, runs, OBLIQUE, GOOD_BY, true);
    show("the same, good by 0.08 %", &c);
}
