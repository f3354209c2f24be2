/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/measured.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static const bc_quantity transmittance = BC_T;

static void read_good(const char *text, const bc_measured_options *options, bc_measured_file *file)
{
    bc_error error = {0};
    bc_status status = bc_measured_file_read(scratch_write("scan.txt", text), options, file, &error);
    ck_assert_msg(status == BC_OK, "%s: %s", text, error.message);
}

START_TEST(scatter_of_repeats)
{
    static const char *const three[] = {"R1", "R2", "R3"};
    const bc_measured_options options = {.columns = 3, .column = three, .unit = BC_UNIT_PERCENT};
    bc_measured_file file;
    read_good("nm,R1,R2,R3\n400,1,2,3\n500,1,1,1\n600,,4,6\n", &options, &file);
    ck_assert_uint_eq(file.scans, 3);
    ck_assert_uint_eq(file.repeats[0], 3);
    ck_assert(fabs(file.value[0] - 0.02) < 1e-17 && file.value[1] == 0.01 && fabs(file.value[2] - 0.05) < 1e-17);
    ck_assert(fabs(file.deviation_of_mean[0] - 0.01 / sqrt(3.0)) < 1e-17); /* 1, 2, 3: standard deviation 1 */
    ck_assert(file.deviation_of_mean[1] == 0);
    ck_assert_uint_eq(file.repeats[2], 2);
    ck_assert(fabs(file.deviation_of_mean[2] - 0.01) < 1e-17); /* 4, 6: sqrt(2) / sqrt(2) */
    ck_assert_ptr_null(file.uncertainty);
    bc_measured_file_clear(&file);
    read_good("nm,%R\n400,1\n500,2\n", NULL, &file);
    ck_assert_uint_eq(file.scans, 1);
    ck_assert(isnan(file.deviation_of_mean[0]) && file.repeats[1] == 1);
    bc_measured_file_clear(&file);
}
END_TEST

/* The ends stay, and so do the mean and what is known of each value. */
START_TEST(dense_scans_are_averaged)
{
    static char text[600000];
    size_t used = (size_t)snprintf(text, sizeof text, "nm,%%R,u\n");
    const bc_measured_options options = {.uncertainty_column = "u"};
    bc_measured_file file;
    for (int i = 0; i <= 20000; i++)
        used += (size_t)snprintf(text + used, sizeof text - used, "%.3f,%.3f,0.%d\n", 400.0 + 0.01 * i,
                                 1.0 + 0.0001 * i + (i % 2 == 0 ? 0.01 : -0.01), 1 + i % 4);
    read_good(text, &options, &file);
    bc_measured_file_thin(&file, 30000);
    ck_assert(file.count == 20001 && file.averaged_nm == 0.0);
    bc_measured_file_thin(&file, 1000);
    ck_assert(file.count > 450 && file.count < 510);
    ck_assert_double_eq_tol(file.averaged_nm, 0.4, 1e-12);
    ck_assert_double_eq(file.wavelength_nm[0], 400.0);
    ck_assert_double_eq(file.wavelength_nm[file.count - 1], 600.0);
    for (size_t i = 1; i + 1 < file.count; i++) {
        ck_assert_double_lt(file.wavelength_nm[i - 1], file.wavelength_nm[i]);
        ck_assert_double_eq_tol(file.value[i], 0.01 + 1e-4 * (file.wavelength_nm[i] - 400.0), 3e-6);
        ck_assert_double_eq_tol(file.uncertainty[i], 0.004, 1e-12);
        ck_assert_double_eq_tol((double)file.line[i], 2.0 + 100.0 * (file.wavelength_nm[i] - 400.0), 21.0);
    }
    bc_measured_file_clear(&file);
}
END_TEST

START_TEST(uncertainties)
{
    const bc_measured_options options = {.uncertainty_column = "U(R)"};
    bc_measured_file file;
    read_good("nm,%R,U(R)\n400,1,0.1\n500,2,0.2\n400,1,0.3\n", &options, &file);
    ck_assert_uint_eq(file.count, 2);
    ck_assert(fabs(file.uncertainty[0] - 0.003) < 1e-18 && fabs(file.uncertainty[1] - 0.002) < 1e-18);
    ck_assert_uint_eq(file.columns, 3);
    ck_assert_int_eq(file.column[0].role, BC_ROLE_WAVELENGTH);
    ck_assert_int_eq(file.column[1].role, BC_ROLE_VALUE);
    ck_assert_int_eq(file.column[2].role, BC_ROLE_UNCERTAINTY);
    ck_assert_str_eq(file.column[2].header, "U(R)");
    bc_measured_file_clear(&file);
    read_good("nm,%R,U(R)\n400,1,0.1\n500,2,0.2\n", NULL, &file); /* never taken for the values */
    ck_assert_ptr_null(file.uncertainty);
    ck_assert_int_eq(file.column[2].role, BC_ROLE_LEFT_ASIDE);
    bc_measured_file_clear(&file);
}
END_TEST

START_TEST(quantities)
{
    static const struct {
        const char *header;
        bool has;
        bc_quantity quantity;
    } headers[] = {{"%R", true, BC_R},
                   {"R%", true, BC_R},
                   {"Reflectance", true, BC_R},
                   {"Transmittance [%]", true, BC_T},
                   {"T_percent", true, BC_T},
                   {"Rs", true, BC_R},
                   {"R2 (%)", true, BC_R},
                   {"Tp %", true, BC_T},
                   {"Sample 5", false, BC_R},
                   {"T (\xC2\xB0"
                    "C)",
                    false, BC_R},
                   {"%", false, BC_R},
                   {"Rate", false, BC_R}};
    for (size_t i = 0; i < COUNT(headers); i++) {
        char text[200];
        bc_measured_file file;
        snprintf(text, sizeof text, "nm;%s\n400;1.7\n500;2\n", headers[i].header);
        read_good(text, NULL, &file);
        ck_assert_msg(file.has_quantity == headers[i].has, "%s", headers[i].header);
        ck_assert_msg(!file.has_quantity || file.quantity == headers[i].quantity, "%s", headers[i].header);
        bc_measured_file_clear(&file);
    }
    const bc_measured_options options = {.quantity = &transmittance};
    bc_measured_file file;
    read_good("nm;Sample 5\n400;1.7\n500;2\n", &options, &file);
    ck_assert(file.has_quantity && file.quantity == BC_T && file.quantity_stated == BC_STATED_OPTION);
    bc_measured_file_clear(&file);
}
END_TEST

/* What the file says of angle and polarization, and what looks like it and is not. */
START_TEST(conditions)
{
    static const struct {
        const char *text;
        bool has_aoi;
        double aoi_deg;
        long aoi_line;
        bool has_polarization;
        bc_polarization polarization;
    } files[] = {
        {"Angle of incidence: 7,5 deg\nnm;%R\n400;1.7\n500;2\n", true, 7.5, 1, false, BC_POL_UNPOLARIZED},
        {"nm;Rp at 45\xC2\xB0 (%)\n400;1.7\n500;2\n", true, 45, 1, true, BC_POL_P},
        {"x\naoi,30\nPolarization: s\nnm,%R\n400,1.7\n500,2\n", true, 30, 2, true, BC_POL_S},
        {"nm,%R\n400,1.7\n500,2\nnormal incidence\n", true, 0, 4, false, BC_POL_UNPOLARIZED},
        {"disc 25 mm, 21 deg C, wedge 3 deg\nnm,%R\n400,1.7\n500,2\n", false, 0, 0, false, BC_POL_UNPOLARIZED},
        {"nm,%R\n400,1.7\n500,2\n", false, 0, 0, false, BC_POL_UNPOLARIZED},
    };
    for (size_t i = 0; i < COUNT(files); i++) {
        bc_measured_file file;
        read_good(files[i].text, NULL, &file);
        ck_assert_msg(file.has_aoi == files[i].has_aoi, "%s", files[i].text);
        ck_assert_msg(file.aoi_line == files[i].aoi_line, "%s: line %ld", files[i].text, file.aoi_line);
        ck_assert_msg(!file.has_aoi || fabs(file.aoi_deg - files[i].aoi_deg) < 1e-12, "%s", files[i].text);
        ck_assert_msg(file.has_polarization == files[i].has_polarization, "%s", files[i].text);
        ck_assert_msg(!file.has_polarization || file.polarization == files[i].polarization, "%s", files[i].text);
        bc_measured_file_clear(&file);
    }
}
END_TEST

/* Noise is kept as it is: below 0, above 100 %. */
START_TEST(noise)
{
    bc_measured_file file;
    read_good("nm,%T\n400,-0.01\n500,\xE2\x88\x92"
              "4.99\n600,100.4\n700,109.9\n",
              NULL, &file);
    ck_assert(file.value[0] == -0.0001 && file.value[1] == -0.0499 && file.value[2] == 1.004);
    bc_measured_file_clear(&file);
}
END_TEST

START_TEST(what_was_left_out_is_told)
{
    bc_measured_file file;
    read_good("nm;%R\n300;---\n310;\n400;1\n500;2\n2600;over\n", NULL, &file);
    ck_assert_uint_eq(file.rows_left_out, 3);
    ck_assert_int_eq(file.first_line, 4);
    ck_assert_int_eq(file.last_line, 5);
    ck_assert_int_eq(file.separator, BC_SEPARATOR_SEMICOLON);
    ck_assert_int_eq(file.decimal, BC_DECIMAL_UNTOLD);
    bc_measured_file_clear(&file);
}
END_TEST

/* 40 rows, of which some have no value: the sign for it, then nothing else in its place. */
static size_t without_values(char *text, const char *sign, size_t first, size_t count)
{
    char *end = text + sprintf(text, "nm;%%R;%%R\n");
    for (size_t i = 0; i < 40; i++)
        if (i >= first && i < first + count)
            end += sprintf(end, "%zu;%s;2\n", 400 + 10 * i, sign);
        else
            end += sprintf(end, "%zu;%.2f;2\n", 400 + 10 * i, 1.0 + 0.01 * (double)i);
    return (size_t)(end - text);
}

/* Of two columns: where either has no value, both have none. */
START_TEST(missing_in_one_of_two)
{
    static const char *const one[] = {"2"}, *const other[] = {"3"};
    const bc_measured_options R = {.columns = 1, .column = one, .unit = BC_UNIT_PERCENT};
    const bc_measured_options T = {.columns = 1, .column = other, .unit = BC_UNIT_PERCENT};
    char text[4096] = "nm,R (%),T (%)\n", *end = text + strlen(text);
    bc_measured_file first, second;
    for (int nm = 400; nm < 600; nm += 2)
        end += sprintf(end,
                       nm == 430                ? "%d,,98\n"
                       : nm == 450 || nm == 410 ? "%d,1,*\n"
                       : nm == 470              ? "%d,,\n"
                                                : "%d,1,98\n",
                       nm);
    read_good(text, &R, &first);
    read_good(text, &T, &second);
    ck_assert_int_eq(bc_measured_file_pair(&first, &second, NULL), BC_OK);
    ck_assert_uint_eq(first.count, 96);
    ck_assert_uint_eq(second.count, 96);
    for (size_t i = 0; i < 96; i++)
        ck_assert(first.wavelength_nm[i] == second.wavelength_nm[i] && first.line[i] == second.line[i] &&
                  first.value[i] == 0.01 && second.value[i] == 0.98);
    ck_assert_uint_eq(first.missing, 4);
    ck_assert_uint_eq(second.missing, 4);
    for (size_t m = 0; m < 4; m++)
        ck_assert(first.missing_nm[m] == 410.0 + 20.0 * (double)m && second.missing_nm[m] == first.missing_nm[m] &&
                  first.missing_line[m] == 7 + 10 * (long)m);
    bc_measured_file_clear(&first);
    bc_measured_file_clear(&second);
}
END_TEST

/* One value in twenty may be missing within a scan. */
START_TEST(missing_values)
{
    static const char *const one[] = {"2"}, *const both[] = {"2", "3"},
                             *const signs[] = {"NaN", "nan", "", "*", "****"};
    const bc_measured_options options = {.columns = 1, .column = one, .unit = BC_UNIT_PERCENT};
    const bc_measured_options repeats = {.columns = 2, .column = both, .unit = BC_UNIT_PERCENT};
    char text[1024];
    bc_measured_file file;
    bc_error error = {0};
    without_values(text, signs[_i], 12, 1);
    read_good(text, &options, &file);
    ck_assert_uint_eq(file.count, 39);
    ck_assert_uint_eq(file.missing, 1);
    ck_assert(file.missing_nm[0] == 520.0 && file.missing_line[0] == 14);
    ck_assert(file.wavelength_nm[11] == 510.0 && file.wavelength_nm[12] == 530.0);
    ck_assert_uint_eq(file.rows_left_out, 0);
    bc_measured_file_clear(&file);
    read_good(text, &repeats, &file); /* the other column has a value there */
    ck_assert_uint_eq(file.count, 40);
    ck_assert_uint_eq(file.missing, 0);
    ck_assert(file.repeats[12] == 1 && file.repeats[13] == 2 && file.value[12] == 0.02);
    bc_measured_file_clear(&file);
    without_values(text, signs[_i], 12, 3);
    ck_assert_int_eq(bc_measured_file_read(scratch_write("scan.txt", text), &options, &file, &error), BC_ERROR_INPUT);
    ck_assert_msg(strstr(error.message, ":14: column 2 (%R): found '") != NULL &&
                      strstr(error.message, "one value in twenty") != NULL,
                  "%s", error.message);
}
END_TEST

/* Micrometres become nm as if they had been written so. */
START_TEST(rounded_once)
{
    bc_measured_file file;
    read_good("um;%R\n0.5501;0.57\n0.5876;0.29\n", NULL, &file);
    ck_assert(file.wavelength_nm[0] == 550.1 && file.wavelength_nm[1] == 587.6);
    ck_assert(file.value[0] == 0.0057 && file.value[1] == 0.0029);
    bc_measured_file_clear(&file);
}
END_TEST

START_TEST(many_rows)
{
    const size_t rows = 30000;
    char *text = malloc(rows * 24 + 10), *end = text;
    bc_measured_file file;
    end += sprintf(end, "nm;%%R\n");
    for (size_t i = rows; i-- > 0;)
        end += sprintf(end, "%.2f;%.3f\n", 300 + 0.05 * (double)i, (double)(i % 1000) / 500);
    read_good(text, NULL, &file);
    ck_assert_uint_eq(file.count, rows);
    ck_assert(file.wavelength_nm[1] == 300.05 && file.value[1] == 0.00002);
    bc_measured_file_clear(&file);
    free(text);
}
END_TEST

/* Letters of three and of four bytes in UTF-8: U+20AC, and U+1D445 as the pair D835 DC45 (RFC 2781). */
START_TEST(letters_beyond_the_first_thousands)
{
    static const char text[] = "\xFE\xFF\0n\0m\0;\0%\0R\0;\x20\xAC\xD8\x35\xDC\x45\0\n"
                               "\0\x34\0\x30\0\x30\0;\0\x31\0;\0x\0\n"
                               "\0\x35\0\x30\0\x30\0;\0\x32\0;\0x\0\n";
    bc_measured_file file;
    bc_error error = {0};
    ck_assert_msg(bc_measured_file_read(scratch_write_bytes("scan.txt", text, sizeof text - 1), NULL, &file, &error) ==
                      BC_OK,
                  "%s", error.message);
    ck_assert_uint_eq(file.count, 2);
    ck_assert_uint_eq(file.columns, 3);
    ck_assert_str_eq(file.column[2].header, "\xE2\x82\xAC\xF0\x9D\x91\x85");
    bc_measured_file_clear(&file);
}
END_TEST

Suite *measured_suite(void)
{
    Suite *suite = suite_create("measured");
    TCase *tcase = scratch_case("measured");
    tcase_add_test(tcase, scatter_of_repeats);
    tcase_add_test(tcase, uncertainties);
    tcase_add_test(tcase, dense_scans_are_averaged);
    tcase_add_test(tcase, quantities);
    tcase_add_test(tcase, conditions);
    tcase_add_test(tcase, noise);
    tcase_add_test(tcase, what_was_left_out_is_told);
    tcase_add_loop_test(tcase, missing_values, 0, 5);
    tcase_add_test(tcase, missing_in_one_of_two);
    tcase_add_test(tcase, rounded_once);
    tcase_add_test(tcase, many_rows);
    tcase_add_test(tcase, letters_beyond_the_first_thousands);
    suite_add_tcase(suite, tcase);
    return suite;
}
