/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "compare.h"
#include "changes.h"
#include "page.h"
#include "plot.h"
#include "progress.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_STACKS 26

bc_status cli_read_stacks(cli_session *session, cli_stacks *others, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    bc_status status = BC_OK;
    if (arguments->operands > MOST_STACKS)
        return bc_fail(error, BC_ERROR_INPUT, "found %zu stacks; expected %d at most side by side", arguments->operands,
                       MOST_STACKS);
    if (arguments->operands > 1) {
        others->stack = calloc(arguments->operands, sizeof *others->stack);
        if (others->stack == NULL)
            return bc_fail_memory(error);
    }
    for (size_t i = 0; status == BC_OK && i + 1 < arguments->operands; i++) {
        status = cli_read_other_stack(session, arguments->all_operands[i], &others->stack[i], error);
        others->count++; /* also one that was read in part */
    }
    return status == BC_OK ? cli_read_stack(session, arguments->all_operands[arguments->operands - 1], error) : status;
}

void cli_stacks_clear(cli_stacks *others)
{
    for (size_t i = 0; i < others->count; i++)
        bc_stack_clear(&others->stack[i]);
    free(others->stack);
    *others = (cli_stacks){0};
}

const bc_stack *cli_stack_at(const cli_session *session, const cli_stacks *others, size_t which)
{
    return which < others->count ? &others->stack[which] : &session->stack;
}

typedef struct comparison {
    size_t count;
    bc_check_result *result;
    bc_check_report *report;
    bc_check_curves *curves;
} comparison;

static void clear(comparison *all)
{
    for (size_t s = 0; s < all->count; s++) {
        if (all->result != NULL)
            bc_check_result_clear(&all->result[s]);
        if (all->curves != NULL)
            bc_check_curves_clear(&all->curves[s]);
    }
    free(all->result);
    free(all->report);
    free(all->curves);
}

/* One stack's share of the progress, by its layers. */
typedef struct share {
    cli_progress *progress;
    double from, to;
} share;

static void say_share(void *context, double fraction)
{
    const share *of_stack = context;
    cli_progress_share(of_stack->progress, of_stack->from + fraction * (of_stack->to - of_stack->from));
}

static double all_layers(const cli_session *session, const cli_stacks *others)
{
    double layers = 0.0;
    for (size_t s = 0; s <= others->count; s++)
        layers += (double)cli_stack_at(session, others, s)->layers;
    return fmax(layers, 1.0);
}

static bc_status check_all(cli_session *session, const cli_stacks *others, comparison *all, bc_error *error)
{
    cli_progress progress;
    const double layers = all_layers(session, others);
    share of_stack = {.progress = &progress};
    bc_status status = BC_OK;
    cli_progress_wait(&progress, session->quiet, "checking %zu stacks, %zu callouts", all->count,
                      session->callouts.count);
    for (size_t s = 0; status == BC_OK && s < all->count; s++) {
        const bc_stack *stack = cli_stack_at(session, others, s);
        of_stack.from = of_stack.to;
        of_stack.to += (double)stack->layers / layers;
        status = bc_check_with_progress(stack, &session->callouts, session->substrates, session->substrate,
                                        &session->back, say_share, &of_stack, &all->result[s], error);
        all->report[s] = (bc_check_report){.stack_path = s < others->count ? session->arguments->all_operands[s]
                                                                           : session->stack_path,
                                           .callouts_path = session->callouts_path,
                                           .stack = stack,
                                           .brief = session->quiet,
                                           .result = &all->result[s],
                                           .back = &session->back,
                                           .back_assumed = session->back_assumed};
        if (status == BC_OK && session->plot != NULL)
            status = bc_check_curves_compute(stack, &session->back, &all->result[s], &all->curves[s], error);
    }
    cli_progress_end(&progress);
    return status;
}

static bc_status write_all(cli_session *session, const comparison *all, bc_error *error)
{
    bc_text text = {0}, picture = {0};
    bc_status status = session->json ? bc_report_compare_json(all->count, all->report, &text, error)
                                     : bc_report_compare_text(all->count, all->report, &text, error);
    if (status == BC_OK && session->plot != NULL)
        status = bc_plot_compare(all->count, all->report, all->curves, &session->plot_options, &picture, error);
    status = cli_write_results(session, status, &text, &picture, NULL, error);
    return status;
}

bc_status cli_compare(cli_session *session, const cli_stacks *others, bool *met, bc_error *error)
{
    static const char *const of_one[] = {"report", "roughness-nm"};
    comparison all = {.count = others->count + 1};
    bc_status status = BC_OK;
    for (size_t i = 0; i < sizeof of_one / sizeof *of_one; i++)
        if (cli_has(session->arguments, of_one[i]))
            return bc_fail(error, BC_ERROR_INPUT, "--%s is for one stack; found %zu", of_one[i], all.count);
    all.result = calloc(all.count, sizeof *all.result);
    all.report = calloc(all.count, sizeof *all.report);
    all.curves = calloc(all.count, sizeof *all.curves);
    if (all.result == NULL || all.report == NULL || all.curves == NULL)
        status = bc_fail_memory(error);
    if (status == BC_OK)
        status = check_all(session, others, &all, error);
    if (status == BC_OK)
        status = write_all(session, &all, error);
    for (size_t s = 0; status == BC_OK && s < all.count; s++)
        *met = (s == 0 || *met) && all.result[s].pass;
    clear(&all);
    return status;
}
