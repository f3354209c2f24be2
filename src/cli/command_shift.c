/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "changes.h"
#include "commands.h"
#include "number.h"
#include "page.h"
#include "plot.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The two conditions, and what each material of the stack does between them. */
typedef struct weather {
    bc_conditions before, then;
    size_t behaviours;
    bc_behaviour *behaviour;
    bc_shifted shifted;
} weather;

static bc_behaviour *find(weather *w, const char *name, size_t length)
{
    for (size_t i = 0; i < w->behaviours; i++)
        if (strlen(w->behaviour[i].material) == length && memcmp(w->behaviour[i].material, name, length) == 0)
            return &w->behaviour[i];
    return NULL;
}

/* What a table's comments say of its material (`# packing_density: 0.9`); a value that is no number is not taken. */
static void take_note(const bc_medium *medium, const char *key, double *value)
{
    const char *note = bc_dispersion_note(medium->dispersion, key);
    double number;
    if (note != NULL && bc_number_parse(note, 0, &number) == BC_NUMBER_OK)
        *value = number;
}

static void list_material(weather *w, const bc_medium *medium)
{
    bc_behaviour *own = &w->behaviour[w->behaviours];
    if (find(w, medium->name, strlen(medium->name)) != NULL)
        return;
    *own = (bc_behaviour){.packing_density = 1.0};
    memcpy(own->material, medium->name, sizeof own->material);
    take_note(medium, "packing_density", &own->packing_density);
    take_note(medium, "dn_dt_per_k", &own->dn_dt);
    take_note(medium, "expansion_per_k", &own->expansion);
    w->behaviours++;
}

/* MATERIAL=VALUE, or VALUE alone for all layers, each time the option was given. */
static bc_status read_values(const cli_session *session, weather *w, const char *option, size_t offset, double least,
                             double most, const char *expected, bc_error *error)
{
    const char *text;
    for (size_t which = 0; (text = cli_value_at(session->arguments, option, which)) != NULL; which++) {
        const char *sign = strrchr(text, '=');
        bc_behaviour *own = sign == NULL ? NULL : find(w, text, (size_t)(sign - text));
        double value;
        if (bc_number_parse(sign == NULL ? text : sign + 1, 0, &value) != BC_NUMBER_OK || value < least || value > most)
            return cli_fail_value(error, option, text, "", expected);
        if (sign != NULL && own == NULL)
            return cli_fail_value(error, option, text, ", but the stack has no such material", expected);
        if (own != NULL)
            *(double *)((char *)own + offset) = value;
        for (size_t j = 0; sign == NULL && j < session->stack.layers; j++) {
            const char *name = session->stack.layer[j].material.name;
            *(double *)((char *)find(w, name, strlen(name)) + offset) = value;
        }
    }
    return BC_OK;
}

static bc_status read_conditions(const cli_session *session, weather *w, bc_error *error)
{
    static const char *const word[] = {"vacuum", "dry-air", "humid-air"};
    static const double n_void[] = {1.0, 1.0, BC_N_WATER};
    size_t from = 0, to = 2;
    bc_status status = cli_choice(session->arguments, "from", 3, word, &from, error);
    if (status == BC_OK)
        status = cli_choice(session->arguments, "to", 3, word, &to, error);
    w->before = (bc_conditions){n_void[from], 20.0};
    w->then = (bc_conditions){n_void[to], 20.0};
    if (status == BC_OK)
        status = cli_number(session->arguments, "from-c", -273.15, 2000.0, "a temperature in degrees Celsius",
                            &w->before.temperature_c, error);
    w->then.temperature_c = w->before.temperature_c;
    return status == BC_OK ? cli_number(session->arguments, "to-c", -273.15, 2000.0, "a temperature in degrees Celsius",
                                        &w->then.temperature_c, error)
                           : status;
}

static bc_status read_behaviours(const cli_session *session, weather *w, bc_error *error)
{
    static const char slope[] = "a change per K, MATERIAL=1e-5, or one for all layers";
    bc_status status;
    w->behaviour = calloc(session->stack.layers + 1, sizeof *w->behaviour);
    if (w->behaviour == NULL)
        return bc_fail_memory(error);
    for (size_t j = 0; j < session->stack.layers; j++)
        list_material(w, &session->stack.layer[j].material);
    list_material(w, &session->stack.substrate);
    status = read_values(session, w, "packing", offsetof(bc_behaviour, packing_density), 0.05, 1.0,
                         "a packing density from 0.05 to 1, MATERIAL=0.9, or one for all layers", error);
    if (status == BC_OK)
        status = read_values(session, w, "dndt", offsetof(bc_behaviour, dn_dt), -0.01, 0.01, slope, error);
    return status == BC_OK
               ? read_values(session, w, "expansion", offsetof(bc_behaviour, expansion), -0.01, 0.01, slope, error)
               : status;
}

static bool changes_anything(const weather *w)
{
    const bool void_changes = w->then.n_void != w->before.n_void;
    const bool warms = w->then.temperature_c != w->before.temperature_c;
    for (size_t i = 0; i < w->behaviours; i++)
        if ((void_changes && w->behaviour[i].packing_density < 1.0) ||
            (warms && (w->behaviour[i].dn_dt != 0.0 || w->behaviour[i].expansion != 0.0)))
            return true;
    return false;
}

static bc_status check_both(const cli_session *session, const weather *w, bc_check_result result[2],
                            bc_check_report report[2], bc_error *error)
{
    const bc_stack *stack[] = {&session->stack, &w->shifted.stack};
    bc_status status = BC_OK;
    for (size_t s = 0; status == BC_OK && s < 2; s++) {
        status = bc_check(stack[s], &session->callouts, 0, NULL, &session->back, &result[s], error);
        report[s] = (bc_check_report){.stack_path = s == 0 ? session->stack_path : "the same at the other conditions",
                                      .callouts_path = session->callouts_path,
                                      .stack = stack[s],
                                      .result = &result[s],
                                      .back = &session->back,
                                      .back_assumed = session->back_assumed};
    }
    return status;
}

static bc_status draw(const cli_session *session, const bc_check_report report[2], bc_text *picture, bc_error *error)
{
    bc_check_curves curves[2] = {0};
    bc_status status = BC_OK;
    for (size_t s = 0; status == BC_OK && s < 2; s++)
        status = bc_check_curves_compute(report[s].stack, &session->back, report[s].result, &curves[s], error);
    if (status == BC_OK)
        status = bc_plot_compare(2, report, curves, &session->plot_options, picture, error);
    for (size_t s = 0; s < 2; s++)
        bc_check_curves_clear(&curves[s]);
    return status;
}

static bc_status write_report(cli_session *session, const weather *w, const bc_check_report report[2], bc_error *error)
{
    const bc_shift_report shift = {report, w->behaviours, w->behaviour, w->before, w->then};
    bc_text text = {0}, picture = {0};
    bc_status status =
        session->json ? bc_report_shift_json(&shift, &text, error) : bc_report_shift_text(&shift, &text, error);
    if (status == BC_OK && session->plot != NULL)
        status = draw(session, report, &picture, error);
    status = cli_write_results(session, status, &text, &picture, NULL, error);
    return status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    weather w = {0};
    bc_check_result result[2] = {0};
    bc_check_report report[2];
    bc_status status = read_conditions(session, &w, error);
    if (status == BC_OK)
        status = cli_read_stack(session, session->arguments->operand, error);
    if (status == BC_OK)
        status = cli_read_callouts(session, error);
    if (status == BC_OK)
        status = read_behaviours(session, &w, error);
    if (status == BC_OK && !changes_anything(&w))
        status = bc_fail(error, BC_ERROR_INPUT,
                         "nothing changes between these conditions; expected --packing below 1 for --from and --to, or "
                         "--dndt or --expansion for --from-c and --to-c");
    if (status == BC_OK)
        status = cli_read_back_for_callouts(session, 1, &session->stack.substrate, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK)
        status = bc_shift(&session->stack, w.behaviours, w.behaviour, &w.before, &w.then, &w.shifted, error);
    if (status == BC_OK)
        status = check_both(session, &w, result, report, error);
    if (status == BC_OK)
        status = write_report(session, &w, report, error);
    *met = status == BC_OK && result[0].pass && result[1].pass;
    bc_check_result_clear(&result[0]);
    bc_check_result_clear(&result[1]);
    bc_shifted_clear(&w.shifted);
    free(w.behaviour);
    return status;
}

static const cli_option options[] = {
    CLI_OPTION_CALLOUTS,
    {"packing", "MATERIAL=P", true,
     "packing density, the share of a layer that is solid; 0.9 alone: of all layers (default: what the table says, "
     "else 1)"},
    {"from", "vacuum|dry-air|humid-air", false, "conditions the stack's figures are for (default vacuum)"},
    {"to", "vacuum|dry-air|humid-air", false,
     "conditions to check at; humid air fills its pores with water (default humid-air)"},
    {"from-c", "T", false, "temperature at which the figures hold, in degrees Celsius (default 20)"},
    {"to-c", "T", false, "temperature to check at, in degrees Celsius (default that of --from-c)"},
    {"dndt", "MATERIAL=X", true, "change of n per K; 1e-5 alone: of all layers (default: what the table says, else 0)"},
    {"expansion", "MATERIAL=X", true,
     "relative change of thickness per K; 1e-5 alone: of all layers (default: what the table says, else 0)"},
    CLI_OPTION_PART_BACK,
    CLI_OPTION_SUBSTRATE_MM,
    CLI_OPTIONS_PLOT,
    CLI_OPTIONS_CHANGES,
    CLI_OPTION_END,
};

const cli_command cli_shift = {
    .name = "shift",
    .operand = "STACK",
    .needs = "--callouts FILE",
    .summary =
        "Estimates what air and temperature do to a stack: the callouts in vacuum and in humid air, cold and warm.",
    .details =
        "Porous layers take up water when they leave the vacuum. Exit 1 says that a callout is not met at one of the "
        "two conditions.",
    .example = "shift examples/window-stack.csv --callouts examples/window-callouts.csv --packing MgF2=0.98",
    .option = options,
    .run = run,
};
