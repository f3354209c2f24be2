/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answer.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define DEPOSIT "deposit stack.csv --process process.csv --chamber chamber.csv "

static void write_shop(void)
{
    write_inputs();
    scratch_write("process.csv", "material,rate_nm_per_s,tooling_factor,thickness_sigma_percent,minimum_nm\n"
                                 "*,0.5,1.0,2,8\n1.38,0.8,1.04,1.5,\n");
    scratch_write("chamber.csv", "key,value\npump_down_min,70\nheat_min,45\ncool_vent_min,80\nbetween_layers_s,40\n");
}

/* By hand: 15.658 / 0.5 = 31.316 s; 35.081 / 1.04 = 33.732 nm / 0.8 = 42.165 s; 133.11 / 0.5 = 266.22 s; 97.787 / 1.04
 * = 94.026 nm / 0.8 = 117.532 s. Four times 40 s, 195 min. */
START_TEST(sheet_is_that_by_hand)
{
    static const double monitor_nm[] = {15.658, 33.7317308, 133.11, 94.0259615};
    static const double time_s[] = {31.316, 42.1646635, 266.22, 117.5324519};
    double total_s = 0.0;
    write_shop();
    cJSON *root = parse(expect(0, NULL, DEPOSIT "--monitor-nm 550 --json").out);
    const cJSON *layers = item_of(root, "layers");
    ck_assert_int_eq(cJSON_GetArraySize(layers), 4);
    for (int i = 0; i < 4; i++) {
        const cJSON *layer = cJSON_GetArrayItem(layers, i);
        ck_assert_double_eq(number_of(layer, "layer"), i + 1.0);
        ck_assert_str_eq(item_of(layer, "material")->valuestring, i % 2 == 0 ? "2.1" : "1.38");
        ck_assert_double_eq_tol(number_of(layer, "monitor_thickness_nm"), monitor_nm[i], 1e-6);
        ck_assert_double_eq_tol(number_of(layer, "time_s"), time_s[i], 1e-6);
        total_s += time_s[i];
        ck_assert_double_eq_tol(number_of(layer, "total_s"), total_s, 1e-6);
        ck_assert_double_eq_tol(number_of(layer, "ends_s"), 6900.0 + total_s + 40.0 * i, 1e-6);
        ck_assert_double_eq_tol(number_of(layer, "quarter_waves"),
                                4.0 * (i % 2 == 0 ? 2.1 : 1.38) * monitor_nm[i] / 550.0, 1e-7);
    }
    ck_assert_double_eq_tol(number_of(root, "load_s"), total_s + 120.0 + 11700.0, 1e-6);
    ck_assert_double_eq_tol(number_of(cJSON_GetArrayItem(layers, 0), "start_percent"), 4.25799949609, 1e-9);
    ck_assert_int_eq(cJSON_GetArraySize(item_of(root, "missing")), 0);
    ck_assert(cJSON_IsTrue(item_of(root, "monitor_glass_assumed")));
    ck_assert_str_eq(item_of(root, "monitor_glass")->valuestring, "1.52");
    cJSON_Delete(root);
}
END_TEST

/* The signal's last cut is what the command spectrum says of the coating, where the tooling is 1. */
START_TEST(last_cut_is_the_spectrum)
{
    double percent = 0.0;
    write_shop();
    const char *out = expect(0, NULL, "spectrum stack.csv --from 550 --to 550 --quiet").out;
    ck_assert_int_eq(sscanf(strchr(out, '\n') + 1, "550,0,unpolarized,%lf", &percent), 1);
    cJSON *root = parse(expect(0, NULL, "deposit stack.csv --monitor-nm 550 --json").out);
    ck_assert_double_eq_tol(number_of(cJSON_GetArrayItem(item_of(root, "layers"), 3), "cut_percent"), percent, 1e-10);
    ck_assert(any_says(item_of(root, "missing"), "No process file"));
    ck_assert(any_says(item_of(root, "missing"), "No chamber file"));
    ck_assert(cJSON_IsNull(item_of(root, "load_s")));
    ck_assert(cJSON_IsNull(item_of(cJSON_GetArrayItem(item_of(root, "layers"), 0), "time_s")));
    ck_assert(cJSON_IsNull(item_of(cJSON_GetArrayItem(item_of(root, "layers"), 0), "tooling_factor")));
    cJSON_Delete(root);
}
END_TEST

START_TEST(either_order_of_the_file_gives_the_same_sheet)
{
    char incident_first[30000];
    write_shop();
    scratch_write("way.csv", "role,material,thickness_nm\nincident,air,\nlayer,1.38,97.787\nlayer,2.1,133.11\n"
                             "layer,1.38,35.081\nlayer,2.1,15.658\nsubstrate,1.52,\n");
    const outcome one = expect(0, NULL, "deposit way.csv --process process.csv");
    ck_assert_uint_lt(strlen(one.out), sizeof incident_first);
    strcpy(incident_first, one.out);
    scratch_write("way.csv", "role,material,thickness_nm\nsubstrate,1.52,\nlayer,2.1,15.658\nlayer,1.38,35.081\n"
                             "layer,2.1,133.11\nlayer,1.38,97.787\nincident,air,\n");
    ck_assert_str_eq(expect(0, NULL, "deposit way.csv --process process.csv").out, incident_first);
}
END_TEST

START_TEST(text_is_a_sheet_to_work_by)
{
    write_shop();
    scratch_write("thin.csv",
                  "role,material,thickness_nm\nincident,air,\nlayer,MgF2,97.787\nlayer,2.1,5\nsubstrate,1.52,\n");
    const outcome result = expect(
        0, NULL, "deposit thin.csv --process process.csv --chamber chamber.csv --monitor-nm 500 --monitor-glass 1.60");
    ck_assert_str_eq(result.err, "");
    expect_narrow(result.out);
    expect_piece(&result, "Layers in order of deposition, on 1.52:");
    expect_piece(&result, "WARNING: layer 1 (2.1) is 5.00 nm thin; the process cannot control less than 8 nm.");
    expect_piece(&result, "The monitor glass is 1.60, the part of 1.52: their signals differ.");
    expect_piece(&result, "A predicted signal is not a measurement.");
    expect_piece(&result, "vacuum, heat and high voltage");
    expect_piece(&result, "Read the safety data sheets of what is evaporated or sputtered: MgF2");
    expect_piece(&result, "MgF2: a fluoride");
    expect_piece(&result, "Follow local codes; they and licensed practitioners have the last word.");
    expect_narrow(expect(0, NULL, DEPOSIT "--monitor-nm 400,500,600 --new-monitor-glass each --bandwidth-nm 10").out);
    expect_narrow(expect(0, NULL, DEPOSIT "--signal T").out);
}
END_TEST

/* A rate that is not known is said, and the others' times stay. */
START_TEST(missing_rate_is_said)
{
    write_shop();
    scratch_write("process.csv", "material,rate_nm_per_s\n2.1,0.5\n");
    cJSON *root = parse(expect(0, NULL, DEPOSIT "--monitor-nm 550 --json").out);
    const cJSON *layers = item_of(root, "layers");
    ck_assert_double_eq_tol(number_of(cJSON_GetArrayItem(layers, 0), "time_s"), 31.316, 1e-9);
    ck_assert(cJSON_IsNull(item_of(cJSON_GetArrayItem(layers, 1), "time_s")));
    ck_assert(cJSON_IsNull(item_of(root, "layer_s")));
    ck_assert(any_says(item_of(root, "missing"), "no rate_nm_per_s for 1.38"));
    ck_assert(any_says(item_of(root, "missing"), "no tooling for 2.1"));
    ck_assert(any_says(item_of(root, "missing"), "no minimum_nm for 2.1"));
    ck_assert(any_says(item_of(root, "missing"), "no thickness_sigma_percent for 2.1"));
    cJSON_Delete(root);
}
END_TEST

/* A coating for the infrared has no monitor wavelength in the default range: the sheet stands without one. */
START_TEST(no_wavelength_is_said_and_the_sheet_stands)
{
    write_shop();
    scratch_write("metal.csv", "role,material,thickness_nm\nincident,air,\nlayer,3.1-3.3i,20\nsubstrate,1.52,\n");
    const outcome text = expect(0, NULL, "deposit metal.csv");
    expect_piece(&text, "No optical signal: from 350 to 1000 nm");
    ck_assert_ptr_null(strstr(text.out, "Swing"));
    cJSON *root = parse(expect(0, NULL, "deposit metal.csv --json").out);
    ck_assert(cJSON_IsNull(item_of(cJSON_GetArrayItem(item_of(root, "layers"), 0), "cut_percent")));
    ck_assert_double_eq(number_of(cJSON_GetArrayItem(item_of(root, "layers"), 0), "monitor_thickness_nm"), 20.0);
    cJSON_Delete(root);
    expect(2, "found no wavelength from 400 to 1000 nm", "deposit metal.csv --monitor-from 400");
    expect(2, "no optical signal to write", "deposit metal.csv --signal-csv signal.csv");
    ck_assert(!exists("signal.csv"));
    ck_assert(
        any_says(item_of(root = parse(expect(0, NULL, "deposit metal.csv --json --monitor-nm 550").out), "remarks"),
                 "absorbs at 550 nm (k 3.3)"));
    cJSON_Delete(root);
}
END_TEST

START_TEST(files_beside_the_sheet_hold_it)
{
    double start = 0.0, cut = 0.0, nm = 0.0, seconds = 0.0, total = 0.0;
    const char *last = NULL;
    write_shop();
    const outcome result =
        expect(0, NULL, DEPOSIT "--monitor-nm 550 --json -o sheet.json --sheet-csv sheet.csv --signal-csv signal.csv");
    ck_assert_str_eq(result.out, "");
    cJSON *root = parse(content("sheet.json"));
    const cJSON *layer = cJSON_GetArrayItem(item_of(root, "layers"), 3);
    const char *curve = content("signal.csv");
    ck_assert_ptr_nonnull(strstr(content("sheet.csv"), "\n4,1.38,97.787,1.04,"));
    ck_assert_int_eq(sscanf(strchr(curve, '\n') + 1, "1,2.1,1,550,0,0,0,%lf", &start), 1);
    ck_assert_double_eq_tol(start, 4.25799949609, 1e-9);
    for (const char *line = curve; *line != '\0'; line += strcspn(line, "\n") + 1)
        last = line;
    ck_assert_int_eq(sscanf(last, "4,1.38,1,550,%lf,%lf,%lf,%lf", &nm, &seconds, &total, &cut), 4);
    ck_assert_double_eq_tol(nm, number_of(layer, "monitor_thickness_nm"), 1e-9);
    ck_assert_double_eq_tol(seconds, number_of(layer, "time_s"), 1e-8);
    ck_assert_double_eq_tol(total, number_of(root, "layer_s"), 1e-8);
    ck_assert_double_eq_tol(cut, number_of(layer, "cut_percent"), 1e-9);
    ck_assert_int_eq(cJSON_GetArraySize(item_of(item_of(layer, "curve"), "signal_percent")),
                     cJSON_GetArraySize(item_of(item_of(layer, "curve"), "time_s")));
    cJSON_Delete(root);
}
END_TEST

START_TEST(what_is_wrong_is_refused)
{
    static const struct {
        const char *words, *says;
    } wrong[] = {
        {"deposit", "deposit needs a STACK"},
        {"deposit nowhere.csv", "nowhere.csv"},
        {"deposit bare.csv", "the stack has no layer"},
        {"deposit stack.csv --monitor-glass 51764x", "--monitor-glass"},
        {"deposit stack.csv --process nowhere.csv", "nowhere.csv"},
        {"deposit stack.csv --chamber stack.csv", "stack.csv"},
        {"deposit stack.csv --monitor-nm 0", "--monitor-nm: found '0'"},
        {"deposit stack.csv --monitor-nm green", "--monitor-nm: found 'green'"},
        {"deposit stack.csv --monitor-nm 550,550", "found '550' twice"},
        {"deposit stack.csv --monitor-glass 517642 --monitor-nm 200", "517642"},
        {"deposit stack.csv --monitor-nm 550 --monitor-from 400", "--monitor-from has no meaning beside --monitor-nm"},
        {"deposit stack.csv --monitor-from 700 --monitor-to 400", "--monitor-to: found 400"},
        {"deposit stack.csv --monitor-from 1200", "--monitor-to: found 1000 by default"},
        {"deposit stack.csv --monitor-step 0", "--monitor-step: found '0'"},
        {"deposit stack.csv --monitor-step 0.001", "more than 10000 monitor wavelengths"},
        {"deposit stack.csv --signal A", "--signal: found 'A'; expected 'R' or 'T'"},
        {"deposit stack.csv --bandwidth-nm -2", "--bandwidth-nm: found '-2'"},
        {"deposit stack.csv --monitor-nm 550 --bandwidth-nm 500", "500 nm wide at 550 nm"},
        {"deposit stack.csv --aoi 90", "--aoi: found '90'"},
        {"deposit stack.csv --monitor-glass-back same", "--monitor-glass-back: found 'same'"},
        {"deposit stack.csv --monitor-glass-mm 2", "--monitor-glass-mm has no meaning"},
        {"deposit stack.csv --monitor-glass 1.5-0.001i --signal T", "give it with --monitor-glass-mm"},
        {"deposit stack.csv --new-monitor-glass 1", "--new-monitor-glass: found '1'"},
        {"deposit stack.csv --new-monitor-glass 5", "--new-monitor-glass: found '5'"},
        {"deposit stack.csv --new-monitor-glass 2.5", "--new-monitor-glass: found '2.5'"},
        {"deposit stack.csv --new-monitor-glass each,2", "beside others"},
        {"deposit stack.csv --signal-error-percent 0", "--signal-error-percent: found '0'"},
        {"deposit stack.csv --signal-error-of low", "'max' or 'cut'"},
        {"deposit stack.csv --signal-csv -", "--signal-csv: found '-'"},
        {"deposit stack.csv -o one.csv --sheet-csv one.csv", "found the same file for --sheet-csv and for the result"},
        {"deposit stack.csv --sheet-csv one.csv --signal-csv one.csv",
         "found the same file for --signal-csv and for --sheet-csv"},
        {"deposit stack.csv --signal-csv stack.csv", "one of the inputs"},
        {"deposit stack.csv --process process.csv --sheet-csv process.csv", "one of the inputs"},
        {"deposit stack.csv --chamber chamber.csv -o chamber.csv", "one of the inputs"},
        {"deposit stack.csv --signal-csv nowhere/signal.csv", "no such folder"},
        {"deposit stack.csv --callouts callouts.csv", "no option '--callouts'"},
    };
    write_shop();
    const size_t before = count_files();
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        ck_assert_str_eq(expect(2, wrong[i].says, wrong[i].words).out, "");
        ck_assert_uint_eq(count_files(), before);
    }
}
END_TEST

START_TEST(a_full_disk_is_told)
{
    const circumstances full = {.standard_output = "/dev/full", .file_size = -1};
    write_shop();
    const outcome result = run_in(&full, DEPOSIT);
    ck_assert_int_eq(result.code, 3);
    ck_assert_ptr_nonnull(strstr(result.err, "cannot be written"));
}
END_TEST

START_TEST(the_same_words_give_the_same_bytes)
{
    char first[40000];
    write_shop();
    const outcome result = expect(0, NULL, DEPOSIT "--json");
    ck_assert_uint_lt(strlen(result.out), sizeof first * 10);
    strncpy(first, result.out, sizeof first - 1);
    first[sizeof first - 1] = '\0';
    ck_assert_int_eq(strncmp(expect(0, NULL, DEPOSIT "--json").out, first, strlen(first)), 0);
}
END_TEST

Suite *deposit_suite(void)
{
    Suite *suite = suite_create("deposit");
    TCase *tcase = scratch_case("deposit");
    tcase_add_test(tcase, sheet_is_that_by_hand);
    tcase_add_test(tcase, last_cut_is_the_spectrum);
    tcase_add_test(tcase, either_order_of_the_file_gives_the_same_sheet);
    tcase_add_test(tcase, text_is_a_sheet_to_work_by);
    tcase_add_test(tcase, missing_rate_is_said);
    tcase_add_test(tcase, no_wavelength_is_said_and_the_sheet_stands);
    tcase_add_test(tcase, files_beside_the_sheet_hold_it);
    tcase_add_test(tcase, what_is_wrong_is_refused);
    tcase_add_test(tcase, a_full_disk_is_told);
    tcase_add_test(tcase, the_same_words_give_the_same_bytes);
    suite_add_tcase(suite, tcase);
    return suite;
}
