/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspection.h"
static bc_status fit_to(bc_inspection *inspection, const bc_fit_setup *setup, bc_hypothesis *hypothesis,
                        bc_error *error)
{
    bc_solution solution = {0};
    bc_fit fit = {0};
    bc_status status = bc_fit_open(setup, &fit, error);
    if (status == BC_OK)
        status = bc_solve(&fit, &solution, error);
    hypothesis->rms = solution.rms;
    hypothesis->residual = solution.residual;
    hypothesis->fits = status == BC_OK && bc_is_good_fit(inspection, &solution);
    bc_solution_clear(&solution);
    inspection->result->fits += fit.fits;
    bc_fit_close(&fit);
    return status;
}

/* What no single cause needs to be asked for: R and T taken for each other. */
bc_status bc_try_hypotheses(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    bc_fit_setup setup = bc_fit_setup_of(inspection);
    bc_hypothesis *hypothesis = &result->hypothesis[result->hypotheses++];
    bc_status status;
    setup.process = NULL;
    setup.fit_index = false;
    for (size_t r = 0; r < setup.readings; r++)
        setup.seen_as[r] = setup.seen_as[r] == BC_R ? BC_T : BC_R;
    *hypothesis = (bc_hypothesis){.kind = BC_R_FOR_T};
    status = fit_to(inspection, &setup, hypothesis, error);
    if (status == BC_OK && hypothesis->fits)
        result->explained_by = 1;
    return status;
}
