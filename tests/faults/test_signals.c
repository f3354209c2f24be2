/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "faults.h"
#include "kept.h"
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define ROUNDS      2   /* for each line; with BC_FAULTS=all 200 */
#define EARLIEST_US 300 /* before the program's main() nothing can be asked of it: the test waits for its start-up */

static double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* How a line ends without a signal, and how long that takes. */
static kept run_usual(const char *line, double *took)
{
    const double begin = seconds();
    const outcome good = run(line);
    kept usual = keep(&good);
    *took = seconds() - begin;
    kept_restore();
    return usual;
}

static bool is_quote(const char *line)
{
    return strncmp(line, "quote ", 6) == 0;
}

/* What a first signal made of such a line: a whole stack, marked, or the usual one. */
static void judge_best(const char *line, const outcome *result, const kept *usual)
{
    const bool code_is_right = result->code == 0 || result->code == 1 || result->code == 3;
    ck_assert_msg(code_is_right, "'%s' ended with %d: %s", line, result->code, result->err);
    if (result->code == 3)
        ck_assert_msg(strstr(result->err, "bloomcoat: interrupted\n") != NULL, "'%s' says: %s", line, result->err);
    else if (is_quote(line)) {
        const char *quote = strstr(line, "-o out.txt") != NULL ? content("out.txt") : result->out;
        ck_assert_msg(strstr(quote, "Interrupted, or its --seconds") != NULL || kept_whole(usual), "'%s' left: %s",
                      line, quote);
    } else if (strstr(line, "-o out.csv") != NULL) {
        const char *stack = content("out.csv");
        ck_assert_msg(strstr(stack, "\nsubstrate,") != NULL, "'%s' left: %s", line, stack);
        ck_assert(strstr(stack, "# interrupted: ") != NULL || kept_whole(usual));
    }
}

/* -1: the signal came before main(), where it ends any program. */
static void judge(const char *line, long pause, const outcome *result, const kept *usual)
{
    if (result->code == 3)
        ck_assert_msg(strstr(result->err, "bloomcoat: interrupted\n") != NULL, "'%s' after %ld us says: %s", line,
                      pause, result->err);
    else if (result->code != -1)
        ck_assert_msg(kept_same(usual, result), "'%s' after %ld us ended with %d: %s", line, pause, result->code,
                      result->err);
    ck_assert_msg(kept_whole(usual), "'%s' after %ld us left a broken file", line, pause);
}

START_TEST(a_signal_at_any_moment)
{
    const char *line = fault_lines[_i];
    const int rounds = fault_all() ? 200 : ROUNDS;
    long threes = 0, killed = 0;
    double took;
    fault_write_inputs();
    const size_t files = count_files();
    kept usual = run_usual(line, &took);
    srandom((unsigned)_i);
    for (int round = 0; round < rounds; round++) {
        const long pause = EARLIEST_US + (long)((double)random() / (double)RAND_MAX * 1.1e6 * took);
        const outcome result = signal_after(round % 2 == 0 ? SIGINT : SIGTERM, 1, pause, line);
        if (fault_keeps_best(line) && result.code != -1)
            judge_best(line, &result, &usual);
        else
            judge(line, pause, &result, &usual);
        ck_assert_uint_eq(count_files(), files);
        kept_restore();
        threes += result.code == 3;
        killed += result.code == -1;
    }
    kept_clear(&usual);
    fault_tell("signals", (size_t)_i, rounds, rounds - threes - killed);
    if (killed > 0 && fault_all())
        printf("  (%ld of them before main())\n", killed);
}
END_TEST

/* At the calls themselves, where nothing is left to chance: also in the middle of writing a file. Without BC_FAULTS=all
 * each line meets every other kind of call. */
START_TEST(a_signal_at_every_call)
{
    static const char *const calls[] = {"memory", "tmpfile", "linkat", "mkostemp", "write",
                                        "fchmod", "fsync",   "close",  "rename"};
    const char *line = fault_lines[_i];
    double took;
    long runs = 0;
    fault_write_inputs();
    const size_t files = count_files();
    kept usual = run_usual(line, &took);
    for (size_t call = 0; call < sizeof calls / sizeof calls[0]; call++) {
        if (!fault_all() && ((size_t)_i + call) % 2 != 0)
            continue;
        const fault_outcome good = fault_run(&(fault){.call = calls[call]}, line);
        kept_restore();
        for (long at = 1; at <= good.calls; at = fault_next(at), runs++) {
            const fault here = {.call = calls[call], .at = at, .signal = runs % 2 == 0 ? SIGTERM : SIGINT};
            const fault_outcome result = fault_run(&here, line);
            if (fault_keeps_best(line))
                judge_best(line, &result.run, &usual);
            ck_assert_msg(fault_keeps_best(line) ||
                              (result.run.code == 3 && strstr(result.run.err, "bloomcoat: interrupted") != NULL),
                          "'%s', a signal at %s %ld: ended with %d: %s", line, calls[call], at, result.run.code,
                          result.run.err);
            ck_assert_msg(fault_keeps_best(line) || kept_whole(&usual), "'%s', a signal at %s %ld left a broken file",
                          line, calls[call], at);
            ck_assert_uint_eq(count_files(), files);
            kept_restore();
        }
    }
    fault_tell("signals at a call", (size_t)_i, runs, 0);
    kept_clear(&usual);
}
END_TEST

/* Minutes of work each. */
static const char *const long_lines[] = {
    "draft --callouts hard.csv --substrate 1.52 --materials 1.38,1.62,2.1 --max-layers 40 --effort 1000 -o out.csv",
    "yield stack.csv --callouts callouts.csv --process process.csv --runs 100000000 -o out.txt",
    "yield thick.csv --callouts wide.csv --process process.csv --runs 100000000 --threads 1 -o out.txt",
    "quote --callouts hard.csv --substrate 1.52 --materials 1.38,1.62,2.1 --process process.csv --quantity 40 "
    "--part-diameter-mm 30 --max-layers 12 --effort 100 -o out.txt",
    "refine thick.csv --callouts wide.csv -o out.csv",
    "check thick.csv --callouts wide.csv -o out.txt",
    "lens thick.csv --callouts wide.csv --radius-mm 40 --clear-aperture-mm 40 --zones 200 -o out.txt",
    "deposit thick.csv --process process.csv --sheet-csv out.csv --signal-csv out.json -o out.txt",
    "inspect scan.csv --stack thick.csv --callouts wide.csv --uncertainty-percent 0.05 -o out.txt",
    "spectrum thick.csv --from 400 --to 900 --step 0.004 --aoi 0,10,20,30,40,50,60 -o out.csv",
};

/* So many layers and so wide a range of angles that one evaluation takes long. */
static void write_long_inputs(void)
{
    static char text[200 * 24 + 100];
    fault_write_inputs();
    strcpy(text, "role,material,thickness_nm\nincident,air,\n");
    for (int layer = 0; layer < 200; layer++)
        sprintf(text + strlen(text), "layer,%s,%d\n", layer % 2 == 0 ? "1.38" : "2.1", 90 + (layer * 37) % 61);
    strcat(text, "substrate,1.52,\n");
    scratch_write("thick.csv", text);
    scratch_write("wide.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                              "band,R,max,<= 0.5,420,680,0..40,each\n");
}

/* Whatever it is at, it does not wait for the end of it: one signal is enough. */
START_TEST(a_signal_ends_long_work_at_once)
{
    write_long_inputs();
    const size_t files = count_files();
    for (int round = 0; round < 4; round++) {
        long pause = 60000 + 130000 * round;
        double begin = seconds();
        outcome result = signal_after(round % 2 == 0 ? SIGINT : SIGTERM, 1, pause, long_lines[_i]);
        /* Killed before its main(): a busy machine was that slow to start it. */
        for (int again = 0; result.code == -1 && again < 4; again++) {
            pause *= 2;
            begin = seconds();
            result = signal_after(round % 2 == 0 ? SIGINT : SIGTERM, 1, pause, long_lines[_i]);
        }
        ck_assert_double_lt(seconds() - begin, 20.0 + 1e-6 * (double)pause);
        if (fault_keeps_best(long_lines[_i]) && result.code != 3) {
            const bool quote = is_quote(long_lines[_i]);
            const char *found = content(quote ? "out.txt" : "out.csv");
            ck_assert_msg(result.code == 0 || result.code == 1, "'%s' ended with %d", long_lines[_i], result.code);
            ck_assert_ptr_nonnull(strstr(found, quote ? "Interrupted, or its --seconds" : "# interrupted: "));
            kept_restore();
            continue;
        }
        ck_assert_msg(result.code == 3, "'%s' ended with %d: %s", long_lines[_i], result.code, result.err);
        ck_assert_str_eq(result.err, "bloomcoat: interrupted\n");
        ck_assert(kept_untouched());
        ck_assert_uint_eq(count_files(), files);
    }
}
END_TEST

Suite *signals_suite(void)
{
    Suite *suite = suite_create("signals");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 3600);
    tcase_add_loop_test(tcase, a_signal_at_any_moment, 0, (int)fault_line_count);
    tcase_add_loop_test(tcase, a_signal_at_every_call, 0, (int)fault_line_count);
    tcase_add_loop_test(tcase, a_signal_ends_long_work_at_once, 0, sizeof long_lines / sizeof long_lines[0]);
    suite_add_tcase(suite, tcase);
    return suite;
}
