/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "layer_index.h"
#include "index_search.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FINE_STEPS  80
#define MOST_POINTS 2000 /* of a scan; more are thinned out */
#define THIN_POINTS 100
#define UNSEEN_GAIN 10.0 /* of chi2 per unit of misfit, less than which the layer cannot be told from its substrate */
#define BACK_GAIN   20.0 /* of the criterion, before a stated back is doubted */

/* A model with much freedom in each shape: the best misfit is what all are judged by, and a gradient or a rough top is
 * believed where it gains enough. */
static bc_status choose_shape(bc_index_finder *f, bc_layer_shape *chosen, bc_error *error)
{
    double chi2[BC_LAYER_SHAPES] = {INFINITY, INFINITY, INFINITY};
    bc_status status = BC_OK;
    f->phi = INFINITY;
    for (bc_layer_shape shape = BC_LAYER_HOMOGENEOUS; status == BC_OK && shape < BC_LAYER_SHAPES; shape++) {
        status = bc_index_try_model(f, BC_N_CAUCHY_3, BC_K_EXPONENTIAL, shape, error);
        if (status != BC_OK || !bc_index_is_possible(f, &f->trial))
            continue;
        chi2[shape] = f->trial.chi2;
        f->phi = fmin(f->phi, bc_index_inflation(f, &f->trial));
    }
    if (!isfinite(f->phi))
        f->phi = 1.0;
    *chosen = bc_index_believe_shape(chi2, f->phi);
    return status;
}

static bc_status choose_model(bc_index_finder *f, bc_layer_index_result *result, bc_error *error)
{
    bc_layer_shape shape;
    bc_status status = choose_shape(f, &shape, error);
    result->next_model.criterion = INFINITY;
    for (bc_n_model n = BC_N_CONSTANT; status == BC_OK && n < BC_N_MODELS; n++)
        for (bc_k_model k = BC_K_NONE; status == BC_OK && k < BC_K_MODELS; k++) {
            status = bc_index_try_model(f, n, k, shape, error);
            if (status == BC_OK)
                bc_index_offer(f, &result->next_model);
        }
    if (status == BC_OK && !isfinite(f->best.chi2))
        return bc_fail(error, BC_ERROR_INPUT,
                       "no index was found that explains the scans; expected one layer of about the stated thickness "
                       "on the stated substrate");
    return status;
}

static bc_status try_homogeneous(bc_index_finder *f, bc_layer_index_result *result, bc_error *error)
{
    bc_status status = BC_OK;
    result->homogeneous_criterion = bc_index_criterion(f, &f->best);
    if (f->best.shape == BC_LAYER_HOMOGENEOUS)
        return BC_OK;
    f->least_thin = INFINITY; /* to be compared with, however bad it is */
    status = bc_index_try_model(f, f->best.n, f->best.k, BC_LAYER_HOMOGENEOUS, error);
    result->homogeneous_criterion = bc_index_criterion(f, &f->trial);
    return status;
}

/* ---- what cannot be determined ---- */

/* A layer of nothing, with the instrument free: does it explain the scans as well? */
static bc_status refuse_unseen(bc_index_finder *f, bc_error *error)
{
    const double with = f->best.chi2;
    bc_status status;
    bc_index_begin(f, BC_N_CONSTANT, BC_K_NONE, BC_LAYER_HOMOGENEOUS, f->setup->thickness_nm[0], 1.5, &f->trial);
    for (size_t p = 0; p < f->data.pieces; p++)
        f->trial.variable[p] = 0.0;
    status = bc_index_evaluate(&f->data, &f->trial, error);
    if (status != BC_OK || f->trial.chi2 > with + UNSEEN_GAIN * f->phi)
        return status;
    return bc_fail(error, BC_ERROR_INPUT,
                   "the scans do not differ from the bare substrate by more than their noise; expected a layer whose "
                   "index differs from the substrate's: measure it on another substrate");
}

static void see_scans(bc_index_finder *f, const bc_layer_scan *scan)
{
    for (size_t e = 0; e < f->data.entries; e++)
        f->data.entry[e].scan = &scan[f->data.entry[e].which];
    for (size_t e = 0; e < f->thin.entries; e++)
        f->thin.entry[e].scan = &scan[f->thin.entry[e].which];
}

/* The same layer with the back seen where it was said not to be, or the other way: a gradient or a residual is believed
 * only where that does not explain it better. */
static bc_status refuse_other_back(bc_index_finder *f, bc_error *error)
{
    const bool was_seen = f->setup->scan[0].back == BC_BACK_UNCOATED;
    bc_layer_scan *flipped = calloc(f->setup->scans, sizeof *flipped);
    bc_status status = flipped == NULL ? bc_fail_memory(error) : BC_OK;
    bool clear = true;
    for (size_t s = 0; status == BC_OK && s < f->setup->scans; s++) {
        flipped[s] = f->setup->scan[s];
        flipped[s].back = was_seen ? BC_BACK_NONE : BC_BACK_UNCOATED;
        clear = clear && !bc_dispersion_absorbs(flipped[s].substrate.dispersion);
    }
    if (status == BC_OK)
        see_scans(f, flipped);
    if (status == BC_OK && clear)
        status = bc_index_try_model(f, BC_N_CAUCHY_3, BC_K_EXPONENTIAL, BC_LAYER_HOMOGENEOUS, error);
    if (status == BC_OK && clear && isfinite(f->trial.chi2) &&
        f->best.chi2 - f->trial.chi2 > BACK_GAIN * bc_index_inflation(f, &f->trial))
        status = bc_fail(error, BC_ERROR_INPUT,
                         "the scans are explained far better by a layer whose back is %s (chi squared %.4g against "
                         "%.4g); expected --back %s, or scans of a piece whose back is as stated",
                         was_seen ? "not seen" : "seen", f->trial.chi2, f->best.chi2, was_seen ? "none" : "uncoated");
    see_scans(f, f->setup->scan);
    free(flipped);
    return status;
}

bc_status bc_index_from_scans(const bc_layer_index_setup *setup, bc_layer_index_result *result, bc_error *error)
{
    bc_index_finder f = {.setup = setup, .phi = 1.0, .least_thin = INFINITY};
    bc_status status = bc_index_refuse_setup(setup, error);
    memset(result, 0, sizeof *result);
    if (status == BC_OK)
        status = bc_index_data_open(setup, MOST_POINTS, &f.data, error);
    if (status == BC_OK)
        status = bc_index_data_open(setup, THIN_POINTS, &f.thin, error);
    if (status == BC_OK)
        status = bc_index_fit_alloc(&f.data, &f.best, error);
    if (status == BC_OK)
        status = bc_index_fit_alloc(&f.data, &f.trial, error);
    if (status == BC_OK) {
        f.start = calloc(f.data.pieces + BC_INDEX_VARIABLES, sizeof *f.start);
        status = f.start == NULL ? bc_fail_memory(error) : bc_index_find_valleys(&f, error);
    }
    if (status == BC_OK)
        status = choose_model(&f, result, error);
    if (status == BC_OK)
        status = refuse_unseen(&f, error);
    if (status == BC_OK)
        status = refuse_other_back(&f, error);
    if (status == BC_OK)
        status = try_homogeneous(&f, result, error);
    if (status == BC_OK)
        status = bc_index_try_other_orders(&f, result, error);
    if (status == BC_OK)
        status = bc_index_evaluate(&f.data, &f.best, error);
    if (status == BC_OK)
        status = bc_layer_index_fill(&f.data, &f.best, bc_index_model_of(&f, &f.best), bc_index_inflation(&f, &f.best),
                                     result, error);
    if (status == BC_OK)
        status = bc_layer_index_refuse(result, error);
    free(f.start);
    bc_index_fit_free(&f.best);
    bc_index_fit_free(&f.trial);
    bc_index_data_close(&f.data);
    bc_index_data_close(&f.thin);
    if (status != BC_OK)
        bc_layer_index_result_clear(result);
    return status;
}
