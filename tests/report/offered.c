/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "offered.h"
#include <math.h>
#include <string.h>

#define NO_LAYER ((size_t)-1)

static void fill_shop(offered *all)
{
    all->row[0] = (bc_process_row){.material = "soft",
                                   .has_rate = true,
                                   .rate_nm_per_s = 0.5,
                                   .has_thickness_sigma = true,
                                   .thickness_sigma = 0.01,
                                   .has_run_thickness_sigma = true,
                                   .run_thickness_sigma = 0.004};
    all->row[1] = (bc_process_row){.material = "hard", .has_thickness_sigma = true, .thickness_sigma = 0.02};
    all->process = (bc_process){.rows = 2, .row = all->row, .has_rate = true, .has_thickness_sigma = true};
    all->chamber = (bc_chamber){.has_load_diameter = true, .load_diameter_mm = 600.0, .has_pump_down = true};
    all->curved = (bc_curved){.radius_mm = 20.0, .clear_aperture_mm = 30.0, .slope_exponent = 1.0};
}

static void fill_request(offered *all)
{
    all->callouts = (bc_callouts){.count = FIXTURE_CALLOUTS, .callout = all->base.callout};
    all->at_hand[0] = all->base.layer[0].material;
    all->at_hand[1] = all->base.layer[1].material;
    all->problem = (bc_design_problem){.callouts = &all->callouts,
                                       .incident = all->base.stack.incident,
                                       .substrates = 2,
                                       .substrate = all->base.glass,
                                       .materials = 2,
                                       .material = all->at_hand,
                                       .max_layers = 4,
                                       .max_total_nm = INFINITY};
    all->request = (bc_quote_request){.problem = &all->problem,
                                      .process = &all->process,
                                      .chamber = &all->chamber,
                                      .quantity = 40,
                                      .part_diameter_mm = 30.0,
                                      .yield = 0.9,
                                      .max_process_c = INFINITY,
                                      .other_layers = 1,
                                      .other_layer = &all->at_hand[1],
                                      .seed = 7,
                                      .effort = 1.0};
}

static void fill_exceptions(offered *all)
{
    static const bc_exception_kind kind[OFFERED_EXCEPTIONS] = {BC_EXCEPT_LIMIT,   BC_EXCEPT_FROM,  BC_EXCEPT_APERTURE,
                                                               BC_EXCEPT_DROPPED, BC_EXCEPT_LAYER, BC_EXCEPT_BOTH,
                                                               BC_EXCEPT_GLASS,   BC_EXCEPT_ALONE};
    for (size_t e = 0; e < OFFERED_EXCEPTIONS; e++) {
        bc_exception *one = &all->exception[e];
        *one = (bc_exception){.kind = kind[e],
                              .callout = 0,
                              .offered = all->base.callout[0],
                              .found = e % 2 == 0,
                              .stack = all->base.stack,
                              .limit_used = 0.97,
                              .yield = 0.95,
                              .yield_low = 0.93,
                              .yield_high = 0.97,
                              .runs = 500,
                              .seed = 8};
        one->offered.limit = 0.0087;
        one->offered.aoi_to_rad = M_PI / 6.0;
        if (kind[e] == BC_EXCEPT_DROPPED)
            one->callout = 1;
        if (kind[e] >= BC_EXCEPT_APERTURE && kind[e] != BC_EXCEPT_DROPPED)
            one->callout = BC_NO_CALLOUT;
        if (kind[e] == BC_EXCEPT_APERTURE)
            one->aperture_mm = 17.25;
        else if (one->callout == BC_NO_CALLOUT)
            one->other = kind[e] == BC_EXCEPT_LAYER ? &all->at_hand[1] : &all->base.glass[1];
    }
    all->exception[6].yield = NAN;
}

static void fill_remarks(offered *all)
{
    const bc_medium *soft = &all->at_hand[0], *hard = &all->at_hand[1];
    all->remark[0] = (bc_remark){BC_REMARK_RANGE, hard, NULL, true, .from_nm = 380, .to_nm = 950};
    all->remark[1] = (bc_remark){BC_REMARK_HEAT, hard, NULL, true, .process_c = 300, .limit_c = 60};
    all->remark[2] =
        (bc_remark){BC_REMARK_HEAT, soft, &all->base.glass[0], true, .own = true, .process_c = 250, .limit_c = 90};
    all->remark[3] = (bc_remark){BC_REMARK_NO_HEAT, soft, NULL, false, .limit_c = 90};
    all->remark[4] = (bc_remark){BC_REMARK_ABSORBS, hard, NULL, false, .k = 0.0021, .at_nm = 421};
    all->remark[5] = (bc_remark){BC_REMARK_CAUTION, soft, NULL, false, .k = 0};
}

static void fill_result(offered *all)
{
    all->option[0] = (bc_quote_option){{.layers = 0, .substrate = all->base.glass[0]},
                                       0.0,
                                       7.1,
                                       NAN,
                                       NAN,
                                       NAN,
                                       {0.0, NAN, NAN, NAN},
                                       0.0,
                                       NAN,
                                       0,
                                       NAN,
                                       NAN,
                                       NAN,
                                       0,
                                       0,
                                       0,
                                       0,
                                       0,
                                       NULL};
    all->option[1] = (bc_quote_option){all->base.stack,
                                       125.033,
                                       0.84,
                                       0.75,
                                       0.72,
                                       0.78,
                                       {0.0, NAN, NAN, NAN},
                                       0.07,
                                       1.25,
                                       2,
                                       2.5,
                                       2.7,
                                       3.4,
                                       4,
                                       40,
                                       1000,
                                       20000,
                                       3,
                                       NULL};
    all->fails[1] = 0.2;
    all->result = (bc_quote_result){.verdict = BC_MARGINAL,
                                    .yield_known = true,
                                    .searched = true,
                                    .options = 2,
                                    .recommended = 1,
                                    .option = all->option,
                                    .check = all->base.result,
                                    .fails = all->fails,
                                    .decisive = 1,
                                    .decisive_finding = 4,
                                    .exceptions = OFFERED_EXCEPTIONS,
                                    .exception = all->exception,
                                    .remarks = OFFERED_REMARKS,
                                    .remark = all->remark,
                                    .layers = 2,
                                    .layer = all->at_hand,
                                    .parts_per_load = 20,
                                    .materials = {&all->at_hand[0], &all->at_hand[1], 1.45, 1.46, NULL, NULL, true},
                                    .runs = 1000};
    all->quote = (bc_quote_report){.check = all->base.check,
                                   .process_path = "process.csv",
                                   .chamber_path = "chamber.csv",
                                   .request = &all->request,
                                   .result = &all->result};
    all->quote.check.stack_path = NULL;
    all->quote.check.curved = &all->curved;
}

static void fill_runs(offered *all)
{
    static const double share[OFFERED_INFLUENCES] = {0.1, 0.61, 0.2, 0.05, 0.04, 0.3};
    for (size_t i = 0; i < OFFERED_INFLUENCES; i++) {
        all->influence[i] = (bc_influence){.layer = i < FIXTURE_LAYERS ? i : NO_LAYER, .influence = share[i]};
        if (i < FIXTURE_LAYERS)
            strcpy(all->influence[i].material, all->base.layer[i].material.name);
        else if (i < FIXTURE_LAYERS + 2)
            strcpy(all->influence[i].material, all->at_hand[i - FIXTURE_LAYERS].name);
    }
    for (size_t i = 0; i < OFFERED_POINTS; i++) {
        all->nm[i] = 420.0 + 130.0 * (double)i;
        for (size_t p = 0; p < 5; p++)
            all->value[p][i] = 0.002 + 0.001 * (double)p + 0.0001 * (double)i;
    }
    all->curve = (bc_percentile_curve){.callout = &all->base.callout[0],
                                       .substrate = &all->base.glass[0],
                                       .count = OFFERED_POINTS,
                                       .wavelength_nm = all->nm};
    for (size_t p = 0; p < 5; p++)
        all->curve.value[p] = all->value[p];
    all->runs = (bc_yield_result){.runs = 200,
                                  .good = 150,
                                  .seed = 3,
                                  .yield = 0.75,
                                  .yield_low = 0.684,
                                  .yield_high = 0.808,
                                  .limit_used = 1.25,
                                  .influences = OFFERED_INFLUENCES,
                                  .influence = all->influence,
                                  .influence_of_failure = true,
                                  .scale_for_95 = 0.51,
                                  .decisive = 1,
                                  .fails = all->fails,
                                  .curves = 1,
                                  .curve_runs = 200,
                                  .curve = &all->curve};
    all->yield = (bc_yield_report){.check = all->base.check,
                                   .process_path = "process.csv",
                                   .process = &all->process,
                                   .callouts = &all->callouts,
                                   .result = &all->runs};
}

void open_offered(offered *all)
{
    memset(all, 0, sizeof *all);
    fixture_open(&all->base);
    fill_shop(all);
    fill_request(all);
    fill_exceptions(all);
    fill_remarks(all);
    fill_result(all);
    fill_runs(all);
}
