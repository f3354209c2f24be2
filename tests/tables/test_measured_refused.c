/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/measured.h>
#include <fcntl.h>
#include <math.h>
#include <string.h>
#include <unistd.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

/* A file that must be refused, and what the message must say. */
typedef struct question {
    const char *what;
    const char *bytes;
    size_t length; /* 0: up to the terminating zero */
    bc_measured_options options;
    const char *pieces[PIECES];
} question;

#define ROWS "400,1.5\n500,0.25\n600,2\n"

static const char *const twice[] = {"R", "2"};
static const char *const named[] = {"%R"};
static const char *const first[] = {"1"};
static const char *const absent[] = {"Q"};
static const char *const zero[] = {"0"};
static const char *const mixed[] = {"%R", "%T"};
static const char *const by_two[] = {"2"};
static const bc_quantity reflectance = BC_R;
static const bc_polarization s_light = BC_POL_S;
static const double normal = 0.0;

static const question questions[] = {
    /* what must be asked for */
    {"percent or fraction",
     "nm,R\n400,0.3\n500,0.1\n600,0.9\n",
     0,
     {0},
     {"scan.txt:1: column 2 (R): found values from 0.1 to 0.9 and no unit",
      "expected --unit percent or --unit fraction"}},
    {"percent or fraction of T",
     "nm,T\n400,0.98\n500,1.01\n600,0.97\n",
     0,
     {0},
     {"column 2 (T): found values from 0.97 to 1.01", "--unit percent or --unit fraction"}},
    {"nm or um without a header",
     "0.4,2\n0.5,3\n0.6,2\n",
     0,
     {0},
     {"scan.txt:1: column 1: found numbers from 0.4 to 0.6 and no unit",
      "--wavelength-unit nm or --wavelength-unit um"}},
    {"nm or cm-1 without a header",
     "4000,2\n3000,3\n2000,2\n",
     0,
     {0},
     {"column 1: found numbers from 2000 to 4000", "--wavelength-unit nm"}},
    {"neither nm nor um for certain", "Wavelength,%R\n50,2\n90,3\n200,2\n", 0, {0}, {"--wavelength-unit nm"}},
    {"which of several columns",
     "nm,R1,R2,R3\n400,1,1,1\n500,2,2,2\n",
     0,
     {0},
     {"scan.txt:1: found 3 columns of values (2 'R1', 3 'R2', 4 'R3'); expected --column"}},
    {"which of several columns without a header",
     "400,1,1.5\n500,2,2\n600,2,2\n",
     0,
     {0},
     {"scan.txt:1: found 2 columns of values (2, 3); expected --column"}},
    {"R or T", "nm,%R,%T\n400,1,90\n500,2,90\n", 0, {0}, {"found 2 columns of values (2 '%R', 3 '%T')"}},
    {"the same header twice",
     "nm,%R,%R\n400,1,90\n500,2,90\n",
     0,
     {.columns = 1, .column = named},
     {"found 2 columns called '%R'; expected --column with a column's number (1 'nm', 2 '%R', 3 '%R')"}},
    {"separator or decimal sign",
     "400,0,31\n500,0,25\n600,1,75\n",
     0,
     {0},
     {"scan.txt:1: found '400,0,31', where a comma may part the columns or be the decimal sign; expected --decimal "
      "point or --decimal comma"}},
    {"separator or decimal sign in pairs",
     "400,0,0,31\n500,0,0,25\n600,0,1,75\n",
     0,
     {0},
     {"found '400,0,0,31'", "--decimal point or --decimal comma"}},
    {"which commas",
     "400,0,31\n500,0,25\n600,1,75\n",
     0,
     {.decimal = BC_DECIMAL_COMMA},
     {"found '400,0,31', which leaves open which commas part the columns"}},
    {"more cells than names",
     "nm,%R\n400,0,31\n500,0,25\n600,1,75\n",
     0,
     {0},
     {"scan.txt:2: found '400,0,31', up to 3 cells in a row below 2 names"}},
    {"another sample below",
     "nm,%R\n" ROWS "Sample 6\n" ROWS,
     0,
     {0},
     {"scan.txt:5: found 'Sample 6' between two scans, which may mean another sample; expected --scan all"}},
    {"another header below",
     "nm,%R\n" ROWS "nm,%T\n" ROWS,
     0,
     {0},
     {"scan.txt:5: found 'nm,%T', another header than that of the rows in line 2; expected --scan"}},
    {"no such scan", "nm,%R\n" ROWS ROWS, 0, {.scan = 3}, {"found 2 scans; expected one of them for --scan, not 3"}},
    /* what the file says, against the options or itself */
    {"an angle against the option",
     "Angle of incidence: 45 deg\nnm,%R\n" ROWS,
     0,
     {.aoi_deg = &normal},
     {"scan.txt:1: found 'Angle of incidence: 45 deg', an angle of 45 degrees, and --aoi 0"}},
    {"an angle in the header against the option",
     "nm,R at 45 deg (%)\n" ROWS,
     0,
     {.aoi_deg = &normal},
     {"scan.txt:1: found 'nm,R at 45 deg (%)', an angle of 45 degrees, and --aoi 0"}},
    {"two angles",
     "0 deg, then 45 deg\nnm,%R\n" ROWS,
     0,
     {0},
     {"two angles of incidence; expected --aoi with the one of this measurement"}},
    {"p against s", "nm,Rp (%)\n" ROWS, 0, {.polarization = &s_light}, {"polarization p, and --polarization s"}},
    {"a polarizer at an angle",
     "Polarizer: 90 deg\nnm,%R\n" ROWS,
     0,
     {0},
     {"does not say which polarizations; expected --polarization"}},
    {"a mode of T", "Mode: %T\nnm,%R\n" ROWS, 0, {0}, {"found 'Mode: %T', and a column of reflectance"}},
    {"a mode of T against the option",
     "Mode: %T\nnm,Value (%)\n" ROWS,
     0,
     {.quantity = &reflectance},
     {"found 'Mode: %T', and --quantity R"}},
    {"a mode of absorbance", "Mode: Abs\nnm,Value\n" ROWS, 0, {0}, {"found 'Mode: Abs', absorbance"}},
    {"a simulated spectrum",
     "Simulated spectrum\nnm,%R\n" ROWS,
     0,
     {0},
     {"scan.txt:1: found 'Simulated spectrum': a simulated curve"}},
    {"a dark scan", "Data: dark scan\nnm,%R\n" ROWS, 0, {0}, {"scan.txt:1: found 'Data: dark scan': a dark scan"}},
    {"a 100 % line", "Sample: none (100 % line)\nnm,%R\n" ROWS, 0, {0}, {": a 100 % line"}},
    {"not to be used", "EXAMPLE DATA - DO NOT USE\nnm,%R\n" ROWS, 0, {0}, {": a scan not to be used"}},
    {"aborted, below the rows",
     "nm,%R\n" ROWS "Scan aborted at 600 nm\n",
     0,
     {0},
     {"scan.txt:5: found 'Scan aborted at 600 nm': a scan that was aborted"}},
    {"a saturated detector", "Warning: detector saturated\nnm,%R\n" ROWS, 0, {0}, {": a detector beyond its range"}},
    {"the lamp off", "Lamp: off\nnm,%R\n" ROWS, 0, {0}, {": a scan with the lamp off"}},
    {"multiplied", "Ordinate scale: 0.1\nnm,%R\n" ROWS, 0, {0}, {": values that were multiplied"}},
    {"multiplied, behind a semicolon",
     "Wavelength in air (nm), vacuum: no; scale factor 10\nnm,%R\n" ROWS,
     0,
     {0},
     {": values that were multiplied"}},
    {"a bare substrate",
     "Sample: bare substrate\nnm,%R\n" ROWS,
     0,
     {0},
     {"scan.txt:1: found 'Sample: bare substrate': a piece without a coating", "--overrule"}},
    {"fractions over percent",
     "Unit: fraction\nnm,%R\n" ROWS,
     0,
     {0},
     {": fractions, around values in percent", "--overrule"}},
    {"a number that may be an angle",
     "nm,R_45 (%)\n" ROWS,
     0,
     {0},
     {"scan.txt:1: column 2 (R_45 (%)): found the number 45", "expected --aoi"}},
    {"a flag beside the value",
     "nm,%R,status\n400,1.5,ok\n500,0.25,SAT\n600,2,ok\n",
     0,
     {0},
     {"scan.txt:3: column 3 (status): found 'SAT'"}},
    {"values that are not valid",
     "nm,%R,valid\n400,1.5,1\n500,0.25,0\n600,2,1\n",
     0,
     {0},
     {"scan.txt:3: column 3 (valid): found '0'"}},
    {"the unit against the option",
     "nm,%R\n" ROWS,
     0,
     {.unit = BC_UNIT_FRACTION},
     {"found a header that says percent, and --unit fraction"}},
    {"decibels", "nm,R (dB)\n" ROWS, 0, {0}, {"column 2 (R (dB)): found decibels"}},
    {"per mille", "nm,R (\xE2\x80\xB0)\n" ROWS, 0, {0}, {"found per mille"}},
    {"what is left", "nm,100-R (%)\n" ROWS, 0, {0}, {"found what is left of 100 %"}},
    {"a difference", "nm,\xCE\x94R (%)\n" ROWS, 0, {0}, {"found a difference"}},
    {"half of it", "nm,R/2 (%)\n" ROWS, 0, {0}, {"column 2 (R/2 (%)): found a multiple or a power"}},
    {"ten times it", "nm,R*10 (%)\n" ROWS, 0, {0}, {"found a multiple or a power"}},
    {"ten times it, ahead", "nm,10 x R (%)\n" ROWS, 0, {0}, {"found a multiple or a power"}},
    {"its square", "nm,R^2 (%)\n" ROWS, 0, {0}, {"found a multiple or a power"}},
    {"its root", "nm,sqrt(R) (%)\n" ROWS, 0, {0}, {"found a root"}},
    {"noise alone", "nm,R noise (%)\n" ROWS, 0, {0}, {"found noise and no measured R or T beside it"}},
    {"scattered light alone", "nm,Diffuse R (%)\n" ROWS, 0, {0}, {"found scattered light"}},
    {"a prediction alone", "nm,R predicted (%)\n" ROWS, 0, {0}, {"found a simulated curve"}},
    {"a limit alone", "nm,R limit (%)\n" ROWS, 0, {0}, {"found a limit and no measured R or T beside it"}},
    {"a limit by its number",
     "nm,R limit (%),R (%)\n400,1,1\n500,1,1\n600,1,2\n",
     0,
     {.columns = 1, .column = by_two},
     {"column 2 (R limit (%)): found a limit; expected a column of measured values"}},
    {"a dark scan alone", "nm,Dark (%)\n" ROWS, 0, {0}, {"found a dark scan"}},
    {"counts", "nm,Counts\n" ROWS, 0, {0}, {"found the signal of an instrument"}},
    {"a second column that may be it",
     "nm,%R,Witness 12\n400,1.5,2\n500,0.25,1\n600,2,3\n",
     0,
     {0},
     {"found 2 columns of values (2 '%R', 3 'Witness 12'); expected --column"}},
    {"runs as blocks", "Run 7\nnm,%R\n" ROWS "Run 8\nnm,%R\n" ROWS, 0, {0}, {"found 'Run 8' between two scans"}},
    {"bare numbers as heads", "7\nnm,%R\n" ROWS "8\nnm,%R\n" ROWS, 0, {0}, {"found '8' between two scans"}},
    {"a blank line between blocks",
     "nm,%R\n" ROWS "\n" ROWS,
     0,
     {0},
     {"scan.txt:6: found '400,1.5', where another scan begins, and nothing that calls it a repeat"}},
    {"one point above 1.5",
     "nm,R\n400,1.62\n410,0.1\n420,0.1\n430,0.2\n440,0.1\n450,0.1\n460,0.1\n470,0.1\n480,0.1\n",
     0,
     {0},
     {"expected --unit percent or --unit fraction"}},
    /* what cannot be */
    {"wavenumbers",
     "cm-1,%R\n4000,1\n3000,2\n",
     0,
     {0},
     {"scan.txt:1: column 1 (cm-1): found another scale than wavelength; expected wavelengths in nm or um"}},
    {"wavenumbers by a word", "Wavenumber;%R\n4000;1\n3000;2\n", 0, {0}, {"another scale than wavelength"}},
    {"energies", "eV;%R\n1.5;1\n2;2\n", 0, {0}, {"another scale than wavelength"}},
    {"angstrom", "Wavelength (\xC3\x85);%R\n4000;1\n5000;2\n", 0, {0}, {"another scale than wavelength"}},
    {"absorbance",
     "nm,Absorbance\n400,0.1\n500,2\n",
     0,
     {0},
     {"scan.txt:1: column 2 (Absorbance): found absorbance, the logarithm"}},
    {"T where R is wanted",
     "nm,%T\n400,91\n500,92\n",
     0,
     {.quantity = &reflectance},
     {"scan.txt:1: column 2 (%T): found transmittance; expected reflectance (R)"}},
    {"wavelengths as values",
     "nm,%R\n400,91\n500,92\n",
     0,
     {.columns = 1, .column = first},
     {"column 1 (nm): found wavelengths; expected a column of values"}},
    {"wavelengths as values, no header",
     "400,9.5\n500,92\n600,92\n",
     0,
     {.columns = 1, .column = first},
     {"column 1: found the wavelengths"}},
    {"no such column",
     "nm,%R\n400,91\n500,92\n",
     0,
     {.columns = 1, .column = absent},
     {"scan.txt:1: found no column 'Q' for --column; expected one of 1 'nm', 2 '%R'"}},
    {"column 0", "nm,%R\n400,91\n500,92\n", 0, {.columns = 1, .column = zero}, {"found no column '0'"}},
    {"a column twice",
     "nm,R\n400,91\n500,92\n",
     0,
     {.columns = 2, .column = twice},
     {"column 2 (R): found twice among --column"}},
    {"R and T as repeats",
     "nm,%R,%T\n400,91,1\n500,92,2\n",
     0,
     {.columns = 2, .column = mixed},
     {"column 3 (%T): found another quantity or unit than in column 2"}},
    {"no such uncertainty",
     "nm,%R\n400,91\n500,92\n",
     0,
     {.uncertainty_column = "u"},
     {"found no column 'u' for --uncertainty-column"}},
    {"no number as uncertainty",
     "nm,%R,u\n400,91,x\n500,92,1\n",
     0,
     {.uncertainty_column = "u"},
     {"scan.txt:2: column 3 (u): found 'x'; expected an uncertainty, 0 or more"}},
    {"uncertainty below 0",
     "nm,%R,u\n400,91,-1\n500,92,1\n",
     0,
     {.uncertainty_column = "u"},
     {"scan.txt:2: column 3 (u): found '-1'; expected an uncertainty"}},
    {"a word among the values",
     "nm,%R\r400,1\r500,---\r600,2\r",
     0,
     {0},
     {"scan.txt:3: column 2 (%R): found '---'; expected a number"}},
    {"nan among the values", "nm,%R\n400,1\n500,NaN\n600,2\n", 0, {0}, {"scan.txt:3: column 2 (%R): found 'NaN'"}},
    {"inf among the values", "nm,%R\n400,1\n500,inf\n600,2\n", 0, {0}, {"scan.txt:3: column 2 (%R): found 'inf'"}},
    {"over among the values",
     "nm,%R\r\n\r\n400,1\r\n500,over\r\n600,2\r\n",
     0,
     {0},
     {"scan.txt:4: column 2 (%R): found 'over'"}},
    {"nothing among the values", "nm,%R\n400,1\n500,\n600,2\n", 0, {0}, {"scan.txt:3: column 2 (%R): found ''"}},
    {"nothing behind a blank", "nm  %R\n400 1\n500\n600 2\n", 0, {0}, {"scan.txt:3: column 2 (%R): found ''"}},
    {"a broken value at the end", "nm,%R\n400,1\n500,1\n600,2.x\n", 0, {0}, {"scan.txt:4: column 2 (%R): found '2.x'"}},
    {"a broken wavelength",
     "nm,%R\n400,1\n5o0,1\n600,2\n",
     0,
     {0},
     {"scan.txt:3: column 1 (nm): found '5o0'; expected a wavelength"}},
    {"thousands",
     "nm;%R\n400.5;1\n1,200.5;1\n1300.5;2\n",
     0,
     {0},
     {"scan.txt:3: column 1 (nm): found '1,200.5' (a thousands separator is not read)"}},
    {"thousands by a blank", "nm;%R\n900;1\n1 000;1\n1100;2\n", 0, {0}, {"scan.txt:3: column 1 (nm): found '1 000'"}},
    {"two decimal signs",
     "nm;%R\n400.5;1,5\n500.5;1.5\n600.5;2.5\n",
     0,
     {0},
     {"scan.txt:2: column 2 (%R): found '1,5' (the decimal sign of the other numbers is a point)"}},
    {"some with a percent sign",
     "nm;R\n400;1.5%\n500;1.5\n600;2.5%\n",
     0,
     {0},
     {"scan.txt:3: column 2 (R): found '1.5'; expected a % after every value or after none"}},
    {"far below 0",
     "nm,%R\n400,1\n500,-6\n",
     0,
     {0},
     {"scan.txt:3: column 2 (%R): found '-6'; expected percent, as the header says, from 0 to 100 with some noise"}},
    {"far above 100 %",
     "nm,%T\n400,91\n500,111\n",
     0,
     {0},
     {"scan.txt:3: column 2 (%T): found '111'; expected percent"}},
    {"percent called fractions",
     "nm,R\n400,0.5\n500,12\n",
     0,
     {.unit = BC_UNIT_FRACTION},
     {"scan.txt:3: column 2 (R): found '12'; expected fractions, as the option says, from 0 to 1"}},
    {"um called nm",
     "nm,%R\n0.4,1\n0.5,2\n",
     0,
     {0},
     {"scan.txt:2: column 1 (nm): found '0.4'; expected a wavelength in nm, as the header says, from 100 nm to 100 "
      "um"}},
    {"nm called um",
     "um,%R\n0.4,1\n5000,2\n",
     0,
     {0},
     {"scan.txt:3: column 1 (um): found '5000'; expected a wavelength"}},
    {"grids that differ",
     "nm,%R\n400,1\n401,1\n402,1\n400,1\n401.2,1\n402,1\n",
     0,
     {.scan = BC_SCAN_ALL},
     {"found a scan with 401 nm, which the scan from line 5 (400 to 402 nm) does not have", "one part in a million"}},
    {"a row out of order", "nm,%R\n400,1\n401,1\n403,1\n402,1\n404,1\n", 0, {0}, {"found a scan with 40"}},
    {"a row behind words",
     "nm,%R\n" ROWS "the end\n700,3\n",
     0,
     {0},
     {"scan.txt:6: found '700,3', a row of numbers after words"}},
    {"no numbers", "Sample 5\nnm,%R\n", 0, {0}, {"scan.txt: found no rows of numbers among its lines (2)"}},
    {"a single column", "400\n500\n600\n", 0, {0}, {"found no rows of numbers"}},
    {"another separator than the option's",
     "nm,%R\n" ROWS,
     0,
     {.separator = BC_SEPARATOR_TAB},
     {"found no rows of numbers"}},
    {"no values at all",
     "nm,%R,x\n400,---,1\n500,---,1\n600,---,1\n",
     0,
     {.columns = 1, .column = named},
     {"scan.txt:2: found no value in column 2; expected numbers"}},
    {"an empty file", "", 0, {0}, {"scan.txt: found an empty file"}},
    {"nothing but a mark", "\xEF\xBB\xBF", 0, {0}, {"scan.txt: found an empty file"}},
    {"a file of another kind", LITERAL("nm,%R\n400\0,1\n"), {0}, {"scan.txt:2: found a zero byte; expected text"}},
    {"UTF-16 with half of a pair",
     LITERAL("\xFF\xFEn\0m\0\n\0\x34\xD8 \0\n\0"),
     {0},
     {"scan.txt: found the mark of UTF-16"}},
    {"UTF-16 with the second half alone",
     LITERAL("\xFE\xFF\0n\xDC\x00\0\n"),
     {0},
     {"scan.txt: found the mark of UTF-16"}},
    {"UTF-16 that ends in a pair", LITERAL("\xFE\xFF\0n\xD8\x34"), {0}, {"scan.txt: found the mark of UTF-16"}},
    {"UTF-16 cut short", LITERAL("\xFF\xFEn\0m"), {0}, {"scan.txt: found the mark of UTF-16"}},
};

START_TEST(refused)
{
    const question *bad = &questions[_i];
    const size_t length = bad->length == 0 ? strlen(bad->bytes) : bad->length;
    bc_measured_file file;
    bc_error error = {0};
    bc_status status =
        bc_measured_file_read(scratch_write_bytes("scan.txt", bad->bytes, length), &bad->options, &file, &error);
    expect_refusal(bad->what, status, &error, BC_ERROR_INPUT, bad->pieces);
    ck_assert_ptr_null(file.value);
    ck_assert_uint_eq(file.count, 0);
}
END_TEST

/* Lines and columns of a measurement that name what the questions above are about. */
START_TEST(read_all_the_same)
{
    static const char *const plain[] = {
        "Reference: mirror\nBaseline: 100 % line\nDark: none\nnm,%R\n" ROWS,
        "Aborted: no\nSaturated pixels: 0\nD2 lamp: off\nnm,%R\n" ROWS,
        "Ordinate scale: 0-100 %\nScale factor: 1\nMultiplied by 100\nnm,%R\n" ROWS,
        "Unit: nm\nUnits: nm, %\nSample: design 7 witness\nnm,%R\n" ROWS,
        "Theoretical R of the reference: 4.2\nReflectance calculated from 3 scans\nnm,%R\n" ROWS,
        "Sample: witness, uncoated back\nReference: bare substrate\nWavelength (nm); scale factor 1\nnm,%R\n" ROWS,
        "nm,R_12 (%)\n" ROWS,
        "nm,%R,status\n400,1.5,ok\n500,0.25,0\n600,2,ok\n",
        "nm,%R,valid\n400,1.5,1\n500,0.25,1\n600,2,1\n",
    };
    bc_measured_file file;
    bc_error error = {0};
    bc_status status = bc_measured_file_read(scratch_write("scan.txt", plain[_i]), NULL, &file, &error);
    ck_assert_msg(status == BC_OK, "%s: %s", plain[_i], error.message);
    ck_assert_uint_eq(file.count, 3);
    ck_assert(!file.overruled);
    bc_measured_file_clear(&file);
}
END_TEST

/* Several GB, of which the disk holds nothing: refused by its size, not read. */
START_TEST(far_too_large)
{
    static const char *const pieces[PIECES] = {"scan.txt: found a file over 64 MiB"};
    const char *path = scratch_write("scan.txt", "nm,%R\n" ROWS);
    bc_measured_file file;
    bc_error error = {0};
    int descriptor = open(path, O_WRONLY);
    ck_assert_int_ge(descriptor, 0);
    ck_assert_int_eq(ftruncate(descriptor, (off_t)5 << 30), 0);
    ck_assert_int_eq(close(descriptor), 0);
    bc_status status = bc_measured_file_read(path, NULL, &file, &error);
    expect_refusal("far too large", status, &error, BC_ERROR_INPUT, pieces);
}
END_TEST

/* Whatever is cut off a file, it is read or refused, and nothing is lost on the way. */
START_TEST(cut_short_anywhere)
{
    const question *whole = &questions[_i];
    const size_t length = whole->length == 0 ? strlen(whole->bytes) : whole->length;
    for (size_t i = 0; i < length; i++) {
        bc_measured_file file;
        bc_error error = {0};
        bc_status status = bc_measured_file_read(scratch_write_bytes("scan.txt", whole->bytes, i), NULL, &file, &error);
        ck_assert(status == BC_OK || status == BC_ERROR_INPUT);
        ck_assert((status == BC_OK) == (file.count > 0));
        for (size_t row = 0; row < file.count; row++)
            ck_assert(isfinite(file.value[row]) && (row == 0 || file.wavelength_nm[row] > file.wavelength_nm[row - 1]));
        bc_measured_file_clear(&file);
    }
}
END_TEST

Suite *measured_refused_suite(void)
{
    Suite *suite = suite_create("measured, refused");
    TCase *tcase = scratch_case("refused");
    tcase_add_loop_test(tcase, refused, 0, COUNT(questions));
    tcase_add_loop_test(tcase, read_all_the_same, 0, 8);
    tcase_add_loop_test(tcase, cut_short_anywhere, 0, COUNT(questions));
    tcase_add_test(tcase, far_too_large);
    suite_add_tcase(suite, tcase);
    return suite;
}
