/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/inspect_words.h"
#include "internal/numbers.h"
#include <math.h>
#include <string.h>

#define LEAST_PART 0.05 /* of an uncertainty: a smaller one adds an eighth of a percent to it */
#define RED        "\033[31m"
#define GREEN      "\033[32m"
#define YELLOW     "\033[33m"
#define PLAIN      "\033[0m"

const char *bc_conformity_word(bc_verdict verdict)
{
    static const char *const word[] = {[BC_ACCEPT] = "accept", [BC_REJECT] = "reject", [BC_UNDECIDED] = "undecided"};
    return word[verdict];
}

void bc_add_verdict(bc_text *out, bc_verdict verdict, bool color)
{
    static const char *const word[] = {[BC_ACCEPT] = "ACCEPT", [BC_REJECT] = "REJECT", [BC_UNDECIDED] = "UNDECIDED"};
    static const char *const paint[] = {[BC_ACCEPT] = GREEN, [BC_REJECT] = RED, [BC_UNDECIDED] = YELLOW};
    bc_text_add(out, "%s%s%s", color ? paint[verdict] : "", word[verdict], color ? PLAIN : "");
}

const char *bc_reason_word(bc_undecided reason)
{
    static const char *const word[] = {[BC_DECIDED] = "",
                                       [BC_UNDECIDED_UNCERTAINTY] = "uncertainty",
                                       [BC_UNDECIDED_NOT_COVERED] = "not covered",
                                       [BC_UNDECIDED_STEPS] = "steps",
                                       [BC_UNDECIDED_OUTLIER] = "outlier",
                                       [BC_UNDECIDED_MISSING] = "missing",
                                       [BC_UNDECIDED_HELD] = "held",
                                       [BC_UNDECIDED_QUANTITY] = "quantity",
                                       [BC_UNDECIDED_ANGLE] = "angle",
                                       [BC_UNDECIDED_POLARIZATION] = "polarization",
                                       [BC_UNDECIDED_SCOPE] = "scope",
                                       [BC_UNDECIDED_GLASS] = "glass"};
    return word[reason];
}

const char *bc_judged_word(bc_judged judged)
{
    static const char *const word[] = {[BC_JUDGED_NOT] = "",
                                       [BC_JUDGED_AVERAGE] = "average",
                                       [BC_JUDGED_POINTS] = "points",
                                       [BC_JUDGED_CURVE] = "curve",
                                       [BC_JUDGED_FIT] = "fit"};
    return word[judged];
}

const char *bc_points_word(bc_points_reason reason)
{
    static const char *const word[] = {[BC_POINTS_NOT] = "",
                                       [BC_POINTS_CHOSEN] = "as chosen (--judge points)",
                                       [BC_POINTS_NO_FIT] = "no fit is good enough to smooth the scan",
                                       [BC_POINTS_LOSS] = "more light is lost than the tables say",
                                       [BC_POINTS_NO_NOISE] = "the noise is not known, or too small to matter",
                                       [BC_POINTS_FRINGES] = "the layers are too thick for a smooth curve",
                                       [BC_POINTS_FEW] = "too few points for a smooth curve",
                                       [BC_POINTS_NOT_NOISE] = "what the fit leaves is not noise alone",
                                       [BC_POINTS_OUTSIDE] = "the band reaches beyond a table of the stack",
                                       [BC_POINTS_QUANTITY] = "A is what R and T leave"};
    return word[reason];
}

void bc_add_judged(bc_text *lines, const bc_inspect_finding *finding)
{
    const char *name = finding->callout->name;
    if (finding->judged == BC_JUDGED_CURVE)
        bc_text_add(lines, "\"%s\": judged on the smooth curve fitted through the noise, not point by point.\n", name);
    else if (finding->judged == BC_JUDGED_POINTS && finding->points_because != BC_POINTS_NOT)
        bc_text_add(lines, "\"%s\": judged point by point: %s.\n", name, bc_points_word(finding->points_because));
    else if (finding->judged == BC_JUDGED_FIT)
        bc_text_add(lines, "\"%s\": judged on the fitted stack (--from-fit), not on measured values.\n", name);
    if (finding->reason == BC_DECIDED && isfinite(finding->doubt_nm))
        bc_text_add(lines, "\"%s\": the outlier at %.6g nm lies beside the value that decides, and did not count.\n",
                    name, finding->doubt_nm);
}

const char *bc_part_word(bc_uncertainty_part part)
{
    static const char *const word[BC_PARTS] = {
        [BC_PART_NOISE] = "noise",           [BC_PART_READING] = "readings", [BC_PART_SCALE] = "scale",
        [BC_PART_WAVELENGTH] = "wavelength", [BC_PART_ANGLE] = "angle",      [BC_PART_INDEX] = "index",
        [BC_PART_PROCESS] = "process"};
    return word[part];
}

static const char *const part_words[BC_PARTS] = {[BC_PART_NOISE] = "noise",
                                                 [BC_PART_READING] = "the uncertainty of the measurement",
                                                 [BC_PART_SCALE] = "that of its scale of R",
                                                 [BC_PART_WAVELENGTH] = "that of its wavelengths",
                                                 [BC_PART_ANGLE] = "the correction to the angle",
                                                 [BC_PART_INDEX] = "the indices",
                                                 [BC_PART_PROCESS] = "the scatter of the process"};

void bc_add_parts(bc_text *lines, const bc_inspect_finding *finding, double coverage)
{
    const double all = hypot(finding->random, finding->systematic);
    size_t named = 0;
    for (size_t p = 0; p < BC_PARTS; p++) {
        if (!(all > 0.0 && finding->part[p] >= LEAST_PART * all))
            continue;
        if (named++ == 0)
            bc_text_add(lines, "\"%s\": in its +- are ", finding->callout->name);
        else
            bc_text_add(lines, ", ");
        bc_text_add(lines, "%.2g %% from %s", coverage * 100.0 * finding->part[p], part_words[p]);
    }
    if (named > 0)
        bc_text_add(lines, "%s.\n", named > 1 ? " (root of the sum of their squares)" : "");
}

static size_t largest_part(const double *part)
{
    size_t largest = 0;
    for (size_t p = 1; p < BC_PARTS; p++)
        largest = part[p] > part[largest] ? p : largest;
    return largest;
}

static bool is_most(const bc_layer_estimate *layer, size_t p)
{
    return layer->known && layer->part_nm[p] > 0.0 && largest_part(layer->part_nm) == p;
}

void bc_add_layer_parts(bc_text *lines, const bc_inspect_result *result)
{
    const char *between = "What adds most to the +-: ";
    for (size_t p = 0; p < BC_PARTS; p++) {
        size_t count = 0, named = 0;
        for (size_t i = 0; i < result->layers; i++)
            count += is_most(&result->layer[i], p);
        for (size_t i = result->layers; i-- > 0;) {
            if (!is_most(&result->layer[i], p))
                continue;
            if (named++ == 0)
                bc_text_add(lines, "%s%s (layer%s ", between, part_words[p], count > 1 ? "s" : "");
            bc_text_add(lines, "%zu%s", bc_layer_number(result->layers, i), named < count ? ", " : ")");
            between = "; ";
        }
    }
    if (between[0] == ';')
        bc_text_add(lines, ".\n");
}

void bc_add_outliers(bc_text *lines, const bc_inspect_result *result)
{
    for (size_t i = 0; i < result->outliers; i++) {
        const bc_outlier *outlier = &result->outlier[i];
        bc_text_add(lines,
                    "Outlier: %s of %.4f %% at %.6g nm is %+.4f %% off the fit, %.0f times the noise; left out of "
                    "the fit.\n",
                    bc_quantity_word(outlier->quantity), 100.0 * outlier->value, outlier->wavelength_nm,
                    100.0 * outlier->away, fabs(outlier->in_noise));
    }
}

const char *bc_noise_word(bc_noise_source source)
{
    static const char *const word[] = {[BC_NOISE_UNKNOWN] = "unknown",
                                       [BC_NOISE_REPEATS] = "repeats",
                                       [BC_NOISE_SCAN] = "scan",
                                       [BC_NOISE_ROUNDING] = "rounding"};
    return word[source];
}

const char *bc_measured_unit_word(bc_measured_unit unit)
{
    return unit == BC_UNIT_PERCENT ? "percent" : "fraction";
}

const char *bc_wavelength_unit_word(bc_wavelength_unit unit)
{
    return unit == BC_WAVELENGTH_UM ? "um" : "nm";
}

const char *bc_stated_word(bc_stated stated)
{
    static const char *const word[] = {
        [BC_STATED_NOT] = "not stated",       [BC_STATED_OPTION] = "by the option",
        [BC_STATED_HEADER] = "by the header", [BC_STATED_CELLS] = "by the % after the numbers",
        [BC_STATED_VALUES] = "by the values", [BC_STATED_WORDS] = "by the file's words"};
    return word[stated];
}

const char *bc_back_word(bc_back_kind kind)
{
    static const char *const word[] = {
        [BC_BACK_NONE] = "none", [BC_BACK_UNCOATED] = "uncoated", [BC_BACK_SAME] = "same", [BC_BACK_OWN] = "own"};
    return word[kind];
}

const bc_overlay *bc_main_overlay(const bc_inspect_result *result)
{
    return result->R.count > 0 ? &result->R : &result->T;
}

void bc_add_group(bc_text *out, const bc_inspect_result *result, const bc_layer_group *group)
{
    bc_text_add(out, "The scan cannot separate ");
    for (size_t i = group->count; i-- > 0;)
        bc_text_add(out, "%s%zu (%s)",
                    i + 1 == group->count ? "layer "
                    : i == 0              ? " and "
                                          : ", ",
                    bc_layer_number(result->layers, group->layer[i]),
                    result->fitted.layer[group->layer[i]].material.name);
    bc_text_add(out, group->count == 1 ? " from the noise" : "");
    if (group->is_sum) {
        bc_text_add(out, "; it determines only their optical thickness%s", group->count > 1 ? " together" : "");
    } else {
        bc_text_add(out, "; it determines only the sum of optical thicknesses");
        for (size_t i = group->count; i-- > 0;)
            bc_text_add(out, " %s%.2f x layer %zu", i + 1 < group->count && group->weight[i] >= 0.0 ? "+" : "",
                        group->weight[i], bc_layer_number(result->layers, group->layer[i]));
    }
    bc_text_add(out, ": %.1f nm at %.0f nm (designed %.1f; standard error %.2g).\n", group->optical_nm, group->at_nm,
                group->design_optical_nm, group->sigma_nm);
}

void bc_add_hypotheses(bc_text *out, const bc_inspect_result *result)
{
    const bc_hypothesis *best = &result->hypothesis[result->explained_by];
    if (result->explained_by > 0 && best->kind == BC_R_FOR_T)
        bc_text_add(
            out, "Or the columns R and T are taken for each other: that leaves %.3f %% rms, as said it is %.3f %%.\n",
            100.0 * best->rms, 100.0 * result->hypothesis[0].rms);
}

void bc_add_absorption(bc_text *out, const bc_absorption *absorption)
{
    if (!absorption->judged || absorption->shape == BC_ABSORPTION_NONE)
        return;
    bc_text_add(out, "More light is lost than the tables say (absorption or scatter)");
    if (absorption->shape == BC_ABSORPTION_BELOW)
        bc_text_add(out, ", below %.0f nm", absorption->edge_nm);
    if (absorption->shape == BC_ABSORPTION_ABOVE)
        bc_text_add(out, ", above %.0f nm", absorption->edge_nm);
    bc_text_add(out, ": %.2f %% more at %.0f nm (standard uncertainty %.2g %%).\n", 100.0 * absorption->most,
                absorption->most_nm, 100.0 * absorption->most_sigma);
}

bc_check_report bc_inspect_media(const bc_inspect_report *report, bc_check_result *result, bc_finding *finding)
{
    static const bc_callout wide = {.name = "", .from_nm = 1.0, .to_nm = 1e9};
    const bc_inspect_setup *setup = report->setup;
    *result = (bc_check_result){.count = setup->callouts == NULL ? 0 : setup->callouts->count, .finding = finding};
    for (size_t i = 0; i < result->count; i++)
        /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): without callouts the count is 0 */
        finding[i] = (bc_finding){.callout = &setup->callouts->callout[i], .substrate = &setup->design->substrate};
    if (result->count == 0)
        finding[result->count++] = (bc_finding){.callout = &wide, .substrate = &setup->design->substrate};
    return (bc_check_report){.stack_path = report->stack_path,
                             .callouts_path = report->callouts_path,
                             .stack = setup->design,
                             .result = result,
                             .back = &setup->back};
}
