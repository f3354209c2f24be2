/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_PARTS_H
#define BLOOMCOAT_REPORT_PARTS_H
/*
 * The parts that the reports of a check and of a design share.
 */
#include "json.h"

/* The stack's file with its films, the callouts' file, and the curved surface, where there is one. */
void bc_heading_text(const bc_check_report *report, bc_text *out);

/* The findings glass by glass, the callout that decides, and what the rows on the whole part assume. */
void bc_findings_text(const bc_check_report *report, bc_text *out);
/* pass, limit_used, decisive, incident, substrates[], callouts[]; the stack's path as `path_name`. */
void bc_findings_json(const bc_check_report *report, const char *path_name, bc_json *json);

/* What the rows on the whole part assume; nothing when there is no such row. */
void bc_back_text(const bc_check_report *report, bc_text *out);

/* The glasses a check was made on, in order: next(result, NULL or the one before), NULL after the last. */
const bc_medium *bc_next_glass(const bc_check_result *result, const bc_medium *before);

/* Where every index came from, and what the figures do not say. */
void bc_sources_text(const bc_check_report *report, bc_text *out);
void bc_sources_json(const bc_check_report *report, bc_json *json);
void bc_cautions_text(const bc_check_report *report, bc_text *out);
void bc_cautions_json(const bc_check_report *report, bc_json *json);

/* What roughness scatters; nothing where none was given. */
void bc_scatter_text(const bc_check_report *report, bc_text *out);
void bc_scatter_json(const bc_check_report *report, bc_json *json); /* roughness_nm, scatter[] */

/* "3 films", "1 film". */
void bc_add_films(bc_text *out, size_t films);

#endif
