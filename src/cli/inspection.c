/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspection.h"
#include "commands.h"
#include "progress.h"
#include "run_record.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FEWEST_ALIKE 20 /* values that agree to the last bit: no two measurements do */

static bc_status read_design(cli_session *session, bc_error *error)
{
    const char *path;
    bc_status status = cli_required(session->arguments, "stack", &path, error);
    if (status == BC_OK)
        status = cli_read_stack(session, path, error);
    if (status == BC_OK)
        status = cli_read_media(session, "substrate", &session->substrates, &session->substrate, error);
    if (status != BC_OK || session->substrates == 0)
        return status;
    if (session->substrates > 1)
        return bc_fail(error, BC_ERROR_INPUT, "--substrate: found %zu glasses; expected the one that was measured",
                       session->substrates);
    session->stack.substrate = session->substrate[0];
    return BC_OK;
}

/* The glasses that rows are for, other than the one measured: what the fitted stack would do on them is predicted. */
static bc_status find_glasses(cli_session *session, cli_inspection *all, bc_error *error)
{
    const bc_callouts *callouts = &session->callouts;
    all->glass = calloc(callouts->count + 1, sizeof *all->glass);
    if (all->glass == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < callouts->count; i++) {
        const char *name = callouts->callout[i].substrate;
        bool known = name[0] == '\0' || strcmp(name, session->stack.substrate.name) == 0;
        for (size_t j = 0; j < all->glasses && !known; j++)
            known = strcmp(name, all->glass[j].name) == 0;
        if (known)
            continue;
        bc_medium *medium = &all->glass[all->glasses];
        bc_status status = bc_medium_find(session->materials, name, "--callouts", medium, error);
        if (status == BC_OK)
            status = cli_note_medium(session, medium, error);
        if (status != BC_OK)
            return status;
        all->glasses++;
    }
    return BC_OK;
}

static bc_status read_circumstances(const cli_session *session, bc_inspect_setup *setup, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    static const char *const judges[] = {"curve", "points"};
    size_t judge = 0;
    double confidence = 100.0 * setup->confidence;
    cli_uncertainties read;
    bc_status status = cli_read_uncertainties(arguments, &read, error);
    if (status == BC_OK)
        status = cli_number(arguments, "confidence-percent", 50.0, nextafter(100.0, 0.0),
                            "a probability in percent, from 50 to below 100", &confidence, error);
    setup->uncertainty = read.absolute;
    setup->wavelength_uncertainty_nm = read.wavelength_nm;
    setup->scale_uncertainty = read.scale;
    setup->coverage_factor = read.coverage_factor;
    setup->confidence = confidence / 100.0;
    setup->fit_index = cli_has(arguments, "fit-index");
    setup->from_fit = cli_has(arguments, "from-fit");
    if (status == BC_OK)
        status = cli_choice(arguments, "judge", 2, judges, &judge, error);
    setup->judge_points = judge == 1;
    return status;
}

bc_status cli_inspection_read(cli_session *session, cli_inspection *all, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    bc_status status = read_design(session, error);
    if (status == BC_OK && (cli_has(arguments, "callouts") || cli_has(arguments, "callout")))
        status = cli_read_callouts(session, error);
    if (status == BC_OK && cli_has(arguments, "process"))
        status = cli_read_process(session, error);
    if (status == BC_OK)
        status = cli_read_back(session, BC_BACK_NONE, error);
    if (status != BC_OK)
        return status;
    all->setup = bc_inspect_defaults(&session->stack);
    all->setup.callouts = session->callouts_path == NULL ? NULL : &session->callouts;
    all->setup.process = session->process_path == NULL ? NULL : &session->process;
    all->setup.back = session->back;
    status = find_glasses(session, all, error);
    all->setup.glasses = all->glasses;
    all->setup.glass = all->glass;
    if (status == BC_OK)
        status = cli_read_at_hand(session, &all->at_hand, error);
    all->setup.layer_media = all->at_hand.layers;
    all->setup.layer_medium = all->at_hand.layer;
    all->setup.substrate_media = all->at_hand.substrates;
    all->setup.substrate_medium = all->at_hand.substrate;
    if (status == BC_OK)
        status = read_circumstances(session, &all->setup, error);
    if (status == BC_OK)
        status = cli_read_witnesses(session, all->setup.callouts, all->setup.coverage_factor, &all->witnesses, error);
    all->setup.aoi_rad = all->witnesses.aoi_deg * (M_PI / 180.0);
    all->setup.polarization = all->witnesses.polarization;
    if (status == BC_OK)
        status = cli_check_instrument(session, all->witnesses.witness[0].has_R ? BC_R : BC_T, &all->setup,
                                      &all->witnesses.reference, error);
    for (size_t i = 0; status == BC_OK && session->back.kind != BC_BACK_NONE && i < all->witnesses.count; i++) {
        const bc_measurement *measurement = &all->witnesses.witness[i].measurement;
        status = cli_need_thickness(session, &session->stack.substrate, measurement->wavelength_nm[0],
                                    measurement->wavelength_nm[measurement->count - 1], error);
    }
    return status;
}

/* Files for the next run: a stack by one witness, and the tooling of a process that is known by any number of runs. */
static bool same_values(const bc_measurement *one, const bc_measurement *other)
{
    const bc_measured *const of_one[] = {&one->R, &one->T}, *const of_other[] = {&other->R, &other->T};
    if (one->count != other->count || one->count < FEWEST_ALIKE ||
        memcmp(one->wavelength_nm, other->wavelength_nm, one->count * sizeof(double)) != 0)
        return false;
    for (size_t q = 0; q < 2; q++) {
        const double *values = of_one[q]->value, *beside = of_other[q]->value;
        if ((values == NULL) != (beside == NULL) ||
            (values != NULL && memcmp(values, beside, one->count * sizeof(double)) != 0))
            return false;
    }
    return true;
}

static const char *checksum_of(const cli_witness *witness)
{
    return (witness->has_R ? &witness->R : &witness->T)->sha256;
}

/* A file given twice is one witness; it goes after the others, where it is not counted. */
bc_status cli_inspection_drop_copies(cli_inspection *all, bc_error *error)
{
    cli_witnesses *witnesses = &all->witnesses;
    all->copy = calloc(witnesses->count, sizeof *all->copy);
    if (all->copy == NULL)
        return bc_fail_memory(error);
    for (size_t i = 1; i < witnesses->count; i++) {
        for (size_t j = 0; j < i; j++) {
            const cli_witness one = witnesses->witness[j], other = witnesses->witness[i];
            const bool same_file = strcmp(checksum_of(&one), checksum_of(&other)) == 0;
            if (!same_file && !same_values(&one.measurement, &other.measurement))
                continue;
            all->copy[all->copies++] = (bc_witness_copy){other.path, one.path, same_file};
            cli_witness_clear(&witnesses->witness[i]);
            witnesses->count--;
            for (size_t k = i; k < witnesses->count; k++)
                witnesses->witness[k] = witnesses->witness[k + 1];
            i--;
            break;
        }
    }
    return BC_OK;
}

bc_status cli_inspection_compute(cli_inspection *all, bool quiet, bc_error *error)
{
    const size_t count = all->witnesses.count;
    cli_progress progress;
    bc_status status;
    all->measurement = calloc(count, sizeof *all->measurement);
    all->source = calloc(count, sizeof *all->source);
    if (all->measurement == NULL || all->source == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < count; i++) {
        const cli_witness *witness = &all->witnesses.witness[i];
        all->measurement[i] = witness->measurement;
        all->source[i] = (bc_witness_source){.path = witness->path,
                                             .R = witness->has_R ? &witness->R : NULL,
                                             .T = witness->has_T ? &witness->T : NULL,
                                             .quantity_stated = witness->quantity_stated};
    }
    cli_progress_wait(&progress, quiet, "fitting %zu witness%s of %zu layers", count, count == 1 ? "" : "es",
                      all->setup.design->layers);
    all->setup.progress = cli_progress_share;
    all->setup.progress_context = &progress;
    status = count == 1 ? bc_inspect(&all->measurement[0], &all->setup, &all->result, error)
                        : bc_inspect_lot(count, all->measurement, &all->setup, &all->lot, error);
    if (status == BC_OK && count > 1 && all->next_process != NULL)
        status = bc_runs_estimate(count, all->lot.witness, &all->setup, &all->runs, error);
    all->setup.progress = NULL; /* its context ends here */
    cli_progress_end(&progress);
    return status;
}

void cli_inspection_clear(cli_inspection *all)
{
    bc_inspect_result_clear(&all->result);
    bc_lot_result_clear(&all->lot);
    bc_runs_clear(&all->runs);
    cli_witnesses_clear(&all->witnesses);
    free(all->measurement);
    free(all->source);
    free(all->copy);
    free(all->glass);
    cli_at_hand_clear(&all->at_hand);
}

bc_status cli_inspection_describe(const cli_inspection *all, size_t which, bc_record_run *run, bc_error *error)
{
    return cli_describe_run(all->witnesses.count == 1 ? &all->result : &all->lot.witness[which], &all->setup,
                            all->source[which].path, which + 1, run, error);
}

bc_status cli_inspect_runs(cli_session *session, bc_record_runs *runs, bc_error *error)
{
    const cli_arguments *whole = session->arguments;
    cli_arguments files = *whole;
    cli_inspection all = {0};
    bc_status status;
    files.operands--;
    files.all_operands++;
    files.operand = files.all_operands[0];
    session->arguments = &files;
    *runs = (bc_record_runs){0};
    status = cli_inspection_read(session, &all, error);
    if (status == BC_OK)
        status = cli_inspection_drop_copies(&all, error);
    if (status == BC_OK)
        status = cli_inspection_compute(&all, session->quiet, error);
    if (status == BC_OK && (runs->run = calloc(all.witnesses.count, sizeof *runs->run)) == NULL)
        status = bc_fail_memory(error);
    for (size_t i = 0; status == BC_OK && i < all.witnesses.count; i++) {
        runs->count = i + 1;
        status = cli_inspection_describe(&all, i, &runs->run[i], error);
    }
    session->arguments = whole;
    cli_inspection_clear(&all);
    return status;
}
