/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The sheet in words and figures.
 */
#include "fixture.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct shop {
    fixture all;
    bc_process_row row[1];
    bc_process process;
    bc_chamber chamber;
    double wavelength_nm[3];
    bc_monitor monitor;
    bc_deposit_result result;
    bc_deposit_report report;
} shop;

/* Layer 1 is `soft`, layer 2 `hard`, layer 3 `soft`, from the glass; everything is known of the process. */
static void shop_open(shop *s)
{
    memset(s, 0, sizeof *s);
    fixture_open(&s->all);
    s->row[0] = (bc_process_row){.material = "*",
                                 .has_rate = true,
                                 .rate_nm_per_s = 0.5,
                                 .has_tooling = true,
                                 .tooling = 1.25,
                                 .has_thickness_sigma = true,
                                 .thickness_sigma = 0.01,
                                 .has_minimum = true,
                                 .minimum_nm = 1.0};
    s->process = (bc_process){.rows = 1, .row = s->row};
    s->chamber = (bc_chamber){.has_pump_down = true, .pump_down_min = 61.0};
    s->wavelength_nm[0] = 550.0;
    s->wavelength_nm[1] = 450.0;
    s->monitor = (bc_monitor){.signal = BC_R,
                              .error = 0.005,
                              .wavelengths = 1,
                              .wavelength_nm = s->wavelength_nm,
                              .from_nm = 400.0,
                              .to_nm = 700.0,
                              .step_nm = 50.0};
    s->report = (bc_deposit_report){.stack_path = "stack.csv",
                                    .process_path = "process.csv",
                                    .chamber_path = "chamber.csv",
                                    .stack = &s->all.stack,
                                    .process = &s->process,
                                    .chamber = &s->chamber,
                                    .monitor = &s->monitor,
                                    .result = &s->result};
}

static void shop_work(shop *s)
{
    bc_error error;
    bc_deposit_result_clear(&s->result);
    ck_assert_msg(bc_deposit(&s->all.stack, s->report.process, s->report.chamber, &s->monitor, &s->result, &error) ==
                      BC_OK,
                  "%s", error.message);
}

static void shop_close(shop *s)
{
    bc_deposit_result_clear(&s->result);
    fixture_close(&s->all);
}

/* Text in every circumstance: all known, nothing known, several wavelengths and glasses, a sweep, no signal. */
START_TEST(text_is_tidy)
{
    static const size_t changed[] = {2};
    shop s;
    bc_text text = {0};
    shop_open(&s);
    for (int round = 0; round < 5; round++) {
        if (round == 1)
            s.report.process = NULL, s.report.chamber = NULL, s.monitor.aoi_rad = 0.5235987755982988;
        if (round == 2)
            s.monitor.aoi_rad = 0.0;
        if (round == 2)
            s.monitor.wavelengths = 2, s.monitor.new_glasses = 1, s.monitor.new_before = changed;
        if (round >= 3)
            s.monitor.wavelengths = 0;
        if (round == 4)
            s.monitor.from_nm = 900.0, s.monitor.to_nm = 1000.0;
        shop_work(&s);
        ck_assert_int_eq(bc_report_deposit_text(&s.report, &text, NULL), BC_OK);
        expect_tidy(text.data);
        ck_assert_uint_eq(occurrences(text.data, "Cautions:"), 1);
        ck_assert_uint_eq(occurrences(text.data, "keep it dry"), 1);
        ck_assert_uint_eq(occurrences(text.data, "WARNING"), round == 0);
        ck_assert_uint_eq(occurrences(text.data, "No process file"), round > 0);
        ck_assert_uint_eq(occurrences(text.data, "new monitor glass (number 2) before layer 2"),
                          round == 2 || round == 3);
        ck_assert_uint_eq(occurrences(text.data, "No optical signal"), round == 4);
        ck_assert_uint_eq(occurrences(text.data, "thicker"), round == 1);
        bc_text_clear(&text);
    }
    shop_close(&s);
}
END_TEST

/* Loop: a coating met from air, and one for a cemented face, whose signal in the chamber is not that of the design. */
START_TEST(another_incident_medium_is_remarked)
{
    shop s;
    bc_text text = {0};
    shop_open(&s);
    if (_i == 1) {
        s.all.stack.incident = s.all.glass[1];
        strcpy(s.all.stack.incident.name, "1.515");
    }
    shop_work(&s);
    ck_assert_int_eq(bc_report_deposit_text(&s.report, &text, NULL), BC_OK);
    expect_tidy(text.data);
    ck_assert_uint_eq(occurrences(text.data, "met from 1.515; in the chamber"), _i == 1);
    ck_assert_uint_eq(occurrences(text.data, "designed to be met from"), _i == 1);
    bc_text_clear(&text);
    shop_close(&s);
}
END_TEST

/* 100/3 nm on the part are 26.67 at the monitor, 53.3 s; 61 min before. 91.4 / 1.25 / 0.5 = 146.24 s. */
START_TEST(times_are_written_as_clocks)
{
    shop s;
    bc_text text = {0};
    shop_open(&s);
    shop_work(&s);
    ck_assert_int_eq(bc_report_deposit_text(&s.report, &text, NULL), BC_OK);
    ck_assert_ptr_nonnull(
        strstr(text.data, "1  soft        33.33    1.250    26.67   0.5  0:53.3     33.33  1:01:53\n"));
    ck_assert_ptr_nonnull(
        strstr(text.data, "3  soft        91.40    1.250    73.12   0.5  2:26.2    125.03  1:04:20\n"));
    bc_text_clear(&text);
    shop_close(&s);
}
END_TEST

/* 59.96 s are a minute, and 3599.7 s an hour: never 0:60.0. */
START_TEST(clocks_carry)
{
    shop s;
    bc_text text = {0};
    shop_open(&s);
    s.row[0].tooling = 1.0;
    s.row[0].rate_nm_per_s = 91.4 / 59.96;
    s.chamber.pump_down_min = 0.0;
    shop_work(&s);
    s.result.layer[2].ends_s = 3599.7;
    ck_assert_int_eq(bc_report_deposit_text(&s.report, &text, NULL), BC_OK);
    ck_assert_ptr_nonnull(strstr(text.data, "1:00.0    125.03  1:00:00\n"));
    ck_assert_ptr_null(strstr(text.data, ":60"));
    bc_text_clear(&text);
    shop_close(&s);
}
END_TEST

static size_t commas_of(const char *line)
{
    size_t commas = 0;
    for (; *line != '\0' && *line != '\n'; line++)
        commas += *line == ',';
    return commas;
}

/* As many cells in every row as in the heading, whatever is not known. */
START_TEST(tables_are_rectangular)
{
    shop s;
    shop_open(&s);
    for (int round = 0; round < 3; round++) {
        bc_text sheet = {0}, curve = {0};
        bc_error error = {0};
        if (round == 1)
            s.report.process = NULL, s.report.chamber = NULL, s.monitor.aoi_rad = 0.5235987755982988;
        if (round == 2)
            s.monitor.aoi_rad = 0.0;
        if (round == 2)
            s.monitor.wavelengths = 0, s.monitor.from_nm = 900.0, s.monitor.to_nm = 1000.0;
        shop_work(&s);
        ck_assert_int_eq(bc_report_deposit_csv(&s.report, &sheet, NULL), BC_OK);
        ck_assert_uint_eq(occurrences(sheet.data, "\n"), 4);
        for (const char *line = sheet.data; *line != '\0'; line = strchr(line, '\n') + 1)
            ck_assert_uint_eq(commas_of(line), 21);
        ck_assert_ptr_null(strstr(sheet.data, "nan"));
        ck_assert_int_eq(bc_report_deposit_signal_csv(&s.report, &curve, &error), round == 2 ? BC_ERROR_INPUT : BC_OK);
        ck_assert((curve.data == NULL) == (round == 2));
        for (const char *line = curve.data; line != NULL && *line != '\0'; line = strchr(line, '\n') + 1)
            ck_assert_uint_eq(commas_of(line), 7);
        bc_text_clear(&sheet);
        bc_text_clear(&curve);
    }
    shop_close(&s);
}
END_TEST

START_TEST(json_says_what_the_result_holds)
{
    shop s;
    bc_text text = {0};
    const cJSON *layer;
    cJSON *root;
    shop_open(&s);
    shop_work(&s);
    ck_assert_int_eq(bc_report_deposit_json(&s.report, &text, NULL), BC_OK);
    root = parse(&text);
    ck_assert_str_eq(string_of(root, "monitor_glass_back"), "none");
    ck_assert_str_eq(string_of(root, "signal_error_of"), "max");
    ck_assert_double_eq(number_of(root, "signal_error_percent"), 0.5);
    ck_assert_double_eq_tol(number_of(root, "layer_s"), s.result.layer_s, 1e-9);
    ck_assert_double_eq(number_of(root, "best_for_run_nm"), 550.0);
    layer = cJSON_GetArrayItem(cJSON_GetObjectItemCaseSensitive(root, "layers"), 2);
    ck_assert_double_eq_tol(number_of(layer, "start_percent"), 100.0 * s.result.layer[2].signal.start, 1e-10);
    ck_assert_double_eq_tol(number_of(layer, "cut_percent"), 100.0 * s.result.layer[2].signal.cut, 1e-10);
    ck_assert_double_eq_tol(number_of(layer, "slope_percent_per_nm"), 100.0 * s.result.layer[2].signal.slope_per_nm,
                            1e-12);
    ck_assert_double_eq_tol(number_of(layer, "cost_nm"), s.result.layer[2].signal.cost_nm, 1e-9);
    /* A layer of 0.3 nm has not moved the signal by its error when it is cut: its cost has no bound. */
    layer = cJSON_GetArrayItem(cJSON_GetObjectItemCaseSensitive(root, "layers"), 1);
    ck_assert(isinf(s.result.layer[1].signal.cost_nm));
    ck_assert(cJSON_IsNull(cJSON_GetObjectItemCaseSensitive(layer, "cost_nm")));
    ck_assert(cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(layer, "thin")));
    ck_assert_str_eq(string_of(layer, "cut_by"), "crystal");
    cJSON_Delete(root);
    bc_text_clear(&text);
    shop_close(&s);
}
END_TEST

static long allowed; /* allocations that still succeed */

static void *scarce(size_t size)
{
    return allowed-- > 0 ? malloc(size) : NULL;
}

static cJSON_Hooks allocation_hooks = {scarce, free};

START_TEST(json_survives_failed_allocations)
{
    shop s;
    bc_text text = {0};
    bc_status status = BC_ERROR_MEMORY;
    shop_open(&s);
    shop_work(&s);
    cJSON_InitHooks(&allocation_hooks);
    for (long tried = 0; status != BC_OK && tried < 100000; tried += 1 + tried / 50) {
        bc_error error = {0};
        allowed = tried;
        status = bc_report_deposit_json(&s.report, &text, &error);
        ck_assert_int_eq(error.status, status);
        ck_assert(status == BC_OK || text.data == NULL);
    }
    cJSON_InitHooks(NULL);
    ck_assert_int_eq(status, BC_OK);
    bc_text_clear(&text);
    text.failed = true;
    ck_assert_int_eq(bc_report_deposit_text(&s.report, &text, NULL), BC_ERROR_MEMORY);
    text.failed = true;
    ck_assert_int_eq(bc_report_deposit_csv(&s.report, &text, NULL), BC_ERROR_MEMORY);
    shop_close(&s);
}
END_TEST

Suite *deposit_suite(void)
{
    Suite *suite = suite_create("deposit report");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, text_is_tidy);
    tcase_add_loop_test(tcase, another_incident_medium_is_remarked, 0, 2);
    tcase_add_test(tcase, times_are_written_as_clocks);
    tcase_add_test(tcase, clocks_carry);
    tcase_add_test(tcase, tables_are_rectangular);
    tcase_add_test(tcase, json_says_what_the_result_holds);
    tcase_add_test(tcase, json_survives_failed_allocations);
    suite_add_tcase(suite, tcase);
    return suite;
}
