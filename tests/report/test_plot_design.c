/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The picture of a stack: a bar for each layer, from the substrate out, in the colour of its material.
 */
#include "chart.h"
#include "fixture.h"
#include "plot_words.h"
#include <string.h>

/* Materials have colours in the order in which they first come, from the incident medium in; a material that comes
 * again has its own again. */
START_TEST(each_material_has_one_colour)
{
    static const char *const name[] = {"2.1", "1.46", "2.1", "1.38", "1.7", "1.46", "2.1", "1.7"};
    static const int style[] = {0, 1, 0, 2, 3, 1, 0, 3};
    enum { LAYERS = sizeof name / sizeof name[0] };
    bc_materials *materials = scratch_materials();
    bc_layer layer[LAYERS] = {0};
    bc_stack stack = {.layers = LAYERS, .layer = layer};
    const bc_plot_options options = {0};
    double at = 0.0;
    bc_chart chart;
    ck_assert_int_eq(bc_medium_find(materials, "air", NULL, &stack.incident, NULL), BC_OK);
    ck_assert_int_eq(bc_medium_find(materials, "1.52", NULL, &stack.substrate, NULL), BC_OK);
    for (size_t j = 0; j < LAYERS; j++) {
        ck_assert_int_eq(bc_medium_find(materials, name[j], NULL, &layer[j].material, NULL), BC_OK);
        layer[j].thickness_nm = 10.0 * (double)(j + 1);
    }
    bc_chart_open(&chart, &options);
    ck_assert_int_eq(bc_plot_stack_panel(&chart, &stack, 550.0, NULL), BC_OK);
    ck_assert_uint_eq(chart.panel[0].items, LAYERS + 2);
    for (size_t j = 0; j < LAYERS; j++) { /* the substrate's is the first bar, the innermost layer's the next */
        const bc_chart_item *bar = &chart.panel[0].item[LAYERS - j];
        ck_assert_str_eq(bar->text, name[j]);
        ck_assert_int_eq(bar->style, style[j]);
        ck_assert(!bar->bad);
    }
    for (size_t j = LAYERS; j-- > 0; at += layer[j].thickness_nm) {
        ck_assert_double_eq_tol(chart.panel[0].item[LAYERS - j].from, at, 1e-9);
        ck_assert_double_eq_tol(chart.panel[0].item[LAYERS - j].to, at + layer[j].thickness_nm, 1e-9);
    }
    ck_assert(chart.panel[0].item[0].bad && chart.panel[0].item[LAYERS + 1].bad);
    bc_chart_clear(&chart);
    bc_materials_free(materials);
}
END_TEST

Suite *plot_design_suite(void)
{
    Suite *suite = suite_create("plot, stack");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, each_material_has_one_colour);
    suite_add_tcase(suite, tcase);
    return suite;
}
