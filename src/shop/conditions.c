/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/conditions.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

bc_behaviour bc_behaviour_of(size_t behaviours, const bc_behaviour *behaviour, const char *material)
{
    for (size_t i = 0; i < behaviours; i++)
        if (strcmp(behaviour[i].material, material) == 0)
            return behaviour[i];
    return (bc_behaviour){.packing_density = 1.0};
}

double bc_optical_thickness_nm(const bc_stack *stack, double wavelength_nm)
{
    double sum = 0.0;
    for (size_t j = 0; j < stack->layers; j++) {
        double n;
        if (bc_dispersion_index(stack->layer[j].material.dispersion, 1, &wavelength_nm, &n, NULL, NULL) != BC_OK)
            return NAN;
        sum += n * stack->layer[j].thickness_nm;
    }
    return sum;
}

static bc_status refuse(size_t behaviours, const bc_behaviour *behaviour, const bc_conditions *before,
                        const bc_conditions *then, bc_error *error)
{
    for (size_t i = 0; i < behaviours; i++) {
        if (!(behaviour[i].packing_density > 0.0 && behaviour[i].packing_density <= 1.0))
            return bc_fail(error, BC_ERROR_INPUT, "%s: a packing density of %g; expected above 0 and at most 1",
                           behaviour[i].material, behaviour[i].packing_density);
        if (!isfinite(behaviour[i].dn_dt) || !isfinite(behaviour[i].expansion))
            return bc_fail(error, BC_ERROR_INPUT, "%s: dn/dT and expansion are to be finite", behaviour[i].material);
    }
    if (!(before->n_void >= 1.0 && then->n_void >= 1.0) || !isfinite(before->n_void + then->n_void) ||
        !isfinite(before->temperature_c + then->temperature_c))
        return bc_fail(error, BC_ERROR_INPUT, "pores are filled with an index of 1 or more, at a finite temperature");
    return BC_OK;
}

static bc_status too_low(const bc_dispersion *table, double n, bc_error *error)
{
    return bc_fail(error, BC_ERROR_INPUT, "%s: an index of %g at these conditions; expected above 0",
                   bc_dispersion_name(table), n);
}

static bc_status shift_constant(const bc_dispersion *table, double dn, bc_dispersion **out, bc_error *error)
{
    const double any_nm = 500.0;
    double n, k;
    bc_status status = bc_dispersion_index(table, 1, &any_nm, &n, &k, error);
    if (status == BC_OK && !(n + dn > 0.0))
        status = too_low(table, n + dn, error);
    return status == BC_OK ? bc_dispersion_constant(bc_dispersion_name(table), n + dn, k, out, error) : status;
}

static bc_status shift_table(const bc_dispersion *table, double dn, bc_dispersion **out, bc_error *error)
{
    const size_t rows = bc_dispersion_rows(table);
    double *nm;
    bc_status status = BC_OK;
    if (bc_dispersion_is_constant(table))
        return shift_constant(table, dn, out, error);
    nm = malloc(3 * rows * sizeof *nm);
    if (nm == NULL)
        return bc_fail_memory(error);
    for (size_t row = 0; status == BC_OK && row < rows; row++) {
        bc_dispersion_row(table, row, &nm[row], &nm[rows + row], &nm[2 * rows + row]);
        nm[rows + row] += dn;
        if (!(nm[rows + row] > 0.0))
            status = too_low(table, nm[rows + row], error);
    }
    if (status == BC_OK)
        status = bc_dispersion_table(bc_dispersion_name(table), rows, nm, nm + rows, nm + 2 * rows, out, error);
    free(nm);
    return status;
}

/* In place of the medium's own, where it changes. */
static bc_status shift_medium(bc_medium *medium, double dn, bc_shifted *out, bc_error *error)
{
    bc_status status;
    if (dn == 0.0)
        return BC_OK;
    status = shift_table(medium->dispersion, dn, &out->table[out->tables], error);
    if (status != BC_OK)
        return status;
    bc_dispersion_keep_gradient(out->table[out->tables], medium->dispersion);
    medium->dispersion = out->table[out->tables++];
    return status;
}

bc_status bc_shift(const bc_stack *stack, size_t behaviours, const bc_behaviour *behaviour, const bc_conditions *before,
                   const bc_conditions *then, bc_shifted *out, bc_error *error)
{
    const double kelvin = then->temperature_c - before->temperature_c, dn_void = then->n_void - before->n_void;
    bc_behaviour own;
    bc_status status = refuse(behaviours, behaviour, before, then, error);
    memset(out, 0, sizeof *out);
    if (status == BC_OK)
        status = bc_stack_copy(stack, &out->stack, error);
    if (status == BC_OK) {
        out->table = calloc(stack->layers + 1, sizeof(bc_dispersion *));
        status = out->table == NULL ? bc_fail_memory(error) : BC_OK;
    }
    for (size_t j = 0; status == BC_OK && j < stack->layers; j++) {
        bc_layer *layer = &out->stack.layer[j];
        own = bc_behaviour_of(behaviours, behaviour, layer->material.name);
        layer->thickness_nm *= 1.0 + own.expansion * kelvin;
        status = shift_medium(&layer->material, (1.0 - own.packing_density) * dn_void + own.dn_dt * kelvin, out, error);
        if (status == BC_OK && !(layer->thickness_nm > 0.0))
            status = bc_fail(error, BC_ERROR_INPUT, "%s: a layer of %g nm at these conditions; expected above 0",
                             layer->material.name, layer->thickness_nm);
    }
    own = bc_behaviour_of(behaviours, behaviour, stack->substrate.name);
    if (status == BC_OK)
        status = shift_medium(&out->stack.substrate, own.dn_dt * kelvin, out, error);
    if (status != BC_OK)
        bc_shifted_clear(out);
    return status;
}

void bc_shifted_clear(bc_shifted *shifted)
{
    bc_stack_clear(&shifted->stack);
    for (size_t t = 0; t < shifted->tables; t++)
        bc_dispersion_free(shifted->table[t]);
    free(shifted->table);
    memset(shifted, 0, sizeof *shifted);
}
