/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "band.h"
#include <bloomcoat/cie.h>
#include <bloomcoat/colour.h>
#include <math.h>

#define SAME_NM  1e-9 /* of a wavelength */
#define POINTS   4    /* of a cubic */
#define DIVISION 2    /* of a wide step */

#define PIECES_IN_ROW 8.0 /* of a weight: its integral over a step is summed in pieces */
#define MOST_PIECES   1000.0
#define WHOLE_STEPS   ((size_t)4000)

static bool is_gap(const bc_curve *curve, size_t k, double step_limit_nm)
{
    return curve->wavelength_nm[k + 1] - curve->wavelength_nm[k] > step_limit_nm * (1.0 + SAME_NM);
}

/* The step that `nm` lies in: between points k and k + 1. False when it lies in none, or in a gap. */
static bool find_step(const bc_curve *curve, double nm, double step_limit_nm, size_t *k)
{
    for (size_t i = 0; i + 1 < curve->count; i++)
        if (nm >= curve->wavelength_nm[i] && nm <= curve->wavelength_nm[i + 1]) {
            *k = i;
            return !is_gap(curve, i, step_limit_nm);
        }
    return false;
}

static void append(bc_band *band, double nm, double value, double variance, double systematic)
{
    const size_t i = band->count++;
    band->wavelength_nm[i] = nm;
    band->value[i] = value;
    band->random[i] = sqrt(variance);
    band->systematic[i] = fabs(systematic);
}

/* The polynomial through two to four points around a step. */
static void interpolate(const bc_curve *curve, double nm, size_t k, double step_limit_nm, bc_band *band)
{
    size_t from = k, to = k + 1;
    double value = 0.0, variance = 0.0, systematic = 0.0;
    if (k > 0 && !is_gap(curve, k - 1, step_limit_nm))
        from--;
    if (k + 2 < curve->count && !is_gap(curve, k + 1, step_limit_nm))
        to++;
    for (size_t i = from; i <= to; i++) {
        double weight = 1.0;
        for (size_t m = from; m <= to; m++)
            if (m != i)
                weight *= (nm - curve->wavelength_nm[m]) / (curve->wavelength_nm[i] - curve->wavelength_nm[m]);
        value += weight * curve->value[i];
        variance += weight * weight * curve->random[i] * curve->random[i];
        systematic += weight * curve->systematic[i];
    }
    append(band, nm, value, variance, systematic);
}

static bool same(double one_nm, double other_nm)
{
    return fabs(one_nm - other_nm) <= SAME_NM * other_nm;
}

size_t bc_band_room(size_t count)
{
    return DIVISION * count + 4;
}

static void open_band(const bc_curve *curve, const bc_callout *callout, bc_band *band)
{
    const double first = curve->count > 0 ? curve->wavelength_nm[0] : NAN;
    const double last = curve->count > 0 ? curve->wavelength_nm[curve->count - 1] : NAN;
    band->count = band->samples = 0;
    band->covered_from_nm = fmax(callout->from_nm, first * (1.0 - SAME_NM));
    band->covered_to_nm = fmin(callout->to_nm, last * (1.0 + SAME_NM));
    band->widest_nm = band->covered_share = 0.0;
    band->reaches_ends = band->covered_from_nm <= callout->from_nm && band->covered_to_nm >= callout->to_nm;
    band->has_gap = false;
    band->worst_nm = NAN;
    if (!(band->covered_from_nm <= band->covered_to_nm))
        band->covered_from_nm = band->covered_to_nm = NAN;
}

/* Steps and samples in the band, and how much of it they cover. */
static void survey(const bc_curve *curve, const bc_callout *callout, double step_limit_nm, bc_band *band)
{
    const double *nm = curve->wavelength_nm;
    double covered = 0.0;
    for (size_t k = 0; k < curve->count; k++)
        band->samples += nm[k] >= callout->from_nm * (1.0 - SAME_NM) && nm[k] <= callout->to_nm * (1.0 + SAME_NM);
    for (size_t k = 0; k + 1 < curve->count; k++) {
        const double from = fmax(nm[k], callout->from_nm), to = fmin(nm[k + 1], callout->to_nm);
        const bool only_one = callout->from_nm == callout->to_nm && band->samples == 0;
        if (!(from < to || (only_one && from == to)))
            continue;
        band->widest_nm = fmax(band->widest_nm, nm[k + 1] - nm[k]);
        if (is_gap(curve, k, step_limit_nm))
            band->has_gap = true;
        else
            covered += to - from;
    }
    band->covered_share = callout->to_nm > callout->from_nm ? covered / (callout->to_nm - callout->from_nm) : 1.0;
    if (band->covered_share > 1.0 - SAME_NM)
        band->covered_share = 1.0;
}

static void add_end(const bc_curve *curve, double nm, double step_limit_nm, bc_band *band)
{
    size_t k;
    if (find_step(curve, nm, step_limit_nm, &k))
        interpolate(curve, nm, k, step_limit_nm, band);
}

/* Halfway in a wide step, if that is in the band and no gap. */
static void add_middle(const bc_curve *curve, const bc_callout *callout, double step_limit_nm, size_t k, bc_band *band)
{
    const double *nm = curve->wavelength_nm, middle = 0.5 * (nm[k] + nm[k + 1]);
    const bool wide = nm[k + 1] - nm[k] > step_limit_nm / DIVISION && !is_gap(curve, k, step_limit_nm);
    if (wide && middle > callout->from_nm && middle < callout->to_nm)
        interpolate(curve, middle, k, step_limit_nm, band);
}

void bc_band_points(const bc_curve *curve, const bc_callout *callout, double step_limit_nm, bc_band *band)
{
    const double *nm = curve->wavelength_nm;
    bool at_from = false, at_to = false;
    open_band(curve, callout, band);
    survey(curve, callout, step_limit_nm, band);
    for (size_t k = 0; k < curve->count; k++) {
        const bool inside = nm[k] >= callout->from_nm * (1.0 - SAME_NM) && nm[k] <= callout->to_nm * (1.0 + SAME_NM);
        if (inside)
            append(band, nm[k], curve->value[k], curve->random[k] * curve->random[k], curve->systematic[k]);
        at_from = at_from || same(nm[k], callout->from_nm);
        at_to = at_to || same(nm[k], callout->to_nm);
        if (k + 1 < curve->count)
            add_middle(curve, callout, step_limit_nm, k, band);
    }
    if (!at_from)
        add_end(curve, callout->from_nm, step_limit_nm, band);
    if (!at_to && callout->to_nm > callout->from_nm)
        add_end(curve, callout->to_nm, step_limit_nm, band);
}

/* What `nm` in a step counts for point k at one of its ends: a straight line from 1 to 0. */
static double share_of(const bc_curve *curve, size_t step, size_t k, double nm)
{
    const double along =
        (nm - curve->wavelength_nm[step]) / (curve->wavelength_nm[step + 1] - curve->wavelength_nm[step]);
    return step == k ? 1.0 - along : along;
}

/* A sum over the wavelengths of the CIE. One that was measured belongs to its reading alone. */
static double summed_weight_of(const bc_curve *curve, const bc_callout *callout, double step_limit_nm, size_t k)
{
    double sum = 0.0;
    for (size_t i = 0; i < BC_CIE_ROWS; i++) {
        const double nm = BC_CIE_FROM_NM + BC_CIE_STEP_NM * (double)i, weight = bc_weight_at(callout->weight, nm);
        size_t step;
        if ((k > 0 && nm < curve->wavelength_nm[k - 1]) || (k + 1 < curve->count && nm > curve->wavelength_nm[k + 1]))
            continue;
        if (same(nm, curve->wavelength_nm[k]))
            sum += weight;
        else if (find_step(curve, nm, step_limit_nm, &step) && (step == k || step + 1 == k) &&
                 !same(nm, curve->wavelength_nm[step]) && !same(nm, curve->wavelength_nm[step + 1]))
            sum += weight * share_of(curve, step, k, nm);
    }
    return sum;
}

/* One step's part of the integral of the weight times what point k counts there. */
static double weighted_step(const bc_curve *curve, const bc_callout *callout, size_t step, size_t k, double from,
                            double to)
{
    const double finest = bc_weight_finest_nm(callout->weight, from, to);
    const double pieces = ceil(fmin(MOST_PIECES, PIECES_IN_ROW * fmax(1.0, (to - from) / finest)));
    const double width = (to - from) / pieces;
    double sum = 0.0;
    for (double piece = 0.5; piece < pieces; piece += 1.0) {
        const double nm = from + piece * width;
        sum += width * bc_weight_at(callout->weight, nm) * share_of(curve, step, k, nm);
    }
    return sum;
}

/* The weight of point k in the integral over the steps on either side of it that lie in the band and are no gaps. */
static double weight_of(const bc_curve *curve, const bc_callout *callout, double step_limit_nm, size_t k)
{
    const double *nm = curve->wavelength_nm;
    double sum = 0.0;
    if (bc_callout_has_own_band(callout))
        return summed_weight_of(curve, callout, step_limit_nm, k);
    for (size_t step = k > 0 ? k - 1 : 0; step <= k && step + 1 < curve->count; step++) {
        const double from = fmax(nm[step], callout->from_nm), to = fmin(nm[step + 1], callout->to_nm);
        const double middle = 0.5 * (from + to), width = nm[step + 1] - nm[step];
        if (!(from < to) || is_gap(curve, step, step_limit_nm))
            continue;
        if (callout->weight != NULL)
            sum += weighted_step(curve, callout, step, k, from, to);
        else
            sum += (to - from) * (step == k ? nm[k + 1] - middle : middle - nm[k - 1]) / width;
    }
    return sum;
}

/* Of a band that is covered: the sum of weight_of() over all points. */
static double whole_weight(const bc_callout *callout)
{
    const size_t last = bc_callout_has_own_band(callout) ? BC_CIE_ROWS - 1 : WHOLE_STEPS;
    const double step_nm = (callout->to_nm - callout->from_nm) / (double)last;
    double sum = 0.0;
    for (size_t i = 0; i <= last; i++)
        sum +=
            (i == 0 || i == last ? 0.5 : 1.0) * bc_weight_at(callout->weight, callout->from_nm + (double)i * step_nm);
    if (!bc_callout_has_own_band(callout))
        return step_nm * sum;
    return sum + 0.5 * (bc_weight_at(callout->weight, callout->from_nm) +
                        bc_weight_at(callout->weight, callout->to_nm)); /* a plain sum */
}

static bc_callout of_function(const bc_callout *callout, int function)
{
    bc_callout one = *callout;
    one.weight = bc_weight_tristimulus(callout->illuminant, callout->observer, function);
    return one;
}

/* A colour, and what each reading's uncertainty does to it to first order. */
static void append_colour(const bc_curve *curve, const bc_callout *callout, double step_limit_nm, bc_band *band)
{
    double total[3] = {0.0, 0.0, 0.0}, share[3] = {0.0, 0.0, 0.0}, slope[3], variance = 0.0, systematic = 0.0, value;
    for (int c = 0; c < 3; c++) {
        const bc_callout one = of_function(callout, c);
        for (size_t k = 0; k < curve->count; k++) {
            const double weight = weight_of(curve, &one, step_limit_nm, k);
            total[c] += weight;
            share[c] += weight * curve->value[k];
        }
        share[c] /= total[c];
    }
    value = bc_colour_callout_value(callout, share, slope);
    for (size_t k = 0; k < curve->count; k++) {
        double weight = 0.0;
        for (int c = 0; c < 3; c++) {
            const bc_callout one = of_function(callout, c);
            weight += slope[c] * weight_of(curve, &one, step_limit_nm, k) / total[c];
        }
        variance += weight * weight * curve->random[k] * curve->random[k];
        systematic += weight * curve->systematic[k];
    }
    append(band, 0.5 * (callout->from_nm + callout->to_nm), value, variance, systematic);
}

void bc_band_mean(const bc_curve *curve, const bc_callout *callout, double step_limit_nm, bc_band *band)
{
    double total = 0.0, value = 0.0, variance = 0.0, systematic = 0.0;
    if (callout->from_nm == callout->to_nm) {
        bc_band_points(curve, callout, step_limit_nm, band);
        band->worst_nm = callout->from_nm;
        return;
    }
    open_band(curve, callout, band);
    survey(curve, callout, step_limit_nm, band);
    for (size_t k = 0; k < curve->count; k++)
        total += weight_of(curve, callout, step_limit_nm, k);
    if (callout->weight != NULL && band->covered_share < 1.0)
        band->covered_share = fmin(1.0, total / whole_weight(callout));
    if (!(total > 0.0))
        return;
    if (callout->colour != BC_NO_COLOUR) {
        append_colour(curve, callout, step_limit_nm, band);
        return;
    }
    for (size_t k = 0; k < curve->count; k++) {
        const double weight = weight_of(curve, callout, step_limit_nm, k) / total;
        value += weight * curve->value[k];
        variance += weight * weight * curve->random[k] * curve->random[k];
        systematic += weight * curve->systematic[k];
    }
    append(band, 0.5 * (callout->from_nm + callout->to_nm), value, variance, systematic);
}
