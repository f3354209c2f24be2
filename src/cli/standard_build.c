/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "standard_build.h"
#include "design.h"
#include "escaped.h"
#include "output.h"
#include "text.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define MET     "stacks"
#define NOT_MET "not-met"
#define RUNS    2000 /* simulated, of the designs of one substrate that are compared last */

/* What a sweep is asked for. */
typedef struct sweep {
    const char *folder;
    unsigned long shard, shards, seed, max_layers;
    double effort, yield;
    size_t threads;
    size_t layers, substrates;
    bc_medium *layer, *substrate;
} sweep;

static bc_status read_shard(const char *text, sweep *s, bc_error *error)
{
    char *end = NULL;
    s->shard = s->shards = 1;
    if (text == NULL)
        return BC_OK;
    if (text[0] >= '0' && text[0] <= '9')
        s->shard = strtoul(text, &end, 10);
    if (end != NULL && *end == '/' && end[1] >= '0' && end[1] <= '9')
        s->shards = strtoul(end + 1, &end, 10);
    else
        end = NULL;
    if (end == NULL || *end != '\0' || s->shard < 1 || s->shard > s->shards || s->shards > 10000)
        return cli_fail_value(error, "shard", text, "", "I/N, the part I of N parts, such as 2/4");
    return BC_OK;
}

static bc_status read_settings(cli_session *session, sweep *s, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    bc_status status = read_shard(cli_value(arguments, "shard"), s, error);
    s->folder = session->output;
    s->seed = 1;
    s->max_layers = 8;
    s->effort = 0.2;
    if (status == BC_OK && cli_is_standard_output(s->folder))
        status = bc_fail(error, BC_ERROR_INPUT,
                         "standard build needs -o DIR, the folder it writes a file for each "
                         "substrate into");
    if (status == BC_OK)
        status = cli_count(arguments, "seed", 0, 4294967295UL, &s->seed, error);
    if (status == BC_OK)
        status = cli_count(arguments, "max-layers", 1, 200, &s->max_layers, error);
    if (status == BC_OK)
        status = cli_number(arguments, "effort", 0.01, 1000.0, "a number from 0.01 to 1000", &s->effort, error);
    return status;
}

static bool reaches(const bc_callouts *callouts, const bc_medium *medium)
{
    double from_nm, to_nm;
    bc_dispersion_range(medium->dispersion, &from_nm, &to_nm);
    for (size_t c = 0; c < callouts->count; c++)
        if (bc_callout_applies(&callouts->callout[c], medium->name) &&
            (callouts->callout[c].from_nm < from_nm || callouts->callout[c].to_nm > to_nm))
            return false;
    return true;
}

static bool is_there(const sweep *s, const char *name)
{
    for (size_t i = 0; i < s->substrates; i++)
        if (strcmp(s->substrate[i].name, name) == 0)
            return true;
    return false;
}

/* Every name of a list that is a substrate and whose table reaches over the callouts. */
static bc_status add_substrates(cli_session *session, sweep *s, size_t count, const char *const *name, size_t *left_out,
                                bc_error *error)
{
    bc_medium *grown = realloc(s->substrate, (s->substrates + count + 1) * sizeof *grown);
    if (grown == NULL)
        return bc_fail_memory(error);
    s->substrate = grown;
    for (size_t i = 0; i < count; i++) {
        bc_medium *medium = &grown[s->substrates];
        const bc_status status = bc_medium_find(session->materials, name[i], NULL, medium, error);
        if (status != BC_OK && status != BC_ERROR_INPUT)
            return status;
        const char *kind = status == BC_OK ? bc_dispersion_note(medium->dispersion, "kind") : NULL;
        if (kind == NULL || strcmp(kind, "substrate") != 0 || is_there(s, name[i]))
            continue;
        if (reaches(&session->callouts, medium))
            s->substrates++;
        else
            (*left_out)++;
    }
    return BC_OK;
}

static bc_status find_all(cli_session *session, sweep *s, bc_error *error)
{
    const char *const *name;
    size_t count = 0, left_out = 0;
    bc_status status = bc_materials_list(session->materials, &count, &name, error);
    if (status == BC_OK)
        status = add_substrates(session, s, count, name, &left_out, error);
    if (status == BC_OK)
        status = bc_materials_glasses(session->materials, &count, &name, error);
    if (status == BC_OK)
        status = add_substrates(session, s, count, name, &left_out, error);
    if (status == BC_OK)
        cli_note(session, "%zu substrates; %zu more are left out, their tables do not reach over the callouts",
                 s->substrates, left_out);
    return status;
}

static bc_status read_substrates(cli_session *session, sweep *s, bc_error *error)
{
    const char *substrates;
    bc_status status = cli_required(session->arguments, "substrates", &substrates, error);
    if (status == BC_OK && strcmp(substrates, "all") == 0)
        status = find_all(session, s, error);
    else if (status == BC_OK)
        status = cli_read_media(session, "substrates", &s->substrates, &s->substrate, error);
    if (status == BC_OK && s->substrates == 0)
        status = cli_fail_value(error, "substrates", substrates, "", "'all', or names of substrates");
    return status;
}

static bc_status path_of(const sweep *s, const char *part, const char *name, char **path, bc_error *error)
{
    if (asprintf(path, "%s/%s%s%s.csv", s->folder, part, part[0] == '\0' ? "" : "/", name) >= 0)
        return BC_OK;
    *path = NULL;
    return bc_fail_memory(error);
}

/* Write a file of the folder; one that is there already must say the same: a sweep goes on, it does not change. */
static bc_status write_same(const sweep *s, const char *name, bc_text *text, bc_error *error)
{
    char *path = NULL, shown[BC_ESCAPED_PATH_SIZE];
    bool same = true;
    bc_status status = path_of(s, "", name, &path, error);
    FILE *file = status == BC_OK ? fopen(path, "r") : NULL;
    if (file != NULL) {
        for (size_t i = 0; i <= text->length && same; i++)
            same = getc(file) == (i < text->length ? (unsigned char)text->data[i] : EOF);
        fclose(file);
        if (!same)
            status = bc_fail(error, BC_ERROR_INPUT,
                             "%s: found that the sweep in this folder was begun with other callouts, process or "
                             "settings; expected the same, or another folder",
                             bc_escaped_path(path, shown));
    } else if (status == BC_OK) {
        status = cli_output_write(path, text, error);
    }
    free(path);
    bc_text_clear(text);
    return status;
}

static bc_status begin_folder(const sweep *s, bc_error *error)
{
    static const char *const parts[] = {MET, NOT_MET};
    bc_status status = cli_make_folder(s->folder, error);
    for (size_t i = 0; status == BC_OK && i < 2; i++) {
        char *path = NULL;
        status = cli_path_in(s->folder, parts[i], &path, error);
        if (status == BC_OK)
            status = cli_make_folder(path, error);
        free(path);
    }
    return status;
}

static bc_status write_settings(cli_session *session, const sweep *s, bc_error *error)
{
    bc_text text = {0};
    bc_status status = bc_report_callouts_csv(&session->callouts, 0, &text, error);
    if (status == BC_OK)
        status = write_same(s, "callouts", &text, error);
    if (status == BC_OK && session->process_path != NULL) {
        status = bc_report_process_csv(&session->process, NULL, &text, error);
        if (status == BC_OK)
            status = write_same(s, "process", &text, error);
    }
    if (status != BC_OK)
        return status;
    bc_text_add(&text, "key,value\nseed,%lu\neffort,%g\nmax_layers,%lu\nyield_percent,%g\n", s->seed, s->effort,
                s->max_layers, 100.0 * s->yield);
    for (size_t m = 0; m < s->layers; m++)
        bc_text_add(&text, "material,%s\n", s->layer[m].name);
    status = text.failed ? bc_fail_memory(error) : write_same(s, "settings", &text, error);
    bc_text_clear(&text);
    return status;
}

static bc_design_problem problem_of(cli_session *session, const sweep *s, size_t which, const bc_medium *air)
{
    bc_design_problem problem = bc_design_defaults(&session->callouts, *air);
    problem.substrates = 1;
    problem.substrate = &s->substrate[which];
    problem.materials = s->layers;
    problem.material = s->layer;
    problem.back.kind = BC_BACK_SAME;
    problem.max_layers = s->max_layers;
    problem.minimum_nm = cli_minimum_of(&session->process, s->layers, s->layer);
    return problem;
}

/* The stack for one substrate, and whether it does. */
static bc_status draft_one(cli_session *session, const sweep *s, const bc_design_problem *problem, bc_stack *stack,
                           bool *met, bc_error *error)
{
    bc_draft_options options = bc_draft_defaults();
    const bc_robust_options wanted = {.runs = RUNS, .seed = s->seed, .threads = s->threads};
    bc_draft_result result = {0};
    bc_robust_result robust = {0};
    const bool runs = session->process_path != NULL;
    options.aim = runs ? BC_AIM_YIELD : BC_AIM_FEWEST;
    options.seed = s->seed;
    options.effort = s->effort;
    options.threads = s->threads;
    bc_status status = bc_draft(problem, &options, &result, error);
    if (status == BC_OK && runs)
        status = bc_robust(problem, &session->process, &result, &wanted, &robust, error);
    if (status == BC_OK)
        status = bc_stack_copy(runs ? &robust.stack : &result.rung[result.chosen].stack, stack, error);
    if (status == BC_OK)
        *met =
            runs ? robust.limit_used <= 1.0 && robust.yield >= s->yield : result.rung[result.chosen].limit_used <= 1.0;
    bc_robust_result_clear(&robust);
    bc_draft_result_clear(&result);
    return status;
}

static bc_status write_cell(const sweep *s, const bc_stack *stack, bool met, bc_error *error)
{
    char *path = NULL, comment[200];
    bc_text text = {0};
    bc_status status;
    snprintf(comment, sizeof comment, "Drafted for %s: %zu layers, %.3f nm.", stack->substrate.name, stack->layers,
             bc_stack_total_nm(stack));
    status = bc_report_stack_csv(stack, comment, &text, error);
    if (status == BC_OK)
        status = path_of(s, met ? MET : NOT_MET, stack->substrate.name, &path, error);
    if (status == BC_OK)
        status = cli_output_write(path, &text, error);
    free(path);
    bc_text_clear(&text);
    return status;
}

/* Whether the file of a substrate is there, *met by its folder. */
static bc_status is_done(const sweep *s, size_t which, bool *done, bool *met, char **path, bc_error *error)
{
    bc_status status = path_of(s, MET, s->substrate[which].name, path, error);
    *done = *met = status == BC_OK && access(*path, F_OK) == 0;
    if (status != BC_OK || *done)
        return status;
    free(*path);
    status = path_of(s, NOT_MET, s->substrate[which].name, path, error);
    *done = status == BC_OK && access(*path, F_OK) == 0;
    return status;
}

static bc_status do_cell(cli_session *session, const sweep *s, size_t which, const bc_medium *air, bc_error *error)
{
    const bc_design_problem problem = problem_of(session, s, which, air);
    char *path = NULL;
    bc_stack stack = {0};
    bool done = false, met = false;
    bc_status status = is_done(s, which, &done, &met, &path, error);
    free(path);
    if (status != BC_OK || done)
        return status;
    status = draft_one(session, s, &problem, &stack, &met, error);
    if (status == BC_OK)
        status = write_cell(s, &stack, met, error);
    if (status == BC_OK)
        cli_note(session, "%s: %zu layers%s (%zu of %zu)", s->substrate[which].name, stack.layers,
                 met ? "" : ", not met", which + 1, s->substrates);
    bc_stack_clear(&stack);
    return status;
}

/* A row of sweep.csv, from the file that is there: whichever machine made it. */
static bc_status add_row(cli_session *session, const sweep *s, size_t which, const bc_medium *air, bc_text *text,
                         bool *complete, bool *all_met, bc_error *error)
{
    const bc_design_problem problem = problem_of(session, s, which, air);
    bc_check_result check = {0};
    bc_stack stack = {0};
    char *path = NULL;
    bool done = false, met = false;
    bc_status status = is_done(s, which, &done, &met, &path, error);
    *complete = *complete && done;
    if (status == BC_OK && done)
        status = bc_stack_read(path, session->materials, &stack, error);
    if (status == BC_OK && done)
        status = bc_problem_check(&problem, &stack, &check, error);
    if (status == BC_OK && done) {
        bc_text_add(text, "%s,%s,%zu,%.3f,%.6f\n", s->substrate[which].name, met ? "yes" : "no", stack.layers,
                    bc_stack_total_nm(&stack), check.limit_used);
        *all_met = *all_met && met;
        bc_check_result_clear(&check);
    }
    bc_stack_clear(&stack);
    free(path);
    return status;
}

/* Written once every substrate is done. */
static bc_status write_table(cli_session *session, const sweep *s, const bc_medium *air, bool *met, bc_error *error)
{
    bc_text text = {0};
    char *path = NULL;
    bool complete = true;
    bc_status status = BC_OK;
    bc_text_add(&text, "substrate,met,layers,total_nm,limit_used\n");
    for (size_t i = 0; status == BC_OK && i < s->substrates; i++)
        status = add_row(session, s, i, air, &text, &complete, met, error);
    if (status == BC_OK && text.failed)
        status = bc_fail_memory(error);
    if (status == BC_OK && complete)
        status = path_of(s, "", "sweep", &path, error);
    if (status == BC_OK && complete)
        status = cli_output_write(path, &text, error);
    if (status == BC_OK && complete)
        status = cli_output_write(NULL, &text, error);
    if (status == BC_OK && !complete)
        cli_note(session, "part %lu of %lu is done; the same command without --shard makes the table of all", s->shard,
                 s->shards);
    free(path);
    bc_text_clear(&text);
    return status;
}

bc_status cli_standard_build(cli_session *session, double yield, size_t threads, bool *met, bc_error *error)
{
    sweep s = {.yield = yield, .threads = threads};
    bc_medium air;
    bc_status status = read_settings(session, &s, error);
    if (status == BC_OK)
        status = cli_read_callouts(session, error);
    if (status == BC_OK && cli_has(session->arguments, "process"))
        status = cli_read_process(session, error);
    if (status == BC_OK)
        status = cli_read_layers(session, NULL, &s.layers, &s.layer, error);
    if (status == BC_OK)
        status = read_substrates(session, &s, error);
    if (status == BC_OK)
        status = bc_medium_find(session->materials, "air", NULL, &air, error);
    if (status == BC_OK)
        status = begin_folder(&s, error);
    if (status == BC_OK)
        status = write_settings(session, &s, error);
    for (size_t i = s.shard - 1; status == BC_OK && i < s.substrates; i += s.shards)
        status = do_cell(session, &s, i, &air, error);
    if (status == BC_OK)
        status = write_table(session, &s, &air, met, error);
    free(s.layer);
    free(s.substrate);
    return status;
}
