/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What the agreement of searches is worth: random problems, each searched with some effort and with twenty times as
 * much. In what share of them is the second better by over 1 %, for each number of searches that ended at the best
 * design?
 */
#include "bench.h"
#include <gsl/gsl_rng.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define ROWS    3
#define MEDIA   3
#define BETTER  0.99
#define TIMES   20.0
#define BUCKETS 6 /* the last: so many and more */
#define DEGREE  (3.14159265358979323846 / 180.0)

typedef struct random_problem {
    bc_callout callout[ROWS];
    bc_callouts callouts;
    bc_medium substrate, material[MEDIA];
    bc_design_problem design;
} random_problem;

static double between(gsl_rng *rng, double low, double high)
{
    return low + (high - low) * gsl_rng_uniform(rng);
}

static void find(bc_materials *materials, double n, bc_medium *medium)
{
    char name[32];
    bc_error error;
    snprintf(name, sizeof name, "%.2f", n);
    if (bc_medium_find(materials, name, NULL, medium, &error) != BC_OK) {
        fprintf(stderr, "%s\n", error.message);
        exit(EXIT_FAILURE);
    }
}

/* One to three bands at one angle each, two or three indices, three to eight layers. */
static void make_problem(gsl_rng *rng, bc_materials *materials, random_problem *p)
{
    const size_t rows = 1 + gsl_rng_uniform_int(rng, ROWS), media = 2 + gsl_rng_uniform_int(rng, 2);
    double from_nm = between(rng, 380.0, 700.0);
    *p = (random_problem){.callouts = {.count = rows, .callout = p->callout}};
    for (size_t r = 0; r < rows; r++) {
        const double to_nm = from_nm * between(rng, 1.01, rows == 1 ? 2.2 : 1.5);
        const double angle = gsl_rng_uniform(rng) < 0.3 ? between(rng, 0.0, 50.0) * DEGREE : 0.0;
        p->callout[r] = (bc_callout){.limit = between(rng, 0.001, 0.02),
                                     .from_nm = from_nm,
                                     .to_nm = to_nm,
                                     .aoi_from_rad = angle,
                                     .aoi_to_rad = angle,
                                     .polarization = angle > 0.0 ? BC_POL_EACH : BC_POL_UNPOLARIZED};
        snprintf(p->callout[r].name, sizeof p->callout[r].name, "row %zu", r + 1);
        from_nm = to_nm * between(rng, 1.05, 1.6);
    }
    find(materials, between(rng, 1.45, 1.9), &p->substrate);
    find(materials, between(rng, 1.36, 1.47), &p->material[0]);
    find(materials, between(rng, 2.0, 2.4), &p->material[1]);
    find(materials, between(rng, 1.6, 1.8), &p->material[2]);
    p->design = (bc_design_problem){.callouts = &p->callouts,
                                    .substrates = 1,
                                    .substrate = &p->substrate,
                                    .materials = media,
                                    .material = p->material,
                                    .max_layers = 3 + gsl_rng_uniform_int(rng, 6),
                                    .minimum_nm = gsl_rng_uniform(rng) < 0.5 ? 8.0 : 0.0,
                                    .max_total_nm = INFINITY};
    bc_medium_find(materials, "air", NULL, &p->design.incident, NULL);
}

static double solve(const random_problem *p, double effort, unsigned long seed, bc_draft_result *result)
{
    const bc_draft_options options = {.aim = BC_AIM_BEST, .effort = effort, .seed = seed, .threads = 1};
    bc_error error;
    if (bc_draft(&p->design, &options, result, &error) != BC_OK) {
        fprintf(stderr, "%s\n", error.message);
        exit(EXIT_FAILURE);
    }
    return bench_lowest(&p->design, result);
}

typedef struct bucket {
    size_t problems, better;
} bucket;

void bench_calibrate(double effort, unsigned long first, unsigned long count)
{
    bucket buckets[BUCKETS] = {{0}};
    bc_materials *materials;
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    if (rng == NULL || bc_materials_alloc(&materials, NULL) != BC_OK)
        exit(EXIT_FAILURE);
    for (unsigned long k = first; k < first + count; k++) {
        random_problem p;
        bc_draft_result result = {0}, more = {0};
        double found, best;
        gsl_rng_set(rng, k);
        make_problem(rng, materials, &p);
        found = solve(&p, effort, 1, &result);
        best = solve(&p, TIMES * effort, 1000 + k, &more);
        /* Both use next to nothing of the limits: neither is better. */
        const bool better = best < BETTER * found && found > 0.01;
        bucket *into = &buckets[result.agreeing < BUCKETS ? result.agreeing : BUCKETS - 1];
        into->problems++;
        into->better += better;
        printf("problem %lu: %zu layers, %zu materials: %3zu of %3zu agree; %.6f, %.6f%s\n", k, p.design.max_layers,
               p.design.materials, result.agreeing, result.searches, found, best, better ? " better" : "");
        fflush(stdout);
        bc_draft_result_clear(&result);
        bc_draft_result_clear(&more);
    }
    printf("%10s %10s %10s\n", "agreeing", "better", "problems");
    for (size_t b = 0; b < BUCKETS; b++)
        if (buckets[b].problems > 0)
            printf("%9zu%s %10.4f %10zu\n", b, b + 1 == BUCKETS ? "+" : " ",
                   (double)buckets[b].better / (double)buckets[b].problems, buckets[b].problems);
    gsl_rng_free(rng);
    bc_materials_free(materials);
}
