/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "run_record.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const verdicts[] = {[BC_ACCEPT] = "accept", [BC_REJECT] = "reject", [BC_UNDECIDED] = "undecided"};

static bool copy(const char *text, char **to)
{
    *to = strdup(text);
    return *to != NULL;
}

static bool describe_findings(const bc_inspect_result *result, bc_record_run *run)
{
    bool good;
    run->finding = calloc(result->count + 1, sizeof *run->finding);
    good = run->finding != NULL;
    for (size_t i = 0; good && i < result->count; i++) {
        const bc_inspect_finding *found = &result->finding[i];
        bc_record_run_finding *to = &run->finding[run->findings++];
        *to = (bc_record_run_finding){
            .value = found->value, .limit = found->callout->limit, .limit_used = found->limit_used};
        good = copy(found->callout->name, &to->name);
        run->limit_used = fmax(run->limit_used, found->limit_used); /* fmax() takes a NAN for nothing */
    }
    return good;
}

static bool describe_materials(const bc_inspect_result *result, bool has_index, bc_record_run *run)
{
    bool good;
    run->material = calloc(result->materials + 1, sizeof *run->material);
    good = run->material != NULL;
    for (size_t m = 0; good && m < result->materials; m++) {
        const bc_material_found *found = &result->material[m];
        bc_record_run_material *to = &run->material[run->materials++];
        *to = (bc_record_run_material){.factor = found->factor,
                                       .factor_sigma = found->factor_sigma,
                                       .dn = has_index ? found->dn : NAN,
                                       .dn_sigma = has_index ? found->dn_sigma : NAN};
        good = copy(found->material.name, &to->name);
    }
    return good;
}

/* By their numbers: layer 1 is next to the substrate, the last one in memory. */
static bool describe_layers(const bc_inspect_result *result, const bc_learn_run *learn, bc_record_run *run)
{
    const size_t layers = learn->layers;
    bool good;
    run->layer = calloc(layers, sizeof *run->layer);
    run->information = calloc(layers * layers, sizeof *run->information);
    good = run->layer != NULL && run->information != NULL;
    for (size_t i = 0; good && i < layers; i++) {
        const size_t j = layers - 1 - i;
        bc_record_run_layer *to = &run->layer[run->layers++];
        *to = (bc_record_run_layer){.design_nm = learn->layer[j].design_nm,
                                    .fitted_nm = result->layer[j].fitted_nm,
                                    .fitted_sigma_nm = result->layer[j].sigma_nm,
                                    .tooling = learn->layer[j].tooling > 0.0 ? learn->layer[j].tooling : NAN,
                                    .against = learn->layer[j].against,
                                    .pull = learn->pull[j]};
        good = copy(learn->layer[j].material, &to->material);
        for (size_t k = 0; k < layers; k++)
            run->information[i * layers + k] = learn->information[j * layers + layers - 1 - k];
    }
    return good;
}

bc_status cli_describe_run(const bc_inspect_result *result, const bc_inspect_setup *setup, const char *path,
                           size_t witness, bc_record_run *run, bc_error *error)
{
    bc_learn_run learn;
    bool does_count, good;
    bc_status status = bc_learn_run_from(result, setup, &learn, &does_count, error);
    *run = (bc_record_run){
        .witness = witness, .limit_used = NAN, .scale = result->scale, .scale_sigma = result->scale_sigma};
    if (status != BC_OK)
        return status;
    good = copy(path, &run->path) && copy(verdicts[result->verdict], &run->verdict) && describe_findings(result, run) &&
           describe_materials(result, setup->fit_index, run);
    if (good && does_count) {
        run->of_instrument = learn.of_instrument;
        good = describe_layers(result, &learn, run);
    }
    bc_learn_run_clear(&learn);
    return good ? BC_OK : bc_fail_memory(error);
}

static void copy_index(const bc_record_run *from, bc_learn_run *run)
{
    for (size_t m = 0; m < from->materials; m++) {
        if (isnan(from->material[m].dn_sigma))
            continue;
        bc_learn_index *index = &run->index[run->indices++];
        snprintf(index->material, sizeof index->material, "%s", from->material[m].name);
        index->dn = from->material[m].dn;
        index->dn_sigma = from->material[m].dn_sigma;
    }
}

bc_status cli_learn_run(const bc_record_run *from, bc_learn_run *run, bc_error *error)
{
    const size_t layers = from->layers;
    *run = (bc_learn_run){.layers = layers, .of_instrument = from->of_instrument};
    run->layer = calloc(layers, sizeof *run->layer);
    run->information = calloc(layers * layers, sizeof *run->information);
    run->pull = calloc(layers, sizeof *run->pull);
    run->index = calloc(from->materials + 1, sizeof *run->index);
    if (run->layer == NULL || run->information == NULL || run->pull == NULL || run->index == NULL) {
        bc_learn_run_clear(run);
        return bc_fail_memory(error);
    }
    for (size_t i = 0; i < layers; i++) {
        const size_t j = layers - 1 - i;
        snprintf(run->layer[j].material, sizeof run->layer[j].material, "%s", from->layer[i].material);
        run->layer[j].design_nm = from->layer[i].design_nm;
        run->layer[j].tooling = isnan(from->layer[i].tooling) ? 0.0 : from->layer[i].tooling;
        run->layer[j].against = from->layer[i].against;
        run->pull[j] = from->layer[i].pull;
        for (size_t k = 0; k < layers; k++)
            run->information[j * layers + layers - 1 - k] = from->information[i * layers + k];
    }
    copy_index(from, run);
    return BC_OK;
}
