/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_CURVED_H
#define BLOOMCOAT_REPORT_CURVED_H
/*
 * The curved surface that a verdict was made on: nothing is written where it is a plane one.
 */
#include "json.h"

/* The same, a sentence a line, of a curved surface. */
void bc_add_curved(bc_text *lines, const bc_check_report *report);
void bc_curved_text(const bc_check_report *report, bc_text *out);
void bc_curved_json(const bc_check_report *report, bc_json *json); /* surface {} */

double bc_edge_slope_deg(const bc_curved *curved);

#endif
