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

/* "Every callout is met: ... decides; ..." */
void bc_add_decision(bc_text *words, const bc_check_report *report);

/* What the rows on the whole part assume; nothing when there is no such row. */
void bc_back_text(const bc_check_report *report, bc_text *out);

/* The glasses a check was made on, in order: next(result, NULL or the one before), NULL after the last. */
const bc_medium *bc_next_glass(const bc_check_result *result, const bc_medium *before);

/* Where every index came from, and what the figures do not say. */
void bc_sources_text(const bc_check_report *report, bc_text *out);
void bc_sources_json(const bc_check_report *report, bc_json *json);
void bc_cautions_text(const bc_check_report *report, bc_text *out);
void bc_cautions_json(const bc_check_report *report, bc_json *json);

/* The cautions, one a line. */
void bc_add_cautions(bc_text *lines, const bc_check_report *report);
/* "measured by ...", "no source given", "constant, no dispersion" */
const char *bc_source_words(const bc_dispersion *dispersion);

/* The distinct materials of a report, in the order of its sources: incident medium, films, glasses, the back's. */
typedef struct bc_media {
    size_t count;
    const bc_medium **medium;
} bc_media;
/* Room for `more` beyond those of the report; false: no memory. */
bool bc_media_collect(const bc_check_report *report, size_t more, bc_media *all);
void bc_media_add(bc_media *all, const bc_medium *medium); /* unless it is there already */
void bc_media_clear(bc_media *all);

/* "3 films", "1 film". */
void bc_add_films(bc_text *out, size_t films);

#endif
