/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PROCESS_COLUMNS_H
#define BLOOMCOAT_PROCESS_COLUMNS_H
/*
 * The columns of a process file, for what reads it and for what writes it.
 */
#include <bloomcoat/process.h>

typedef enum bc_process_column {
    BC_PROCESS_MATERIAL,
    BC_PROCESS_RATE, /* the figures from here on */
    BC_PROCESS_TOOLING,
    BC_PROCESS_THICKNESS_SIGMA,
    BC_PROCESS_RUN_THICKNESS_SIGMA,
    BC_PROCESS_INDEX_SIGMA,
    BC_PROCESS_MINIMUM,
    BC_PROCESS_C,
    BC_PROCESS_GRADIENT,
    BC_PROCESS_RUNS, /* numbers of runs from here on */
    BC_PROCESS_TOOLING_RUNS,
    BC_PROCESS_THICKNESS_SIGMA_RUNS,
    BC_PROCESS_RUN_THICKNESS_SIGMA_RUNS,
    BC_PROCESS_INDEX_SIGMA_RUNS,
    BC_PROCESS_COLUMNS
} bc_process_column;

const char *bc_process_column_name(size_t column);

/* The power of ten from the value in memory to the one in the file: 2 for percent. */
int bc_process_column_power(size_t column);

/* Of a figure or a number of runs; a number of runs is given where it is above 0. */
double bc_process_value(const bc_process_row *row, size_t column);
bool bc_process_is_given(const bc_process_row *row, size_t column);

#endif
