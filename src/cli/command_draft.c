/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"
#include "curved.h"
#include "design.h"
#include "plot.h"
#include "progress.h"
#include "proof.h"
#include "recording.h"
#include <float.h>
#include <math.h>
#include <stdlib.h>

static bc_status read_incident(cli_session *session, bc_stack *start, bc_design_problem *problem, bc_error *error)
{
    const char *name = cli_value(session->arguments, "incident");
    bc_status status;
    if (name == NULL && start != NULL) {
        problem->incident = start->incident;
        return BC_OK;
    }
    status = bc_medium_find(session->materials, name == NULL ? "air" : name, "--incident", &problem->incident, error);
    if (status == BC_OK && start != NULL)
        start->incident = problem->incident;
    return status == BC_OK ? cli_note_medium(session, &problem->incident, error) : status;
}

static bc_status read_search(const cli_arguments *arguments, bc_design_problem *problem, bc_draft_options *options,
                             bc_error *error)
{
    static const char *const word[] = {[BC_AIM_FEWEST] = "fewest", [BC_AIM_BEST] = "best", [BC_AIM_YIELD] = "yield"};
    size_t aim = cli_value(arguments, "process") == NULL ? BC_AIM_FEWEST : BC_AIM_YIELD;
    unsigned long layers, threads = 0;
    bc_status status = cli_choice(arguments, "aim", 3, word, &aim, error);
    layers = aim == BC_AIM_FEWEST ? 8 : 12;
    if (status == BC_OK && aim == BC_AIM_YIELD && !cli_has(arguments, "process"))
        return bc_fail(error, BC_ERROR_INPUT,
                       "found --aim yield without --process; expected the process whose runs are simulated, too");
    if (status == BC_OK)
        status = cli_count(arguments, "max-layers", 1, 200, &layers, error);
    if (status == BC_OK)
        status = cli_count(arguments, "seed", 0, 4294967295UL, &options->seed, error);
    if (status == BC_OK)
        status = cli_number(arguments, "effort", 0.01, 1000.0, "a number from 0.01 to 1000", &options->effort, error);
    if (status == BC_OK)
        status = cli_count(arguments, "threads", 0, 1024, &threads, error);
    options->aim = (bc_aim)aim;
    options->threads = threads;
    problem->max_layers = layers;
    return status;
}

static bc_status read_runs(const cli_arguments *arguments, size_t *runs, bc_error *error)
{
    unsigned long count = 10000;
    const bc_status status = cli_count(arguments, "runs", 1, 100000000UL, &count, error);
    *runs = count;
    if (status == BC_OK && cli_has(arguments, "runs") && !cli_has(arguments, "process"))
        return bc_fail(error, BC_ERROR_INPUT,
                       "found --runs without --process; expected the process whose runs are simulated, too");
    return status;
}

/* What a search is asked for, and what it has found. */
typedef struct work {
    const bc_design_problem *problem;
    bc_draft_options options;
    size_t runs;
    double seconds;
    bc_draft_result result;
    bc_robust_result robust;
    cli_proof wanted;
    bc_proof proof;
} work;

/* Among the good designs, the one that more runs of the process will meet takes the place of the sharpest. */
static bc_status choose_robust(cli_session *session, work *w, cli_progress *progress, bc_error *error)
{
    const bc_robust_options wanted = {.runs = w->runs,
                                      .seed = w->options.seed,
                                      .threads = w->options.threads,
                                      .search_effort = w->options.start == NULL ? w->options.effort : 0.0,
                                      .progress = cli_progress_step,
                                      .progress_context = progress};
    return bc_robust(w->problem, &session->process, &w->result, &wanted, &w->robust, error);
}

/* How much better than what was found a stack of few layers can be at all. */
static bc_status prove(cli_session *session, work *w, bc_error *error)
{
    const bc_proof_options options = cli_proof_options(&w->wanted, session, w->result.looked_at, w->options.threads);
    const bc_status status = bc_draft_prove(w->problem, &w->options, &options, &w->result, &w->proof, NULL, error);
    if (w->wanted.begun)
        cli_progress_end(&w->wanted.progress);
    return status;
}

static bc_status look_for(cli_session *session, work *w, bc_error *error)
{
    cli_progress progress;
    bc_status status;
    w->options.progress = cli_progress_step;
    w->options.progress_context = &progress;
    cli_interrupts_keep_best();
    cli_progress_start(&progress, session->quiet);
    progress.seconds = w->seconds;
    status = bc_draft(w->problem, &w->options, &w->result, error);
    if (status == BC_OK && w->result.stop != BC_STOP_INTERRUPTED &&
        cli_proof_layers(&w->wanted, w->result.looked_at) > 0) {
        cli_progress_end(&progress);
        w->wanted.seconds = w->seconds - cli_progress_seconds(&progress); /* of all that is left */
        w->seconds = w->wanted.seconds;
        status = prove(session, w, error);
        w->seconds -= w->wanted.begun ? cli_progress_seconds(&w->wanted.progress) : 0.0;
        cli_progress_start(&progress, session->quiet);
        progress.seconds = w->seconds;
    }
    if (status == BC_OK && session->process_path != NULL)
        status = choose_robust(session, w, &progress, error);
    cli_progress_end(&progress);
    w->options.progress_context = NULL;
    return status;
}

static bc_status search(cli_session *session, work *w, bool *met, bc_error *error)
{
    const bool robust = session->process_path != NULL;
    bc_design_report report = {.seed = w->options.seed, .effort = w->options.effort};
    bc_status status = look_for(session, w, error);
    if (status == BC_OK) {
        bc_stack *stack = robust ? &w->robust.stack : &w->result.rung[w->result.chosen].stack;
        report.draft = &w->result;
        report.robust = robust ? &w->robust : NULL;
        report.proof = w->proof.steps > 0 ? &w->proof : NULL;
        report.stop = robust && w->robust.interrupted ? BC_STOP_INTERRUPTED : w->result.stop;
        report.thin_layers = w->options.start == NULL ? 0 : cli_thin_layers(w->options.start, w->problem->minimum_nm);
        if (w->options.start != NULL) /* the file is written in the order of the start's */
            stack->from_substrate = w->options.start->from_substrate;
        status = cli_write_design(session, w->problem, stack, &report, met, error);
    }
    bc_robust_result_clear(&w->robust);
    bc_proof_clear(&w->proof);
    bc_draft_result_clear(&w->result);
    return status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    const char *start_path = cli_value(session->arguments, "start");
    bc_stack *start = start_path == NULL ? NULL : &session->stack;
    bc_design_problem problem = {0};
    work w = {.problem = &problem, .options = {.seed = 1, .effort = 1.0, .start = start}, .seconds = INFINITY};
    bc_medium *layers = NULL;
    bc_status status = read_search(session->arguments, &problem, &w.options, error);
    if (status == BC_OK)
        status = cli_read_proof(session->arguments, 3, &w.wanted, error);
    w.seconds = w.wanted.seconds;
    if (status == BC_OK)
        status = read_runs(session->arguments, &w.runs, error);
    if (status == BC_OK && start != NULL)
        status = cli_read_stack(session, start_path, error);
    if (status == BC_OK)
        status = cli_read_problem(session, start, &problem, error);
    if (status == BC_OK && cli_value(session->arguments, "process") != NULL)
        status = cli_read_process(session, error);
    if (status == BC_OK)
        status = cli_read_layers(session, start, &problem.materials, &layers, error);
    problem.material = layers;
    if (status == BC_OK)
        status = cli_proof_of_graded(&problem, &w.wanted, error);
    if (status == BC_OK)
        status = read_incident(session, start, &problem, error);
    if (status == BC_OK && start != NULL && start->layers > problem.max_layers)
        status =
            bc_fail(error, BC_ERROR_INPUT, "--max-layers: found %zu; expected at least the %zu layers of --start %s",
                    problem.max_layers, start->layers, start_path);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK)
        status = search(session, &w, met, error);
    free(layers);
    return status;
}

static const cli_option options_table[] = {
    CLI_OPTION_CALLOUTS,
    CLI_OPTION_SUBSTRATE(
        "given several times, one stack must meet the callouts on each (default with --start: its own)"),
    {"materials", "A,B,..", true,
     "layer materials, names or constant indices (default: those of --start, else those of the process)"},
    {"incident", "NAME", false, "the incident medium (default air, or that of --start)"},
    {"max-layers", "N", false, "largest number of layers, 1 to 200 (default 8; 12 with --aim best or yield)"},
    CLI_OPTION_MINIMUM_NM,
    CLI_OPTION_MAX_TOTAL_NM,
    {"aim", "fewest|best|yield", false,
     "fewest: the fewest layers that use at most 90 % of the limit (one or two more where the whole is then less than "
     "half as thick), else the fewest within 1 % of the best found; best: the thinnest within 1 % of what uses the "
     "least of the limit with at most --max-layers; yield: the fewest layers within 2 points of the highest yield "
     "(default fewest; yield with --process)"},
    {"process", "FILE", false,
     "rates, tooling and errors of the chamber (CSV): choose the design with the highest predicted yield"},
    {"runs", "N", false, "simulated runs of the last designs, with --process (default 10000)"},
    {"start", "STACK", false, "start from this stack file; its fixed layers are kept"},
    {"seed", "N", false, "of the random starts; the same seed gives the same bytes (default 1)"},
    {"effort", "X", false,
     "how long to search: 4 is about four times as long (default 1, which ends within about ten minutes on two "
     "processors)"},
    {"threads", "N", false, "0 for as many as the machine has; the result does not depend on it (default 0)"},
    CLI_OPTIONS_PROOF,
    CLI_OPTION_PART_BACK,
    CLI_OPTION_SUBSTRATE_MM,
    CLI_OPTIONS_CURVED,
    CLI_OPTIONS_PLOT,
    CLI_OPTION_RECORD,
    CLI_OPTION_END,
};

const cli_command cli_draft = {
    .name = "draft",
    .needs = "--callouts FILE --substrate NAME [--materials A,B,..]",
    .summary = "Designs a stack from nothing, or from --start STACK, to the callouts.",
    .details = "An interrupt ends the search with the best so far, a second one at once. "
               "Writes a stack file; the report with the ladder (layers, total nm, limit_used) goes to standard error, "
               "or to standard output "
               "when -o takes the stack.",
    .example = "draft --callouts examples/window-callouts.csv --substrate 517642 --materials MgF2,HfO2 -o window.csv",
    .option = options_table,
    .run = run,
};
