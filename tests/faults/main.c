/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "faults.h"
#include "part.h"

static Suite *(*const suites[])(void) = {memory_suite, writes_suite, signals_suite, locale_suite};

int main(void)
{
    return run_part(sizeof suites / sizeof *suites, suites);
}
