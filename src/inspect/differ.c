/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "differ.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define POINTS   121
#define LOWER    0.75 /* of the first wavelength, and */
#define HIGHER   1.5  /* of the last: what most instruments reach */
#define OBLIQUE  (M_PI / 4.0)
#define LEAST_NM 20.0

bc_status bc_differ_keep(bc_inspection *inspection, const bc_stack *stack, const bc_fit_point *point, size_t materials,
                         size_t which, bc_error *error)
{
    bc_stack *kept = &inspection->stood_for[which];
    const bc_status status = bc_stack_copy(stack, kept, error);
    if (status != BC_OK)
        return status;
    for (size_t j = 0; j < kept->layers; j++)
        kept->layer[j].thickness_nm = point->thickness_nm[j];
    inspection->stood_for_dn[which] = calloc(materials + 1, sizeof(double));
    if (inspection->stood_for_dn[which] == NULL)
        return bc_fail_memory(error);
    memcpy(inspection->stood_for_dn[which], point->dn, materials * sizeof(double));
    return BC_OK;
}

void bc_differ_clear(bc_inspection *inspection)
{
    for (size_t which = 0; which < 2; which++) {
        bc_stack_clear(&inspection->stood_for[which]);
        free(inspection->stood_for_dn[which]);
    }
}

static bc_status look(const bc_inspection *inspection, size_t which, const double *nm, double aoi_rad, double *R,
                      bc_error *error)
{
    const bc_stack *stack = &inspection->stood_for[which];
    bc_model_spectrum simulated;
    bc_status status = bc_model_spectrum_open(stack, NULL, POINTS, nm, aoi_rad, BC_POL_S, &simulated, error);
    if (status != BC_OK)
        return status;
    double *thickness_nm = calloc(stack->layers + 1, sizeof *thickness_nm);
    if (thickness_nm == NULL)
        status = bc_fail_memory(error);
    for (size_t j = 0; status == BC_OK && j < stack->layers; j++)
        thickness_nm[j] = stack->layer[j].thickness_nm;
    for (size_t m = 0; status == BC_OK && m < simulated.materials; m++)
        bc_model_spectrum_shift_index(&simulated, m, inspection->stood_for_dn[which][m]);
    if (status == BC_OK) {
        bc_model_spectrum_compute(&simulated, thickness_nm, false);
        memcpy(R, bc_model_spectrum_value(&simulated, BC_R), POINTS * sizeof *R);
    }
    free(thickness_nm);
    bc_model_spectrum_close(&simulated);
    return status;
}

/* The rms difference of the two; NAN where a table does not reach. */
static bc_status compare(const bc_inspection *inspection, double from_nm, double to_nm, double aoi_rad, double *differ,
                         bc_error *error)
{
    double nm[POINTS], R[2][POINTS], square = 0.0;
    bc_status status = BC_OK;
    for (size_t i = 0; i < POINTS; i++)
        nm[i] = from_nm + (to_nm - from_nm) * (double)i / (POINTS - 1);
    for (size_t which = 0; status == BC_OK && which < 2; which++)
        status = look(inspection, which, nm, aoi_rad, R[which], error);
    *differ = NAN;
    if (status != BC_OK)
        return status == BC_ERROR_INPUT ? BC_OK : status;
    for (size_t i = 0; i < POINTS; i++)
        square += (R[0][i] - R[1][i]) * (R[0][i] - R[1][i]) / POINTS;
    *differ = sqrt(square);
    return BC_OK;
}

static void narrow(const bc_medium *medium, double *from_nm, double *to_nm)
{
    double from, to;
    bc_dispersion_range(medium->dispersion, &from, &to);
    *from_nm = fmax(*from_nm, from);
    *to_nm = fmin(*to_nm, to);
}

bc_status bc_differ(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    const bc_readings *readings = &inspection->readings;
    const double first = readings->wavelength_nm[readings->first];
    const double last = readings->wavelength_nm[readings->first + readings->inside - 1];
    bc_status status;
    result->wider_from_nm = LOWER * first;
    result->wider_to_nm = HIGHER * last;
    for (size_t which = 0; which < 2; which++) {
        const bc_stack *stack = &inspection->stood_for[which];
        narrow(&stack->substrate, &result->wider_from_nm, &result->wider_to_nm);
        for (size_t j = 0; j < stack->layers; j++)
            narrow(&stack->layer[j].material, &result->wider_from_nm, &result->wider_to_nm);
    }
    status = compare(inspection, first, last, OBLIQUE, &result->differ_at_45, error);
    result->differ_in_range = NAN;
    if (status == BC_OK && result->wider_to_nm - result->wider_from_nm > last - first + LEAST_NM)
        status = compare(inspection, result->wider_from_nm, result->wider_to_nm, 0.0, &result->differ_in_range, error);
    return status;
}
