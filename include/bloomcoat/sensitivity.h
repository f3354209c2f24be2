/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SENSITIVITY_H
#define BLOOMCOAT_SENSITIVITY_H
/*
 * What an error of one layer alone does to the callouts, without any process file: its thickness off by 1 % and by 1
 * nm, its index off by 0.01, each both ways, and the verdict asked again for each (bc_problem_check()). Nothing is
 * linearised: where the first order vanishes, as it does for a layer at its optimum, both ways give the second.
 */
#include <bloomcoat/design.h>

BC_API_BEGIN

typedef enum bc_error_kind {
    BC_ERROR_PERCENT, /* thickness, 1 % */
    BC_ERROR_NM,      /* thickness, 1 nm; no layer comes out thinner than nothing */
    BC_ERROR_INDEX,   /* n, 0.01; k as it was */
    BC_ERROR_KINDS
} bc_error_kind;

#define BC_SENSITIVITY_PERCENT 1.0
#define BC_SENSITIVITY_NM      1.0
#define BC_SENSITIVITY_INDEX   0.01

/* Of one layer: what the verdict becomes. [kind][0] the error downwards, [kind][1] upwards. */
typedef struct bc_layer_sensitivity {
    size_t layer; /* in the stack: 0 is the outer one */
    double limit_used[BC_ERROR_KINDS][2];
    double *value[BC_ERROR_KINDS][2]; /* [findings] fractions, in the order of the check's findings */
    double worst; /* the largest limit_used that 1 % of thickness either way makes, less that of the design */
} bc_layer_sensitivity;

typedef struct bc_sensitivity_result {
    size_t layers;
    bc_layer_sensitivity *layer; /* in order of deposition: from the substrate outwards */
    size_t decisive;             /* the one whose 1 % raises limit_used most; `layers` where there is no layer */
    size_t findings;
    double *memory; /* holds the values */
} bc_sensitivity_result;

/* `check`: bc_problem_check() of the same problem and stack. BC_ERROR_INPUT as bc_problem_check() has it, or where an
 * index less 0.01 is none. May be stopped by `progress` (may be NULL): then BC_OK, and result->layers is how far it
 * came. */
bc_status bc_sensitivity(const bc_design_problem *problem, const bc_stack *stack, const bc_check_result *check,
                         bc_progress progress, void *context, bc_sensitivity_result *result, bc_error *error);
void bc_sensitivity_clear(bc_sensitivity_result *result);

BC_API_END

#endif
