/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_ACCEPTANCE_H
#define BLOOMCOAT_REPORT_ACCEPTANCE_H
/*
 * A sampling plan in an inspection's report; nothing where none was asked for.
 */
#include "json.h"

void bc_acceptance_text(const bc_inspect_report *report, bc_text *out);
void bc_acceptance_json(const bc_acceptance_plan *plan, bc_json *json);

#endif
