/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "problem.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static size_t find_all(problem *p, const char *names, bc_medium *media)
{
    size_t count = 0;
    while (*names != '\0') {
        char name[BC_NAME_SIZE] = "";
        const size_t length = strcspn(names, ",");
        bc_error error;
        ck_assert_uint_lt(count, MOST_MEDIA);
        memcpy(name, names, length);
        ck_assert_msg(bc_medium_find(p->materials, name, NULL, &media[count++], &error) == BC_OK, "%s", error.message);
        names += length + (names[length] == ',');
    }
    return count;
}

void problem_open(problem *p, const char *substrates, const char *layers)
{
    bc_medium incident;
    memset(p, 0, sizeof *p);
    ck_assert_int_eq(bc_materials_alloc(&p->materials, NULL), BC_OK);
    ck_assert_int_eq(bc_materials_add_folder(p->materials, BC_SOURCE_DIR "/materials", NULL), BC_OK);
    ck_assert_int_eq(bc_medium_find(p->materials, "air", NULL, &incident, NULL), BC_OK);
    p->callouts.callout = p->callout;
    p->design = (bc_design_problem){.callouts = &p->callouts,
                                    .incident = incident,
                                    .substrates = find_all(p, substrates, p->substrate),
                                    .substrate = p->substrate,
                                    .materials = find_all(p, layers, p->material),
                                    .material = p->material,
                                    .max_layers = 4,
                                    .max_total_nm = INFINITY};
}

void problem_close(problem *p)
{
    bc_materials_free(p->materials);
}

bc_callout *problem_add(problem *p, double limit, double from_nm, double to_nm, double aoi_deg)
{
    bc_callout *row = &p->callout[p->callouts.count++];
    const double aoi_rad = aoi_deg * acos(-1.0) / 180.0;
    ck_assert_uint_le(p->callouts.count, MOST_CALLOUTS);
    *row = (bc_callout){.quantity = BC_R,
                        .statistic = BC_EXTREME,
                        .sense = BC_AT_MOST,
                        .limit = limit,
                        .from_nm = from_nm,
                        .to_nm = to_nm,
                        .aoi_from_rad = aoi_rad,
                        .aoi_to_rad = aoi_rad,
                        .polarization = BC_POL_UNPOLARIZED};
    snprintf(row->name, sizeof row->name, "row %zu", p->callouts.count);
    return row;
}

double problem_used(const problem *p, size_t layers, const unsigned *material, const double *nm)
{
    bc_stack stack;
    bc_check_result check;
    bc_error error;
    double used;
    ck_assert_int_eq(bc_stack_alloc(layers, &stack, NULL), BC_OK);
    stack.incident = p->design.incident;
    stack.substrate = p->substrate[0];
    for (size_t j = 0; j < layers; j++)
        stack.layer[layers - 1 - j] = (bc_layer){.material = p->material[material[j]], .thickness_nm = nm[j]};
    ck_assert_msg(bc_problem_check(&p->design, &stack, &check, &error) == BC_OK, "%s", error.message);
    used = check.limit_used;
    bc_check_result_clear(&check);
    bc_stack_clear(&stack);
    return used;
}
