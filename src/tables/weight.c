/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "weight_build.h"
#include <bloomcoat/cie.h>
#include <gsl/gsl_interp.h>
#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#define D65                                                                                                            \
    {                                                                                                                  \
        .cie = offsetof(bc_cie_row, illuminant[BC_ILLUMINANT_D65])                                                     \
    }
#define A                                                                                                              \
    {                                                                                                                  \
        .cie = offsetof(bc_cie_row, illuminant[BC_ILLUMINANT_A])                                                       \
    }
#define D50                                                                                                            \
    {                                                                                                                  \
        .cie = offsetof(bc_cie_row, illuminant[BC_ILLUMINANT_D50])                                                     \
    }
#define PHOTOPIC                                                                                                       \
    {                                                                                                                  \
        .cie = offsetof(bc_cie_row, observer[BC_OBSERVER_2][1])                                                        \
    }
#define SCOTOPIC                                                                                                       \
    {                                                                                                                  \
        .cie = offsetof(bc_cie_row, scotopic)                                                                          \
    }

static const bc_weight shipped[] = {
    {"D65", false, 1, {D65}},
    {"A", false, 1, {A}},
    {"D50", false, 1, {D50}},
    {"photopic", false, 1, {PHOTOPIC}},
    {"scotopic", false, 1, {SCOTOPIC}},
    {"D65*photopic", false, 2, {D65, PHOTOPIC}},
    {"A*photopic", false, 2, {A, PHOTOPIC}},
    {"D50*photopic", false, 2, {D50, PHOTOPIC}},
    {"D65*scotopic", false, 2, {D65, SCOTOPIC}},
    {"A*scotopic", false, 2, {A, SCOTOPIC}},
    {"D50*scotopic", false, 2, {D50, SCOTOPIC}},
};
#define SHIPPED (sizeof shipped / sizeof shipped[0])

/* Another object than the product of the same name: how it is summed is part of its definition. */
static const bc_weight luminous = {"D65*photopic", true, 2, {D65, PHOTOPIC}};

#define FUNCTION(observer_, function_)                                                                                 \
    {                                                                                                                  \
        .cie = offsetof(bc_cie_row, observer[observer_][function_])                                                    \
    }
#define FUNCTIONS(name, lamp, observer_)                                                                               \
    {                                                                                                                  \
        {name, true, 2, {lamp, FUNCTION(observer_, 0)}}, {name, true, 2, {lamp, FUNCTION(observer_, 1)}},              \
            {name, true, 2, {lamp, FUNCTION(observer_, 2)}},                                                           \
    }
static const bc_weight tristimulus[BC_ILLUMINANTS][BC_OBSERVERS][3] = {
    [BC_ILLUMINANT_D65] = {FUNCTIONS("D65", D65, BC_OBSERVER_2), FUNCTIONS("D65", D65, BC_OBSERVER_10)},
    [BC_ILLUMINANT_A] = {FUNCTIONS("A", A, BC_OBSERVER_2), FUNCTIONS("A", A, BC_OBSERVER_10)},
    [BC_ILLUMINANT_D50] = {FUNCTIONS("D50", D50, BC_OBSERVER_2), FUNCTIONS("D50", D50, BC_OBSERVER_10)},
};

static double cie_value(size_t row, size_t member)
{
    double value;
    memcpy(&value, (const char *)&bc_cie_table[row] + member, sizeof value);
    return value;
}

static double cie_at(const bc_weight_factor *factor, double wavelength_nm)
{
    const double step = (wavelength_nm - BC_CIE_FROM_NM) / BC_CIE_STEP_NM;
    size_t row;
    if (!(step >= 0.0) || step > BC_CIE_ROWS - 1)
        return 0.0;
    row = step >= BC_CIE_ROWS - 1 ? BC_CIE_ROWS - 2 : (size_t)step;
    return cie_value(row, factor->cie) +
           (step - (double)row) * (cie_value(row + 1, factor->cie) - cie_value(row, factor->cie));
}

static double table_at(const bc_weight_factor *factor, double x)
{
    const double *at = factor->at, *relative = factor->relative;
    size_t row;
    if (!(x >= at[0]) || x > at[factor->rows - 1])
        return 0.0;
    row = gsl_interp_bsearch(at, x, 0, factor->rows - 1);
    return relative[row] + (x - at[row]) / (at[row + 1] - at[row]) * (relative[row + 1] - relative[row]);
}

double bc_weight_at(const bc_weight *weight, double wavelength_nm)
{
    double product = 1.0;
    for (size_t f = 0; f < weight->factors; f++)
        product *= weight->factor[f].rows == 0 ? cie_at(&weight->factor[f], wavelength_nm)
                                               : table_at(&weight->factor[f], wavelength_nm);
    return product;
}

void bc_weight_range(const bc_weight *weight, double *from_nm, double *to_nm)
{
    *from_nm = 0.0;
    *to_nm = INFINITY;
    for (size_t f = 0; f < weight->factors; f++) {
        const bc_weight_factor *factor = &weight->factor[f];
        *from_nm = fmax(*from_nm, factor->rows == 0 ? BC_CIE_FROM_NM : factor->at[0]);
        *to_nm = fmin(*to_nm, factor->rows == 0 ? BC_CIE_TO_NM : factor->at[factor->rows - 1]);
    }
}

double bc_weight_finest_nm(const bc_weight *weight, double from_nm, double to_nm)
{
    double finest = INFINITY;
    for (size_t f = 0; f < weight->factors; f++) {
        const bc_weight_factor *factor = &weight->factor[f];
        if (factor->rows == 0)
            finest = fmin(finest, BC_CIE_STEP_NM);
        for (size_t row = 1; row < factor->rows; row++)
            if (factor->at[row] > from_nm && factor->at[row - 1] < to_nm)
                finest = fmin(finest, factor->at[row] - factor->at[row - 1]);
    }
    return finest;
}

const char *bc_weight_name(const bc_weight *weight)
{
    return weight->name;
}

const bc_weight *bc_weight_luminous(void)
{
    return &luminous;
}

const bc_weight *bc_weight_tristimulus(bc_illuminant illuminant, bc_observer observer, int function)
{
    return &tristimulus[illuminant][observer][function];
}

bool bc_weight_is_of_angle(const bc_weight *weight)
{
    return weight->factor[0].angle;
}

size_t bc_weight_breaks(const bc_weight *weight, size_t number, double *at)
{
    const bc_weight_factor *factor = &weight->factor[0];
    if (number < factor->rows)
        *at = factor->at[number];
    return factor->rows;
}

bool bc_weight_is_sum(const bc_weight *weight)
{
    return weight->sum;
}

bool bc_weight_shipped_factor(const char *name, bc_weight_factor *factor)
{
    for (size_t i = 0; i < SHIPPED; i++)
        if (shipped[i].factors == 1 && strcmp(shipped[i].name, name) == 0) {
            *factor = shipped[i].factor[0];
            return true;
        }
    return false;
}

const bc_weight *bc_weight_listed(size_t number)
{
    for (size_t i = 0; i < SHIPPED; i++)
        if (shipped[i].factors == 1 && number-- == 0)
            return &shipped[i];
    return NULL;
}

const bc_weight *bc_weight_shipped(const char *name)
{
    const char *star = strchr(name, '*');
    for (size_t i = 0; i < SHIPPED; i++) {
        const char *own_star = strchr(shipped[i].name, '*');
        if (strcmp(shipped[i].name, name) == 0)
            return &shipped[i];
        if (star == NULL || own_star == NULL)
            continue;
        const size_t first = (size_t)(own_star - shipped[i].name), second = strlen(own_star + 1);
        if ((size_t)(star - name) == second && strncmp(name, own_star + 1, second) == 0 && strlen(star + 1) == first &&
            strncmp(star + 1, shipped[i].name, first) == 0)
            return &shipped[i];
    }
    return NULL;
}

void bc_weight_free(bc_weight *weight)
{
    for (size_t f = 0; weight != NULL && f < weight->factors; f++)
        free(weight->factor[f].at);
    free(weight);
}
