/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "glass_code.h"
#include "scratch.h"
#include "suites.h"
#include <math.h>
#include <string.h>

#define LINE_D 587.5618
#define LINE_F 486.1327
#define LINE_C 656.2725

static double index_at(const bc_dispersion *table, double nm)
{
    double n = 0.0;
    ck_assert_int_eq(bc_dispersion_index(table, 1, &nm, &n, NULL, NULL), BC_OK);
    return n;
}

/* The worst difference between the table of a code and what the code alone gives, over what both hold of a band. */
static double worst(const bc_dispersion *table, const bc_dispersion *estimate, double to_nm)
{
    double from, last, error = 0.0;
    bc_dispersion_range(table, &from, &last);
    for (double nm = fmax(400.0, from); nm <= fmin(to_nm, last); nm += 2.5)
        error = fmax(error, fabs(index_at(table, nm) - index_at(estimate, nm)));
    return error;
}

/* The stated uncertainty holds for every optical glass of which there are coefficients, and is no larger than it has to
 * be. Source: the file's own. */
START_TEST(the_estimate_is_as_good_as_stated)
{
    bc_materials *materials = NULL;
    const char *const *name;
    size_t names;
    double worst_visible = 0.0, worst_all = 0.0;
    ck_assert_int_eq(bc_materials_alloc(&materials, NULL), BC_OK);
    ck_assert_int_eq(bc_materials_add_folder(materials, BC_SOURCE_DIR "/materials", NULL), BC_OK);
    ck_assert_int_eq(bc_materials_glasses(materials, &names, &name, NULL), BC_OK);
    ck_assert_uint_eq(names, 406);
    for (size_t i = 0; i < names; i++) {
        const bc_dispersion *table;
        bc_dispersion *estimate = NULL;
        double nd, vd;
        ck_assert_msg(bc_glass_code(name[i], &nd, &vd), "%s", name[i]);
        ck_assert_int_eq(bc_materials_find(materials, name[i], NULL, &table, NULL), BC_OK);
        ck_assert_ptr_nonnull(bc_dispersion_path(table));
        ck_assert_int_eq(bc_glass_code_table(name[i], nd, vd, &estimate, NULL), BC_OK);
        worst_visible = fmax(worst_visible, worst(table, estimate, 700.0));
        worst_all = fmax(worst_all, worst(table, estimate, 1100.0));
        bc_dispersion_free(estimate);
    }
    ck_assert_msg(worst_visible <= BC_CODE_ERROR_VISIBLE && worst_visible > 0.8 * BC_CODE_ERROR_VISIBLE, "%g",
                  worst_visible);
    ck_assert_msg(worst_all <= BC_CODE_ERROR && worst_all > 0.8 * BC_CODE_ERROR, "%g", worst_all);
    bc_materials_free(materials);
}
END_TEST

/* nd and Vd come back: Vd = (nd - 1)/(nF - nC) is the definition of the Abbe number (ISO 7944, from memory). */
START_TEST(the_code_comes_back)
{
    static const char *const codes[] = {"517642", "744447", "620364", "923209", "438950", "000255", "805254"};
    for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++) {
        bc_dispersion *table = NULL;
        double nd, vd, n;
        ck_assert(bc_glass_code(codes[i], &nd, &vd));
        ck_assert_int_eq(bc_glass_code_table(codes[i], nd, vd, &table, NULL), BC_OK);
        n = index_at(table, LINE_D);
        ck_assert_msg(fabs(n - nd) < 2e-6, "%s: nd %.7f", codes[i], n);
        const double abbe = (n - 1.0) / (index_at(table, LINE_F) - index_at(table, LINE_C));
        ck_assert_msg(fabs(abbe / vd - 1.0) < 5e-4, "%s: Vd %.4f", codes[i], abbe);
        ck_assert_ptr_nonnull(strstr(bc_dispersion_note(table, "caution"), "estimate from the code"));
        ck_assert_ptr_nonnull(strstr(bc_dispersion_note(table, "source"), "estimate"));
        bc_dispersion_free(table);
    }
}
END_TEST

START_TEST(other_names_are_no_codes)
{
    static const char *const names[] = {"51764",  "5176420", "51764x", "MgF2",  "",
                                        "117642", "517999",  "517050", "300500"};
    double nd, vd;
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        ck_assert_msg(!bc_glass_code(names[i], &nd, &vd), "%s", names[i]);
    ck_assert(bc_glass_code("000255", &nd, &vd) && nd == 2.0 && vd == 25.5);
}
END_TEST

/* A table of one's own is used where there is one; the estimate is found by name like any other material. */
START_TEST(a_table_comes_first)
{
    bc_materials *materials = scratch_materials();
    const bc_dispersion *found;
    scratch_write("744447.csv", "wavelength_nm,n\n400,1.8\n1200,1.7\n");
    ck_assert_int_eq(bc_materials_find(materials, "744447", NULL, &found, NULL), BC_OK);
    ck_assert_ptr_null(bc_dispersion_note(found, "caution"));
    ck_assert(index_at(found, 400.0) == 1.8);
    ck_assert_int_eq(bc_materials_find(materials, "744448", NULL, &found, NULL), BC_OK);
    ck_assert_ptr_nonnull(bc_dispersion_note(found, "caution"));
    bc_materials_free(materials);
}
END_TEST

Suite *glass_code_suite(void)
{
    Suite *suite = suite_create("glass_code");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, the_estimate_is_as_good_as_stated);
    tcase_add_test(tcase, the_code_comes_back);
    tcase_add_test(tcase, other_names_are_no_codes);
    tcase_add_test(tcase, a_table_comes_first);
    suite_add_tcase(suite, tcase);
    return suite;
}
