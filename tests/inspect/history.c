/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "history.h"
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_randist.h>
#include <stdlib.h>
#include <string.h>

#define DN_SIGMA 0.002

bc_inspect_result history_pattern(bench *b, double noise)
{
    const truth t = bench_truth(b);
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R | BC_MEASURED_T, 400.0, 4.0, 101);
    bc_inspect_result result;
    scan_disturb(b, &scan, noise, 0.0);
    result = bench_inspect(b, &scan);
    bc_measurement_clear(&scan);
    return result;
}

static size_t material_of(const bench *b, size_t j)
{
    return strcmp(b->design.layer[j].material.name, b->design.layer[0].material.name) == 0 ? 0 : 1;
}

static void make_layers(const bench *b, bc_learn_run *run)
{
    run->layers = b->design.layers;
    run->layer = calloc(run->layers, sizeof *run->layer);
    run->information = calloc(run->layers * run->layers, sizeof *run->information);
    run->pull = calloc(run->layers, sizeof *run->pull);
    run->index = calloc(1, sizeof *run->index);
    for (size_t j = 0; j < run->layers; j++) {
        strcpy(run->layer[j].material, b->design.layer[j].material.name);
        run->layer[j].design_nm = b->design.layer[j].thickness_nm;
    }
}

/* The scan's own error is drawn from its information: pull = I thickness + L z for I = L L^T. */
static void scan_run(bench *b, const bc_inspect_result *pattern, const gsl_matrix *factor, const double *nm,
                     bc_learn_run *run)
{
    double z[MOST_LAYERS];
    memcpy(run->information, pattern->information, run->layers * run->layers * sizeof(double));
    for (size_t j = 0; j < run->layers; j++)
        z[j] = gsl_ran_gaussian(b->random, 1.0);
    for (size_t j = 0; j < run->layers; j++)
        for (size_t k = 0; k < run->layers; k++) {
            run->pull[j] += run->information[j * run->layers + k] * nm[k];
            if (k <= j)
                run->pull[j] += gsl_matrix_get(factor, j, k) * z[k];
        }
}

bc_learn_run *history_make(bench *b, const bc_inspect_result *pattern, const history_truth *was, size_t runs)
{
    const size_t layers = b->design.layers;
    bc_learn_run *run = calloc(runs, sizeof *run);
    gsl_matrix *factor = gsl_matrix_alloc(layers, layers);
    double own[MOST_LAYERS];
    for (size_t j = 0; j < layers; j++)
        own[j] = gsl_ran_gaussian(b->random, was->between_layers);
    for (size_t i = 0; i < layers * layers; i++)
        gsl_matrix_set(factor, i / layers, i % layers, pattern->information[i]);
    gsl_linalg_cholesky_decomp1(factor);
    for (size_t r = 0; r < runs; r++) {
        const double of_run = gsl_ran_gaussian(b->random, was->between_runs);
        const double time = runs > 1 ? (double)r / (double)(runs - 1) - 0.5 : 0.0;
        double nm[MOST_LAYERS];
        make_layers(b, &run[r]);
        for (size_t j = 0; j < layers; j++) {
            const size_t m = material_of(b, j);
            nm[j] = b->design.layer[j].thickness_nm * (1.0 + was->off[m] + was->line[m] * time + own[j] + of_run +
                                                       gsl_ran_gaussian(b->random, was->within[m]));
        }
        scan_run(b, pattern, factor, nm, &run[r]);
        if (was->index > 0.0) {
            strcpy(run[r].index[0].material, b->design.layer[0].material.name);
            run[r].index[0].dn_sigma = DN_SIGMA;
            run[r].index[0].dn = gsl_ran_gaussian(b->random, was->index) + gsl_ran_gaussian(b->random, DN_SIGMA);
            run[r].indices = 1;
        }
    }
    gsl_matrix_free(factor);
    return run;
}

void history_clear(size_t runs, bc_learn_run *run)
{
    for (size_t r = 0; r < runs; r++)
        bc_learn_run_clear(&run[r]);
    free(run);
}
