/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "index_search.h"
#include "residue.h"
#include <math.h>
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
#define HOPELESS_SHARE 1.5 /* of the least chi2 on few points, and this more: such a model is not followed */
#define HOPELESS       60.0
#define RIVAL          6.0 /* in chi2 of a first approach: a valley no worse is followed with every model */
#define START_K        1e-4
#define SHAPE_GAIN     6.0 /* of the criterion, before a gradient or a rough top is believed */

void bc_index_begin(const bc_index_finder *f, bc_n_model n, bc_k_model k, bc_layer_shape shape, double thickness_nm,
                    double index, bc_index_fit *fit)
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

void bc_index_note_valley(bc_index_finder *f, double thickness_nm, double index, double chi2)
{
    size_t place = 0; /* of the same valley, or the last */
    while (place + 1 < BC_INDEX_VALLEYS &&
           !(fabs(f->valley[place][0] - thickness_nm) < BC_INDEX_SAME_VALLEY * thickness_nm))
        place++;
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

bc_status bc_index_scan_indices(bc_index_finder *f, double thickness_nm, double *index, bc_error *error)
{
    double least = INFINITY;
    bc_status status = BC_OK;
    for (double n = LEAST_N; status == BC_OK && n <= MOST_N; n *= 1.0 + INDEX_STEP) {
        bc_index_begin(f, BC_N_CAUCHY_2, BC_K_NONE, BC_LAYER_HOMOGENEOUS, thickness_nm, n, &f->trial);
        status = bc_index_evaluate(&f->thin, &f->trial, error);
        if (status == BC_OK && f->trial.chi2 < least) {
            least = f->trial.chi2;
            *index = n;
        }
    }
    return status;
}

size_t bc_index_starts(double about_nm, double from_um)
{
    const double orders = 2.0 * LEAST_N * about_nm * (MOST_SHARE - LEAST_SHARE) / (1000.0 * from_um);
    return (size_t)fmin(fmax(ceil(PHASE_STEP * orders), FEWEST_STARTS), MOST_STARTS);
}

double bc_index_start_nm(double about_nm, size_t i, size_t starts)
{
    return about_nm * LEAST_SHARE * pow(MOST_SHARE / LEAST_SHARE, (double)i / (double)(starts - 1));
}

bc_status bc_index_find_valleys(bc_index_finder *f, bc_error *error)
{
    const size_t starts = bc_index_starts(f->setup->thickness_nm[0], f->data.range.from_um);
    bc_status status = BC_OK;
    for (size_t v = 0; v < BC_INDEX_VALLEYS; v++) {
        f->valley[v][0] = f->valley[v][1] = NAN;
        f->valley_chi2[v] = INFINITY;
    }
    for (size_t i = 0; status == BC_OK && i < starts; i++) {
        const double about_nm = bc_index_start_nm(f->setup->thickness_nm[0], i, starts);
        double index = 1.5;
        status = bc_index_scan_indices(f, about_nm, &index, error);
        if (status != BC_OK)
            break;
        bc_index_begin(f, BC_N_CAUCHY_2, BC_K_EXPONENTIAL, BC_LAYER_HOMOGENEOUS, about_nm, index, &f->trial);
        f->trial.rough = true;
        status = bc_index_descend(&f->thin, &f->trial, ROUGH_STEPS, error);
        if (status == BC_OK)
            bc_index_note_valley(f, f->trial.variable[0], f->trial.variable[bc_index_n_from(&f->trial)], f->trial.chi2);
    }
    return status;
}

/* ---- the models ---- */

double bc_index_criterion(const bc_index_finder *f, const bc_index_fit *fit)
{
    const double p = (double)(fit->variables - BC_INSTRUMENT), N = (double)f->data.points;
    return fit->chi2 / f->phi + 2.0 * p + 2.0 * p * (p + 1.0) / fmax(N - p - 1.0, 1.0);
}

bool bc_index_is_possible(const bc_index_finder *f, const bc_index_fit *fit)
{
    const double *n_variable = fit->variable + bc_index_n_from(fit);
    return isfinite(fit->chi2) && isfinite(fit->covariance[0]) &&
           bc_n_is_normal(fit->n, fit->k, n_variable, n_variable + bc_n_variables(fit->n), &f->data.range);
}

bc_layer_model bc_index_model_of(const bc_index_finder *f, const bc_index_fit *fit)
{
    return (bc_layer_model){
        fit->n, fit->k, fit->shape, fit->variables - BC_INSTRUMENT, bc_index_criterion(f, fit), fit->variable[0]};
}

double bc_index_inflation(const bc_index_finder *f, const bc_index_fit *fit)
{
    const double freedom = fmax((double)f->data.points - (double)(fit->variables - BC_INSTRUMENT), 1.0);
    const double size = fmax(fit->chi2 / freedom, 1.0);
    double length = 0.0;
    for (size_t e = 0; e < f->data.entries; e++) {
        const bc_index_entry *entry = &f->data.entry[e];
        for (size_t i = 0; i < entry->count; i++)
            f->data.n[i] = (entry->value[i] - entry->fitted[i]) / entry->noise[i];
        length += bc_residue_points_alike(entry->count, f->data.n, entry->count / 4) * (double)entry->count /
                  (double)f->data.points;
    }
    return size * fmax(length, 1.0);
}

bc_status bc_index_try_model(bc_index_finder *f, bc_n_model n, bc_k_model k, bc_layer_shape shape, bc_error *error)
{
    const size_t rivals = f->valley_chi2[1] < RIVAL * f->valley_chi2[0] ? 2 : 1;
    const size_t most = f->data.pieces + BC_INDEX_VARIABLES;
    double least = INFINITY;
    bc_status status = BC_OK;
    for (size_t v = 0; status == BC_OK && v < rivals; v++) {
        bc_index_begin(f, n, k, shape, f->valley[v][0], f->valley[v][1], &f->trial);
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

void bc_index_offer(bc_index_finder *f, bc_layer_model *next)
{
    const bc_layer_model model = bc_index_model_of(f, &f->trial);
    if (!bc_index_is_possible(f, &f->trial))
        return;
    if (!isfinite(f->best.chi2)) {
        bc_index_fit_copy(&f->data, &f->trial, &f->best);
    } else if (model.criterion < bc_index_criterion(f, &f->best)) {
        *next = bc_index_model_of(f, &f->best);
        bc_index_fit_copy(&f->data, &f->trial, &f->best);
    } else if (model.criterion < next->criterion) {
        *next = model;
    }
}

bc_status bc_index_try_other_orders(bc_index_finder *f, bc_layer_index_result *result, bc_error *error)
{
    bc_status status = BC_OK;
    result->other_thickness_nm = NAN;
    result->other_criterion = INFINITY;
    for (size_t v = 0; status == BC_OK && v < BC_INDEX_VALLEYS && isfinite(f->valley_chi2[v]); v++) {
        bc_index_begin(f, f->best.n, f->best.k, f->best.shape, f->valley[v][0], f->valley[v][1], &f->trial);
        status = bc_index_descend(&f->data, &f->trial, FINE_STEPS, error);
        if (status == BC_OK &&
            fabs(f->trial.variable[0] - f->best.variable[0]) > BC_INDEX_SAME_VALLEY * f->best.variable[0] &&
            bc_index_criterion(f, &f->trial) < result->other_criterion) {
            result->other_criterion = bc_index_criterion(f, &f->trial);
            result->other_thickness_nm = f->trial.variable[0];
        }
    }
    return status;
}

bc_layer_shape bc_index_believe_shape(const double chi2[BC_LAYER_SHAPES], double phi)
{
    bc_layer_shape chosen = BC_LAYER_HOMOGENEOUS;
    double least = chi2[BC_LAYER_HOMOGENEOUS] - SHAPE_GAIN * phi;
    for (bc_layer_shape shape = BC_LAYER_GRADED; shape < BC_LAYER_SHAPES; shape++)
        if (chi2[shape] < least) {
            least = chi2[shape];
            chosen = shape;
        }
    return chosen;
}
