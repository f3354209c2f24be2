/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answer.h"
#include "scan.h"
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define QUOTE                                                                                                          \
    "quote --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 1 --effort 0.05 --prove 0 "       \
    "--quiet"

#define SMALL_DRAFT "draft --shop shop --substrate 517642 --callouts callouts.csv --max-layers 2 --effort 0.1 --runs 10"

/* The folder that init makes works, is left alone by a second init, and check reads all of it. */
START_TEST(a_fresh_folder_works)
{
    write_inputs();
    const outcome first = expect(0, NULL, "shop init shop");
    expect_piece(&first, "Written: process.csv, chamber.csv, shop.csv The figures");
    ck_assert_ptr_nonnull(strstr(content("shop/process.csv"), "EXAMPLE FIGURES"));
    scratch_write("shop/shop.csv", "key,value\nyield_percent,80\n");
    ck_assert_int_eq(unlink(scratch_path("shop/chamber.csv")), 0);
    const outcome second = expect(0, NULL, "shop init shop");
    expect_piece(&second, "Written: chamber.csv There already, and left as it is: process.csv, shop.csv The figures");
    const outcome third = expect(0, NULL, "shop init shop");
    expect_piece(&third, "shop There already, and left as it is: process.csv, chamber.csv, shop.csv Put");
    const outcome result = expect(0, NULL, "shop check shop");
    expect_piece(&result, "every file was read");
    expect_piece(&result, "yield_percent: 80");
    expect_piece(&result, "uncertainty_percent: none; inspect judges without");
    ck_assert_ptr_null(strstr(result.out, "index_sigma"));
    scratch_write("shop/process.csv", "material,rate_nm_per_s\nMgF2,1\n");
    scratch_write("shop/chamber.csv", "key,value\npump_down_min,70\n");
    const outcome poor = expect(0, NULL, "shop check shop");
    expect_piece(&poor, "index_sigma: none; indices are taken as the tables have them");
    expect_piece(&poor, "heat_min: none; hours leave out heating");
    ck_assert_ptr_null(strstr(poor.out, "pump_down_min"));
    ck_assert_ptr_null(strstr(poor.out, "rate_nm_per_s"));
}
END_TEST

/* Without --materials a search takes those of the process, and says so; the words of the drawing and the shop do. */
START_TEST(layers_are_those_of_the_process)
{
    write_inputs();
    expect(0, NULL, "shop init shop");
    const outcome chosen = run(SMALL_DRAFT " --json -o default.json");
    ck_assert_ptr_nonnull(strstr(chosen.err, "layer materials: MgF2, Al2O3, Ta2O5, those of shop/process.csv"));
    run(SMALL_DRAFT " --json -o named.json --materials MgF2,Al2O3,Ta2O5");
    ck_assert_str_eq(content("default.json"), content("named.json"));
    scratch_write("shop/process.csv", "material,rate_nm_per_s\n*,1\n");
    expect(2, "draft needs --materials, or a process file with rows",
           "draft --shop shop --substrate 517642 --callouts callouts.csv");
    scratch_write("shop/process.csv", "material,rate_nm_per_s\nMgF2,1\n");
    const char *words[] = {
        "quote",    "--shop", "shop",         "--substrate", "517642",     "--callout", "Ravg < 2 %, 500-600 nm, 0 deg",
        "--effort", "0.1",    "--max-layers", "1",           "--quantity", "40",        NULL};
    const outcome result = run_words(&(circumstances){.file_size = -1}, words);
    ck_assert_msg(result.code == 0, "%s", result.err);
    expect_piece(&result, "Verdict: feasible");
}
END_TEST

/* What the folder states is what the same options state; the command line wins. */
START_TEST(a_shop_is_its_options)
{
    write_inputs();
    expect(0, NULL, "shop init shop");
    expect(0, NULL, "shop check shop --json");
    run(QUOTE " --shop shop --json -o with.json");
    run(QUOTE " --process shop/process.csv --chamber shop/chamber.csv --yield-percent 90 --json -o without.json");
    ck_assert_str_eq(content("with.json"), content("without.json"));
    run(QUOTE " --shop shop --yield-percent 50 --json -o half.json");
    ck_assert(strcmp(content("half.json"), content("with.json")) != 0);
}
END_TEST

/* The spectrophotometer's uncertainties are those of every inspection; the command line wins. */
START_TEST(an_inspection_takes_the_shop_s_uncertainties)
{
    write_stacks();
    ck_assert_int_eq(mkdir(scratch_path("shop"), 0700), 0);
    scratch_write("shop/shop.csv", "key,value\nuncertainty_percent,0.07\nwavelength_uncertainty_nm,0.8\n"
                                   "scale_uncertainty_percent,1.5\njudge,points\n");
    outcome result = expect(0, NULL, INSPECT " --shop shop");
    expect_piece(&result, "Uncertainty of the measurement: 0.07 % (absolute, expanded, k = 2).");
    expect_piece(&result, "Of its wavelengths: 0.8 nm; of its scale of R: 1.5 % of the value");
    expect_piece(&result, "judged point by point: as chosen (--judge points).");
    result = expect(0, NULL, INSPECT " --shop shop --judge curve");
    ck_assert_ptr_null(strstr(result.out, "as chosen"));
    result = expect(0, NULL, INSPECT " --shop shop --scale-uncertainty-percent 0.2 --uncertainty-percent 0.03");
    expect_piece(&result, "Uncertainty of the measurement: 0.03 %");
    expect_piece(&result, "Of its wavelengths: 0.8 nm; of its scale of R: 0.2 % of the value");
}
END_TEST

/* Pages take the shop's next number, whatever else is written takes none, and one that was given wins. */
START_TEST(quotes_are_numbered)
{
    write_inputs();
    expect(0, NULL, "shop init shop");
    scratch_write("shop/shop.csv", "key,value\nyield_percent,1\nfirst_quote_number,73041\n");
    run(QUOTE " --shop shop --report first.html --save first.request.csv -o out.txt");
    ck_assert_ptr_nonnull(strstr(content("first.html"), ">73041<"));
    ck_assert_ptr_null(strstr(content("first.request.csv"), "73041"));
    run(QUOTE " --shop shop -o out.txt");
    run(QUOTE " --shop shop --report own.html --quote-number Q-9 -o out.txt");
    ck_assert_ptr_nonnull(strstr(content("own.html"), ">Q-9<"));
    run(QUOTE " --shop shop --internal-report second.html -o out.txt");
    ck_assert_ptr_nonnull(strstr(content("second.html"), ">73042<"));
    ck_assert_str_eq(content("shop/quote-numbers.csv"), "quote_number\n73041\n73042\n");
}
END_TEST

START_TEST(tables_of_the_shop_are_found)
{
    write_inputs();
    expect(0, NULL, "shop init shop");
    scratch_write("shop/tables/Ours.csv", "wavelength_nm,n\n300,1.4\n1200,1.39\n");
    expect(2, "Ours", "materials Ours");
    expect(0, NULL, "materials Ours --shop shop");
}
END_TEST

static const struct {
    const char *line, *piece;
} wrong[] = {
    {"shop", "needs an ACTION"},
    {"shop make shop", "found 'make'; expected 'init' or 'check'"},
    {"shop check", "found no folder"},
    {"shop check nowhere", "nowhere: found no such folder"},
    {"shop check shop more", "found 'more'; expected one folder"},
    {"check stack.csv --callouts callouts.csv --shop nowhere", "nowhere: found no such folder"},
    {QUOTE " --shop broken", "broken/process.csv:1"},
    {QUOTE " --shop shop --chamber big", "neither a file nor a chamber of the shop"},
    {QUOTE " --shop two", "several chambers; expected --chamber with one of large, small"},
};

START_TEST(wrong_lines_end_with_two)
{
    write_inputs();
    expect(0, NULL, "shop init shop");
    expect(0, NULL, "shop init broken");
    scratch_write("broken/process.csv", "metal\n1\n");
    ck_assert_int_eq(mkdir(scratch_path("two"), 0777), 0);
    ck_assert_int_eq(mkdir(scratch_path("two/chambers"), 0777), 0);
    scratch_write("two/chambers/large.csv", "key,value\npump_down_min,70\n");
    scratch_write("two/chambers/small.csv", "key,value\npump_down_min,60\n");
    expect(2, wrong[_i].piece, wrong[_i].line);
}
END_TEST

Suite *cli_shop_suite(void)
{
    Suite *suite = suite_create("shop");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, a_fresh_folder_works);
    tcase_add_test(tcase, a_shop_is_its_options);
    tcase_add_test(tcase, layers_are_those_of_the_process);
    tcase_add_test(tcase, an_inspection_takes_the_shop_s_uncertainties);
    tcase_add_test(tcase, quotes_are_numbered);
    tcase_add_test(tcase, tables_of_the_shop_are_found);
    tcase_add_loop_test(tcase, wrong_lines_end_with_two, 0, sizeof wrong / sizeof wrong[0]);
    suite_add_tcase(suite, tcase);
    return suite;
}
