/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What several runs say of the chamber.
 */
#include "internal/inspect_words.h"
#include "print.h"
#include <math.h>

static void add_material(bc_text *lines, const bc_runs_material *material)
{
    bc_text_add(lines,
                "%s: thickness on the part is %.4f of what was asked (95 %%: %.4f to %.4f), off with a probability of "
                "%.2f; ",
                material->material.name, material->factor.value, material->factor.low, material->factor.high,
                material->probability);
    if (material->correction == 1.0)
        bc_text_add(lines, "tooling %.4f%s stays. ", material->tooling, material->tooling_known ? "" : " (assumed)");
    else
        bc_text_add(lines, "tooling %.4f%s becomes %.4f. ", material->tooling,
                    material->tooling_known ? "" : " (assumed)", material->next_tooling);
    bc_text_add(lines, "Layer scatter within a run %.2g %% (95 %%: %.2g to %.2g", 100.0 * material->sigma.value,
                100.0 * material->sigma.low, 100.0 * material->sigma.high);
    if (!isnan(material->sigma_before))
        bc_text_add(lines, "; %.2g before", 100.0 * material->sigma_before);
    bc_text_add(lines, ").\n");
}

void bc_add_runs(bc_text *lines, const bc_runs *runs)
{
    if (runs->materials == 0) {
        bc_text_add(
            lines,
            "Nothing is estimated for the next process: %zu of %zu runs fit with the layers of the design, and two at "
            "least are needed.\n",
            runs->runs, runs->runs + runs->left_out);
        return;
    }
    bc_text_add(lines, "By %zu runs", runs->runs);
    if (runs->left_out > 0)
        bc_text_add(lines, " (%zu left out, which do not fit with the layers of the design)", runs->left_out);
    bc_text_add(lines, ", the uncertainty of each fit taken out:\n");
    for (size_t m = 0; m < runs->materials; m++)
        add_material(lines, &runs->material[m]);
    bc_text_add(lines, "Scatter from run to run: %.2g %% (95 %%: %.2g to %.2g).\n", 100.0 * runs->run_sigma.value,
                100.0 * runs->run_sigma.low, 100.0 * runs->run_sigma.high);
}

void bc_runs_json(const bc_runs *runs, bc_json *json)
{
    cJSON *object, *array;
    if (runs == NULL) {
        bc_json_string(json, json->root, "process_of_runs", NULL);
        return;
    }
    object = bc_json_object(json, json->root, "process_of_runs");
    bc_json_number(json, object, "runs", (double)runs->runs, 15);
    bc_json_number(json, object, "left_out", (double)runs->left_out, 15);
    bc_json_interval(&(const bc_interval){runs->materials > 0 ? runs->run_sigma.value : NAN,
                                          runs->materials > 0 ? runs->run_sigma.low : NAN,
                                          runs->materials > 0 ? runs->run_sigma.high : NAN},
                     100.0, "run_thickness_sigma_percent", object, json);
    array = bc_json_array(json, object, "materials");
    for (size_t m = 0; m < runs->materials; m++) {
        const bc_runs_material *material = &runs->material[m];
        cJSON *row = bc_json_object(json, array, NULL);
        bc_json_string(json, row, "material", material->material.name);
        bc_json_interval(&material->factor, 1.0, "factor", row, json);
        bc_json_number(json, row, "probability_off", material->probability, 12);
        bc_json_number(json, row, "tooling_factor", material->tooling_known ? material->tooling : NAN, 15);
        bc_json_number(json, row, "next_tooling_factor", material->next_tooling, 15);
        bc_json_interval(&material->sigma, 100.0, "thickness_sigma_percent", row, json);
    }
}

bc_status bc_report_runs_csv(const bc_runs *runs, bc_text *out, bc_error *error)
{
    bc_text words = {0};
    bc_status status = BC_OK;
    bc_text_add(&words,
                "bloomcoat inspect: the process by measured runs, for the stack as designed. A correction of tooling "
                "is shrunk by what the runs scatter.\n");
    bc_add_runs(&words, runs);
    if (words.failed)
        status = bc_fail_memory(error);
    else
        while (words.length > 0 && words.data[words.length - 1] == '\n')
            words.data[--words.length] = '\0';
    if (status == BC_OK)
        status = bc_report_process_csv(&runs->process, words.data, out, error);
    bc_text_clear(&words);
    return status;
}
