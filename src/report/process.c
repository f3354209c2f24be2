/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/text.h"
#include "number.h"
#include "print.h"
#include "process_columns.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DIGITS_MOST 17

/* Of a figure where they are not those that were counted. */
static bool is_written(const bc_process_row *row, size_t column)
{
    return bc_process_is_given(row, column) &&
           (column <= BC_PROCESS_RUNS || bc_process_value(row, column) != row->runs.counted);
}

void bc_print_shifted(char to[BC_NUMBER_SIZE], double value, int shift)
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

static void add_row(const bc_process_row *row, const bool any[BC_PROCESS_COLUMNS], bc_text *out)
{
    bc_text_add(out, "%s", row->material);
    for (size_t column = BC_PROCESS_RATE; column < BC_PROCESS_COLUMNS; column++) {
        char number[BC_NUMBER_SIZE] = "";
        if (!any[column])
            continue;
        if (is_written(row, column))
            bc_print_shifted(number, bc_process_value(row, column), bc_process_column_power(column));
        bc_text_add(out, ",%s", number);
    }
    bc_text_add(out, "\n");
}

bc_status bc_report_process_csv(const bc_process *process, const char *comments, bc_text *out, bc_error *error)
{
    bool any[BC_PROCESS_COLUMNS] = {false};
    bc_text_add_comments(out, comments);
    bc_text_add(out, "%s", bc_process_column_name(BC_PROCESS_MATERIAL));
    for (size_t column = BC_PROCESS_RATE; column < BC_PROCESS_COLUMNS; column++) {
        for (size_t i = 0; i < process->rows && !any[column]; i++)
            any[column] = is_written(&process->row[i], column);
        if (any[column])
            bc_text_add(out, ",%s", bc_process_column_name(column));
    }
    bc_text_add(out, "\n");
    for (size_t i = 0; i < process->rows; i++)
        add_row(&process->row[i], any, out);
    return bc_text_end(out, error);
}
