/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fixture.h"
#include <math.h>

static double wavelength_nm[] = {380.0, 380.1};
static double R[3][2] = {{0.01, 0.25}, {0.0123456789012345, 1e-15}, {0.5, 1.0}};
static double T[3][2] = {{0.99, 0.75}, {0.9, 1.0}, {0.5, 0.0}};
static double A[3][2] = {{0.0, 0.0}, {0.0876543210987655, 0.0}, {NAN, 0.0}};
static const double aoi_rad[] = {0.0, M_PI / 6};

static const bc_spectrum spectrum[2] = {
    {2, wavelength_nm, {R[2], R[0], R[1]}, {T[2], T[0], T[1]}, {A[2], A[0], A[1]}, NULL},
    {2, wavelength_nm, {R[2], R[0], R[1]}, {T[2], T[0], T[1]}, {A[2], A[0], A[1]}, NULL},
};

START_TEST(csv_has_twelve_digits_and_names_the_plane)
{
    const bc_spectrum_report report = {2, aoi_rad, spectrum, BC_POL_EACH, NULL, 0.0};
    bc_text text = {0};
    ck_assert_int_eq(bc_report_spectrum_csv(&report, &text, NULL), BC_OK);
    ck_assert_str_eq(text.data, "wavelength_nm,aoi_deg,polarization,R_percent,T_percent,A_percent\n"
                                "380,0,s,1,99,0\n"
                                "380.1,0,s,25,75,0\n"
                                "380,0,p,1.23456789012,90,8.76543210988\n"
                                "380.1,0,p,1e-13,100,0\n"
                                "380,30,s,1,99,0\n"
                                "380.1,30,s,25,75,0\n"
                                "380,30,p,1.23456789012,90,8.76543210988\n"
                                "380.1,30,p,1e-13,100,0\n");
    bc_text_clear(&text);
}
END_TEST

START_TEST(json_has_curves_and_null_for_what_is_no_number)
{
    const bc_spectrum_report report = {1, aoi_rad, spectrum, BC_POL_UNPOLARIZED, NULL, 0.0};
    bc_text text = {0};
    cJSON *root;
    const cJSON *curve, *a;
    ck_assert_int_eq(bc_report_spectrum_json(&report, &text, NULL), BC_OK);
    root = parse(&text);
    ck_assert(cJSON_GetArrayItem(cJSON_GetObjectItem(root, "wavelength_nm"), 1)->valuedouble == 380.1);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(root, "curves")), 1);
    curve = cJSON_GetArrayItem(cJSON_GetObjectItem(root, "curves"), 0);
    ck_assert_str_eq(string_of(curve, "polarization"), "unpolarized");
    ck_assert(number_of(curve, "aoi_deg") == 0.0);
    ck_assert(cJSON_GetArrayItem(cJSON_GetObjectItem(curve, "R_percent"), 1)->valuedouble == 100.0);
    a = cJSON_GetObjectItem(curve, "A_percent");
    ck_assert(cJSON_IsNull(cJSON_GetArrayItem(a, 0)));
    ck_assert(cJSON_GetArrayItem(a, 1)->valuedouble == 0.0);
    cJSON_Delete(root);
    bc_text_clear(&text);
}
END_TEST

/* A line as wide as a terminal: 60 columns of R, the largest of each, scaled to the largest of all. */
START_TEST(a_sketch_follows_the_curve)
{
    enum { POINTS = 120 };
    double nm[POINTS], reflected[POINTS];
    const double angle[] = {0.0};
    const bc_spectrum one = {.count = POINTS, .wavelength_nm = nm, .R = {reflected, reflected, reflected}};
    const bc_spectrum_report report = {1, angle, &one, BC_POL_UNPOLARIZED, NULL, 0.0};
    bc_text text = {0};
    for (int i = 0; i < POINTS; i++) {
        nm[i] = 400.0 + i;
        reflected[i] = i < 60 ? 0.0 : 0.5; /* nothing, then the most */
    }
    reflected[31] = 0.26; /* one sample of column 15, a little over half */
    ck_assert_int_eq(bc_report_spectrum_sketch(&report, false, &text, NULL), BC_OK);
    ck_assert_str_eq(text.data, "R at 400 to 519 nm; degrees to the left, the largest R to the right\n"
                                "  0.0   _______________=______________##############################"
                                " 50 %\n");
    expect_tidy(text.data);
    bc_text_clear(&text);
    ck_assert_int_eq(bc_report_spectrum_sketch(&report, true, &text, NULL), BC_OK);
    ck_assert_uint_eq(occurrences(text.data, "█"), 30);
    bc_text_clear(&text);
}
END_TEST

/* Fewer samples than columns: each is drawn several times. */
START_TEST(a_sketch_of_one_wavelength)
{
    double nm = 550.0, reflected = 0.0;
    const double angle[] = {0.5};
    const bc_spectrum one = {.count = 1, .wavelength_nm = &nm, .R = {&reflected, &reflected, &reflected}};
    const bc_spectrum_report report = {1, angle, &one, BC_POL_EACH, NULL, 0.0};
    bc_text text = {0};
    ck_assert_int_eq(bc_report_spectrum_sketch(&report, false, &text, NULL), BC_OK);
    ck_assert_uint_eq(occurrences(text.data, "_"), 120);
    bc_text_clear(&text);
}
END_TEST

Suite *spectrum_suite(void)
{
    Suite *suite = suite_create("spectrum");
    TCase *tcase = tcase_create("all");
    tcase_add_test(tcase, csv_has_twelve_digits_and_names_the_plane);
    tcase_add_test(tcase, json_has_curves_and_null_for_what_is_no_number);
    tcase_add_test(tcase, a_sketch_follows_the_curve);
    tcase_add_test(tcase, a_sketch_of_one_wavelength);
    suite_add_tcase(suite, tcase);
    return suite;
}
