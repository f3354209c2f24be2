/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "lens_curve.h"
#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_CHANGE 0.05  /* of limit_used from zone to zone, where it is about 1 */
#define PASSES      3     /* each may halve an interval */
#define ROOT_MM     0.001 /* of the radius */

static bc_status judge(const bc_lens_question *question, const bc_zone *zone, bc_check_result *check, bc_error *error)
{
    return bc_check_zone(question->stack, question->callouts, question->substrates, question->substrate, zone, check,
                         error);
}

static bc_status room_for(size_t zones, bc_lens_samples *samples, bc_error *error)
{
    *samples = (bc_lens_samples){0};
    samples->zone = calloc(zones, sizeof *samples->zone);
    samples->check = calloc(zones, sizeof *samples->check);
    if (samples->zone != NULL && samples->check != NULL)
        return BC_OK;
    bc_lens_samples_clear(samples);
    return bc_fail_memory(error);
}

void bc_lens_samples_clear(bc_lens_samples *samples)
{
    for (size_t z = 0; z < samples->count; z++)
        bc_check_result_clear(&samples->check[z]);
    free(samples->zone);
    free(samples->check);
    *samples = (bc_lens_samples){0};
}

bc_status bc_lens_sample_at(const bc_lens_question *question, size_t zones, const bc_zone *zone,
                            bc_lens_samples *samples, bc_error *error)
{
    bc_status status = room_for(zones, samples, error);
    for (size_t z = 0; status == BC_OK && z < zones; z++) {
        samples->zone[z] = zone[z];
        status = judge(question, &samples->zone[z], &samples->check[z], error);
        samples->count += status == BC_OK;
    }
    if (status != BC_OK)
        bc_lens_samples_clear(samples);
    return status;
}

/* Whether a straight line from one zone to the next could hide something. */
static bool differ(const bc_check_result *a, const bc_check_result *b)
{
    for (size_t f = 0; f < a->count; f++) {
        const double one = a->finding[f].limit_used, other = b->finding[f].limit_used;
        if (fabs(one - other) > MOST_CHANGE * fmax(1.0, fmin(fabs(one), fabs(other))))
            return true;
    }
    return false;
}

/* The samples with a zone halfway wherever two differ; `samples` is empty afterwards. */
static bc_status halve(const bc_lens_question *question, bc_lens_samples *samples, bc_lens_samples *finer,
                       bc_error *error)
{
    bc_status status = room_for(2 * samples->count, finer, error);
    for (size_t z = 0; status == BC_OK && z < samples->count; z++) {
        if (z > 0 && differ(&finer->check[finer->count - 1], &samples->check[z])) {
            const double middle_mm = 0.5 * (samples->zone[z - 1].radius_mm + samples->zone[z].radius_mm);
            status = bc_curved_zone(question->curved, middle_mm, &finer->zone[finer->count], error);
            if (status == BC_OK)
                status = judge(question, &finer->zone[finer->count], &finer->check[finer->count], error);
            finer->count += status == BC_OK;
        }
        if (status != BC_OK)
            break;
        finer->zone[finer->count] = samples->zone[z];
        finer->check[finer->count++] = samples->check[z];
        samples->check[z] = (bc_check_result){0};
    }
    bc_lens_samples_clear(samples);
    if (status != BC_OK)
        bc_lens_samples_clear(finer);
    return status;
}

bc_status bc_lens_sample(const bc_lens_question *question, size_t zones, bool between, bc_lens_samples *samples,
                         bc_error *error)
{
    bc_zone *zone = calloc(zones, sizeof *zone);
    bc_status status = zone == NULL ? bc_fail_memory(error) : bc_curved_zones(question->curved, zones, zone, error);
    *samples = (bc_lens_samples){0};
    if (status == BC_OK)
        status = bc_lens_sample_at(question, zones, zone, samples, error);
    for (int pass = 0; status == BC_OK && between && pass < PASSES; pass++) {
        bc_lens_samples finer;
        status = halve(question, samples, &finer, error);
        if (status == BC_OK)
            *samples = finer;
    }
    free(zone);
    return status;
}

/* One finding against radius, for the root. */
typedef struct along_radius {
    bc_lens_question question;
    bc_callouts callouts; /* the one callout */
    bc_status status;
    bc_error *error;
} along_radius;

static double above_limit(double radius_mm, void *context)
{
    along_radius *at = context;
    bc_check_result check;
    bc_zone zone;
    double above = 0.0;
    if (at->status == BC_OK)
        at->status = bc_curved_zone(at->question.curved, radius_mm, &zone, at->error);
    if (at->status == BC_OK)
        at->status = judge(&at->question, &zone, &check, at->error);
    if (at->status == BC_OK) {
        above = check.limit_used - 1.0;
        bc_check_result_clear(&check);
    }
    return above;
}

/* Between a radius that holds and one that does not. */
static bc_status find_root(along_radius *at, double holds_mm, double fails_mm, double *root_mm)
{
    gsl_function function = {above_limit, at};
    gsl_root_fsolver *solver;
    gsl_set_error_handler_off();
    solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    *root_mm = holds_mm;
    if (solver == NULL)
        return bc_fail_memory(at->error);
    if (gsl_root_fsolver_set(solver, &function, holds_mm, fails_mm) == GSL_SUCCESS) {
        while (at->status == BC_OK && gsl_root_fsolver_iterate(solver) == GSL_SUCCESS &&
               gsl_root_test_interval(gsl_root_fsolver_x_lower(solver), gsl_root_fsolver_x_upper(solver), ROOT_MM,
                                      0.0) == GSL_CONTINUE)
            ;
        *root_mm = gsl_root_fsolver_x_lower(solver);
    }
    gsl_root_fsolver_free(solver);
    return at->status;
}

/* The diameter out to which finding `f` holds. */
static bc_status find_aperture(const bc_lens_question *question, const bc_lens_samples *samples, size_t f,
                               double *aperture_mm, bc_error *error)
{
    const bc_finding *finding = &samples->check[0].finding[f];
    bc_callout callout = *finding->callout;
    along_radius at = {.question = *question, .callouts = {.count = 1, .callout = &callout}, .error = error};
    double root_mm = 0.0;
    bc_status status;
    size_t z = 0;
    while (z < samples->count && samples->check[z].finding[f].pass)
        z++;
    at.question.callouts = &at.callouts;
    at.question.substrates = 1;
    at.question.substrate = finding->substrate;
    if (z == samples->count)
        *aperture_mm = question->curved->clear_aperture_mm;
    if (z == 0)
        *aperture_mm = 0.0;
    if (z == 0 || z == samples->count)
        return BC_OK;
    status = find_root(&at, samples->zone[z - 1].radius_mm, samples->zone[z].radius_mm, &root_mm);
    *aperture_mm = 2.0 * root_mm;
    return status;
}

/* The integral of a straight line times r, over the area: exact for what is straight between the zones. */
static double area_mean(const bc_lens_samples *samples, const double *value)
{
    const double edge_mm = samples->zone[samples->count - 1].radius_mm;
    double sum = 0.0;
    for (size_t z = 1; z < samples->count; z++) {
        const double a = samples->zone[z - 1].radius_mm, b = samples->zone[z].radius_mm;
        sum += (b - a) / 6.0 * (value[z - 1] * (2.0 * a + b) + value[z] * (a + 2.0 * b));
    }
    return sum / (0.5 * edge_mm * edge_mm);
}

static void take_findings(const bc_lens_samples *samples, const bc_zone *zone, bc_lens_curve *curve)
{
    for (size_t z = 0; z < samples->count; z++) {
        for (size_t f = 0; f < curve->check.count; f++) {
            const bc_finding *finding = &samples->check[z].finding[f];
            const size_t place = f * samples->count + z;
            curve->limit_used[place] = finding->limit_used;
            curve->value[place] = finding->value;
            curve->at_nm[place] = finding->at_nm;
            curve->at_aoi_rad[place] = finding->at_aoi_rad;
            if (z == 0 || finding->limit_used > curve->check.finding[f].limit_used) {
                curve->check.finding[f] = *finding;
                curve->check.finding[f].zone = &zone[z];
            }
        }
    }
    bc_check_result_conclude(&curve->check);
}

bc_status bc_lens_curve_make(const bc_lens_question *question, const bc_lens_samples *samples, const bc_zone *zone,
                             bc_lens_curve *curve, bc_error *error)
{
    const size_t findings = samples->check[0].count, each = findings * samples->count;
    bc_status status = BC_OK;
    double *memory = calloc(4 * each + 2 * findings, sizeof *memory);
    memset(curve, 0, sizeof *curve);
    curve->limit_used = memory;
    curve->check.finding = calloc(findings, sizeof *curve->check.finding);
    if (memory == NULL || curve->check.finding == NULL) {
        bc_lens_curve_clear(curve);
        return bc_fail_memory(error);
    }
    curve->check.count = findings;
    curve->value = memory + each;
    curve->at_nm = memory + 2 * each;
    curve->at_aoi_rad = memory + 3 * each;
    curve->area_mean = memory + 4 * each;
    curve->finding_aperture_mm = curve->area_mean + findings;
    take_findings(samples, zone, curve);
    for (size_t f = 0; status == BC_OK && f < findings; f++) {
        curve->area_mean[f] = area_mean(samples, curve->value + f * samples->count);
        status = find_aperture(question, samples, f, &curve->finding_aperture_mm[f], error);
        if (curve->finding_aperture_mm[f] < curve->finding_aperture_mm[curve->ends])
            curve->ends = f;
    }
    curve->aperture_mm = curve->finding_aperture_mm[curve->ends];
    if (status != BC_OK)
        bc_lens_curve_clear(curve);
    return status;
}

void bc_lens_curve_clear(bc_lens_curve *curve)
{
    bc_check_result_clear(&curve->check);
    free(curve->limit_used);
    memset(curve, 0, sizeof *curve);
}
