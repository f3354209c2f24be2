/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "grading.h"
#include "processors.h"
#include <gsl/gsl_errno.h>
#include <gsl/gsl_integration.h>
#include <math.h>

/* So many sublayers that R and T are within 1e-6. Measured on 18,000 random stacks of up to three layers against
 * integrated equations (tests/reference/test_graded.c, with more trials): gradients of up to 10 % were within 7e-7 at
 * angles up to 74 degrees; of up to 50 %, one value of 12,000 was 1.7e-6 off. A rule of m nodes follows a phase of m
 * radians; steep gradients take more. Light that arrives obliquely adds, for p, the average of 1/N^2, which no stair
 * has that has the average of N^2. */
static double count(double gradient, double phase, double beta)
{
    const double g = fabs(gradient);
    return ceil(fmax(8.0 + (0.8 + 8.0 * g) * phase, g * beta * fmax(1200.0, 280.0 * sqrt(phase))));
}

#define MOST_SUBLAYERS 2000.0

bc_status bc_count_sublayers(const bc_surface_setup *setup, size_t m, size_t *sublayers, bc_error *error)
{
    const double *outside = setup->invariant_n != NULL ? setup->invariant_n : setup->incident.n;
    const double gradient = setup->gradient == NULL ? 0.0 : setup->gradient[m];
    double phase = setup->graded_optical_nm > 0.0 ? 0.0 : 2.0 * M_PI, beta = 0.0, needed;
    *sublayers = 0;
    if (gradient == 0.0)
        return BC_OK;
    if (!(fabs(gradient) <= BC_MOST_GRADIENT))
        return bc_fail(error, BC_ERROR_INPUT, "an index gradient of %g %%; expected one from %g to %g %%",
                       100.0 * gradient, -100.0 * BC_MOST_GRADIENT, 100.0 * BC_MOST_GRADIENT);
    for (size_t i = 0; i < setup->wavelengths; i++) {
        phase = fmax(phase, 2.0 * M_PI * setup->graded_optical_nm / setup->wavelength_nm[i]);
        beta = fmax(beta, outside[i] * sin(setup->aoi_rad));
    }
    needed = count(gradient, phase, beta);
    if (!(needed <= MOST_SUBLAYERS))
        return bc_fail(error, BC_ERROR_INPUT,
                       "a layer with an index gradient of %g %% holds %.4g waves at the shortest wavelength, too many "
                       "for one layer; expected it as several layers, each with its part of the gradient",
                       100.0 * gradient, phase / (2.0 * M_PI));
    *sublayers = (size_t)needed;
    return BC_OK;
}

bc_status bc_set_steps(bc_grading *grading, bc_error *error)
{
    const size_t last = grading->sublayers - 1;
    gsl_integration_glfixed_table *rule;
    gsl_set_error_handler_off(); /* GSL would abort the program when memory runs out */
    rule = gsl_integration_glfixed_table_alloc(last);
    if (rule == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < last; i++)
        gsl_integration_glfixed_point(0.0, 1.0, i, &grading->at[i], &grading->weight[i], rule);
    grading->at[last] = 1.0;
    grading->weight[last] = 0.0;
    gsl_integration_glfixed_table_free(rule);
    return BC_OK;
}

void bc_set_stair(bc_grading *grading, double gradient)
{
    const size_t last = grading->sublayers - 1;
    const double lowest = 1.0 - 0.5 * gradient;
    double square = lowest * lowest, linear = lowest, from = 0.0;
    for (size_t i = 0; i <= last; i++) { /* from the substrate side up: the last of the sublayers is the lowest */
        const double at = grading->at[i], weight = grading->weight[i];
        grading->share[last - i] = at - from;
        grading->square[last - i] = square;
        grading->linear[last - i] = linear;
        square += 2.0 * weight * gradient * (1.0 + gradient * (at - 0.5));
        linear += weight * gradient;
        from = at;
    }
}

/* The root of N^2, without hypot(): indices of layers are nowhere near what overflows or vanishes when squared. */
FOR_EVERY_PROCESSOR static void set_root(size_t count, double a, double b, double dn, const double *restrict of_n,
                                         const double *restrict of_k, double *restrict to_n, double *restrict to_k)
{
    for (size_t i = 0; i < count; i++) {
        const double n = bc_shifted_index(of_n[i], dn), k = of_k[i];
        const double re = n * n * a - k * k, im = 2.0 * n * k * b, size = sqrt(re * re + im * im);
        const double large = sqrt(0.5 * (size + fabs(re))), small = 0.5 * im / large;
        to_n[i] = re >= 0.0 ? large : small;
        to_k[i] = re >= 0.0 ? small : large;
    }
}

/* The same where nothing is absorbed. */
FOR_EVERY_PROCESSOR static void scale(size_t count, double factor, double dn, const double *restrict of_n,
                                      double *restrict to_n, double *restrict to_k)
{
    for (size_t i = 0; i < count; i++) {
        to_n[i] = factor * bc_shifted_index(of_n[i], dn);
        to_k[i] = 0.0;
    }
}

static bool absorbs(size_t count, const double *k)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++)
        sum += k[i];
    return sum > 0.0;
}

void bc_set_sublayer(const bc_light *light, const bc_grading *grading, size_t sublayer, const bc_medium_arrays *of,
                     double dn, const bc_medium_arrays *to)
{
    if (!absorbs(light->padded, of->k))
        scale(light->padded, sqrt(grading->square[sublayer]), dn, of->n, to->n, to->k);
    else
        set_root(light->padded, grading->square[sublayer], grading->linear[sublayer], dn, of->n, of->k, to->n, to->k);
}
