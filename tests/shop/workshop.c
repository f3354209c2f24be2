/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop.h"
#include "many_or_few.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

bc_medium workshop_medium(const workshop *w, const char *name)
{
    bc_medium medium;
    bc_error error;
    ck_assert_msg(bc_medium_find(w->materials, name, NULL, &medium, &error) == BC_OK, "%s", error.message);
    return medium;
}

static size_t find_all(workshop *w, const char *names, size_t most, bc_medium *media)
{
    size_t count = 0;
    while (*names != '\0') {
        char name[BC_NAME_SIZE] = "";
        const size_t length = strcspn(names, ",");
        ck_assert_uint_lt(count, most);
        memcpy(name, names, length);
        media[count++] = workshop_medium(w, name);
        names += length + (names[length] == ',');
    }
    return count;
}

void workshop_open(workshop *w, const char *incident, const char *layers, const char *glasses)
{
    bc_medium medium[16];
    memset(w, 0, sizeof *w);
    ck_assert_int_eq(bc_materials_alloc(&w->materials, NULL), BC_OK);
    ck_assert_int_eq(bc_materials_add_folder(w->materials, BC_SOURCE_DIR "/materials", NULL), BC_OK);
    ck_assert_int_eq(bc_stack_alloc(find_all(w, layers, 16, medium), &w->stack, NULL), BC_OK);
    for (size_t j = 0; j < w->stack.layers; j++)
        w->stack.layer[j] = (bc_layer){medium[j], 100.0, false};
    w->stack.incident = workshop_medium(w, incident);
    w->callouts.callout = w->callout;
    w->problem = (bc_design_problem){
        .callouts = &w->callouts, .substrates = find_all(w, glasses, MOST_GLASSES, w->glass), .substrate = w->glass};
    w->stack.substrate = w->glass[0];
    w->process.row = w->row;
    w->options = (bc_yield_options){.runs = MANY_OR_FEW(40000, 6000), .seed = 1, .threads = 2};
}

void workshop_close(workshop *w)
{
    bc_stack_clear(&w->stack);
    bc_materials_free(w->materials);
}

bc_callout *workshop_ask(workshop *w, double limit, double from_nm, double to_nm, double aoi_deg)
{
    bc_callout *row = &w->callout[w->callouts.count++];
    ck_assert_uint_le(w->callouts.count, MOST_CALLOUTS);
    *row = (bc_callout){.quantity = BC_R,
                        .statistic = BC_EXTREME,
                        .sense = BC_AT_MOST,
                        .limit = limit,
                        .from_nm = from_nm,
                        .to_nm = to_nm,
                        .aoi_from_rad = aoi_deg * PI / 180.0,
                        .aoi_to_rad = aoi_deg * PI / 180.0,
                        .polarization = BC_POL_UNPOLARIZED};
    snprintf(row->name, sizeof row->name, "row %zu", w->callouts.count);
    return row;
}

void workshop_errors(workshop *w, const char *material, double sigma, double bias, double index_sigma)
{
    bc_process_row *row = &w->row[w->process.rows++];
    ck_assert_uint_le(w->process.rows, MOST_ROWS);
    *row = (bc_process_row){.tooling = 1.0,
                            .has_thickness_sigma = true,
                            .has_run_thickness_sigma = true,
                            .has_index_sigma = true,
                            .thickness_sigma = sigma,
                            .run_thickness_sigma = bias,
                            .index_sigma = index_sigma};
    snprintf(row->material, sizeof row->material, "%s", material);
    w->process.has_thickness_sigma = w->process.has_run_thickness_sigma = w->process.has_index_sigma = true;
}

bc_yield_result workshop_run(const workshop *w)
{
    bc_yield_result result;
    bc_error error;
    ck_assert_msg(bc_yield(&w->problem, &w->stack, &w->process, &w->options, &result, &error) == BC_OK, "%s",
                  error.message);
    return result;
}

double one_layer(double n, double glass_n, double thickness_nm, double wavelength_nm)
{
    const double upper = (1.0 - n) / (1.0 + n), lower = (n - glass_n) / (n + glass_n);
    const double cross = 2.0 * upper * lower * cos(4.0 * PI * n * thickness_nm / wavelength_nm);
    return (upper * upper + lower * lower + cross) / (1.0 + upper * upper * lower * lower + cross);
}

double normal_below(double value)
{
    return 0.5 * erfc(-value / sqrt(2.0));
}

void expect_share(const bc_yield_result *result, double expected)
{
    const double error = sqrt(expected * (1.0 - expected) / (double)result->runs);
    ck_assert_double_gt(expected, 0.02);
    ck_assert_double_lt(expected, 0.98);
    ck_assert_double_eq_tol(result->yield, expected, 4.0 * error);
}
