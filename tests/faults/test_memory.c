/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "faults.h"
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct usual {
    int code;
    long live;
    char *out, *err, *file;
} usual;

static const char *const outputs[] = {"out.csv", "out.txt", "out.json"};
#define OUTPUTS (sizeof outputs / sizeof outputs[0])

/* What all the files that may be written hold together. */
static char *all_outputs(void)
{
    char *all = calloc(1, 200000);
    ck_assert_ptr_nonnull(all);
    for (size_t i = 0; i < OUTPUTS; i++)
        strcat(all, content(outputs[i]));
    return all;
}

static void restore_outputs(void)
{
    for (size_t i = 0; i < OUTPUTS; i++)
        scratch_write(outputs[i], "as it was");
}

static bool untouched(void)
{
    for (size_t i = 0; i < OUTPUTS; i++)
        if (strcmp(content(outputs[i]), "as it was") != 0)
            return false;
    return true;
}

static usual run_usual(const char *line, long *calls)
{
    const fault none = {"memory", 0, 0, false};
    const fault_outcome good = fault_run(&none, line);
    usual result = {good.run.code, good.live, strdup(good.run.out), strdup(good.run.err), all_outputs()};
    ck_assert_msg(good.calls > 0 && good.run.code >= 0 && good.run.code <= 2, "'%s' ended with %d: %s", line,
                  good.run.code, good.run.err);
    restore_outputs();
    *calls = good.calls;
    return result;
}

static void clear_usual(usual *as)
{
    free(as->out);
    free(as->err);
    free(as->file);
}

/* An allocation that failed is told, and nothing else happens; or it did not matter, and nothing shows. Returns whether
 * it did not. */
static bool judge(const char *line, long at, const fault_outcome *result, const usual *as, size_t files)
{
    char *file;
    bool same;
    ck_assert_uint_eq(count_files(), files);
    /* GSL 2.7 keeps the pieces of a workspace when a later piece cannot be had. */
    ck_assert_msg(result->in_gsl || result->live <= as->live,
                  "'%s', allocation %ld: %ld blocks not freed, %ld as usual", line, at, result->live, as->live);
    if (result->run.code == 3) {
        ck_assert_msg(strcmp(result->run.err, "bloomcoat: out of memory\n") == 0, "'%s', allocation %ld says: %s", line,
                      at, result->run.err);
        ck_assert_msg(result->run.out[0] == '\0' && untouched(), "'%s', allocation %ld left something", line, at);
        return false;
    }
    file = all_outputs();
    same = strcmp(file, as->file) == 0;
    free(file);
    ck_assert_msg(result->run.code == as->code && strcmp(result->run.out, as->out) == 0 &&
                      strcmp(result->run.err, as->err) == 0 && same,
                  "'%s', allocation %ld ended with %d and something else than usual: %s%s", line, at, result->run.code,
                  result->run.err, result->run.out);
    restore_outputs();
    return true;
}

START_TEST(every_allocation_fails_in_turn)
{
    const size_t which = (size_t)_i / 2;
    const bool lasts = _i % 2 == 1;
    long calls, runs = 0, as_usual = 0;
    fault_write_inputs();
    const size_t files = count_files();
    usual as = run_usual(fault_lines[which], &calls);
    for (long at = 1; at <= calls; at = fault_next(at)) {
        const fault here = {"memory", at, ENOMEM, lasts};
        const fault_outcome result = fault_run(&here, fault_lines[which]);
        as_usual += judge(fault_lines[which], at, &result, &as, files);
        runs++;
    }
    fault_tell(lasts ? "allocations from one on" : "allocations", which, runs, as_usual);
    clear_usual(&as);
}
END_TEST

Suite *memory_suite(void)
{
    Suite *suite = suite_create("memory");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 36000);
    tcase_add_loop_test(tcase, every_allocation_fails_in_turn, 0, 2 * (int)fault_line_count);
    suite_add_tcase(suite, tcase);
    return suite;
}
