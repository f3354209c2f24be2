/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "faults.h"
#include "kept.h"
#include <errno.h>
#include <string.h>
#include <sys/resource.h>

/* An allocation that failed is told, and nothing else happens; or it did not matter, and nothing shows. Returns whether
 * it did not. */
static bool judge(const char *line, long at, const fault_outcome *result, const kept *usual, long live)
{
    const outcome *end = &result->run;
    /* GSL 2.7 keeps the pieces of a workspace when a later piece cannot be had. */
    ck_assert_msg(result->in_gsl || result->live <= live, "'%s', allocation %ld: %ld blocks not freed, %ld as usual",
                  line, at, result->live, live);
    if (end->code != 3) {
        ck_assert_msg(kept_same(usual, end), "'%s', allocation %ld ended with %d and something else than usual: %s%s",
                      line, at, end->code, end->err, end->out);
        return true;
    }
    ck_assert_msg(strcmp(end->err, "bloomcoat: out of memory\n") == 0, "'%s', allocation %ld says: %s", line, at,
                  end->err);
    ck_assert_msg(end->out[0] == '\0' && kept_untouched(), "'%s', allocation %ld left something", line, at);
    return false;
}

START_TEST(every_allocation_fails_in_turn)
{
    const size_t which = (size_t)_i / 2;
    const bool lasts = _i % 2 == 1;
    const fault none = {.call = "memory"};
    long runs = 0, as_usual = 0;
    fault_write_inputs();
    const size_t files = count_files();
    const fault_outcome good = fault_run(&none, fault_lines[which]);
    kept usual = keep(&good.run);
    ck_assert_int_gt(good.calls, 0);
    kept_restore();
    for (long at = 1; at <= good.calls; at = fault_next(at), runs++) {
        const fault here = {"memory", at, ENOMEM, lasts, 0};
        const fault_outcome result = fault_run(&here, fault_lines[which]);
        ck_assert_uint_eq(count_files(), files);
        as_usual += judge(fault_lines[which], at, &result, &usual, good.live);
        kept_restore();
    }
    fault_tell(lasts ? "allocations from one on" : "allocations", which, runs, as_usual);
    kept_clear(&usual);
}
END_TEST

#define MOST_SITES 20000

/* Each place that asks for memory, with the way there, once over all lines. */
START_TEST(every_place_fails_once)
{
    static long first_call[MOST_SITES];
    const char *line = fault_lines[_i];
    const fault none = {.call = "memory"};
    long as_usual = 0;
    size_t sites;
    if (!fault_at_sites())
        return;
    if (_i == 0)
        fault_forget_sites();
    fault_write_inputs();
    const size_t files = count_files();
    const fault_outcome good = fault_run(&none, line);
    kept usual = keep(&good.run);
    kept_restore();
    sites = fault_sites(line, MOST_SITES, first_call);
    kept_restore();
    for (size_t i = 0; i < sites; i++) {
        const fault here = {"memory", first_call[i], ENOMEM, false, 0};
        const fault_outcome result = fault_run(&here, line);
        ck_assert_uint_eq(count_files(), files);
        as_usual += judge(line, first_call[i], &result, &usual, good.live);
        kept_restore();
    }
    fault_tell("places", (size_t)_i, (long)sites, as_usual);
    kept_clear(&usual);
}
END_TEST

/* A picture is drawn with libraries that end the process when an allocation of theirs fails, or crash: where memory is short
 * they are not begun with. `_i`: MB of address space beyond 50. */
START_TEST(no_picture_is_begun_without_memory)
{
    const struct rlimit little = {(rlim_t)(50 + _i) << 20, RLIM_INFINITY};
    struct rlimit usual;
    outcome result;
    fault_write_inputs();
    const size_t files = count_files();
    ck_assert_int_eq(getrlimit(RLIMIT_AS, &usual), 0);
    ck_assert_int_eq(setrlimit(RLIMIT_AS, &little), 0);
    result = run("check stack.csv --callouts callouts.csv --plot new.png --report new.pdf");
    ck_assert_int_eq(setrlimit(RLIMIT_AS, &usual), 0);
    ck_assert_int_eq(result.code, 3);
    ck_assert_str_eq(result.err, "bloomcoat: out of memory\n");
    ck_assert_uint_eq(count_files(), files);
}
END_TEST

Suite *memory_suite(void)
{
    Suite *suite = suite_create("memory");
    TCase *tcase = scratch_case("all"), *places = scratch_case("places");
    tcase_set_timeout(tcase, 36000);
    tcase_set_timeout(places, 36000);
    tcase_add_loop_test(tcase, every_allocation_fails_in_turn, 0, 2 * (int)fault_line_count);
    tcase_add_loop_test(places, every_place_fails_once, 0, (int)fault_line_count);
    tcase_add_loop_test(tcase, no_picture_is_begun_without_memory, 20, 25);
    suite_add_tcase(suite, tcase);
    suite_add_tcase(suite, places);
    return suite;
}
