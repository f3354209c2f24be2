/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_TEST_REPORT_INSPECTED_H
#define BLOOMCOAT_TEST_REPORT_INSPECTED_H
/*
 * An inspection of two witnesses filled in by hand: the figures are invented, only their form matters here.
 */
#include "fixture.h"

#define INSPECTED_POINTS 3

typedef struct inspected {
    fixture base;
    double nm[INSPECTED_POINTS], measured[INSPECTED_POINTS], design[INSPECTED_POINTS], fitted[INSPECTED_POINTS];
    double from_design[INSPECTED_POINTS], from_fitted[INSPECTED_POINTS], noise[INSPECTED_POINTS],
        systematic[INSPECTED_POINTS];
    bc_measured_column column[2];
    bc_measured_file file;
    bc_witness_source source[2];
    bc_callouts callouts;
    bc_inspect_setup setup;
    bc_inspect_finding finding[FIXTURE_CALLOUTS];
    bc_layer_estimate layer[FIXTURE_LAYERS];
    size_t member[2];
    double weight[2];
    bc_layer_group group;
    bc_material_found material[2];
    bc_hypothesis hypothesis[2];
    bc_inspect_result result[2];
    bc_spread spread[FIXTURE_LAYERS];
    bc_lot_result lot;
    bc_inspect_report report;
} inspected;

/* One witness; `lot` holds two. Call it inside a scratch_case(), and fixture_close(&all->base) in the end. */
void open_inspected(inspected *all);

#endif
