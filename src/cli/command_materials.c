/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"
#include "output.h"
#include "page.h"
#include "plot.h"
#include <float.h>
#include <stdio.h>
#include <stdlib.h>

#define DEFAULT_AT_NM 550.0

/* Every table that can be read. A file that is none is named and left out: it may be there for another reason. */
static bc_status read_all(cli_session *session, size_t names, const char *const *name, size_t *count,
                          const bc_dispersion **material, bc_error *error)
{
    *count = 0;
    for (size_t i = 0; i < names; i++) {
        bc_medium medium;
        bc_status status = bc_medium_find(session->materials, name[i], NULL, &medium, error);
        if (status == BC_OK)
            status = cli_note_medium(session, &medium, error);
        if (status == BC_OK)
            material[(*count)++] = medium.dispersion;
        else if (status == BC_ERROR_INPUT)
            fprintf(stderr, "bloomcoat: left out: %s\n", error->message);
        else
            return status;
    }
    return BC_OK;
}

/* Every table of weights that can be read, but those whose names mean what comes with the program. */
static bc_status read_weights(cli_session *session, size_t *count, const bc_weight ***weight, bc_error *error)
{
    size_t names = 0;
    const char *const *name = NULL;
    bc_status status = bc_materials_weights(session->materials, &names, &name, error);
    *count = 0;
    *weight = status == BC_OK ? calloc(names + 1, sizeof(const bc_weight *)) : NULL;
    if (status == BC_OK && *weight == NULL)
        status = bc_fail_memory(error);
    for (size_t i = 0; status == BC_OK && i < names; i++) {
        if (bc_weight_shipped(name[i]) != NULL)
            continue;
        status = bc_materials_weight(session->materials, name[i], NULL, &(*weight)[*count], error);
        if (status == BC_OK)
            (*count)++;
        if (status != BC_ERROR_INPUT)
            continue;
        fprintf(stderr, "bloomcoat: left out: %s\n", error->message);
        status = BC_OK;
    }
    return status;
}

static bc_status write_list(cli_session *session, size_t count, const bc_dispersion *const *material, double at_nm,
                            bc_error *error)
{
    bc_text text = {0};
    size_t glasses = 0, weights = 0;
    const char *const *glass = NULL;
    const bc_weight **weight = NULL;
    bc_status status = cli_check_output(session, error);
    if (status == BC_OK)
        status = read_weights(session, &weights, &weight, error);
    if (status == BC_OK)
        status = bc_materials_glasses(session->materials, &glasses, &glass, error);
    if (status == BC_OK)
        status = session->json
                     ? bc_report_materials_json(count, material, glasses, glass, weights, weight, at_nm, &text, error)
                     : bc_report_materials_text(count, material, glasses, glass, weights, weight, at_nm, &text, error);
    if (status == BC_OK)
        status = cli_output_write(session->output, &text, error);
    bc_text_clear(&text);
    free(weight);
    return status;
}

static bc_status list(cli_session *session, double at_nm, bc_error *error)
{
    size_t names, count = 0;
    const char *const *name;
    const bc_dispersion **material;
    bc_status status = bc_materials_list(session->materials, &names, &name, error);
    if (status != BC_OK)
        return status;
    material = calloc(names + 1, sizeof(const bc_dispersion *));
    if (material == NULL)
        return bc_fail_memory(error);
    status = read_all(session, names, name, &count, material, error);
    if (status == BC_OK && count == 0)
        status = bc_fail(error, BC_ERROR_INPUT,
                         "no dispersion table was found; expected NAME.csv in a folder given by --tables or "
                         "BLOOMCOAT_TABLES");
    if (status == BC_OK)
        status = write_list(session, count, material, at_nm, error);
    free(material);
    return status;
}

static bc_status show(cli_session *session, const char *name, double at_nm, bc_error *error)
{
    bc_text text = {0}, picture = {0};
    bc_medium medium;
    bc_status status = bc_medium_find(session->materials, name, NULL, &medium, error);
    if (status == BC_OK)
        status = cli_note_medium(session, &medium, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status != BC_OK)
        return status;
    if (session->json)
        status = bc_report_material_json(medium.dispersion, at_nm, &text, error);
    else if (session->output != NULL)
        status = bc_report_material_csv(medium.dispersion, &text, error);
    else
        status = bc_report_material_text(medium.dispersion, at_nm, &text, error);
    if (status == BC_OK && session->plot != NULL)
        status = bc_plot_material(medium.dispersion, &session->plot_options, &picture, error);
    status = cli_write_results(session, status, &text, &picture, NULL, error);
    return status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    double at_nm = DEFAULT_AT_NM;
    bc_status status =
        cli_number(session->arguments, "at-nm", DBL_MIN, 1e9, "a wavelength in nm above 0", &at_nm, error);
    *met = true;
    if (status == BC_OK && session->arguments->operand == NULL && session->plot != NULL)
        status = bc_fail(error, BC_ERROR_INPUT, "--plot draws one material; expected its name after 'materials'");
    if (status != BC_OK)
        return status;
    return session->arguments->operand == NULL ? list(session, at_nm, error)
                                               : show(session, session->arguments->operand, at_nm, error);
}

static const cli_option options[] = {
    {"at-nm", "NM", false,
     "the wavelength in nm at which n is given (default 550); the middle of a table that does not reach there"},
    CLI_OPTIONS_PLOT,
    CLI_OPTION_END,
};

const cli_command cli_materials = {
    .name = "materials",
    .operand = "[NAME]",
    .summary =
        "Lists the dispersion tables, or shows one with its source, its range and a dozen rows; -o writes all rows "
        "of it as a table (CSV).",
    .example = "materials MgF2",
    .option = options,
    .run = run,
};
