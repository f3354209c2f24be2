/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/curved.h"
#include "internal/parts.h"

void bc_add_layers(bc_text *out, size_t layers)
{
    bc_text_add(out, "%zu layer%s", layers, layers == 1 ? "" : "s");
}

void bc_heading_text(const bc_check_report *report, bc_text *out)
{
    if (report->stack_path != NULL) {
        bc_text_add(out, "Stack ");
        bc_text_add_plain(out, report->stack_path);
        bc_text_add(out, ": ");
        bc_add_layers(out, report->stack->layers);
        bc_text_add(out, ", %.3f nm, from %s\n", bc_stack_total_nm(report->stack), report->stack->incident.name);
        bc_gradients_text(report->stack, out);
    }
    if (report->callouts_path != NULL) {
        bc_text_add(out, "Callouts ");
        bc_text_add_plain(out, report->callouts_path);
        bc_text_add(out, "\n");
    }
    bc_curved_text(report, out);
}

bc_status bc_report_check_text(const bc_check_report *report, bc_text *out, bc_error *error)
{
    bc_heading_text(report, out);
    bc_text_add(out, "\n");
    bc_findings_text(report, out);
    bc_scatter_text(report, out);
    if (report->brief)
        return bc_text_end(out, error);
    bc_text_add(out, "\n");
    bc_sources_text(report, out);
    bc_text_add(out, "\n");
    bc_cautions_text(1, report, out);
    return bc_text_end(out, error);
}

bc_status bc_report_check_json(const bc_check_report *report, bc_text *out, bc_error *error)
{
    bc_json json;
    bc_json_open(&json);
    bc_findings_json(report, "stack", &json);
    bc_json_number(&json, json.root, "total_nm", bc_stack_total_nm(report->stack), 15);
    bc_scatter_json(report, &json);
    bc_sources_json(report, &json);
    bc_cautions_json(1, report, &json);
    return bc_json_close(&json, out, error);
}
