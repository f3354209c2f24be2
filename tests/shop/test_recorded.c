/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Whole quotes as they were recorded (recorded.h): every figure of a quote, so that none moves unnoticed. In the build
 * as shipped alone: that of the sanitizers rounds otherwise.
 */
#include "deposition.h"
#include "inquiry.h"
#include "recorded.h"
#include <bloomcoat/curved.h>
#include <math.h>
#include <stdio.h>

/* What a search on another processor, which rounds otherwise, may end at. */
#define NM    0.05
#define LIMIT 1e-3 /* of a limit */
#define SHARE 0.004
#define HOURS 0.01 /* of them */
#define ANGLE 1e-3 /* radians */

static void record_stack(recorded *r, const bc_stack *stack, const char *name)
{
    record(r, (double)stack->layers, 0.0, "%s.layers", name);
    for (size_t j = 0; j < stack->layers; j++)
        record(r, stack->layer[j].thickness_nm, NM, "%s.%s.%zu", name, stack->layer[j].material.name, j + 1);
}

static void record_option(recorded *r, const bc_quote_option *option, const char *name)
{
    record_stack(r, &option->stack, name);
    record(r, option->total_nm, NM, "%s.total_nm", name);
    record(r, option->limit_used, LIMIT * option->limit_used, "%s.limit_used", name);
    record(r, option->yield, SHARE, "%s.yield", name);
    record(r, option->yield_low, SHARE, "%s.yield_low", name);
    record(r, option->yield_high, SHARE, "%s.yield_high", name);
    record(r, option->known.runs, 0.0, "%s.known.runs", name);
    record(r, option->known.low, 2.0 * SHARE, "%s.known.low", name);
    record(r, option->known.high, 2.0 * SHARE, "%s.known.high", name);
    record(r, option->known.average, SHARE, "%s.known.average", name);
    record(r, option->layer_hours, HOURS * option->layer_hours, "%s.layer_hours", name);
    record(r, option->hours_per_load, HOURS * option->hours_per_load, "%s.hours_per_load", name);
    record(r, (double)option->loads, 0.0, "%s.loads", name);
    record(r, option->hours, HOURS * option->hours, "%s.hours", name);
    record(r, option->loads_expected, HOURS * option->loads_expected, "%s.loads_expected", name);
    record(r, option->expected_hours, HOURS * option->expected_hours, "%s.expected_hours", name);
    record(r, (double)option->loads_at_confidence, 1.0, "%s.loads_at_confidence", name);
    record(r, (double)option->blanks, 0.02 * (double)option->blanks, "%s.blanks", name);
    record(r, (double)option->runs, 0.0, "%s.runs", name);
    record(r, (double)option->predicted_runs, 0.02 * (double)option->predicted_runs, "%s.predicted_runs", name);
    record(r, (double)option->thin_layer, 0.0, "%s.thin_layer", name);
}

static void record_callout(recorded *r, const bc_callout *offered, const char *name)
{
    record(r, offered->limit, LIMIT * offered->limit, "%s.limit", name);
    record(r, offered->from_nm, 0.5, "%s.from_nm", name);
    record(r, offered->to_nm, 0.5, "%s.to_nm", name);
    record(r, offered->aoi_to_rad, ANGLE, "%s.aoi_to", name);
}

static void record_exception(recorded *r, const bc_exception *one, size_t callouts, const char *name)
{
    record(r, one->kind, 0.0, "%s.kind", name);
    record(r, one->found, 0.0, "%s.found", name);
    record(r, one->callout == BC_NO_CALLOUT ? -1.0 : (double)one->callout, 0.0, "%s.callout", name);
    record(r, one->factor, LIMIT * one->factor, "%s.factor", name);
    record(r, one->aperture_mm, 0.02, "%s.aperture_mm", name);
    if (!one->found)
        return;
    record_callout(r, &one->offered, name);
    for (size_t c = 0; one->all != NULL && c < callouts; c++) {
        char row[96];
        snprintf(row, sizeof row, "%s.all.%zu", name, c);
        record_callout(r, &one->all[c], row);
    }
    record_stack(r, &one->stack, name);
    record(r, one->limit_used, LIMIT * one->limit_used, "%s.limit_used", name);
    record(r, one->yield, SHARE, "%s.yield", name);
    record(r, one->yield_low, SHARE, "%s.yield_low", name);
    record(r, one->yield_high, SHARE, "%s.yield_high", name);
    record(r, (double)one->runs, 0.0, "%s.runs", name);
}

static void record_quote(recorded *r, const bc_quote_result *result, size_t callouts)
{
    char name[32];
    record(r, result->verdict, 0.0, "verdict");
    record(r, result->obstacle, 0.0, "obstacle");
    record(r, result->at_the_limit, 0.0, "at_the_limit");
    record(r, (double)result->options, 0.0, "options");
    record(r, (double)result->recommended, 0.0, "recommended");
    for (size_t o = 0; o < result->options; o++) {
        snprintf(name, sizeof name, "option.%zu", o);
        record_option(r, &result->option[o], name);
    }
    for (size_t s = 0; s < result->standards; s++) {
        const bc_standard_offer *offer = &result->standard[s];
        record(r, offer->refined + 2.0 * offer->does + 4.0 * offer->new_design, 0.0, "standard.%zu", s);
        record(r, offer->moved_nm, NM, "standard.%zu.moved_nm", s);
        snprintf(name, sizeof name, "standard.%zu", s);
        if (offer->refused == NULL)
            record_option(r, &offer->option, name);
    }
    for (size_t f = 0; f < result->check.count; f++)
        record(r, result->check.finding[f].limit_used, 5.0 * LIMIT, "finding.%zu", f);
    for (size_t c = 0; result->fails != NULL && c < callouts; c++)
        record(r, result->fails[c], SHARE, "fails.%zu", c);
    record(r, (double)result->decisive, 0.0, "decisive");
    record(r, result->decides_alone, 0.0, "decides_alone");
    record(r, (double)result->decisive_finding, 0.0, "decisive_finding");
    for (size_t e = 0; e < result->exceptions; e++) {
        snprintf(name, sizeof name, "exception.%zu", e);
        record_exception(r, &result->exception[e], callouts, name);
    }
    for (size_t k = 0; k < result->remarks; k++)
        record(r, result->remark[k].kind + 10.0 * result->remark[k].refused, 0.0, "remark.%zu", k);
    record(r, (double)result->parts_per_load, 0.0, "parts_per_load");
    record(r, result->materials.lowest_n, 1e-6, "lowest_n");
    record(r, result->materials.highest_n, 1e-6, "highest_n");
    record(r, result->materials.lower != NULL, 0.0, "lower");
    record(r, result->materials.higher != NULL, 0.0, "higher");
    record(r, (double)result->runs, 0.0, "runs");
    record(r, (double)result->predicted_runs, 0.02 * (double)result->predicted_runs, "predicted_runs");
}

static void expect_quote(const inquiry *q, const char *file)
{
    recorded *r = begin_record();
    bc_quote_result result = ask(q);
    record_quote(r, &result, q->w.callouts.count);
    expect_as_recorded(r, file);
    bc_quote_result_clear(&result);
}

/* A chamber, rates and a quantity for it. */
static void load(inquiry *q)
{
    q->request.chamber = &whole_chamber;
    q->request.quantity = 1500;
    q->request.part_diameter_mm = 48.0;
    for (size_t i = 0; i < q->w.process.rows; i++) {
        q->w.row[i].has_rate = q->w.row[i].has_tooling = true;
        q->w.row[i].rate_nm_per_s = 0.4 + 0.2 * (double)i;
        q->w.row[i].tooling = 1.02;
    }
}

/* An average and a maximum over one band and a range of angles: no, and what could be offered instead. */
START_TEST(exceptions_of_paired_rows)
{
    bc_medium layer[2], glass[2];
    inquiry q;
    open_inquiry(&q, "1.38,2.1", 4);
    q.w.problem.minimum_nm = 8.0;
    workshop_ask(&q.w, 0.0029, 430.0, 660.0, 0.0)->aoi_to_rad = 0.3;
    workshop_ask(&q.w, 0.0014, 430.0, 660.0, 0.0)->statistic = BC_AVERAGE;
    workshop_errors(&q.w, "*", 0.015, 0.007, 0.005);
    workshop_errors(&q.w, "2.1", 0.02, 0.01, 0.01);
    q.request.process = &q.w.process;
    load(&q);
    layer[0] = workshop_medium(&q.w, "1.65");
    layer[1] = workshop_medium(&q.w, "1.46");
    glass[0] = workshop_medium(&q.w, "1.7");
    glass[1] = workshop_medium(&q.w, "1.6");
    q.request.other_layers = q.request.other_glasses = 2;
    q.request.other_layer = layer;
    q.request.other_glass = glass;
    expect_quote(&q, "paired.txt");
    workshop_close(&q.w);
}
END_TEST

/* Lost parts of two runs each, and a process known by few runs. */
START_TEST(what_a_quantity_takes)
{
    inquiry q;
    open_inquiry(&q, "1.38,2.1,1.65", 4);
    q.w.problem.minimum_nm = 8.0;
    workshop_ask(&q.w, 0.003, 440.0, 660.0, 0.0);
    workshop_errors(&q.w, "*", 0.015, 0.007, 0.005);
    q.w.row[0].runs = (bc_process_runs){25.0, 25.0, 25.0, 12.0, 40.0};
    q.request.process = &q.w.process;
    load(&q);
    q.request.both_sides = true;
    q.request.failed_part = BC_FAILED_SCRAP;
    q.request.confidence = 0.9;
    q.request.prefer = BC_PREFER_LAYERS;
    expect_quote(&q, "quantity.txt");
    workshop_close(&q.w);
}
END_TEST

/* Three glasses in one load, and a line that the glasses' own rows see. */
START_TEST(several_glasses)
{
    inquiry q;
    open_inquiry(&q, "1.38,2.1", 4);
    workshop_close(&q.w);
    workshop_open(&q.w, "air", "1.38,2.1", "1.52,1.62,1.8");
    q.w.problem.incident = q.w.stack.incident;
    q.w.problem.materials = 2;
    q.w.problem.material = q.layer;
    for (size_t m = 0; m < 2; m++)
        q.layer[m] = q.w.stack.layer[m].material;
    q.w.problem.max_layers = 4;
    q.w.problem.max_total_nm = 600.0;
    workshop_ask(&q.w, 0.006, 440.0, 660.0, 0.0);
    workshop_errors(&q.w, "*", 0.015, 0.007, 0.005);
    q.request.process = &q.w.process;
    expect_quote(&q, "glasses.txt");
    workshop_close(&q.w);
}
END_TEST

/* A steep concave element. */
START_TEST(a_curved_surface)
{
    const bc_curved bowl = {.radius_mm = 20.0, .clear_aperture_mm = 19.0, .concave = true, .slope_exponent = 1.0};
    bc_zone zone[5];
    inquiry q;
    open_inquiry(&q, "1.38,2.1", 3);
    ck_assert_int_eq(bc_curved_zones(&bowl, 5, zone, NULL), BC_OK);
    q.w.problem.zones = 5;
    q.w.problem.zone = zone;
    workshop_ask(&q.w, 0.01, 450.0, 650.0, 0.0);
    workshop_errors(&q.w, "*", 0.015, 0.007, 0.005);
    q.request.process = &q.w.process;
    expect_quote(&q, "curved.txt");
    workshop_close(&q.w);
}
END_TEST

/* Standard coatings that are held against a request, with a search besides. */
START_TEST(standard_coatings)
{
    bc_standard made[2] = {{.name = "one"}, {.name = "two"}};
    const bc_standards standards = {2, made};
    bc_stack stack[2];
    inquiry q;
    open_runs(&q, 0.0135);
    load(&q);
    for (size_t s = 0; s < 2; s++) {
        ck_assert_int_eq(bc_stack_copy(&q.w.stack, &stack[s], NULL), BC_OK);
        stack[s].layer[0].thickness_nm = s == 0 ? 92.5 : 91.7;
        stack[s].layer[1].thickness_nm = s == 0 ? 120.0 : 123.5;
        made[s].callouts = q.w.callouts;
        made[s].stacks = 1;
        made[s].stack = &stack[s];
    }
    q.request.standards = &standards;
    q.request.search_too = true;
    expect_quote(&q, "standards.txt");
    q.request.search_too = false; /* both do it: no search */
    q.w.callout[0].limit = 0.018;
    expect_quote(&q, "standard-does.txt");
    for (size_t s = 0; s < 2; s++)
        bc_stack_clear(&stack[s]);
    workshop_close(&q.w);
}
END_TEST

/* No process file: no yields, but limits and offers. */
START_TEST(without_a_process)
{
    inquiry q;
    open_inquiry(&q, "1.38,2.1", 3);
    workshop_ask(&q.w, 0.003, 430.0, 660.0, 0.0);
    workshop_ask(&q.w, 0.02, 400.0, 700.0, 40.0)->polarization = BC_POL_EACH;
    expect_quote(&q, "without.txt");
    workshop_close(&q.w);
}
END_TEST

TCase *recorded_case(void)
{
    TCase *tests = tcase_create("recorded");
    tcase_add_loop_test(tests, exceptions_of_paired_rows, 0, MANY_OR_FEW(1, 0));
    tcase_add_loop_test(tests, what_a_quantity_takes, 0, MANY_OR_FEW(1, 0));
    tcase_add_loop_test(tests, several_glasses, 0, MANY_OR_FEW(1, 0));
    tcase_add_loop_test(tests, a_curved_surface, 0, MANY_OR_FEW(1, 0));
    tcase_add_loop_test(tests, standard_coatings, 0, MANY_OR_FEW(1, 0));
    tcase_add_loop_test(tests, without_a_process, 0, MANY_OR_FEW(1, 0));
    return tests;
}
