/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/dispersion.h>
#include <math.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static bc_dispersion *read_good(const char *text)
{
    bc_dispersion *table = NULL;
    bc_error error = {0};
    bc_status status = bc_dispersion_read(scratch_write("Demo.csv", text), "Demo", &table, &error);
    ck_assert_msg(status == BC_OK, "%s", error.message);
    return table;
}

static void expect_rows(const bc_dispersion *table, size_t rows, const double (*row)[3])
{
    ck_assert_uint_eq(bc_dispersion_rows(table), rows);
    for (size_t i = 0; i < rows; i++) {
        double nm, n, k;
        bc_dispersion_row(table, i, &nm, &n, &k);
        ck_assert(nm == row[i][0] && n == row[i][1] && k == row[i][2]);
    }
}

START_TEST(good_files)
{
    static const double rows[][3] = {{404.7, 1.5, 0}, {550, 1.45, 0}, {1001, 1.4, 0.25}};
    static const char *const texts[] = {
        "wavelength_nm,n,k\n404.7,1.5,0\n550,1.45,0\n1001,1.4,0.25\n",
        "k,n,wavelength_nm\r\n0,1.5,404.7\r\n0,1.45,550\r\n0.25,1.4,1001\r\n",
        "wavelength_um,n,k\n0.4047,1.5,0\n0.55,1.45,-0\n1.001,1.4,2.5e-1\n", /* times 1000 without a rounding error */
    };
    for (size_t i = 0; i < COUNT(texts); i++) {
        bc_dispersion *table = read_good(texts[i]);
        double from, to;
        expect_rows(table, 3, rows);
        ck_assert(bc_dispersion_absorbs(table));
        ck_assert(!bc_dispersion_is_constant(table));
        bc_dispersion_range(table, &from, &to);
        ck_assert(from == 404.7 && to == 1001);
        ck_assert_str_eq(bc_dispersion_name(table), "Demo");
        ck_assert_str_eq(strrchr(bc_dispersion_path(table), '/'), "/Demo.csv");
        bc_dispersion_free(table);
    }
}
END_TEST

START_TEST(without_k)
{
    static const double rows[][3] = {{400, 1.5, 0}, {700, 1.4, 0}};
    bc_dispersion *table = read_good("wavelength_nm,n\n400,1.5\n700,1.4\n");
    double nm[] = {400, 500, 700}, n[3], k[3];
    expect_rows(table, 2, rows);
    ck_assert(!bc_dispersion_absorbs(table));
    ck_assert_int_eq(bc_dispersion_index(table, 3, nm, n, k, NULL), BC_OK);
    ck_assert(k[0] == 0 && k[1] == 0 && k[2] == 0);
    ck_assert(n[0] == 1.5 && n[2] == 1.4);
    ck_assert_double_eq_tol(n[1], 1.5 - 0.1 / 3, 1e-15); /* two rows: the straight line */
    bc_dispersion_free(table);
}
END_TEST

START_TEST(notes)
{
    bc_dispersion *table =
        read_good("# kind: layer\n# A plain remark\n#source:Someone, J. Opt. 1, 2 (1990),,\n# empty:\n"
                  "# kind: later\n# bell: a\x1B[2Jb\nwavelength_nm,n\n# note: late\n1,1\n2,1\n");
    ck_assert_str_eq(bc_dispersion_note(table, "kind"), "layer");
    ck_assert_str_eq(bc_dispersion_note(table, "source"), "Someone, J. Opt. 1, 2 (1990)");
    ck_assert_str_eq(bc_dispersion_note(table, "empty"), "");
    ck_assert_str_eq(bc_dispersion_note(table, "bell"), "a\\x1B[2Jb");
    ck_assert_ptr_null(bc_dispersion_note(table, "note"));
    ck_assert_ptr_null(bc_dispersion_note(table, "A plain remark"));
    bc_dispersion_free(table);
}
END_TEST

#define ROWS(first) "wavelength_nm,n,k\n" first "\n700,1.4,0\n"

static const refusal refusals[] = {
    {"no wavelength column", "n,k\n1,0\n1,0\n", 0, {"Demo.csv:1: found a header without wavelength_nm", "expected"}},
    {"both wavelength columns",
     "wavelength_nm,n,wavelength_um\n400,1,0.4\n500,1,0.5\n",
     0,
     {"Demo.csv:1: column 3 (wavelength_um): found both wavelength_nm and wavelength_um; expected one of them"}},
    {"no n", "wavelength_nm,k\n400,1\n500,1\n", 0, {"Demo.csv:1: found a header without n; expected"}},
    {"misspelt k", "wavelength_nm,n,kappa\n400,1,0\n", 0, {"Demo.csv:1: column 3: found 'kappa'", "expected"}},
    {"one row", "wavelength_nm,n\n400,1.5\n", 0, {"Demo.csv:2: found a table of one row; expected at least two"}},
    {"not a number",
     ROWS("blue,1.5,0"),
     0,
     {"Demo.csv:2: column 1 (wavelength_nm): found 'blue' (not a number); expected"}},
    {"empty", ROWS(",1.5,0"), 0, {"Demo.csv:2: column 1 (wavelength_nm): found ''", "expected a wavelength in nm"}},
    {"decimal comma", ROWS("400,\"1,5\",0"), 0, {"column 2 (n): found '1,5' (the decimal sign is a point); expected"}},
    {"nan",
     ROWS("400,nan,0"),
     0,
     {"Demo.csv:2: column 2 (n): found 'nan' (not a number); expected a refractive index"}},
    {"inf", ROWS("400,inf,0"), 0, {"column 2 (n): found 'inf' (not a number); expected"}},
    {"hexadecimal", ROWS("400,0x1p0,0"), 0, {"column 2 (n): found '0x1p0' (not a number); expected"}},
    {"overflow", ROWS("400,1.5,1e999"), 0, {"column 3 (k): found '1e999' (too large for a number); expected"}},
    {"underflow", ROWS("400,1e-999,0"), 0, {"column 2 (n): found '1e-999' (too small for a number other than 0)"}},
    {"n zero", ROWS("400,0,0"), 0, {"Demo.csv:2: column 2 (n): found '0'; expected a refractive index n above 0"}},
    {"n negative", ROWS("400,-1.5,0"), 0, {"column 2 (n): found '-1.5'; expected a refractive index n above 0"}},
    {"n absurd",
     ROWS("400,1e5,0"),
     0,
     {"column 2 (n): found '1e5'; expected a refractive index n above 0 and at most"}},
    {"k negative",
     ROWS("400,1.5,-0.01"),
     0,
     {"column 3 (k): found '-0.01'; expected an extinction coefficient k from 0"}},
    {"k empty", ROWS("400,1.5,"), 0, {"Demo.csv:2: column 3 (k): found ''", "expected an extinction coefficient"}},
    {"wavelength zero", ROWS("0,1.5,0"), 0, {"column 1 (wavelength_nm): found '0'; expected a wavelength in nm"}},
    {"wavelength negative", ROWS("-400,1.5,0"), 0, {"column 1 (wavelength_nm): found '-400'; expected a wavelength"}},
    {"wavelength overflows in nm",
     "wavelength_um,n\n0.4,1\n1e307,1\n",
     0,
     {"Demo.csv:3: column 1 (wavelength_um): found '1e307' (too large for a number); expected a wavelength in um"}},
    {"the same wavelength",
     "# c\nwavelength_nm,n\n400,1.5\n\n400,1.5\n",
     0,
     {"Demo.csv:5: column 1 (wavelength_nm): found '400'; expected a wavelength above the '400' of line 3"}},
    {"falling wavelengths",
     "n,wavelength_um\n1.5,0.7\n1.5,0.4\n",
     0,
     {"Demo.csv:3: column 2 (wavelength_um): found '0.4'; expected a wavelength above the '0.7' of line 2"}},
};

START_TEST(refused)
{
    const refusal *bad = &refusals[_i];
    bc_dispersion *table = NULL;
    bc_error error = {0};
    bc_status status = bc_dispersion_read(scratch_write("Demo.csv", bad->bytes), "Demo", &table, &error);
    expect_refusal(bad->what, status, &error, BC_ERROR_INPUT, bad->pieces);
    ck_assert_ptr_null(table);
}
END_TEST

START_TEST(constants)
{
    bc_dispersion *constant = NULL;
    double nm[] = {1e-9, 550, 1e12}, n[3], k[3], from, to;
    ck_assert_int_eq(bc_dispersion_constant("3.1-3.3i", 3.1, 3.3, &constant, NULL), BC_OK);
    ck_assert(bc_dispersion_is_constant(constant));
    ck_assert(bc_dispersion_absorbs(constant));
    ck_assert_uint_eq(bc_dispersion_rows(constant), 0);
    ck_assert_ptr_null(bc_dispersion_path(constant));
    ck_assert_ptr_null(bc_dispersion_note(constant, "kind"));
    bc_dispersion_range(constant, &from, &to);
    ck_assert(from == 0 && isinf(to) && to > 0);
    ck_assert_int_eq(bc_dispersion_index(constant, 3, nm, n, k, NULL), BC_OK);
    for (size_t i = 0; i < 3; i++)
        ck_assert(n[i] == 3.1 && k[i] == 3.3);
    bc_dispersion_free(constant);
}
END_TEST

/* Arrays from a caller are checked as files are. */
START_TEST(bad_arrays)
{
    static const struct {
        double nm[3], n[3], k[3];
        const char *piece;
    } cases[] = {
        {{400, 400, 700}, {1, 1, 1}, {0, 0, 0}, "found wavelength 400 nm in row 2; expected more than the 400 nm"},
        {{400, NAN, 700}, {1, 1, 1}, {0, 0, 0}, "nm in row 2; expected one from"},
        {{400, 500, INFINITY}, {1, 1, 1}, {0, 0, 0}, "nm in row 3; expected one from"},
        {{-1, 500, 700}, {1, 1, 1}, {0, 0, 0}, "found wavelength -1 nm in row 1; expected one from"},
        {{400, 500, 700}, {1, 0, 1}, {0, 0, 0}, "found n = 0; expected n above 0"},
        {{400, 500, 700}, {1, NAN, 1}, {0, 0, 0}, "; expected n above 0"},
        {{400, 500, 700}, {1, 1, 1}, {0, 0, -1}, "found k = -1; expected k from 0"},
        {{400, 500, 700}, {1, 1, 1}, {0, NAN, 0}, "; expected k from 0"},
    };
    bc_dispersion *table = NULL;
    bc_error error = {0};
    for (size_t i = 0; i < COUNT(cases); i++)
        expect_refusal("array", bc_dispersion_table("Demo", 3, cases[i].nm, cases[i].n, cases[i].k, &table, &error),
                       &error, BC_ERROR_INPUT, (const char *[PIECES]){"material 'Demo'", cases[i].piece});
    expect_refusal("one row", bc_dispersion_table("Demo", 1, cases[0].nm, cases[0].n, NULL, &table, &error), &error,
                   BC_ERROR_INPUT, (const char *[PIECES]){"found 1 rows; expected at least two"});
    expect_refusal("constant", bc_dispersion_constant("x", 0, 0, &table, &error), &error, BC_ERROR_INPUT,
                   (const char *[PIECES]){"expected n above 0"});
    expect_refusal("constant", bc_dispersion_constant("x", 1, -1, &table, &error), &error, BC_ERROR_INPUT,
                   (const char *[PIECES]){"expected k from 0"});
    ck_assert_ptr_null(table);
}
END_TEST

START_TEST(outside_the_range)
{
    double ends[2];
    bc_dispersion *table = read_good("wavelength_nm,n\n400,1.5\n550,1.45\n700,1.4\n");
    static const struct {
        double nm;
        const char *found;
    } cases[] = {{399.9, "found wavelength 399.9 nm"},
                 {700.5, "found wavelength 700.5 nm"},
                 {0, "found wavelength 0 nm"},
                 {-5, "found wavelength -5 nm"},
                 {NAN, "found wavelength"},
                 {INFINITY, "found wavelength"}};
    for (size_t i = 0; i < COUNT(cases); i++) {
        double nm[] = {550, cases[i].nm}, n[2];
        bc_error error = {0};
        expect_refusal(
            "range", bc_dispersion_index(table, 2, nm, n, NULL, &error), &error, BC_ERROR_INPUT,
            (const char *[PIECES]){"table 'Demo' (", "Demo.csv)", cases[i].found, "expected one from 400 to 700 nm"});
    }
    ck_assert_int_eq(bc_dispersion_index(table, 2, (double[]){400, 700}, ends, NULL, NULL), BC_OK);
    ck_assert(ends[0] == 1.5 && ends[1] == 1.4);
    bc_dispersion_free(table);
}
END_TEST

START_TEST(endless_name)
{
    char name[2 * BC_NAME_SIZE];
    bc_dispersion *table = NULL;
    bc_error error = {0};
    memset(name, 'x', sizeof name);
    name[BC_NAME_SIZE] = '\0';
    expect_refusal("name", bc_dispersion_constant(name, 1.5, 0, &table, &error), &error, BC_ERROR_INPUT,
                   (const char *[PIECES]){"found the name 'xxx", "expected at most"});
    name[BC_NAME_SIZE - 1] = '\0';
    ck_assert_int_eq(bc_dispersion_constant(name, 1.5, 0, &table, NULL), BC_OK);
    bc_dispersion_free(table);
}
END_TEST

Suite *dispersion_suite(void)
{
    Suite *suite = suite_create("dispersion");
    TCase *tcase = scratch_case("dispersion");
    tcase_add_test(tcase, good_files);
    tcase_add_test(tcase, without_k);
    tcase_add_test(tcase, notes);
    tcase_add_loop_test(tcase, refused, 0, COUNT(refusals));
    tcase_add_test(tcase, constants);
    tcase_add_test(tcase, bad_arrays);
    tcase_add_test(tcase, outside_the_range);
    tcase_add_test(tcase, endless_name);
    suite_add_tcase(suite, tcase);
    return suite;
}
