/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspected.h"
#include <math.h>
#include <stdint.h>
#include <string.h>

static void fill_file(inspected *all)
{
    static char nm[] = "nm", percent[] = "R %";
    all->column[0] = (bc_measured_column){nm, BC_ROLE_WAVELENGTH};
    all->column[1] = (bc_measured_column){percent, BC_ROLE_VALUE};
    all->file = (bc_measured_file){.count = INSPECTED_POINTS,
                                   .wavelength_nm = all->nm,
                                   .value = all->measured,
                                   .scans = 3,
                                   .rows_left_out = 1,
                                   .columns = 2,
                                   .column = all->column,
                                   .header_line = 7,
                                   .first_line = 8,
                                   .last_line = 10,
                                   .unit = BC_UNIT_PERCENT,
                                   .unit_stated = BC_STATED_HEADER,
                                   .wavelength_unit = BC_WAVELENGTH_NM,
                                   .wavelength_unit_stated = BC_STATED_VALUES};
    all->source[0] = (bc_witness_source){"w1.txt", &all->file, NULL, "by the header"};
    all->source[1] = (bc_witness_source){"w2.txt", &all->file, NULL, "by the header"};
}

static void fill_findings(inspected *all)
{
    for (size_t i = 0; i < FIXTURE_CALLOUTS; i++)
        all->finding[i] = (bc_inspect_finding){.callout = &all->base.callout[i],
                                               .verdict = BC_ACCEPT,
                                               .value = 0.004,
                                               .limit_used = 0.8,
                                               .at_nm = 500,
                                               .random = 0.0003,
                                               .systematic = 0.0004,
                                               .part = {[BC_PART_NOISE] = 0.0003, [BC_PART_READING] = 0.0004},
                                               .probability = 0.999,
                                               .excess_probability = 0.5,
                                               .margin = 0.001,
                                               .samples = INSPECTED_POINTS};
    all->finding[1].verdict = BC_UNDECIDED;
    all->finding[1].reason = BC_UNDECIDED_ANGLE;
    all->finding[1].value = all->finding[1].probability = all->finding[1].limit_used = all->finding[1].at_nm = NAN;
    strcpy(all->finding[1].text, "The row is about 30 degrees, and 8 were measured.");
    all->finding[2].angle_corrected = true;
    all->finding[2].largest_correction = 0.0002;
}

static void fill_layers(inspected *all)
{
    for (size_t i = 0; i < FIXTURE_LAYERS; i++)
        all->layer[i] = (bc_layer_estimate){.design_nm = all->base.layer[i].thickness_nm,
                                            .fitted_nm = 1.02 * all->base.layer[i].thickness_nm,
                                            .sigma_nm = 0.25,
                                            .part_nm = {[BC_PART_NOISE] = 0.15, [BC_PART_INDEX] = 0.2},
                                            .known = i == 0,
                                            .group = i == 0 ? SIZE_MAX : 0,
                                            .off = i == 0,
                                            .beyond = 0.05};
    all->member[0] = 1;
    all->member[1] = 2;
    all->weight[0] = all->weight[1] = 1;
    all->group = (bc_layer_group){2, all->member, all->weight, true, 500, 100, 102, 0.4};
    all->material[0] = (bc_material_found){.material = all->base.layer[0].material,
                                           .factor = 1.02,
                                           .factor_sigma = 0.001,
                                           .off = true,
                                           .tooling = 1,
                                           .next_tooling = 1.02};
    all->material[1] = (bc_material_found){.material = all->base.layer[1].material,
                                           .factor = 1,
                                           .factor_sigma = INFINITY,
                                           .tooling = 1,
                                           .next_tooling = 1};
    all->hypothesis[0] = (bc_hypothesis){.kind = BC_AS_SAID, .rms = 0.03, .residual = 100};
    all->hypothesis[1] = (bc_hypothesis){.kind = BC_R_FOR_T, .rms = 0.0001, .residual = 1, .fits = true};
}

static void fill_result(inspected *all, bc_inspect_result *result)
{
    *result = (bc_inspect_result){.label = "w1.txt",
                                  .verdict = BC_UNDECIDED,
                                  .decisive = 1,
                                  .count = FIXTURE_CALLOUTS,
                                  .finding = all->finding,
                                  .noise_R = {BC_NOISE_REPEATS, 0.0001, 20},
                                  .R = {.count = INSPECTED_POINTS,
                                        .wavelength_nm = all->nm,
                                        .measured = all->measured,
                                        .design = all->design,
                                        .fitted = all->fitted,
                                        .from_design = all->from_design,
                                        .from_fitted = all->from_fitted,
                                        .noise = all->noise,
                                        .systematic = all->systematic,
                                        .rms = 0.0012,
                                        .worst = -0.002,
                                        .worst_nm = 450,
                                        .rms_fitted = 0.0001},
                                  .rms = 0.0012,
                                  .scale = 1.02,
                                  .scale_sigma = 0.001,
                                  .causes = 2,
                                  .cause = {{.kind = BC_CAUSE_COMMON_FACTOR, .size = 0.02, .size_sigma = 0.0005},
                                            {.kind = BC_CAUSE_RANDOM, .size = 0.01, .log_odds = -5.0}},
                                  .cause_odds = 150,
                                  .corrected = true,
                                  .next_because = BC_NEXT_CORRECTED,
                                  .next_gain = {.weighed = true,
                                                .used_as_it_was = 0.9,
                                                .used_corrected = 0.6,
                                                .rms_as_it_was = 0.002,
                                                .rms_corrected = 0.0004,
                                                .better = 0.9},
                                  .tooling_corrected = true,
                                  .tooling_gain = {.weighed = true,
                                                   .used_as_it_was = 0.9,
                                                   .used_corrected = 0.6,
                                                   .rms_as_it_was = 0.002,
                                                   .rms_corrected = 0.0004,
                                                   .better = 0.9},
                                  .good_fit = true,
                                  .layers = FIXTURE_LAYERS,
                                  .layer = all->layer,
                                  .groups = 1,
                                  .group = &all->group,
                                  .materials = 2,
                                  .material = all->material,
                                  .hypotheses = 1,
                                  .hypothesis = all->hypothesis,
                                  .fitted = all->base.stack};
}

void open_inspected(inspected *all)
{
    *all = (inspected){.nm = {400, 500, 600},
                       .measured = {0.004, 0.005, 0.006},
                       .design = {0.003, 0.004, 0.005},
                       .fitted = {0.004, 0.005, 0.0061},
                       .from_design = {0.001, 0.001, 0.001},
                       .from_fitted = {0, 0, -0.0001},
                       .noise = {0.0003, 0.0003, 0.0003},
                       .systematic = {0.0004, 0.0004, 0.0004}};
    fixture_open(&all->base);
    fill_file(all);
    fill_findings(all);
    fill_layers(all);
    fill_result(all, &all->result[0]);
    fill_result(all, &all->result[1]);
    strcpy(all->result[1].label, "w2.txt");
    all->callouts = (bc_callouts){.count = FIXTURE_CALLOUTS, .callout = all->base.callout};
    all->setup = bc_inspect_defaults(&all->base.stack);
    all->setup.callouts = &all->callouts;
    all->setup.aoi_rad = 8.0 * M_PI / 180.0;
    all->setup.uncertainty = 0.001;
    for (size_t i = 0; i < FIXTURE_LAYERS; i++)
        all->spread[i] = (bc_spread){2, 0.5, 0.01, 0.02, NAN};
    all->lot = (bc_lot_result){.verdict = BC_UNDECIDED,
                               .count = 2,
                               .undecided = 2,
                               .witness = all->result,
                               .scale = {2, 1.02, 0.001, 0.002, NAN},
                               .layers = FIXTURE_LAYERS,
                               .layer = all->spread,
                               .callouts = FIXTURE_CALLOUTS,
                               .value = all->spread};
    all->report = (bc_inspect_report){.stack_path = "stack.csv",
                                      .callouts_path = "callouts.csv",
                                      .setup = &all->setup,
                                      .witnesses = 1,
                                      .source = all->source,
                                      .result = all->result};
}
