/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How many parts of a lot to measure.
 */
#include "internal/acceptance.h"
#include <math.h>

void bc_acceptance_text(const bc_inspect_report *report, bc_text *out)
{
    const bc_acceptance_plan *plan = report->plan;
    bc_text lines = {0};
    if (plan == NULL)
        return;
    bc_text_add(&lines,
                "Sampling by ISO 2859-1 (from memory; single, normal inspection, level II) of %zu parts at an "
                "acceptance quality limit of %g %%: ",
                plan->lot, plan->limit_percent);
    if (plan->every)
        bc_text_add(&lines, "measure every part; the lot is accepted with at most %zu that %s.\n", plan->accept,
                    plan->accept == 1 ? "fails" : "fail");
    else
        bc_text_add(&lines, "measure %zu parts taken at random; the lot is accepted with at most %zu that %s.\n",
                    plan->sample, plan->accept, plan->accept == 1 ? "fails" : "fail");
    bc_text_add(&lines,
                "Such a plan accepts a lot with %g %% failing parts with a probability of %.2f, and one lot in ten "
                "that has %.1f %%.\n",
                floor(plan->limit_percent / 100.0 * (double)plan->lot + 0.5) / (double)plan->lot * 100.0,
                plan->accepted_at_limit, 100.0 * plan->accepted_one_in_ten);
    if (report->witnesses < plan->sample)
        bc_text_add(&lines, "Measured here: %zu; %zu more are to be measured.\n", report->witnesses,
                    plan->sample - report->witnesses);
    bc_add_lines(out, &lines);
    bc_text_add(out, "\n");
}

void bc_acceptance_json(const bc_acceptance_plan *plan, bc_json *json)
{
    cJSON *object;
    if (plan == NULL) {
        bc_json_string(json, json->root, "sampling", NULL);
        return;
    }
    object = bc_json_object(json, json->root, "sampling");
    bc_json_number(json, object, "lot", (double)plan->lot, 15);
    bc_json_number(json, object, "quality_limit_percent", plan->limit_percent, 15);
    bc_json_number(json, object, "sample", (double)plan->sample, 15);
    bc_json_number(json, object, "accept", (double)plan->accept, 15);
    bc_json_number(json, object, "accepted_at_limit", plan->accepted_at_limit, 12);
    bc_json_number(json, object, "accepted_one_in_ten_percent", 100.0 * plan->accepted_one_in_ten, 12);
}
