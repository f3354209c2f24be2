/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answer.h"
#include "scan.h"
#include <sqlite3.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define QUOTE                                                                                                          \
    "quote --shop shop --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 2 --effort 0.1 "     \
    "--prove 0 "                                                                                                       \
    "--threads 1 --quiet"

static void make_shop(void)
{
    write_stacks();
    ck_assert_int_eq(mkdir(scratch_path("shop"), 0700), 0);
    scratch_write("shop/shop.csv", "key,value\nfirst_quote_number,123\nvalidity_days,30\n");
}

static size_t entries(void)
{
    cJSON *root = parse(expect(0, NULL, "record list --shop shop --json").out);
    const size_t count = (size_t)cJSON_GetArraySize(array_of(root, "entries"));
    cJSON_Delete(root);
    return count;
}

/* What was quoted is computed again to the byte, from elsewhere and without the files it was made from. */
START_TEST(a_quote_is_opened_again)
{
    make_shop();
    const outcome quoted = run(QUOTE " --record --report page.html --report page.pdf --date 2026-05-04 -o out.txt");
    ck_assert_msg(quoted.code <= 1, "%s", quoted.err);
    ck_assert_ptr_nonnull(strstr(content("page.html"), "Q-0123"));
    scratch_write("callouts.csv", "no callouts any more");
    scratch_write("shop/shop.csv", "key,value\nvalidity_days,60\n");
    scratch_write("out.txt", "as it was");
    outcome result = expect(0, NULL, "record reopen Q-0123 --shop shop");
    expect_piece(&result, "Q-0123 of 2026-05-04, computed again from its stored files: byte for byte the same.");
    ck_assert_str_eq(content("out.txt"), "as it was");
    const circumstances elsewhere = {.file_size = -1, .folder = "/"};
    char line[PATH_SIZE + 64];
    snprintf(line, sizeof line, "record reopen Q-0123 --shop %s --json", scratch_path("shop"));
    result = run_in(&elsewhere, line);
    ck_assert_msg(result.code == 0, "%s", result.err);
    cJSON *root = parse(result.out);
    ck_assert_int_eq(cJSON_GetArraySize(array_of(root, "compared")), 3);
    cJSON_Delete(root);
    result = expect(0, NULL, "record show Q-0123 --shop shop --files stored");
    expect_piece(&result, "callouts.csv");
    ck_assert_str_ne(content("stored/written-001-out.txt"), "as it was");
}
END_TEST

/* A result that comes out otherwise is told, and what was made by another version with it. */
START_TEST(what_differs_is_told)
{
    sqlite3 *database;
    make_shop();
    expect(0, NULL, "refine stack.csv --callouts callouts.csv --shop shop --record --quiet -o out.csv");
    ck_assert_int_eq(sqlite3_open(scratch_path("shop/record.db"), &database), SQLITE_OK);
    ck_assert_int_eq(sqlite3_exec(database,
                                  "UPDATE file SET bytes = 'role' WHERE sha256 IN (SELECT sha256 FROM output);"
                                  "UPDATE entry SET version = '0.0.9'",
                                  NULL, NULL, NULL),
                     SQLITE_OK);
    sqlite3_close(database);
    outcome result = run("record reopen d-0001 --shop shop");
    ck_assert_int_eq(result.code, 1);
    expect_piece(&result, "NOT the same. It was made by bloomcoat 0.0.9, and computed again by ");
    expect_piece(&result, "DIFFERENT out.csv");
    result = run("record check --shop shop");
    ck_assert_int_eq(result.code, 1);
    expect_piece(&result, "it is damaged");
    expect_piece(&result, "A stored file has the SHA-256");
}
END_TEST

/* Only what succeeded is kept; a shop may ask for it always. */
START_TEST(a_failed_command_leaves_no_entry)
{
    make_shop();
    expect(2, "--record: found no shop", "refine stack.csv --callouts callouts.csv --record");
    expect(2, "no such file", "refine stack.csv --callouts nowhere.csv --shop shop --record");
    run_in(&(circumstances){.file_size = -1, .standard_output = "/dev/full"},
           "inspect scan.csv --stack stack.csv --shop shop --record");
    ck_assert_uint_eq(entries(), 0);
    expect(0, NULL, "refine stack.csv --callouts callouts.csv --shop shop");
    ck_assert_uint_eq(entries(), 0);
    scratch_write("shop/shop.csv", "key,value\nrecord,yes\n");
    const outcome kept = expect(0, NULL, "refine stack.csv --callouts callouts.csv --shop shop");
    ck_assert_ptr_nonnull(strstr(kept.err, "recorded as D-0001 in shop/record.db"));
    ck_assert_uint_eq(entries(), 1);
    scratch_write("shop/shop.csv", "key,value\nrecord,no\n");
    expect(0, NULL, "refine stack.csv --callouts callouts.csv --shop shop");
    ck_assert_uint_eq(entries(), 1);
}
END_TEST

START_TEST(wrong_words)
{
    make_shop();
    expect(2, "found 'lost'; expected 'list'", "record lost --shop shop");
    expect(2, "record needs the shop whose record it is", "record list");
    expect(2, "expected the action and a number", "record show --shop shop");
    expect(2, "expected the action alone", "record list D-0001 --shop shop");
    expect(2, "--files: found with 'list'", "record list --files here --shop shop");
    expect(2, "found no record", "record check --shop shop");
    scratch_write("shop/record.db",
                  "a text that is no database, and longer than the hundred bytes of a header: so it is "
                  "found out at once, whatever it says");
    expect(2, "found no record, or a damaged one", "refine stack.csv --callouts callouts.csv --shop shop --record");
    expect(2, "one of the inputs", "record list --shop shop -o shop/record.db");
}
END_TEST

/* What a shop's inspections say of its chamber, from the record and from the files alike. */
START_TEST(a_process_is_learned)
{
    static const char *const seeds[] = {"one.csv", "two.csv", "three.csv"};
    make_shop();
    scratch_write("process.csv", "material,tooling_factor,thickness_sigma_percent\n*,1.1,1\n");
    for (int i = 0; i < 3; i++) {
        char line[200];
        snprintf(line, sizeof line, "spectrum stack.csv --from 400 --to 700 --step 10 --scale %.3f --quiet -o %s",
                 1.02 + 0.004 * i, seeds[i]);
        expect(0, NULL, line);
        snprintf(line, sizeof line,
                 "inspect %s --column R_percent --stack stack.csv --process process.csv --shop shop --record --quiet",
                 seeds[i]);
        ck_assert_int_le(run(line).code, 1);
    }
    const outcome result = expect(0, NULL, "process learn --shop shop --process process.csv --next-process next.csv");
    expect_piece(&result, "By 3 runs of 1 design, the uncertainty of each fit taken out.");
    expect_piece(&result, "A drift is tested from 5 runs on.");
    ck_assert_ptr_nonnull(strstr(content("next.csv"), "# between runs "));
    expect(0, NULL, "process learn --shop shop --process process.csv --json -o recorded.json");
    expect(
        0, NULL,
        "process learn one.csv two.csv three.csv --column R_percent --stack stack.csv --process process.csv --json -o "
        "files.json");
    ck_assert_str_eq(content("recorded.json"), content("files.json"));
    expect(2, "found 2 runs that fit", "process learn one.csv two.csv --column R_percent --stack stack.csv");
    expect(2, "expected 'learn' or 'chart' after 'process'", "process forget --shop shop");
    expect(2, "--plot: found with 'learn'; expected with 'chart'", "process learn --shop shop --plot runs.svg");
    expect(2, "--next-process: found with 'chart'; expected with 'learn'",
           "process chart --shop shop --next-process x.csv");
    expect(2, "process learn needs the shop", "process learn");
}
END_TEST

/* Control charts of what was recorded: the last run, thicker than the others by 5 %, is in an alarm, and ends it
 * with 1. */
START_TEST(runs_are_charted)
{
    make_shop();
    expect(2, "found no record", "process chart --shop shop");
    for (int i = 0; i < 7; i++) {
        char line[200];
        snprintf(line, sizeof line, "spectrum stack.csv --from 400 --to 700 --step 10 --scale %.3f --quiet -o scan.csv",
                 i == 6 ? 1.05 : 1.0 + 0.002 * (i % 2));
        expect(0, NULL, line);
        ck_assert_int_le(
            run("inspect scan.csv --column R_percent --stack stack.csv --callouts callouts.csv --shop shop "
                "--record --quiet")
                .code,
            1);
        if (i == 3) {
            const outcome few = expect(0, NULL, "process chart --shop shop");
            expect_piece(&few, "A chart has lines from 5 values on.");
        }
    }
    const outcome result = expect(1, NULL, "process chart --shop shop --baseline 6 --plot runs.svg");
    expect_piece(&result, "7 runs in the order they were made, I-0001 to I-0007.");
    expect_piece(&result, "ALARM, tooling factor of 2.1: run 7 is above the line");
    expect_piece(&result, "The last run is in an alarm.");
    expect_piece(&result, "of its limit on the average of 7 runs, and ");
    expect_narrow(result.out);
    ck_assert_ptr_nonnull(strstr(content("runs.svg"), "</svg>"));
    cJSON *root = parse(run("process chart --shop shop --baseline 6 --json").out);
    ck_assert(cJSON_IsTrue(cJSON_GetObjectItem(root, "last_run_in_alarm")));
    ck_assert_double_eq(number_of(root, "runs"), 7.0);
    cJSON_Delete(root);
}
END_TEST

Suite *cli_record_suite(void)
{
    Suite *suite = suite_create("record");
    TCase *tests = scratch_case("record");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, a_quote_is_opened_again);
    tcase_add_test(tests, what_differs_is_told);
    tcase_add_test(tests, a_failed_command_leaves_no_entry);
    tcase_add_test(tests, wrong_words);
    tcase_add_test(tests, a_process_is_learned);
    tcase_add_test(tests, runs_are_charted);
    suite_add_tcase(suite, tests);
    return suite;
}
