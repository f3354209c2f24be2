/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What is open of a process that is known by some runs: which figures are one, how well each is known, and what a layer
 * is off by.
 */
#include "process_draw.h"
#include "workshop.h"
#include <math.h>
#include <stdlib.h>

#define MATERIALS 3

typedef struct doubted {
    workshop w;
    bc_run_model model;
    bc_process_doubt doubt;
} doubted;

/* Materials 1.38, 1.7 and 2.1, in the order of their names; rows are added before ask_doubt(). */
static void open_doubted(doubted *d)
{
    workshop_open(&d->w, "air", "2.1,1.38,1.7,2.1", "1.52");
    workshop_ask(&d->w, 0.02, 450.0, 650.0, 0.0);
}

static void ask_doubt(doubted *d)
{
    ck_assert_int_eq(bc_run_model_open(&d->w.problem, &d->w.stack, &d->w.process, &d->model, NULL), BC_OK);
    ck_assert_uint_eq(d->model.materials, MATERIALS);
    ck_assert_int_eq(bc_process_doubt_open(&d->model, &d->w.process, &d->doubt, NULL), BC_OK);
}

static void close_doubted(doubted *d)
{
    bc_process_doubt_close(&d->doubt);
    bc_run_model_close(&d->model);
    workshop_close(&d->w);
}

/* What materials take from the row `*` is one figure, whatever else a row of their own says. */
START_TEST(figures_of_all_materials_are_one)
{
    doubted d;
    open_doubted(&d);
    workshop_errors(&d.w, "*", 0.01, 0.005, 0.003);
    d.w.row[0].has_tooling = d.w.process.has_tooling = true;
    d.w.row[0].runs = (bc_process_runs){.tooling = 9.0, .thickness_sigma = 9.0, .index_sigma = 9.0};
    workshop_errors(&d.w, "2.1", 0.02, 0.005, 0.0);
    d.w.row[1].has_index_sigma = d.w.row[1].has_run_thickness_sigma = false;
    workshop_errors(&d.w, "1.7", 0.0, 0.005, 0.006);
    d.w.row[2].has_thickness_sigma = d.w.row[2].has_run_thickness_sigma = false;
    ask_doubt(&d);
    const bc_doubted *layer = d.doubt.layer, *index = d.doubt.index, *factor = d.doubt.factor;
    ck_assert_uint_eq(layer[1].number, layer[0].number);
    ck_assert_uint_ne(layer[2].number, layer[0].number);
    ck_assert_uint_eq(index[2].number, index[0].number);
    ck_assert_uint_ne(index[1].number, index[0].number);
    ck_assert(factor[1].number == factor[0].number && factor[2].number == factor[0].number);
    ck_assert(layer[0].number != index[0].number && layer[0].number != factor[0].number);
    ck_assert(index[0].number != factor[0].number && layer[2].number != index[1].number);
    close_doubted(&d);
}
END_TEST

/* Runs behind a figure that is 0, or of which none is known, tell nothing; one run tells as much as two. */
START_TEST(how_well_figures_are_known)
{
    static const struct {
        double sigma, bias;
        bc_process_runs runs;
        double layer, factor, run, fewest; /* degrees of freedom, and the runs; INFINITY: exact */
    } known[] = {{0.01, 0.0, {.thickness_sigma = 5.0}, 4.0, 0.0, 0.0, 5.0},
                 {0.01, 0.0, {.thickness_sigma = 1.0}, 1.0, 0.0, 0.0, 1.0},
                 {0.01, 0.0, {.thickness_sigma = 2.0, .tooling = 3.0}, 1.0, 3.0, 0.0, 2.0},
                 {0.0, 0.02, {.thickness_sigma = 2.0, .tooling = 3.0}, 0.0, 3.0, 0.0, 3.0},
                 {0.0, 0.0, {.thickness_sigma = 2.0, .tooling = 3.0}, 0.0, 0.0, 0.0, INFINITY},
                 {0.0, 0.02, {.run_thickness_sigma = 1.0}, 0.0, 0.0, 1.0, 1.0},
                 {0.01, 0.02, {.counted = 8.0, .thickness_sigma = 5.0}, 4.0, 0.0, 0.0, 8.0},
                 {0.01, 0.02, {.counted = 8.0}, 0.0, 0.0, 0.0, INFINITY}};
    doubted d;
    open_doubted(&d);
    workshop_errors(&d.w, "*", known[_i].sigma, known[_i].bias, 0.0);
    d.w.row[0].runs = known[_i].runs;
    ask_doubt(&d);
    for (size_t m = 0; m < MATERIALS; m++) {
        ck_assert_double_eq(d.doubt.layer[m].freedom, known[_i].layer);
        ck_assert_double_eq(d.doubt.factor[m].freedom, known[_i].factor);
        ck_assert_double_eq(d.doubt.index[m].freedom, 0.0);
    }
    ck_assert_double_eq(d.doubt.run.freedom, known[_i].run);
    ck_assert(d.doubt.runs == known[_i].fewest);
    ck_assert(d.doubt.any == isfinite(known[_i].fewest));
    close_doubted(&d);
}
END_TEST

/* Of a tooling factor that n runs tell, each layer is off by the mean of n runs' errors: of the run, and of its own
 * material. Before anything is drawn the process is that of the file. */
START_TEST(what_layers_are_off_by)
{
    const double sigma[MATERIALS] = {0.01, 0.03, 0.02}, bias = 0.015, n[MATERIALS] = {1.0, 0.0, 6.0}, z_run = 0.7;
    const double z[MATERIALS] = {-1.1, 0.4, 1.9};
    double number[2 + 3 * MATERIALS] = {0.0};
    bc_process_draw draw;
    doubted d;
    open_doubted(&d);
    for (size_t m = 0; m < MATERIALS; m++) {
        workshop_errors(&d.w, ((const char *[]){"1.38", "1.7", "2.1"})[m], sigma[m], bias, 0.0);
        d.w.row[m].has_tooling = true;
        d.w.row[m].runs.tooling = n[m];
    }
    d.w.process.has_tooling = true;
    ask_doubt(&d);
    ck_assert_uint_eq(d.doubt.numbers, 2 + 3 * MATERIALS);
    ck_assert_int_eq(bc_process_draw_alloc(&d.doubt, &draw, NULL), BC_OK);
    ck_assert(draw.run == 1.0 && draw.index[0] == 1.0 && draw.index[2] == 1.0);
    for (size_t m = 0; m < MATERIALS; m++)
        number[d.doubt.factor[m].number] = z[m];
    number[1 - d.doubt.run.number] = z_run; /* two are the chamber's: the sigma of the run, and its mean */
    for (size_t j = 0; j < 4; j++)
        ck_assert(draw.layer[j] == 1.0 && draw.off[j] == 0.0);
    bc_process_draw_set(&d.doubt, number, &draw);
    for (size_t j = 0; j < 4; j++) {
        const size_t m = (const size_t[]){2, 0, 1, 2}[j]; /* of the stack */
        const double off = m == 1 ? 0.0 : (bias * z_run + sigma[m] * z[m]) / sqrt(n[m]);
        ck_assert_double_eq(draw.layer[j], 1.0);
        ck_assert_double_eq_tol(draw.off[j], off, 1e-15);
        ck_assert_double_eq_tol(bc_doubted_off(&d.doubt, j), m == 1 ? 0.0 : hypot(bias, sigma[m]) / sqrt(n[m]), 1e-15);
    }
    ck_assert_double_eq(draw.run, 1.0);
    free(draw.layer);
    close_doubted(&d);
}
END_TEST

TCase *process_draw_case(void)
{
    TCase *tests = tcase_create("process_draw");
    tcase_add_test(tests, figures_of_all_materials_are_one);
    tcase_add_loop_test(tests, how_well_figures_are_known, 0, 8);
    tcase_add_test(tests, what_layers_are_off_by);
    return tests;
}
