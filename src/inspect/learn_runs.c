/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Runs out of inspections, and what the fit of the sigmas is given of them.
 */
#include "cause.h"
#include "learn.h"
#include "tooling.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define USUAL_RUN    0.02  /* where the process says nothing: common practice, no source */
#define USUAL_LAYERS 0.003 /* likewise */

/* ---- runs out of inspections ---- */

/* Whatever the cause, as long as the layers are those of the design: as bc_runs_estimate() counts. */
static bool says_something(const bc_inspect_result *witness)
{
    return witness->good_fit && witness->causes > 0 && witness->cause[0].kind != BC_CAUSE_ANGLE;
}

static void copy_layers(const bc_inspect_setup *setup, bc_learn_run *run)
{
    for (size_t j = 0; j < run->layers; j++) {
        const bc_layer *layer = &setup->design->layer[j];
        const bc_process_row row = bc_process_for(setup->process, layer->material.name);
        memcpy(run->layer[j].material, layer->material.name, sizeof run->layer[j].material);
        run->layer[j].design_nm = layer->thickness_nm;
        run->layer[j].tooling = row.has_tooling ? row.tooling : 0.0;
        run->layer[j].against = row.run_thickness_sigma < 0.0;
    }
}

bc_status bc_learn_run_from(const bc_inspect_result *witness, const bc_inspect_setup *setup, bc_learn_run *run,
                            bool *does_count, bc_error *error)
{
    const size_t layers = setup->design->layers;
    *run = (bc_learn_run){.layers = layers};
    *does_count = says_something(witness) && layers > 0;
    if (!*does_count)
        return BC_OK;
    run->layer = calloc(layers, sizeof *run->layer);
    run->information = calloc(layers * layers, sizeof *run->information);
    run->pull = calloc(layers, sizeof *run->pull);
    run->index = calloc(witness->materials + 1, sizeof *run->index);
    if (run->layer == NULL || run->information == NULL || run->pull == NULL || run->index == NULL) {
        bc_learn_run_clear(run);
        return bc_fail_memory(error);
    }
    copy_layers(setup, run);
    memcpy(run->information, witness->information, layers * layers * sizeof *run->information);
    memcpy(run->pull, witness->pull, layers * sizeof *run->pull);
    run->of_instrument = bc_wavelength_factor(setup, witness);
    for (size_t m = 0; setup->fit_index && m < witness->materials; m++) {
        bc_learn_index *index = &run->index[run->indices++];
        memcpy(index->material, witness->material[m].material.name, sizeof index->material);
        index->dn = witness->material[m].dn;
        index->dn_sigma = witness->material[m].dn_sigma;
    }
    return BC_OK;
}

void bc_learn_run_clear(bc_learn_run *run)
{
    free(run->layer);
    free(run->information);
    free(run->pull);
    free(run->index);
    *run = (bc_learn_run){0};
}

/* ---- what the fit is given ---- */

static bool same_design(const bc_learn_run *one, const bc_learn_run *other)
{
    if (one->layers != other->layers)
        return false;
    for (size_t j = 0; j < one->layers; j++)
        if (strcmp(one->layer[j].material, other->layer[j].material) != 0 ||
            one->layer[j].design_nm != other->layer[j].design_nm)
            return false;
    return true;
}

static size_t material_of(bc_learn_result *out, const char *name)
{
    size_t m = 0;
    while (m < out->materials && strcmp(out->material[m].name, name) != 0)
        m++;
    if (m == out->materials)
        memcpy(out->material[out->materials++].name, name, BC_NAME_SIZE);
    return m;
}

/* Whether some material has two layers in a design: only then do layers of one material tell their scatter. */
static bool has_twins(const bc_learn_run *run)
{
    for (size_t j = 0; j < run->layers; j++)
        for (size_t k = 0; k < j; k++)
            if (strcmp(run->layer[j].material, run->layer[k].material) == 0)
                return true;
    return false;
}

/* The likelihood over delta with the reference's tooling: what a run was made with moves it by a known shift. */
static void take_likelihood(const bc_learn_run *run, const bc_learn_result *out, bc_learn_part *part)
{
    const size_t layers = run->layers;
    for (size_t j = 0; j < layers; j++) {
        const double nm = run->layer[j].design_nm;
        part->sign[j] = run->layer[j].against ? -1.0 : 1.0;
        part->h[j] = nm * run->pull[j];
        for (size_t k = 0; k < layers; k++) {
            const double tooling = out->material[part->material[k]].tooling, used = run->layer[k].tooling;
            const double shift = used > 0.0 && tooling > 0.0 ? used / tooling : 1.0;
            part->J[j * layers + k] = nm * run->information[j * layers + k] * run->layer[k].design_nm;
            /* pull is about 0 nm; delta about the design, and shifted: thickness = design (1 + delta - (shift - 1)) */
            part->h[j] -= part->J[j * layers + k] * (2.0 - shift);
        }
    }
}

static bc_status make_part(const bc_learn_run *run, bc_learn_part *part, bc_error *error)
{
    const size_t layers = run->layers;
    part->layers = layers;
    part->material = calloc(2 * layers, sizeof *part->material);
    part->sign = calloc(layers * layers + 2 * layers, sizeof *part->sign);
    if (part->material == NULL || part->sign == NULL)
        return bc_fail_memory(error);
    part->column = part->material + layers;
    part->h = part->sign + layers;
    part->J = part->h + layers;
    return BC_OK;
}

static bc_status make_parts(size_t count, const bc_learn_run *run, bc_learn_fit *fit, bc_learn_result *out,
                            bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t r = 0; status == BC_OK && r < count; r++) {
        bc_learn_part *part = &fit->part[r];
        size_t first = 0;
        status = make_part(&run[r], part, error);
        if (status != BC_OK)
            break;
        fit->parts = r + 1;
        while (!same_design(&run[first], &run[r]))
            first++;
        for (size_t j = 0; j < part->layers; j++) {
            part->material[j] = material_of(out, run[r].layer[j].material);
            part->column[j] = first == r ? fit->columns++ : fit->part[first].column[j];
            out->material[part->material[j]].layers++;
        }
        out->designs += first == r;
        fit->has_layers = fit->has_layers || has_twins(&run[r]);
        fit->most_layers = part->layers > fit->most_layers ? part->layers : fit->most_layers;
        part->time = (double)r / (double)(count - 1) - 0.5;
    }
    return status;
}

void bc_learn_clear_parts(bc_learn_fit *fit, size_t count)
{
    for (size_t r = 0; fit->part != NULL && r < count; r++) {
        free(fit->part[r].material);
        free(fit->part[r].sign);
    }
    free(fit->part);
    free(fit->centre);
}

/* What the reference says of each material, and what is expected of its sigmas. */
static void set_centres(const bc_process *reference, bc_learn_fit *fit, bc_learn_result *out)
{
    double of_runs = 0.0;
    for (size_t m = 0; m < out->materials; m++) {
        bc_learn_material *material = &out->material[m];
        const bc_process_row row = bc_process_for(reference, material->name);
        material->tooling_known = row.has_tooling;
        material->tooling = row.has_tooling ? row.tooling : 1.0;
        material->within.before = row.has_thickness_sigma ? row.thickness_sigma : NAN;
        material->index_before = row.has_index_sigma ? row.index_sigma : NAN;
        fit->centre[m] = log(row.thickness_sigma > 0.0 ? row.thickness_sigma : BC_USUAL_SCATTER);
        of_runs = fmax(of_runs, fabs(row.run_thickness_sigma));
        if (row.has_run_thickness_sigma)
            out->between_runs.before = of_runs;
    }
    fit->centre[out->materials] = log(of_runs > 0.0 ? of_runs : USUAL_RUN);
    fit->centre[out->materials + 1] = log(USUAL_LAYERS);
}

bc_status bc_learn_set_up(size_t count, const bc_learn_run *run, const bc_process *reference, bc_learn_fit *fit,
                          bc_learn_result *out, bc_error *error)
{
    size_t layers = 0;
    bc_status status;
    for (size_t r = 0; r < count; r++)
        layers += run[r].layers;
    fit->part = calloc(count, sizeof *fit->part);
    fit->centre = calloc(layers + 2, sizeof *fit->centre);
    out->material = calloc(layers + 1, sizeof *out->material);
    if (fit->part == NULL || fit->centre == NULL || out->material == NULL)
        return bc_fail_memory(error);
    status = make_parts(count, run, fit, out, error);
    if (status != BC_OK)
        return status;
    fit->materials = out->materials;
    set_centres(reference, fit, out);
    for (size_t r = 0; r < count; r++) {
        take_likelihood(&run[r], out, &fit->part[r]);
        for (size_t m = 0; m < out->materials; m++)
            for (size_t j = 0; j < run[r].layers; j++)
                if (fit->part[r].material[j] == m) {
                    out->material[m].runs++;
                    break;
                }
    }
    return BC_OK;
}
