/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_WORST_H
#define BLOOMCOAT_WORST_H
/*
 * How likely it is that the worst value of a smooth curve over a band meets a limit.
 */
#include "band.h"
#include "smooth.h"

typedef struct bc_worst_question {
    const bc_smooth *smooth;
    const bc_callout *callout;
    const bc_curve *curve; /* the estimate, all corrections made: its points are those of `smooth` */
    const double *stretch; /* [count] what corrections make of a change of the reading */
    double step_limit_nm, confidence;
} bc_worst_question;

typedef struct bc_worst {
    double probability;        /* that the worst true value meets the limit */
    double excess_probability; /* that a curve at the limit everywhere is estimated as far beyond it as this one */
    double margin;             /* all values could be worse by this and the first still be the confidence */
} bc_worst;

/* Over 2000 draws of the curve (JCGM 101:2008, propagation of distributions; from memory), of b for what is systematic,
 * and of the error of the noise estimate (chi-squared). The same question has the same answer. */
bc_status bc_worst_of(const bc_worst_question *question, bc_worst *worst, bc_error *error);

#endif
