/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_FORECAST_H
#define BLOOMCOAT_FORECAST_H
/*
 * What a correction gains in the next run.
 */
#include "inspection.h"

/* What the layers will again come out as, shares of what is asked, if one cause is the true one. */
typedef struct bc_forecast {
    double weight;  /* of the cause against the other */
    double *factor; /* [layers] expected; */
    double *common; /* [layers] its standard error that all layers share, */
    double *own;    /* [layers] and the one that each has by itself */
} bc_forecast;

/* The scatter of a layer beside what all layers of a run share: its process's, or BC_USUAL_SCATTER. */
double bc_layer_scatter(const bc_inspection *inspection, size_t j);

/* Draw runs (JCGM 101:2008; from memory): one of the two causes by its weight, the layers within what is known of them
 * and the process's scatter anew; each run as it was and with every layer asked for at 1 / correction[j], both with the
 * same draw. done: the share of BC_STAGE_NEXT_RUN that is over; this is half of it. */
bc_status bc_expect_gain(bc_inspection *inspection, const bc_forecast forecast[2], const double *correction,
                         double done, bc_next_gain *gain, bc_error *error);

#endif
