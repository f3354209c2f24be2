/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The picture of a material's table.
 */
#include "fixture.h"
#include <bloomcoat/plot.h>
#include <stdio.h>
#include <string.h>

/* Height of the picture of a table with these k, in points. */
static double height_of(const char *name, const char *k)
{
    const bc_plot_options options = {.format = BC_PLOT_SVG};
    char table[300], file[64];
    bc_materials *materials;
    bc_medium medium;
    bc_text svg = {0};
    double height = 0.0;
    const char *at;
    snprintf(table, sizeof table, "# source: by hand\nwavelength_nm,n,k\n380,1.5,%s\n500,1.45,1e-5\n800,1.4,1e-3\n", k);
    snprintf(file, sizeof file, "%s.csv", name);
    scratch_write(file, table);
    materials = scratch_materials();
    ck_assert_int_eq(bc_medium_find(materials, name, NULL, &medium, NULL), BC_OK);
    ck_assert_int_eq(bc_plot_material(medium.dispersion, &options, &svg, NULL), BC_OK);
    at = strstr(svg.data, " height=\"");
    ck_assert_ptr_nonnull(at);
    ck_assert_int_eq(sscanf(at, " height=\"%lf", &height), 1);
    bc_text_clear(&svg);
    bc_materials_free(materials);
    return height;
}

/* A k of 0 has no place on an axis by decades: a line below the picture says so. */
START_TEST(a_k_of_zero_is_told_where_it_is_not_drawn)
{
    const double by_decades = height_of("decades", "1e-6"), with_zero = height_of("zero", "0");
    ck_assert_double_gt(with_zero, by_decades + 5.0);
    ck_assert_double_lt(with_zero, by_decades + 20.0);
}
END_TEST

Suite *plot_material_suite(void)
{
    Suite *suite = suite_create("plot, material");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, a_k_of_zero_is_told_where_it_is_not_drawn);
    suite_add_tcase(suite, tcase);
    return suite;
}
