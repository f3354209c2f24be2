/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "quote_read.h"
#include "curved.h"
#include "design.h"
#include "page.h"
#include "quote_write.h"
#include "shop.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

void cli_quote_inputs_clear(cli_quote_inputs *inputs)
{
    free(inputs->layers);
    free(inputs->other_layer);
    free(inputs->other_glass);
    bc_standards_clear(&inputs->standards);
}

/* The words stand in the order of their enumerators. */
static bc_status read_choices(const cli_arguments *arguments, bc_quote_request *request, bc_error *error)
{
    static const char *const failed[] = {"strip", "scrap"}, *const preferred[] = {"hours", "yield", "layers"};
    size_t failed_part = 0, prefer = 0;
    bc_status status = cli_choice(arguments, "failed-part", 2, failed, &failed_part, error);
    if (status == BC_OK)
        status = cli_choice(arguments, "prefer", 3, preferred, &prefer, error);
    if (status == BC_OK && cli_has(arguments, "one-run") && !cli_has(arguments, "both-sides"))
        status = bc_fail(error, BC_ERROR_INPUT, "--one-run: found without --both-sides; expected both, or neither");
    request->failed_part = (bc_failed_part)failed_part;
    request->prefer = (bc_prefer)prefer;
    return status;
}

static bc_status read_amounts(const cli_arguments *arguments, cli_quote_inputs *inputs, bc_error *error)
{
    unsigned long quantity = 0, layers = 8, threads = 0;
    double yield_percent = 90.0, confidence_percent = 95.0;
    bc_quote_request *request = &inputs->request;
    bc_status status = cli_count(arguments, "quantity", 1, 1000000000UL, &quantity, error);
    if (status == BC_OK)
        status = cli_number(arguments, "part-diameter-mm", 0.01, 1e5, "a diameter in mm from 0.01 to 100000",
                            &request->part_diameter_mm, error);
    if (status == BC_OK)
        status = cli_number(arguments, "yield-percent", 1.0, 100.0, "a share of the runs in percent, 1 to 100",
                            &yield_percent, error);
    if (status == BC_OK)
        status = cli_number(arguments, "confidence-percent", 1.0, 99.9999, "a confidence in percent, 1 to 99.9999",
                            &confidence_percent, error);
    if (status == BC_OK)
        status = read_choices(arguments, request, error);
    if (status == BC_OK)
        status = cli_number(arguments, "max-process-c", -50.0, 5000.0, "a temperature in degrees Celsius",
                            &request->max_process_c, error);
    if (status == BC_OK)
        status = cli_count(arguments, "max-layers", 1, 200, &layers, error);
    if (status == BC_OK)
        status = cli_count(arguments, "seed", 0, 4294967294UL, &request->seed, error);
    if (status == BC_OK)
        status = cli_number(arguments, "effort", 0.05, 1000.0, "a number from 0.05 to 1000", &request->effort, error);
    if (status == BC_OK)
        status = cli_count(arguments, "threads", 0, 1024, &threads, error);
    request->quantity = quantity;
    request->yield = yield_percent / 100.0;
    request->threads = threads;
    request->confidence = confidence_percent / 100.0;
    request->both_sides = cli_has(arguments, "both-sides");
    request->one_run = cli_has(arguments, "one-run");
    inputs->problem.max_layers = layers;
    return status;
}

static bc_status read_shop(cli_session *session, cli_quote_inputs *inputs, bc_error *error)
{
    bc_status status = BC_OK;
    if (cli_has(session->arguments, "process")) {
        status = cli_read_process(session, error);
        inputs->request.process = &session->process;
    }
    if (status == BC_OK)
        status = cli_read_chamber(session, error);
    inputs->request.chamber = session->chamber_path == NULL ? NULL : &session->chamber;
    return status;
}

/* Air, or a cement between two glasses. */
static bc_status read_incident(cli_session *session, bc_medium *incident, bc_error *error)
{
    const char *name = cli_value(session->arguments, "incident");
    const bc_status status =
        bc_medium_find(session->materials, name == NULL ? "air" : name, "--incident", incident, error);
    return status == BC_OK && name != NULL ? cli_note_medium(session, incident, error) : status;
}

static bc_status read_problem(cli_session *session, cli_quote_inputs *inputs, bc_error *error)
{
    bc_status status = cli_read_problem(session, NULL, &inputs->problem, error);
    if (status == BC_OK && session->zones > 0 && inputs->request.part_diameter_mm > 0.0 &&
        session->curved.clear_aperture_mm > inputs->request.part_diameter_mm)
        status = bc_fail(error, BC_ERROR_INPUT, "--clear-aperture-mm: found %g; expected no more than the part, %g mm",
                         session->curved.clear_aperture_mm, inputs->request.part_diameter_mm);
    if (status == BC_OK)
        status = cli_read_layers(session, NULL, &inputs->problem.materials, &inputs->layers, error);
    inputs->problem.material = inputs->layers;
    if (status == BC_OK)
        status = cli_proof_of_graded(&inputs->problem, &inputs->wanted, error);
    if (status == BC_OK)
        status = read_incident(session, &inputs->problem.incident, error);
    if (status == BC_OK && !cli_has(session->arguments, "minimum-nm"))
        inputs->problem.minimum_nm = cli_minimum_of(inputs->request.process, inputs->problem.materials, inputs->layers);
    return status;
}

/* What the shop makes already, of each coating the stack for the first substrate where it has one. */
static bc_status read_standards(cli_session *session, cli_quote_inputs *inputs, bc_error *error)
{
    const bc_shop *shop = session->arguments->shop;
    bc_status status = BC_OK;
    inputs->request.search_too = cli_has(session->arguments, "search");
    if (shop == NULL || shop->standard == NULL)
        return BC_OK;
    status = bc_standards_read(shop->standard, NULL, inputs->problem.substrate[0].name, session->materials,
                               &inputs->standards, error);
    for (size_t i = 0; status == BC_OK && i < inputs->standards.count; i++)
        for (size_t s = 0; status == BC_OK && s < inputs->standards.standard[i].stacks; s++)
            status = cli_grade_stack(session, &inputs->standards.standard[i].stack[s], error);
    for (size_t i = 0; status == BC_OK && i < inputs->standards.count; i++)
        for (size_t s = 0; status == BC_OK && s < inputs->standards.standard[i].stacks; s++)
            status = cli_note_input(session, inputs->standards.standard[i].path[s], error);
    inputs->request.standards = &inputs->standards;
    return status;
}

static bool is_among(const bc_medium *medium, size_t count, const bc_medium *list)
{
    for (size_t i = 0; i < count; i++)
        if (list[i].dispersion == medium->dispersion)
            return true;
    return false;
}

/* The layers that the process has a row for, beyond those asked for; without a process it is not known what is at hand.
 */
static bc_status find_other_layers(cli_session *session, cli_quote_inputs *inputs, bc_error *error)
{
    bc_quote_request *request = &inputs->request;
    bc_status status = BC_OK;
    inputs->other_layer = calloc(session->process.rows + 1, sizeof *inputs->other_layer);
    if (inputs->other_layer == NULL)
        return bc_fail_memory(error);
    request->other_layer = inputs->other_layer;
    for (size_t i = 0; status == BC_OK && i < session->process.rows; i++) {
        bc_medium *medium = &inputs->other_layer[request->other_layers];
        if (strcmp(session->process.row[i].material, "*") == 0)
            continue;
        status = bc_medium_find(session->materials, session->process.row[i].material, NULL, medium, error);
        if (status == BC_OK)
            status = cli_grade_medium(session, medium, error);
        if (status == BC_OK && !is_among(medium, inputs->problem.materials, inputs->layers))
            request->other_layers++;
    }
    return status;
}

/* Optical glasses go by a six-digit code. A table that is wrong is no glass at hand; a disk that fails is an error. */
static bc_status find_other_glasses(cli_session *session, cli_quote_inputs *inputs, bc_error *error)
{
    bc_quote_request *request = &inputs->request;
    const char *const *names;
    size_t count;
    bc_status status = bc_materials_list(session->materials, &count, &names, error);
    if (status != BC_OK)
        return status;
    inputs->other_glass = calloc(count + 1, sizeof *inputs->other_glass);
    if (inputs->other_glass == NULL)
        return bc_fail_memory(error);
    request->other_glass = inputs->other_glass;
    for (size_t i = 0; i < count; i++) {
        bc_medium *medium = &inputs->other_glass[request->other_glasses];
        if (strlen(names[i]) != 6 || strspn(names[i], "0123456789") != 6)
            continue;
        status = bc_medium_find(session->materials, names[i], NULL, medium, error);
        if (status != BC_OK && status != BC_ERROR_INPUT)
            return status;
        if (status == BC_OK && !is_among(medium, inputs->problem.substrates, inputs->problem.substrate))
            request->other_glasses++;
    }
    return BC_OK;
}

bc_status cli_read_quote_inputs(cli_session *session, cli_quote_inputs *inputs, bc_error *error)
{
    bc_page_reference reference;
    bc_status status;
    inputs->request =
        (bc_quote_request){.problem = &inputs->problem, .seed = 1, .effort = 1.0, .max_process_c = INFINITY};
    status = read_amounts(session->arguments, inputs, error);
    if (status == BC_OK)
        status = cli_read_quote_reference(session->arguments, &reference, error);
    if (status == BC_OK)
        status = cli_read_proof(session->arguments, 4, &inputs->wanted, error);
    if (status == BC_OK)
        status = read_shop(session, inputs, error);
    if (status == BC_OK)
        status = read_problem(session, inputs, error);
    if (status == BC_OK)
        status = read_standards(session, inputs, error);
    if (status == BC_OK)
        status = find_other_layers(session, inputs, error);
    if (status == BC_OK)
        status = find_other_glasses(session, inputs, error);
    return status;
}
