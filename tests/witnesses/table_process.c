/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "world.h"
#include <bloomcoat/runs.h>
#include <math.h>
#include <stdio.h>

#define LAYER_SIGMA 0.010
#define RUN_SIGMA   0.015
#define MOST_RUNS   8

enum { RIGHT, ONE_OFF, KINDS };

/* What a lot of runs comes to. */
typedef struct tally {
    size_t lots, materials, factor_in, layer_in, run_in, touched;
    double layer, run, before, after; /* sums: logarithms of the sigmas; squares of what the tooling is off */
} tally;

static double off(const world *w, int kind, const bc_dispersion *material)
{
    return kind == ONE_OFF && material == w->medium[HFO2].dispersion ? 0.03 : 0.0;
}

static void make_lot(world *w, size_t d, int kind, size_t runs, const bc_inspect_setup *setup,
                     bc_inspect_result *witness)
{
    for (size_t r = 0; r < runs; r++) {
        made m = made_as_designed(w, d);
        const double of_run = world_normal(w, RUN_SIGMA);
        double exact[POINTS];
        for (size_t j = 0; j < m.layers; j++)
            m.nm[j] *= 1.0 + off(w, kind, m.material[j]) + of_run;
        made_scatter(w, &m, LAYER_SIGMA);
        scan_exact(w, &m, exact);
        bc_measurement scan = scan_of(w, exact);
        witness[r] = look(&scan, setup);
        bc_measurement_clear(&scan);
    }
}

static void count(const world *w, int kind, const bc_runs *found, tally *all)
{
    all->lots++;
    all->run += log(found->run_sigma.value);
    all->run_in += found->run_sigma.low <= RUN_SIGMA && RUN_SIGMA <= found->run_sigma.high;
    for (size_t m = 0; m < found->materials; m++) {
        const bc_runs_material *material = &found->material[m];
        const double truth = 1.0 + off(w, kind, material->material.dispersion);
        all->materials++;
        all->factor_in += material->factor.low <= truth && truth <= material->factor.high;
        all->layer_in += material->sigma.low <= LAYER_SIGMA && LAYER_SIGMA <= material->sigma.high;
        all->layer += log(material->sigma.value);
        all->touched += material->correction != 1.0;
        all->before += pow(truth - 1.0, 2.0);
        all->after += pow(truth / material->correction - 1.0, 2.0);
    }
}

void table_process(world *w, size_t lots)
{
    static const char *const words[KINDS] = {"tooling right", "HfO2 +3 %"};
    static const size_t runs[] = {3, MOST_RUNS};
    /* The process file is wrong about both sigmas: the runs must say so. */
    bc_process_row row = {.material = "*",
                          .tooling = 1.0,
                          .has_tooling = true,
                          .has_thickness_sigma = true,
                          .thickness_sigma = 0.015,
                          .has_run_thickness_sigma = true,
                          .run_thickness_sigma = 0.010};
    const bc_process process = {
        .rows = 1, .row = &row, .has_thickness_sigma = true, .has_run_thickness_sigma = true, .has_tooling = true};
    w->noise = 1e-4;
    w->uncertainty = 5e-4;
    printf(
        "What lots of runs say of the chamber (--next-process): true scatter %.1f %% of a layer and %.1f %% of a run,\n"
        "%.1f and %.1f %% in the process file; %zu lots of each of %d designs. Shares of 95 %% intervals that hold "
        "the\n"
        "truth; geometric means; rms error of the tooling before and after.\n"
        "%-14s runs  factor  layer  run   layer %%  run %%  touched  off before  after\n",
        100.0 * LAYER_SIGMA, 100.0 * RUN_SIGMA, 100.0 * row.thickness_sigma, 100.0 * row.run_thickness_sigma, lots,
        DESIGNS, "");
    for (int kind = 0; kind < KINDS; kind++)
        for (size_t n = 0; n < sizeof runs / sizeof runs[0]; n++) {
            tally all = {0};
            for (size_t l = 0; l < lots * DESIGNS; l++) {
                bc_inspect_setup setup = bc_inspect_defaults(&w->design[l % DESIGNS]);
                bc_inspect_result witness[MOST_RUNS];
                bc_runs found;
                bc_error error;
                setup.process = &process;
                setup.uncertainty = w->uncertainty;
                make_lot(w, l % DESIGNS, kind, runs[n], &setup, witness);
                if (bc_runs_estimate(runs[n], witness, &setup, &found, &error) == BC_OK && found.materials > 0)
                    count(w, kind, &found, &all);
                bc_runs_clear(&found);
                for (size_t r = 0; r < runs[n]; r++)
                    bc_inspect_result_clear(&witness[r]);
            }
            const double m = (double)all.materials, lot = (double)all.lots;
            printf("%-14s %4zu  %4.0f %%  %3.0f %%  %3.0f %%  %6.2f  %5.2f  %4.0f %%  %8.2f %%  %4.2f %%\n",
                   words[kind], runs[n], 100.0 * (double)all.factor_in / m, 100.0 * (double)all.layer_in / m,
                   100.0 * (double)all.run_in / lot, 100.0 * exp(all.layer / m), 100.0 * exp(all.run / lot),
                   100.0 * (double)all.touched / m, 100.0 * sqrt(all.before / m), 100.0 * sqrt(all.after / m));
            fflush(stdout);
        }
}
