/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_TEST_REPORT_OFFERED_H
#define BLOOMCOAT_TEST_REPORT_OFFERED_H
/*
 * A quote and simulated runs filled in by hand: the figures are invented, only their form matters here.
 */
#include "fixture.h"

#define OFFERED_EXCEPTIONS 8
#define OFFERED_REMARKS    6
#define OFFERED_INFLUENCES 6
#define OFFERED_POINTS     3

typedef struct offered {
    fixture base;
    bc_callouts callouts;
    bc_process_row row[2]; /* `soft`: no tooling, no index_sigma; `hard`: nothing but a sigma */
    bc_process process;
    bc_chamber chamber;
    bc_curved curved;
    bc_design_problem problem;
    bc_medium at_hand[2];
    bc_quote_request request;
    bc_quote_option option[2];
    bc_exception exception[OFFERED_EXCEPTIONS]; /* found and not found in turn */
    bc_remark remark[OFFERED_REMARKS];
    double fails[FIXTURE_CALLOUTS];
    bc_quote_result result;
    bc_quote_report quote;
    bc_influence influence[OFFERED_INFLUENCES]; /* the three layers, the two indices, the bias */
    double nm[OFFERED_POINTS], value[5][OFFERED_POINTS];
    bc_percentile_curve curve;
    bc_yield_result runs;
    bc_yield_report yield;
} offered;

/* A marginal quote on a plane surface. Call it inside a scratch_case(), and fixture_close(&all->base) in the end. */
void open_offered(offered *all);

#endif
