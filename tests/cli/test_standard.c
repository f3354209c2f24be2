/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answer.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define FINE                                                                                                           \
    "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\nband,R,max,<= "                         \
    "3,500,600,0,unpolarized\n"
#define STACK "role,material,thickness_nm\nincident,air,\nlayer,MgF2,99\nsubstrate,517642,\n"

static void open_shop(void)
{
    write_inputs();
    expect(0, NULL, "shop init shop");
    scratch_write("fine.csv", FINE);
    scratch_write("quarter.csv", STACK);
    expect(0, "was added to", "standard add QUARTER quarter.csv --shop shop --callouts fine.csv");
}

START_TEST(what_was_added_is_listed_checked_and_offered)
{
    open_shop();
    outcome result = expect(0, NULL, "standard list --shop shop");
    expect_piece(&result, "QUARTER: 1 layer on 517642; R max <= 3 %, 500..600 nm, 0 deg");
    result = expect(0, NULL, "standard show QUARTER --shop shop");
    expect_piece(&result, "MgF2 99.000 nm; on 517642");
    result = expect(0, NULL, "standard check --shop shop");
    expect_piece(&result, "1 of 1 stacks meet what they are sold by");
    result = expect(0, NULL, "quote --shop shop --callouts fine.csv --substrate 517642 --quantity 10");
    expect_piece(&result, "Standard coating QUARTER does it as it is: yield 100.0 %");
    expect_piece(&result, "No other coating was looked for; --search looks for one.");
    result = expect(0, NULL,
                    "quote --shop shop --callouts fine.csv --substrate 517642 --json --search --effort 0.05 --prove 0");
    cJSON *root = parse(result.out);
    ck_assert(cJSON_IsTrue(item_of(root, "searched")));
    ck_assert_str_eq(string_of(cJSON_GetArrayItem(array_of(root, "standards"), 0), "name"), "QUARTER");
    ck_assert_str_eq(string_of(cJSON_GetArrayItem(array_of(root, "options"), 0), "standard"), "QUARTER");
    cJSON_Delete(root);
    result = expect(0, NULL, "shop check shop");
    expect_piece(&result, "standard coatings: shop/standard");
}
END_TEST

/* On another substrate, where it meets the callout on paper but too few runs do: its thicknesses are refined under
 * errors. */
START_TEST(another_substrate_takes_a_refined_one)
{
    const outcome result = expect(0, NULL,
                                  "quote --shop " BC_SOURCE_DIR "/examples/shop --substrate 731405 --callout "
                                  "Rmax<=1%,425-675nm,0deg");
    expect_piece(&result, "Standard coating BBAR-VIS does it with its thicknesses refined for 731405");
}
END_TEST

/* The process of today has grown worse: check says so beside the yield of the day, and ends with 1. */
START_TEST(check_tells_what_drifted)
{
    open_shop();
    scratch_write("shop/process.csv", "material,thickness_sigma_percent\nMgF2,60\n");
    const outcome result = expect(1, NULL, "standard check QUARTER --shop shop");
    expect_piece(&result, "too few runs");
    expect_piece(&result, "0 of 1 stacks");
}
END_TEST

START_TEST(what_fails_is_not_added)
{
    open_shop();
    expect(1, "not added: HARD does not meet", "standard add HARD quarter.csv --shop shop --callouts hard.csv");
    ck_assert(!exists("shop/standard/HARD"));
    scratch_write("two.csv", "role,material,thickness_nm\nincident,air,\nlayer,MgF2,99\nsubstrate,620364,\n");
    expect(0, NULL, "standard add BOTH quarter.csv two.csv --shop shop --callouts fine.csv");
    ck_assert(exists("shop/standard/BOTH/stacks/620364.csv") && exists("shop/standard/BOTH/process.csv"));
}
END_TEST

/* In place of the one of the same name, from one stack to several and back; a failing one replaces nothing. */
START_TEST(one_of_a_name_is_replaced)
{
    open_shop();
    scratch_write("other.csv", "role,material,thickness_nm\nincident,air,\nlayer,MgF2,101\nsubstrate,517642,\n");
    scratch_write("two.csv", "role,material,thickness_nm\nincident,air,\nlayer,MgF2,99\nsubstrate,620364,\n");
    expect(1, "not added", "standard add QUARTER quarter.csv --replace --shop shop --callouts hard.csv");
    ck_assert_ptr_nonnull(strstr(content("shop/standard/QUARTER/stack.csv"), ",99"));
    expect(0, "was replaced in", "standard add QUARTER other.csv two.csv --replace --shop shop --callouts fine.csv");
    ck_assert(!exists("shop/standard/QUARTER/stack.csv") && exists("shop/standard/QUARTER/stacks/620364.csv"));
    ck_assert_ptr_nonnull(strstr(content("shop/standard/.QUARTER/stack.csv"), ",99"));
    expect(0, NULL, "standard add QUARTER other.csv --replace --shop shop --callouts fine.csv --quiet");
    expect(0, NULL, "standard add QUARTER other.csv two.csv --replace --shop shop --callouts fine.csv --quiet");
    expect(0, NULL, "standard add QUARTER other.csv --replace --shop shop --callouts fine.csv --quiet");
    ck_assert_ptr_nonnull(strstr(content("shop/standard/QUARTER/stack.csv"), ",101"));
    expect(0, NULL, "standard check --shop shop");
}
END_TEST

#define BUILD                                                                                                          \
    "standard build --substrates 517642,620364,744449 --materials MgF2,Ta2O5 --callouts fine.csv --max-layers 2 "      \
    "--effort 0.02 --quiet -o "

/* The parts of several machines make the bytes of one; a sweep that was begun goes on, and does not change. */
START_TEST(shards_make_the_same_bytes)
{
    static const char *const files[] = {"stacks/517642.csv", "stacks/620364.csv", "stacks/744449.csv",
                                        "sweep.csv",         "callouts.csv",      "settings.csv"};
    write_inputs();
    scratch_write("fine.csv", FINE);
    const outcome whole = expect(0, NULL, BUILD "one");
    ck_assert_ptr_nonnull(strstr(whole.out, "\n744449,yes,1,"));
    expect(0, NULL, BUILD "many --shard 2/2 --threads 1");
    ck_assert(exists("many/stacks/620364.csv") && !exists("many/stacks/517642.csv") && !exists("many/sweep.csv"));
    expect(0, NULL, BUILD "many --shard 1/2");
    expect(0, NULL, BUILD "many");
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        char one[60], many[60], *kept;
        snprintf(one, sizeof one, "one/%s", files[i]);
        snprintf(many, sizeof many, "many/%s", files[i]);
        kept = strdup(content(one));
        ck_assert_str_eq(content(many), kept);
        free(kept);
    }
    scratch_write("many/stacks/517642.csv", STACK);
    expect(0, NULL, BUILD "many"); /* it is there: it is not made again */
    ck_assert_str_eq(content("many/stacks/517642.csv"), STACK);
    expect(2, "was begun with other callouts", BUILD "many --seed 2");
    scratch_write("hardest.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                                 "band,R,max,<= 0.001,400,700,0,unpolarized\n");
    expect(1, NULL,
           "standard build --substrates 517642 --materials MgF2 --callouts hardest.csv --max-layers 1 --effort 0.02 "
           "--quiet -o hard");
    ck_assert(exists("hard/not-met/517642.csv") && !exists("hard/stacks/517642.csv"));
}
END_TEST

static const struct {
    const char *line, *piece;
} wrong[] = {
    {"standard build --callouts fine.csv --materials MgF2 -o out", "standard needs --substrates"},
    {"standard build --callouts fine.csv --materials MgF2 --substrates all", "needs -o DIR"},
    {"standard build --callouts fine.csv --materials MgF2 --substrates all -o out --shard 3/2",
     "found '3/2'; expected I/N"},
    {"standard build --callouts fine.csv --materials MgF2 --substrates all -o out --shard 1",
     "found '1'; expected I/N"},
    {"standard", "needs an ACTION"},
    {"standard make --shop shop", "found 'make'; expected 'list', 'show', 'check', 'add' or 'build'"},
    {"standard list", "standard needs a shop's folder"},
    {"standard list more --shop shop", "found 'more'"},
    {"standard show --shop shop", "needs the name of a standard coating"},
    {"standard show NONE --shop shop", "found no standard coating called 'NONE'"},
    {"standard add --shop shop --callouts fine.csv", "needs a name and a stack file"},
    {"standard add a/b quarter.csv --shop shop --callouts fine.csv", "found the name 'a/b'; expected letters"},
    {"standard add quarter quarter.csv --shop shop --callouts fine.csv", "of that name already, QUARTER"},
    {"standard add quarter quarter.csv --replace --shop shop --callouts fine.csv", "of that name already, QUARTER"},
    {"standard add NEW quarter.csv --replace --shop shop --callouts fine.csv",
     "found no standard coating called 'NEW'"},
    {"standard add NEW quarter.csv --shop shop", "standard needs --callouts"},
    {"standard add NEW none.csv --shop shop --callouts fine.csv", "none.csv"},
    {"standard add NEW quarter.csv quarter.csv --shop shop --callouts fine.csv", "found a second stack for 517642"},
    {"quote --shop broken --callouts fine.csv --substrate 517642 --quiet", "broken/standard/A: found no callouts.csv"},
};

START_TEST(wrong_lines_end_with_two)
{
    open_shop();
    expect(0, NULL, "shop init broken");
    ck_assert_int_eq(mkdir(scratch_path("broken/standard"), 0777), 0);
    ck_assert_int_eq(mkdir(scratch_path("broken/standard/A"), 0777), 0);
    expect(2, wrong[_i].piece, wrong[_i].line);
}
END_TEST

Suite *cli_standard_suite(void)
{
    Suite *suite = suite_create("standard");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, what_was_added_is_listed_checked_and_offered);
    tcase_add_test(tcase, another_substrate_takes_a_refined_one);
    tcase_add_test(tcase, check_tells_what_drifted);
    tcase_add_test(tcase, what_fails_is_not_added);
    tcase_add_test(tcase, one_of_a_name_is_replaced);
    tcase_add_test(tcase, shards_make_the_same_bytes);
    tcase_add_loop_test(tcase, wrong_lines_end_with_two, 0, sizeof wrong / sizeof wrong[0]);
    suite_add_tcase(suite, tcase);
    return suite;
}
