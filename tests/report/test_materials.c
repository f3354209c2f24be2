/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fixture.h"
#include <bloomcoat/weight.h>
#include <string.h>

START_TEST(list_says_where_n_was_taken)
{
    fixture all;
    bc_text text = {0};
    fixture_open(&all);
    const bc_dispersion *material[] = {all.layer[0].material.dispersion, all.layer[1].material.dispersion};
    ck_assert_int_eq(bc_report_materials_text(2, material, 2, (const char *const[]){"517642", "620364"}, 0, NULL, 400.0,
                                              &text, NULL),
                     BC_OK);
    ck_assert_uint_eq(occurrences(text.data, "soft  layer  400..700  1.5000    400\n"), 1);
    ck_assert_uint_eq(occurrences(text.data, "\nSources:\n  soft: measured by hand\n"), 1);
    ck_assert_uint_eq(occurrences(text.data, ", photopic 380..780 nm"), 1);
    expect_tidy(text.data);
    bc_text_clear(&text);
    ck_assert_int_eq(bc_report_materials_text(2, material, 2, (const char *const[]){"517642", "620364"}, 0, NULL, 900.0,
                                              &text, NULL),
                     BC_OK);
    ck_assert_uint_eq(occurrences(text.data, "    550\n"), 2); /* the middle */
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

/* Those of the folders after those that come with the program. */
START_TEST(weights_of_the_shop_are_listed)
{
    const bc_weight *weight[2];
    fixture all;
    bc_text text = {0};
    fixture_open(&all);
    const bc_dispersion *material[] = {all.layer[0].material.dispersion};
    scratch_write("lamp.csv", "wavelength_nm,weight\n400,1\n700,3\n");
    ck_assert_int_eq(bc_materials_weight(all.materials, "lamp", NULL, &weight[0], NULL), BC_OK);
    ck_assert_int_eq(bc_materials_weight(all.materials, "lamp*photopic", NULL, &weight[1], NULL), BC_OK);
    ck_assert_int_eq(bc_report_materials_text(1, material, 0, NULL, 2, weight, 400.0, &text, NULL), BC_OK);
    ck_assert_uint_eq(
        occurrences(text.data, "\nWeights in the folders of tables:\n  lamp 400..700 nm, lamp*photopic 400..700 nm\n"),
        1);
    expect_tidy(text.data);
    bc_text_clear(&text);
    ck_assert_int_eq(bc_report_materials_json(1, material, 0, NULL, 2, weight, 400.0, &text, NULL), BC_OK);
    ck_assert_uint_eq(occurrences(text.data, "\"scotopic\", \"lamp\", \"lamp*photopic\"]"), 1);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

START_TEST(one_material_is_shown_whole)
{
    fixture all;
    bc_text text = {0};
    fixture_open(&all);
    ck_assert_int_eq(bc_report_material_text(all.layer[1].material.dispersion, 700.0, &text, NULL), BC_OK);
    ck_assert_uint_eq(occurrences(text.data, "  caution   keep it dry\n"), 1);
    ck_assert_uint_eq(occurrences(text.data, "n 1.400000, k 0 at 700 nm\n"), 1);
    ck_assert_uint_eq(occurrences(text.data, "2 of its 2 rows"), 1);
    bc_text_clear(&text);
    ck_assert_int_eq(bc_report_material_text(all.glass[0].dispersion, 550.0, &text, NULL), BC_OK);
    ck_assert_uint_eq(occurrences(text.data, "n 1.520000, k 0 at 550 nm\n"), 1);
    ck_assert_uint_eq(occurrences(text.data, "rows"), 0);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

START_TEST(table_reads_back)
{
    static const double nm[] = {400.5, 500, 1000.0 / 3.0 + 400.0}, n[] = {1.5, 1.0 / 3.0 + 1.0, 2.0},
                        k[] = {0, 1e-9, 0.1};
    bc_dispersion *table, *back;
    bc_text text = {0};
    bc_error error = {0};
    fixture all;
    fixture_open(&all);
    ck_assert_int_eq(bc_dispersion_table("any", 3, nm, n, k, &table, NULL), BC_OK);
    ck_assert_int_eq(bc_report_material_csv(table, &text, NULL), BC_OK);
    ck_assert_int_eq(bc_dispersion_read(scratch_write_bytes("t.csv", text.data, text.length), "any", &back, NULL),
                     BC_OK);
    ck_assert_uint_eq(bc_dispersion_rows(back), 3);
    for (size_t row = 0; row < 3; row++) {
        double value[3];
        bc_dispersion_row(back, row, &value[0], &value[1], &value[2]);
        ck_assert(value[0] == nm[row] && value[1] == n[row] && value[2] == k[row]);
    }
    bc_dispersion_free(back);
    bc_dispersion_free(table);
    bc_text_clear(&text);
    ck_assert_int_eq(bc_report_material_csv(all.layer[0].material.dispersion, &text, NULL), BC_OK);
    ck_assert_int_eq(bc_dispersion_read(scratch_write_bytes("t.csv", text.data, text.length), "any", &back, NULL),
                     BC_OK);
    ck_assert_str_eq(bc_dispersion_note(back, "caution"), "keep it dry");
    bc_dispersion_free(back);
    bc_text_clear(&text);
    ck_assert_int_eq(bc_report_material_csv(all.glass[0].dispersion, &text, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "1.52"));
    ck_assert_ptr_null(text.data);
    fixture_close(&all);
}
END_TEST

START_TEST(json_of_one_and_of_all)
{
    fixture all;
    bc_text text = {0};
    cJSON *root;
    const cJSON *item;
    fixture_open(&all);
    const bc_dispersion *material[] = {all.layer[0].material.dispersion, all.glass[0].dispersion};
    ck_assert_int_eq(bc_report_materials_json(2, material, 2, (const char *const[]){"517642", "620364"}, 0, NULL, 550.0,
                                              &text, NULL),
                     BC_OK);
    root = parse(&text);
    item = cJSON_GetArrayItem(cJSON_GetObjectItem(root, "materials"), 1);
    ck_assert_str_eq(string_of(item, "name"), "1.52");
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(root, "weights")), 5);
    cJSON_ArrayForEach(item, cJSON_GetObjectItem(root, "weights"))
        ck_assert_ptr_nonnull(bc_weight_shipped(cJSON_GetStringValue(item)));
    item = cJSON_GetArrayItem(cJSON_GetObjectItem(root, "materials"), 1);
    ck_assert(cJSON_IsTrue(cJSON_GetObjectItem(item, "constant")));
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(item, "to_nm"))); /* it has no end */
    cJSON_Delete(root);
    bc_text_clear(&text);
    ck_assert_int_eq(bc_report_material_json(material[0], 400.0, &text, NULL), BC_OK);
    root = parse(&text);
    ck_assert_str_eq(string_of(root, "source"), "measured by hand");
    ck_assert(number_of(root, "n") == 1.5);
    item = cJSON_GetArrayItem(cJSON_GetObjectItem(root, "table_rows"), 1);
    ck_assert(number_of(item, "wavelength_nm") == 700.0 && number_of(item, "n") == 1.4 && number_of(item, "k") == 0.0);
    cJSON_Delete(root);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

Suite *materials_suite(void)
{
    Suite *suite = suite_create("materials report");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, list_says_where_n_was_taken);
    tcase_add_test(tcase, weights_of_the_shop_are_listed);
    tcase_add_test(tcase, one_material_is_shown_whole);
    tcase_add_test(tcase, table_reads_back);
    tcase_add_test(tcase, json_of_one_and_of_all);
    suite_add_tcase(suite, tcase);
    return suite;
}
