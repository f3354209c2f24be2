/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answer.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define SCANS BC_SOURCE_DIR "/examples/oxide-layer-R.txt " BC_SOURCE_DIR "/examples/oxide-layer-T.txt"
#define DISC  " --substrate fused-silica --layer-nm 500 --back uncoated --substrate-mm 1"

/* What examples/make-layer.sh put in: 482.6 nm, n = 1.92 + 0.0155 / x^2. The table that is written is read again and
 * serves as any other. */
START_TEST(a_table_of_ones_own)
{
    outcome result = expect(0, NULL, "index " SCANS DISC " --table Oxide.csv --plot oxide.svg --json -o index.json");
    cJSON *root = parse(content("index.json"));
    const cJSON *piece = array_of(root, "pieces")->child, *row = array_of(root, "table_rows")->child;
    ck_assert_double_eq_tol(number_of(piece, "thickness_nm"), 482.6,
                            2.0 * number_of(piece, "thickness_uncertainty_nm"));
    for (; row != NULL; row = row->next) {
        const double x = number_of(row, "wavelength_nm") / 1000.0;
        ck_assert_double_eq_tol(number_of(row, "n"), 1.92 + 0.0155 / (x * x), 2.0 * number_of(row, "n_uncertainty"));
    }
    cJSON_Delete(root);
    result = expect(0, NULL, "materials Oxide --tables . --at-nm 550");
    expect_piece(&result, "1.97");
    expect_piece(&result, "measured by the shop");
    ck_assert_ptr_nonnull(strstr(content("oxide.svg"), "<svg"));
    result = expect(0, NULL, "index " SCANS DISC);
    expect_piece(&result, "Thickness: 482.");
    expect_piece(&result, "The next order of interference");
    expect_piece(&result, "Neither a gradient of the index nor a rough top is seen.");
}
END_TEST

static const struct {
    const char *line, *piece;
} wrong[] = {
    {"index", "SCAN"},
    {"index " SCANS " --layer-nm 500", "needs --substrate"},
    {"index " SCANS " --substrate fused-silica", "needs --layer-nm"},
    {"index " SCANS DISC " --layer-nm 0", "--layer-nm: found '0'"},
    {"index " SCANS DISC " --aoi 8 --aoi 8 --aoi 8",
     "found 3 of them and 2 scans; expected one for all, or one for each"},
    {"index " SCANS DISC " --layer-nm 400 --layer-nm 300", "found 3 of them and 2 scans"},
    {"index " SCANS DISC " --layer-nm 400 --piece 3", "--piece: found '3'"},
    {"index " SCANS DISC " --coverage 0", "--coverage"},
    {"index nowhere.csv" DISC, "nowhere.csv"},
    {"index " SCANS DISC " --table " BC_SOURCE_DIR "/examples/oxide-layer-R.txt", "oxide-layer-R.txt"},
    {"index bare.csv --substrate 1.52 --layer-nm 500", "do not differ from the bare substrate"},
    {"index " SCANS " --substrate fused-silica --layer-nm 500", "expected --back uncoated"},
    {"index " SCANS " --substrate fused-silica --layer-nm 2500 --back uncoated", "explains the scans"},
    {"index few.csv --substrate 1.52 --layer-nm 500", "expected at least 20"},
};

START_TEST(wrong_lines_end_with_two)
{
    char text[8000] = "nm,%R\n";
    for (int nm = 400; nm <= 800; nm += 4)
        snprintf(text + strlen(text), sizeof text - strlen(text), "%d,%.3f\n", nm,
                 4.258 + 0.004 * (double)((nm * 7919 / 4) % 13 - 6));
    scratch_write("bare.csv", text);
    scratch_write("few.csv", "nm,%R\n400,4.2\n500,4.3\n600,4.1\n");
    expect(2, wrong[_i].piece, wrong[_i].line);
}
END_TEST

Suite *cli_index_suite(void)
{
    Suite *suite = suite_create("index");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 240.0);
    tcase_add_test(tcase, a_table_of_ones_own);
    tcase_add_loop_test(tcase, wrong_lines_end_with_two, 0, sizeof wrong / sizeof *wrong);
    suite_add_tcase(suite, tcase);
    return suite;
}
