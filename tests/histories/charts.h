/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef HISTORIES_CHARTS_H
#define HISTORIES_CHARTS_H
#include <gsl/gsl_rng.h>

void chart_tables(gsl_rng *random, size_t histories);

#endif
