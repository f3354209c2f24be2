/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/reference.h>

#define HEAD "wavelength_nm,R_percent\n"

static bc_reference read_good(const char *text)
{
    bc_reference reference;
    bc_error error;
    ck_assert_msg(bc_reference_read(scratch_write("mirror.csv", text), &reference, &error) == BC_OK, "%s",
                  error.message);
    return reference;
}

START_TEST(rows_are_met_and_nothing_overshoots)
{
    bc_reference mirror =
        read_good("# certificate\nwavelength_um,R_percent,uncertainty_percent\n0.4,86,0.4\n0.5,90,0.2\n"
                  "0.6,90,0.2\n0.8,84.5,0.3\n");
    const double at[] = {400.0, 450.0, 550.0, 800.0};
    double value[4], uncertainty[4];
    bc_error error;
    ck_assert_int_eq(mirror.quantity, BC_R);
    ck_assert_uint_eq(mirror.sha256[0] == '\0', 0);
    ck_assert_int_eq(bc_reference_at(&mirror, 4, at, value, uncertainty, &error), BC_OK);
    ck_assert_double_eq_tol(value[0], 0.86, 1e-15);
    ck_assert(value[1] > 0.86 && value[1] < 0.90);
    ck_assert_double_eq_tol(value[2], 0.90, 1e-15);
    ck_assert_double_eq_tol(value[3], 0.845, 1e-15);
    ck_assert_double_eq_tol(uncertainty[1], 0.003, 1e-15);
    bc_reference_clear(&mirror);
}
END_TEST

START_TEST(two_rows_and_no_uncertainty)
{
    bc_reference plate = read_good("T_percent,wavelength_nm\n92,400\n90,800\n");
    const double at = 500.0, beyond = 801.0;
    double value, uncertainty = 1.0;
    bc_error error;
    ck_assert_int_eq(plate.quantity, BC_T);
    ck_assert_int_eq(bc_reference_at(&plate, 1, &at, &value, &uncertainty, &error), BC_OK);
    ck_assert_double_eq_tol(value, 0.915, 1e-15);
    ck_assert_double_eq(uncertainty, 0.0);
    expect_refusal("beyond", bc_reference_at(&plate, 1, &beyond, &value, NULL, &error), &error, BC_ERROR_INPUT,
                   (const char *const[]){"from 400 to 800 nm", "expected it to reach 801 nm", NULL});
    bc_reference_clear(&plate);
}
END_TEST

static const refusal wrong[] = {
    {"no quantity", "wavelength_nm\n400\n500\n", 0, {"wrong.csv:1", "neither R_percent and T_percent"}},
    {"both quantities", "wavelength_nm,R_percent,T_percent\n400,1,2\n500,1,2\n", 0, {"both R_percent and T_percent"}},
    {"no wavelengths", "R_percent\n90\n90\n", 0, {"neither wavelength_nm and wavelength_um"}},
    {"one row", HEAD "400,90\n", 0, {"found 1 row; expected two at least"}},
    {"falling", HEAD "500,90\n400,90\n", 0, {"wrong.csv:3", "expected a wavelength above that of line 2"}},
    {"above 100 %", HEAD "400,90\n500,101\n", 0, {"wrong.csv:3: column 2 (R_percent): found '101'", "to 100"}},
    {"a black one", HEAD "400,0\n500,90\n", 0, {"wrong.csv:2", "a reflectance in percent from 0.01"}},
    {"an index table", "wavelength_nm,n,k\n400,1.5,0\n500,1.5,0\n", 0, {"found 'n', an unknown column", "R_percent"}},
    {"negative uncertainty", "wavelength_nm,R_percent,uncertainty_percent\n400,90,-1\n500,90,0\n", 0, {"found '-1'"}},
};

START_TEST(what_is_refused)
{
    bc_reference reference;
    bc_error error;
    const bc_status status = bc_reference_read(scratch_write("wrong.csv", wrong[_i].bytes), &reference, &error);
    expect_refusal(wrong[_i].what, status, &error, BC_ERROR_INPUT, wrong[_i].pieces);
    ck_assert(reference.value == NULL && reference.path == NULL);
}
END_TEST

Suite *reference_suite(void)
{
    Suite *suite = suite_create("reference");
    TCase *tcase = scratch_case("reference");
    tcase_add_test(tcase, rows_are_met_and_nothing_overshoots);
    tcase_add_test(tcase, two_rows_and_no_uncertainty);
    tcase_add_loop_test(tcase, what_is_refused, 0, sizeof wrong / sizeof wrong[0]);
    suite_add_tcase(suite, tcase);
    return suite;
}
