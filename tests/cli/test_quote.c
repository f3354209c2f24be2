/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answer.h"
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define QUOTE                                                                                                          \
    "quote --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 4 --effort 0.2 --prove 0 "
#define HARD "quote --callouts tight.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 3 --effort 0.2 --prove 0 "
#define SHOP "--process process.csv --chamber chamber.csv --quantity 100 --part-diameter-mm 50 "

static void write_shop(void)
{
    write_inputs();
    scratch_write("process.csv",
                  "material,rate_nm_per_s,tooling_factor,thickness_sigma_percent,run_thickness_sigma_percent,"
                  "index_sigma,minimum_nm\n*,0.5,1,0.5,0.2,0.002,8\n1.38,0.8,1.04,,,,\nMgF2,,,,,,\n");
    scratch_write("chamber.csv", "key,value\nload_diameter_mm,150\npart_pitch_extra_mm,0\npump_down_min,70\n"
                                 "heat_min,0\ncool_vent_min,50\nbetween_layers_s,36\n");
    scratch_write("tight.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                               "band,R,max,<= 0.2,420,680,0,unpolarized\n");
}

static const cJSON *recommended(const cJSON *root)
{
    const cJSON *row;
    cJSON_ArrayForEach(row, item_of(root, "options")) if (cJSON_IsTrue(item_of(row, "recommended"))) return row;
    ck_abort_msg("nothing is recommended");
    return NULL;
}

/* 150 mm hold seven parts of 50 mm: 100 parts are 15 loads. A load is two hours, 36 s and its thickness over its rate
 * for every layer. */
START_TEST(quote_counts_loads_and_hours)
{
    write_shop();
    cJSON *root = parse(expect(0, NULL, QUOTE SHOP "--json").out);
    const cJSON *row;
    ck_assert_str_eq(item_of(root, "verdict")->valuestring, "feasible");
    ck_assert_double_eq(number_of(root, "parts_per_load"), 7.0);
    ck_assert_int_eq(cJSON_GetArraySize(item_of(root, "exceptions")), 0);
    ck_assert_int_eq(cJSON_GetArraySize(item_of(root, "missing")), 0);
    ck_assert_int_ge(cJSON_GetArraySize(item_of(root, "options")), 2);
    cJSON_ArrayForEach(row, item_of(root, "options"))
    {
        const cJSON *layer;
        double seconds = 7200.0 - 36.0; /* between layers: once less than there are layers */
        cJSON_ArrayForEach(layer, item_of(row, "stack"))
        {
            const bool low = strcmp(item_of(layer, "material")->valuestring, "1.38") == 0;
            seconds += 36.0 + number_of(layer, "thickness_nm") / (low ? 0.8 * 1.04 : 0.5);
        }
        ck_assert_double_eq_tol(number_of(row, "hours_per_load"), seconds / 3600.0, 1e-9);
        ck_assert_double_eq(number_of(row, "loads"), 15.0);
        ck_assert_double_eq_tol(number_of(row, "hours"), 15.0 * seconds / 3600.0, 1e-8);
        number_of(row, "yield_percent");
        number_of(row, "total_nm");
    }
    ck_assert_double_ge(number_of(recommended(root), "yield_percent"), 90.0);
    cJSON_Delete(root);
    root = parse(expect(0, NULL, QUOTE SHOP "--json --both-sides").out);
    ck_assert_double_eq(number_of(recommended(root), "loads"), 30.0);
    cJSON_Delete(root);
}
END_TEST

START_TEST(what_is_missing_is_said)
{
    write_shop();
    cJSON *root = parse(expect(0, NULL, QUOTE "--json").out);
    ck_assert(any_says(item_of(root, "missing"), "No process file"));
    ck_assert(any_says(item_of(root, "missing"), "No chamber file"));
    ck_assert(any_says(item_of(root, "missing"), "No --quantity"));
    ck_assert(any_says(item_of(root, "missing"), "No --part-diameter-mm"));
    ck_assert(cJSON_IsNull(item_of(recommended(root), "yield_percent")));
    ck_assert(cJSON_IsNull(item_of(recommended(root), "hours_per_load")));
    ck_assert(cJSON_IsNull(item_of(recommended(root), "loads")));
    ck_assert(cJSON_IsNull(item_of(root, "parts_per_load")));
    cJSON_Delete(root);
    scratch_write("chamber.csv", "key,value\npump_down_min,70\n");
    scratch_write("process.csv", "material,rate_nm_per_s\n1.38,1\n");
    root = parse(expect(0, NULL, QUOTE SHOP "--json").out);
    ck_assert(any_says(item_of(root, "missing"), "gives no errors: yields are not known"));
    ck_assert(any_says(item_of(root, "missing"), "no rate_nm_per_s for 2.1"));
    ck_assert(any_says(item_of(root, "missing"), "no cool_vent_min"));
    ck_assert(any_says(item_of(root, "missing"), "no load_diameter_mm"));
    cJSON_Delete(root);
}
END_TEST

/* Each offer, put into files, passes check. */
START_TEST(offers_check_out)
{
    int found = 0;
    const cJSON *row;
    write_shop();
    cJSON *root = parse(expect(1, NULL, HARD SHOP "--json").out);
    ck_assert_str_ne(item_of(root, "verdict")->valuestring, "feasible");
    cJSON_ArrayForEach(row, item_of(root, "exceptions"))
    {
        char text[2000];
        int length = snprintf(text, sizeof text, "role,material,thickness_nm\nsubstrate,1.52,\n");
        const cJSON *layer;
        item_of(row, "asked");
        item_of(row, "offered");
        ck_assert_double_ge(number_of(row, "yield_percent"), 90.0);
        if (cJSON_IsNull(item_of(row, "callout")))
            continue;
        cJSON_ArrayForEach(layer, item_of(row, "stack")) length +=
            snprintf(text + length, sizeof text - (size_t)length, "layer,%s,%.15g\n",
                     item_of(layer, "material")->valuestring, number_of(layer, "thickness_nm"));
        snprintf(text + length, sizeof text - (size_t)length, "incident,air,\n");
        scratch_write("offer.csv", text);
        snprintf(text, sizeof text,
                 "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                 "band,R,max,<= %.15g,%.15g,%.15g,0,unpolarized\n",
                 number_of(row, "limit_percent"), number_of(row, "from_nm"), number_of(row, "to_nm"));
        scratch_write("offered.csv", text);
        expect(0, NULL, "check offer.csv --callouts offered.csv");
        found++;
    }
    ck_assert_int_ge(found, 2);
    cJSON_Delete(root);
}
END_TEST

/* Each option of a coating in a cement is what check finds of it there, and not in air. */
START_TEST(a_quote_in_a_cement)
{
    const cJSON *row;
    write_shop();
    cJSON *root = parse(expect(0, NULL,
                               "quote --callouts callouts.csv --substrate 1.9 --incident 1.52 --materials 1.7,2.1 "
                               "--max-layers 2 --effort 0.2 --json")
                            .out);
    ck_assert_int_ge(cJSON_GetArraySize(item_of(root, "options")), 1);
    cJSON_ArrayForEach(row, item_of(root, "options"))
    {
        static const struct {
            const char *incident;
            int exit_code;
        } medium[] = {{"1.52", 0}, {"air", 1}};
        for (int i = 0; i < 2; i++) {
            char text[1000];
            int length = snprintf(text, sizeof text, "role,material,thickness_nm\nsubstrate,1.9,\n");
            const cJSON *layer;
            cJSON *checked;
            cJSON_ArrayForEach(layer, item_of(row, "stack")) length +=
                snprintf(text + length, sizeof text - (size_t)length, "layer,%s,%.15g\n",
                         item_of(layer, "material")->valuestring, number_of(layer, "thickness_nm"));
            snprintf(text + length, sizeof text - (size_t)length, "incident,%s,\n", medium[i].incident);
            scratch_write("option.csv", text);
            checked = parse(expect(medium[i].exit_code, NULL, "check option.csv --callouts callouts.csv --json").out);
            ck_assert_int_eq(fabs(number_of(checked, "limit_used") - number_of(row, "limit_used")) < 1e-6, i == 0);
            cJSON_Delete(checked);
        }
    }
    cJSON_Delete(root);
}
END_TEST

START_TEST(quote_is_words_for_people)
{
    write_shop();
    const outcome result = expect(1, NULL, HARD SHOP);
    ck_assert_ptr_nonnull(strstr(result.out, "Verdict: "));
    ck_assert_ptr_nonnull(strstr(result.out, "<- nearest"));
    ck_assert_ptr_nonnull(strstr(result.out, "\"band\" decides on 1.52: "));
    ck_assert_ptr_nonnull(strstr(result.out, "Tikhonravov"));
    ck_assert_ptr_nonnull(strstr(result.out, "lowest limit: "));
    ck_assert_ptr_nonnull(strstr(result.out, "7 parts of 50 mm fit"));
    ck_assert_ptr_nonnull(strstr(result.out, "Cautions:"));
    for (const char *line = result.out; *line != '\0'; line += strcspn(line, "\n") + 1)
        ck_assert_msg(strcspn(line, "\n") <= 80 || strchr(line, '/') != NULL, "too wide: %.100s", line);
}
END_TEST

START_TEST(quote_repeats_its_bytes)
{
    write_shop();
    expect(1, NULL, HARD SHOP "--json --threads 1 -o one.json");
    expect(1, NULL, HARD SHOP "--json --threads 3 -o three.json");
    ck_assert_str_eq(content("one.json"), content("three.json"));
}
END_TEST

START_TEST(quote_refuses_what_is_wrong)
{
    write_shop();
    expect(2, "needs --materials", "quote --callouts callouts.csv --substrate 1.52");
    expect(2, "needs --substrate", "quote --callouts callouts.csv --materials 1.38");
    expect(2, "needs --callouts", "quote --substrate 1.52 --materials 1.38");
    expect(2, "--yield-percent: found '101'", QUOTE "--yield-percent 101");
    expect(2, "--quantity: found '0'", QUOTE "--quantity 0");
    expect(2, "--part-diameter-mm: found '-3'", QUOTE "--part-diameter-mm -3");
    expect(2, "--one-run: found without --both-sides", QUOTE "--one-run");
    expect(2, "--prefer: found 'speed'", QUOTE "--prefer speed");
    const outcome hot =
        expect(1, NULL, "quote --callouts callouts.csv --substrate 1.52 --materials MgF2 --max-process-c 60");
    ck_assert_ptr_nonnull(strstr(hot.out, "MgF2 needs 300 C, the part"));
    expect(2, "chamber.csv: found one of the inputs", QUOTE "--chamber chamber.csv -o chamber.csv");
    expect(2, "nowhere.csv", QUOTE "--process nowhere.csv");
}
END_TEST

START_TEST(an_interrupt_ends_a_quote_and_leaves_the_best_so_far)
{
    write_shop();
    scratch_write("far.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                             "band,R,max,<= 0.1,400,900,0..45,each\n");
    const outcome result = interrupt_after(1, "quote --callouts far.csv --substrate 1.52 --materials 1.38,1.62,2.1 "
                                              "--effort 50 --process process.csv -o quote.txt");
    ck_assert_int_eq(result.code, 1);
    ck_assert_str_eq(result.err, "");
    ck_assert_ptr_nonnull(
        strstr(content("quote.txt"), "Verdict: not feasible\nInterrupted, or its --seconds were over"));
    ck_assert_ptr_nonnull(strstr(content("quote.txt"), "before any change that could be offered"));
}
END_TEST

/* Its --seconds are those of the whole, proof included. */
START_TEST(seconds_end_a_quote_with_the_best_so_far)
{
    write_shop();
    scratch_write("far.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                             "band,R,max,<= 0.1,400,900,0..45,each\n");
    const outcome result = expect(1, NULL,
                                  "quote --callouts far.csv --substrate 1.52 --materials 1.38,1.62,2.1 "
                                  "--effort 50 --prove 8 --seconds 0.5 --json");
    ck_assert_ptr_nonnull(strstr(result.out, "\"interrupted\":\ttrue"));
    ck_assert_ptr_nonnull(strstr(result.out, "\"options\":\t[{"));
}
END_TEST

static void take_folder_away(void)
{
    ck_assert_int_eq(rmdir(scratch_path("gone")), 0);
}

/* What minutes of search have found outlives its folder. */
START_TEST(a_quote_whose_folder_is_gone_goes_to_standard_output)
{
    write_shop();
    ck_assert_int_eq(mkdir(scratch_path("gone"), 0755), 0);
    scratch_write("far.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                             "band,R,max,<= 0.1,400,900,0..45,each\n");
    const outcome result = run_while("quote --callouts far.csv --substrate 1.52 --materials 1.38,1.62,2.1 --effort 50 "
                                     "--seconds 2 -o gone/quote.txt",
                                     1000000, take_folder_away);
    ck_assert_int_eq(result.code, 3);
    ck_assert_ptr_nonnull(strstr(result.err, "it went to standard output instead"));
    ck_assert_ptr_nonnull(strstr(result.out, "Verdict: not feasible"));
}
END_TEST

Suite *quote_suite(void)
{
    Suite *suite = suite_create("quote");
    TCase *tests = scratch_case("quote");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, quote_counts_loads_and_hours);
    tcase_add_test(tests, what_is_missing_is_said);
    tcase_add_test(tests, offers_check_out);
    tcase_add_test(tests, a_quote_in_a_cement);
    tcase_add_test(tests, quote_is_words_for_people);
    tcase_add_test(tests, quote_repeats_its_bytes);
    tcase_add_test(tests, quote_refuses_what_is_wrong);
    tcase_add_test(tests, an_interrupt_ends_a_quote_and_leaves_the_best_so_far);
    tcase_add_test(tests, seconds_end_a_quote_with_the_best_so_far);
    tcase_add_test(tests, a_quote_whose_folder_is_gone_goes_to_standard_output);
    suite_add_tcase(suite, tests);
    return suite;
}
