/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SOLVE_H
#define BLOOMCOAT_SOLVE_H
/*
 * From a design to the thicknesses that explain a scan: where to start from, and how far to trust the end.
 */
#include "fit.h"

typedef struct bc_solution {
    bc_arena arena;
    bc_fit_point point;
    double rms, residual; /* of the data: fraction; in units of the noise */
    double scale;         /* common factor of the best valley of a scan of it, where the search began */
    size_t size;          /* of the matrices */
    double *information;  /* of the data alone */
    double *covariance;
} bc_solution;

/* Free layers from all starts: the design, the best valleys of a common factor, the best factor of one layer or of one
 * material on top of the design and of the best valley. Errors are not yet looked at. */
bc_status bc_solve(bc_fit *fit, bc_solution *solution, bc_error *error);

/* The same from one start alone. */
bc_status bc_solve_from(bc_fit *fit, const bc_fit_point *from, bc_solution *solution, bc_error *error);

/* Take the noise to be what the residual shows it to be, if that is more: fit once more, and find the covariance. A
 * residual that is no noise runs on from point to point; there are then fewer independent points than points. */
bc_status bc_solve_errors(bc_fit *fit, bc_solution *solution, bc_error *error);
void bc_solution_clear(bc_solution *solution);

#endif
