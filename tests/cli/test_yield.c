/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answer.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define YIELD "yield stack.csv --callouts callouts.csv --process process.csv --runs 200"
#define KNOWN "material,tooling_factor,thickness_sigma_percent,run_thickness_sigma_percent,runs\n*,1,3,1,6\n"

static void write_process(void)
{
    write_inputs();
    scratch_write("process.csv", "material,thickness_sigma_percent,run_thickness_sigma_percent,index_sigma\n"
                                 "*,3,1,0.01\n1.38,2,,\n");
}

static const cJSON *sized_array_of(const cJSON *object, const char *name, int size)
{
    const cJSON *item = array_of(object, name);
    ck_assert_int_eq(cJSON_GetArraySize(item), size);
    return item;
}

START_TEST(yield_tells_what_decides)
{
    write_process();
    const outcome result = expect(0, NULL, YIELD);
    ck_assert_str_eq(result.err, "");
    expect_piece(&result, "Of 100 runs about ");
    expect_piece(&result, "95 % interval");
    expect_piece(&result, "of 200 simulated runs");
    expect_piece(&result, " decides: its error has a part in ");
    expect_piece(&result, "<- decides");
    expect_piece(&result, "The yield would be 95 % with all errors at ");
    expect_piece(&result, "\"band\" fails most often");
    expect_piece(&result, "Index data:");
    expect_piece(&result, "not a measurement");
    expect_piece(&result, "whole run 1 %");
    expect_narrow(result.out);
}
END_TEST

/* The figures agree with each other, and with those of the check. */
START_TEST(yield_in_json)
{
    write_process();
    cJSON *root = parse(expect(0, NULL, YIELD " --seed 5 --json").out);
    cJSON *check = parse(expect(0, NULL, "check stack.csv --callouts callouts.csv --json").out);
    const double yield = number_of(root, "yield_percent");
    ck_assert(number_of(root, "runs") == 200.0 && number_of(root, "seed") == 5.0);
    ck_assert(fabs(yield - number_of(root, "good") / 2.0) < 1e-9);
    ck_assert(0.0 < number_of(root, "yield_low_percent") && number_of(root, "yield_low_percent") < yield);
    ck_assert(yield < number_of(root, "yield_high_percent") && number_of(root, "yield_high_percent") < 100.0);
    ck_assert_str_eq(string_of(root, "influence_of"), "failure");
    ck_assert(number_of(root, "scale_for_95") > 0.0 && number_of(root, "scale_for_95") < 1.0);
    ck_assert(number_of(root, "run_thickness_influence") > 0.0);
    const cJSON *layers = sized_array_of(root, "layers", 4), *layer;
    cJSON_ArrayForEach(layer, layers) ck_assert(number_of(layer, "influence") > 0.0);
    ck_assert_str_eq(string_of(layers->child, "material"), "2.1"); /* next to the substrate */
    const cJSON *outer = cJSON_GetArrayItem(layers, 3);
    ck_assert_str_eq(string_of(outer, "material"), "1.38");
    ck_assert(number_of(outer, "thickness_nm") == 97.787);
    ck_assert_str_eq(string_of(sized_array_of(root, "index_influence", 2)->child, "material"), "1.38");
    ck_assert(fabs(number_of(sized_array_of(root, "fails", 2)->child, "fails_percent") - (100.0 - yield)) < 1.0);
    ck_assert(number_of(sized_array_of(root, "process", 2)->child, "thickness_sigma_percent") == 2.0);
    const cJSON *curve = sized_array_of(root, "curves", 1)->child;
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(curve, "percent_50")),
                     cJSON_GetArraySize(cJSON_GetObjectItem(curve, "wavelength_nm")));
    ck_assert(number_of(curve, "runs") == 200.0);
    ck_assert(number_of(root, "limit_used") == number_of(check, "limit_used"));
    ck_assert(cJSON_Compare(cJSON_GetObjectItem(root, "callouts"), cJSON_GetObjectItem(check, "callouts"), 1));
    cJSON_Delete(root);
    cJSON_Delete(check);
}
END_TEST

START_TEST(yield_repeats_itself)
{
    write_process();
    const outcome first = expect(0, NULL, YIELD " --threads 1 --json");
    const outcome second = expect(0, NULL, YIELD " --threads 3 --json -o out.json --quiet");
    ck_assert_str_eq(second.out, "");
    ck_assert_str_eq(first.out, content("out.json"));
    const outcome other = expect(0, NULL, YIELD " --seed 2 --json");
    ck_assert_str_ne(first.out, other.out);
}
END_TEST

/* A design that fails is told apart from a process that fails it. */
START_TEST(a_design_that_fails_ends_with_one)
{
    write_process();
    const outcome result = expect(1, NULL, "yield stack.csv --callouts hard.csv --process process.csv --runs 200");
    expect_piece(&result, "The design itself does NOT meet its callouts");
    expect_piece(&result, "Of 100 runs about 0 will meet the callouts");
    expect_piece(&result, "No process, however good");
    expect_piece(&result, "has a part in");
    expect_narrow(result.out);
    expect(1, NULL, YIELD " --substrate 1.52 --substrate 1.9");
}
END_TEST

/* A number of runs typed into the process file: how well the yield is known, in the answers of yield and quote. */
START_TEST(runs_behind_the_process)
{
    write_process();
    scratch_write("known.csv", KNOWN);
    const outcome result = expect(0, NULL, "yield stack.csv --callouts callouts.csv --process known.csv --runs 300");
    expect_piece(&result, "The process is known by 6 runs: that leaves a yield of ");
    cJSON *root =
        parse(expect(0, NULL, "yield stack.csv --callouts callouts.csv --process known.csv --runs 300 --json").out);
    ck_assert_double_eq(number_of(root, "process_runs"), 6.0);
    ck_assert_double_lt(number_of(root, "yield_known_low_percent"), number_of(root, "yield_percent"));
    ck_assert_double_lt(number_of(root, "yield_known_average_percent"), number_of(root, "yield_known_high_percent"));
    cJSON_Delete(root);
    root = parse(expect(0, NULL, YIELD " --json").out);
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(root, "process_runs")));
    cJSON_Delete(root);
}
END_TEST

START_TEST(runs_behind_the_process_of_a_quote)
{
    write_process();
    scratch_write("known.csv", KNOWN);
    cJSON *root = parse(run("quote --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --process known.csv "
                            "--effort 0.05 --max-layers 4 --prove 0 --json")
                            .out);
    const cJSON *option;
    cJSON_ArrayForEach(option, array_of(root, "options"))
    {
        const cJSON *runs = cJSON_GetObjectItem(option, "process_runs");
        if (cJSON_IsTrue(cJSON_GetObjectItem(option, "recommended")))
            ck_assert_double_eq(number_of(option, "process_runs"), 6.0);
        else
            ck_assert(cJSON_IsNull(runs) || runs->valuedouble == 6.0);
    }
    cJSON_Delete(root);
}
END_TEST

START_TEST(what_the_process_does_not_give_is_said)
{
    write_process();
    scratch_write("bare.csv", "material,thickness_sigma_percent\n1.38,2\n");
    outcome result = expect(0, NULL, "yield stack.csv --callouts callouts.csv --process bare.csv --runs 300");
    expect_piece(&result, "gives no thickness_sigma_percent for 2.1: taken as no error of that kind");
    expect_piece(&result, "gives no index_sigma for 1.38, 2.1: taken as no error of that kind");
    expect_piece(&result, "gives no run_thickness_sigma_percent for 1.38, 2.1: taken as no error of that kind");
    expect_piece(&result, "not given");
    scratch_write("rates.csv", "material,rate_nm_per_s\n*,0.5\n");
    result = expect(0, NULL, "yield stack.csv --callouts callouts.csv --process rates.csv");
    expect_piece(&result, "gives no error for these layers, so every run is the design itself, and");
    cJSON *root = parse(expect(0, NULL, "yield stack.csv --callouts callouts.csv --process rates.csv --json").out);
    ck_assert(number_of(root, "yield_percent") == 100.0);
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(root, "scale_for_95")));
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(sized_array_of(root, "process", 2)->child, "index_sigma")));
    cJSON_Delete(root);
}
END_TEST

typedef struct wrong_line {
    const char *line;
    const char *piece;
} wrong_line;

static const wrong_line wrong[] = {
    {"yield --callouts callouts.csv --process process.csv", "yield needs a STACK"},
    {"yield stack.csv --process process.csv", "yield needs --callouts"},
    {"yield stack.csv --callouts callouts.csv",
     "yield needs --process FILE, the errors of the chamber; without one 'sensitivity'"},
    {YIELD " --seed -1", "--seed: found '-1'"},
    {"yield stack.csv --callouts callouts.csv --process process.csv --runs 0", "--runs: found '0'"},
    {"yield stack.csv --callouts callouts.csv --process process.csv --runs 2.5", "a whole number"},
    {YIELD " --substrate nosuchglass", "--substrate"},
    {YIELD " -o process.csv", "found one of the inputs"},
    {YIELD " -o stack.csv", "found one of the inputs"},
    {"yield stack.csv --callouts callouts.csv --process missing.csv", "missing.csv"},
    {"yield stack.csv --callouts callouts.csv --process callouts.csv", "callouts.csv:1"},
    {"yield stack.csv --callouts part.csv --process process.csv --back none", "scope part"},
    {"draft --callouts callouts.csv --substrate 1.52 --materials 1.38 --runs 50", "--runs without --process"},
    {"draft --callouts callouts.csv --substrate 1.52 --materials 1.38 --process process.csv --runs x",
     "--runs: found 'x'"},
    {"yield dense.csv --callouts callouts.csv --process process.csv", "incident medium absorbs"},
};

START_TEST(wrong_lines_end_with_two)
{
    write_process();
    scratch_write("dense.csv", "role,material,thickness_nm\nincident,1.3-0.1i,\nlayer,1.38,97\nsubstrate,1.52,\n");
    const size_t files = count_files();
    expect(2, wrong[_i].piece, wrong[_i].line);
    ck_assert_uint_eq(count_files(), files);
}
END_TEST

/* A robust draft hands out the stack whose yield it tells, and the same one again. */
START_TEST(draft_with_a_process_chooses_by_yield)
{
    outcome result, again;
    cJSON *root;
    const cJSON *robust;
    double told;
    write_process();
    result = run("draft --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 4 --effort 0.05 "
                 "--prove 0 --process process.csv --runs 100 --json -o robust.csv");
    ck_assert_int_eq(result.code, 0);
    root = parse(result.out);
    robust = cJSON_GetObjectItemCaseSensitive(root, "robust");
    ck_assert(number_of(robust, "yield_percent") >= number_of(robust, "sharpest_yield_percent"));
    ck_assert(number_of(robust, "yield_low_percent") <= number_of(robust, "yield_percent"));
    ck_assert(number_of(robust, "runs") == 100.0);
    told = number_of(robust, "yield_percent");
    again = run("yield robust.csv --callouts callouts.csv --process process.csv --runs 100 --json");
    ck_assert_int_eq(again.code, 0);
    cJSON_Delete(root);
    root = parse(again.out);
    ck_assert(number_of(root, "yield_percent") == told); /* the same seed, the same errors */
    cJSON_Delete(root);
    expect(2, "stack.csv", "draft --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --process stack.csv");
}
END_TEST

/* One wavelength, where two layers leave nothing at all: no more layers than that, and thicknesses that can be told to
 * a chamber. */
START_TEST(a_robust_draft_for_one_wavelength)
{
    cJSON *root;
    const cJSON *layer;
    write_process();
    scratch_write("line.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                              "line,R,max,<= 0.5,1064,1064,0,unpolarized\n");
    root = parse(expect(0, NULL,
                        "draft --callouts line.csv --substrate 1.62 --materials 1.38,2.1 --max-layers 4 --effort 0.2 "
                        "--process process.csv --runs 300 --json")
                     .out);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(root, "layers")), 2);
    cJSON_ArrayForEach(layer, cJSON_GetObjectItem(root, "layers"))
    {
        const double thickness_nm = number_of(layer, "thickness_nm");
        ck_assert_double_eq(thickness_nm, round(1000.0 * thickness_nm) / 1000.0);
    }
    cJSON_Delete(root);
}
END_TEST

START_TEST(an_interrupt_ends_the_runs_and_leaves_nothing)
{
    write_process();
    const size_t files = count_files();
    const outcome result =
        interrupt_after(1, "yield stack.csv --callouts callouts.csv --process process.csv --runs 100000000 -o out.txt");
    ck_assert_int_eq(result.code, 3);
    ck_assert_str_eq(result.err, "bloomcoat: interrupted\n");
    ck_assert_uint_eq(count_files(), files);
}
END_TEST

Suite *yield_suite(void)
{
    Suite *suite = suite_create("yield");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, yield_tells_what_decides);
    tcase_add_test(tcase, yield_in_json);
    tcase_add_test(tcase, yield_repeats_itself);
    tcase_add_test(tcase, a_design_that_fails_ends_with_one);
    tcase_add_test(tcase, runs_behind_the_process);
    if (MANY_OR_FEW(true, false)) /* a long quote */
        tcase_add_test(tcase, runs_behind_the_process_of_a_quote);
    tcase_add_test(tcase, what_the_process_does_not_give_is_said);
    tcase_add_loop_test(tcase, wrong_lines_end_with_two, 0, sizeof wrong / sizeof wrong[0]);
    tcase_add_test(tcase, draft_with_a_process_chooses_by_yield);
    tcase_add_test(tcase, a_robust_draft_for_one_wavelength);
    tcase_add_test(tcase, an_interrupt_ends_the_runs_and_leaves_nothing);
    suite_add_tcase(suite, tcase);
    return suite;
}
