/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspection.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_LOSS    1e-3 /* 0.1 %: less than this may be anything */
#define SIGMAS        3.0
#define FEWEST_IN_RUN 5
#define RUNS          20 /* running means over this share of the scan */
#define LARGEST_LOSS  0.2
#define NEARLY_ALL    0.9
#define EDGE          0.1 /* of the largest loss: where it is that small it has ended */

/* Loss beyond the tables', and its standard uncertainty, averaged over some points around each. */
typedef struct losses {
    size_t count;
    const double *wavelength_nm;
    double *value, *sigma;
} losses;

/* Name the region in which there is loss. */
static void describe(const losses *l, bc_absorption *absorption)
{
    size_t most = 0, with = 0, first, last = 0;
    for (size_t i = 0; i < l->count; i++)
        if (l->value[i] > l->value[most])
            most = i;
    if (l->value[most] < fmax(LEAST_LOSS, SIGMAS * l->sigma[most]))
        return;
    absorption->most = l->value[most];
    absorption->most_sigma = l->sigma[most];
    absorption->most_nm = l->wavelength_nm[most];
    first = l->count;
    for (size_t i = 0; i < l->count; i++)
        if (l->value[i] > fmax(EDGE * l->value[most], SIGMAS * l->sigma[i])) {
            first = i < first ? i : first;
            last = i;
            with++;
        }
    if ((double)with >= NEARLY_ALL * (double)l->count) {
        absorption->shape = BC_ABSORPTION_EVERYWHERE;
        absorption->edge_nm = l->wavelength_nm[l->count - 1];
    } else if (first + last < l->count) {
        absorption->shape = BC_ABSORPTION_BELOW;
        absorption->edge_nm = l->wavelength_nm[last];
    } else {
        absorption->shape = BC_ABSORPTION_ABOVE;
        absorption->edge_nm = l->wavelength_nm[first < l->count ? first : most];
    }
}

static size_t half_run(size_t count)
{
    const size_t run = count / RUNS < FEWEST_IN_RUN ? FEWEST_IN_RUN : count / RUNS;
    return run / 2;
}

/* With R and T: 1 - R - T less what the tables absorb. */
static void find_losses(const bc_inspection *inspection, const double *excess, losses *l)
{
    const bc_readings *readings = &inspection->readings;
    const size_t half = half_run(l->count);
    for (size_t i = 0; i < l->count; i++) {
        const size_t from = i < half ? 0 : i - half, to = i + half >= l->count ? l->count - 1 : i + half;
        const size_t at = readings->first + i;
        double sum = 0.0, variance = 0.0;
        for (size_t k = from; k <= to; k++) {
            sum += excess[k];
            variance += pow(hypot(readings->R.noise[readings->first + k], readings->T.noise[readings->first + k]), 2.0);
        }
        l->value[i] = sum / (double)(to - from + 1);
        l->sigma[i] = hypot(sqrt(variance) / (double)(to - from + 1),
                            hypot(readings->R.systematic[at], readings->T.systematic[at]));
    }
}

static bc_status from_both(bc_inspection *inspection, losses *l, bc_error *error)
{
    const bc_readings *readings = &inspection->readings;
    bc_absorption *absorption = &inspection->result->absorption;
    bc_fit_setup setup = bc_fit_setup_of(inspection);
    double *excess = calloc(l->count, sizeof *excess);
    if (excess == NULL)
        return bc_fail_memory(error);
    bc_fit_look(&inspection->fit, inspection->solution.point.thickness_nm, inspection->solution.point.dn, 0.0, false);
    for (size_t i = 0; i < l->count; i++) {
        const size_t at = readings->first + i;
        excess[i] =
            inspection->fit.model[0][i] + inspection->fit.model[1][i] - readings->R.value[at] - readings->T.value[at];
    }
    find_losses(inspection, excess, l);
    free(excess);
    absorption->judged = true;
    describe(l, absorption);
    if (absorption->shape == BC_ABSORPTION_NONE)
        return BC_OK;
    setup.readings = 1; /* R hardly minds a loss that would spoil the fit of T */
    return bc_fit_again(inspection, &setup, error);
}

/* Shapes a loss may have over the scan: falling from the short end, rising to the long end, flat. */
#define SHAPES 9
static double shape_of(size_t shape, double along)
{
    static const double length[] = {0.1, 0.25, 0.6, 1.5};
    if (shape == SHAPES - 1)
        return 1.0;
    return exp(-(shape < 4 ? along : 1.0 - along) / length[shape % 4]);
}

/* A loss of one shape, as T alone has it. */
typedef struct trial {
    size_t shape;
    double size, sigma, residual;
    bool good;
} trial;

/* T alone, with a loss of one shape whose size is fitted in place of the offset. */
static bc_status try_shape(bc_inspection *inspection, trial *t, bc_error *error)
{
    bc_fit_setup setup = bc_fit_setup_of(inspection);
    bc_reading reading = inspection->readings.T;
    const double *nm = reading.wavelength_nm;
    const double from = nm[setup.first], width = nm[setup.first + setup.count - 1] - from;
    bc_solution solution = {0};
    bc_fit fit = {0};
    bc_status status;
    reading.systematic = inspection->without_loss.systematic;
    for (size_t i = setup.first; i < setup.first + setup.count; i++)
        reading.systematic[i] = LARGEST_LOSS * shape_of(t->shape, width > 0.0 ? (nm[i] - from) / width : 0.0);
    setup.reading[0] = &reading;
    status = bc_fit_open(&setup, &fit, error);
    if (status == BC_OK)
        status = bc_solve(&fit, &solution, error);
    t->residual = solution.residual;
    t->good = status == BC_OK && bc_is_good_fit(inspection, &solution);
    if (status == BC_OK)
        status = bc_solve_errors(&fit, &solution, error);
    if (status == BC_OK) {
        const size_t at = bc_fit_place(&fit, BC_SHARED_FIRST);
        t->size = -LARGEST_LOSS * solution.point.shared[BC_SHARED_FIRST];
        t->sigma = LARGEST_LOSS * sqrt(solution.covariance[at * solution.size + at]);
    }
    bc_solution_clear(&solution);
    inspection->result->fits += fit.fits;
    bc_fit_close(&fit);
    return status;
}

static bc_status put_back(bc_inspection *inspection, const trial *t, losses *l, bc_error *error)
{
    bc_fit_setup setup = bc_fit_setup_of(inspection);
    const bc_reading *T = &inspection->readings.T;
    bc_reading *lossless = &inspection->without_loss;
    const double from = l->wavelength_nm[0], width = l->wavelength_nm[l->count - 1] - from;
    double *value = lossless->value, *systematic = lossless->systematic;
    *lossless = *T;
    lossless->value = value;
    lossless->systematic = systematic;
    memcpy(systematic, T->systematic, T->count * sizeof(double));
    memcpy(value, T->value, T->count * sizeof(double));
    for (size_t i = 0; i < l->count; i++) {
        const double share = shape_of(t->shape, width > 0.0 ? (l->wavelength_nm[i] - from) / width : 0.0);
        l->value[i] = t->size * share;
        l->sigma[i] = hypot(t->sigma * share, T->systematic[setup.first + i]);
        value[setup.first + i] += l->value[i];
    }
    describe(l, &inspection->result->absorption);
    if (inspection->result->absorption.shape == BC_ABSORPTION_NONE)
        return BC_OK;
    setup.reading[0] = lossless;
    return bc_fit_again(inspection, &setup, error);
}

static bc_status from_T(bc_inspection *inspection, losses *l, bc_error *error)
{
    trial best = {.shape = SHAPES, .residual = INFINITY};
    bc_status status = BC_OK;
    inspection->result->absorption.judged = true;
    if (bc_is_good_fit(inspection, &inspection->solution))
        return BC_OK;
    for (size_t shape = 0; status == BC_OK && shape < SHAPES; shape++) {
        trial t = {.shape = shape};
        status = try_shape(inspection, &t, error);
        if (t.good && t.residual < best.residual && t.size > SIGMAS * t.sigma)
            best = t;
    }
    return status == BC_OK && best.shape < SHAPES ? put_back(inspection, &best, l, error) : status;
}

bc_status bc_find_absorption(bc_inspection *inspection, bc_error *error)
{
    const bc_readings *readings = &inspection->readings;
    losses l = {.count = readings->inside, .wavelength_nm = readings->wavelength_nm + readings->first};
    double *memory;
    bc_status status;
    if (!readings->T.measured)
        return BC_OK;
    memory = calloc(2 * l.count, sizeof *memory);
    if (memory == NULL)
        return bc_fail_memory(error);
    l.value = memory;
    l.sigma = memory + l.count;
    status = readings->R.measured ? from_both(inspection, &l, error) : from_T(inspection, &l, error);
    free(memory);
    return status;
}
