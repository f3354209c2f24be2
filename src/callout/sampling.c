/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/check.h>
#include <bloomcoat/cie.h>
#include <bloomcoat/sampling.h>
#include <math.h>

#define FEWEST_INTERVALS             200
#define STEPS_IN_SHORTEST_WAVELENGTH 400.0
#define STEPS_IN_FRINGE              16.0
#define STEPS_IN_ROW                 2.0 /* of a weight */
#define MOST_FOR_WEIGHT              4000.0
#define ANGLES_APART                 (5.0 * M_PI / 180.0)
#define ANGLES_IN_FRINGE             8.0

bc_status bc_optical_thickness(const bc_stack *stack, double wavelength_nm, double *optical_nm, bc_error *error)
{
    *optical_nm = 0.0;
    for (size_t j = 0; j < stack->layers; j++) {
        double n;
        const bc_status status =
            bc_dispersion_index(stack->layer[j].material.dispersion, 1, &wavelength_nm, &n, NULL, error);
        if (status != BC_OK)
            return status;
        *optical_nm += n * stack->layer[j].thickness_nm;
    }
    return bc_refuse_waves(*optical_nm, wavelength_nm, error);
}

/* Of the layers of one surface. */
static bc_status fringes_of(const bc_stack *stack, double wavelength_nm, bc_fringes *fringes, bc_error *error)
{
    double incident;
    bc_status status = bc_optical_thickness(stack, wavelength_nm, &fringes->optical_nm, error);
    if (status == BC_OK)
        status = bc_dispersion_index(stack->incident.dispersion, 1, &wavelength_nm, &incident, NULL, error);
    fringes->tilt_nm = 0.0;
    for (size_t j = 0; status == BC_OK && j < stack->layers; j++) {
        const bc_layer *layer = &stack->layer[j];
        double n;
        status = bc_dispersion_index(layer->material.dispersion, 1, &wavelength_nm, &n, NULL, error);
        if (status == BC_OK)
            fringes->tilt_nm += layer->thickness_nm * (n >= incident ? incident * incident / n : n);
    }
    return status;
}

bc_status bc_fringes_of(const bc_stack *stack, const bc_back *back, double wavelength_nm, bc_fringes *fringes,
                        bc_error *error)
{
    bc_fringes behind = BC_NO_FRINGES;
    bc_status status = fringes_of(stack, wavelength_nm, fringes, error);
    if (status == BC_OK && back != NULL && back->kind == BC_BACK_OWN)
        status = fringes_of(back->stack, wavelength_nm, &behind, error);
    if (status == BC_OK)
        *fringes = (bc_fringes){fmax(fringes->optical_nm, behind.optical_nm), fmax(fringes->tilt_nm, behind.tilt_nm)};
    return status;
}

bc_fringes bc_scale_fringes(bc_fringes fringes, double factor)
{
    return (bc_fringes){factor * fringes.optical_nm, factor * fringes.tilt_nm};
}

void bc_asked_band(const bc_callouts *callouts, size_t substrates, const bc_medium *substrate, double *from_nm,
                   double *to_nm)
{
    *from_nm = INFINITY;
    *to_nm = 0.0;
    for (size_t c = 0; c < callouts->count; c++) {
        const bc_callout *callout = &callouts->callout[c];
        bool applies = false;
        for (size_t g = 0; g < substrates; g++)
            applies = applies || bc_callout_applies(callout, substrate[g].name);
        if (!applies)
            continue;
        *from_nm = fmin(*from_nm, callout->from_nm);
        *to_nm = fmax(*to_nm, callout->to_nm);
    }
}

size_t bc_sampling_wavelengths(const bc_callout *callout, double optical_nm)
{
    const double width = callout->to_nm - callout->from_nm;
    if (bc_callout_has_own_band(callout))
        return BC_CIE_ROWS;
    const double by_wavelength = ceil(width / callout->from_nm * STEPS_IN_SHORTEST_WAVELENGTH);
    const double by_fringe = ceil(width * 2.0 * optical_nm / (callout->from_nm * callout->from_nm) * STEPS_IN_FRINGE);
    double intervals = fmax(FEWEST_INTERVALS, fmax(by_wavelength, by_fringe));
    if (width <= 0.0)
        return 1;
    if (callout->weight != NULL) {
        const double row_nm = bc_weight_finest_nm(callout->weight, callout->from_nm, callout->to_nm);
        intervals = fmax(intervals, fmin(MOST_FOR_WEIGHT, STEPS_IN_ROW * width / row_nm));
    }
    return 2 * (size_t)ceil(intervals / 2.0) + 1;
}

size_t bc_sampling_angles(const bc_callout *callout, double most_rad)
{
    const double width = callout->aoi_to_rad - callout->aoi_from_rad;
    if (width <= 0.0)
        return 1;
    return (size_t)ceil(width / most_rad - 1e-9) + 1;
}

size_t bc_sampling_verdict_angles(const bc_callout *callout, double tilt_nm)
{
    const double fringe_rad = callout->from_nm / (2.0 * tilt_nm * sin(callout->aoi_to_rad));
    return bc_sampling_angles(callout, fmin(ANGLES_APART, fringe_rad / ANGLES_IN_FRINGE));
}

double bc_sampling_at(double from, double to, size_t count, size_t i)
{
    if (i == 0 || count == 1)
        return from;
    if (i == count - 1)
        return to;
    return from + (to - from) * (double)i / (double)(count - 1);
}

static double simpson(size_t count, size_t i)
{
    if (count == 1)
        return 1.0;
    return (i == 0 || i == count - 1 ? 1.0 : i % 2 == 1 ? 4.0 : 2.0) / (3.0 * (double)(count - 1));
}

void bc_sampling_weigh(const bc_callout *callout, size_t count, const double *wavelength_nm, double *weight)
{
    double sum = 0.0;
    if (callout->weight == NULL)
        return;
    for (size_t i = 0; i < count; i++) {
        weight[i] *= bc_weight_at(callout->weight, wavelength_nm[i]);
        sum += weight[i];
    }
    for (size_t i = 0; i < count; i++)
        weight[i] = sum > 0.0 ? weight[i] / sum : 1.0 / (double)count;
}

void bc_sampling_set(const bc_callout *callout, size_t count, double *wavelength_nm, double *weight)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        const double nm = bc_sampling_at(callout->from_nm, callout->to_nm, count, i);
        if (wavelength_nm != NULL)
            wavelength_nm[i] = nm;
        if (weight == NULL)
            continue;
        weight[i] = bc_callout_has_own_band(callout) ? 1.0 : simpson(count, i);
        if (callout->weight != NULL)
            weight[i] *= bc_weight_at(callout->weight, nm);
        sum += weight[i];
    }
    for (size_t i = 0; weight != NULL && callout->weight != NULL && i < count; i++)
        weight[i] /= sum;
}

void bc_sampling_colour(const bc_callout *callout, size_t count, const double *wavelength_nm, const double *rule,
                        double *weight)
{
    bc_callout one = *callout;
    for (int function = 0; function < 3; function++) {
        double *of_function = weight + (size_t)function * count;
        one.weight = bc_weight_tristimulus(callout->illuminant, callout->observer, function);
        for (size_t i = 0; i < count; i++)
            of_function[i] = rule == NULL ? 1.0 : rule[i];
        bc_sampling_weigh(&one, count, wavelength_nm, of_function);
    }
}
