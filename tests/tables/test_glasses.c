/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/materials.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FILE_NAME BC_SOURCE_DIR "/materials/glasses.csv"

/* A row of the file, read without the reader. */
typedef struct glass {
    char code[8];
    double b[3], c[3], from_um, to_um, nd, vd;
} glass;

static size_t read_rows(glass row[500])
{
    FILE *file = fopen(FILE_NAME, "r");
    char line[500];
    size_t count = 0;
    ck_assert_ptr_nonnull(file);
    while (fgets(line, sizeof line, file) != NULL) {
        glass *g = &row[count];
        if (sscanf(line, "%6[0-9],%lf %lf %lf %lf %lf %lf,%lf,%lf,%lf,%lf", g->code, &g->b[0], &g->c[0], &g->b[1],
                   &g->c[1], &g->b[2], &g->c[2], &g->from_um, &g->to_um, &g->nd, &g->vd) == 11)
            count++;
    }
    fclose(file);
    return count;
}

static double formula(const glass *g, double nm)
{
    const double square = nm * nm * 1e-6;
    double n2 = 1.0;
    for (size_t i = 0; i < 3; i++)
        n2 += g->b[i] * square / (square - g->c[i]);
    return sqrt(n2);
}

/* The coefficients give nd and Vd of their row, and these the code: nd - 1 to three digits and 10 Vd, a half either way
 * (codes are cut or rounded, as the maker likes). */
START_TEST(every_row_gives_its_code_back)
{
    static glass row[500];
    ck_assert_uint_eq(read_rows(row), 406);
    for (size_t i = 0; i < 406; i++) {
        const glass *g = &row[i];
        const double nd = formula(g, 587.5618), vd = (nd - 1.0) / (formula(g, 486.1327) - formula(g, 656.2725));
        const int code = atoi(g->code);
        ck_assert_msg(fabs(nd - g->nd) < 2e-6 && fabs(vd - g->vd) < 2e-3, "%s: %.6f %.4f", g->code, nd, vd);
        ck_assert_msg(fabs(fmod(nd, 1.0) - code / 1000 / 1000.0) < 0.00101 ||
                          fabs(fmod(nd, 1.0) - code / 1000 / 1000.0) > 0.99899,
                      "%s: nd %.6f", g->code, nd);
        ck_assert_msg(fabs(vd - code % 1000 / 10.0) < 0.101, "%s: Vd %.4f", g->code, vd);
    }
}
END_TEST

/* What is read is the formula, between the rows of the table too. */
START_TEST(what_is_read_is_the_formula)
{
    static glass row[500];
    bc_materials *materials = NULL;
    double worst = 0.0;
    size_t looked_at = 0;
    ck_assert_uint_eq(read_rows(row), 406);
    ck_assert_int_eq(bc_materials_alloc(&materials, NULL), BC_OK);
    ck_assert_int_eq(bc_materials_add_folder(materials, BC_SOURCE_DIR "/materials", NULL), BC_OK);
    for (size_t i = 0; i < 406; i += 5) {
        const bc_dispersion *table;
        double from_nm, to_nm, n;
        ck_assert_int_eq(bc_materials_find(materials, row[i].code, NULL, &table, NULL), BC_OK);
        if (strstr(bc_dispersion_path(table), "glasses.csv") == NULL)
            continue;
        bc_dispersion_range(table, &from_nm, &to_nm);
        ck_assert_double_eq_tol(from_nm, 1000.0 * row[i].from_um, 1e-9);
        ck_assert_double_eq_tol(to_nm, 1000.0 * row[i].to_um, 1e-9);
        for (double nm = fmax(from_nm, 350.0); nm < to_nm; nm += 1.7) {
            ck_assert_int_eq(bc_dispersion_index(table, 1, &nm, &n, NULL, NULL), BC_OK);
            worst = fmax(worst, fabs(n - formula(&row[i], nm)));
        }
        ck_assert_ptr_nonnull(strstr(bc_dispersion_note(table, "source"), "Polyanskiy"));
        ck_assert_str_eq(bc_dispersion_note(table, "kind"), "substrate");
        looked_at++;
    }
    ck_assert_uint_ge(looked_at, 70);
    ck_assert_msg(worst < 3e-6, "%g", worst);
    bc_materials_free(materials);
}
END_TEST

/* Indices that glass catalogues print for these codes, to the digits they print. Source: catalogue values, from memory.
 */
START_TEST(published_indices_come_out)
{
    static const struct {
        const char *code;
        double nm, n;
    } published[] = {
        {"517642", 486.1327, 1.52238}, {"517642", 656.2725, 1.51432}, {"517642", 1064.0, 1.50663},
        {"620364", 486.1327, 1.63208}, {"620364", 656.2725, 1.61503},
    };
    static glass row[500];
    const size_t count = read_rows(row);
    for (size_t p = 0; p < sizeof published / sizeof published[0]; p++)
        for (size_t i = 0; i < count; i++)
            if (strcmp(row[i].code, published[p].code) == 0)
                ck_assert_msg(fabs(formula(&row[i], published[p].nm) - published[p].n) < 1.1e-5, "%s at %g: %.6f",
                              row[i].code, published[p].nm, formula(&row[i], published[p].nm));
}
END_TEST

static const struct {
    const char *row, *pieces[PIECES];
} wrong[] = {
    {"517642,1 2 3,0.3,2.5", {"glasses.csv:2", "six numbers"}},
    {"517642,1 0.01 1 0.02 1 x,0.3,2.5", {"six numbers"}},
    {"517642,1 0.01 1 0.02 1 100 7,0.3,2.5", {"six numbers"}},
    {"517642,1 0.01 1 0.02 1 100,2.5,0.3", {"above from_um"}},
    {"517642,1 0.25 1 0.02 1 100,0.3,2.5", {"an index between 1 and 10"}},
    {"517642,1 0.01 1 0.02 1 100,0,2.5", {"from 0.05 to 50"}},
};

START_TEST(a_wrong_row_is_refused)
{
    char text[200];
    bc_materials *materials = NULL;
    const bc_dispersion *table;
    bc_error error = {0};
    snprintf(text, sizeof text, "code,coefficients,from_um,to_um\n%s\n", wrong[_i].row);
    scratch_write("glasses.csv", text);
    ck_assert_int_eq(bc_materials_alloc(&materials, NULL), BC_OK);
    ck_assert_int_eq(bc_materials_add_folder(materials, scratch_folder(), NULL), BC_OK);
    expect_refusal(wrong[_i].row, bc_materials_find(materials, "517642", "here", &table, &error), &error,
                   BC_ERROR_INPUT, wrong[_i].pieces);
    bc_materials_free(materials);
}
END_TEST

/* A table of its own comes first; a code that stands nowhere is estimated. */
START_TEST(a_table_comes_before_the_file)
{
    bc_materials *materials = NULL;
    const bc_dispersion *table;
    const char *const *name;
    size_t count;
    scratch_write("glasses.csv", "code,coefficients,from_um,to_um\n517642,1 0.01 0.2 0.02 1 100,0.3,2.5\n"
                                 "620364,1 0.01 0.2 0.02 1 100,0.3,2.5\n");
    scratch_write("517642.csv", "wavelength_nm,n\n300,1.6\n900,1.5\n");
    ck_assert_int_eq(bc_materials_alloc(&materials, NULL), BC_OK);
    ck_assert_int_eq(bc_materials_add_folder(materials, scratch_folder(), NULL), BC_OK);
    ck_assert_int_eq(bc_materials_find(materials, "517642", NULL, &table, NULL), BC_OK);
    ck_assert_uint_eq(bc_dispersion_rows(table), 2);
    ck_assert_int_eq(bc_materials_find(materials, "620364", NULL, &table, NULL), BC_OK);
    ck_assert_uint_gt(bc_dispersion_rows(table), 100);
    ck_assert_int_eq(bc_materials_find(materials, "744447", NULL, &table, NULL), BC_OK);
    ck_assert_ptr_null(bc_dispersion_path(table));
    ck_assert_int_eq(bc_materials_list(materials, &count, &name, NULL), BC_OK);
    ck_assert_uint_eq(count, 1);
    ck_assert_int_eq(bc_materials_glasses(materials, &count, &name, NULL), BC_OK);
    ck_assert_uint_eq(count, 2);
    ck_assert_str_eq(name[0], "517642");
    bc_materials_free(materials);
}
END_TEST

Suite *glasses_suite(void)
{
    Suite *suite = suite_create("glasses");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, every_row_gives_its_code_back);
    tcase_add_test(tcase, what_is_read_is_the_formula);
    tcase_add_test(tcase, published_indices_come_out);
    tcase_add_loop_test(tcase, a_wrong_row_is_refused, 0, sizeof wrong / sizeof wrong[0]);
    tcase_add_test(tcase, a_table_comes_before_the_file);
    suite_add_tcase(suite, tcase);
    return suite;
}
