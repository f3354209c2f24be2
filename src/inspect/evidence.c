/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspection.h"
#include "noise.h"
#include "print.h"
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NOISE_FACTOR   4.0  /* standard deviations of noise that a value may lie beyond 0 or 100 % */
#define LEAST_BEYOND   5e-5 /* fraction: the last digit of most instruments */
#define MEDIAN_TO_ONE  0.6745
#define FEWEST_IN_LINE 10 /* zeros one after the other that are no measurement any more */
#define LINE_SHARE     5  /* and this part of the scan */
#define BESIDE         30 /* values on either side of such a line, whose noise is looked at */
/* and is so many last digits, or more: ten values alike by chance come once in a million scans then. */
#define STEPS_OF_NOISE 1.5
#define FEWEST_EMPTY   3
#define OTHER_SCALE    4.0 /* times: no run makes a coating that much better all over */
#define MUCH_NEARER    0.7
#define FAR            4.0  /* times what the process allows */
#define MOST_SCALE     0.25 /* an instrument's scale that is off by more is none (common practice, no source) */

/* What a chamber of which nothing is known is taken to do (common practice, no source). */
#define USUAL_THICKNESS 0.02
#define USUAL_INDEX     0.02

static bc_evidence *evidence_of(bc_inspection *inspection)
{
    return &inspection->result->evidence;
}

static void look_at_instrument(bc_inspection *inspection)
{
    bc_evidence *evidence = evidence_of(inspection);
    if (inspection->setup->instrument_doubt == NULL)
        return;
    evidence->held = BC_HELD_INSTRUMENT;
    bc_print(evidence->text, sizeof evidence->text, "%s", inspection->setup->instrument_doubt);
}

/* Noise from second differences, by their median, so that single bad values do not hide themselves. */
static bc_status steady_noise(const bc_reading *reading, double *noise, bc_error *error)
{
    const size_t count = reading->count;
    double *bend;
    *noise = INFINITY;
    if (count < 5)
        return BC_OK;
    bend = calloc(count, sizeof *bend);
    if (bend == NULL)
        return bc_fail_memory(error);
    for (size_t i = 1; i + 1 < count; i++)
        bend[i - 1] = fabs(reading->value[i - 1] - 2.0 * reading->value[i] + reading->value[i + 1]);
    gsl_sort(bend, 1, count - 2);
    *noise = gsl_stats_median_from_sorted_data(bend, 1, count - 2) / (MEDIAN_TO_ONE * sqrt(6.0));
    free(bend);
    return BC_OK;
}

static bc_status look_for_impossible(bc_inspection *inspection, const bc_reading *reading, bc_error *error)
{
    bc_evidence *evidence = evidence_of(inspection);
    double noise;
    bc_status status = steady_noise(reading, &noise, error);
    if (status != BC_OK || evidence->held != BC_HELD_NOT)
        return status;
    for (size_t i = 0; i < reading->count; i++) {
        const double allowed = fmax(LEAST_BEYOND, inspection->setup->coverage_factor * reading->systematic[i] +
                                                      NOISE_FACTOR * fmin(noise, reading->noise[i]));
        if (reading->value[i] >= -allowed && reading->value[i] <= 1.0 + allowed)
            continue;
        if (evidence->count++ == 0) {
            evidence->first = i;
            evidence->value = reading->value[i];
            evidence->allowed = allowed;
        }
    }
    if (evidence->count == 0)
        return BC_OK;
    evidence->held = BC_HELD_IMPOSSIBLE;
    evidence->of = reading->count;
    evidence->quantity = reading->quantity;
    bc_print(
        evidence->text, sizeof evidence->text,
        "%zu of %zu values of %s lie below 0 or above 100 %% by more than their uncertainty, first %.4g %% at %.6g "
        "nm (beyond by %.2g %% at most): this scan is no evidence",
        evidence->count, evidence->of, reading->quantity == BC_T ? "T" : "R", 100.0 * evidence->value,
        reading->wavelength_nm[evidence->first], 100.0 * evidence->allowed);
    return BC_OK;
}

/* One number throughout, or zeros that no detector gives. */
static void look_for_constant(bc_inspection *inspection, const bc_reading *reading)
{
    bc_evidence *evidence = evidence_of(inspection);
    size_t longest = 0, run = 0, first = 0;
    bool all = reading->count >= 3;
    for (size_t i = 0; i < reading->count; i++) {
        run = fabs(reading->value[i]) > 0.0 ? 0 : run + 1;
        if (run > longest) {
            longest = run;
            first = i + 1 - run;
        }
        all = all && !(fabs(reading->value[i] - reading->value[0]) > 0.0);
    }
    if (evidence->held != BC_HELD_NOT || (!all && (longest < FEWEST_IN_LINE || LINE_SHARE * longest < reading->count)))
        return;
    evidence->held = BC_HELD_CONSTANT;
    evidence->quantity = reading->quantity;
    evidence->first = all ? 0 : first;
    evidence->count = all ? reading->count : longest;
    evidence->of = reading->count;
    evidence->value = reading->value[evidence->first];
    bc_print(evidence->text, sizeof evidence->text,
             "%zu of %zu values of %s are one and the same number, %.4g %%, from %.6g nm on: no spectrum is that even",
             evidence->count, evidence->of, reading->quantity == BC_T ? "T" : "R", 100.0 * evidence->value,
             reading->wavelength_nm[evidence->first]);
}

/* The noise of the values from `from` to before `to`; 0: too few to tell. */
static double noise_among(const bc_reading *reading, size_t from, size_t to, double *scratch)
{
    const bc_noise noise = bc_noise_of_scan(to - from, reading->wavelength_nm + from, reading->value + from, scratch);
    return noise.source == BC_NOISE_UNKNOWN ? 0.0 : noise.rms;
}

/* Whether values beside a line scatter so much that a line of one number is none of them. */
static bool is_beyond_chance(const bc_reading *reading, size_t from, size_t to, double step, double *scratch)
{
    const double before = noise_among(reading, from > BESIDE ? from - BESIDE : 0, from, scratch);
    const double behind =
        noise_among(reading, to, to + BESIDE < reading->count ? to + BESIDE : reading->count, scratch);
    return fmax(before, behind) > fmax(BC_LEAST_NOISE, STEPS_OF_NOISE * step) &&
           (before == 0.0 || behind == 0.0 || fmin(before, behind) > STEPS_OF_NOISE * step);
}

/* One number for a while, within noise: a detector that was held, saturated or cut off. */
static bc_status look_for_held(bc_inspection *inspection, const bc_reading *reading, bc_error *error)
{
    bc_evidence *evidence = evidence_of(inspection);
    double *scratch;
    if (evidence->held != BC_HELD_NOT || reading->count < FEWEST_IN_LINE)
        return BC_OK;
    scratch = calloc(reading->count, sizeof *scratch);
    if (scratch == NULL)
        return bc_fail_memory(error);
    const double step = bc_rounding_step(reading->count, reading->value, scratch);
    for (size_t from = 0, to; from < reading->count; from = to) {
        for (to = from + 1; to < reading->count && !(fabs(reading->value[to] - reading->value[from]) > 0.0);)
            to++;
        if (to - from < FEWEST_IN_LINE || to - from <= evidence->count ||
            !is_beyond_chance(reading, from, to, step, scratch))
            continue;
        evidence->held = BC_HELD_CONSTANT;
        evidence->first = from;
        evidence->count = to - from;
    }
    free(scratch);
    if (evidence->held == BC_HELD_NOT)
        return BC_OK;
    evidence->quantity = reading->quantity;
    evidence->of = reading->count;
    evidence->value = reading->value[evidence->first];
    bc_print(evidence->text, sizeof evidence->text,
             "%zu values of %s in a row are one and the same number, %.4g %%, from %.6g nm on, where those beside them "
             "scatter: was the detector saturated, or a reading held?",
             evidence->count, reading->quantity == BC_T ? "T" : "R", 100.0 * evidence->value,
             reading->wavelength_nm[evidence->first]);
    return BC_OK;
}

/* Zeros and less, where the design has more than the uncertainty hides: a dark scan, or a difference. */
static void look_for_nothing(bc_inspection *inspection, const bc_overlay *overlay, bc_quantity quantity)
{
    bc_evidence *evidence = evidence_of(inspection);
    size_t count = 0, first = 0;
    for (size_t i = 0; i < overlay->count; i++) {
        /* An exact 0 hides behind no noise: zeros between values would make it. */
        const double noise = fabs(overlay->measured[i]) > 0.0 ? NOISE_FACTOR * overlay->noise[i] : 0.0;
        const double hidden = inspection->setup->coverage_factor * overlay->systematic[i] + noise;
        if (overlay->measured[i] > 0.0 || !(overlay->design[i] > fmax(hidden, LEAST_BEYOND)))
            continue;
        first = count++ == 0 ? i : first;
    }
    if (evidence->held != BC_HELD_NOT || count < FEWEST_EMPTY || LINE_SHARE * count < overlay->count)
        return;
    evidence->held = BC_HELD_EMPTY;
    evidence->quantity = quantity;
    evidence->count = count;
    evidence->of = overlay->count;
    evidence->first = inspection->readings.first + first;
    evidence->value = overlay->measured[first];
    bc_print(
        evidence->text, sizeof evidence->text,
        "%zu of %zu values are 0 or less, first at %.6g nm, where the design has more than the uncertainty hides: a "
        "dark scan, or a difference?",
        count, evidence->of, overlay->wavelength_nm[first]);
}

/* Values that a factor brings to the design: another unit, or another scale. */
static void look_for_unit(bc_inspection *inspection, const bc_overlay *overlay, bc_quantity quantity)
{
    bc_evidence *evidence = evidence_of(inspection);
    double both = 0.0, square = 0.0, plain = 0.0, scaled = 0.0, mean = 0.0, mean_design = 0.0, hidden = 0.0;
    if (evidence->held != BC_HELD_NOT || overlay->count < FEWEST_EMPTY || inspection->setup->witness_certain)
        return;
    for (size_t i = 0; i < overlay->count; i++) {
        both += overlay->measured[i] * overlay->design[i];
        square += overlay->measured[i] * overlay->measured[i];
        mean += overlay->measured[i] / (double)overlay->count;
        mean_design += overlay->design[i] / (double)overlay->count;
        hidden = fmax(hidden, inspection->setup->coverage_factor * overlay->systematic[i]);
    }
    const double factor = both / square; /* NAN where all is 0, and then not more than any number */
    for (size_t i = 0; i < overlay->count; i++) {
        plain += pow(overlay->measured[i] - overlay->design[i], 2.0);
        scaled += pow(factor * overlay->measured[i] - overlay->design[i], 2.0);
    }
    if (!(factor > OTHER_SCALE && mean_design - mean > hidden && scaled < MUCH_NEARER * MUCH_NEARER * plain))
        return;
    evidence->held = BC_HELD_UNIT;
    evidence->quantity = quantity;
    evidence->count = evidence->of = overlay->count;
    evidence->value = mean;
    evidence->found = factor;
    evidence->allowed = mean_design;
    bc_print(evidence->text, sizeof evidence->text,
             "the values are %.3g %% on the average and those of the design %.3g %%; %.3g times as much would lie near "
             "it: fractions (--unit), or another scale?",
             100.0 * mean, 100.0 * mean_design, factor);
}

/* Squares of what one error does to every point, added to `square`; the larger of both directions. */
static void add_error(bc_inspection *inspection, const bc_overlay *overlay, bc_quantity quantity, const double *dn,
                      double *square)
{
    bc_fit *fit = &inspection->fit;
    bc_fit_look(fit, fit->trial.thickness_nm, dn, 0.0, false);
    const double *seen = bc_model_spectrum_value(&fit->simulated, quantity);
    for (size_t i = 0; i < overlay->count; i++)
        square[i] = fmax(square[i], pow(seen[i] - overlay->design[i], 2.0));
}

typedef struct errors {
    const bc_overlay *overlay;
    bc_quantity quantity;
    double *sum, *one; /* [count] */
    double *dn;        /* [materials] */
} errors;

static void take_error(bc_inspection *inspection, errors *all, const double *change_nm, double change_dn,
                       size_t material)
{
    const bc_stack *design = inspection->setup->design;
    bc_fit *fit = &inspection->fit;
    memset(all->one, 0, all->overlay->count * sizeof *all->one);
    for (int sign = -1; sign <= 1; sign += 2) {
        for (size_t j = 0; j < fit->layers; j++)
            fit->trial.thickness_nm[j] =
                fmax(0.0, design->layer[j].thickness_nm + sign * (change_nm == NULL ? 0.0 : change_nm[j]));
        for (size_t m = 0; m < fit->materials; m++)
            all->dn[m] = m == material ? sign * change_dn : 0.0;
        add_error(inspection, all->overlay, all->quantity, all->dn, all->one);
    }
    for (size_t i = 0; i < all->overlay->count; i++)
        all->sum[i] += all->one[i];
}

/* What errors of the process's own size make of the design, one at a time; what nobody gave is taken as usual. */
static void take_errors(bc_inspection *inspection, errors *all, double *change_nm)
{
    const bc_process *process = inspection->setup->process;
    const bc_stack *design = inspection->setup->design;
    const bc_fit *fit = &inspection->fit;
    for (size_t j = 0; j < fit->layers; j++) {
        const bc_process_row row = bc_process_for(process, design->layer[j].material.name);
        memset(change_nm, 0, fit->layers * sizeof *change_nm);
        change_nm[j] =
            design->layer[j].thickness_nm * (row.has_thickness_sigma ? row.thickness_sigma : USUAL_THICKNESS);
        take_error(inspection, all, change_nm, 0.0, 0);
    }
    for (size_t j = 0; j < fit->layers; j++) {
        const bc_process_row row = bc_process_for(process, design->layer[j].material.name);
        change_nm[j] =
            design->layer[j].thickness_nm * (row.has_run_thickness_sigma ? row.run_thickness_sigma : USUAL_THICKNESS);
    }
    take_error(inspection, all, change_nm, 0.0, 0);
    for (size_t m = 0; m < fit->materials; m++) {
        const bc_process_row row = bc_process_for(process, fit->simulated.medium[m]->name);
        take_error(inspection, all, NULL, row.has_index_sigma ? row.index_sigma : USUAL_INDEX, m);
    }
}

static bc_status look_for_other_witness(bc_inspection *inspection, const bc_overlay *overlay, const bc_reading *reading,
                                        bc_error *error)
{
    bc_evidence *evidence = evidence_of(inspection);
    const bc_fit *fit = &inspection->fit;
    double *memory, allowed = 0.0;
    if (evidence->held != BC_HELD_NOT || overlay->count == 0 || inspection->setup->witness_certain ||
        inspection->result->cause[0].kind != BC_CAUSE_UNEXPLAINED)
        return BC_OK;
    memory = calloc(2 * overlay->count + fit->layers + fit->materials + 1, sizeof *memory);
    if (memory == NULL)
        return bc_fail_memory(error);
    errors all = {overlay, reading->quantity, memory, memory + overlay->count,
                  memory + 2 * overlay->count + fit->layers};
    take_errors(inspection, &all, memory + 2 * overlay->count);
    for (size_t i = 0; i < overlay->count; i++) {
        const double instrument = hypot(overlay->noise[i], overlay->systematic[i]);
        allowed += (all.sum[i] + instrument * instrument) / (double)overlay->count;
    }
    free(memory);
    if (!(overlay->rms > FAR * sqrt(allowed) || overlay->rms_fitted > sqrt(allowed)))
        return BC_OK;
    evidence->held = BC_HELD_WITNESS;
    evidence->quantity = reading->quantity;
    evidence->count = evidence->of = overlay->count;
    evidence->found = overlay->rms;
    evidence->allowed = sqrt(allowed);
    bc_print(evidence->text, sizeof evidence->text,
             "is this the right witness? %s differs from the design by %.3g %% rms, where errors of the process%s make "
             "about %.2g %%, and no thicknesses near the design explain it (%.3g %% rms are left)",
             reading->quantity == BC_T ? "T" : "R", 100.0 * evidence->found,
             inspection->setup->process == NULL ? " (taken as 2 % in thickness, 0.02 in index)" : "",
             100.0 * evidence->allowed, 100.0 * overlay->rms_fitted);
    return BC_OK;
}

/* A scan without the design's shape, a straight line say, is fitted by a scale of nothing and an offset. */
static void look_for_scale(bc_inspection *inspection, const bc_overlay *overlay)
{
    bc_evidence *evidence = evidence_of(inspection);
    const bc_cause *cause = &inspection->result->cause[0];
    if (evidence->held != BC_HELD_NOT || overlay->count == 0 || inspection->setup->witness_certain ||
        inspection->result->causes == 0 || cause->kind != BC_CAUSE_READING_SCALE || !(fabs(cause->size) > MOST_SCALE))
        return;
    evidence->held = BC_HELD_WITNESS;
    evidence->quantity = BC_R;
    evidence->count = evidence->of = overlay->count;
    evidence->found = fabs(cause->size);
    evidence->allowed = MOST_SCALE;
    bc_print(evidence->text, sizeof evidence->text,
             "is this the right witness? R is explained best by a scale of the readings that is off by %+.3g %%; no "
             "instrument's is off by more than %.0f %%",
             100.0 * cause->size, 100.0 * MOST_SCALE);
}

/* No row is accepted on it; a scan that cannot be has no verdict at all. */
static void hold(bc_inspection *inspection)
{
    bc_inspect_result *result = inspection->result;
    const bc_evidence *evidence = &result->evidence;
    const bool all = evidence->held != BC_HELD_WITNESS;
    for (size_t c = 0; c < result->count; c++) {
        bc_inspect_finding *finding = &result->finding[c];
        if (finding->verdict == BC_UNDECIDED || (finding->verdict == BC_REJECT && !all))
            continue;
        finding->verdict = BC_UNDECIDED;
        finding->reason = BC_UNDECIDED_HELD;
        finding->probability = finding->excess_probability = finding->margin = NAN;
        bc_print(finding->text, sizeof finding->text, "held: %s", evidence->text);
    }
    if (result->verdict == BC_ACCEPT || all)
        result->verdict = BC_UNDECIDED;
}

bc_status bc_weigh_evidence(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    const bc_reading *const reading[] = {&inspection->readings.R, &inspection->readings.T};
    const bc_overlay *const overlay[] = {&result->R, &result->T};
    bc_status status = BC_OK;
    look_at_instrument(inspection);
    for (size_t q = 0; status == BC_OK && q < 2; q++)
        if (reading[q]->measured) {
            look_for_constant(inspection, reading[q]);
            status = look_for_impossible(inspection, reading[q], error);
            if (status == BC_OK)
                status = look_for_held(inspection, reading[q], error);
        }
    for (size_t q = 0; status == BC_OK && q < 2; q++)
        if (reading[q]->measured) {
            look_for_nothing(inspection, overlay[q], reading[q]->quantity);
            look_for_unit(inspection, overlay[q], reading[q]->quantity);
            if (reading[q]->quantity == BC_R)
                look_for_scale(inspection, overlay[q]);
            status = look_for_other_witness(inspection, overlay[q], reading[q], error);
        }
    if (status == BC_OK && result->evidence.held != BC_HELD_NOT)
        hold(inspection);
    return status;
}
