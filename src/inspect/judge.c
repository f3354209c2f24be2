/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "conformity.h"
#include "doubt.h"
#include "parts.h"
#include "row_verdict.h"
#include "worst.h"
#include <bloomcoat/sampling.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define STEPS_IN_FRINGE    8.0
#define STEPS_IN_FIRST_NM  20.0 /* and no step wider than this share of the band's first wavelength */
#define DRAWS_OF_VERDICT   1000
#define DRAWS_OF_DEVIATION 100

static void lay_out(bc_row_verdict *d, bc_arena *arena)
{
    const size_t count = d->inspection->readings.count, room = bc_band_room(count);
    d->curve.value = bc_arena_take(arena, count, sizeof(double));
    d->curve.random = bc_arena_take(arena, count, sizeof(double));
    d->curve.systematic = bc_arena_take(arena, count, sizeof(double));
    d->curve.angle = bc_arena_take(arena, count, sizeof(double));
    d->band.wavelength_nm = bc_arena_take(arena, room, sizeof(double));
    d->band.value = bc_arena_take(arena, room, sizeof(double));
    d->band.random = bc_arena_take(arena, room, sizeof(double));
    d->band.systematic = bc_arena_take(arena, room, sizeof(double));
    d->slack = bc_arena_take(arena, room, sizeof(double));
    d->stretch = bc_arena_take(arena, count, sizeof(double));
}

/* An eighth of the narrowest fringe of the design, with the index where a table reaches nearest to the band. */
static bc_status step_limit(const bc_row_verdict *d, double *limit_nm, bc_error *error)
{
    const bc_readings *readings = &d->inspection->readings;
    const double from_nm = d->callout->from_nm;
    const double first = readings->wavelength_nm[readings->first];
    const double last = readings->wavelength_nm[readings->first + readings->inside - 1];
    double optical_nm;
    const bc_status status =
        bc_optical_thickness(d->inspection->setup->design, fmin(last, fmax(first, from_nm)), &optical_nm, error);
    *limit_nm = fmin(from_nm / STEPS_IN_FIRST_NM, from_nm * from_nm / (2.0 * optical_nm * STEPS_IN_FRINGE));
    return status;
}

static bool at_most(const bc_row_verdict *d)
{
    return d->callout->sense == BC_AT_MOST;
}

/* The worst point becomes the finding's value; slack[] is how far each lies on the good side. */
static void find_worst(bc_row_verdict *d)
{
    bc_inspect_finding *finding = d->finding;
    const bc_band *band = &d->band;
    size_t worst = 0;
    for (size_t i = 0; i < band->count; i++) {
        d->slack[i] = at_most(d) ? d->callout->limit - band->value[i] : band->value[i] - d->callout->limit;
        worst = d->slack[i] < d->slack[worst] ? i : worst;
    }
    finding->samples = band->samples;
    finding->covered_from_nm = band->covered_from_nm;
    finding->covered_to_nm = band->covered_to_nm;
    finding->widest_step_nm = band->widest_nm;
    if (band->count == 0)
        return;
    finding->value = band->value[worst];
    finding->limit_used = bc_limit_used(d->callout, finding->value);
    finding->random = band->random[worst];
    finding->systematic = band->systematic[worst];
    finding->at_nm = band->wavelength_nm[worst];
}

/* Where a mean's band is at its worst, for people. */
static void find_worst_of_mean(bc_row_verdict *d)
{
    double worst = at_most(d) ? -INFINITY : INFINITY;
    for (size_t i = 0; i < d->curve.count; i++) {
        const double nm = d->curve.wavelength_nm[i], value = d->curve.value[i];
        if (nm >= d->callout->from_nm && nm <= d->callout->to_nm && (at_most(d) ? value > worst : value < worst)) {
            worst = value;
            d->finding->at_nm = nm;
        }
    }
}

/* A mean over part of its band can still be rejected: when the best values light can have (0, or 1) in the rest would
 * not save it. */
static void complete_mean(bc_row_verdict *d)
{
    const double share = d->band.covered_share, value = d->band.value[0];
    const double best = at_most(d) ? share * value : share * value + 1.0 - share;
    d->slack[0] = at_most(d) ? d->callout->limit - best : best - d->callout->limit;
    d->band.random[0] *= share;
    d->band.systematic[0] *= share;
}

/* A weighted average is accepted where the worst values light can have (1, or 0) in the rest of its band would not
 * matter: a lamp and an eye have little weight at the ends of theirs. complete_mean() has scaled the uncertainties. */
static void accept_whatever_the_rest(bc_row_verdict *d)
{
    const double share = d->band.covered_share, value = d->band.value[0];
    const double worst = at_most(d) ? share * value + 1.0 - share : share * value;
    const double slack = at_most(d) ? d->callout->limit - worst : worst - d->callout->limit;
    const bc_slacks slacks = {1, &slack, d->band.random, d->band.systematic, d->curve.freedom};
    const double probability = bc_conformity(&slacks, 0.0);
    if (d->callout->weight == NULL || probability < d->inspection->setup->confidence)
        return;
    d->finding->probability = probability;
    d->finding->rest = 1.0 - share;
}

/* The rule on the curve. */
static bc_status decide_on_curve(bc_row_verdict *d, bc_error *error)
{
    bc_inspect_finding *finding = d->finding;
    const double confidence = d->inspection->setup->confidence;
    bc_worst worst;
    bc_status status;
    finding->verdict = BC_UNDECIDED;
    if (d->band.count == 0)
        return BC_OK;
    status = bc_worst_of(&(bc_worst_question){.smooth = d->smooth,
                                              .callout = d->callout,
                                              .curve = &d->curve,
                                              .stretch = d->stretch,
                                              .step_limit_nm = finding->step_limit_nm,
                                              .confidence = confidence},
                         &worst, error);
    finding->probability = worst.probability;
    finding->margin = worst.margin;
    if (worst.probability >= confidence) {
        finding->verdict = BC_ACCEPT;
        return status;
    }
    finding->excess_probability = worst.excess_probability;
    if (worst.excess_probability <= 1.0 - confidence)
        finding->verdict = BC_REJECT;
    return status;
}

/* The guard-band rule on what is covered. */
static bc_status decide(bc_row_verdict *d, bc_error *error)
{
    bc_inspect_finding *finding = d->finding;
    const double confidence = d->inspection->setup->confidence;
    const bc_slacks slacks = {d->band.count, d->slack, d->band.random, d->band.systematic, d->curve.freedom};
    const bool mean = d->callout->statistic == BC_AVERAGE;
    double least = INFINITY;
    bc_status status;
    finding->verdict = BC_UNDECIDED;
    if (d->band.count == 0)
        return BC_OK;
    if (d->callout->colour != BC_NO_COLOUR && d->band.covered_share < 1.0)
        return BC_OK; /* what was not seen can have any colour */
    if (mean && d->band.covered_share < 1.0)
        complete_mean(d);
    finding->probability = bc_conformity(&slacks, 0.0);
    status = bc_conformity_margin(&slacks, confidence, &finding->margin, error);
    if (finding->probability >= confidence)
        finding->verdict = BC_ACCEPT;
    else if (mean && finding->probability <= 1.0 - confidence)
        finding->verdict = BC_REJECT;
    if (mean && d->band.covered_share < 1.0)
        accept_whatever_the_rest(d);
    if (mean || finding->verdict == BC_ACCEPT)
        return status;
    for (size_t i = 0; i < d->band.count; i++)
        least = fmin(least, d->slack[i]);
    finding->excess_probability = bc_excess_probability(&slacks, -least);
    if (finding->excess_probability <= 1.0 - confidence)
        finding->verdict = BC_REJECT;
    return status;
}

static bc_undecided coverage_of(const bc_band *band)
{
    if (!band->reaches_ends || !(band->covered_from_nm > 0.0))
        return BC_UNDECIDED_NOT_COVERED;
    return band->has_gap || band->count == 0 ? BC_UNDECIDED_STEPS : BC_DECIDED;
}

/* What the value's uncertainty is made of. */
static void share_out(bc_row_verdict *d)
{
    const bc_readings *readings = &d->inspection->readings;
    const bc_reading *reading = d->callout->quantity == BC_T ? &readings->T : &readings->R;
    if (d->band.count > 0 && d->callout->colour == BC_NO_COLOUR)
        bc_measured_parts(d->inspection->setup, reading, d->callout->quantity == BC_A ? &readings->T : NULL,
                          (size_t)(d->curve.wavelength_nm - readings->wavelength_nm), &d->curve, d->callout,
                          d->callout->statistic == BC_AVERAGE ? NAN : d->finding->at_nm, d->finding->random,
                          d->finding->systematic, d->finding->part);
}

/* What was measured, as far as it bears on the callout. */
static bc_status judge_measured(bc_row_verdict *d, bc_error *error)
{
    bc_inspect_finding *finding = d->finding;
    bc_undecided reason;
    bc_status status;
    bc_row_choose_way(d);
    status = bc_row_set_curve(d, error);
    if (status == BC_OK && finding->judged == BC_JUDGED_CURVE)
        bc_row_take_smooth(d);
    if (status == BC_OK)
        status = step_limit(d, &finding->step_limit_nm, error);
    if (status != BC_OK)
        return status;
    if (d->callout->statistic == BC_AVERAGE)
        bc_band_mean(&d->curve, d->callout, finding->step_limit_nm, &d->band);
    else
        bc_band_points(&d->curve, d->callout, finding->step_limit_nm, &d->band);
    find_worst(d);
    share_out(d);
    if (d->callout->statistic == BC_AVERAGE)
        find_worst_of_mean(d);
    status = finding->judged == BC_JUDGED_CURVE ? decide_on_curve(d, error) : decide(d, error);
    if (status != BC_OK)
        return status;
    reason = d->match.reason != BC_DECIDED ? d->match.reason : finding->rest > 0.0 ? BC_DECIDED : coverage_of(&d->band);
    if (finding->verdict == BC_REJECT) {
        finding->reason = BC_DECIDED;
        return BC_OK;
    }
    if (reason != BC_DECIDED)
        finding->probability = finding->margin = finding->excess_probability = NAN;
    else if (finding->verdict == BC_UNDECIDED)
        reason = BC_UNDECIDED_UNCERTAINTY;
    else
        reason = bc_find_doubt(d->inspection, d->smooth, &d->curve, d->stretch, finding);
    finding->reason = reason;
    finding->verdict = reason == BC_DECIDED ? BC_ACCEPT : BC_UNDECIDED;
    return BC_OK;
}

/* The prediction stands in for a measurement, as long as the scan saw the layers in this band at all. All accounts of
 * what happened must agree. */
static void judge_from_fit(bc_row_verdict *d, const bc_prediction *least, const bc_prediction *most)
{
    const bc_inspect_setup *setup = d->inspection->setup;
    const bc_prediction *prediction = most->share <= 1.0 - setup->confidence ? most : least;
    bc_inspect_finding *finding = d->finding;
    if (!isfinite(prediction->value))
        return;
    bc_row_take_values(d, 0, d->inspection->readings.count);
    bc_band_points(&d->curve, d->callout, finding->step_limit_nm, &d->band);
    finding->from_fit = true;
    finding->judged = BC_JUDGED_FIT;
    finding->points_because = BC_POINTS_NOT;
    finding->samples = d->band.samples;
    finding->covered_from_nm = d->band.covered_from_nm;
    finding->covered_to_nm = d->band.covered_to_nm;
    finding->widest_step_nm = d->band.widest_nm;
    finding->value = prediction->value;
    finding->limit_used = bc_limit_used(d->callout, prediction->value);
    finding->at_nm = prediction->at_nm;
    finding->random = 0.0;
    finding->systematic = prediction->sigma;
    if (d->callout->colour == BC_NO_COLOUR)
        memcpy(finding->part, prediction->part, sizeof finding->part);
    finding->probability = prediction->share;
    finding->excess_probability = finding->margin = NAN;
    finding->back_removed = finding->angle_corrected = false;
    finding->reason = coverage_of(&d->band);
    if (finding->reason != BC_DECIDED)
        return;
    finding->verdict = least->share >= setup->confidence        ? BC_ACCEPT
                       : most->share <= 1.0 - setup->confidence ? BC_REJECT
                                                                : BC_UNDECIDED;
    finding->reason = finding->verdict == BC_UNDECIDED ? BC_UNDECIDED_UNCERTAINTY : BC_DECIDED;
}

static bc_status judge(bc_row_verdict *d, bc_error *error)
{
    bc_inspect_finding *finding = d->finding;
    bc_prediction prediction, most;
    bc_status status = BC_OK;
    *finding = (bc_inspect_finding){.callout = d->callout,
                                    .verdict = BC_UNDECIDED,
                                    .value = NAN,
                                    .limit_used = NAN,
                                    .at_nm = NAN,
                                    .random = NAN,
                                    .systematic = NAN,
                                    .part = {NAN, NAN, NAN, NAN, NAN, NAN, NAN},
                                    .probability = NAN,
                                    .excess_probability = NAN,
                                    .margin = NAN,
                                    .covered_from_nm = NAN,
                                    .covered_to_nm = NAN,
                                    .doubt_nm = NAN,
                                    .doubt_value = NAN};
    d->match = bc_match_callout(d->inspection, d->callout);
    finding->reason = d->match.reason;
    if (d->match.speaks)
        status = judge_measured(d, error);
    else
        status = step_limit(d, &finding->step_limit_nm, error);
    const bool decides = d->beliefs != NULL && finding->reason >= BC_UNDECIDED_QUANTITY;
    if (status == BC_OK && decides)
        status =
            bc_predict_believing(d->inspection, d->beliefs, d->callout, DRAWS_OF_VERDICT, &prediction, &most, error);
    else if (status == BC_OK)
        status = bc_predict(d->inspection, d->callout, DRAWS_OF_DEVIATION, &prediction, error);
    if (status != BC_OK)
        return status;
    finding->predicted = prediction.value;
    finding->predicted_uncertainty = prediction.sigma;
    if (decides)
        judge_from_fit(d, &prediction, &most);
    bc_explain_reason(d->inspection, finding);
    return BC_OK;
}

static bc_status judge_one(bc_inspection *inspection, const bc_smooth *smooth, bc_beliefs *beliefs, size_t c,
                           bc_error *error)
{
    bc_row_verdict d = {.inspection = inspection,
                        .smooth = smooth,
                        .beliefs = beliefs,
                        .callout = &inspection->setup->callouts->callout[c],
                        .finding = &inspection->result->finding[c]};
    bc_status status;
    lay_out(&d, &d.arena);
    status = bc_arena_open(&d.arena, error);
    if (status != BC_OK)
        return status;
    lay_out(&d, &d.arena);
    status = judge(&d, error);
    free(d.arena.memory);
    return status;
}

/* A verdict's weight: one rejection outweighs all. */
static int weight_of(bc_verdict verdict)
{
    return verdict == BC_REJECT ? 2 : verdict == BC_UNDECIDED ? 1 : 0;
}

bc_status bc_judge_callouts(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    const bool from_fit = inspection->setup->from_fit && result->good_fit;
    bc_beliefs beliefs = {0};
    bc_smooth smooth;
    bc_status status = bc_smooth_open(inspection, &smooth, error);
    if (status == BC_OK && from_fit)
        status = bc_believe(inspection, &beliefs, error);
    result->verdict = result->count == 0 ? BC_UNDECIDED : BC_ACCEPT;
    for (size_t c = 0; status == BC_OK && c < result->count; c++) {
        const bc_inspect_finding *finding = &result->finding[c], *decisive = &result->finding[result->decisive];
        int more;
        status = judge_one(inspection, &smooth, from_fit ? &beliefs : NULL, c, error);
        more = weight_of(finding->verdict) - weight_of(decisive->verdict);
        if (more > 0 || (more == 0 && (finding->limit_used > decisive->limit_used || isnan(decisive->limit_used))))
            result->decisive = c;
        if (weight_of(finding->verdict) > weight_of(result->verdict))
            result->verdict = finding->verdict;
        bc_say_progress(inspection, BC_STAGE_VERDICT, (double)(c + 1) / (double)result->count);
    }
    bc_smooth_close(&smooth);
    bc_beliefs_clear(&beliefs);
    return status;
}
