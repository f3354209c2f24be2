/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/text.h"
#include "number.h"
#include "print.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DIGITS_MOST 17
#define PERCENT     2 /* as a power of ten */

/* A column that need not be there. */
typedef struct column {
    const char *name;
    int shift; /* the power of ten from the value in memory to the one in the file */
    bool any;
} column;

enum {
    RATE,
    TOOLING,
    THICKNESS_SIGMA,
    RUN_THICKNESS_SIGMA,
    INDEX_SIGMA,
    MINIMUM,
    PROCESS_C,
    RUNS,
    TOOLING_RUNS,
    THICKNESS_SIGMA_RUNS,
    RUN_THICKNESS_SIGMA_RUNS,
    INDEX_SIGMA_RUNS,
    COLUMNS
};

/* Of a figure where they are not those that were counted. */
static bool says_runs(const bc_process_row *row, double of_figure)
{
    return of_figure > 0.0 && of_figure != row->runs.counted;
}

static bool look_up(const bc_process_row *row, int which, double *value)
{
    const bool has[COLUMNS] = {row->has_rate,
                               row->has_tooling,
                               row->has_thickness_sigma,
                               row->has_run_thickness_sigma,
                               row->has_index_sigma,
                               row->has_minimum,
                               row->has_process_c,
                               row->runs.counted > 0.0,
                               says_runs(row, row->runs.tooling),
                               says_runs(row, row->runs.thickness_sigma),
                               says_runs(row, row->runs.run_thickness_sigma),
                               says_runs(row, row->runs.index_sigma)};
    const double values[COLUMNS] = {row->rate_nm_per_s,
                                    row->tooling,
                                    row->thickness_sigma,
                                    row->run_thickness_sigma,
                                    row->index_sigma,
                                    row->minimum_nm,
                                    row->process_c,
                                    row->runs.counted,
                                    row->runs.tooling,
                                    row->runs.thickness_sigma,
                                    row->runs.run_thickness_sigma,
                                    row->runs.index_sigma};
    *value = values[which];
    return has[which];
}

/* The fewest digits that give the value back, with the decimal point moved in the text: 0.015 is 1.5 percent, exactly.
 */
static void print_shifted(char to[BC_NUMBER_SIZE], double value, int shift)
{
    char plain[BC_NUMBER_SIZE];
    double back = 0;
    for (int digits = 0; digits < DIGITS_MOST; digits++) {
        bc_print(plain, sizeof plain, "%.*e", digits, value);
        char *exponent = strchr(plain, 'e');
        bc_print(to, BC_NUMBER_SIZE, "%.*se%ld", (int)(exponent - plain), plain,
                 strtol(exponent + 1, NULL, 10) + shift);
        if (bc_number_parse(to, -shift, &back) == BC_NUMBER_OK && back == value)
            break;
    }
    /* What people write, where it is the same. */
    bc_number_format(bc_number_read(to, NULL), plain);
    if (bc_number_parse(plain, -shift, &back) == BC_NUMBER_OK && back == value)
        memcpy(to, plain, sizeof plain);
}

static void add_row(const bc_process_row *row, const column columns[COLUMNS], bc_text *out)
{
    bc_text_add(out, "%s", row->material);
    for (int which = 0; which < COLUMNS; which++) {
        char number[BC_NUMBER_SIZE] = "";
        double value;
        if (!columns[which].any)
            continue;
        if (look_up(row, which, &value))
            print_shifted(number, value, columns[which].shift);
        bc_text_add(out, ",%s", number);
    }
    bc_text_add(out, "\n");
}

bc_status bc_report_process_csv(const bc_process *process, const char *comments, bc_text *out, bc_error *error)
{
    column columns[COLUMNS] = {{"rate_nm_per_s", 0, false},
                               {"tooling_factor", 0, false},
                               {"thickness_sigma_percent", PERCENT, false},
                               {"run_thickness_sigma_percent", PERCENT, false},
                               {"index_sigma", 0, false},
                               {"minimum_nm", 0, false},
                               {"process_c", 0, false},
                               {"runs", 0, false},
                               {"tooling_factor_runs", 0, false},
                               {"thickness_sigma_runs", 0, false},
                               {"run_thickness_sigma_runs", 0, false},
                               {"index_sigma_runs", 0, false}};
    bc_text_add_comments(out, comments);
    bc_text_add(out, "material");
    for (int which = 0; which < COLUMNS; which++) {
        double value;
        for (size_t i = 0; i < process->rows && !columns[which].any; i++)
            columns[which].any = look_up(&process->row[i], which, &value);
        if (columns[which].any)
            bc_text_add(out, ",%s", columns[which].name);
    }
    bc_text_add(out, "\n");
    for (size_t i = 0; i < process->rows; i++)
        add_row(&process->row[i], columns, out);
    return bc_text_end(out, error);
}
