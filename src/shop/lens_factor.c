/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "lens_factor.h"
#include "merit.h"
#include "model.h"
#include "segments.h"
#include <bloomcoat/sampling.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_min.h>
#include <math.h>
#include <stdlib.h>

#define SCAN         121 /* factors looked at first */
#define VALLEYS      3   /* of them, the deepest are followed */
#define BRENT_STEPS  40
#define BEYOND       0.1 /* of a zone past the design's own thickness, either way */
#define REACH_SCAN   61
#define REACH_ROUNDS 3
#define ROUND        1e4 /* a factor is set to 0.01 % */

/* limit_used over all zones against the logarithm of a factor of all thicknesses. */
typedef struct balance {
    const bc_run_model *model;
    bc_merit *merit;
    double *thickness_nm;
} balance;

static double largest_at(double log_factor, void *context)
{
    balance *b = context;
    for (size_t j = 0; j < b->model->layers; j++)
        b->thickness_nm[j] = exp(log_factor) * b->model->nominal_nm[j];
    bc_merit_evaluate(b->merit, b->model->layers, b->model->material, b->thickness_nm, false);
    return bc_merit_largest(b->merit);
}

/* The merit's zone with the next larger radius; NULL: the first, or none. */
static const bc_zone *next_zone(const bc_segments *segments, const bc_zone *before)
{
    const bc_zone *next = NULL;
    for (size_t s = 0; s < segments->count; s++) {
        const bc_zone *zone = segments->segment[s].zone;
        if ((before == NULL || zone->radius_mm > before->radius_mm) &&
            (next == NULL || zone->radius_mm < next->radius_mm))
            next = zone;
    }
    return next;
}

static double used_at(const bc_merit *merit, const bc_segments *segments, const bc_zone *zone)
{
    double used = -INFINITY;
    for (size_t r = 0; r < segments->rows; r++) {
        const bc_row *row = &segments->row[r];
        for (size_t c = 0; segments->segment[row->segment].zone == zone && c < row->count; c++)
            used = fmax(used, bc_merit_u(merit)[row->first + c]);
    }
    return used;
}

/* The bottom of the valley around `middle`, with its depth. */
static bc_status descend(balance *b, double low, double middle, double high, double *log_factor, double *depth,
                         bc_error *error)
{
    gsl_function function = {largest_at, b};
    gsl_min_fminimizer *minimizer = gsl_min_fminimizer_alloc(gsl_min_fminimizer_brent);
    if (minimizer == NULL)
        return bc_fail_memory(error);
    if (gsl_min_fminimizer_set(minimizer, &function, middle, low, high) == GSL_SUCCESS) {
        for (int step = 0;
             step < BRENT_STEPS && gsl_min_fminimizer_iterate(minimizer) == GSL_SUCCESS &&
             gsl_min_test_interval(gsl_min_fminimizer_x_lower(minimizer), gsl_min_fminimizer_x_upper(minimizer),
                                   0.1 / ROUND, 0.0) == GSL_CONTINUE;
             step++)
            ;
        if (gsl_min_fminimizer_f_minimum(minimizer) < *depth) {
            *depth = gsl_min_fminimizer_f_minimum(minimizer);
            *log_factor = gsl_min_fminimizer_x_minimum(minimizer);
        }
    }
    gsl_min_fminimizer_free(minimizer);
    return BC_OK;
}

/* How far from the axis all constraints hold, straight between the merit's zones; below 0 where not even the vertex
 * does: then the less it fails, the better. */
static double reach_at(double log_factor, balance *b)
{
    const bc_segments *segments = bc_merit_segments(b->merit);
    const bc_zone *zone = NULL;
    double before_mm = 0.0, before = 0.0;
    (void)largest_at(log_factor, b);
    while ((zone = next_zone(segments, zone)) != NULL) {
        const double used = used_at(b->merit, segments, zone);
        if (used > 1.0)
            return zone->radius_mm == 0.0
                       ? 1.0 - used
                       : before_mm + (zone->radius_mm - before_mm) * (1.0 - before) / (used - before);
        before_mm = zone->radius_mm;
        before = used;
    }
    return before_mm;
}

/* The deepest inner minimum of the scan that was not followed yet; SCAN: there is none. */
static size_t next_valley(const double *depth, const bool *followed)
{
    size_t found = SCAN;
    for (size_t i = 1; i + 1 < SCAN; i++)
        if (!followed[i] && depth[i] <= depth[i - 1] && depth[i] <= depth[i + 1] &&
            (found == SCAN || depth[i] < depth[found]))
            found = i;
    return found;
}

static bc_status scan(balance *b, double low, double high, double *factor, bc_error *error)
{
    double depth[SCAN], best = INFINITY, log_factor = 0.0;
    bool followed[SCAN] = {false};
    bc_status status = BC_OK;
    for (size_t i = 0; i < SCAN; i++) {
        depth[i] = largest_at(bc_sampling_at(low, high, SCAN, i), b);
        if (depth[i] < best) {
            best = depth[i];
            log_factor = bc_sampling_at(low, high, SCAN, i);
        }
    }
    gsl_set_error_handler_off();
    for (int valley = 0; status == BC_OK && valley < VALLEYS; valley++) {
        const size_t i = next_valley(depth, followed);
        if (i == SCAN)
            break;
        followed[i] = true;
        status = descend(b, bc_sampling_at(low, high, SCAN, i - 1), bc_sampling_at(low, high, SCAN, i),
                         bc_sampling_at(low, high, SCAN, i + 1), &log_factor, &best, error);
    }
    *factor = round(exp(log_factor) * ROUND) / ROUND;
    return status;
}

/* The factor that reaches farthest: of the scan, then of ever finer steps around the best. */
static double scan_reach(balance *b, double low, double high)
{
    double best = -INFINITY, log_factor = 0.0;
    for (int round = 0; round < REACH_ROUNDS; round++) {
        const double step = (high - low) / (double)(REACH_SCAN - 1);
        for (size_t i = 0; i < REACH_SCAN; i++) {
            const double at = bc_sampling_at(low, high, REACH_SCAN, i), reach = reach_at(at, b);
            if (reach > best) {
                best = reach;
                log_factor = at;
            }
        }
        low = log_factor - step;
        high = log_factor + step;
    }
    const double below = floor(exp(log_factor) * ROUND) / ROUND, above = below + 1.0 / ROUND;
    /* The best often lies at the very limit of the vertex, where the nearer one may fail. */
    return reach_at(log(above), b) > reach_at(log(below), b) ? above : below;
}

static void factor_range(const bc_lens_result *result, double *low, double *high)
{
    double thinnest = INFINITY, thickest = 0.0;
    for (size_t z = 0; z < result->zones; z++) {
        thinnest = fmin(thinnest, result->zone[z].thickness_factor);
        thickest = fmax(thickest, result->zone[z].thickness_factor);
    }
    *low = log((1.0 - BEYOND) / thickest);
    *high = log((1.0 + BEYOND) / thinnest);
}

static bc_status find_factors(const bc_lens_question *question, const bc_lens_result *result, size_t zones,
                              const bc_zone *zone, double *balances, double *reaches, bc_error *error)
{
    const bc_stack *stack = question->stack;
    const bc_design_problem problem = {.callouts = question->callouts,
                                       .incident = stack->incident,
                                       .substrates = question->substrates == 0 ? 1 : question->substrates,
                                       .substrate = question->substrates == 0 ? &stack->substrate : question->substrate,
                                       .zones = zones,
                                       .zone = zone};
    bc_run_model model;
    balance b = {.model = &model};
    double low, high, from_nm, to_nm;
    bc_fringes fringes = BC_NO_FRINGES;
    bc_status status = bc_run_model_open(&problem, stack, NULL, &model, error);
    if (status != BC_OK)
        return status;
    factor_range(result, &low, &high);
    bc_asked_band(problem.callouts, problem.substrates, problem.substrate, &from_nm, &to_nm);
    status = bc_fringes_of(stack, NULL, from_nm, &fringes, error);
    if (status == BC_OK)
        status = bc_merit_alloc_values(&model.problem, BC_DENSITY_VERDICT, model.layers,
                                       bc_scale_fringes(fringes, exp(high)), &b.merit, error);
    b.thickness_nm = calloc(model.layers, sizeof *b.thickness_nm);
    if (status == BC_OK && b.thickness_nm == NULL)
        status = bc_fail_memory(error);
    if (status == BC_OK)
        status = scan(&b, low, high, balances, error);
    if (status == BC_OK)
        *reaches = scan_reach(&b, low, high);
    free(b.thickness_nm);
    bc_merit_free(b.merit);
    bc_run_model_close(&model);
    return status;
}

/* Between few zones a constraint may end that holds at both: then factors are looked for with as many as there are
 * unless asked otherwise. */
bc_status bc_lens_factors(const bc_lens_question *question, const bc_lens_result *result, double *balances,
                          double *reaches, bc_error *error)
{
    bc_zone zone[BC_LENS_ZONES];
    if (result->zones >= BC_LENS_ZONES)
        return find_factors(question, result, result->zones, result->zone, balances, reaches, error);
    const bc_status status = bc_curved_zones(question->curved, BC_LENS_ZONES, zone, error);
    return status == BC_OK ? find_factors(question, result, BC_LENS_ZONES, zone, balances, reaches, error) : status;
}
