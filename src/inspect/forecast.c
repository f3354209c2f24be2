/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "forecast.h"
#include "cause.h"
#include <gsl/gsl_randist.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DRAWS 200
#define SEED  314159

/* Runs of the same scatter, as they were and corrected. */
typedef struct runs {
    bc_inspection *inspection;
    const bc_forecast *forecast;
    const double *correction;
    size_t callouts;
    bc_prospect **prospect;                /* [callouts] NULL: cannot be computed */
    double *design;                        /* [points] the design's spectrum */
    double *made, *thickness_nm, *scatter; /* [layers] */
    double *run_scatter;                   /* [layers] */
} runs;

double bc_layer_scatter(const bc_inspection *inspection, size_t j)
{
    const bc_process_row row =
        bc_process_for(inspection->setup->process, inspection->setup->design->layer[j].material.name);
    return row.thickness_sigma > 0.0 ? row.thickness_sigma : BC_USUAL_SCATTER;
}

static void close_runs(runs *r)
{
    for (size_t c = 0; r->prospect != NULL && c < r->callouts; c++)
        bc_prospect_close(r->prospect[c]);
    free(r->prospect);
    free(r->design);
}

static bc_status open_runs(runs *r, bc_error *error)
{
    const bc_inspect_setup *setup = r->inspection->setup;
    bc_fit *fit = &r->inspection->fit;
    const size_t layers = fit->layers;
    bc_status status = BC_OK;
    r->callouts = setup->callouts == NULL ? 0 : setup->callouts->count;
    r->prospect = calloc(r->callouts + 1, sizeof(bc_prospect *));
    r->design = calloc(fit->setup.count + 4 * layers + 1, sizeof(double));
    if (r->prospect == NULL || r->design == NULL)
        return bc_fail_memory(error);
    r->made = r->design + fit->setup.count;
    r->thickness_nm = r->made + layers;
    r->scatter = r->thickness_nm + layers;
    r->run_scatter = r->scatter + layers;
    for (size_t j = 0; j < layers; j++) {
        r->thickness_nm[j] = setup->design->layer[j].thickness_nm;
        r->scatter[j] = bc_layer_scatter(r->inspection, j);
        r->run_scatter[j] = bc_process_for(setup->process, setup->design->layer[j].material.name).run_thickness_sigma;
    }
    bc_fit_look(fit, r->thickness_nm, NULL, 0.0, false);
    memcpy(r->design, fit->model[0], fit->setup.count * sizeof(double));
    for (size_t c = 0; status == BC_OK && c < r->callouts; c++)
        status = bc_prospect_open(setup, &setup->callouts->callout[c], &r->prospect[c], error);
    return status;
}

static void draw(runs *r, gsl_rng *random)
{
    const bc_forecast *both = r->forecast;
    const double of_both = both[0].weight + both[1].weight;
    const bc_forecast *forecast = &both[gsl_rng_uniform(random) * of_both < both[0].weight ? 0 : 1];
    const double common = gsl_ran_ugaussian(random), run = gsl_ran_ugaussian(random);
    for (size_t j = 0; j < r->inspection->fit.layers; j++) {
        const double again =
            forecast->factor[j] + forecast->common[j] * common + forecast->own[j] * gsl_ran_ugaussian(random);
        r->made[j] = again * (1.0 + r->run_scatter[j] * run + r->scatter[j] * gsl_ran_ugaussian(random));
    }
}

/* One drawn run: the largest share of a limit that it uses (NAN: none can be computed), and its rms distance from the
 * design's spectrum. */
typedef struct outcome {
    double used, rms;
} outcome;

static outcome look(runs *r, bool corrected)
{
    bc_fit *fit = &r->inspection->fit;
    outcome out = {NAN, 0.0};
    double at_nm;
    for (size_t j = 0; j < fit->layers; j++)
        r->thickness_nm[j] = fmax(0.0, r->inspection->setup->design->layer[j].thickness_nm * r->made[j] /
                                           (corrected ? r->correction[j] : 1.0));
    for (size_t c = 0; c < r->callouts; c++)
        if (r->prospect[c] != NULL)
            out.used = fmax(
                out.used, bc_limit_used(&r->inspection->setup->callouts->callout[c],
                                        bc_prospect_value(r->prospect[c], r->thickness_nm, r->inspection->dn, &at_nm)));
    bc_fit_look(fit, r->thickness_nm, NULL, 0.0, false);
    for (size_t i = 0; i < fit->setup.count; i++)
        out.rms += pow(fit->model[0][i] - r->design[i], 2.0) / (double)fit->setup.count;
    out.rms = sqrt(out.rms);
    return out;
}

static void draw_runs(runs *r, gsl_rng *random, double done, bc_next_gain *gain)
{
    size_t better = 0;
    for (size_t i = 0; i < DRAWS; i++) {
        outcome as_it_was, corrected;
        draw(r, random);
        as_it_was = look(r, false);
        corrected = look(r, true);
        gain->used_as_it_was += as_it_was.used / DRAWS;
        gain->used_corrected += corrected.used / DRAWS;
        gain->rms_as_it_was += as_it_was.rms / DRAWS;
        gain->rms_corrected += corrected.rms / DRAWS;
        better += isfinite(corrected.used) ? corrected.used < as_it_was.used : corrected.rms < as_it_was.rms;
        bc_say_progress(r->inspection, BC_STAGE_NEXT_RUN, done + 0.5 * (double)(i + 1) / DRAWS);
    }
    gain->better = (double)better / DRAWS;
}

bc_status bc_expect_gain(bc_inspection *inspection, const bc_forecast forecast[2], const double *correction,
                         double done, bc_next_gain *gain, bc_error *error)
{
    runs r = {.inspection = inspection, .forecast = forecast, .correction = correction};
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    bc_status status = random == NULL ? bc_fail_memory(error) : open_runs(&r, error);
    *gain = (bc_next_gain){.weighed = true};
    if (status == BC_OK) {
        gsl_rng_set(random, SEED);
        draw_runs(&r, random, done, gain);
    }
    gsl_rng_free(random);
    close_runs(&r);
    return status;
}
