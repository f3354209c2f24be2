/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench.h"
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define MOST_MATERIALS 512

static bc_dispersion *made[MOST_MATERIALS];
static size_t made_count;

void open_bench(void)
{
    made_count = 0;
}

void close_bench(void)
{
    while (made_count > 0)
        bc_dispersion_free(made[--made_count]);
}

static bc_medium named(const char *name)
{
    bc_medium medium;
    ck_assert_uint_lt(made_count, MOST_MATERIALS);
    memset(&medium, 0, sizeof medium);
    snprintf(medium.name, sizeof medium.name, "%s", name);
    return medium;
}

bc_medium constant(const char *name, double complex N)
{
    bc_medium medium = named(name);
    ck_assert_int_eq(bc_dispersion_constant(name, creal(N), -cimag(N), &made[made_count], NULL), BC_OK);
    medium.dispersion = made[made_count++];
    return medium;
}

bc_medium table(const char *name, size_t rows, const double *wavelength_nm, const double *n)
{
    bc_medium medium = named(name);
    ck_assert_int_eq(bc_dispersion_table(name, rows, wavelength_nm, n, NULL, &made[made_count], NULL), BC_OK);
    medium.dispersion = made[made_count++];
    return medium;
}

void lay_layer(bench_stack *bench, const single_layer *coating)
{
    memset(bench, 0, sizeof *bench);
    bench->layer[0] = (bc_layer){constant("layer", coating->layer), coating->thickness_nm, false};
    bench->stack = (bc_stack){.incident = constant("outside", coating->incident_n),
                              .substrate = constant("glass", coating->substrate),
                              .layers = coating->thickness_nm > 0.0,
                              .layer = bench->layer};
}

bc_callout callout_of(double from_nm, double to_nm)
{
    return (bc_callout){.name = "band", .limit = 0.5, .from_nm = from_nm, .to_nm = to_nm};
}

bc_finding find(const bc_stack *stack, const bc_callout *callout, const bc_back *back)
{
    bc_callout row = *callout;
    const bc_callouts all = {.count = 1, .callout = &row};
    bc_check_result result;
    bc_error error;
    bc_finding finding;
    ck_assert_msg(bc_check(stack, &all, 0, NULL, back, &result, &error) == BC_OK, "%s", error.message);
    ck_assert_uint_eq(result.count, 1);
    ck_assert_uint_eq(result.decisive, 0);
    finding = result.finding[0];
    ck_assert(finding.callout == &row && finding.substrate == &stack->substrate);
    ck_assert(result.limit_used == finding.limit_used && result.pass == finding.pass);
    ck_assert(finding.limit_used == bc_limit_used(callout, finding.value));
    ck_assert(finding.at_nm >= callout->from_nm && finding.at_nm <= callout->to_nm);
    ck_assert(finding.at_aoi_rad >= callout->aoi_from_rad && finding.at_aoi_rad <= callout->aoi_to_rad);
    finding.callout = callout;
    bc_check_result_clear(&result);
    ck_assert_ptr_null(result.finding);
    return finding;
}

const bc_weight *weight_from_file(bc_materials *materials, const char *text)
{
    char folder[] = "/tmp/bloomcoat-weight-XXXXXX";
    const bc_weight *weight = NULL;
    bc_error error = {0};
    char path[64];
    FILE *file;
    ck_assert_ptr_nonnull(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/own.csv", folder);
    file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    fputs(text, file);
    fclose(file);
    ck_assert_int_eq(bc_materials_add_folder(materials, folder, NULL), BC_OK);
    ck_assert_msg(bc_materials_weight(materials, "own", NULL, &weight, &error) == BC_OK, "%s", error.message);
    unlink(path);
    rmdir(folder);
    return weight;
}
