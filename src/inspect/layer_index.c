/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "layer_index.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_SHARE    0.5 /* of the stated thickness */
#define MOST_SHARE     2.0
#define FEWEST_STARTS  24
#define MOST_STARTS    240
#define LEAST_N        1.2
#define MOST_N         4.5
#define INDEX_STEP     0.04 /* a share */
#define PHASE_STEP     6.0  /* starts within one order of interference */
#define ROUGH_STEPS    12
#define FINE_STEPS     80
#define VALLEYS        4
#define SAME_VALLEY    0.02 /* of the thickness */
#define HOPELESS_SHARE 1.5  /* of the least chi2 on few points, and this more: such a model is not followed */
#define HOPELESS       60.0
#define RIVAL          6.0  /* in chi2 of a first approach: a valley no worse is followed with every model */
#define MOST_POINTS    2000 /* of a scan; more are thinned out */
#define THIN_POINTS    100
#define START_K        1e-4
#define SHAPE_GAIN     6.0  /* of the criterion, before a gradient or a rough top is believed */
#define UNSEEN_GAIN    10.0 /* of chi2 per unit of misfit, less than which the layer cannot be told from its substrate */
#define BACK_GAIN      20.0 /* of the criterion, before a stated back is doubted */

/* Fits that are kept, the best first. */
typedef struct finder {
    const bc_layer_index_setup *setup;
    bc_index_data data, thin; /* all points; few of them, to search with */
    double phi;               /* misfit of the best model, >= 1 */
    double least_thin;        /* chi2 of the best fit to the few points */
    double *start;            /* [pieces + BC_INDEX_VARIABLES] */
    bc_index_fit best;        /* chosen */
    bc_index_fit trial;
    double valley[VALLEYS][2]; /* a thickness and an index to begin at; NAN: none */
    double valley_chi2[VALLEYS];
} finder;

static void begin(const finder *f, bc_n_model n, bc_k_model k, bc_layer_shape shape, double thickness_nm, double index,
                  bc_index_fit *fit)
{
    memset(fit->variable, 0, (f->data.pieces + BC_INDEX_VARIABLES) * sizeof *fit->variable);
    fit->n = n;
    fit->k = k;
    fit->shape = shape;
    fit->rough = false;
    fit->variables = bc_index_fit_variables(&f->data, n, k, shape);
    for (size_t p = 0; p < f->data.pieces; p++)
        fit->variable[p] = thickness_nm * f->setup->thickness_nm[p] / f->setup->thickness_nm[0];
    bc_n_start(n, index, fit->variable + bc_index_n_from(fit));
    bc_k_start(k, START_K, fit->variable + bc_index_n_from(fit) + bc_n_variables(n));
    if (shape == BC_LAYER_ROUGH)
        fit->variable[bc_index_shape_from(fit)] = 3.0;
}

/* ---- the valleys: every thickness with every index ---- */

static void note_valley(finder *f, double thickness_nm, double index, double chi2)
{
    size_t place = VALLEYS;
    for (size_t v = 0; v < VALLEYS; v++)
        if (fabs(f->valley[v][0] - thickness_nm) < SAME_VALLEY * thickness_nm) {
            place = v;
            break;
        }
    if (place == VALLEYS)
        place = VALLEYS - 1;
    if (chi2 >= f->valley_chi2[place])
        return;
    for (; place > 0 && chi2 < f->valley_chi2[place - 1]; place--) {
        memcpy(f->valley[place], f->valley[place - 1], sizeof f->valley[0]);
        f->valley_chi2[place] = f->valley_chi2[place - 1];
    }
    f->valley[place][0] = thickness_nm;
    f->valley[place][1] = index;
    f->valley_chi2[place] = chi2;
}

/* The index, with a usual dispersion, that fits best at one thickness. */
static bc_status scan_indices(finder *f, double thickness_nm, double *index, bc_error *error)
{
    double least = INFINITY;
    bc_status status = BC_OK;
    for (double n = LEAST_N; status == BC_OK && n <= MOST_N; n *= 1.0 + INDEX_STEP) {
        begin(f, BC_N_CAUCHY_2, BC_K_NONE, BC_LAYER_HOMOGENEOUS, thickness_nm, n, &f->trial);
        status = bc_index_evaluate(&f->thin, &f->trial, error);
        if (status == BC_OK && f->trial.chi2 < least) {
            least = f->trial.chi2;
            *index = n;
        }
    }
    return status;
}

static bc_status find_valleys(finder *f, bc_error *error)
{
    const double about = f->setup->thickness_nm[0];
    const double orders = 2.0 * LEAST_N * about * (MOST_SHARE - LEAST_SHARE) / (1000.0 * f->data.range.from_um);
    const size_t starts = (size_t)fmin(fmax(ceil(PHASE_STEP * orders), FEWEST_STARTS), MOST_STARTS);
    bc_status status = BC_OK;
    for (size_t v = 0; v < VALLEYS; v++) {
        f->valley[v][0] = f->valley[v][1] = NAN;
        f->valley_chi2[v] = INFINITY;
    }
    for (size_t i = 0; status == BC_OK && i < starts; i++) {
        const double share = LEAST_SHARE * pow(MOST_SHARE / LEAST_SHARE, (double)i / (double)(starts - 1));
        double index = 1.5;
        status = scan_indices(f, share * about, &index, error);
        if (status != BC_OK)
            break;
        begin(f, BC_N_CAUCHY_2, BC_K_EXPONENTIAL, BC_LAYER_HOMOGENEOUS, share * about, index, &f->trial);
        f->trial.rough = true;
        status = bc_index_descend(&f->thin, &f->trial, ROUGH_STEPS, error);
        if (status == BC_OK)
            note_valley(f, f->trial.variable[0], f->trial.variable[bc_index_n_from(&f->trial)], f->trial.chi2);
    }
    return status;
}

/* ---- the models ---- */

static double criterion(const finder *f, const bc_index_fit *fit)
{
    const double p = (double)(fit->variables - BC_INSTRUMENT), N = (double)f->data.points;
    return fit->chi2 / f->phi + 2.0 * p + 2.0 * p * (p + 1.0) / fmax(N - p - 1.0, 1.0);
}

static bool is_possible(const finder *f, const bc_index_fit *fit)
{
    const double *n_variable = fit->variable + bc_index_n_from(fit);
    return isfinite(fit->chi2) && isfinite(fit->covariance[0]) &&
           bc_n_is_normal(fit->n, fit->k, n_variable, n_variable + bc_n_variables(fit->n), &f->data.range);
}

static bc_layer_model model_of(const finder *f, const bc_index_fit *fit)
{
    return (bc_layer_model){fit->n,          fit->k, fit->shape, fit->variables - BC_INSTRUMENT, criterion(f, fit),
                            fit->variable[0]};
}

/* Correlated residuals count as fewer points: 1 + 2 times the sum of their autocorrelations until the first below 0. */
static double correlation_length(const bc_index_entry *entry)
{
    double length = 1.0, square = 0.0;
    for (size_t i = 0; i < entry->count; i++) {
        const double off = (entry->value[i] - entry->fitted[i]) / entry->noise[i];
        square += off * off;
    }
    for (size_t lag = 1; lag < entry->count / 4; lag++) {
        double sum = 0.0;
        for (size_t i = lag; i < entry->count; i++)
            sum += (entry->value[i] - entry->fitted[i]) * (entry->value[i - lag] - entry->fitted[i - lag]) /
                   (entry->noise[i] * entry->noise[i - lag]);
        if (!(sum > 0.0))
            break;
        length += 2.0 * sum / square;
    }
    return length;
}

/* What the variance of the noise must be multiplied by to cover the residual: its size, and its correlation where it is
 * more than chance. */
static double inflation(const finder *f, const bc_index_fit *fit)
{
    const double freedom = fmax((double)f->data.points - (double)(fit->variables - BC_INSTRUMENT), 1.0);
    const double size = fmax(fit->chi2 / freedom, 1.0);
    double length = 0.0;
    for (size_t e = 0; e < f->data.entries; e++)
        length += correlation_length(&f->data.entry[e]) * (double)f->data.entry[e].count / (double)f->data.points;
    return size * fmax(length, 1.0);
}

/* A model in the best valleys, on few points; then on all points where it can still win. The fit is left in f->trial;
 * its chi2 is INFINITY where it cannot. */
static bc_status try_model(finder *f, bc_n_model n, bc_k_model k, bc_layer_shape shape, bc_error *error)
{
    const size_t rivals = f->valley_chi2[1] < RIVAL * f->valley_chi2[0] ? 2 : 1;
    const size_t most = f->data.pieces + BC_INDEX_VARIABLES;
    double least = INFINITY;
    bc_status status = BC_OK;
    for (size_t v = 0; status == BC_OK && v < rivals; v++) {
        begin(f, n, k, shape, f->valley[v][0], f->valley[v][1], &f->trial);
        status = bc_index_descend(&f->thin, &f->trial, FINE_STEPS, error);
        if (status == BC_OK && f->trial.chi2 < least) {
            least = f->trial.chi2;
            memcpy(f->start, f->trial.variable, most * sizeof *f->start);
        }
    }
    if (status == BC_OK && least < f->least_thin)
        f->least_thin = least;
    if (status != BC_OK || !(least < HOPELESS_SHARE * f->least_thin + HOPELESS)) {
        f->trial.chi2 = INFINITY;
        return status;
    }
    memcpy(f->trial.variable, f->start, most * sizeof *f->start);
    return bc_index_descend(&f->data, &f->trial, FINE_STEPS, error);
}

/* A model with much freedom in each shape: the best misfit is what all are judged by, and a gradient or a rough top is
 * believed where it gains enough. */
static bc_status choose_shape(finder *f, bc_layer_shape *chosen, bc_error *error)
{
    double chi2[BC_LAYER_SHAPES], least;
    bc_status status = BC_OK;
    f->phi = INFINITY;
    for (bc_layer_shape shape = BC_LAYER_HOMOGENEOUS; status == BC_OK && shape < BC_LAYER_SHAPES; shape++) {
        status = try_model(f, BC_N_CAUCHY_3, BC_K_EXPONENTIAL, shape, error);
        chi2[shape] = INFINITY;
        if (status != BC_OK || !is_possible(f, &f->trial))
            continue;
        chi2[shape] = f->trial.chi2;
        f->phi = fmin(f->phi, inflation(f, &f->trial));
    }
    if (!isfinite(f->phi))
        f->phi = 1.0;
    *chosen = BC_LAYER_HOMOGENEOUS;
    least = chi2[BC_LAYER_HOMOGENEOUS] - SHAPE_GAIN * f->phi;
    for (bc_layer_shape shape = BC_LAYER_GRADED; status == BC_OK && shape < BC_LAYER_SHAPES; shape++)
        if (chi2[shape] < least) {
            least = chi2[shape];
            *chosen = shape;
        }
    return status;
}

static bc_status choose_model(finder *f, bc_layer_index_result *result, bc_error *error)
{
    bc_layer_shape shape;
    bc_status status = choose_shape(f, &shape, error);
    result->next_model.criterion = INFINITY;
    for (bc_n_model n = BC_N_CONSTANT; status == BC_OK && n < BC_N_MODELS; n++)
        for (bc_k_model k = BC_K_NONE; status == BC_OK && k < BC_K_MODELS; k++) {
            status = try_model(f, n, k, shape, error);
            if (status != BC_OK || !is_possible(f, &f->trial))
                continue;
            if (!isfinite(f->best.chi2) || criterion(f, &f->trial) < criterion(f, &f->best)) {
                if (isfinite(f->best.chi2))
                    result->next_model = model_of(f, &f->best);
                bc_index_fit_copy(&f->data, &f->trial, &f->best);
            } else if (criterion(f, &f->trial) < result->next_model.criterion) {
                result->next_model = model_of(f, &f->trial);
            }
        }
    if (status == BC_OK && !isfinite(f->best.chi2))
        return bc_fail(error, BC_ERROR_INPUT,
                       "no index was found that explains the scans; expected one layer of about the stated thickness "
                       "on the stated substrate");
    return status;
}

static bc_status try_homogeneous(finder *f, bc_layer_index_result *result, bc_error *error)
{
    bc_status status = BC_OK;
    result->homogeneous_criterion = criterion(f, &f->best);
    if (f->best.shape == BC_LAYER_HOMOGENEOUS)
        return BC_OK;
    f->least_thin = INFINITY; /* to be compared with, however bad it is */
    status = try_model(f, f->best.n, f->best.k, BC_LAYER_HOMOGENEOUS, error);
    result->homogeneous_criterion = criterion(f, &f->trial);
    return status;
}

/* The chosen model in every other valley. */
static bc_status try_other_orders(finder *f, bc_layer_index_result *result, bc_error *error)
{
    bc_status status = BC_OK;
    result->other_thickness_nm = NAN;
    result->other_criterion = INFINITY;
    for (size_t v = 0; status == BC_OK && v < VALLEYS && isfinite(f->valley_chi2[v]); v++) {
        begin(f, f->best.n, f->best.k, f->best.shape, f->valley[v][0], f->valley[v][1], &f->trial);
        status = bc_index_descend(&f->data, &f->trial, FINE_STEPS, error);
        if (status == BC_OK && isfinite(f->trial.chi2) &&
            fabs(f->trial.variable[0] - f->best.variable[0]) > SAME_VALLEY * f->best.variable[0] &&
            criterion(f, &f->trial) < result->other_criterion) {
            result->other_criterion = criterion(f, &f->trial);
            result->other_thickness_nm = f->trial.variable[0];
        }
    }
    return status;
}

/* ---- what cannot be determined ---- */

/* A layer of nothing, with the instrument free: does it explain the scans as well? */
static bc_status refuse_unseen(finder *f, bc_error *error)
{
    const double with = f->best.chi2;
    bc_status status;
    begin(f, BC_N_CONSTANT, BC_K_NONE, BC_LAYER_HOMOGENEOUS, f->setup->thickness_nm[0], 1.5, &f->trial);
    for (size_t p = 0; p < f->data.pieces; p++)
        f->trial.variable[p] = 0.0;
    status = bc_index_evaluate(&f->data, &f->trial, error);
    if (status != BC_OK || f->trial.chi2 > with + UNSEEN_GAIN * f->phi)
        return status;
    return bc_fail(error, BC_ERROR_INPUT,
                   "the scans do not differ from the bare substrate by more than their noise; expected a layer whose "
                   "index differs from the substrate's: measure it on another substrate");
}

static void see_scans(finder *f, const bc_layer_scan *scan)
{
    for (size_t e = 0; e < f->data.entries; e++)
        f->data.entry[e].scan = &scan[f->data.entry[e].which];
    for (size_t e = 0; e < f->thin.entries; e++)
        f->thin.entry[e].scan = &scan[f->thin.entry[e].which];
}

/* The same layer with the back seen where it was said not to be, or the other way: a gradient or a residual is believed
 * only where that does not explain it better. */
static bc_status refuse_other_back(finder *f, bc_error *error)
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
        status = try_model(f, BC_N_CAUCHY_3, BC_K_EXPONENTIAL, BC_LAYER_HOMOGENEOUS, error);
    if (status == BC_OK && clear && isfinite(f->trial.chi2) &&
        f->best.chi2 - f->trial.chi2 > BACK_GAIN * inflation(f, &f->trial))
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
    finder f = {.setup = setup, .phi = 1.0, .least_thin = INFINITY};
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
        status = f.start == NULL ? bc_fail_memory(error) : find_valleys(&f, error);
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
        status = try_other_orders(&f, result, error);
    if (status == BC_OK)
        status = bc_index_evaluate(&f.data, &f.best, error);
    if (status == BC_OK)
        status = bc_layer_index_fill(&f.data, &f.best, model_of(&f, &f.best), inflation(&f, &f.best), result, error);
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
