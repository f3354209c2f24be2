/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/measured.h>
#include <math.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

/* Three rows that every habit below writes in its own way: 400, 500 and 600 nm with 1.5, 0.25 and 2 %. */
#define ROWS "400,1.5\n500,0.25\n600,2\n"
static const double wavelengths[] = {400, 500, 600};
static const double values[] = {0.015, 0.0025, 0.02};

static const char *const by_number[] = {"2"};
static const char *const by_name[] = {"After"};
static const char *const both[] = {"R1", "R2"};
static const bc_quantity reflectance = BC_R, transmittance = BC_T;

/* A way to write a file, and what it says about itself. */
typedef struct habit {
    const char *what;
    const char *bytes;
    size_t length; /* 0: up to the terminating zero */
    bc_measured_options options;
    bc_stated unit_stated, wavelength_stated;
    long header_line, first_line;
    bc_decimal decimal;
} habit;

#define PLAIN       .unit_stated = BC_STATED_HEADER, .wavelength_stated = BC_STATED_HEADER
#define POINT       .decimal = BC_DECIMAL_POINT
#define COMMA       .decimal = BC_DECIMAL_COMMA
#define LINES(h, f) .header_line = (h), .first_line = (f)

static const habit habits[] = {
    {"plain", "wavelength_nm,R_percent\n" ROWS, 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"words in brackets", "Wavelength (nm),Reflectance (%)\n" ROWS, 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"square brackets", "Wavelength [nm],Transmittance [%]\n" ROWS, 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"units as names", "nm,%R\n" ROWS, 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"units behind", "nm,R%\n" ROWS, 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"percent as a word",
     "lambda_nm;percent reflectance\n400;1.5\n500;.25\n600;2.\n",
     0,
     {0},
     PLAIN,
     LINES(1, 2),
     POINT},
    {"a row of units", "Wavelength,Reflectance\nnm,%\n" ROWS, 0, {0}, PLAIN, LINES(1, 3), POINT},
    {"a row of units in brackets",
     "Wavelength;R\n[nm];[%]\n400;1,5\n500;0,25\n600;2\n",
     0,
     {0},
     PLAIN,
     LINES(1, 3),
     COMMA},
    {"no unit of wavelength",
     "Wavelength,%R\n" ROWS,
     0,
     {0},
     .unit_stated = BC_STATED_HEADER,
     .wavelength_stated = BC_STATED_VALUES,
     LINES(1, 2),
     POINT},
    {"no header at all",
     ROWS,
     0,
     {0},
     .unit_stated = BC_STATED_VALUES,
     .wavelength_stated = BC_STATED_VALUES,
     LINES(0, 1),
     POINT},
    {"percent by the values",
     "nm,R\n" ROWS,
     0,
     {0},
     .unit_stated = BC_STATED_VALUES,
     .wavelength_stated = BC_STATED_HEADER,
     LINES(1, 2),
     POINT},
    {"percent by the cells",
     "nm,R\n400,1.5%\n500,0.25 %\n600,2 %\n",
     0,
     {0},
     .unit_stated = BC_STATED_CELLS,
     .wavelength_stated = BC_STATED_HEADER,
     LINES(1, 2),
     POINT},
    {"fractions by the option",
     "nm,R\n400,0.015\n500,0.0025\n600,0.02\n",
     0,
     {.unit = BC_UNIT_FRACTION},
     .unit_stated = BC_STATED_OPTION,
     .wavelength_stated = BC_STATED_HEADER,
     LINES(1, 2),
     POINT},
    {"fractions by the header",
     "nm,R (fraction)\n400,0.015\n500,0.0025\n600,0.02\n",
     0,
     {0},
     PLAIN,
     LINES(1, 2),
     POINT},
    {"micrometres", "Wavelength (um),R%\n0.4,1.5\n0.5,0.25\n0.6,2\n", 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"micro sign", "\xC2\xB5m;R%\n0.4;1.5\n0.5;0.25\n0.6;2\n", 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"Greek mu", "\xCE\xBB [\xCE\xBCm];R [%]\n0.4;1.5\n0.5;0.25\n0.6;2\n", 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"Latin-1 micro sign",
     "Pr\xFC"
     "fglas 5\xB0\n\xB5m;R%\n0.4;1.5\n0.5;0.25\n0.6;2\n",
     0,
     {0},
     PLAIN,
     LINES(2, 3),
     POINT},
    {"micrometres by a word",
     "Wavelength,%R\n0.4,1.5\n0.5,0.25\n0.6,2\n",
     0,
     {0},
     .unit_stated = BC_STATED_HEADER,
     .wavelength_stated = BC_STATED_VALUES,
     LINES(1, 2),
     POINT},
    {"micrometres by the option",
     "0.4,1.5\n0.5,0.25\n0.6,2\n",
     0,
     {.wavelength_unit = BC_WAVELENGTH_UM},
     .unit_stated = BC_STATED_VALUES,
     .wavelength_stated = BC_STATED_OPTION,
     LINES(0, 1),
     POINT},
    {"falling wavelengths", "nm,%R\n600,2\n500,0.25\n400,1.5\n", 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"semicolons and decimal commas", "nm;%R\n400,0;1,5\n500,0;0,25\n600,0;2,0\n", 0, {0}, PLAIN, LINES(1, 2), COMMA},
    {"tabs and decimal commas", "nm\t%R\n400\t1,5\n500\t0,25\n600\t2\n", 0, {0}, PLAIN, LINES(1, 2), COMMA},
    {"blanks",
     "  Wavelength (nm)   R (%)\n   400.0   1.50\n   500.0   0.25\n   600.0   2.00\n",
     0,
     {0},
     PLAIN,
     LINES(1, 2),
     POINT},
    {"blanks and decimal commas", "nm %R\n400,0 1,5\n500,0 0,25\n600,0 2,0\n", 0, {0}, PLAIN, LINES(1, 2), COMMA},
    {"a comma and a blank", "nm, %R\n400, 1.5\n500, 0.25\n600, 2\n", 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"quoted decimal commas",
     "\"nm\",\"R, %\"\n\"400,0\",\"1,5\"\n\"500,0\",\"0,25\"\n\"600,0\",\"2,0\"\n",
     0,
     {0},
     PLAIN,
     LINES(1, 2),
     COMMA},
    {"commas everywhere, told by the header",
     "nm,%R\n400,0,1,50\n500,0,0,25\n600,0,2,00\n",
     0,
     {0},
     PLAIN,
     LINES(1, 2),
     COMMA},
    {"commas everywhere, told by the option",
     "400,0,1,50\n500,0,0,25\n600,0,2,00\n",
     0,
     {.decimal = BC_DECIMAL_COMMA},
     .unit_stated = BC_STATED_VALUES,
     .wavelength_stated = BC_STATED_VALUES,
     LINES(0, 1),
     COMMA},
    {"byte order mark and CRLF",
     "\xEF\xBB\xBFnm,%R\r\n400,1.5\r\n500,0.25\r\n600,2\r\n",
     0,
     {0},
     PLAIN,
     LINES(1, 2),
     POINT},
    {"lone CR", "Sample\rnm,%R\r400,1.5\r500,0.25\r600,2", 0, {0}, PLAIN, LINES(2, 3), POINT},
    {"UTF-16, little end first",
     LITERAL("\xFF\xFEn\0m\0\t\0%\0R\0\n\0\x34\0\x30\0\x30\0\t\0\x31\0,\0\x35\0\n\0\x35\0\x30\0\x30\0\t\0\x30\0,\0"
             "\x32\0\x35\0\n\0\x36\0\x30\0\x30\0\t\0\x32\0\n\0"),
     {0},
     PLAIN,
     LINES(1, 2),
     COMMA},
    {"exponents", "nm,%R\n4.0E+02,1.5e0\n5E2,2.5E-01\n6e+2,+2.0\n", 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"a typographic minus elsewhere",
     "nm;x;%R\n400;\xE2\x88\x92"
     "1;1.5\n500;\xE2\x88\x92"
     "2;0.25\n600;0;2\n",
     0,
     {0},
     PLAIN,
     LINES(1, 2),
     POINT},
    {"a preamble",
     "Report 12, page 1\nSample: W-17, 25 mm, 2.0\nDate,2026-03-04,10:22\nRange,400,600\n17,2,B\nScan speed;5\n\n"
     "Wavelength (nm),%R\n" ROWS,
     0,
     {0},
     PLAIN,
     LINES(8, 9),
     POINT},
    {"a preamble and no header",
     "W-17, run 4\n25 mm disc, run 3\n601 points\n" ROWS,
     0,
     {0},
     .unit_stated = BC_STATED_VALUES,
     .wavelength_stated = BC_STATED_VALUES,
     LINES(0, 4),
     POINT},
    {"a quote that is never closed in the preamble",
     "Sample \"5 mm\n\"half, a name\nnm,%R\n" ROWS,
     0,
     {0},
     PLAIN,
     LINES(3, 4),
     POINT},
    {"comments",
     "# from the bench\nnm,%R\n400,1.5\n# lamp changed\n500,0.25\n600,2\n# done\n",
     0,
     {0},
     PLAIN,
     LINES(2, 3),
     POINT},
    {"the header in a comment", "# nm,%R\n" ROWS, 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"words behind", "nm,%R\n" ROWS "\nEnd of data\nOperator,B. N.\nAverage,1.25\n", 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"blank lines", "\n\nnm,%R\n\n400,1.5\n\n500,0.25\n   \n600,2\n\n", 0, {0}, PLAIN, LINES(3, 5), POINT},
    {"empty columns behind", "nm,%R,,\n400,1.5,,\n500,0.25,,\n600,2,,\n", 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"quoted cells",
     "\"nm\",\"%R\"\n\"400\",\"1.5\"\n\"500\",\"0.25\"\n\"600\",\"2\"\n",
     0,
     {0},
     PLAIN,
     LINES(1, 2),
     POINT},
    {"an index ahead", "No;nm;%R\n1;400;1.5\n2;500;0.25\n3;600;2\n", 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"the value first", "%R;nm\n1.5;400\n0.25;500\n2;600\n", 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"a flag behind", "nm;%R;flag\n400;1.5;ok\n500;0.25;ok\n600;2;ok\n", 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"R and T, R is sought",
     "nm,%R,%T\n400,1.5,90\n500,0.25,91\n600,2,92\n",
     0,
     {.quantity = &reflectance},
     PLAIN,
     LINES(1, 2),
     POINT},
    {"R and T, R is preferred",
     "nm,%T,%R\n400,90,1.5\n500,91,0.25\n600,92,2\n",
     0,
     {.preferred = &reflectance},
     PLAIN,
     LINES(1, 2),
     POINT},
    {"only T where R is preferred", "nm,%T\n" ROWS, 0, {.preferred = &reflectance}, PLAIN, LINES(1, 2), POINT},
    {"T has no header to say so", "nm,%\n" ROWS, 0, {.quantity = &transmittance}, PLAIN, LINES(1, 2), POINT},
    {"a column by its number",
     "nm,%R,%R\n400,1.5,9\n500,0.25,9\n600,2,9\n",
     0,
     {.columns = 1, .column = by_number},
     PLAIN,
     LINES(1, 2),
     POINT},
    {"a column by its name",
     "nm,Before,after\n400,9,1.5\n500,9,0.25\n600,9,2\n",
     0,
     {.columns = 1, .column = by_name},
     .unit_stated = BC_STATED_VALUES,
     .wavelength_stated = BC_STATED_HEADER,
     LINES(1, 2),
     POINT},
    {"three rows of which the last has no value",
     "nm,%R\n300,---\n350,\n" ROWS "650,over\n700,nan\n",
     0,
     {0},
     PLAIN,
     LINES(1, 4),
     POINT},
    {"repeats as columns",
     "nm,R1,R2\n400,1,2\n500,0.2,0.3\n600,1.75,2.25\n",
     0,
     {.columns = 2, .column = both, .unit = BC_UNIT_PERCENT},
     .unit_stated = BC_STATED_OPTION,
     .wavelength_stated = BC_STATED_HEADER,
     LINES(1, 2),
     POINT},
    {"repeats as pairs of columns",
     "nm,R1,nm,R2\n400,1,600,2.25\n500,0.2,500,0.3\n600,1.75,400,2\n",
     0,
     {.columns = 2, .column = both, .unit = BC_UNIT_PERCENT},
     .unit_stated = BC_STATED_OPTION,
     .wavelength_stated = BC_STATED_HEADER,
     LINES(1, 2),
     POINT},
    {"there and back again", "nm,%R\n400,1\n500,0.25\n600,2\n500,0.25\n400,2\n", 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"a wavelength twice", "nm,%R\n400,1\n400,2\n500,0.25\n600,2\n", 0, {0}, PLAIN, LINES(1, 2), POINT},
    {"a scan below a scan",
     "nm,%R\n400,1\n500,0.2\n600,2\n400,2\n500,0.3\n600,2\n",
     0,
     {.scan = BC_SCAN_ALL},
     PLAIN,
     LINES(1, 2),
     POINT},
    {"a scan below a scan, counted ahead of them",
     "Witness 7, 2 scans\nnm,%R\n400,1\n500,0.2\n600,2\n400,2\n500,0.3\n600,2\n",
     0,
     {0},
     PLAIN,
     LINES(2, 3),
     POINT},
    {"scans with headers and numbers",
     "Sample 5\nScan 1\nnm,%R\n400,1\n500,0.2\n600,2\n\nSample 5\nScan 2\nnm,%R\n600,2\n500,0.3\n400,2\n",
     0,
     {0},
     PLAIN,
     LINES(10, 4),
     POINT},
    {"a scan that goes on behind words",
     "nm,%R\n400,1.5\n500,0.25\nScan 1\nnm,%R\n600,2\n",
     0,
     {0},
     PLAIN,
     LINES(5, 2),
     POINT},
    {"one scan of two",
     "Sample 5\nnm,%R\n" ROWS "Sample 6\nnm,%R\n400,9\n500,9\n600,9\n",
     0,
     {.scan = 1},
     PLAIN,
     LINES(2, 3),
     POINT},
    {"the second scan of two",
     "nm,%T\n400,9\n500,9\n600,9\nSample 6\nnm,%R\n" ROWS,
     0,
     {.scan = 2},
     PLAIN,
     LINES(6, 7),
     POINT},
    {"all scans, whatever the words",
     "nm,%R\n400,1\n500,0.25\n600,2\nSample 6\n400,2\n500,0.25\n600,2\n",
     0,
     {.scan = BC_SCAN_ALL},
     PLAIN,
     LINES(1, 2),
     POINT},
};

static void expect_rows(const char *what, const bc_measured_file *file)
{
    ck_assert_msg(file->count == COUNT(wavelengths), "%s: %zu rows", what, file->count);
    for (size_t i = 0; i < COUNT(wavelengths); i++) {
        ck_assert_msg(file->wavelength_nm[i] == wavelengths[i], "%s: %.17g nm", what, file->wavelength_nm[i]);
        ck_assert_msg(fabs(file->value[i] - values[i]) < 1e-17, "%s: %.17g at %g nm", what, file->value[i],
                      wavelengths[i]);
    }
}

START_TEST(read)
{
    const habit *good = &habits[_i];
    const size_t length = good->length == 0 ? strlen(good->bytes) : good->length;
    bc_measured_file file;
    bc_error error = {0};
    bc_status status =
        bc_measured_file_read(scratch_write_bytes("scan.txt", good->bytes, length), &good->options, &file, &error);
    ck_assert_msg(status == BC_OK, "%s: %s", good->what, error.message);
    expect_rows(good->what, &file);
    ck_assert_msg(file.unit_stated == good->unit_stated, "%s: unit told by %d", good->what, (int)file.unit_stated);
    ck_assert_msg(file.wavelength_unit_stated == good->wavelength_stated, "%s: wavelength unit told by %d", good->what,
                  (int)file.wavelength_unit_stated);
    ck_assert_msg(file.header_line == good->header_line, "%s: header in line %ld", good->what, file.header_line);
    ck_assert_msg(file.first_line == good->first_line, "%s: first row in line %ld", good->what, file.first_line);
    ck_assert_msg(file.decimal == good->decimal, "%s: decimal sign %d", good->what, (int)file.decimal);
    bc_measured_file_clear(&file);
    ck_assert_ptr_null(file.value);
}
END_TEST

Suite *measured_habits_suite(void)
{
    Suite *suite = suite_create("measured, habits");
    TCase *tcase = scratch_case("read");
    tcase_add_loop_test(tcase, read, 0, COUNT(habits));
    suite_add_tcase(suite, tcase);
    return suite;
}
