/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "entry.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define SIZE 20000

static void fill(char *bytes, size_t length, unsigned seed)
{
    for (size_t i = 0; i < length; i++) {
        seed = seed * 1103515245u + 12345u;
        bytes[i] = (char)(seed >> 16);
    }
}

bc_status write_entry(bc_record *record, bc_record_kind kind, unsigned long first, unsigned seed,
                      char number[BC_RECORD_NUMBER_SIZE], bc_error *error)
{
    static const char *const words[] = {"quote", "--substrate", "1.52", "--record"};
    const bc_record_command command = {.kind = kind,
                                       .date = "2026-05-04",
                                       .version = "0.1.0",
                                       .subject = "orchard window",
                                       .tables = "/tables",
                                       .words = 4,
                                       .word = words};
    char bytes[SIZE];
    bc_status status = bc_record_begin(record, &command, first, number, error);
    fill(bytes, sizeof bytes, seed);
    if (status == BC_OK)
        status = bc_record_add_input(record, "stack.csv", "role\n", 5, error);
    if (status == BC_OK)
        status = bc_record_add_input(record, "own", NULL, 0, error);
    if (status == BC_OK)
        status = bc_record_add_input(record, "own/data.bin", bytes, sizeof bytes, error);
    if (status == BC_OK)
        status = bc_record_add_setting(record, "BLOOMCOAT_TABLES", "own", error);
    if (status == BC_OK)
        status = bc_record_add_callout(
            record, &(bc_record_callout){1, NULL, "band", "Ravg <= 0.5 %, 425-675 nm", "517642"}, error);
    if (status == BC_OK)
        status = bc_record_add_quote(record, &(bc_record_quote){1, NULL, "feasible", 0.8, 0.9, 0.88, 0.92, NAN}, error);
    if (status == BC_OK)
        status = bc_record_add_layer(record, &(bc_record_layer){1, 1, "MgF2", 99.6}, error);
    if (status == BC_OK)
        status = bc_record_add_output(record, NULL, "Verdict: feasible\n", 18, error);
    if (status == BC_OK)
        status = bc_record_add_output(record, "page.pdf", bytes + 7, sizeof bytes - 7, error);
    return status == BC_OK ? bc_record_commit(record, 0, "feasible", error) : status;
}
