/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_TEST_REPORT_SCENE_H
#define BLOOMCOAT_TEST_REPORT_SCENE_H
/*
 * Something to draw of every kind, filled in by hand: the figures are invented, only their places matter here.
 */
#include "scratch.h"
#include <bloomcoat/plot.h>

enum { PLOT_CHECK, PLOT_DESIGN, PLOT_SPECTRUM, PLOT_YIELD, PLOT_MATERIAL, PLOT_SCENES };

#define PLOT_POINTS   61 /* 400 to 700 nm */
#define PLOT_WORST    0.0045
#define PLOT_WORST_NM 512.0

typedef struct plot_scene {
    bc_materials *materials;
    bc_medium glass;
    bc_layer layer[2];
    bc_stack stack;
    bc_callout callout[3]; /* R every, R mean, T every at least */
    bc_callouts callouts;
    bc_finding finding[3];
    bc_check_result result;
    bc_check_report check;
    bc_design_report design;
    double wavelength_nm[PLOT_POINTS], value[5][PLOT_POINTS];
    bc_light_curve curve[2];
    bc_light light[2];
    bc_check_curves curves;
    bc_spectrum spectrum[2];
    double aoi_rad[2];
    bc_spectrum_report report;
    bc_percentile_curve percentiles;
    double fails[3];
    bc_yield_result yield;
} plot_scene;

/* Call it inside a scratch_case(). */
void plot_scene_open(plot_scene *all);
void plot_scene_close(plot_scene *all);

bc_status plot_scene_draw(const plot_scene *all, int which, const bc_plot_options *options, bc_text *text,
                          bc_error *error);

#endif
