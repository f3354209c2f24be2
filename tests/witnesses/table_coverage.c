/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "world.h"
#include <math.h>
#include <stdio.h>

#define SCATTER     0.01
#define INDEX_SIGMA 0.01
#define SCALE_SIGMA 0.02
#define SHIFT_SIGMA 1.0

enum { TRUE_MODEL, INDEX_OFF, SCALE_OFF, WAVELENGTH_OFF, WORLDS };

static void disturb(world *w, int which, made *m)
{
    for (size_t a = 0; which == INDEX_OFF && a < AT_HAND; a++) {
        const double dn = world_normal(w, INDEX_SIGMA);
        for (size_t j = 0; j < m->layers; j++)
            m->dn[j] += m->material[j] == w->medium[a].dispersion ? dn : 0.0;
    }
    m->scale += which == SCALE_OFF ? world_normal(w, SCALE_SIGMA) : 0.0;
    m->shift_nm += which == WAVELENGTH_OFF ? world_normal(w, SHIFT_SIGMA) : 0.0;
}

void table_coverage(world *w, size_t runs)
{
    static const char *const words[WORLDS] = {"as the model says", "index off (0.01)", "R scale off (2 %)",
                                              "wavelength off (1 nm)"};
    bc_process_row row = {.material = "*",
                          .tooling = 1.0,
                          .has_thickness_sigma = true,
                          .thickness_sigma = SCATTER,
                          .has_index_sigma = true,
                          .index_sigma = INDEX_SIGMA};
    const bc_process process = {.rows = 1, .row = &row, .has_thickness_sigma = true, .has_index_sigma = true};
    double exact[POINTS];
    w->noise = 2e-4;
    w->uncertainty = 5e-4;
    printf(
        "Fitted thicknesses within two standard errors of the truth; %zu runs of each of %d designs, %.0f %% scatter,\n"
        "noise %.2g %%, U = %.2g %%; standard deviations of what is off in brackets, the process and the inputs say "
        "so.\n"
        "%-24s within  mean error over design, %%\n",
        runs, DESIGNS, 100.0 * SCATTER, 100.0 * w->noise, 100.0 * w->uncertainty, "world");
    for (int which = 0; which < WORLDS; which++) {
        size_t within = 0, all = 0;
        double sigma = 0.0;
        for (size_t r = 0; r < runs * DESIGNS; r++) {
            const size_t d = r % DESIGNS;
            bc_inspect_setup setup = bc_inspect_defaults(&w->design[d]);
            made m = made_as_designed(w, d);
            bc_measurement scan;
            bc_inspect_result result;
            setup.process = &process;
            setup.uncertainty = w->uncertainty;
            setup.wavelength_uncertainty_nm = which == WAVELENGTH_OFF ? 2.0 * SHIFT_SIGMA : 0.0;
            setup.scale_uncertainty = which == SCALE_OFF ? 2.0 * SCALE_SIGMA : 0.0;
            made_scatter(w, &m, SCATTER);
            disturb(w, which, &m);
            scan_exact(w, &m, exact);
            scan = scan_of(w, exact);
            result = look(&scan, &setup);
            for (size_t j = 0; j < result.layers; j++, all++) {
                within += fabs(result.layer[j].fitted_nm - m.nm[j]) <= 2.0 * result.layer[j].sigma_nm;
                sigma += result.layer[j].sigma_nm / result.layer[j].design_nm;
            }
            bc_inspect_result_clear(&result);
            bc_measurement_clear(&scan);
        }
        printf("%-24s %4.1f %%  %.3f\n", words[which], 100.0 * (double)within / (double)all,
               100.0 * sigma / (double)all);
        fflush(stdout);
    }
}
