/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scan.h"

typedef struct wrong_line {
    const char *line;
    const char *piece;
} wrong_line;

static const wrong_line wrong[] = {
    {"inspect --stack stack.csv --callouts callouts.csv", "inspect needs a MEASURED;"},
    {"inspect scan.csv --callouts callouts.csv", "inspect needs --stack"},
    {"inspect missing.csv --stack stack.csv --callouts callouts.csv", "missing.csv: found no such file"},
    {"inspect scan.csv missing.csv --stack stack.csv --callouts callouts.csv", "missing.csv: found no such file"},
    {"inspect stack.csv --stack stack.csv --callouts callouts.csv", "stack.csv: found no rows of numbers"},
    {"inspect open.csv --stack stack.csv --callouts mixed.csv",
     "open.csv: found no header that says reflectance or transmittance; expected R or T (--quantity R or"},
    {INSPECT " --quantity T", "scan.csv:1: column 2 (%R): found reflectance; expected transmittance (T)"},
    {INSPECT " --quantity X", "--quantity: found 'X'; expected 'R' or 'T'"},
    {INSPECT " --column Q", "scan.csv:1: found no column 'Q' for --column"},
    {INSPECT " --column 2 --column 2", "found twice among --column"},
    {INSPECT " --t-column %R", "scan.csv:1: column 2 (%R): found reflectance; expected transmittance"},
    {INSPECT " --quantity T --t-column %T", "--t-column: found it beside --quantity T"},
    {INSPECT " --uncertainty-column u", "found no column 'u' for --uncertainty-column"},
    {INSPECT " --unit watts", "--unit: found 'watts'; expected 'percent', 'fraction' or 'counts'"},
    {INSPECT " --unit fraction", "found a header that says percent, and --unit fraction"},
    {INSPECT " --unit fraction --overrule", "expected fractions, as the option says"},
    {INSPECT " --report out.pdf", "--report: found no uncertainty of the measurement"},
    {INSPECT " --wavelength-unit cm", "--wavelength-unit: found 'cm'"},
    {INSPECT " --wavelength-unit um", "expected a wavelength in um, as the option says"},
    {INSPECT " --decimal dot", "--decimal: found 'dot'"},
    {INSPECT " --separator pipe", "--separator: found 'pipe'"},
    {INSPECT " --separator tab", "scan.csv: found no rows of numbers"},
    {INSPECT " --scan 0", "--scan"},
    {INSPECT " --scan 2", "scan.csv: found 1 scan; expected one of them for --scan, not 2"},
    {INSPECT " --aoi 90", "--aoi: found '90'"},
    {INSPECT " --polarization each", "--polarization: found 'each'; expected 'unpolarized', 's' or 'p'"},
    {INSPECT " --uncertainty-percent -1", "--uncertainty-percent: found '-1'"},
    {INSPECT " --uncertainty-percent 101", "--uncertainty-percent: found '101'"},
    {INSPECT " --coverage 0", "--coverage: found '0'"},
    {INSPECT " --confidence-percent 100", "--confidence-percent: found '100'"},
    {INSPECT " --back nowhere.csv", "--back: found 'nowhere.csv'"},
    {INSPECT " --substrate 1.52,1.6", "--substrate: found 2 glasses; expected the one that was measured"},
    {INSPECT " --substrate nosuchglass", "--substrate"},
    {INSPECT " --process callouts.csv", "callouts.csv:1"},
    {INSPECT " --next-process next.csv", "--next-process: found no --process"},
    {INSPECT " --next-stack scan.csv", "scan.csv: found one of the inputs"},
    {INSPECT " --next-stack stack.csv", "stack.csv: found one of the inputs"},
    {INSPECT " --process process.csv --next-process process.csv", "process.csv: found one of the inputs"},
    {INSPECT " --next-stack -", "--next-stack: found '-'; expected a file's name"},
    {INSPECT " --next-stack out.csv -o out.csv", "out.csv: found the same file for --next-stack and for the result"},
    {INSPECT " --next-stack nowhere/out.csv", "no such folder"},
    {INSPECT " -o scan.csv", "scan.csv: found one of the inputs"},
    {INSPECT " -o callouts.csv", "callouts.csv: found one of the inputs"},
    {"inspect scan.csv scan.csv --stack stack.csv --next-stack out.csv",
     "--next-stack: found 2 measured files; expected one, whose run the next one is corrected by (--next-process"},
    {INSPECT " --nonsense", "inspect has no option '--nonsense'"},
};

START_TEST(wrong_lines_end_with_two)
{
    write_stacks();
    scratch_write("open.csv", "nm;%\n400;1\n500;2\n600;3\n");
    scratch_write("mixed.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                               "one,R,max,<= 5,420,580,0,unpolarized\nother,T,min,>= 90,420,580,0,unpolarized\n");
    const size_t files = count_files();
    expect(2, wrong[_i].piece, wrong[_i].line);
    ck_assert_uint_eq(count_files(), files);
}
END_TEST

Suite *inspect_wrong_suite(void)
{
    Suite *suite = suite_create("inspect, wrong lines");
    TCase *tcase = scratch_case("wrong");
    tcase_add_loop_test(tcase, wrong_lines_end_with_two, 0, sizeof wrong / sizeof wrong[0]);
    suite_add_tcase(suite, tcase);
    return suite;
}
