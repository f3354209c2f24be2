/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * bench [engine | problems | fixed | calibrate] [EFFORT [SEED [SEEDS [THREADS [LETTERS]]]]]: all of it without a word.
 */
#include "bench.h"
#include <stdlib.h>
#include <string.h>

int main(int count, char **word)
{
    const char *part = count > 1 ? word[1] : "";
    const double effort = count > 2 ? strtod(word[2], NULL) : 1.0;
    const unsigned long seed = count > 3 ? strtoul(word[3], NULL, 10) : 1;
    const unsigned long seeds = count > 4 ? strtoul(word[4], NULL, 10) : 1;
    const size_t threads = count > 5 ? strtoul(word[5], NULL, 10) : 0;
    if (strcmp(part, "fixed") == 0) {
        bench_fixed_spectrum();
        return EXIT_SUCCESS;
    }
    if (strcmp(part, "calibrate") == 0) {
        bench_calibrate(effort, seed, seeds);
        return EXIT_SUCCESS;
    }
    if (strcmp(part, "problems") != 0)
        bench_engine();
    if (strcmp(part, "engine") != 0)
        bench_problems(effort, seed, seeds, threads, count > 6 ? word[6] : NULL);
    return EXIT_SUCCESS;
}
