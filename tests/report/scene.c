/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scene.h"
#include <math.h>
#include <string.h>

static bc_medium medium(bc_materials *materials, const char *name)
{
    bc_medium found;
    ck_assert_int_eq(bc_medium_find(materials, name, NULL, &found, NULL), BC_OK);
    return found;
}

static void fill_stack(plot_scene *all)
{
    scratch_write("layer.csv", "# source: by hand\nwavelength_nm,n,k\n380,1.5,1e-3\n500,1.45,1e-5\n800,1.4,0\n");
    all->materials = scratch_materials();
    all->glass = medium(all->materials, "1.52");
    all->layer[0] = (bc_layer){medium(all->materials, "layer"), 91.4, false};
    all->layer[1] = (bc_layer){medium(all->materials, "2.1"), 3.0, false};
    all->stack = (bc_stack){medium(all->materials, "air"), all->glass, 2, all->layer, .from_substrate = false};
}

static void fill_findings(plot_scene *all)
{
    all->callout[0] = (bc_callout){.name = "band", .limit = 0.005, .from_nm = 420, .to_nm = 680};
    all->callout[1] =
        (bc_callout){.name = "average", .statistic = BC_AVERAGE, .limit = 0.003, .from_nm = 420, .to_nm = 680};
    all->callout[2] = (bc_callout){.name = "through",
                                   .quantity = BC_T,
                                   .sense = BC_AT_LEAST,
                                   .limit = 0.99,
                                   .from_nm = 430,
                                   .to_nm = 650,
                                   .aoi_from_rad = M_PI / 6.0,
                                   .aoi_to_rad = M_PI / 6.0};
    all->callouts = (bc_callouts){.count = 3, .callout = all->callout};
    all->finding[0] = (bc_finding){&all->callout[0],   &all->glass, PLOT_WORST, 0.9, PLOT_WORST_NM, 0.0,
                                   BC_POL_UNPOLARIZED, true,        NULL};
    all->finding[1] =
        (bc_finding){&all->callout[1], &all->glass, 0.0015, 0.5, 420.0, 0.0, BC_POL_UNPOLARIZED, true, NULL};
    all->finding[2] =
        (bc_finding){&all->callout[2], &all->glass, 0.988, 1.2, 650.0, M_PI / 6.0, BC_POL_UNPOLARIZED, false, NULL};
    all->result = (bc_check_result){false, 1.2, 2, 3, all->finding};
    all->check = (bc_check_report){.stack = &all->stack, .result = &all->result};
    all->design = (bc_design_report){.command = "refine", .check = all->check};
}

static void fill_curves(plot_scene *all)
{
    static const double offset[] = {-0.4, -0.2, 0.0, 0.2, 0.4};
    for (size_t i = 0; i < PLOT_POINTS; i++) {
        const double wave = sin(0.03 * (double)i * 5.0);
        all->wavelength_nm[i] = 400.0 + 5.0 * (double)i;
        for (size_t p = 0; p < 5; p++)
            all->value[p][i] = 0.002 + 0.001 * wave + 0.001 * offset[p];
    }
    for (size_t i = 0; i < PLOT_POINTS; i++)
        all->value[4][i] = 1.0 - all->value[0][i];
    all->curve[0] = (bc_light_curve){&all->glass, 0.0, NULL, BC_POL_UNPOLARIZED, all->value[2]};
    all->curve[1] = (bc_light_curve){&all->glass, M_PI / 6.0, NULL, BC_POL_UNPOLARIZED, all->value[4]};
    all->light[0] = (bc_light){&all->callout[0], 1, &all->curve[0]};
    all->light[1] = (bc_light){&all->callout[2], 1, &all->curve[1]};
    all->curves =
        (bc_check_curves){.count = PLOT_POINTS, .wavelength_nm = all->wavelength_nm, .lights = 2, .light = all->light};
}

static void fill_results(plot_scene *all)
{
    for (size_t a = 0; a < 2; a++) {
        all->aoi_rad[a] = (double)a * 0.5;
        all->spectrum[a] = (bc_spectrum){.count = PLOT_POINTS, .wavelength_nm = all->wavelength_nm};
        for (int plane = 0; plane < 3; plane++) {
            all->spectrum[a].R[plane] = all->value[plane];
            all->spectrum[a].T[plane] = all->value[4];
            all->spectrum[a].A[plane] = all->value[plane];
        }
    }
    all->report = (bc_spectrum_report){2, all->aoi_rad, all->spectrum, BC_POL_EACH, NULL, 0.0};
    all->percentiles = (bc_percentile_curve){.callout = &all->callout[0],
                                             .substrate = &all->glass,
                                             .count = PLOT_POINTS,
                                             .wavelength_nm = all->wavelength_nm};
    for (size_t p = 0; p < 5; p++)
        all->percentiles.value[p] = all->value[p == 4 ? 3 : p];
    all->yield = (bc_yield_result){
        .runs = 100, .yield = 0.9, .fails = all->fails, .curves = 1, .curve_runs = 100, .curve = &all->percentiles};
}

void plot_scene_open(plot_scene *all)
{
    memset(all, 0, sizeof *all);
    fill_stack(all);
    fill_findings(all);
    fill_curves(all);
    fill_results(all);
}

void plot_scene_close(plot_scene *all)
{
    bc_materials_free(all->materials);
}

bc_status plot_scene_draw(const plot_scene *all, int which, const bc_plot_options *options, bc_text *text,
                          bc_error *error)
{
    const bc_yield_report yield = {.check = all->check, .callouts = &all->callouts, .result = &all->yield};
    switch (which) {
    case PLOT_CHECK:
        return bc_plot_check(&all->check, &all->curves, options, text, error);
    case PLOT_DESIGN:
        return bc_plot_design(&all->design, &all->curves, options, text, error);
    case PLOT_SPECTRUM:
        return bc_plot_spectrum(&all->report, 0, options, text, error);
    case PLOT_YIELD:
        return bc_plot_yield(&yield, options, text, error);
    default:
        return bc_plot_material(all->layer[0].material.dispersion, options, text, error);
    }
}
