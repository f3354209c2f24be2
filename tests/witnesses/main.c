/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How far an inspection can be trusted: tables over many simulated witnesses, whose errors are known.
 *
 *     bloomcoat-witnesses cause 16       which cause is named, against the cause that was put in
 *     bloomcoat-witnesses coverage 16    how often the truth lies within two standard errors of a fitted thickness
 *     bloomcoat-witnesses verdict 16     false accepts at the limit, and what stays undecided well within it
 *     bloomcoat-witnesses oblique 16     the same of rows at 40 degrees, judged from the fit
 *     bloomcoat-witnesses next 16        what the next run gains
 *     bloomcoat-witnesses index 16       n, k and thickness of single layers, and how well their intervals hold
 *     bloomcoat-witnesses process 16     what the chamber is found to do, from many runs
 *
 * The number is that of runs a cause or a world; a third word keeps to the rows of verdict, oblique, next and index
 * whose name has it in it. The same command prints the same table.
 */
#include "world.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct table {
    const char *name;
    void (*print)(world *w, size_t runs);
} table;

int main(int argc, char **argv)
{
    static const table tables[] = {{"cause", table_cause},    {"coverage", table_coverage}, {"verdict", table_verdict},
                                   {"next", table_next},      {"index", table_index},       {"oblique", table_oblique},
                                   {"process", table_process}};
    const size_t runs = argc > 2 ? strtoul(argv[2], NULL, 10) : 16;
    for (size_t t = 0; argc > 1 && t < sizeof tables / sizeof *tables; t++)
        if (strcmp(argv[1], tables[t].name) == 0) {
            world w;
            world_open(&w);
            w.only = argc > 3 ? argv[3] : "";
            tables[t].print(&w, runs);
            world_close(&w);
            return EXIT_SUCCESS;
        }
    fputs("usage: bloomcoat-witnesses cause|coverage|verdict|next|index|oblique|process [RUNS [ROW]]\n", stderr);
    return EXIT_FAILURE;
}
