/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "worst.h"
#include "values.h"
#include <bloomcoat/colour.h>
#include <bloomcoat/cone.h>
#include <bloomcoat/sampling.h>
#include <float.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_min.h>
#include <math.h>
#include <stdlib.h>

#define BLOCK_LAYERS   2e7     /* of layers times wavelengths: after so many it is said how far a check is; */
#define BLOCK_MULTIPLE 64      /* wavelengths, so that the vectors are those of one block */
#define MOST_SAMPLES   4000000 /* of wavelengths times angles */
#define PEAKS_FOLLOWED 8
#define BRENT_STEPS    40
#define HALVINGS       6
#define ROUNDS         40 /* of wavelength, then angle, when the worst point lies inside both ranges */

typedef struct probe {
    const bc_stack *stack;
    const bc_callout *callout;
    const bc_back *back;
    bc_polarization plane;
    size_t cone_points;
    bc_cone cone; /* the one opened last, about cone_aoi_rad */
    double cone_aoi_rad;
    size_t count;
    bc_pace *pace;                  /* NULL: nobody wants to know how far it is */
    double *value[2];               /* [count] of each plane */
    double *wavelength_nm, *weight; /* [count] in one allocation; of a colour weight has [3 * count] */
    double at_nm, at_aoi_rad;       /* the variable that stands still during a line search */
    bc_status status;               /* of an evaluation inside GSL's minimizer, which cannot pass one on */
    bc_error *error;
} probe;

/* Larger is worse, whichever way the limit points. */
static double badness(const bc_callout *callout, double value)
{
    return callout->sense == BC_AT_MOST ? value : -value;
}

/* At one angle, or over the cone about it. */
static bc_status look(probe *p, size_t count, const double *wavelength_nm, double aoi_rad, bc_spectrum *spectrum)
{
    bc_status status = BC_OK;
    if (!(p->callout->cone_rad > 0.0))
        return bc_spectrum_compute(p->stack, p->back, count, wavelength_nm, aoi_rad, BC_PATH_AUTO, spectrum, p->error);
    if (p->cone.count == 0 || p->cone_aoi_rad != aoi_rad) {
        status =
            bc_cone_open(aoi_rad, p->callout->cone_rad, p->callout->cone_weight, p->cone_points, &p->cone, p->error);
        p->cone_aoi_rad = aoi_rad;
    }
    return status == BC_OK ? bc_cone_spectrum(p->stack, p->back, count, wavelength_nm, &p->cone, spectrum, p->error)
                           : status;
}

static bc_status value_at(probe *p, double wavelength_nm, double aoi_rad, double *value)
{
    bc_spectrum spectrum;
    const bc_status status = look(p, 1, &wavelength_nm, aoi_rad, &spectrum);
    if (status == BC_OK) {
        bc_callout_values(&spectrum, p->callout->quantity, p->plane, value);
        bc_spectrum_clear(&spectrum);
    }
    return status;
}

/* The average over the band, or what is made of the three averages of a colour. */
static double mean_of(const probe *p, const double *value)
{
    const size_t means = p->callout->colour == BC_NO_COLOUR ? 1 : 3;
    double mean[3] = {0.0, 0.0, 0.0};
    for (size_t m = 0; m < means; m++)
        for (size_t i = 0; i < p->count; i++)
            mean[m] += p->weight[m * p->count + i] * value[i];
    return means == 1 ? mean[0] : bc_colour_callout_value(p->callout, mean, NULL);
}

static bc_status mean_at(probe *p, double aoi_rad, double *value)
{
    bc_spectrum spectrum;
    const bc_status status = look(p, p->count, p->wavelength_nm, aoi_rad, &spectrum);
    if (status == BC_OK) {
        bc_callout_values(&spectrum, p->callout->quantity, p->plane, p->value[1]);
        *value = mean_of(p, p->value[1]);
        bc_spectrum_clear(&spectrum);
    }
    return status;
}

static double along_wavelength(double wavelength_nm, void *context)
{
    probe *p = context;
    double value = 0.0;
    if (p->status == BC_OK)
        p->status = value_at(p, wavelength_nm, p->at_aoi_rad, &value);
    return -badness(p->callout, value);
}

static double along_angle(double aoi_rad, void *context)
{
    probe *p = context;
    double value = 0.0;
    if (p->status == BC_OK)
        p->status =
            p->callout->statistic == BC_AVERAGE ? mean_at(p, aoi_rad, &value) : value_at(p, p->at_nm, aoi_rad, &value);
    return -badness(p->callout, value);
}

/* A point between `best` and `end` that is worse than `best`, by halving the way; false when none is seen. */
static bool step_in(probe *p, double (*f)(double, void *), double best, double end, double value, double *inner)
{
    for (int halving = 0; halving < HALVINGS && p->status == BC_OK; halving++) {
        end = best + 0.5 * (end - best);
        if (-f(end, p) > badness(p->callout, value)) {
            *inner = end;
            return p->status == BC_OK;
        }
    }
    return false;
}

/* A ridge may lead out of the bracket: walk to its better end, where that is worse than `best`. */
static bool step_out(probe *p, double (*f)(double, void *), double end, double *best, double *value)
{
    const double there = end == *best ? -badness(p->callout, *value) : f(end, p);
    if (p->status != BC_OK || -there <= badness(p->callout, *value))
        return false;
    *best = end;
    *value = p->callout->sense == BC_AT_MOST ? -there : there;
    return true;
}

/* The worst point of `f` between `low` and `high`, starting at `best`, which may be one of the two, with a known value;
 * both are left alone where nothing between is worse. */
static bc_status climb(probe *p, double (*f)(double, void *), double low, double *best, double high, double *value)
{
    gsl_function function = {f, p};
    gsl_min_fminimizer *minimizer;
    double start = *best;
    p->status = BC_OK;
    if (!(low < high) || (*best <= low && !step_in(p, f, low, high, *value, &start)) ||
        (*best >= high && !step_in(p, f, high, low, *value, &start)))
        return p->status;
    if (step_out(p, f, low, best, value) || step_out(p, f, high, best, value) || p->status != BC_OK)
        return p->status;
    gsl_set_error_handler_off();
    minimizer = gsl_min_fminimizer_alloc(gsl_min_fminimizer_brent);
    if (minimizer == NULL)
        return bc_fail_memory(p->error);
    if (gsl_min_fminimizer_set(minimizer, &function, start, low, high) == GSL_SUCCESS) {
        for (int step = 0; step < BRENT_STEPS && p->status == BC_OK; step++) {
            if (gsl_min_fminimizer_iterate(minimizer) != GSL_SUCCESS ||
                gsl_min_test_interval(gsl_min_fminimizer_x_lower(minimizer), gsl_min_fminimizer_x_upper(minimizer), 0.0,
                                      1e-7) == GSL_SUCCESS)
                break;
        }
        if (p->status == BC_OK && -gsl_min_fminimizer_f_minimum(minimizer) > badness(p->callout, *value)) {
            *best = gsl_min_fminimizer_x_minimum(minimizer);
            *value = (p->callout->sense == BC_AT_MOST ? -1.0 : 1.0) * gsl_min_fminimizer_f_minimum(minimizer);
        }
    }
    gsl_min_fminimizer_free(minimizer);
    return p->status;
}

/* Where the parabola through three samples peaks above the middle one. */
static double expected_peak(const bc_callout *callout, const double *value, size_t i)
{
    const double left = badness(callout, value[i - 1]), middle = badness(callout, value[i]),
                 right = badness(callout, value[i + 1]);
    const double curvature = 2.0 * middle - left - right;
    return curvature > 0.0 ? middle + (right - left) * (right - left) / (8.0 * curvature) : middle;
}

/* The best peaks by that estimate, worst first; returns how many. */
static size_t find_peaks(const probe *p, const double *value, size_t peak[PEAKS_FOLLOWED])
{
    double height[PEAKS_FOLLOWED];
    size_t peaks = 0;
    for (size_t i = 1; i + 1 < p->count; i++) {
        size_t place = peaks;
        double expected;
        if (badness(p->callout, value[i]) < badness(p->callout, value[i - 1]) ||
            badness(p->callout, value[i]) < badness(p->callout, value[i + 1]))
            continue;
        expected = expected_peak(p->callout, value, i);
        while (place > 0 && expected > height[place - 1])
            place--;
        if (place == PEAKS_FOLLOWED)
            continue;
        peaks += peaks < PEAKS_FOLLOWED;
        for (size_t k = peaks - 1; k > place; k--) {
            height[k] = height[k - 1];
            peak[k] = peak[k - 1];
        }
        height[place] = expected;
        peak[place] = i;
    }
    return peaks;
}

static void keep_if_worse(const probe *p, bc_worst *worst, double value, double at_nm, double aoi_rad)
{
    if (badness(p->callout, value) > badness(p->callout, worst->value)) {
        worst->value = value;
        worst->at_nm = at_nm;
        worst->at_aoi_rad = aoi_rad;
        worst->plane = p->plane;
    }
}

/* Between sample i and its neighbours. */
static bc_status climb_sample(probe *p, const double *value, size_t i, double aoi_rad, bc_worst *worst)
{
    double at_nm = p->wavelength_nm[i], peak_value = value[i];
    bc_status status;
    p->at_aoi_rad = aoi_rad;
    status = climb(p, along_wavelength, p->wavelength_nm[i == 0 ? 0 : i - 1], &at_nm,
                   p->wavelength_nm[i + 1 == p->count ? i : i + 1], &peak_value);
    if (status == BC_OK)
        keep_if_worse(p, worst, peak_value, at_nm, aoi_rad);
    return status;
}

/* One plane at one angle: the samples, then between them, the ends of the band among them. */
static bc_status scan_band(probe *p, const double *value, double aoi_rad, bc_worst *worst)
{
    size_t peak[PEAKS_FOLLOWED];
    const size_t peaks = find_peaks(p, value, peak), last = p->count - 1;
    bc_status status = BC_OK;
    for (size_t i = 0; i < p->count; i++)
        keep_if_worse(p, worst, value[i], p->wavelength_nm[i], aoi_rad);
    for (size_t k = 0; status == BC_OK && k < peaks; k++)
        status = climb_sample(p, value, peak[k], aoi_rad, worst);
    if (status == BC_OK && last > 0 && badness(p->callout, value[0]) >= badness(p->callout, value[1]))
        status = climb_sample(p, value, 0, aoi_rad, worst);
    if (status == BC_OK && last > 0 && badness(p->callout, value[last]) >= badness(p->callout, value[last - 1]))
        status = climb_sample(p, value, last, aoi_rad, worst);
    return status;
}

static void scan_mean(probe *p, const double *value, double aoi_rad, bc_worst *worst)
{
    bc_worst band = {.value = p->callout->sense == BC_AT_MOST ? -DBL_MAX : DBL_MAX};
    for (size_t i = 0; i < p->count; i++)
        keep_if_worse(p, &band, value[i], p->wavelength_nm[i], aoi_rad);
    keep_if_worse(p, worst, mean_of(p, value), band.at_nm, aoi_rad);
}

/* The samples of one angle, in each of the planes. */
static bc_status sample_angle(probe *p, double aoi_rad, size_t planes, const bc_polarization *plane)
{
    const size_t layers = p->stack->layers + 1;
    const size_t whole = p->pace == NULL ? p->count : (size_t)(BLOCK_LAYERS / (double)layers) / BLOCK_MULTIPLE + 1;
    const size_t block = p->pace == NULL ? p->count : whole * BLOCK_MULTIPLE;
    bc_status status = BC_OK;
    for (size_t from = 0; status == BC_OK && from < p->count; from += block) {
        const size_t count = p->count - from < block ? p->count - from : block;
        bc_spectrum spectrum;
        status = look(p, count, p->wavelength_nm + from, aoi_rad, &spectrum);
        if (status != BC_OK)
            break;
        for (size_t k = 0; k < planes; k++)
            bc_callout_values(&spectrum, p->callout->quantity, plane[k], p->value[k] + from);
        bc_spectrum_clear(&spectrum);
        if (p->pace != NULL) {
            p->pace->done += (double)count;
            p->pace->progress(p->pace->context, fmin(p->pace->done / p->pace->all, 1.0));
        }
    }
    return status;
}

static bc_status scan_angle(probe *p, double aoi_rad, bc_worst *worst)
{
    static const bc_polarization planes[][2] = {[BC_POL_UNPOLARIZED] = {BC_POL_UNPOLARIZED},
                                                [BC_POL_S] = {BC_POL_S},
                                                [BC_POL_P] = {BC_POL_P},
                                                [BC_POL_EACH] = {BC_POL_S, BC_POL_P},
                                                [BC_POL_RATIO] = {BC_POL_RATIO}};
    const size_t count = p->callout->polarization == BC_POL_EACH ? 2 : 1;
    bc_status status = sample_angle(p, aoi_rad, count, planes[p->callout->polarization]);
    for (size_t k = 0; status == BC_OK && k < count; k++) {
        p->plane = planes[p->callout->polarization][k];
        if (p->callout->statistic == BC_AVERAGE)
            scan_mean(p, p->value[k], aoi_rad, worst);
        else
            status = scan_band(p, p->value[k], aoi_rad, worst);
    }
    return status;
}

/* Between the sampled angles, and along the ridge: wavelength and angle in turn. */
static bc_status follow_ridge(probe *p, double angle_step, double nm_step, bc_worst *worst)
{
    const bc_callout *callout = p->callout;
    bc_status status = BC_OK;
    p->plane = worst->plane;
    for (int round = 0; status == BC_OK && round < ROUNDS; round++) {
        const double before = worst->value;
        p->at_nm = worst->at_nm;
        status = climb(p, along_angle, fmax(callout->aoi_from_rad, worst->at_aoi_rad - angle_step), &worst->at_aoi_rad,
                       fmin(callout->aoi_to_rad, worst->at_aoi_rad + angle_step), &worst->value);
        if (status != BC_OK || callout->statistic == BC_AVERAGE || worst->value == before)
            break;
        p->at_aoi_rad = worst->at_aoi_rad;
        status = climb(p, along_wavelength, fmax(callout->from_nm, worst->at_nm - nm_step), &worst->at_nm,
                       fmin(callout->to_nm, worst->at_nm + nm_step), &worst->value);
    }
    return status;
}

static bc_worst nothing_yet(const bc_callout *callout)
{
    return (bc_worst){.value = callout->sense == BC_AT_MOST ? -DBL_MAX : DBL_MAX};
}

/* Every angle by itself, then from each that is worse than its neighbours. */
static bc_status scan_angles(probe *p, size_t angles, bc_worst *of_angle, bc_worst *worst)
{
    const bc_callout *callout = p->callout;
    const double angle_step = (callout->aoi_to_rad - callout->aoi_from_rad) / (double)(angles > 1 ? angles - 1 : 1);
    const double nm_step = p->count > 1 ? p->wavelength_nm[1] - p->wavelength_nm[0] : 0.0;
    bc_status status = BC_OK;
    for (size_t a = 0; status == BC_OK && a < angles; a++) {
        of_angle[a] = nothing_yet(callout);
        status = scan_angle(p, bc_sampling_at(callout->aoi_from_rad, callout->aoi_to_rad, angles, a), &of_angle[a]);
    }
    for (size_t a = 0; status == BC_OK && a < angles; a++) {
        const double here = badness(callout, of_angle[a].value);
        const bool peak = (a == 0 || here >= badness(callout, of_angle[a - 1].value)) &&
                          (a + 1 == angles || here >= badness(callout, of_angle[a + 1].value));
        bc_worst top = of_angle[a];
        if (peak && angles > 1)
            status = follow_ridge(p, angle_step, nm_step, &top);
        p->plane = top.plane;
        keep_if_worse(p, worst, top.value, top.at_nm, top.at_aoi_rad);
    }
    return status;
}

/* How many wavelengths and angles one callout is sampled at. */
static bc_status plan(probe *p, size_t *angles, bc_error *error)
{
    const bc_callout *callout = p->callout;
    bc_fringes fringes;
    bc_status status = bc_fringes_of(p->stack, p->back, callout->from_nm, &fringes, error);
    if (status != BC_OK)
        return status;
    *angles = bc_sampling_verdict_angles(callout, fringes.tilt_nm);
    p->cone_points = bc_cone_points(callout->aoi_to_rad, callout->cone_rad, callout->from_nm, fringes.tilt_nm);
    p->count = bc_sampling_wavelengths(callout, fringes.optical_nm);
    if (p->count > MOST_SAMPLES / *angles)
        return bc_fail(
            error, BC_ERROR_INPUT,
            "%.0f nm of layers need %zu wavelengths at %zu angles to find their narrowest fringe; at most %d "
            "points are computed: narrow the band or the angles, or thin the layers",
            bc_stack_total_nm(p->stack), p->count, *angles, MOST_SAMPLES);
    return BC_OK;
}

bc_status bc_worst_samples(const bc_stack *stack, const bc_callout *callout, const bc_back *back, double *samples,
                           bc_error *error)
{
    probe p = {.stack = stack, .callout = callout, .back = back, .error = error};
    size_t angles = 0;
    const bc_status status = plan(&p, &angles, error);
    *samples = (double)p.count * (double)angles;
    return status;
}

bc_status bc_find_worst(const bc_stack *stack, const bc_callout *callout, const bc_back *back, bc_pace *pace,
                        bc_worst *worst, bc_error *error)
{
    probe p = {.stack = stack, .callout = callout, .back = back, .pace = pace, .error = error};
    size_t angles;
    bc_worst *of_angle;
    bc_status status = plan(&p, &angles, error);
    if (status != BC_OK)
        return status;
    p.wavelength_nm = malloc(6 * p.count * sizeof(double));
    of_angle = malloc(angles * sizeof *of_angle);
    *worst = nothing_yet(callout);
    if (p.wavelength_nm == NULL || of_angle == NULL)
        status = bc_fail_memory(error);
    if (status == BC_OK) {
        p.weight = p.wavelength_nm + p.count;
        p.value[0] = p.wavelength_nm + 4 * p.count;
        p.value[1] = p.wavelength_nm + 5 * p.count;
        bc_sampling_set(callout, p.count, p.wavelength_nm, p.weight);
        if (callout->colour != BC_NO_COLOUR)
            bc_sampling_colour(callout, p.count, p.wavelength_nm, NULL, p.weight);
        status = scan_angles(&p, angles, of_angle, worst);
    }
    free(p.wavelength_nm);
    free(of_angle);
    return status;
}
