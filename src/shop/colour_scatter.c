/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/colour_scatter.h>
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>

#define SHARE 0.95

/* The value that SHARE of them stay below. */
static double most(double *value, size_t count)
{
    gsl_sort(value, 1, count);
    return gsl_stats_quantile_from_sorted_data(value, 1, count, SHARE);
}

bc_status bc_colour_scatter_find(const bc_colour *design, size_t runs, bc_colour_scatter *scatter, bc_error *error)
{
    const bc_colour *run = scatter->run;
    double *value = calloc(runs, sizeof *value);
    if (value == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < runs; i++)
        value[i] = run[i].a;
    scatter->a_sigma = runs > 1 ? gsl_stats_sd(value, 1, runs) : NAN;
    for (size_t i = 0; i < runs; i++)
        value[i] = run[i].b;
    scatter->b_sigma = runs > 1 ? gsl_stats_sd(value, 1, runs) : NAN;
    for (size_t i = 0; i < runs; i++)
        value[i] = run[i].luminous;
    scatter->luminous_sigma = runs > 1 ? gsl_stats_sd(value, 1, runs) : NAN;
    for (size_t i = 0; i < runs; i++)
        value[i] = bc_colour_difference(design, &run[i]);
    scatter->from_design = most(value, runs);
    for (size_t i = 0; i + 1 < runs; i += 2)
        value[i / 2] = bc_colour_difference(&run[i], &run[i + 1]);
    scatter->between = runs > 1 ? most(value, runs / 2) : NAN;
    free(value);
    return BC_OK;
}
