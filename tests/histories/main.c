/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * bloomcoat-histories [HISTORIES [sigmas|yields|charts]]: how often each 95 % interval of bc_learn() holds the truth,
 * for histories of 5, 20 and 100 runs, where the process file's own figures are about right and where they are four
 * times off; how often a drift is claimed where there is none, and found where there is one. Then the same of the yield
 * that such a process leaves open, and what a control chart does.
 */
#include "charts.h"
#include "yields.h"
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WITHIN_HIGH, WITHIN_LOW, RUNS, LAYERS, FACTOR_HIGH, FACTOR_LOW, INDEX, LINE, FIGURES };
static const char *const names[FIGURES] = {"within run, 1.38", "within run, 2.10", "between runs", "between layers",
                                           "factor, 1.38",     "factor, 2.10",     "index, 1.38",  "drift + 1, 1.38"};

typedef struct tally {
    size_t held[FIGURES], claimed, histories;
    double *ratio[FIGURES]; /* [histories] estimate over truth */
} tally;

static void count(tally *t, int figure, bc_interval interval, double was)
{
    t->held[figure] += interval.low <= was && was <= interval.high;
    t->ratio[figure][t->histories] = interval.value / was;
}

static void one_history(bench *b, const bc_inspect_result *pattern, const history_truth *was, size_t runs,
                        const bc_process *process, tally *t)
{
    bc_learn_run *run = history_make(b, pattern, was, runs);
    bc_learn_result result;
    bc_error error = {0};
    if (bc_learn(runs, run, process, &result, &error) != BC_OK) {
        fprintf(stderr, "%s\n", error.message);
        exit(1);
    }
    count(t, WITHIN_HIGH, result.material[0].within.sigma, was->within[0]);
    count(t, WITHIN_LOW, result.material[1].within.sigma, was->within[1]);
    count(t, RUNS, result.between_runs.sigma, was->between_runs);
    count(t, LAYERS, result.between_layers.sigma, was->between_layers);
    count(t, FACTOR_HIGH, result.material[0].factor, 1.0 + was->off[0]);
    count(t, FACTOR_LOW, result.material[1].factor, 1.0 + was->off[1]);
    count(t, INDEX, result.material[0].index_sigma, was->index);
    bc_interval line = result.material[0].drift.change;
    line = (bc_interval){1.0 + line.value, 1.0 + line.low, 1.0 + line.high};
    count(t, LINE, line, 1.0 + was->line[0]);
    t->claimed += result.material[0].drift.drifts || result.material[1].drift.drifts;
    t->histories++;
    bc_learn_result_clear(&result);
    history_clear(runs, run);
}

static void one_table(bench *b, const bc_inspect_result *pattern, const history_truth *was, const char *title,
                      const bc_process *process, size_t histories)
{
    static const size_t runs[] = {5, 20, 100};
    printf("\n%s\n%-18s", title, "");
    for (size_t i = 0; i < 3; i++)
        printf("  %3zu runs: held  median estimate/truth", runs[i]);
    tally t[3] = {{{0}, 0, 0, {0}}};
    for (size_t i = 0; i < 3; i++) {
        for (int f = 0; f < FIGURES; f++)
            t[i].ratio[f] = calloc(histories, sizeof(double));
        for (size_t h = 0; h < histories; h++)
            one_history(b, pattern, was, runs[i], process, &t[i]);
    }
    printf("\n");
    for (int f = 0; f < FIGURES; f++) {
        printf("%-18s", names[f]);
        for (size_t i = 0; i < 3; i++) {
            gsl_sort(t[i].ratio[f], 1, histories);
            printf("  %13.1f %%  %20.3f", 100.0 * (double)t[i].held[f] / (double)histories,
                   gsl_stats_median_from_sorted_data(t[i].ratio[f], 1, histories));
            free(t[i].ratio[f]);
        }
        printf("\n");
    }
    printf("%-18s", "a drift claimed");
    for (size_t i = 0; i < 3; i++)
        printf("  %13.1f %%  %20s", 100.0 * (double)t[i].claimed / (double)histories, "");
    printf("\n");
}

static void sigma_tables(bench *b, const bc_inspect_result *pattern, history_truth was, bc_process_row row,
                         size_t histories)
{
    const bc_process process = {.rows = 1, .row = &row, .has_thickness_sigma = true, .has_run_thickness_sigma = true};
    one_table(b, pattern, &was, "The process file is about right", &process, histories);
    row.thickness_sigma = 0.03;
    row.run_thickness_sigma = 0.002;
    one_table(b, pattern, &was, "The process file is 4 times off: layers too large, runs too small", &process,
              histories);
    row.thickness_sigma = 0.008;
    row.run_thickness_sigma = 0.008;
    was.line[0] = 0.03;
    one_table(b, pattern, &was,
              "1.38 drifts by 3 % from the first run to the last (where the drift is found, scatter is about it)",
              &process, histories);
}

static size_t wanted = 400;
static const char *part = "";

/* A test only so that the bench may use Check. */
START_TEST(tables)
{
    const size_t histories = wanted;
    bc_process_row row = {.material = "*", .has_thickness_sigma = true, .has_run_thickness_sigma = true};
    bc_process process = {.rows = 1, .row = &row, .has_thickness_sigma = true, .has_run_thickness_sigma = true};
    history_truth was = {
        .off = {0.03, -0.01}, .within = {0.006, 0.009}, .between_runs = 0.008, .between_layers = 0.004, .index = 0.006};
    bench b;
    bc_inspect_result pattern;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    pattern = history_pattern(&b, 2e-4);
    printf("Six layers of 1.38 and 2.10; R and T, 400 to 800 nm, noise 0.02 %%. %zu histories each.\n", histories);
    row.thickness_sigma = 0.008;
    row.run_thickness_sigma = 0.008;
    if (part[0] == '\0' || strcmp(part, "charts") == 0)
        chart_tables(b.random, histories);
    if (part[0] == '\0' || strcmp(part, "yields") == 0)
        yield_tables(&b, &pattern, &was, &process, histories);
    if (part[0] == '\0' || strcmp(part, "sigmas") == 0)
        sigma_tables(&b, &pattern, was, row, histories);
    bc_inspect_result_clear(&pattern);
    bench_close(&b);
}
END_TEST

int main(int words, char **word)
{
    Suite *suite = suite_create("histories");
    TCase *tests = tcase_create("tables");
    SRunner *runner;
    if (words > 1)
        wanted = (size_t)atol(word[1]);
    if (words > 2)
        part = word[2];
    tcase_add_test(tests, tables);
    suite_add_tcase(suite, tests);
    runner = srunner_create(suite);
    srunner_set_fork_status(runner, CK_NOFORK);
    srunner_run_all(runner, CK_SILENT);
    const int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed;
}
