/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "design.h"
#include "curved.h"
#include "output.h"
#include "plot.h"
#include "recording.h"
#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define LEAST_LAYER_NM 8.0 /* where the process gives no minimum */

bc_status cli_read_problem(cli_session *session, const bc_stack *start, bc_design_problem *problem, bc_error *error)
{
    bc_status status = cli_read_callouts(session, error);
    if (status == BC_OK)
        status = cli_read_media(session, "substrate", &session->substrates, &session->substrate, error);
    if (status == BC_OK && session->substrates == 0 && start == NULL) {
        const char *none;
        status = cli_required(session->arguments, "substrate", &none, error);
    }
    if (status != BC_OK)
        return status;
    problem->callouts = &session->callouts;
    problem->substrates = session->substrates == 0 ? 1 : session->substrates;
    problem->substrate = session->substrates == 0 ? &start->substrate : session->substrate;
    problem->minimum_nm = 8.0;
    problem->max_total_nm = INFINITY;
    status = cli_read_curved(session, error);
    problem->zones = session->zones;
    problem->zone = session->zone;
    if (status == BC_OK)
        status = cli_read_back_for_callouts(session, problem->substrates, problem->substrate, error);
    problem->back = session->back;
    if (status == BC_OK)
        status = cli_number(session->arguments, "minimum-nm", 0.0, 1e6, "a layer's thickness in nm, 0 or more",
                            &problem->minimum_nm, error);
    if (status == BC_OK)
        status = cli_number(session->arguments, "max-total-nm", DBL_MIN, 1e9, "a thickness in nm above 0",
                            &problem->max_total_nm, error);
    if (status == BC_OK && problem->max_total_nm < problem->minimum_nm)
        status =
            bc_fail(error, BC_ERROR_INPUT, "--max-total-nm: found %g; expected room for one layer of --minimum-nm %g",
                    problem->max_total_nm, problem->minimum_nm);
    return status;
}

static void add(bc_medium *media, size_t *count, const bc_medium *medium)
{
    for (size_t i = 0; i < *count; i++)
        if (media[i].dispersion == medium->dispersion)
            return;
    media[(*count)++] = *medium;
}

static bc_status layers_of_start(const bc_stack *start, size_t *count, bc_medium **media, bc_error *error)
{
    *media = calloc(start->layers, sizeof **media);
    if (*media == NULL)
        return bc_fail_memory(error);
    for (size_t layer = 0; layer < start->layers; layer++)
        add(*media, count, &start->layer[layer].material);
    return BC_OK;
}

static bc_status layers_of_process(cli_session *session, size_t *count, bc_medium **media, bc_error *error)
{
    const bc_process *process = &session->process;
    char list[400] = "";
    bc_status status = BC_OK;
    *media = calloc(process->rows, sizeof **media);
    if (*media == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; status == BC_OK && i < process->rows; i++) {
        const char *name = process->row[i].material;
        const size_t used = strlen(list);
        bc_medium medium;
        if (strcmp(name, "*") == 0)
            continue;
        status = bc_medium_find(session->materials, name, session->process_path, &medium, error);
        if (status == BC_OK)
            status = cli_grade_medium(session, &medium, error);
        if (status != BC_OK)
            return status;
        add(*media, count, &medium);
        snprintf(list + used, sizeof list - used, "%s%s", used == 0 ? "" : ", ", name);
        status = cli_note_medium(session, &medium, error);
    }
    if (status == BC_OK && *count > 0)
        cli_note(session, "layer materials: %s, those of %s", list, session->process_path);
    return status;
}

double cli_minimum_of(const bc_process *process, size_t count, const bc_medium *layer)
{
    double minimum_nm = 0.0;
    bool any = false;
    for (size_t m = 0; m < count; m++) {
        const bc_process_row row = bc_process_for(process, layer[m].name);
        any = any || row.has_minimum;
        minimum_nm = fmax(minimum_nm, row.minimum_nm);
    }
    return any ? minimum_nm : LEAST_LAYER_NM;
}

bc_status cli_read_layers(cli_session *session, const bc_stack *start, size_t *count, bc_medium **media,
                          bc_error *error)
{
    const char *command = session->arguments->command->name;
    bc_status status = cli_read_media(session, "materials", count, media, error);
    for (size_t m = 0; status == BC_OK && m < *count; m++)
        status = cli_grade_medium(session, &(*media)[m], error);
    if (status != BC_OK || *count > 0)
        return status;
    free(*media); /* a list of nothing but commas has named none */
    *media = NULL;
    if (start != NULL && start->layers > 0)
        return layers_of_start(start, count, media, error);
    if (session->process.rows > 0)
        status = layers_of_process(session, count, media, error);
    if (status == BC_OK && *count == 0)
        status = bc_fail(error, BC_ERROR_INPUT,
                         "%s needs --materials, or a process file with rows for them (--process or --shop); 'bloomcoat "
                         "%s --help' shows how",
                         command, command);
    return status;
}

size_t cli_thin_layers(const bc_stack *start, double minimum_nm)
{
    size_t count = 0;
    for (size_t layer = 0; layer < start->layers; layer++)
        count += !start->layer[layer].fixed && start->layer[layer].thickness_nm < minimum_nm;
    return count;
}

/* The report beside the stack file: nobody has asked for it by name, so a failure of it is not reported. */
static void show_report(bc_design_report *report)
{
    bc_text text = {0};
    report->check.color = cli_color(STDERR_FILENO);
    if (bc_report_design_text(report, &text, NULL) == BC_OK)
        fputs(text.data, stderr);
    bc_text_clear(&text);
}

/* A stack file, and beside it a report or JSON: both are made before either is written. */
static bc_status make_all(const cli_session *session, bc_design_report *report, bc_text *file, bc_text *beside,
                          bc_error *error)
{
    const bool to_file = !cli_is_standard_output(session->output);
    bc_status status = BC_OK;
    if (to_file || !session->json)
        status = bc_report_design_csv(report, file, error);
    if (status == BC_OK && session->json)
        return bc_report_design_json(report, beside, error);
    report->check.color = cli_color(STDOUT_FILENO);
    if (status == BC_OK && to_file && !session->quiet)
        status = bc_report_design_text(report, beside, error);
    return status;
}

static bc_status write_all(const cli_session *session, bc_design_report *report, bc_error *error)
{
    bc_text file = {0}, beside = {0};
    bc_status status = make_all(session, report, &file, &beside, error);
    if (status == BC_OK && file.data != NULL)
        status = cli_output_write_or_show(session->output, &file, error);
    if (status == BC_OK && beside.data != NULL)
        status = cli_output_write(NULL, &beside, error);
    if (status == BC_OK && beside.data == NULL && !session->quiet && !cli_rerunning() &&
        cli_is_standard_output(session->output))
        show_report(report);
    bc_text_clear(&file);
    bc_text_clear(&beside);
    return status;
}

static bc_status record(const cli_session *session, const bc_stack *stack, bool pass, bc_error *error)
{
    bc_status status = cli_recording_begin(session, BC_RECORD_DESIGN, pass ? "met" : "not met", error);
    for (size_t i = 0; status == BC_OK && cli_recording_record() != NULL && i < stack->layers; i++)
        status = bc_record_add_layer(cli_recording_record(),
                                     &(bc_record_layer){1, bc_layer_number(stack->layers, i),
                                                        stack->layer[i].material.name, stack->layer[i].thickness_nm},
                                     error);
    return status;
}

bc_status cli_write_design(cli_session *session, const bc_design_problem *problem, const bc_stack *stack,
                           bc_design_report *report, bool *met, bc_error *error)
{
    bc_check_result result = {0};
    bc_text picture = {0};
    bc_status status = bc_problem_check(problem, stack, &result, error);
    if (status != BC_OK)
        return status;
    report->command = session->arguments->command->name;
    report->minimum_nm = problem->minimum_nm;
    report->check = (bc_check_report){.stack_path = session->stack_path,
                                      .callouts_path = session->callouts_path,
                                      .stack = stack,
                                      .result = &result,
                                      .back = &problem->back,
                                      .back_assumed = session->back_assumed,
                                      .curved = cli_curved(session),
                                      .zones = session->zones};
    *met = result.pass;
    status = record(session, stack, result.pass, error);
    if (status == BC_OK)
        status = cli_draw_check(session, &report->check, report, &picture, error);
    if (status == BC_OK)
        status = write_all(session, report, error);
    if (status == BC_OK)
        status = cli_write_plot(session, &picture, error);
    bc_text_clear(&picture);
    bc_check_result_clear(&result);
    return status;
}
