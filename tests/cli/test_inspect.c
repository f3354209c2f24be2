/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answer.h"
#include "scan.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define EXAMPLES BC_SOURCE_DIR "/examples/"
#define WINDOW                                                                                                         \
    " --stack " EXAMPLES "window-stack.csv --callouts " EXAMPLES "window-callouts.csv --aoi 8 --column 2 --column 3 "  \
    "--column 4 --uncertainty-percent 0.05 --tables " BC_SOURCE_DIR "/materials"

START_TEST(a_good_witness_is_accepted)
{
    write_stacks();
    const outcome result = expect(0, NULL, INSPECT " --uncertainty-percent 0.02");
    ck_assert_str_eq(result.err, "");
    expect_piece(&result, "Measured scan.csv");
    expect_piece(&result, "R (by the header), percent (by the header), nm (by the header)");
    expect_piece(&result, "Verdict: ACCEPT");
    expect_piece(&result, "Uncertainty of the measurement: 0.02 % (absolute, expanded, k = 2)");
    expect_piece(&result, "not a measurement");
}
END_TEST

START_TEST(a_bad_witness_is_rejected)
{
    write_stacks();
    write_scan("scan.csv", "nm,%R", "spectrum second.csv --from 400 --to 700 --step 2 --quiet");
    const outcome result = expect(1, NULL, INSPECT " --uncertainty-percent 0.02");
    expect_piece(&result, "Verdict: REJECT");
    expect_piece(&result, "Likeliest cause: layer 3 (2.1) off, by +10.");
    /* The same scan against a callout that it meets. */
    scratch_write("easy.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                              "band,R,max,<= 5,420,680,0,unpolarized\n");
    expect(0, NULL, "inspect scan.csv --stack stack.csv --callouts easy.csv --quiet");
}
END_TEST

/* What is in doubt is neither accepted nor rejected, and why is told. */
START_TEST(an_uncertain_witness_is_undecided)
{
    write_stacks();
    outcome result = expect(1, NULL, INSPECT " --uncertainty-percent 1");
    expect_piece(&result, "Verdict: UNDECIDED");
    expect(0, NULL, INSPECT " --uncertainty-percent 0.1 --coverage 20");
    scratch_write("wide.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                              "wide,R,max,<= 40,380,680,0,unpolarized\n");
    result = expect(1, NULL, "inspect scan.csv --stack stack.csv --callouts wide.csv");
    expect_piece(&result, "UNDECIDED");
    expect_piece(&result, "380");
    result = expect(1, NULL, "inspect scan.csv --stack stack.csv --callouts part.csv --quantity R");
    expect_piece(&result, "UNDECIDED");
    scratch_write("mean.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                              "mean,R,average,<= 40,420,680,0,unpolarized\n");
    ck_assert_ptr_nonnull(
        strstr(run("inspect scan.csv --stack stack.csv --callouts mean.csv --json").out, "\"at_nm\":\tnull"));
    result = expect(1, NULL, "inspect scan.csv --stack stack.csv");
    expect_piece(&result, "nothing is accepted and nothing rejected");
}
END_TEST

START_TEST(another_angle_is_judged_by_the_fit_when_asked)
{
    write_stacks();
    scratch_write("angle.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                               "oblique,R,max,<= 5,420,680,0..30,unpolarized\n");
    outcome result = expect(1, NULL, "inspect scan.csv --stack stack.csv --callouts angle.csv");
    expect_piece(&result, "With --from-fit such rows are judged on the stack fitted to the scan.");
    result = expect(0, NULL, "inspect scan.csv --stack stack.csv --callouts angle.csv --from-fit");
    expect_piece(&result, "judged on the fitted stack (--from-fit)");
}
END_TEST

START_TEST(figures_in_json)
{
    write_stacks();
    write_scan("scan.csv", "nm,%R", "spectrum thick.csv --from 400 --to 700 --step 2 --quiet");
    cJSON *root = parse(run(INSPECT " --uncertainty-percent 0.02 --json").out);
    ck_assert_str_eq(string_of(root, "quantity"), "R");
    ck_assert_msg(fabs(number_of(root, "scale_percent") - 2.0) < 0.05, "%g", number_of(root, "scale_percent"));
    ck_assert(number_of(root, "rms_percent") > 0.01);
    const cJSON *layers = array_of(root, "layers");
    ck_assert_int_eq(cJSON_GetArraySize(layers), 4);
    ck_assert_str_eq(string_of(layers->child, "material"), "2.1"); /* next to the substrate */
    const cJSON *outer = cJSON_GetArrayItem(layers, 3);
    ck_assert_str_eq(string_of(outer, "material"), "1.38");
    ck_assert(number_of(outer, "design_nm") == 97.787);
    ck_assert(fabs(number_of(outer, "fitted_nm") - 99.74274) < 2 * number_of(outer, "uncertainty_nm") + 0.05);
    const cJSON *callouts = array_of(root, "callouts");
    ck_assert_int_eq(cJSON_GetArraySize(callouts), 2);
    ck_assert_str_eq(string_of(callouts->child, "name"), "band");
    ck_assert(number_of(callouts->child, "limit_percent") == 0.5);
    const cJSON *overlay = cJSON_GetObjectItem(root, "overlay");
    const cJSON *nm = array_of(overlay, "wavelength_nm"), *measured = array_of(overlay, "measured_percent");
    ck_assert_int_eq(cJSON_GetArraySize(nm), 151);
    ck_assert_int_eq(cJSON_GetArraySize(measured), 151);
    ck_assert_int_eq(cJSON_GetArraySize(array_of(overlay, "design_percent")), 151);
    ck_assert_int_eq(cJSON_GetArraySize(array_of(overlay, "fitted_percent")), 151);
    double squares = 0; /* the design at hand: rms_percent by hand from the arrays */
    const cJSON *design = array_of(overlay, "design_percent")->child;
    for (const cJSON *item = measured->child; item != NULL; item = item->next, design = design->next)
        squares += pow(item->valuedouble - design->valuedouble, 2);
    ck_assert(fabs(sqrt(squares / 151) - number_of(root, "rms_percent")) < 1e-6);
    cJSON_Delete(root);
}
END_TEST

/* Fractions in micrometres with another separator say the same as percent in nm. */
START_TEST(the_same_scan_in_other_clothes)
{
    write_stacks();
    cJSON *plain = parse(run(INSPECT " --json").out);
    const char *text = content("scan.csv");
    static char other[100000];
    size_t used = (size_t)snprintf(other, sizeof other, "Wavelength [um];Reflectance\n");
    for (const char *line = strchr(text, '\n') + 1; *line != '\0'; line = strchr(line, '\n') + 1) {
        double nm, R;
        ck_assert_int_eq(sscanf(line, "%lf,%lf", &nm, &R), 2);
        used += (size_t)snprintf(other + used, sizeof other - used, "%.4f;%.6f\n", nm / 1000, R / 100);
    }
    scratch_write("other.csv", other);
    expect(2, "--unit percent or --unit fraction", "inspect other.csv --stack stack.csv --callouts callouts.csv");
    cJSON *root = parse(
        expect(0, NULL, "inspect other.csv --stack stack.csv --callouts callouts.csv --unit fraction --json").out);
    ck_assert(fabs(number_of(plain, "rms_percent") - number_of(root, "rms_percent")) < 1e-9);
    ck_assert(cJSON_Compare(cJSON_GetObjectItem(cJSON_GetObjectItem(plain, "overlay"), "measured_percent"),
                            cJSON_GetObjectItem(cJSON_GetObjectItem(root, "overlay"), "measured_percent"), 1));
    cJSON_Delete(plain);
    cJSON_Delete(root);
}
END_TEST

/* T beside R: both are compared, and the callouts about T are judged too. */
START_TEST(t_of_the_same_scan)
{
    write_stacks();
    write_scan("scan.csv", "nm,%R,%T",
               "spectrum stack.csv --from 400 --to 700 --step 2 --quiet --back uncoated --substrate-mm 1");
    scratch_write("both.csv",
                  "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization,scope\n"
                  "through,T,min,>= 90,450,650,0,unpolarized,part\nback,R,average,<= 6,450,650,0,unpolarized,part\n");
    const char *line = "inspect scan.csv --stack stack.csv --callouts both.csv --back uncoated --column %R --t-column "
                       "%T --uncertainty-percent 0.05 --json";
    cJSON *root = parse(expect(0, NULL, line).out);
    ck_assert_str_eq(string_of(root, "verdict"), "accept");
    ck_assert_int_eq(cJSON_GetArraySize(array_of(cJSON_GetObjectItem(root, "overlay_T"), "measured_percent")), 151);
    ck_assert_str_eq(string_of(cJSON_GetObjectItem(root, "overlay"), "quantity"), "R");
    ck_assert(cJSON_IsTrue(cJSON_GetObjectItem(cJSON_GetObjectItem(root, "absorption"), "judged")));
    cJSON_Delete(root);
    /* T alone. */
    root = parse(expect(0, NULL,
                        "inspect scan.csv --stack stack.csv --callouts part.csv --back uncoated --column %T "
                        "--uncertainty-percent 0.05 --json")
                     .out);
    ck_assert_str_eq(string_of(root, "quantity"), "T");
    ck_assert_ptr_null(cJSON_GetObjectItem(root, "overlay_T"));
    cJSON_Delete(root);
}
END_TEST

/* What the next run is told undoes what went wrong: the chamber repeats its error on it and the design comes out. */
START_TEST(files_for_the_next_run)
{
    write_stacks();
    write_scan("scan.csv", "nm,%R", "spectrum thick.csv --from 400 --to 700 --step 2 --quiet");
    const outcome result =
        run(INSPECT " --process process.csv --next-process next.csv --next-stack ask.csv --uncertainty-percent 0.02");
    ck_assert_msg(result.code < 2, "%s", result.err);
    expect_piece(&result, "Use one of the two, not both");
    double nm = 0;
    const char *layer = strstr(content("ask.csv"), "layer,2.1,");
    ck_assert_ptr_nonnull(layer);
    ck_assert_int_eq(sscanf(layer, "layer,2.1,%lf", &nm), 1);
    ck_assert_msg(fabs(nm * 1.02 - 133.11) < 0.3, "%g", nm);
    double tooling = 0, rate = 0;
    const char *row = strstr(content("next.csv"), "\n2.1,");
    ck_assert_ptr_nonnull(row);
    ck_assert_msg(sscanf(row, "\n2.1,,%lf", &tooling) == 1 || sscanf(row, "\n2.1,%lf,%lf", &rate, &tooling) == 2, "%s",
                  row);
    ck_assert_msg(fabs(tooling - 0.9 * 1.02) < 0.004, "%g", tooling);
    expect(0, NULL, "yield stack.csv --callouts callouts.csv --process next.csv --runs 10 --quiet -o yield.txt");
    expect(0, NULL, "check ask.csv --callouts callouts.csv --quiet -o check.txt");
}
END_TEST

/* Several runs: tooling and scatter with their intervals, in the report and in the file. */
START_TEST(a_process_by_several_runs)
{
    write_stacks();
    for (int run_number = 0; run_number < 4; run_number++) {
        static const double factor[][2] = {{1.03, 0.995}, {1.045, 1.01}, {1.035, 1.002}, {1.04, 0.998}};
        char text[600], name[16];
        snprintf(text, sizeof text,
                 "role,material,thickness_nm\nincident,air,\nlayer,1.38,%.4f\nlayer,2.1,%.4f\nlayer,1.38,%.4f\n"
                 "layer,2.1,%.4f\nsubstrate,1.52,\n",
                 97.787 * factor[run_number][1], 133.11 * factor[run_number][0], 35.081 * factor[run_number][1],
                 15.658 * factor[run_number][0]);
        scratch_write("made.csv", text);
        snprintf(name, sizeof name, "run%d.csv", run_number);
        write_scan(name, "nm,%R", "spectrum made.csv --from 400 --to 700 --step 2 --quiet");
    }
    const outcome result = expect(
        1, NULL,
        "inspect run0.csv run1.csv run2.csv run3.csv --stack stack.csv --process process.csv --next-process next.csv "
        "--uncertainty-percent 0.02");
    expect_piece(&result, "By 4 runs, the uncertainty of each fit taken out:");
    expect_piece(&result, "2.1: thickness on the part is 1.03");
    expect_piece(&result, "Scatter from run to run:");
    expect_piece(&result, "Process by these runs: next.csv");
    const char *row = strstr(content("next.csv"), "\n2.1,");
    double tooling;
    ck_assert(strstr(content("next.csv"), "# 2.1: thickness on the part is 1.03") != NULL);
    ck_assert(row != NULL && sscanf(row, "\n2.1,,%lf", &tooling) == 1);
    ck_assert_double_eq_tol(tooling, 0.9 * 1.0375, 0.01);
    expect(0, NULL, "yield stack.csv --callouts callouts.csv --process next.csv --runs 10 --quiet -o yield.txt");
}
END_TEST

/* Where the fit explains nothing, nothing is passed on. */
START_TEST(no_next_run_from_a_wrong_witness)
{
    write_stacks();
    scratch_write("scan.csv", "nm,%R\n400,5\n420,1\n440,9\n460,2\n480,8\n500,1\n520,7\n540,3\n560,9\n580,1\n600,8\n");
    const outcome result = expect(1, "nothing was written for the next run", INSPECT " --next-stack ask.csv");
    expect_piece(&result, "Nothing was written for the next run");
    ck_assert(!exists("ask.csv"));
}
END_TEST

START_TEST(witnesses_of_a_lot)
{
    write_stacks();
    write_scan("second-scan.csv", "nm,%R", "spectrum thick.csv --from 400 --to 700 --step 2 --quiet");
    outcome result = run("inspect scan.csv second-scan.csv scan.csv --stack stack.csv --callouts callouts.csv");
    ck_assert_int_lt(result.code, 2);
    expect_piece(&result, "Verdict on the lot:");
    expect_piece(&result, "Of 2 witnesses");
    expect_piece(&result, "scan.csv holds the same measurement as scan.csv (SHA-256)");
    expect_piece(&result, "second-scan.csv");
    expect_piece(&result, "drift");
    cJSON *root = parse(
        run("inspect scan.csv second-scan.csv --stack stack.csv --callouts callouts.csv --json -o lot.json --quiet")
                    .code < 2
            ? content("lot.json")
            : "");
    ck_assert_int_eq(cJSON_GetArraySize(array_of(root, "witnesses")), 2);
    const cJSON *scale = cJSON_GetObjectItem(cJSON_GetObjectItem(root, "lot"), "scale");
    ck_assert(fabs(number_of(scale, "drift_percent") - 2.0) < 0.1); /* from 0 to 2 % */
    ck_assert(fabs(number_of(root, "scale_percent") - 1.0) < 0.05);
    cJSON_Delete(root);
}
END_TEST

/* The demo: run 7 is rejected for its second layer, and run 8 is accepted. Both are what the script makes. */
START_TEST(demo)
{
    outcome result = expect(1, NULL, "inspect " EXAMPLES "window-witness-7.txt" WINDOW " --from-fit");
    expect_piece(&result, "Verdict: REJECT");
    expect_piece(&result, "Likeliest cause: layer 2 (HfO2) off");
    expect_piece(&result, "the mean of 3 scans");
    result = expect(0, NULL, "inspect " EXAMPLES "window-witness-8.txt" WINDOW " --from-fit");
    expect_piece(&result, "Verdict: ACCEPT");
    expect(2, "found 3 columns of values (2 'R1 (%)', 3 'R2 (%)', 4 'R3 (%)'); expected --column",
           "inspect " EXAMPLES "window-witness-8.txt --stack " EXAMPLES "window-stack.csv --tables " BC_SOURCE_DIR
           "/materials");
}
END_TEST

static char *slurp(const char *path)
{
    static char text[2][20000];
    static int which;
    FILE *file = fopen(path, "rb");
    which = !which;
    ck_assert_msg(file != NULL, "%s", path);
    const size_t length = fread(text[which], 1, sizeof text[which] - 1, file);
    fclose(file);
    text[which][length] = '\0';
    return text[which];
}

START_TEST(demo_is_made_by_its_script)
{
    char command[3 * PATH_SIZE];
    snprintf(command, sizeof command, "BLOOMCOAT_TABLES=%s sh %s %s %s", BC_SOURCE_DIR "/materials",
             EXAMPLES "make-witness.sh", BC_BUILD_DIR "/bin/bloomcoat", scratch_folder());
    ck_assert_int_eq(system(command), 0);
    ck_assert_str_eq(slurp(scratch_path("window-witness-7.txt")), slurp(EXAMPLES "window-witness-7.txt"));
    ck_assert_str_eq(slurp(scratch_path("window-witness-8.txt")), slurp(EXAMPLES "window-witness-8.txt"));
}
END_TEST

Suite *inspect_suite(void)
{
    Suite *suite = suite_create("inspect");
    TCase *tcase = scratch_case("inspect");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, a_good_witness_is_accepted);
    tcase_add_test(tcase, a_bad_witness_is_rejected);
    tcase_add_test(tcase, an_uncertain_witness_is_undecided);
    tcase_add_test(tcase, another_angle_is_judged_by_the_fit_when_asked);
    tcase_add_test(tcase, figures_in_json);
    tcase_add_test(tcase, the_same_scan_in_other_clothes);
    tcase_add_test(tcase, t_of_the_same_scan);
    tcase_add_test(tcase, files_for_the_next_run);
    tcase_add_test(tcase, a_process_by_several_runs);
    tcase_add_test(tcase, no_next_run_from_a_wrong_witness);
    tcase_add_test(tcase, witnesses_of_a_lot);
    tcase_add_test(tcase, demo);
    tcase_add_test(tcase, demo_is_made_by_its_script);
    suite_add_tcase(suite, tcase);
    return suite;
}
