/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "process_draw.h"
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_FACTOR  10.0
#define MOST_SPREAD  1.5
#define OF_MATERIALS 3 /* numbers of each: layer, index, factor */
#define OF_CHAMBER   2

enum { RUN_SIGMA, RUN_MEAN };
enum { LAYER, INDEX, FACTOR };

/* The row of this name alone. */
static const bc_process_row *row_of(const bc_process *process, const char *name)
{
    for (size_t i = 0; process != NULL && i < process->rows; i++)
        if (strcmp(process->row[i].material, name) == 0)
            return &process->row[i];
    return NULL;
}

static bool says(const bc_process_row *row, int figure)
{
    return row != NULL && (figure == LAYER   ? row->has_thickness_sigma
                           : figure == INDEX ? row->has_index_sigma
                                             : row->has_tooling);
}

/* Which number a figure of material m goes by: its own, or that of the first material that has it from the row `*`. */
static size_t number_of(const bc_run_model *model, const bc_process *process, size_t m, int figure)
{
    size_t source = m;
    for (size_t i = m; i-- > 0 && !says(row_of(process, model->medium[m].name), figure);)
        if (!says(row_of(process, model->medium[i].name), figure))
            source = i;
    return OF_CHAMBER + source * OF_MATERIALS + (size_t)figure;
}

static double freedom_of(double runs)
{
    return runs > 0.0 ? fmax(runs - 1.0, 1.0) : 0.0;
}

static double fewest_of(const bc_process_runs *runs)
{
    const double figure[] = {runs->tooling, runs->thickness_sigma, runs->run_thickness_sigma, runs->index_sigma};
    double fewest = INFINITY;
    for (size_t i = 0; i < sizeof figure / sizeof *figure; i++)
        if (figure[i] > 0.0)
            fewest = fmin(fewest, figure[i]);
    return runs->counted > 0.0 && isfinite(fewest) ? runs->counted : fewest;
}

static void look_at(const bc_process *process, size_t m, bc_process_doubt *doubt)
{
    const bc_run_model *model = doubt->model;
    const bc_process_row row = bc_process_for(process, model->medium[m].name);
    const bool scatters = row.thickness_sigma > 0.0 || row.run_thickness_sigma != 0.0;
    bc_process_runs runs = row.runs;
    /* What is 0, or not said, is not larger for being known badly. */
    runs.thickness_sigma = row.thickness_sigma > 0.0 ? runs.thickness_sigma : 0.0;
    runs.run_thickness_sigma = row.run_thickness_sigma != 0.0 ? runs.run_thickness_sigma : 0.0;
    runs.index_sigma = row.index_sigma > 0.0 ? runs.index_sigma : 0.0;
    runs.tooling = scatters ? runs.tooling : 0.0;
    doubt->layer[m] = (bc_doubted){freedom_of(runs.thickness_sigma), number_of(model, process, m, LAYER)};
    doubt->index[m] = (bc_doubted){freedom_of(runs.index_sigma), number_of(model, process, m, INDEX)};
    doubt->factor[m] = (bc_doubted){runs.tooling, number_of(model, process, m, FACTOR)};
    if (runs.run_thickness_sigma > 0.0)
        doubt->run.freedom =
            fmin(doubt->run.freedom > 0.0 ? doubt->run.freedom : INFINITY, freedom_of(runs.run_thickness_sigma));
    doubt->runs = fmin(doubt->runs, fewest_of(&runs));
}

bc_status bc_process_doubt_open(const bc_run_model *model, const bc_process *process, bc_process_doubt *doubt,
                                bc_error *error)
{
    const size_t materials = model->materials;
    *doubt = (bc_process_doubt){.model = model,
                                .runs = INFINITY,
                                .numbers = OF_CHAMBER + materials * OF_MATERIALS,
                                .run = {.number = RUN_SIGMA}};
    doubt->layer = calloc(OF_MATERIALS * materials + 1, sizeof *doubt->layer);
    if (doubt->layer == NULL)
        return bc_fail_memory(error);
    doubt->index = doubt->layer + materials;
    doubt->factor = doubt->index + materials;
    for (size_t m = 0; m < materials; m++)
        look_at(process, m, doubt);
    doubt->any = isfinite(doubt->runs);
    return BC_OK;
}

void bc_process_doubt_close(bc_process_doubt *doubt)
{
    free(doubt->layer);
    *doubt = (bc_process_doubt){0};
}

bc_status bc_process_draw_alloc(const bc_process_doubt *doubt, bc_process_draw *draw, bc_error *error)
{
    const size_t layers = doubt->model->layers, materials = doubt->model->materials;
    draw->run = 1.0;
    draw->layer = calloc(2 * layers + materials + 1, sizeof *draw->layer);
    if (draw->layer == NULL)
        return bc_fail_memory(error);
    draw->off = draw->layer + layers;
    draw->index = draw->off + layers;
    for (size_t j = 0; j < layers; j++)
        draw->layer[j] = 1.0;
    for (size_t m = 0; m < materials; m++)
        draw->index[m] = 1.0;
    return BC_OK;
}

static double factor_of(bc_doubted figure, const double *number)
{
    double chi_squared;
    if (!(figure.freedom > 0.0))
        return 1.0;
    chi_squared = gsl_cdf_chisq_Pinv(gsl_cdf_ugaussian_P(number[figure.number]), figure.freedom);
    return fmin(fmax(sqrt(figure.freedom / chi_squared), 1.0 / MOST_FACTOR), MOST_FACTOR);
}

void bc_process_draw_set(const bc_process_doubt *doubt, const double *number, bc_process_draw *draw)
{
    const bc_run_model *model = doubt->model;
    draw->run = factor_of(doubt->run, number);
    for (size_t m = 0; m < model->materials; m++)
        draw->index[m] = factor_of(doubt->index[m], number);
    for (size_t j = 0; j < model->layers; j++) {
        const size_t m = model->material[j];
        const bc_doubted *factor = &doubt->factor[m];
        draw->layer[j] = factor_of(doubt->layer[m], number);
        draw->off[j] = !(factor->freedom > 0.0) ? 0.0
                                                : (draw->run * model->layer_bias[j] * number[RUN_MEAN] +
                                                   draw->layer[j] * model->layer_sigma[j] * number[factor->number]) /
                                                      sqrt(factor->freedom);
    }
}

double bc_doubted_spread(bc_doubted figure)
{
    const double most = figure.freedom / (MOST_SPREAD * MOST_SPREAD);
    if (!(figure.freedom > 0.0))
        return 1.0;
    return figure.freedom - 2.0 > most ? sqrt(figure.freedom / (figure.freedom - 2.0)) : MOST_SPREAD;
}

double bc_doubted_off(const bc_process_doubt *doubt, size_t layer)
{
    const bc_run_model *model = doubt->model;
    const size_t m = model->material[layer];
    if (!(doubt->factor[m].freedom > 0.0))
        return 0.0;
    return hypot(bc_doubted_spread(doubt->run) * model->layer_bias[layer],
                 bc_doubted_spread(doubt->layer[m]) * model->layer_sigma[layer]) /
           sqrt(doubt->factor[m].freedom);
}
