/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "outliers.h"
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NOTHING_LEFT 1.2 /* times the noise: with a largest value below the next there is nothing to look for */
#define NOTHING_FAR  5.0
#define BIWEIGHT     4.685
#define TURNS        6
#define STEPS        20
#define FAR          6.0
#define PER_MEDIAN   1.4826022185056018
#define EXPLAINED    2.0 /* times the noise: what the others may leave */
#define IN_LINE      2
#define ONE_IN       50

typedef struct looking {
    bc_inspection *inspection;
    bc_fit *fit;
    bc_fit_point point;
    double *rest[2], *sorted, *memory;
    double spread[2]; /* 1.4826 times the median of what is left, in units of the noise */
} looking;

/* What is left at every point, in units of the noise. */
static void look(looking *l)
{
    const size_t count = l->fit->setup.count;
    for (size_t r = 0; r < l->fit->setup.readings; r++) {
        const bc_reading *reading = l->fit->setup.reading[r];
        bc_fit_remainder(l->fit, &l->point, r, l->rest[r]);
        for (size_t i = 0; i < count; i++) {
            l->rest[r][i] /= fmax(BC_LEAST_NOISE, reading->noise[l->fit->setup.first + i]);
            l->sorted[i] = fabs(l->rest[r][i]);
        }
        gsl_sort(l->sorted, 1, count);
        l->spread[r] = fmax(1.0, PER_MEDIAN * gsl_stats_median_from_sorted_data(l->sorted, 1, count));
    }
}

static bool worth_looking(const looking *l)
{
    const size_t count = l->fit->setup.count;
    double square = 0.0, farthest = 0.0;
    for (size_t r = 0; r < l->fit->setup.readings; r++)
        for (size_t i = 0; i < count; i++) {
            square += l->rest[r][i] * l->rest[r][i] / (double)(count * l->fit->setup.readings);
            farthest = fmax(farthest, fabs(l->rest[r][i]));
        }
    return square > NOTHING_LEFT * NOTHING_LEFT || farthest > NOTHING_FAR;
}

static bc_status reweight(looking *l, bc_error *error)
{
    const bc_family family = {.free = l->fit->layers, .index = l->fit->has_index};
    bc_status status = BC_OK;
    for (int turn = 0; status == BC_OK && turn < TURNS; turn++) {
        for (size_t r = 0; r < l->fit->setup.readings; r++)
            for (size_t i = 0; i < l->fit->setup.count; i++) {
                const double u = l->rest[r][i] / (BIWEIGHT * l->spread[r]);
                l->fit->weight[r][i] = fabs(u) < 1.0 ? pow(1.0 - u * u, 2.0) : 0.0;
            }
        status = bc_fit_minimize(l->fit, &family, NULL, NULL, STEPS, &l->point, error);
        look(l);
    }
    return status;
}

/* Mark what lies far off; whether it is few enough, and the others explained. */
static bool mark(looking *l)
{
    const size_t count = l->fit->setup.count;
    size_t marked = 0, longest = 0;
    bool explained = true;
    for (size_t r = 0; r < l->fit->setup.readings; r++) {
        bool *outlier = l->fit->setup.reading[r]->outlier + l->fit->setup.first;
        size_t in_line = 0;
        double square = 0.0, used = 0.0;
        for (size_t i = 0; i < count; i++) {
            outlier[i] = fabs(l->rest[r][i]) > FAR * l->spread[r];
            in_line = outlier[i] ? in_line + 1 : 0;
            longest = in_line > longest ? in_line : longest;
            marked += outlier[i];
            square += outlier[i] ? 0.0 : l->rest[r][i] * l->rest[r][i];
            used += outlier[i] ? 0.0 : 1.0;
        }
        explained = explained && square <= EXPLAINED * EXPLAINED * used;
    }
    if (marked > 0 && explained && longest <= IN_LINE && marked <= BC_MOST_OUTLIERS && marked <= 1 + count / ONE_IN)
        return true;
    for (size_t r = 0; r < l->fit->setup.readings; r++)
        memset(l->fit->setup.reading[r]->outlier, 0, l->fit->setup.reading[r]->count * sizeof(bool));
    return false;
}

bc_status bc_find_outliers(bc_inspection *inspection, bool *found, bc_error *error)
{
    bc_fit *fit = &inspection->fit;
    const bc_fit_point *from = &inspection->solution.point;
    const size_t count = fit->setup.count;
    looking l = {.inspection = inspection, .fit = fit, .point = *from};
    bc_status status = BC_OK;
    *found = false;
    l.memory = calloc(3 * count + fit->layers + fit->materials, sizeof *l.memory);
    if (l.memory == NULL)
        return bc_fail_memory(error);
    l.rest[0] = l.memory;
    l.rest[1] = l.memory + count;
    l.sorted = l.memory + 2 * count;
    l.point.thickness_nm = l.memory + 3 * count;
    l.point.dn = l.point.thickness_nm + fit->layers;
    memcpy(l.point.thickness_nm, from->thickness_nm, fit->layers * sizeof(double));
    memcpy(l.point.dn, from->dn, fit->materials * sizeof(double));
    look(&l);
    if (worth_looking(&l)) {
        const double inflation = fit->inflation;
        fit->inflation = 1.0;
        status = reweight(&l, error);
        *found = status == BC_OK && mark(&l);
        fit->inflation = inflation;
        for (size_t r = 0; r < fit->setup.readings; r++)
            for (size_t i = 0; i < count; i++)
                fit->weight[r][i] = 1.0;
    }
    free(l.memory);
    return status;
}

void bc_tell_outliers(bc_inspection *inspection)
{
    const bc_readings *readings = &inspection->readings;
    bc_inspect_result *result = inspection->result;
    const bc_reading *const reading[] = {&readings->R, &readings->T};
    const bc_overlay *const overlay[] = {&result->R, &result->T};
    result->outliers = 0;
    for (size_t q = 0; q < 2; q++)
        for (size_t i = 0; i < overlay[q]->count && result->outliers < BC_MOST_OUTLIERS; i++)
            if (reading[q]->outlier[readings->first + i])
                result->outlier[result->outliers++] =
                    (bc_outlier){.quantity = reading[q]->quantity,
                                 .wavelength_nm = overlay[q]->wavelength_nm[i],
                                 .value = overlay[q]->measured[i],
                                 .away = overlay[q]->from_fitted[i],
                                 .in_noise = overlay[q]->from_fitted[i] / fmax(BC_LEAST_NOISE, overlay[q]->noise[i])};
}
