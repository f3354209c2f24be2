/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_PARTS_H
#define BLOOMCOAT_REPORT_PARTS_H
/*
 * The parts that the reports of a check and of a design share.
 */
#include "json.h"
#include "table.h"
#include <bloomcoat/colour_path.h>

/* The stack's file with its layers, the callouts' file, and the curved surface, where there is one. */
void bc_heading_text(const bc_check_report *report, bc_text *out);

/* A line that says which layers have an index gradient; nothing where none has. */
void bc_gradients_text(const bc_stack *stack, bc_text *out);
/* index_gradient_percent; 0: none. */
void bc_gradient_json(const bc_layer *layer, bc_json *json, cJSON *row);

/* The findings glass by glass, the callout that decides, and what the rows on the whole part assume. */
void bc_findings_text(const bc_check_report *report, bc_text *out);
/* pass, limit_used, decisive, incident, substrates[], callouts[]; the stack's path as `path_name` (NULL: left out). */
void bc_findings_json(const bc_check_report *report, const char *path_name, bc_json *json);

/* "Every callout is met: ... decides; ..." */
void bc_add_decision(bc_text *words, const bc_check_report *report);

/* What the rows on the whole part assume; nothing when there is no such row. */
void bc_back_text(const bc_check_report *report, bc_text *out);

/* The glasses a check was made on, in order: next(result, NULL or the one before), NULL after the last. */
const bc_medium *bc_next_glass(const bc_check_result *result, const bc_medium *before);

/* The colours of what the callouts see, where each is worst; nothing where none is seen. */
bool bc_fill_colours(const bc_check_report *report, bc_table *table);
#define BC_COLOURS_WORDS "Colour where each is worst, in its light and to its eye (a luminous value: D65, 2 degrees):"
void bc_colours_text(const bc_check_report *report, bc_text *out);
/* x, y, L, a, b, chroma, hue_deg, luminous_percent */
void bc_colour_json(const bc_colour *colour, cJSON *into, bc_json *json);
/* scatter {a_sigma, b_sigma, luminous_sigma_percent, difference_from_design, difference_between_runs} */
void bc_scatter_of_colour_json(const bc_colour_scatter *scatter, cJSON *row, bc_json *json);

/* Whether a row asks for a colour: units then differ from row to row. */
bool bc_any_colour(const bc_check_result *result);

/* Where every index came from, and what the figures do not say. */
void bc_sources_text(const bc_check_report *report, bc_text *out);
void bc_sources_json(const bc_check_report *report, bc_json *json);
void bc_cautions_text(size_t count, const bc_check_report *reports, bc_text *out); /* each once */
void bc_cautions_json(size_t count, const bc_check_report *reports, bc_json *json);

/* The fields of checks side by side: pass, callouts_file, stacks[], cautions[]. */
void bc_compare_json(size_t stacks, const bc_check_report *reports, bc_json *json);

#define BC_SCATTER_WORDS                                                                                               \
    "Shares of the reflected and of the transmitted light that leave the specular beam, and the change of the row's "  \
    "value; it matters where that is more than a tenth of the row's margin. R, T and A above are those of a smooth "   \
    "surface."
/* What roughness scatters; nothing (false) where none was given. */
bool bc_fill_scatter(const bc_check_report *report, bc_table *table);
void bc_scatter_text(const bc_check_report *report, bc_text *out);
void bc_scatter_json(const bc_check_report *report, bc_json *json); /* roughness_nm, scatter[] */
/* The steps of a load that a chamber file does not give, a sentence each; `without` ends them: "hours per load are". */
void bc_add_missing_steps(bc_text *lines, const bc_chamber *chamber, const char *without);

/* The cautions, one a line. */
void bc_add_cautions(bc_text *lines, const bc_check_report *report);
/* Of several reports: what one has said, the next need not. */
void bc_drop_repeated(bc_text *lines);
/* "measured by ...", "no source given", "constant, no dispersion" */
const char *bc_source_words(const bc_dispersion *dispersion);

/* The distinct materials of a report, in the order of its sources: incident medium, layers, glasses, the back's. */
typedef struct bc_media {
    size_t count;
    const bc_medium **medium;
} bc_media;
/* Room for `more` beyond those of the report; false: no memory. */
bool bc_media_collect(const bc_check_report *report, size_t more, bc_media *all);
void bc_media_add(bc_media *all, const bc_medium *medium); /* unless it is there already */
void bc_media_clear(bc_media *all);

/* The same for a list of media, each named once, however often it is there. */
void bc_media_sources_text(size_t count, const bc_medium *const *medium, bc_text *out);
void bc_media_sources_json(size_t count, const bc_medium *const *medium, bc_json *json);
/* "MgF2, CaF2: ..." a line for each wording among the tables' cautions. */
void bc_media_cautions(size_t count, const bc_medium *const *medium, bc_text *lines);
/* Sentences, one a line, as a list under a heading (nothing when there are none), or as an array of strings. Both
 * release the lines. */
void bc_lines_text(const char *heading, bc_text *lines, bc_text *out);
void bc_lines_json(const char *name, bc_text *lines, bc_json *json);

/* A cell of a CSV file, in quotes where it needs them (RFC 4180). */
void bc_add_csv_cell(bc_text *out, const char *text);
/* "3 layers", "1 layer". */
void bc_add_layers(bc_text *out, size_t layers);

/* "R max <= 0.5 %, 420..680 nm, 0..30 deg" */
void bc_add_callout(bc_text *out, const bc_callout *callout);
/* "From the substrate: HfO2 131.000, MgF2 91.400 nm; on 517642." */
void bc_add_stack(bc_text *words, const bc_stack *stack);

#endif
