/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "noise.h"
#include <bloomcoat/correction.h>
#include <math.h>
#include <stdlib.h>

#define SAME         1e-6  /* of a wavelength: the same one */
#define MOST_NOISE   0.1   /* of the reference's signal: above it, it drowns */
#define LOWEST       -0.05 /* of R and T: as a file that holds them may have, with noise */
#define HIGHEST      1.10
#define LEAST_KNOWN  1e-4 /* of the reference: less is none */
#define NOISE_FACTOR 4.0
#define MEAN_FACTOR  2.0

/* One wavelength seen in all scans. */
typedef struct simulated {
    double sample, reference, dark; /* signals */
    double known;
    size_t at, dark_at; /* in the reference and the dark scan */
} simulated;

static bc_status fail_range(const bc_raw_scan *sample, size_t i, const bc_raw_scan *other, const char *what,
                            bc_error *error)
{
    return bc_fail(error, BC_ERROR_INPUT,
                   "%s:%ld: found %.9g nm, which the %s scan %s (%.6g to %.6g nm) does not have; expected both on the "
                   "same wavelengths, to one part in a million",
                   sample->path, sample->line[i], sample->wavelength_nm[i], what, other->path, other->wavelength_nm[0],
                   other->wavelength_nm[other->count - 1]);
}

/* Where the other scan has this wavelength, from *at on. */
static bool find(const bc_raw_scan *scan, double wavelength_nm, size_t *at)
{
    while (*at < scan->count && scan->wavelength_nm[*at] < wavelength_nm * (1.0 - SAME))
        (*at)++;
    return *at < scan->count && scan->wavelength_nm[*at] <= wavelength_nm * (1.0 + SAME);
}

static bc_status compare_signals(const bc_correction *correction, const bc_raw_scan *sample, size_t i,
                                 const simulated *here, double noise, bc_error *error)
{
    const bc_raw_scan *reference = &correction->reference, *dark = &correction->dark;
    if (!(here->reference > here->dark) && dark->count > 0)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%ld: found a reference signal of %.6g at %.6g nm, and %.6g of the dark scan (%s:%ld); "
                       "expected more light from the reference (were the two files swapped?)",
                       reference->path, reference->line[here->at], here->reference, sample->wavelength_nm[i],
                       here->dark, dark->path, dark->line[here->dark_at]);
    if (!(here->reference > here->dark))
        return bc_fail(error, BC_ERROR_INPUT, "%s:%ld: found a reference signal of %.6g; expected one above 0",
                       reference->path, reference->line[here->at], here->reference);
    if (noise > MOST_NOISE * (here->reference - here->dark))
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%ld: found a reference signal of %.6g at %.6g nm (less the dark), which drowns in noise of "
                       "%.2g; expected a scan that ends where the reference's light does",
                       reference->path, reference->line[here->at], here->reference - here->dark,
                       sample->wavelength_nm[i], noise);
    if (!(here->known >= LEAST_KNOWN))
        return bc_fail(error, BC_ERROR_INPUT,
                       "--reference: found that '%s' %s %.3g %% at %.6g nm; expected a reference that %s something",
                       correction->name, correction->quantity == BC_T ? "transmits" : "reflects", 100.0 * here->known,
                       sample->wavelength_nm[i], correction->quantity == BC_T ? "transmits" : "reflects");
    return BC_OK;
}

static bc_status refuse_value(const bc_correction *correction, const bc_raw_scan *sample, size_t i, double value,
                              bc_error *error)
{
    if (value >= LOWEST && value <= HIGHEST)
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT,
                   "%s:%ld: found %c of %.5g %% at %.6g nm by the reference scan; expected 0 to 100 %% with some noise "
                   "(are both scans on one scale, and the right files?)",
                   sample->path, sample->line[i], correction->quantity == BC_T ? 'T' : 'R', 100.0 * value,
                   sample->wavelength_nm[i]);
}

/* The noise of a raw scan at a point: of its repeats, else one figure for all. */
static double noise_at(const bc_raw_scan *scan, size_t i, double of_scan)
{
    return scan->deviation == NULL || isnan(scan->deviation[i]) ? of_scan : scan->deviation[i];
}

static bc_status noise_of(const bc_raw_scan *scan, double *noise, bc_error *error)
{
    double *scratch;
    *noise = 0.0;
    if (scan->count == 0)
        return BC_OK;
    scratch = calloc(scan->count, sizeof *scratch);
    if (scratch == NULL)
        return bc_fail_memory(error);
    const bc_noise found = bc_noise_of_scan(scan->count, scan->wavelength_nm, scan->value, scratch);
    *noise = found.source == BC_NOISE_UNKNOWN ? NAN : found.rms;
    free(scratch);
    return BC_OK;
}

/* Sums over the points that were corrected. */
typedef struct sums {
    double sample, reference, dark;
} sums;

static void add_noise(const bc_correction *correction, const simulated *here, double q, double ratio,
                      const double noise[2], double *deviation, sums *all)
{
    const double of_reference = q * ratio * noise_at(&correction->reference, here->at, noise[0]);
    const double of_dark =
        correction->dark.count == 0 ? 0.0 : q * (1.0 - ratio) * noise_at(&correction->dark, here->dark_at, noise[1]);
    all->reference += of_reference * of_reference;
    all->dark += of_dark * of_dark;
    if (deviation == NULL) {
        all->sample = NAN;
        return;
    }
    const double of_sample = q * *deviation;
    all->sample += of_sample * of_sample;
    *deviation = hypot(of_sample, hypot(isnan(of_reference) ? 0.0 : of_reference, isnan(of_dark) ? 0.0 : of_dark));
}

static void settle(bc_correction *correction, size_t count, const sums *all)
{
    double *const figure[] = {&correction->sample_noise, &correction->reference_noise, &correction->dark_noise};
    const double sum[] = {all->sample, all->reference, all->dark};
    for (size_t i = 0; i < 3; i++) {
        const double rms = sqrt(sum[i] / (double)count);
        *figure[i] = correction->scans == 0 ? rms : fmax(*figure[i], rms);
    }
    correction->scans++;
}

bc_status bc_correct(bc_correction *correction, const bc_raw_scan *sample, const double *known, const double *stated,
                     double *value, double *deviation, double *uncertainty, bc_error *error)
{
    double noise[2];
    size_t at = 0, dark_at = 0, darker = 0;
    sums all = {0.0, 0.0, 0.0};
    bc_status status = noise_of(&correction->reference, &noise[0], error);
    if (status == BC_OK)
        status = noise_of(&correction->dark, &noise[1], error);
    for (size_t i = 0; status == BC_OK && i < sample->count; i++) {
        simulated here = {.sample = sample->value[i], .known = known[i]};
        if (!find(&correction->reference, sample->wavelength_nm[i], &at))
            return fail_range(sample, i, &correction->reference, "reference", error);
        if (correction->dark.count > 0 && !find(&correction->dark, sample->wavelength_nm[i], &dark_at))
            return fail_range(sample, i, &correction->dark, "dark", error);
        here.at = at;
        here.dark_at = dark_at;
        here.reference = correction->reference.value[at];
        here.dark = correction->dark.count > 0 ? correction->dark.value[dark_at] : 0.0;
        status = compare_signals(correction, sample, i, &here, noise_at(&correction->reference, at, noise[0]), error);
        if (status != BC_OK)
            return status;
        const double q = here.known / (here.reference - here.dark);
        value[i] = q * (here.sample - here.dark);
        darker += here.sample < here.dark;
        add_noise(correction, &here, q, value[i] / here.known, noise, deviation == NULL ? NULL : &deviation[i], &all);
        if (uncertainty != NULL)
            uncertainty[i] *= q;
        if (stated != NULL)
            correction->share_stated = fmax(correction->share_stated, stated[i] / here.known);
        correction->known_from = correction->scans + i == 0 ? here.known : fmin(correction->known_from, here.known);
        correction->known_to = fmax(correction->known_to, here.known);
    }
    if (status == BC_OK && 2 * darker > sample->count)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s: found less signal than the dark scan %s has, at %zu of %zu wavelengths; expected a sample "
                       "brighter than the dark (were the two files swapped?)",
                       sample->path, correction->dark.path, darker, sample->count);
    for (size_t i = 0; status == BC_OK && i < sample->count; i++)
        status = refuse_value(correction, sample, i, value[i], error);
    if (status == BC_OK)
        settle(correction, sample->count, &all);
    return status;
}

bc_status bc_bare_value(const bc_medium *incident, const bc_medium *glass, bool plate, double substrate_mm,
                        bc_quantity quantity, double aoi_rad, bc_polarization polarization, size_t count,
                        const double *wavelength_nm, double *value, bc_error *error)
{
    const bc_stack bare = {.incident = *incident, .substrate = *glass};
    const bc_back back = {.kind = plate ? BC_BACK_UNCOATED : BC_BACK_NONE, .substrate_mm = substrate_mm};
    bc_spectrum spectrum;
    bc_status status = bc_spectrum_compute(&bare, &back, count, wavelength_nm, aoi_rad, BC_PATH_AUTO, &spectrum, error);
    if (status != BC_OK)
        return status;
    for (size_t i = 0; i < count; i++)
        value[i] = (quantity == BC_T ? spectrum.T : spectrum.R)[polarization][i];
    bc_spectrum_clear(&spectrum);
    return BC_OK;
}

bc_status bc_check_bare(bc_quantity quantity, size_t count, const double *wavelength_nm, const double *measured,
                        const double *expected, double index, double uncertainty, double scale, bc_bare_check *check,
                        bc_error *error)
{
    /* Normal incidence: R = (n - 1)^2 / (n + 1)^2, so dR / R = 4 dn / (n^2 - 1). */
    const double of_index = 4.0 * BC_BARE_INDEX / fabs(index * index - 1.0);
    const double of_R = quantity == BC_R ? hypot(scale, of_index) : 0.0;
    const bc_raw_scan scan = {.count = count, .wavelength_nm = wavelength_nm, .value = measured};
    double noise, passed = -INFINITY, found = 0.0, known = 0.0;
    bc_status status = noise_of(&scan, &noise, error);
    *check = (bc_bare_check){.quantity = quantity, .count = count, .noise = noise};
    if (status != BC_OK)
        return status;
    noise = isnan(noise) ? 0.0 : noise;
    for (size_t i = 0; i < count; i++) {
        const double known_to = quantity == BC_R ? of_R * expected[i] : of_index * fabs(1.0 - expected[i]);
        const double allowed = hypot(hypot(uncertainty, known_to), NOISE_FACTOR * noise);
        const double difference = measured[i] - expected[i];
        found += measured[i] / (double)count;
        known += expected[i] / (double)count;
        if (fabs(difference) - allowed <= passed)
            continue;
        passed = fabs(difference) - allowed;
        check->worst = difference;
        check->worst_allowed = allowed;
        check->worst_nm = wavelength_nm[i];
    }
    const double mean_known_to = quantity == BC_R ? of_R * known : of_index * fabs(1.0 - known);
    check->measured = found;
    check->expected = known;
    check->off = found / known - 1.0;
    check->allowed = hypot(hypot(uncertainty, mean_known_to), MEAN_FACTOR * noise / sqrt((double)count)) / known;
    check->within = passed <= 0.0 && fabs(check->off) <= check->allowed;
    return BC_OK;
}
