/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_PARTS_H
#define BLOOMCOAT_REPORT_PARTS_H
/*
 * The parts that the reports of a check and of a design share.
 */
#include "json.h"

/* The stack's file with its films, and the callouts' file. */
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

/* The same for a list of media, each told once, however often it stands there. */
void bc_media_sources_text(size_t count, const bc_medium *const *medium, bc_text *out);
void bc_media_sources_json(size_t count, const bc_medium *const *medium, bc_json *json);
/* "MgF2, CaF2: ..." a line for each wording among the tables' cautions. */
void bc_media_cautions(size_t count, const bc_medium *const *medium, bc_text *lines);
/* Sentences, one a line, as a list under a heading (nothing when there are none), or as an array of strings. Both
 * release the lines. */
void bc_lines_text(const char *heading, bc_text *lines, bc_text *out);
void bc_lines_json(const char *name, bc_text *lines, bc_json *json);

/* "3 films", "1 film". */
void bc_add_films(bc_text *out, size_t films);

#endif
