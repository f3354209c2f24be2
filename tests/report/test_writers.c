/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Memory that runs out under each writer of texts, JSON, pages and pictures: each allocation fails, alone or with all
 * after it. cJSON is given our allocator, which does not fail where Cairo's would.
 *
 * And what they write, against expected/ (expected.h).
 */
#include "charted.h"
#include "expected.h"
#include "inspected.h"
#include "many_or_few.h"
#include "offered.h"
#include <bloomcoat/page.h>
#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct everything {
    inspected seen;
    offered told;
    bc_monitor monitor;
    double monitor_nm[2];
    bc_deposit_result sheet;
    bc_deposit_report deposit;
    bc_lens_result zones;
    bc_lens_report lens;
    bc_profile profile;
    bc_curved grown;
    charted control;
    bc_learn_material learned[2];
    bc_learn_result learn;
    bc_learn_report learning;
} everything;

static double at_mm[] = {0.0, 8.0, 15.0}, at_percent[] = {100.0, 96.0, 88.0};
static char profile_path[] = "profile.csv";

static void open_sheet(everything *all)
{
    all->monitor_nm[0] = 500.0;
    all->monitor_nm[1] = 450.0;
    all->monitor = (bc_monitor){.signal = BC_R,
                                .error = 0.005,
                                .wavelengths = 2,
                                .wavelength_nm = all->monitor_nm,
                                .from_nm = 400.0,
                                .to_nm = 700.0,
                                .step_nm = 50.0};
    all->deposit = (bc_deposit_report){.stack_path = "stack.csv",
                                       .process_path = "process.csv",
                                       .stack = &all->told.base.stack,
                                       .process = &all->told.process,
                                       .chamber = &all->told.chamber,
                                       .monitor = &all->monitor,
                                       .result = &all->sheet};
    ck_assert_int_eq(
        bc_deposit(all->deposit.stack, all->deposit.process, all->deposit.chamber, &all->monitor, &all->sheet, NULL),
        BC_OK);
}

static void open_lens(everything *all)
{
    static bc_callouts surface_only;
    surface_only = (bc_callouts){.count = 1, .callout = all->told.base.callout};
    all->profile = (bc_profile){.path = profile_path, .rows = 3, .at = at_mm, .percent = at_percent};
    all->grown = (bc_curved){.radius_mm = 20.0,
                             .clear_aperture_mm = 30.0,
                             .distribution = BC_DISTRIBUTION_PROFILE,
                             .profile = &all->profile};
    ck_assert_int_eq(
        bc_lens(&all->told.base.stack, &surface_only, 2, all->told.base.glass, &all->grown, 5, &all->zones, NULL),
        BC_OK);
    all->lens = (bc_lens_report){.check = all->told.base.check, .result = &all->zones};
    all->lens.check.result = &all->zones.designed.check;
    all->lens.check.curved = &all->grown;
    all->lens.check.zones = all->zones.zones;
    all->lens.check.roughness_nm = 2.0;
}

static void open_learned(everything *all)
{
    const bc_learn_sigma sigma = {.sigma = {0.01, 0.008, 0.013}, .freedom = 40, .runs_needed = 30, .before = NAN};
    all->learned[0] = (bc_learn_material){.name = "soft",
                                          .layers = 40,
                                          .runs = 20,
                                          .tooling = 1.0,
                                          .factor = {1.01, 1.0, 1.02},
                                          .correction = 1.0,
                                          .next_tooling = 1.0,
                                          .within = sigma,
                                          .drift = {{0.02, 0.01, 0.03}, 0.001, true},
                                          .index_runs = 9,
                                          .index_sigma = {0.004, 0.003, 0.006}};
    all->learned[1] = all->learned[0];
    strcpy(all->learned[1].name, "hard");
    all->learned[1].index_runs = 0;
    all->learn = (bc_learn_result){.runs = 20,
                                   .designs = 2,
                                   .between_runs = sigma,
                                   .between_layers = sigma,
                                   .layers_known = true,
                                   .drift_known = true,
                                   .materials = 2,
                                   .material = all->learned,
                                   .process = all->told.process};
    all->learning = (bc_learn_report){.result = &all->learn, .left_out = 1, .older = 2};
}

static void open_all(everything *all)
{
    memset(all, 0, sizeof *all);
    open_inspected(&all->seen);
    open_offered(&all->told);
    open_sheet(all);
    open_lens(all);
    open_charted(&all->control);
    open_learned(all);
}

static void close_all(everything *all)
{
    bc_deposit_result_clear(&all->sheet);
    bc_lens_result_clear(&all->zones);
    close_charted(&all->control);
    fixture_close(&all->told.base);
    fixture_close(&all->seen.base);
}

static const bc_dispersion *soft(const everything *all)
{
    return all->told.base.layer[0].material.dispersion;
}

static bc_inspect_report lot(const everything *all)
{
    bc_inspect_report report = all->seen.report;
    report.lot = &all->seen.lot;
    report.witnesses = 2;
    return report;
}

static bc_status write_text(const everything *all, int which, bc_text *out, bc_error *error)
{
    const fixture *base = &all->told.base;
    const bc_inspect_report of_lot = lot(all);
    const bc_dispersion *material[2] = {soft(all), base->layer[1].material.dispersion};
    switch (which) {
    case 0:
        return bc_report_check_text(&all->lens.check, out, error);
    case 1:
        return bc_report_design_text(&base->draft, out, error);
    case 2:
        return bc_report_design_csv(&base->draft, out, error);
    case 3:
        return bc_report_yield_text(&all->told.yield, out, error);
    case 4:
        return bc_report_quote_text(&all->told.quote, out, error);
    case 5:
        return bc_report_inspect_text(&all->seen.report, out, error);
    case 6:
        return bc_report_inspect_text(&of_lot, out, error);
    case 7:
        return bc_report_lens_text(&all->lens, out, error);
    case 8:
        return bc_report_deposit_text(&all->deposit, out, error);
    case 9:
        return bc_report_deposit_csv(&all->deposit, out, error);
    case 10:
        return bc_report_deposit_signal_csv(&all->deposit, out, error);
    case 11:
        return bc_report_materials_text(2, material, 2, (const char *const[]){"517642", "620364"}, 0, NULL, 550.0, out,
                                        error);
    case 12:
        return bc_report_material_text(soft(all), 550.0, out, error);
    case 13:
        return bc_report_material_csv(soft(all), out, error);
    case 14:
        return bc_report_process_csv(&all->told.process, "by hand\nand twice", out, error);
    case 15:
        return bc_report_control_text(&all->control.report, out, error);
    case 16:
        return bc_report_learn_text(&all->learning, out, error);
    case 17:
        return bc_report_learn_csv(&all->learning, out, error);
    default:
        return bc_report_stack_csv(&base->stack, "by hand", out, error);
    }
}
#define TEXTS 19

static bc_status write_json(const everything *all, int which, bc_text *out, bc_error *error)
{
    const bc_inspect_report of_lot = lot(all);
    const bc_dispersion *material[2] = {soft(all), all->told.base.layer[1].material.dispersion};
    switch (which) {
    case 0:
        return bc_report_check_json(&all->lens.check, out, error);
    case 1:
        return bc_report_design_json(&all->told.base.draft, out, error);
    case 2:
        return bc_report_yield_json(&all->told.yield, out, error);
    case 3:
        return bc_report_quote_json(&all->told.quote, out, error);
    case 4:
        return bc_report_inspect_json(&all->seen.report, out, error);
    case 5:
        return bc_report_inspect_json(&of_lot, out, error);
    case 6:
        return bc_report_lens_json(&all->lens, out, error);
    case 7:
        return bc_report_deposit_json(&all->deposit, out, error);
    case 8:
        return bc_report_control_json(&all->control.report, out, error);
    case 9:
        return bc_report_learn_json(&all->learning, out, error);
    default:
        return bc_report_materials_json(2, material, 2, (const char *const[]){"517642", "620364"}, 0, NULL, 550.0, out,
                                        error);
    }
}
#define JSONS 11

static bc_status draw(const everything *all, int which, bc_text *out, bc_error *error)
{
    const bc_page_options page = {.format = (bc_page_format)(which % 2), .part = "P-7", .title = "Camera window"};
    const bc_plot_options plot = {.width_mm = 60.0, .part = "P-7"};
    const bc_inspect_report of_lot = lot(all);
    const bc_lot_result good = {.verdict = BC_ACCEPT, .count = 2, .accepted = 2};
    const bc_quote_surface twice[] = {{"S1", &all->told.quote, NULL}, {"S2", &all->told.quote, NULL}};
    bc_inspect_report certified = of_lot;
    certified.lot = &good;
    switch (which) {
    case 0:
    case 1:
        return bc_page_quote(2, twice, &page, out, error);
    case 2:
        return bc_page_yield(&all->told.yield, &page, out, error);
    case 3:
        return bc_page_inspect(&of_lot, &page, out, error);
    case 4:
        return bc_page_lens(&all->lens, &page, out, error);
    case 5:
        return bc_plot_inspect(&all->seen.report, &plot, out, error);
    case 6:
        return bc_page_deposit(&all->deposit, &page, out, error);
    case 7:
    case 8:
        return bc_page_offer(2, twice, &page, out, error);
    case 10:
        return bc_report_quotes_price_csv(2, twice, out, error);
    case 9:
        return bc_page_certificate(&certified, &page, out, error);
    case 11:
        return bc_plot_control(&all->control.report, &plot, out, error);
    default:
        return bc_plot_yield(&all->told.yield, &plot, out, error);
    }
}
#define DRAWN 13

#define WRITERS (TEXTS + JSONS + DRAWN)

static bc_status write(const everything *all, int which, bc_text *out, bc_error *error)
{
    if (which < TEXTS)
        return write_text(all, which, out, error);
    return which < TEXTS + JSONS ? write_json(all, which - TEXTS, out, error)
                                 : draw(all, which - TEXTS - JSONS, out, error);
}

static void *ours(size_t size)
{
    return malloc(size);
}

/* Until `tried` allocations suffice. What is written at last must be what it is with memory to spare. */
static void expect_whole_or_nothing(const everything *all, int which, bool alone)
{
    bc_text whole = {0}, text = {0};
    long tried = 0, refused = 0;
    ck_assert_int_eq(write(all, which, &whole, NULL), BC_OK);
    for (bool reached = true; reached; tried += 1 + tried / MANY_OR_FEW(16, 6)) {
        bc_error error = {0};
        bc_status status;
        if (alone)
            memory_fails_once(tried);
        else
            memory_lasts(tried);
        status = write(all, which, &text, &error);
        reached = memory_was_short();
        memory_lasts(LONG_MAX);
        ck_assert_msg(status == BC_OK || status == BC_ERROR_MEMORY, "%s", error.message);
        ck_assert_int_eq(error.status, status);
        ck_assert(status == BC_OK ? text.length == whole.length && memcmp(text.data, whole.data, text.length) == 0
                                  : text.data == NULL);
        ck_assert(reached || status == BC_OK);
        refused += status != BC_OK;
        bc_text_clear(&text);
    }
    ck_assert_int_gt(refused, 0);
    bc_text_clear(&whole);
}

/* Loop: each writer, with memory that ends and with one allocation alone that fails. */
START_TEST(what_is_written_is_whole_or_nothing)
{
    cJSON_Hooks hooks = {ours, free};
    everything all;
    open_all(&all);
    cJSON_InitHooks(&hooks);
    expect_whole_or_nothing(&all, _i / 2, _i % 2 == 1);
    cJSON_InitHooks(NULL);
    close_all(&all);
}
END_TEST

/* Loop: the texts, JSON and pages, not the pictures. */
START_TEST(what_is_written_is_as_expected)
{
    static const char *const name[WRITERS] = {
        "check.txt",    "design.txt",   "design.csv",   "yield.txt",    "quote.txt",  "inspect.txt",
        "lot.txt",      "lens.txt",     "deposit.txt",  "deposit.csv",  "signal.csv", "materials.txt",
        "material.txt", "material.csv", "process.csv",  "control.txt",  "learn.txt",  "learn.csv",
        "stack.csv",    "check.json",   "design.json",  "yield.json",   "quote.json", "inspect.json",
        "lot.json",     "lens.json",    "deposit.json", "control.json", "learn.json", "materials.json",
        "quote.html",   NULL,           "yield.html",   NULL,           "lens.html",  NULL,
        "deposit.html", NULL,           "offer.html",   NULL,           "price.csv"};
    everything all;
    bc_text text = {0};
    if (name[_i] == NULL)
        return;
    open_all(&all);
    ck_assert_int_eq(write(&all, _i, &text, NULL), BC_OK);
    expect_written(name[_i], &text);
    bc_text_clear(&text);
    close_all(&all);
}
END_TEST

START_TEST(what_is_drawn_is_as_expected)
{
    const bc_plot_options options = {.format = BC_PLOT_PNG, .width_mm = 120.0, .dpi = 96.0, .part = "P-7"};
    everything all;
    bc_inspect_report of_lot;
    bc_text png = {0};
    open_all(&all);
    of_lot = lot(&all);
    ck_assert_int_eq(bc_plot_inspect(&all.seen.report, &options, &png, NULL), BC_OK);
    expect_drawn("inspect.png", &png);
    ck_assert_int_eq(bc_plot_inspect(&of_lot, &options, &png, NULL), BC_OK);
    expect_drawn("lot.png", &png);
    ck_assert_int_eq(bc_plot_control(&all.control.report, &options, &png, NULL), BC_OK);
    expect_drawn("control.png", &png);
    ck_assert_int_eq(bc_plot_deposit(&all.deposit, &options, &png, NULL), BC_OK);
    expect_drawn("deposit.png", &png);
    ck_assert_int_eq(bc_plot_lens(&all.lens, &options, &png, NULL), BC_OK);
    expect_drawn("lens.png", &png);
    close_all(&all);
}
END_TEST

Suite *writers_suite(void)
{
    Suite *suite = suite_create("writers");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 120);
    tcase_add_loop_test(tcase, what_is_written_is_whole_or_nothing, 0, 2 * WRITERS);
    suite_add_tcase(suite, tcase);
    tcase = scratch_case("expected");
    tcase_add_loop_test(tcase, what_is_written_is_as_expected, 0, WRITERS);
    tcase_add_test(tcase, what_is_drawn_is_as_expected);
    suite_add_tcase(suite, tcase);
    return suite;
}
