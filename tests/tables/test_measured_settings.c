/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a measured file says of the instrument's settings and of the sample, against what the caller says.
 */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/measured.h>
#include <stdio.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define ROWS         "400,1.5\n404,0.25\n408,2\n"

static const double known = 0.0005; /* 0.05 % */
static const bc_measured_options as_said = {.uncertainty = &known, .one_side_coated = true};

static const char *const asked[] = {
    "Slit width: 10.1 nm\nnm,%R\n",
    "Bandwidth (nm): 20\nnm,%R\n",
    "SBW,40 nm\nnm,%R\n",
    "Smoothing: 3 points\nnm,%R\n",
    "Smoothed over 12 nm\nnm,%R\n",
    "Moving average: on\nnm,%R\n",
    "Both sides coated\nnm,%R\n",
    "Both sides coated, R total\nnm,%R\n",
    "Back: coated\nnm,%R\n",
    "Coated sides: 2\nnm,%R\n",
    "Uncertainty: 0.06 %\nnm,%R\n",
    "Uncertainty (k=2): 0,1 %\nnm,%R\n",
    "Measurement uncertainty +/- 1 percent\nnm,%R\n",
};

static const char *const read_plainly[] = {
    "Slit width: 10 nm\nnm,%R\n",
    "Slit: 500 um\nnm,%R\n",
    "Slit height: 40 mm\nnm,%R\n",
    "Smoothing: off\nnm,%R\n",
    "Smoothing: 2 points\nnm,%R\n",
    "Smoothed over 10 nm\nnm,%R\n",
    "Both sides cleaned\nnm,%R\n",
    "Back: uncoated\nnm,%R\n",
    "Coated on both sides: no\nnm,%R\n",
    "Uncertainty (k=2): 0.05 %\nnm,%R\n",
    "Wavelength uncertainty: 0.3 nm\nnm,%R\n",
    "Relative uncertainty: 1 %\nnm,%R\n",
};

static bc_status read_with(const char *head, const char *rows, const bc_measured_options *options,
                           bc_measured_file *file, bc_error *error)
{
    char text[256];
    snprintf(text, sizeof text, "%s%s", head, rows);
    return bc_measured_file_read(scratch_write("scan.txt", text), options, file, error);
}

START_TEST(asked_about)
{
    static const char *const pieces[] = {"scan.txt:1: found", "--overrule", NULL};
    bc_measured_options options = as_said;
    bc_measured_file file;
    bc_error error = {0};
    expect_refusal(asked[_i], read_with(asked[_i], ROWS, &options, &file, &error), &error, BC_ERROR_INPUT, pieces);
    options.overrule = true;
    ck_assert_msg(read_with(asked[_i], ROWS, &options, &file, &error) == BC_OK, "%s", error.message);
    ck_assert(file.overruled);
    bc_measured_file_clear(&file);
}
END_TEST

START_TEST(read_as_it_is)
{
    bc_measured_file file;
    bc_error error = {0};
    ck_assert_msg(read_with(read_plainly[_i], ROWS, &as_said, &file, &error) == BC_OK, "%s: %s", read_plainly[_i], error.message);
    ck_assert(!file.overruled);
    bc_measured_file_clear(&file);
}
END_TEST

/* A caller with a larger uncertainty, or one who sees both sides, has nothing to be asked. */
START_TEST(said_by_the_caller)
{
    const double larger = 0.01;
    const bc_measured_options options = {.uncertainty = &larger};
    bc_measured_file file;
    bc_error error = {0};
    ck_assert_int_eq(read_with("Uncertainty: 1 %\nBack: coated\nnm,%R,U (%)\n", "400,1.5,1\n404,0.25,1\n408,2,1\n",
                               &options, &file, &error),
                     BC_OK);
    ck_assert(!file.overruled);
    bc_measured_file_clear(&file);
}
END_TEST

/* Uncertainties in percent and in fractions; the scatter of repeats is another thing. */
START_TEST(uncertainties_beside)
{
    static const char *const head[] = {"nm,%R,U (%)\n", "nm,%R,U (fraction)\n", "nm,%R,U (%)\n", "nm,%R,sd (%)\n"};
    static const char *const rows[] = {
        "400,1.5,0.05\n404,0.25,0.06\n408,2,0.05\n", "400,1.5,0.0005\n404,0.25,0.0006\n408,2,0.0005\n",
        "400,1.5,0.05\n404,0.25,0.05\n408,2,0.05\n", "400,1.5,0.5\n404,0.25,0.5\n408,2,0.5\n"};
    static const char *const pieces[] = {"column 3", "--uncertainty-column", NULL};
    bc_measured_options options = as_said;
    bc_measured_file file;
    bc_error error = {0};
    bc_status status = read_with(head[_i], rows[_i], &options, &file, &error);
    if (_i < 2)
        expect_refusal(head[_i], status, &error, BC_ERROR_INPUT, pieces);
    else
        ck_assert_msg(status == BC_OK, "%s", error.message);
    bc_measured_file_clear(&file);
    options.uncertainty_column = "3";
    status = read_with(head[_i], rows[_i], &options, &file, &error);
    ck_assert_msg(status == BC_OK, "%s", error.message);
    bc_measured_file_clear(&file);
}
END_TEST

Suite *measured_settings_suite(void)
{
    Suite *suite = suite_create("measured, settings");
    TCase *tcase = scratch_case("settings");
    tcase_add_loop_test(tcase, asked_about, 0, COUNT(asked));
    tcase_add_loop_test(tcase, read_as_it_is, 0, COUNT(read_plainly));
    tcase_add_test(tcase, said_by_the_caller);
    tcase_add_loop_test(tcase, uncertainties_beside, 0, 4);
    suite_add_tcase(suite, tcase);
    return suite;
}
