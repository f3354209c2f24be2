/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "curved.h"
#include "design.h"
#include "plot.h"
#include "progress.h"
#include "verbs.h"
#include <float.h>
#include <stdlib.h>

/* The distinct materials of a stack's films. */
static bc_status films_of(const bc_stack *stack, size_t *count, bc_medium **media, bc_error *error)
{
    *count = 0;
    *media = calloc(stack->films + 1, sizeof **media);
    if (*media == NULL)
        return bc_fail_memory(error);
    for (size_t film = 0; film < stack->films; film++) {
        const bc_medium *medium = &stack->film[film].material;
        bool known = false;
        for (size_t i = 0; i < *count; i++)
            known = known || (*media)[i].dispersion == medium->dispersion;
        if (!known)
            (*media)[(*count)++] = *medium;
    }
    return BC_OK;
}

static bc_status read_films(cli_session *session, const bc_stack *start, bc_design_problem *problem, bc_medium **films,
                            bc_error *error)
{
    const char *none;
    bc_status status = cli_read_media(session, "films", &problem->materials, films, error);
    if (status == BC_OK && problem->materials == 0 && start != NULL && start->films > 0) {
        free(*films);
        status = films_of(start, &problem->materials, films, error);
    }
    problem->material = *films;
    return status == BC_OK && problem->materials == 0 ? cli_required(session->arguments, "films", &none, error)
                                                      : status;
}

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
    static const char *const word[] = {[BC_AIM_FEWEST] = "fewest", [BC_AIM_BEST] = "best"};
    size_t aim = cli_value(arguments, "process") == NULL ? BC_AIM_FEWEST : BC_AIM_BEST;
    unsigned long films, threads = 0;
    bc_status status = cli_choice(arguments, "aim", 2, word, &aim, error);
    films = aim == BC_AIM_BEST ? 12 : 8;
    if (status == BC_OK)
        status = cli_count(arguments, "max-films", 1, 200, &films, error);
    if (status == BC_OK)
        status = cli_count(arguments, "seed", 0, 4294967295UL, &options->seed, error);
    if (status == BC_OK)
        status = cli_number(arguments, "effort", 0.01, 1000.0, "a number from 0.01 to 1000", &options->effort, error);
    if (status == BC_OK)
        status = cli_count(arguments, "threads", 0, 1024, &threads, error);
    options->aim = (bc_aim)aim;
    options->threads = threads;
    problem->max_films = films;
    return status;
}

static bc_status read_trials(const cli_arguments *arguments, size_t *trials, bc_error *error)
{
    unsigned long count = 10000;
    const bc_status status = cli_count(arguments, "trials", 1, 100000000UL, &count, error);
    *trials = count;
    if (status == BC_OK && cli_has(arguments, "trials") && !cli_has(arguments, "process"))
        return bc_fail(error, BC_ERROR_INPUT,
                       "found --trials without --process; expected the process whose runs are simulated, too");
    return status;
}

/* Among the good designs, the one that more runs of the process will meet takes the place of the sharpest. */
static bc_status choose_robust(cli_session *session, const bc_design_problem *problem, const bc_draft_options *options,
                               size_t trials, const bc_draft_result *drafted, bc_robust_result *robust, bc_error *error)
{
    const bc_robust_options wanted = {.trials = trials, .seed = options->seed, .threads = options->threads};
    return bc_robust(problem, &session->process, drafted, &wanted, robust, error);
}

static bc_status search(cli_session *session, const bc_design_problem *problem, bc_draft_options *options,
                        size_t trials, bool *met, bc_error *error)
{
    cli_progress progress;
    bc_draft_result result = {0};
    bc_design_report report = {.seed = options->seed, .effort = options->effort};
    bc_robust_result robust = {0};
    bc_stack *stack;
    bc_status status;
    options->progress = cli_progress_step;
    options->progress_context = &progress;
    cli_progress_start(&progress, session->quiet);
    status = bc_draft(problem, options, &result, error);
    cli_progress_end();
    options->progress_context = NULL;
    if (status == BC_OK && session->process_path != NULL)
        status = choose_robust(session, problem, options, trials, &result, &robust, error);
    if (status == BC_OK) {
        stack = session->process_path != NULL ? &robust.stack : &result.rung[result.chosen].stack;
        report.draft = &result;
        report.robust = session->process_path != NULL ? &robust : NULL;
        report.stop = result.stop;
        report.thin_films = options->start == NULL ? 0 : cli_thin_films(options->start, problem->minimum_nm);
        if (options->start != NULL) /* the file is written in the order of the start's */
            stack->from_substrate = options->start->from_substrate;
        status = cli_write_design(session, problem, stack, &report, met, error);
    }
    bc_robust_result_clear(&robust);
    bc_draft_result_clear(&result);
    return status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    const char *start_path = cli_value(session->arguments, "start");
    bc_stack *start = start_path == NULL ? NULL : &session->stack;
    bc_design_problem problem = {0};
    bc_draft_options options = {.seed = 1, .effort = 1.0, .start = start};
    bc_medium *films = NULL;
    size_t trials;
    bc_status status = read_search(session->arguments, &problem, &options, error);
    if (status == BC_OK)
        status = read_trials(session->arguments, &trials, error);
    if (status == BC_OK && start != NULL)
        status = cli_read_stack(session, start_path, error);
    if (status == BC_OK)
        status = cli_read_problem(session, start, &problem, error);
    if (status == BC_OK)
        status = read_films(session, start, &problem, &films, error);
    if (status == BC_OK)
        status = read_incident(session, start, &problem, error);
    if (status == BC_OK && start != NULL && start->films > problem.max_films)
        status = bc_fail(error, BC_ERROR_INPUT, "--max-films: found %zu; expected at least the %zu films of --start %s",
                         problem.max_films, start->films, start_path);
    if (status == BC_OK && cli_value(session->arguments, "process") != NULL)
        status = cli_read_process(session, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK)
        status = search(session, &problem, &options, trials, met, error);
    free(films);
    return status;
}

static const cli_option options_table[] = {
    CLI_OPTION_CALLOUTS,
    CLI_OPTION_SUBSTRATE("given several times, one stack must do on each (default with --start: its own)"),
    {"films", "A,B,..", true, "what films may be made of, names or constant indices (default with --start: its own)"},
    {"incident", "NAME", false, "the medium the light comes from (default air, or that of --start)"},
    {"max-films", "N", false, "the most films, 1 to 200 (default 8; 12 with --aim best)"},
    CLI_OPTION_MINIMUM_NM,
    CLI_OPTION_MAX_TOTAL_NM,
    {"aim", "fewest|best", false,
     "fewest: the fewest films with limit_used <= 0.9, else the best found; best: the lowest limit_used with at most "
     "--max-films (default fewest; best with --process)"},
    {"process", "FILE", false,
     "what the chamber really does: among the good designs, choose the one that more runs will meet"},
    {"trials", "N", false, "simulated runs of the last designs, with --process (default 10000)"},
    {"start", "STACK", false, "begin from this stack file instead of from nothing; its fixed films stay"},
    {"seed", "N", false, "of the random starts; the same seed gives the same bytes (default 1)"},
    {"effort", "X", false,
     "4 searches about four times as long (default 1, which ends after some ten minutes at most with two processors)"},
    {"threads", "N", false, "0 for as many as the machine has; the result does not depend on it (default 0)"},
    CLI_OPTION_PART_BACK,
    CLI_OPTION_SUBSTRATE_MM,
    CLI_OPTIONS_CURVED,
    CLI_OPTIONS_PLOT,
    CLI_OPTION_END,
};

const cli_verb cli_draft = {
    .name = "draft",
    .needs = "--callouts FILE --substrate NAME --films A,B,..",
    .summary = "Designs a stack from nothing, or from --start STACK, to the callouts.",
    .details = "Writes a stack file; the report with the ladder (films, total nm, limit_used) goes to standard error, "
               "or to standard output "
               "when -o takes the stack.",
    .example = "draft --callouts examples/window-callouts.csv --substrate 517642 --films MgF2,HfO2 -o window.csv",
    .option = options_table,
    .run = run,
};
