/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef HISTORIES_YIELDS_H
#define HISTORIES_YIELDS_H
#include "history.h"

/* Writes a table for histories of 5, 20 and 100 runs of this truth, learned from beside the process file `before`. */
void yield_tables(bench *b, const bc_inspect_result *pattern, const history_truth *was, const bc_process *before,
                  size_t histories);

#endif
