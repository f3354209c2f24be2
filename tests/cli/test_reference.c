/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Raw scans of a sample, a reference, the dark and the bare substrate.
 */
#include "answer.h"
#include "scan.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define RAW    " --stack stack.csv --callouts callouts.csv --uncertainty-percent 0.05"
#define MIRROR " --reference-scan mirror.csv --reference certificate.csv"

/* Counts of a lamp of its own spectrum, dark counts under them, and noise that repeats: `share` of the light, or
 * that of a spectrum. */
static void write_counts(const char *name, const char *header, const char *spectrum, double share, double least)
{
    static char text[60000];
    size_t used = (size_t)snprintf(text, sizeof text, "%s\n", header);
    const outcome computed = run(spectrum);
    unsigned noise = (unsigned)name[0];
    ck_assert_msg(computed.code == 0, "%s: %s", spectrum, computed.err);
    for (const char *line = strchr(computed.out, '\n') + 1; *line != '\0'; line = strchr(line, '\n') + 1) {
        double nm, aoi, R, T;
        char polarization[16];
        ck_assert_int_eq(sscanf(line, "%lf,%lf,%15[a-z],%lf,%lf", &nm, &aoi, polarization, &R, &T), 5);
        const double lamp = 40000.0 * exp(-pow((nm - 560.0) / 150.0, 2.0)) + 9000.0;
        noise = noise * 1664525u + 1013904223u;
        used += (size_t)snprintf(text + used, sizeof text - used, "%g,%.2f\n", nm,
                                 lamp * (share < 0.0 ? R / 100.0 : share) + 120.0 + 8.0 * (noise / 4294967296.0 - 0.5) +
                                     least);
    }
    scratch_write(name, text);
}

#define OF_STACK "spectrum stack.csv --from 400 --to 700 --step 4 --quiet"
#define OF_BARE  "spectrum bare.csv --from 400 --to 700 --step 4 --quiet"
#define HEADER   "nm,Counts"

static void write_raw(void)
{
    write_stacks();
    write_counts("sample.csv", HEADER, OF_STACK, -1.0, 0.0);
    write_counts("mirror.csv", HEADER, OF_BARE, 0.88, 0.0);
    write_counts("dark.csv", HEADER, OF_BARE, 0.0, 0.0);
    write_counts("glass.csv", HEADER, OF_BARE, -1.0, 0.0);
    write_counts("percent.csv", "nm,%R", OF_BARE, 0.88, 0.0);
    write_scan("open.csv", "nm,reading", OF_STACK);
    write_counts("bright.csv", HEADER, OF_BARE, 0.044, 0.0);
    scratch_write("certificate.csv",
                  "wavelength_nm,R_percent,uncertainty_percent\n350,88,0.4\n600,88,0.6\n800,88,0.4\n");
    scratch_write("plate.csv", "wavelength_nm,T_percent\n350,92\n800,92\n");
    scratch_write("narrow.csv", "wavelength_nm,R_percent\n450,88\n800,88\n");
}

/* The values that were made are found again; what was done, and what it adds to the uncertainty, is said. */
START_TEST(signals_become_R)
{
    write_raw();
    outcome result = expect(0, NULL, "inspect sample.csv" RAW " --quantity R" MIRROR " --dark-scan dark.csv");
    expect_piece(&result, "R = (sample - dark) / (reference - dark) x R of the reference.");
    expect_piece(&result, "Reference: certificate.csv (scan mirror.csv), R of 88 % by its table, which states an "
                          "uncertainty of up to 0.682 % of the value (expanded).");
    expect_piece(&result, "of its scale of R: 0.682 % of the value");
    expect_piece(&result, "Noise of the reference scan adds");
    expect_piece(&result, "counts (divided by the reference)");
    cJSON *root = parse(
        run("inspect sample.csv" RAW " --quantity R" MIRROR " --dark-scan dark.csv --bare-scan glass.csv --json").out);
    ck_assert_double_lt(number_of(root, "rms_percent"), 0.03);
    const cJSON *correction = item_of(root, "correction");
    ck_assert_str_eq(string_of(correction, "reference"), "certificate.csv");
    ck_assert_double_eq_tol(number_of(correction, "reference_scale_uncertainty_percent"), 100.0 * 0.6 / 88.0, 1e-9);
    ck_assert_double_gt(number_of(correction, "dark_noise_percent"), number_of(correction, "reference_noise_percent"));
    const cJSON *check = item_of(root, "instrument_check");
    ck_assert_double_lt(fabs(number_of(check, "off_percent")), number_of(check, "allowed_percent"));
    ck_assert(cJSON_IsTrue(item_of(check, "within")));
    ck_assert(cJSON_IsNull(item_of(root, "held")));
    cJSON_Delete(root);
    /* By the bare glass itself, and by an empty beam. */
    result = expect(0, NULL,
                    "inspect sample.csv" RAW " --quantity R --reference-scan glass.csv --reference 1.52 --dark-scan "
                    "dark.csv");
    expect_piece(&result, "R of 4.258 % by its index table, one polished face.");
    result = expect(1, NULL,
                    "inspect glass.csv" RAW " --quantity T --reference-scan mirror.csv --reference air --dark-scan "
                    "dark.csv");
    expect_piece(&result, "Reference: empty beam (scan mirror.csv), T of 100 % by definition.");
}
END_TEST

/* A bare substrate off its index table says that the instrument is: nothing is accepted by it. */
START_TEST(an_instrument_that_is_off_holds_the_verdict)
{
    write_raw();
    outcome result =
        expect(1, NULL, "inspect sample.csv" RAW " --quantity R" MIRROR " --dark-scan dark.csv --bare-scan bright.csv");
    expect_piece(&result, "Verdict: UNDECIDED");
    expect_piece(&result, "Held: the bare substrate measures R of 4.");
    expect_piece(&result, "beyond its uncertainty of");
    /* Scans that are R already. */
    write_scan("witness.csv", "nm,%R", "spectrum bare.csv --from 400 --to 700 --step 2 --quiet");
    result = expect(0, NULL, "inspect scan.csv" RAW " --bare-scan witness.csv");
    expect_piece(&result, "The bare substrate (witness.csv) measures R of 4.258 % on the average, its index table has "
                          "4.258 %");
    result = expect(1, NULL, "inspect scan.csv" RAW " --bare-scan witness.csv --back uncoated");
    expect_piece(&result, "4.258 % on the average where its index table has 8.168 %");
}
END_TEST

typedef struct wrong_line {
    const char *line, *piece;
} wrong_line;

static const wrong_line wrong[] = {
    {"inspect sample.csv" RAW " --quantity R", "found the signal of an instrument"},
    {"inspect sample.csv" RAW " --dark-scan dark.csv", "--dark-scan: found no --reference-scan"},
    {"inspect sample.csv" RAW " --reference 1.52", "--reference: found no --reference-scan"},
    {"inspect sample.csv" RAW " --reference-scan mirror.csv", "--reference-scan: found no --reference; expected"},
    {"inspect scan.csv" RAW " --unit counts", "--unit: found 'counts' and no --reference-scan"},
    {"inspect sample.csv" RAW MIRROR " --dark-column 2", "--dark-column: found no --dark-scan"},
    {"inspect sample.csv" RAW MIRROR " --t-column 2", "--t-column: found it beside --reference-scan"},
    {"inspect sample.csv" RAW MIRROR " --dark-scan mirror.csv", "mirror.csv: found the very values of mirror.csv"},
    {"inspect mirror.csv" RAW MIRROR, "mirror.csv: found the very values of mirror.csv"},
    {"inspect dark.csv" RAW MIRROR " --dark-scan dark.csv", "dark.csv: found the very values of dark.csv"},
    {"inspect sample.csv" RAW " --reference-scan dark.csv --reference certificate.csv --dark-scan mirror.csv",
     "were the two files swapped?"},
    {"inspect sample.csv" RAW " --reference-scan percent.csv --reference certificate.csv",
     "sample.csv: found counts, and percent or fractions in percent.csv; expected both on one scale"},
    {"inspect open.csv" RAW " --reference-scan open.csv --reference 1.52 --column 2",
     "open.csv: found no unit, and none in open.csv either"},
    {"inspect sample.csv" RAW " --quantity R --reference-scan mirror.csv --reference air",
     "'air', an empty beam, which reflects nothing"},
    {"inspect sample.csv" RAW " --quantity R --reference-scan mirror.csv --reference plate.csv",
     "plate.csv: found T of the reference, where the scan is one of R"},
    {"inspect sample.csv" RAW " --quantity R --reference-scan mirror.csv --reference narrow.csv",
     "narrow.csv: found a reference from 450 to 800 nm; expected it to reach 400 nm"},
    {"inspect sample.csv" RAW " --quantity R --reference-scan mirror.csv --reference nowhere.csv",
     "nowhere.csv: found no such file"},
    {"inspect sample.csv" RAW " --quantity R --reference-scan mirror.csv --reference nosuchglass", "--reference"},
    {"inspect sample.csv" RAW " --back uncoated --reference-scan mirror.csv --reference 1.52-0.00001i",
     "absorbs between 400 and 700 nm"},
    {"inspect mirror.csv" RAW " --reference-scan glass.csv --reference 0.9-6i --dark-scan dark.csv",
     "mirror.csv:2: found R of"},
    {"inspect sample.csv" RAW MIRROR " -o dark.csv --dark-scan dark.csv", "dark.csv: found one of the inputs"},
};

START_TEST(wrong_lines_end_with_two)
{
    write_raw();
    expect(2, wrong[_i].piece, wrong[_i].line);
}
END_TEST

/* One export with all columns: which is which is asked, a metal needs no thickness, few dark counts are counts. */
START_TEST(columns_of_one_file)
{
    static char text[20000];
    size_t used = (size_t)snprintf(text, sizeof text, "nm,Sample counts,Reference counts,Dark counts\n");
    write_stacks();
    for (int i = 0; i <= 75; i++)
        used += (size_t)snprintf(text + used, sizeof text - used, "%d,%d,%d,%d\n", 400 + 4 * i, 220 + i % 3,
                                 60000 + 10 * (i % 5), 50 + i % 2);
    scratch_write("all.csv", text);
    expect(2,
           "3 columns of values (2 'Sample counts', 3 'Reference counts', 4 'Dark counts'); expected "
           "--reference-column",
           "inspect all.csv" RAW " --reference-scan all.csv --reference 0.9-6i");
    expect(2, "expected --dark-column",
           "inspect all.csv" RAW
           " --reference-scan all.csv --reference 0.9-6i --reference-column 3 --dark-scan all.csv");
    const outcome result = expect(1, NULL,
                                  "inspect all.csv" RAW " --reference-scan all.csv --reference 0.9-6i "
                                  "--reference-column 3 --dark-scan all.csv --dark-column 4 --back uncoated");
    expect_piece(&result, "Reference: 0.9-6i (scan all.csv), R of 90.91 % by its index table, one polished face.");
}
END_TEST

Suite *cli_reference_suite(void)
{
    Suite *suite = suite_create("reference scans");
    TCase *tcase = scratch_case("reference scans");
    tcase_add_test(tcase, signals_become_R);
    tcase_add_test(tcase, an_instrument_that_is_off_holds_the_verdict);
    tcase_add_test(tcase, columns_of_one_file);
    tcase_add_loop_test(tcase, wrong_lines_end_with_two, 0, sizeof wrong / sizeof wrong[0]);
    suite_add_tcase(suite, tcase);
    return suite;
}
