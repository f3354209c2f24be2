/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What stands beside a verdict, ahead of everything else: why it is held, what nobody explained, what nobody gave.
 */
#include "internal/inspect_words.h"

bool bc_uncertainty_given(const bc_inspect_report *report)
{
    bool column = false;
    for (size_t i = 0; i < report->witnesses; i++) {
        const bc_witness_source *source = &report->source[i];
        column = column || (source->R != NULL && source->R->uncertainty != NULL) ||
                 (source->T != NULL && source->T->uncertainty != NULL);
    }
    return column || report->setup->uncertainty > 0.0;
}

/* The file's own line of the first value that a reason is about. */
static void add_place(bc_text *lines, const bc_witness_source *source, const bc_evidence *evidence)
{
    const bc_measured_file *file = evidence->quantity == BC_T ? source->T : source->R;
    if (evidence->held == BC_HELD_INSTRUMENT || evidence->held == BC_HELD_UNIT || evidence->held == BC_HELD_WITNESS)
        return;
    if (file != NULL && file->line != NULL && evidence->first < file->count)
        bc_text_add(lines, " (%s, line %ld)", source->path, file->line[evidence->first]);
}

static void add_reasons(bc_text *lines, const bc_inspect_report *report, size_t which)
{
    const bc_inspect_result *result = &report->result[which];
    const char *label = report->lot != NULL ? result->label : "";
    const char *between = label[0] == '\0' ? "" : ": ";
    if (result->evidence.held != BC_HELD_NOT) {
        bc_text_add(lines, "%s%s%s: %s", label, between, result->verdict == BC_REJECT ? "First ask" : "Held",
                    result->evidence.text);
        add_place(lines, &report->source[which], &result->evidence);
        bc_text_add(lines, ".\n");
    } else if (result->causes > 0 && result->cause[0].kind == BC_CAUSE_UNEXPLAINED) {
        bc_text_add(lines,
                    "%s%sNo hypothesis explains this scan with layers near the design: the verdict rests on the "
                    "measured values alone. Is this the right witness?\n",
                    label, between);
    }
}

void bc_add_beside(bc_text *lines, const bc_inspect_report *report)
{
    for (size_t i = 0; i < report->witnesses; i++)
        add_reasons(lines, report, i);
    for (size_t i = 0; i < report->copies; i++)
        bc_text_add(lines, "%s holds the same measurement as %s (%s): both count as one witness.\n",
                    report->copy[i].path, report->copy[i].of, report->copy[i].same_file ? "SHA-256" : "every value");
    if (!bc_uncertainty_given(report))
        bc_text_add(lines, "No uncertainty of the measurement was given (--uncertainty-percent): the values count as "
                           "true but for their "
                           "noise, and this is no certificate.\n");
}

static void add_one(bc_text *lines, const char *what, bc_stated stated, long line, const char *assumed)
{
    if (stated == BC_STATED_WORDS)
        bc_text_add(lines, "The %s is taken from the file, line %ld.\n", what, line);
    else if (stated == BC_STATED_NOT)
        bc_text_add(lines, "Nothing says the %s: %s is assumed.\n", what, assumed);
}

void bc_add_known(bc_text *lines, const bc_inspect_report *report)
{
    add_one(lines, "angle of incidence", report->aoi_stated, report->aoi_line, "normal incidence");
    if (report->setup->aoi_rad > 0.0)
        add_one(lines, "polarization", report->polarization_stated, report->polarization_line, "unpolarized light");
    for (size_t i = 0; i < report->witnesses; i++) {
        const bc_witness_source *source = &report->source[i];
        if ((source->R != NULL && source->R->overruled) || (source->T != NULL && source->T->overruled))
            bc_text_add(lines,
                        "%s says otherwise about quantity, unit, angle, polarization or whether this is a measurement, "
                        "and was overruled "
                        "(--overrule).\n",
                        source->path);
    }
}
