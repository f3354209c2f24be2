/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * CSV: what is skipped, what is trimmed, and what is refused before any reader sees a cell.
 */
#include "csv_file.h"
#include "scratch.h"
#include "suites.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { ROLE, MATERIAL, THICKNESS, COLUMNS };
static const bc_csv_column columns[COLUMNS] = {{"role", true}, {"material", true}, {"thickness_nm", false}};
static const bc_csv_schema schema = {"role,material,thickness_nm", COLUMNS, columns};

static bc_csv *read_good(const char *bytes, size_t length)
{
    bc_csv *csv = NULL;
    bc_error error = {0};
    bc_status status = bc_csv_read(scratch_write_bytes("good.csv", bytes, length), &schema, &csv, &error);
    ck_assert_msg(status == BC_OK, "%s", error.message);
    return csv;
}

static void expect_row(const bc_csv *csv, size_t row, long line, const char *role, const char *material,
                       const char *thickness)
{
    ck_assert_int_eq(csv->line[row], line);
    ck_assert_str_eq(bc_csv_text(csv, row, ROLE), role);
    ck_assert_str_eq(bc_csv_text(csv, row, MATERIAL), material);
    ck_assert_str_eq(bc_csv_text(csv, row, THICKNESS), thickness);
}

/* The same two rows, however they are written. */
START_TEST(same_table)
{
    static const struct {
        const char *bytes;
        long first, second;
    } cases[] = {
        {"role,material,thickness_nm\nlayer,MgF2,91.4\nlayer,HfO2,\n", 2, 3},
        {"role,material,thickness_nm\nlayer,MgF2,91.4\nlayer,HfO2,", 2, 3}, /* no line's end at the end */
        {"role,material,thickness_nm\r\nlayer,MgF2,91.4\r\nlayer,HfO2,\r\n", 2, 3},
        {"role,material,thickness_nm\rlayer,MgF2,91.4\rlayer,HfO2,\r", 2, 3},
        {"\xEF\xBB\xBFrole,material,thickness_nm\nlayer,MgF2,91.4\nlayer,HfO2,\n", 2, 3},
        {"\xEF\xBB\xBF# kind: demo\r\n\r\nrole,material,thickness_nm\r\nlayer,MgF2,91.4\r\nlayer,HfO2,\r\n", 4, 5},
        {"\xEF\xBB\xBF\"role\",material,thickness_nm\nlayer,MgF2,91.4\nlayer,HfO2,\n", 2, 3},
        {"\n  \n# one\nrole,material,thickness_nm\n\n#two, \"open\nlayer,MgF2,91.4\n\t# three\n,,\nlayer,HfO2,\n\n", 7,
         10},
        {" role , material\t,thickness_nm \n  layer ,\tMgF2, 91.4 \nlayer,HfO2,  \n", 2, 3},
        {"\"role\",\"material\",\"thickness_nm\"\n\"layer\",\" MgF2 \",\"91.4\"\nlayer,\"HfO2\",\"\"\n", 2, 3},
        {"thickness_nm,role,material\n91.4,layer,MgF2\n,layer,HfO2\n", 2, 3},
        {"role;material;thickness_nm\nlayer;MgF2;91,4\nlayer;HfO2;\n", 2, 3},
        {"ROLE;Material;Thickness_nm\r\nlayer;MgF2;91.4\r\nlayer;HfO2;\r\n", 2, 3},
        {"# a, b\n\t\t\nrole\tmaterial\tthickness_nm\nlayer\tMgF2\t91,4\n\t\t\nlayer\tHfO2\t\n", 4, 6},
        {"role,material,thickness_nm\nlayer,MgF2,\"91,4\"\nlayer,HfO2,\n", 2, 3},
        {"\"role\";\"material\";\"thickness_nm\"\nlayer;MgF2;\"91,4\"\nlayer;HfO2;\n", 2, 3},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        bc_csv *csv = read_good(cases[i].bytes, strlen(cases[i].bytes));
        ck_assert_uint_eq(csv->rows, 2);
        expect_row(csv, 0, cases[i].first, "layer", "MgF2", "91.4");
        expect_row(csv, 1, cases[i].second, "layer", "HfO2", "");
        bc_csv_free(csv);
    }
}
END_TEST

/* "Unicode text" of a spreadsheet: UTF-16 with tabs. */
START_TEST(utf16)
{
    static const char text[] = "role\tmaterial\tthickness_nm\nlayer\tMgF2\t91,4\n";
    char bytes[2 * sizeof text] = "\xFF\xFE";
    for (size_t i = 0; i + 1 < sizeof text; i++) {
        bytes[2 + 2 * i] = text[i];
        bytes[3 + 2 * i] = '\0';
    }
    bc_csv *csv = read_good(bytes, 2 * sizeof text);
    ck_assert_uint_eq(csv->rows, 1);
    expect_row(csv, 0, 2, "layer", "MgF2", "91.4");
    bc_csv_free(csv);
}
END_TEST

/* A decimal comma in quotes could group thousands; a limit has signs around its number. */
START_TEST(decimal_commas)
{
    bc_csv *csv = read_good(LITERAL("role,material,thickness_nm\nlayer,MgF2,\"1,234\"\nlayer,HfO2,2\n"));
    expect_row(csv, 0, 2, "layer", "MgF2", "1,234");
    ck_assert(!csv->decimal_comma);
    bc_csv_free(csv);
    csv = read_good(LITERAL("role,material,thickness_nm\nlayer,MgF2,\"1,234\"\nlayer,\"<= 0,5 %\",2\n"));
    expect_row(csv, 0, 2, "layer", "MgF2", "1.234");
    expect_row(csv, 1, 3, "layer", "<= 0.5 %", "2");
    ck_assert(csv->decimal_comma);
    bc_csv_free(csv);
    csv = read_good(LITERAL("role;material;thickness_nm\nlayer;1,460;-1,5e-3\na, b;x,y;1,2,3\n"));
    expect_row(csv, 0, 2, "layer", "1.460", "-1.5e-3");
    expect_row(csv, 1, 3, "a, b", "x,y", "1,2,3");
    bc_csv_free(csv);
    csv = read_good(LITERAL("role,material,thickness_nm\nlayer,1.5,\"91,4\"\n")); /* refused by who reads a number */
    expect_row(csv, 0, 2, "layer", "1.5", "91,4");
    bc_csv_free(csv);
}
END_TEST

START_TEST(quoted_cells)
{
    bc_csv *csv =
        read_good(LITERAL("role,material\n\"a, b\",\"say \"\"n\"\"\"\n\"two\n# no comment\n\nlines\",x\nlast,y\n"));
    ck_assert_uint_eq(csv->rows, 3);
    expect_row(csv, 0, 2, "a, b", "say \"n\"", "");
    expect_row(csv, 1, 3, "two\n# no comment\n\nlines", "x", "");
    expect_row(csv, 2, 7, "last", "y", "");
    ck_assert(!bc_csv_has(csv, THICKNESS));
    bc_csv_free(csv);
}
END_TEST

START_TEST(comments_ahead_are_kept)
{
    bc_csv *csv = read_good(LITERAL("# kind: layer\n  #source: here \nrole,material\n# later\nlayer,MgF2\n"));
    ck_assert_uint_eq(csv->comments, 2);
    ck_assert_str_eq(csv->text + csv->comment[0], "kind: layer");
    ck_assert_str_eq(csv->text + csv->comment[1], "source: here");
    bc_csv_free(csv);
}
END_TEST

#define HEADER "role,material,thickness_nm\n"

static const refusal refusals[] = {
    {"empty file", "", 0, {"bad.csv: found an empty file; expected a header row such as role,material,thickness_nm"}},
    {"only a BOM", "\xEF\xBB\xBF", 0, {"bad.csv: found an empty file; expected a header"}},
    {"only comments", "# one\n\n  # two\n", 0, {"bad.csv: found only comments and blank lines; expected a header row"}},
    {"only a line's end", "\n", 0, {"bad.csv: found only comments and blank lines"}},
    {"only commas", ",,,\n", 0, {"bad.csv: found only comments and blank lines"}},
    {"header only", "# x\n" HEADER, 0, {"bad.csv:2: found a header and no rows; expected rows"}},
    {"header without an end", "role,material,thickness_nm", 0, {"bad.csv:1: found a header and no rows"}},
    {"unknown column",
     "role,material,thicknes_nm\nlayer,MgF2,1\n",
     0,
     {"bad.csv:1: column 3: found 'thicknes_nm', an unknown column; expected 'thickness_nm'"}},
    {"both decimal signs",
     "role;material;thickness_nm\nlayer;MgF2;1.5\nlayer;HfO2;2\nlayer;HfO2;2,5\n",
     0,
     {"bad.csv:4: column 3 (thickness_nm): found '2,5', and '1.5' in line 2; expected one decimal sign"}},
    {"UTF-16 of half a character",
     LITERAL("\xFF\xFEr\0o"),
     {"bad.csv: found the mark of UTF-16 text and then no such"}},
    {"unlike any column",
     "# c\nrole,material,colour_of_the_box\nlayer,MgF2,1\n",
     0,
     {"bad.csv:2: column 3: found 'colour_of_the_box'", "expected one of role, material, thickness_nm"}},
    {"no header", "layer,MgF2,91.4\n", 0, {"bad.csv:1: column 1: found 'layer', an unknown column", "expected"}},
    {"a column without a name",
     "role,material,\nlayer,MgF2,\n",
     0,
     {"bad.csv:1: column 3: found ''", "expected one of"}},
    {"the same column twice",
     "role,material,role\nlayer,MgF2,layer\n",
     0,
     {"bad.csv:1: column 3: found 'role' again; expected each column once (it is column 1"}},
    {"missing columns",
     "thickness_nm\n1\n",
     0,
     {"bad.csv:1: found a header without role, material; expected a header such as role,material,thickness_nm"}},
    {"too few cells", HEADER "layer,MgF2,1\nlayer,MgF2\n", 0, {"bad.csv:3: found 2 cells; expected 3"}},
    {"too many cells",
     HEADER "layer,MgF2,91,4\n",
     0,
     {"bad.csv:2: found 4 cells; expected 3", "decimal sign is a point"}},
    {"too many cells, blank", HEADER "layer,MgF2,91.4,\n", 0, {"bad.csv:2: found 4 cells; expected 3"}},
    {"not UTF-8", HEADER "layer,caf\xE9,1\n", 0, {"bad.csv:2: byte 10: found byte 0xE9, which is not UTF-8; expected"}},
    {"not UTF-8 in a comment",
     "ab\n#\xFF\n",
     0,
     {"bad.csv:2: byte 2: found byte 0xFF", "expected a CSV file in UTF-8"}},
    {"not UTF-8 after CRLF", "a\r\nb\xC3\r\n", 0, {"bad.csv:2: byte 2: found byte 0xC3"}},
    {"cut in a character", "a\n\n\xE2\x82", 0, {"bad.csv:3: byte 1: found byte 0xE2"}},
    {"a zero byte", LITERAL(HEADER "layer,Mg\0F2,1\n"), {"bad.csv:2: byte 9: found a zero byte; expected text"}},
    {"a zero byte alone", LITERAL("\0"), {"bad.csv:1: byte 1: found a zero byte"}},
    {"a quote that never ends",
     HEADER "layer,\"MgF2,1\nlayer,HfO2,2\n",
     0,
     {"bad.csv:2: column 2 (material): found a double quote that is never closed; expected a closing one"}},
    {"a quote that never ends, begun later",
     HEADER "\"fi\nlm\",\"MgF2\",\"1\n\nlayer,HfO2,2",
     0,
     {"bad.csv:3: column 3 (thickness_nm): found a double quote that is never closed"}},
    {"a quote that never ends, in the header", "role,\"material\n", 0, {"bad.csv:1: column 2: found a double quote"}},
    {"text after a closing quote",
     HEADER "layer,\"MgF2\"x,1\n",
     0,
     {"bad.csv:2: column 2 (material): found 'x,1' after the closing quote of the cell that began in line 2",
      "expected a separator or the end of the line there"}},
    {"a quote closed by a later one",
     HEADER "layer,\"MgF2,1\nlayer,\"HfO2\",2\n",
     0,
     {"bad.csv:3: column 2 (material): found 'HfO2\",2' after the closing quote of the cell that began in line 2"}},
    {"a quote inside",
     HEADER "layer,Mg\"F2\",1\n",
     0,
     {"bad.csv:2: column 2 (material): found '\"F2\",1' inside a cell without quotes around it",
      "expected the whole cell in double quotes"}},
    {"a terminal's escape", "ro\x1B[2Jle,material\nlayer,MgF2\n", 0, {"column 1: found 'ro\\x1B[2Jle'"}},
    {"long text",
     "role,a_column_of_no_meaning_with_a_very_long_name_indeed\nlayer,MgF2\n",
     0,
     {"found 'a_column_of_no_meaning_with_a_very_long_...'"}},
    {"long text of wide letters",
     "role,\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC"
     "\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC"
     "\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC"
     "\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC"
     "\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\nlayer,MgF2\n",
     0,
     {"\xE2\x82\xAC...'"}},
};

START_TEST(refused)
{
    const refusal *bad = &refusals[_i];
    bc_csv *csv = NULL;
    bc_error error = {0};
    const char *path = scratch_write_bytes("bad.csv", bad->bytes, bad->length == 0 ? strlen(bad->bytes) : bad->length);
    expect_refusal(bad->what, bc_csv_read(path, &schema, &csv, &error), &error, BC_ERROR_INPUT, bad->pieces);
    ck_assert_ptr_null(csv);
    ck_assert_int_eq(bc_csv_read(path, &schema, &csv, NULL), BC_ERROR_INPUT); /* whoever wants no message gets none */
}
END_TEST

START_TEST(many_columns)
{
    char header[4096] = "role";
    bc_csv *csv = NULL;
    bc_error error = {0};
    for (int i = 0; i < 1000; i++)
        strcat(header, ",x");
    strcat(header, "\n");
    expect_refusal("many columns", bc_csv_read(scratch_write("bad.csv", header), &schema, &csv, &error), &error,
                   BC_ERROR_INPUT,
                   (const char *[PIECES]){"bad.csv:1: found 1001 columns; expected a header row such as"});
}
END_TEST

/* Arrays grow and lines keep their numbers. */
START_TEST(many_rows)
{
    enum { ROWS = 20000 };
    char *text = malloc(ROWS * 40 + 40), *end = text;
    ck_assert_ptr_nonnull(text);
    end += sprintf(end, "role,material,thickness_nm\n");
    for (int i = 0; i < ROWS; i++)
        end += sprintf(end, "layer,m%d,%d\n#\n", i, i + 1);
    bc_csv *csv = read_good(text, (size_t)(end - text));
    ck_assert_uint_eq(csv->rows, ROWS);
    expect_row(csv, 0, 2, "layer", "m0", "1");
    expect_row(csv, ROWS - 1, 2 * ROWS, "layer", "m19999", "20000");
    bc_csv_free(csv);
    free(text);
}
END_TEST

/* Every way to cut or to damage one byte of a good file is either read or refused with a message, never worse: this is
 * for the sanitizers. */
START_TEST(damaged_bytes)
{
    static const char good[] =
        "\xEF\xBB\xBF# k: v\r\nrole,material,\"thickness_nm\"\r\n\"fi\"\"\nlm\", MgF2 ,9e1\nx,y,\n";
    static const char damage[] = "\0\n\r\",# \xFF\xC3"
                                 "a";
    bc_csv *csv = NULL;
    char bytes[sizeof good];
    for (size_t i = 0; i < sizeof good; i++) {
        for (size_t j = 0; j < sizeof damage; j++) {
            bc_error error = {0};
            memcpy(bytes, good, sizeof good);
            bytes[i] = damage[j];
            size_t length = j + 1 == sizeof damage ? i : sizeof good - 1;
            if (bc_csv_read(scratch_write_bytes("x.csv", bytes, length), &schema, &csv, &error) == BC_OK)
                bc_csv_free(csv);
            else
                ck_assert_ptr_nonnull(strstr(error.message, "; expected "));
        }
    }
}
END_TEST

Suite *csv_suite(void)
{
    Suite *suite = suite_create("csv");
    TCase *tcase = scratch_case("csv");
    tcase_add_test(tcase, same_table);
    tcase_add_test(tcase, utf16);
    tcase_add_test(tcase, decimal_commas);
    tcase_add_test(tcase, quoted_cells);
    tcase_add_test(tcase, comments_ahead_are_kept);
    tcase_add_loop_test(tcase, refused, 0, sizeof refusals / sizeof refusals[0]);
    tcase_add_test(tcase, many_columns);
    tcase_add_test(tcase, many_rows);
    tcase_add_test(tcase, damaged_bytes);
    suite_add_tcase(suite, tcase);
    return suite;
}
