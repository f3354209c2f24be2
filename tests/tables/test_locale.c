/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Under a language that writes a decimal comma, files are read and messages are written as everywhere else.
 */
#include "number.h"
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/callouts.h>
#include <bloomcoat/stack.h>
#include <locale.h>
#include <stdio.h>
#include <string.h>

static const char *const with_comma[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "fr_FR.utf8", "pl_PL.UTF-8"};

static bool use_comma(void)
{
    for (size_t i = 0; i < sizeof with_comma / sizeof with_comma[0]; i++)
        if (setlocale(LC_ALL, with_comma[i]) != NULL && strcmp(localeconv()->decimal_point, ",") == 0)
            return true;
    return false;
}

static void back(void)
{
    setlocale(LC_ALL, "C");
}

START_TEST(numbers)
{
    char text[BC_NUMBER_SIZE];
    double value = 0;
    ck_assert(use_comma());
    ck_assert_int_eq(bc_number_parse("1.5", 0, &value), BC_NUMBER_OK);
    ck_assert(value == 1.5);
    ck_assert_int_eq(bc_number_parse("1.001", 3, &value), BC_NUMBER_OK);
    ck_assert(value == 1001);
    ck_assert_int_eq(bc_number_parse("1,5", 0, &value), BC_NUMBER_COMMA);
    ck_assert_str_eq(bc_number_format(-0.5, text), "-0.5");
    ck_assert_str_eq(localeconv()->decimal_point, ","); /* left as it was */
}
END_TEST

START_TEST(files)
{
    bc_materials *materials;
    bc_stack stack;
    bc_callouts callouts;
    bc_error error = {0};
    double nm = 699.75, n;
    ck_assert(use_comma());
    scratch_write("Demo.csv", "wavelength_nm,n\n400.5,1.5\n699.5,1.25\n");
    materials = scratch_materials();
    const char *path =
        scratch_write("stack.csv", "role,material,thickness_nm\nincident,air,\nlayer,Demo,91.4\nlayer,1.38,1e2\n"
                                   "substrate,3.1-3.3i,\n");
    ck_assert_int_eq(bc_stack_read(path, materials, &stack, NULL), BC_OK);
    ck_assert(stack.layer[0].thickness_nm == 91.4 && stack.layer[1].thickness_nm == 100);
    expect_refusal("range", bc_dispersion_index(stack.layer[0].material.dispersion, 1, &nm, &n, NULL, &error), &error,
                   BC_ERROR_INPUT, (const char *[PIECES]){"found wavelength 699.75 nm", "from 400.5 to 699.5 nm"});
    bc_stack_clear(&stack);
    path = scratch_write("callouts.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                                         "x,R,max,<= 0.5,420.5,680,0.5..1.5,unpolarized\n");
    ck_assert_int_eq(bc_callouts_read(path, materials, &callouts, NULL), BC_OK);
    ck_assert(callouts.callout[0].limit == 0.005 && callouts.callout[0].from_nm == 420.5);
    bc_callouts_clear(&callouts);
    bc_materials_free(materials);
}
END_TEST

Suite *locale_suite(void)
{
    Suite *suite = suite_create("locale");
    TCase *tcase = scratch_case("decimal comma");
    bool available = use_comma();
    back();
    if (available) {
        tcase_add_checked_fixture(tcase, NULL, back);
        tcase_add_test(tcase, numbers);
        tcase_add_test(tcase, files);
    } else {
        fprintf(stderr, "tables: tests of a decimal comma skipped: no such locale is installed here\n");
    }
    suite_add_tcase(suite, tcase);
    return suite;
}
