/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SCREEN_H
#define BLOOMCOAT_SCREEN_H
/*
 * Whether a material fits the callouts and the part.
 */
#include <bloomcoat/quote.h>

#define BC_MOST_REMARKS 4 /* about one material */

/* Remarks about a layer material; returns their number. A refused one has a single remark that says so. */
size_t bc_screen_layer(const bc_quote_request *request, const bc_medium *layer, bc_remark remark[BC_MOST_REMARKS]);

#endif
