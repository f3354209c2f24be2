/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Reports that other suites know by a sentence or two, whole, against expected/: stacks side by side, other conditions,
 * one layer off at a time, colours, the index of a layer, a shop, quotes of several surfaces, pages.
 */
#include "expected.h"
#include "inspected.h"
#include "offered.h"
#include "scene.h"
#include <bloomcoat/page.h>
#include <math.h>
#include <string.h>

static const bc_plot_options plot = {.format = BC_PLOT_PNG, .width_mm = 120.0, .dpi = 96.0, .part = "P-7"};

/* What was written by the last call, if it could. */
static void expect(bc_status status, const char *name, bc_text *text)
{
    ck_assert_int_eq(status, BC_OK);
    if (strstr(name, ".png") != NULL)
        expect_drawn(name, text);
    else
        expect_written(name, text);
}

static void fill_stacks(plot_scene *all, bc_stack other[2], bc_layer layer[2], bc_finding finding[2][3],
                        bc_check_result result[2], bc_check_report report[3])
{
    static const char *const path[] = {"one.csv", "two.csv", "three.csv"};
    static const double used[2][3] = {{0.8, 0.7, 0.75}, {1.3, 0.66, 0.8}};
    for (int s = 0; s < 2; s++) {
        layer[s] = all->layer[0];
        layer[s].thickness_nm = 80.0 + 7.0 * s;
        other[s] = all->stack;
        other[s].layers = 1;
        other[s].layer = &layer[s];
        result[s] = all->result;
        result[s].finding = finding[s];
        result[s].pass = s == 0;
        result[s].limit_used = used[s][0];
        result[s].decisive = 0;
        for (int f = 0; f < 3; f++) {
            finding[s][f] = all->finding[f];
            finding[s][f].limit_used = used[s][f];
            finding[s][f].value = finding[s][f].callout->sense == BC_AT_MOST
                                      ? used[s][f] * finding[s][f].callout->limit
                                      : 1.0 - used[s][f] * (1.0 - finding[s][f].callout->limit);
            finding[s][f].pass = used[s][f] <= 1.0;
        }
    }
    for (int s = 0; s < 3; s++) {
        report[s] = all->check;
        report[s].stack_path = path[s];
        report[s].callouts_path = "callouts.csv";
        if (s > 0) {
            report[s].stack = &other[s - 1];
            report[s].result = &result[s - 1];
        }
    }
}

START_TEST(stacks_side_by_side)
{
    plot_scene all;
    bc_stack other[2];
    bc_layer layer[2];
    bc_finding finding[2][3];
    bc_check_result result[2];
    bc_check_report report[3];
    bc_check_curves curves[3];
    bc_shift_report shift;
    const bc_behaviour behaviour[] = {{"layer", 0.87, 1.3e-5, 0.7e-6}, {"2.1", 0.93, -2.1e-5, 1.9e-6}};
    bc_text text = {0};
    plot_scene_open(&all);
    fill_stacks(&all, other, layer, finding, result, report);
    for (int s = 0; s < 3; s++)
        curves[s] = all.curves;
    expect(bc_report_compare_text(3, report, &text, NULL), "compare.txt", &text);
    expect(bc_report_compare_json(3, report, &text, NULL), "compare.json", &text);
    expect(bc_report_compare_text(2, report, &text, NULL), "compare-two.txt", &text);
    expect(bc_plot_compare(3, report, curves, &plot, &text, NULL), "compare.png", &text);
    other[0].layers = 2;
    layer[1] = all.layer[1];
    layer[1].thickness_nm *= 1.01;
    shift = (bc_shift_report){report, 2, behaviour, {1.0, 21.0}, {1.333, 63.0}};
    expect(bc_report_shift_text(&shift, &text, NULL), "shift.txt", &text);
    expect(bc_report_shift_json(&shift, &text, NULL), "shift.json", &text);
    plot_scene_close(&all);
}
END_TEST

START_TEST(one_layer_off)
{
    plot_scene all;
    double value[2][BC_ERROR_KINDS][2][3];
    bc_layer_sensitivity layer[2];
    bc_sensitivity_result result = {.layers = 2, .layer = layer, .decisive = 1, .findings = 3};
    bc_sensitivity_report report;
    bc_text text = {0};
    plot_scene_open(&all);
    for (size_t j = 0; j < 2; j++) {
        layer[j] = (bc_layer_sensitivity){.layer = 1 - j, .worst = 0.03 + 0.05 * (double)j};
        for (size_t kind = 0; kind < BC_ERROR_KINDS; kind++)
            for (size_t more = 0; more < 2; more++) {
                const double off = 0.011 * (double)(kind + 1) + 0.003 * (double)more + 0.05 * (double)j;
                layer[j].limit_used[kind][more] = 1.2 + off;
                layer[j].value[kind][more] = value[j][kind][more];
                for (size_t f = 0; f < 3; f++)
                    value[j][kind][more][f] = all.finding[f].value + 0.01 * off * (double)(f + 1);
            }
    }
    report = (bc_sensitivity_report){all.check, &result};
    report.check.stack_path = "stack.csv";
    expect(bc_report_sensitivity_text(&report, &text, NULL), "sensitivity.txt", &text);
    expect(bc_report_sensitivity_json(&report, &text, NULL), "sensitivity.json", &text);
    expect(bc_plot_sensitivity(&report, &plot, &text, NULL), "sensitivity.png", &text);
    plot_scene_close(&all);
}
END_TEST

#define ANGLES 3

START_TEST(colours_of_the_reflection)
{
    static const double aoi_rad[ANGLES] = {0.0, 0.3, 0.7};
    plot_scene all;
    bc_colour colour[ANGLES], run[ANGLES][4];
    bc_colour_scatter scatter[ANGLES];
    const bc_colour_runs runs = {.runs = 4, .angles = ANGLES, .seed = 5, .scatter = scatter};
    bc_colour_report report;
    bc_text text = {0};
    plot_scene_open(&all);
    for (int i = 0; i < ANGLES; i++) {
        colour[i] = (bc_colour){0.31 + 0.1 * i,  0.29 + 0.1 * i, 0.52 + 0.1 * i,    0.27 + 0.01 * i,
                                0.25 + 0.02 * i, 2.6 + 0.3 * i,  1.7 - 2.9 * i,     -4.1 + 1.3 * i,
                                4.4 + 0.2 * i,   5.1 + 0.1 * i,  0.0029 + 0.001 * i};
        scatter[i] = (bc_colour_scatter){0.41 + 0.1 * i, 0.63 + 0.1 * i, 0.0007 + 0.0001 * i,
                                         1.9 + 0.2 * i,  2.7 + 0.3 * i,  run[i]};
        for (int r = 0; r < 4; r++) {
            run[i][r] = colour[i];
            run[i][r].a += 0.4 * (r - 1);
            run[i][r].b += 0.3 * (2 - r);
        }
    }
    report = (bc_colour_report){.stack_path = "stack.csv",
                                .stack = &all.stack,
                                .polarization = BC_POL_S,
                                .illuminant = BC_ILLUMINANT_A,
                                .observer = BC_OBSERVER_10,
                                .angles = ANGLES,
                                .aoi_rad = aoi_rad,
                                .colour = colour};
    report.back = &(const bc_back){.kind = BC_BACK_NONE};
    expect(bc_report_colour_text(&report, &text, NULL), "colour.txt", &text);
    expect(bc_report_colour_json(&report, &text, NULL), "colour.json", &text);
    expect(bc_plot_colour(&report, &plot, &text, NULL), "colour.png", &text);
    report.back = &(const bc_back){.kind = BC_BACK_UNCOATED, .substrate_mm = 2.0};
    report.process_path = "process.csv";
    report.runs = &runs;
    expect(bc_report_colour_text(&report, &text, NULL), "colour-runs.txt", &text);
    expect(bc_report_colour_json(&report, &text, NULL), "colour-runs.json", &text);
    expect(bc_plot_colour(&report, &plot, &text, NULL), "colour-runs.png", &text);
    plot_scene_close(&all);
}
END_TEST

#define ROWS 21

typedef struct found_index {
    double nm[ROWS], R[ROWS], fitted[ROWS], noise[ROWS], n[ROWS], n_sigma[ROWS], k[ROWS], k_sigma[ROWS];
    double thickness_nm[2], sigma_nm[2];
    bc_measurement measurement;
    bc_layer_scan scan[2];
    bc_layer_curve curve[2];
    bc_layer_index_setup setup;
    bc_layer_index_result result;
} found_index;

static void fill_index(const plot_scene *all, found_index *f)
{
    *f = (found_index){.thickness_nm = {312.7, 298.4}, .sigma_nm = {0.31, 0.47}};
    for (size_t i = 0; i < ROWS; i++) {
        const double x = (double)i / (ROWS - 1);
        f->nm[i] = 400.0 + 300.0 * x;
        f->R[i] = 0.11 + 0.05 * sin(9.0 * x);
        f->fitted[i] = f->R[i] + 0.0011 * cos(23.0 * x);
        f->noise[i] = 0.0007 + 0.0002 * x;
        f->n[i] = 2.17 - 0.11 * x;
        f->n_sigma[i] = 0.0031 + 0.0011 * x;
        f->k[i] = 0.0043 * (1.0 - x) + 0.0001;
        f->k_sigma[i] = 0.0003 + 0.0001 * x;
    }
    f->measurement = (bc_measurement){.count = ROWS, .wavelength_nm = f->nm};
    for (size_t s = 0; s < 2; s++) {
        f->scan[s] = (bc_layer_scan){.measurement = &f->measurement,
                                     .aoi_rad = 0.14 + 0.2 * (double)s,
                                     .polarization = s == 0 ? BC_POL_UNPOLARIZED : BC_POL_S,
                                     .incident = all->stack.incident,
                                     .substrate = all->glass,
                                     .back = s == 0 ? BC_BACK_NONE : BC_BACK_UNCOATED,
                                     .substrate_mm = 1.7,
                                     .piece = s};
        f->curve[s] = (bc_layer_curve){s, s == 0 ? BC_R : BC_T, ROWS, f->nm, f->R, f->fitted, f->noise};
    }
    f->setup = (bc_layer_index_setup){2, f->scan, 2, f->thickness_nm, 0.0013, 0.0021, 0.31, 2.0};
    f->result =
        (bc_layer_index_result){.chosen = {BC_N_CAUCHY_2, BC_K_EXPONENTIAL, BC_LAYER_HOMOGENEOUS, 7, 41.3, 312.7},
                                .next_model = {BC_N_SELLMEIER_1, BC_K_NONE, BC_LAYER_HOMOGENEOUS, 5, 47.9, 311.2},
                                .other_thickness_nm = 437.2,
                                .other_criterion = 93.1,
                                .homogeneous_criterion = 88.2,
                                .n_coefficients = 2,
                                .k_coefficients = 3,
                                .n_coefficient = {2.013, 0.0213},
                                .k_coefficient = {0.0043, 1.71, 0.41},
                                .pieces = 2,
                                .thickness_nm = f->thickness_nm,
                                .thickness_sigma_nm = f->sigma_nm,
                                .count = ROWS,
                                .wavelength_nm = f->nm,
                                .n = f->n,
                                .n_sigma = f->n_sigma,
                                .k = f->k,
                                .k_sigma = f->k_sigma,
                                .correlation = -0.87,
                                .fringes = 1.43,
                                .misfit = 1.21,
                                .residual = 0.0009,
                                .noise = 0.0008,
                                .offset = {0.0011, -0.0007},
                                .scale = 0.0031,
                                .wavelength_shift_nm = 0.17,
                                .transmitted = 0.91,
                                .curves = 2,
                                .curve = f->curve};
    for (int i = 0; i < BC_LAYER_COVARIANCE; i++)
        for (int j = 0; j < BC_LAYER_COVARIANCE; j++)
            f->result.covariance[i][j] = 1e-6 * (1 + i + j + 3 * i * j);
}

/* Loop: a homogeneous layer, one with a gradient, one with a rough top. */
START_TEST(the_index_of_a_layer)
{
    static const char *const name[BC_LAYER_SHAPES][4] = {
        {"index.txt", "index.json", "index.csv", "index.png"},
        {"index-graded.txt", "index-graded.json", "index-graded.csv", "index-graded.png"},
        {"index-rough.txt", "index-rough.json", "index-rough.csv", "index-rough.png"}};
    static const char *const path[] = {"one.csv", "two.csv"};
    plot_scene all;
    found_index found;
    bc_layer_index_report report = {&found.setup, &found.result, path};
    bc_text text = {0};
    plot_scene_open(&all);
    fill_index(&all, &found);
    found.result.chosen.shape = (bc_layer_shape)_i;
    if (_i == BC_LAYER_GRADED) {
        found.result.gradient = -0.043;
        found.result.gradient_sigma = 0.0061;
    }
    if (_i == BC_LAYER_ROUGH) {
        found.result.rough_nm = 4.3;
        found.result.rough_sigma_nm = 0.61;
        found.result.chosen.n = BC_N_SELLMEIER_2;
        found.result.n_coefficients = 4;
        found.result.n_coefficient[2] = 0.71;
        found.result.n_coefficient[3] = 0.093;
        found.result.chosen.k = BC_K_BENT;
        found.result.k_coefficients = 4;
        found.result.k_coefficient[3] = 1.9;
        found.result.other_thickness_nm = NAN;
        found.result.next_model.criterion = INFINITY;
        found.setup.scans = found.setup.pieces = found.result.pieces = found.result.curves = 1;
    }
    expect(bc_report_layer_index_text(&report, &text, NULL), name[_i][0], &text);
    expect(bc_report_layer_index_json(&report, &text, NULL), name[_i][1], &text);
    expect(bc_report_layer_index_table(&report, &text, NULL), name[_i][2], &text);
    expect(bc_plot_layer_index(&report, &plot, &text, NULL), name[_i][3], &text);
    plot_scene_close(&all);
}
END_TEST

START_TEST(a_shop_and_its_lacks)
{
    static char folder[] = "shop", process[] = "shop/process.csv", one[] = "shop/chamber.csv",
                two[] = "shop/chambers/two.csv", defaults[] = "shop/shop.csv", tables[] = "shop/tables";
    char *chambers[] = {one, two};
    offered all;
    bc_chamber chamber[2] = {{0}};
    bc_shop shop = {.folder = folder};
    bc_shop_report report = {.shop = &shop};
    bc_text text = {0};
    open_offered(&all);
    expect(bc_report_shop_text(&report, &text, NULL), "shop-empty.txt", &text);
    expect(bc_report_shop_json(&report, &text, NULL), "shop-empty.json", &text);
    shop.process = process;
    shop.tables = tables;
    shop.defaults = defaults;
    shop.chambers = 2;
    shop.chamber = chambers;
    shop.has[BC_SHOP_YIELD_PERCENT] = shop.has[BC_SHOP_JUDGE] = true;
    strcpy(shop.value[BC_SHOP_YIELD_PERCENT], "93");
    strcpy(shop.value[BC_SHOP_JUDGE], "curve");
    chamber[0] = all.chamber;
    report = (bc_shop_report){&shop, 3, 2, &all.process, chamber};
    expect(bc_report_shop_text(&report, &text, NULL), "shop.txt", &text);
    expect(bc_report_shop_json(&report, &text, NULL), "shop.json", &text);
    fixture_close(&all.base);
}
END_TEST

START_TEST(quotes_of_two_surfaces)
{
    static const bc_page_options page = {.format = BC_PAGE_HTML, .part = "P-7", .title = "Camera window"};
    offered all;
    bc_quote_surface surface[2];
    bc_quote_found found[3];
    bc_text text = {0};
    open_offered(&all);
    surface[0] = (bc_quote_surface){"S1", &all.quote, NULL};
    surface[1] = (bc_quote_surface){"S2", &all.quote, NULL};
    expect(bc_report_quotes_text(2, surface, &text, NULL), "quotes.txt", &text);
    expect(bc_report_quotes_json(2, surface, &text, NULL), "quotes.json", &text);
    found[0] = (bc_quote_found){&all.option[1], false, NULL};
    found[1] = (bc_quote_found){&all.option[1], true, NULL};
    found[2] = (bc_quote_found){NULL, false, &all.exception[0]};
    for (int i = 0; i < 3; i++)
        ck_assert_int_eq(bc_report_found_text(&all.quote, &found[i], &text, NULL), BC_OK);
    expect_written("found.txt", &text);
    for (int i = 0; i < 3; i++) {
        char name[] = "found-0.json";
        name[6] = (char)('0' + i);
        expect(bc_report_found_json(&all.quote, &found[i], &text, NULL), name, &text);
    }
    all.request.quantity = 0;
    for (int o = 0; o < 2; o++) {
        all.option[o].loads = all.option[o].loads_at_confidence = all.option[o].blanks = 0;
        all.option[o].hours_per_load = all.option[o].hours = NAN;
        all.option[o].loads_expected = all.option[o].expected_hours = NAN;
    }
    all.result.parts_per_load = 0;
    all.quote.chamber_path = NULL;
    all.request.chamber = NULL;
    expect(bc_report_quotes_text(1, surface, &text, NULL), "quote-bare.txt", &text);
    expect(bc_page_offer(1, surface, &page, &text, NULL), "offer-bare.html", &text);
    fixture_close(&all.base);
}
END_TEST

START_TEST(pages)
{
    bc_page_options page = {.format = BC_PAGE_HTML,
                            .paper = BC_PAPER_LETTER,
                            .part = "P-7",
                            .title = "Camera window",
                            .date = "2026-11-25"};
    static const bc_page_input input[] = {{"stack", "stack.csv", "0123456789abcdef"}};
    plot_scene scene;
    inspected seen;
    bc_inspect_report report;
    bc_text text = {0};
    plot_scene_open(&scene);
    page.inputs = 1;
    page.input = input;
    scene.check.callouts_path = "callouts.csv";
    expect(bc_page_check(&scene.check, &scene.curves, &page, &text, NULL), "page-check.html", &text);
    plot_scene_close(&scene);
    open_inspected(&seen);
    report = seen.report;
    expect(bc_page_inspect(&report, &page, &text, NULL), "page-inspect.html", &text);
    report.lot = &seen.lot;
    report.witnesses = 2;
    expect(bc_page_inspect(&report, &page, &text, NULL), "page-lot.html", &text);
    ck_assert(!bc_page_certifies(&report));
    seen.finding[1] = seen.finding[0];
    seen.finding[1].callout = &seen.base.callout[1];
    seen.lot = (bc_lot_result){.verdict = BC_ACCEPT, .count = 2, .accepted = 2, .witness = seen.result};
    seen.result[0].verdict = seen.result[1].verdict = BC_ACCEPT;
    ck_assert(bc_page_certifies(&report));
    expect(bc_page_certificate(&report, &page, &text, NULL), "certificate.html", &text);
    fixture_close(&seen.base);
}
END_TEST

START_TEST(spectra_drawn)
{
    static const char *const path[] = {"one.csv", "two.csv"};
    plot_scene all;
    bc_spectrum swapped[2];
    bc_spectrum_report report[2];
    bc_text text = {0};
    plot_scene_open(&all);
    report[0] = report[1] = all.report;
    swapped[0] = all.spectrum[1];
    swapped[1] = all.spectrum[0];
    swapped[0].R[0] = all.value[1];
    report[1].spectrum = swapped;
    expect(bc_plot_spectra(2, report, path, 0, &plot, &text, NULL), "spectra.png", &text);
    expect(bc_plot_spectrum(report, 1U << BC_T, &plot, &text, NULL), "spectrum-T.png", &text);
    expect(bc_report_spectrum_sketch(report, false, &text, NULL), "sketch.txt", &text);
    expect(bc_report_spectrum_sketch(report, true, &text, NULL), "sketch-blocks.txt", &text);
    expect(bc_report_material_json(all.layer[0].material.dispersion, 500.0, &text, NULL), "material.json", &text);
    plot_scene_close(&all);
}
END_TEST

Suite *other_reports_suite(void)
{
    Suite *suite = suite_create("other reports");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, stacks_side_by_side);
    tcase_add_test(tcase, one_layer_off);
    tcase_add_test(tcase, colours_of_the_reflection);
    tcase_add_loop_test(tcase, the_index_of_a_layer, 0, BC_LAYER_SHAPES);
    tcase_add_test(tcase, a_shop_and_its_lacks);
    tcase_add_test(tcase, quotes_of_two_surfaces);
    tcase_add_test(tcase, pages);
    tcase_add_test(tcase, spectra_drawn);
    suite_add_tcase(suite, tcase);
    return suite;
}
