/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_INSPECT_LAYER_INDEX_H
#define BLOOMCOAT_INSPECT_LAYER_INDEX_H
#include "index_fit.h"

/* All that `result` says of the chosen fit, which was evaluated. `spread`: what its covariance is to be multiplied by
 * for noise that neighbours share, or that is larger than stated. */
bc_status bc_layer_index_fill(const bc_index_data *data, const bc_index_fit *best, bc_layer_model chosen, double spread,
                              bc_layer_index_result *result, bc_error *error);

/* BC_ERROR_INPUT for a result that determines nothing: no layer explains the scans, or none is seen in them. */
bc_status bc_layer_index_refuse(const bc_layer_index_result *result, bc_error *error);

#endif
