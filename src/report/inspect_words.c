/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/inspect_words.h"
#include <math.h>
#include <string.h>

#define RED    "\033[31m"
#define GREEN  "\033[32m"
#define YELLOW "\033[33m"
#define PLAIN  "\033[0m"

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
                                       [BC_UNDECIDED_QUANTITY] = "quantity",
                                       [BC_UNDECIDED_ANGLE] = "angle",
                                       [BC_UNDECIDED_POLARIZATION] = "polarization",
                                       [BC_UNDECIDED_SCOPE] = "scope",
                                       [BC_UNDECIDED_GLASS] = "glass"};
    return word[reason];
}

const char *bc_run_word(bc_run run)
{
    static const char *const word[] = {[BC_RUN_AS_DESIGNED] = "as designed",
                                       [BC_RUN_FACTOR] = "factor",
                                       [BC_RUN_ONE_LAYER] = "one layer",
                                       [BC_RUN_MATERIALS] = "materials",
                                       [BC_RUN_INDEX] = "index",
                                       [BC_RUN_LAYERS] = "layers",
                                       [BC_RUN_NO_FIT] = "no fit"};
    return word[run];
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

const char *bc_told_word(bc_told told)
{
    static const char *const word[] = {[BC_TOLD_NOT] = "not told",
                                       [BC_TOLD_OPTION] = "by the option",
                                       [BC_TOLD_HEADER] = "by the header",
                                       [BC_TOLD_CELLS] = "by the % behind the numbers",
                                       [BC_TOLD_VALUES] = "by the values"};
    return word[told];
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

static void add_factor(bc_text *out, const bc_inspect_result *result)
{
    const double percent = 100.0 * (result->scale - 1.0);
    bc_text_add(out, "%.2f %% %s than designed", fabs(percent), percent < 0.0 ? "thinner" : "thicker");
    if (isfinite(result->scale_sigma))
        bc_text_add(out, " (standard error %.2g %%)", 100.0 * result->scale_sigma);
}

static void add_one_layer(bc_text *out, const bc_inspect_result *result)
{
    const bc_layer_found *layer = &result->layer[result->layer_off];
    bc_text_add(out, "Layer %zu (%s) is off by %+.1f %% beyond the others",
                bc_layer_number(result->layers, result->layer_off),
                result->fitted.layer[result->layer_off].material.name, 100.0 * layer->beyond);
    if (isfinite(result->others_within))
        bc_text_add(out, "; those are off by %.2g %% at most (95 %%)", 100.0 * result->others_within);
    bc_text_add(out, ".\n");
}

static void add_materials(bc_text *out, const bc_inspect_result *result)
{
    const char *between = "Each material is off by a factor of its own:";
    for (size_t i = 0; i < result->materials; i++) {
        const bc_material_found *material = &result->material[i];
        if (!isfinite(material->factor_sigma))
            continue;
        bc_text_add(out, "%s %s by %+.2f %%", between, material->material.name, 100.0 * (material->factor - 1.0));
        between = ",";
    }
    bc_text_add(out, ".\n");
}

static void add_index(bc_text *out, const bc_inspect_result *result)
{
    bc_text_add(out, "An index is off:");
    for (size_t i = 0, some = 0; i < result->materials; i++) {
        const bc_material_found *material = &result->material[i];
        if (!(fabs(material->dn) > 0.0))
            continue;
        bc_text_add(out, "%s n of %s by %+.4f (standard error %.2g)", some++ == 0 ? "" : ",", material->material.name,
                    material->dn, material->dn_sigma);
    }
    bc_text_add(out, ". As a whole the layers came out ");
    add_factor(out, result);
    bc_text_add(out, ".\n");
}

void bc_add_run(bc_text *out, const bc_inspect_result *result)
{
    switch (result->run) {
    case BC_RUN_AS_DESIGNED:
        bc_text_add(out, "The design as it is explains the scan: no layer is off by more than chance explains.\n");
        break;
    case BC_RUN_FACTOR:
        bc_text_add(out, "All layers are off by one factor: they came out ");
        add_factor(out, result);
        bc_text_add(out, ".\n");
        break;
    case BC_RUN_ONE_LAYER:
        add_one_layer(out, result);
        break;
    case BC_RUN_MATERIALS:
        add_materials(out, result);
        break;
    case BC_RUN_INDEX:
        add_index(out, result);
        break;
    case BC_RUN_LAYERS:
        bc_text_add(out, "Several layers are off; as a whole they came out ");
        add_factor(out, result);
        bc_text_add(out, ".\n");
        break;
    case BC_RUN_NO_FIT:
        if (result->hypotheses > 0 && result->hypothesis[0].fits)
            bc_text_add(out, "Only layers far from the design would explain the scan, so they are no findings.\n");
        else
            bc_text_add(out, "No thicknesses of these layers explain the scan, so the fitted ones are no findings.\n");
        break;
    }
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

static const char *hypothesis_words(const bc_hypothesis *hypothesis)
{
    static const char *const back[] = {[BC_BACK_NONE] = "a ground or blackened back",
                                       [BC_BACK_UNCOATED] = "an uncoated, polished back",
                                       [BC_BACK_SAME] = "a back coated as the front",
                                       [BC_BACK_OWN] = "the back's own coating"};
    switch (hypothesis->kind) {
    case BC_AS_SAID:
        return "the design as it was said to be measured";
    case BC_OTHER_BACK:
        return back[hypothesis->back];
    case BC_BARE_GLASS:
        return hypothesis->back == BC_BACK_NONE ? "bare glass without the coating, its back ground"
                                                : "bare glass without the coating, its back polished";
    case BC_REVERSED:
        return "the layers in reverse order";
    case BC_R_FOR_T:
        return "the columns R and T taken for each other";
    }
    return "";
}

void bc_add_hypotheses(bc_text *out, const bc_inspect_result *result)
{
    const bc_hypothesis *best;
    if (result->hypotheses < 2)
        return;
    best = &result->hypothesis[result->explained_by];
    if (result->explained_by > 0)
        bc_text_add(
            out,
            "What does explain it, with layers near to the design: %s (%.3f %% rms unexplained; %.3f %% as said).\n",
            hypothesis_words(best), 100.0 * best->rms, 100.0 * result->hypothesis[0].rms);
    else if (!best->fits)
        bc_text_add(out,
                    "Nor do another back, bare glass, layers in reverse order or exchanged columns: the wrong witness, "
                    "the wrong glass, or a material that is not what its table says?\n");
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
