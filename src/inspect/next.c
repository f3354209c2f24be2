/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspection.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_CORRECTION 2.0 /* a layer that is off by more was not made from this recipe */

/* How much thicker a layer came out than it should have, as far as that is known. */
static double factor_of(const bc_inspection *inspection, size_t j)
{
    const bc_inspect_result *result = inspection->result;
    const double design_nm = result->layer[j].design_nm;
    double factor = 1.0;
    if (!result->good_fit || result->run == BC_RUN_AS_DESIGNED || !(design_nm > 0.0))
        return 1.0;
    if (result->run != BC_RUN_LAYERS)
        factor = inspection->model_nm[j] / design_nm;
    else if (result->layer[j].off)
        factor = result->layer[j].fitted_nm / design_nm;
    return fmin(MOST_CORRECTION, fmax(1.0 / MOST_CORRECTION, factor));
}

/* The row of `material`, made of what holds for it when it has none of its own. */
static bc_process_row *row_for(bc_process *process, const char *material)
{
    for (size_t i = 0; i < process->rows; i++)
        if (strcmp(process->row[i].material, material) == 0)
            return &process->row[i];
    process->row[process->rows] = bc_process_for(process, material);
    return &process->row[process->rows++];
}

static bc_status copy_process(const bc_process *from, size_t more, bc_process *to, bc_error *error)
{
    const size_t rows = from == NULL ? 0 : from->rows;
    *to = from == NULL ? (bc_process){0} : *from;
    to->row = calloc(rows + more + 1, sizeof *to->row);
    if (to->row == NULL)
        return bc_fail_memory(error);
    if (rows > 0)
        memcpy(to->row, from->row, rows * sizeof *to->row);
    return BC_OK;
}

bc_status bc_set_next_run(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    const bc_stack *design = inspection->setup->design;
    bc_status status = bc_stack_copy(design, &result->fitted, error);
    if (status == BC_OK)
        status = bc_stack_copy(design, &result->next_stack, error);
    if (status == BC_OK)
        status = copy_process(inspection->setup->process, result->materials, &result->next_process, error);
    if (status != BC_OK)
        return status;
    for (size_t j = 0; j < result->layers; j++) {
        result->fitted.layer[j].thickness_nm = result->layer[j].fitted_nm;
        result->next_stack.layer[j].thickness_nm /= factor_of(inspection, j);
    }
    for (size_t m = 0; m < result->materials; m++) {
        bc_process_row *row;
        if (result->material[m].next_tooling == result->material[m].tooling)
            continue;
        row = row_for(&result->next_process, result->material[m].material.name);
        row->tooling = result->material[m].next_tooling;
        row->has_tooling = true;
        result->next_process.has_tooling = true;
    }
    return BC_OK;
}
