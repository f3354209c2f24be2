/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PROCESS_DRAW_H
#define BLOOMCOAT_PROCESS_DRAW_H
/*
 * What the chamber may really do, where the process file says by how many runs its figures are known: draws from the
 * posterior of normal errors with the usual prior of no knowledge (Box and Tiao, Bayesian Inference in Statistical
 * Analysis, 1973, ch. 2; from memory). A standard deviation s known with nu = runs - 1 degrees of freedom is
 *
 *     sigma = s sqrt(nu / chi^2_nu)        from a tenth of s to ten times s
 *
 * and the layers of a material whose tooling factor is known by n runs are all off by
 *
 *     (run sigma z_0 + layer sigma z_m) / sqrt(n)
 *
 * with these sigmas and normal numbers, z_0 one for the chamber, for its tooling factors were learned from the same
 * runs. The sigma of a run is one for the chamber, too, known by the fewest of its runs. What several materials take
 * from the row `*` is one figure.
 */
#include "model.h"

/* Degrees of freedom, 0 where a figure is taken as exact, and which of the numbers drawn it goes by. */
typedef struct bc_doubted {
    double freedom;
    size_t number;
} bc_doubted;

typedef struct bc_process_doubt {
    const bc_run_model *model;
    bool any;           /* something that counts is not exact */
    double runs;        /* the fewest that are said of a material whose figures count */
    size_t numbers;     /* drawn for one process */
    bc_doubted run;     /* sigma of the run */
    bc_doubted *layer;  /* [materials] sigma of a layer */
    bc_doubted *index;  /* [materials] */
    bc_doubted *factor; /* [materials] tooling; `freedom` is its runs */
} bc_process_doubt;

/* One process: by what each sigma is larger than the file has it, and what layers are off by. */
typedef struct bc_process_draw {
    double run;
    double *layer, *off; /* [layers] */
    double *index;       /* [materials] */
} bc_process_draw;

/* `model` is that of the file's figures, and must outlive the doubt. */
bc_status bc_process_doubt_open(const bc_run_model *model, const bc_process *process, bc_process_doubt *doubt,
                                bc_error *error);
void bc_process_doubt_close(bc_process_doubt *doubt);

/* The process as the file has it, with room to draw others. Release draw->layer with free(). */
bc_status bc_process_draw_alloc(const bc_process_doubt *doubt, bc_process_draw *draw, bc_error *error);
/* By number[numbers], standard normal. */
void bc_process_draw_set(const bc_process_doubt *doubt, const double *number, bc_process_draw *draw);

/* What the root mean square of a sigma that is known so well is, over the sigma; at most 1.5. */
double bc_doubted_spread(bc_doubted figure);
/* Standard deviation of what a layer is off by. */
double bc_doubted_off(const bc_process_doubt *doubt, size_t layer);

#endif
