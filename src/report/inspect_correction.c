/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/inspect_words.h"
#include <math.h>
#include <string.h>

static const char *base_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash == NULL ? path : slash + 1;
}

static char letter_of(bc_quantity quantity)
{
    return quantity == BC_T ? 'T' : 'R';
}

static void add_reference(bc_text *lines, const bc_correction *correction)
{
    const char letter = letter_of(correction->quantity);
    bc_text_add(lines, "%c = (sample - dark) / (reference - dark) x %c of the reference%s.\n", letter, letter,
                correction->dark.count > 0 ? "" : ", with a dark signal taken as 0");
    bc_text_add(lines, "Reference: %s (scan %s), %c of ", correction->name, base_name(correction->reference.path),
                letter);
    if (correction->known_to > 1.0001 * correction->known_from)
        bc_text_add(lines, "%.4g to ", 100.0 * correction->known_from);
    bc_text_add(lines, "%.4g %%", 100.0 * correction->known_to);
    if (strcmp(correction->name, "empty beam") == 0)
        bc_text_add(lines, " by definition.\n");
    else if (correction->from_index)
        bc_text_add(lines, " by its index table, %s.\n",
                    correction->plate ? "a plate with two polished faces" : "one polished face");
    else if (correction->states)
        bc_text_add(lines, " by its table, which states an uncertainty of up to %.3g %% of the value (expanded).\n",
                    100.0 * correction->share_stated);
    else
        bc_text_add(lines, " by its table, which states no uncertainty.\n");
    if (correction->dark.count > 0)
        bc_text_add(lines, "Dark scan: %s.\n", base_name(correction->dark.path));
}

static void add_noise(bc_text *lines, const bc_correction *correction)
{
    const bool dark = correction->dark.count > 0;
    if (isnan(correction->reference_noise) || (dark && isnan(correction->dark_noise)))
        return;
    bc_text_add(lines, "Noise of the reference scan adds %.2g %% to %c", 100.0 * correction->reference_noise,
                letter_of(correction->quantity));
    if (dark)
        bc_text_add(lines, ", of the dark scan %.2g %%", 100.0 * correction->dark_noise);
    bc_text_add(lines, " (standard deviations); %s.\n",
                isnan(correction->sample_noise) ? "the noise found in the scan has them in it"
                                                : "they were added to that of the repeated scans");
}

static void add_bare(bc_text *lines, const bc_inspect_report *report)
{
    const bc_bare_check *check = report->bare;
    const char letter = letter_of(check->quantity);
    bc_text_add(lines,
                "The bare substrate (%s) measures %c of %.4g %% on the average, its index table has %.4g %%: %+.2g %% "
                "off, %s its uncertainty of %.2g %% (expanded).\n",
                base_name(report->bare_path), letter, 100.0 * check->measured, 100.0 * check->expected,
                100.0 * check->off, fabs(check->off) <= check->allowed ? "within" : "beyond", 100.0 * check->allowed);
    if (fabs(check->off) <= check->allowed && !check->within)
        bc_text_add(lines, "At %.6g nm it is %+.2g %% off in %c, where its uncertainty and noise explain %.2g %%.\n",
                    check->worst_nm, 100.0 * check->worst, letter, 100.0 * check->worst_allowed);
}

void bc_add_correction(bc_text *lines, const bc_inspect_report *report)
{
    if (report->correction != NULL) {
        add_reference(lines, report->correction);
        add_noise(lines, report->correction);
    }
    if (report->bare != NULL)
        add_bare(lines, report);
}

void bc_correction_json(const bc_inspect_report *report, bc_json *json)
{
    const bc_correction *correction = report->correction;
    const bc_bare_check *check = report->bare;
    cJSON *object;
    if (correction == NULL) {
        bc_json_string(json, json->root, "correction", NULL);
    } else {
        const bool dark = correction->dark.count > 0;
        object = bc_json_object(json, json->root, "correction");
        bc_json_string(json, object, "quantity", correction->quantity == BC_T ? "T" : "R");
        bc_json_string(json, object, "reference", correction->name);
        bc_json_string(json, object, "reference_scan", correction->reference.path);
        bc_json_string(json, object, "dark_scan", dark ? correction->dark.path : NULL);
        bc_json_number(json, object, "reference_min_percent", 100.0 * correction->known_from, 12);
        bc_json_number(json, object, "reference_max_percent", 100.0 * correction->known_to, 12);
        bc_json_number(json, object, "reference_scale_uncertainty_percent",
                       correction->states ? 100.0 * correction->share_stated : NAN, 12);
        bc_json_number(json, object, "sample_noise_percent", 100.0 * correction->sample_noise, 12);
        bc_json_number(json, object, "reference_noise_percent", 100.0 * correction->reference_noise, 12);
        bc_json_number(json, object, "dark_noise_percent", dark ? 100.0 * correction->dark_noise : NAN, 12);
    }
    if (check == NULL) {
        bc_json_string(json, json->root, "instrument_check", NULL);
        return;
    }
    object = bc_json_object(json, json->root, "instrument_check");
    bc_json_string(json, object, "bare_scan", report->bare_path);
    bc_json_string(json, object, "quantity", check->quantity == BC_T ? "T" : "R");
    bc_json_number(json, object, "measured_percent", 100.0 * check->measured, 12);
    bc_json_number(json, object, "expected_percent", 100.0 * check->expected, 12);
    bc_json_number(json, object, "off_percent", 100.0 * check->off, 12);
    bc_json_number(json, object, "allowed_percent", 100.0 * check->allowed, 12);
    bc_json_number(json, object, "worst_percent", 100.0 * check->worst, 12);
    bc_json_number(json, object, "worst_nm", check->worst_nm, 12);
    bc_json_bool(json, object, "within", check->within);
}
