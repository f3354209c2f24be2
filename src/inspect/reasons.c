/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reasons.h"
#include "correct.h"
#include "print.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define DEGREES        (180.0 / M_PI)
#define SAME_ANGLE     (0.05 / DEGREES)
#define NEAR_NORMAL    (15.0 / DEGREES)
#define SAME_THICKNESS 1e-3 /* of the glass */

static bool same_stack(const bc_stack *one, const bc_stack *other)
{
    if (one == other)
        return true;
    if (one == NULL || other == NULL || one->layers != other->layers ||
        strcmp(one->incident.name, other->incident.name) != 0)
        return false;
    for (size_t j = 0; j < one->layers; j++)
        if (strcmp(one->layer[j].material.name, other->layer[j].material.name) != 0 ||
            one->layer[j].thickness_nm != other->layer[j].thickness_nm)
            return false;
    return true;
}

/* Whether what was measured is the part that rows with scope `part` mean. */
static bool is_the_part(const bc_inspect_setup *setup)
{
    const bc_back *seen = &setup->back, *meant = &setup->part_back;
    if (seen->kind == BC_BACK_NONE)
        return false;
    if (meant->kind == BC_BACK_NONE)
        return true;
    if (seen->kind != meant->kind || (seen->kind == BC_BACK_OWN && !same_stack(seen->stack, meant->stack)))
        return false;
    return !bc_dispersion_absorbs(setup->design->substrate.dispersion) ||
           fabs(seen->substrate_mm - meant->substrate_mm) <= SAME_THICKNESS * meant->substrate_mm;
}

static bool is_measured(const bc_readings *readings, bc_quantity quantity)
{
    return quantity == BC_R   ? readings->R.measured
           : quantity == BC_T ? readings->T.measured
                              : readings->R.measured && readings->T.measured;
}

/* How the back of what was measured suits the scope. */
static bool suits_scope(const bc_inspection *inspection, const bc_callout *callout, bool *remove_back)
{
    const bc_inspect_setup *setup = inspection->setup;
    if (callout->scope == BC_SCOPE_PART)
        return is_the_part(setup);
    if (setup->back.kind == BC_BACK_NONE)
        return true;
    if (setup->back.kind != BC_BACK_UNCOATED || callout->quantity == BC_A)
        return false;
    *remove_back = true;
    return inspection->result->good_fit || !bc_removal_needs_fit(inspection);
}

/* One angle near normal incidence serves for another where a fit gives the difference. */
static bool suits_by_correction(const bc_inspection *inspection, const bc_callout *callout)
{
    const double aoi = callout->aoi_from_rad;
    return callout->cone_rad == 0.0 && callout->aoi_to_rad == aoi && aoi <= NEAR_NORMAL + 1e-9 &&
           inspection->setup->aoi_rad <= NEAR_NORMAL + 1e-9 && inspection->result->good_fit &&
           callout->polarization != BC_POL_RATIO && (callout->polarization != BC_POL_EACH || aoi == 0.0);
}

static bool is_at_angle(const bc_inspect_setup *setup, const bc_callout *callout)
{
    return callout->cone_rad == 0.0 && setup->aoi_rad >= callout->aoi_from_rad - SAME_ANGLE &&
           setup->aoi_rad <= callout->aoi_to_rad + SAME_ANGLE;
}

static bool only_at_angle(const bc_inspect_setup *setup, const bc_callout *callout)
{
    return is_at_angle(setup, callout) && callout->aoi_to_rad - callout->aoi_from_rad <= SAME_ANGLE;
}

bc_match bc_match_callout(const bc_inspection *inspection, const bc_callout *callout)
{
    const bc_inspect_setup *setup = inspection->setup;
    const bool normal = setup->aoi_rad == 0.0;
    const bool each = callout->polarization == BC_POL_EACH; /* one of them, or their mean, may well be too much */
    bc_match match = {false, BC_DECIDED, false, false};
    if (!bc_callout_applies(callout, setup->design->substrate.name))
        match.reason = BC_UNDECIDED_GLASS;
    else if (!is_measured(&inspection->readings, callout->quantity))
        match.reason = BC_UNDECIDED_QUANTITY;
    else if (!suits_scope(inspection, callout, &match.remove_back))
        match.reason = BC_UNDECIDED_SCOPE;
    if (match.reason != BC_DECIDED)
        return match;
    if (!only_at_angle(setup, callout) && suits_by_correction(inspection, callout)) {
        match.correct_angle = match.speaks = true;
        return match;
    }
    if (!is_at_angle(setup, callout)) {
        match.reason = BC_UNDECIDED_ANGLE;
        return match;
    }
    /* At the measured angle; a reject there stands even where more was asked. */
    const bool ratio = callout->polarization == BC_POL_RATIO; /* a scan is in one polarization */
    match.speaks = !ratio && (normal || callout->polarization == setup->polarization || each);
    if (ratio || (!normal && callout->polarization != setup->polarization))
        match.reason = BC_UNDECIDED_POLARIZATION;
    else if (!only_at_angle(setup, callout))
        match.reason = BC_UNDECIDED_ANGLE;
    return match;
}

static const char *name_of(bc_quantity quantity)
{
    return quantity == BC_R ? "R" : quantity == BC_T ? "T" : "A";
}

static const char *polarization_name(bc_polarization polarization)
{
    static const char *const names[] = {"unpolarized light", "s", "p", "s and p each", "the ratio s/p"};
    return names[polarization];
}

static void explain_angle(const bc_inspection *inspection, bc_inspect_finding *finding)
{
    const bc_callout *callout = finding->callout;
    const double measured = inspection->setup->aoi_rad * DEGREES;
    if (callout->cone_rad > 0.0)
        bc_print(finding->text, sizeof finding->text,
                 "asked over a cone of light of half-angle %g degrees, measured at %g degrees",
                 callout->cone_rad * DEGREES, measured);
    else if (callout->aoi_from_rad < callout->aoi_to_rad)
        bc_print(finding->text, sizeof finding->text, "asked from %g to %g degrees, measured at %g degrees only",
                 callout->aoi_from_rad * DEGREES, callout->aoi_to_rad * DEGREES, measured);
    else
        bc_print(finding->text, sizeof finding->text, "asked at %g degrees, measured at %g degrees%s",
                 callout->aoi_from_rad * DEGREES, measured,
                 inspection->setup->aoi_rad <= NEAR_NORMAL && callout->aoi_from_rad <= NEAR_NORMAL
                     ? "; no fit is good enough to correct for that"
                     : "");
}

static void explain_scope(const bc_inspection *inspection, bc_inspect_finding *finding)
{
    static const char *const backs[] = {"a ground back", "an uncoated back", "the same coating on its back",
                                        "a back of its own"};
    const bc_inspect_setup *setup = inspection->setup;
    if (finding->callout->scope == BC_SCOPE_SURFACE)
        bc_print(finding->text, sizeof finding->text, "asked of the surface alone, measured with %s%s",
                 backs[setup->back.kind],
                 setup->back.kind == BC_BACK_UNCOATED && finding->callout->quantity != BC_A
                     ? ", whose share cannot be taken out without a good fit"
                     : "");
    else if (setup->part_back.kind == BC_BACK_NONE)
        bc_print(finding->text, sizeof finding->text, "asked of a part, measured with %s", backs[setup->back.kind]);
    else
        bc_print(finding->text, sizeof finding->text, "asked of a part with %s, measured with %s",
                 backs[setup->part_back.kind], backs[setup->back.kind]);
}

static void explain_coverage(bc_inspect_finding *finding)
{
    const bc_callout *callout = finding->callout;
    if (finding->reason == BC_UNDECIDED_STEPS)
        bc_print(finding->text, sizeof finding->text,
                 "measured in steps of up to %.4g nm, where %.4g nm at most show every fringe", finding->widest_step_nm,
                 finding->step_limit_nm);
    else if (isnan(finding->covered_from_nm))
        bc_print(finding->text, sizeof finding->text, "nothing was measured from %g to %g nm", callout->from_nm,
                 callout->to_nm);
    else
        bc_print(finding->text, sizeof finding->text, "asked from %g to %g nm, measured from %.6g to %.6g nm only",
                 callout->from_nm, callout->to_nm, finding->covered_from_nm, finding->covered_to_nm);
}

void bc_explain_reason(const bc_inspection *inspection, bc_inspect_finding *finding)
{
    const bc_inspect_setup *setup = inspection->setup;
    finding->text[0] = '\0';
    switch (finding->reason) {
    case BC_DECIDED:
        if (finding->rest > 0.0)
            bc_print(finding->text, sizeof finding->text,
                     "measured from %.6g to %.6g nm; the rest of the band has %.2g %% of the weight, and the limit is "
                     "met whatever is there",
                     finding->covered_from_nm, finding->covered_to_nm, 100.0 * finding->rest);
        break;
    case BC_UNDECIDED_HELD: /* explained when it is held */
        break;
    case BC_UNDECIDED_UNCERTAINTY:
        bc_print(finding->text, sizeof finding->text,
                 "too near the limit to tell: it is met with a probability of %.3g %%%s", 100.0 * finding->probability,
                 finding->judged == BC_JUDGED_FIT ? " at least" : "");
        break;
    case BC_UNDECIDED_NOT_COVERED:
    case BC_UNDECIDED_STEPS:
        explain_coverage(finding);
        break;
    case BC_UNDECIDED_OUTLIER:
        bc_print(
            finding->text, sizeof finding->text,
            "the reading at %.6g nm, %.4g %%, was left out of the fit as an outlier and would not be accepted if it "
            "were true: measure again",
            finding->doubt_nm, 100.0 * finding->doubt_value);
        break;
    case BC_UNDECIDED_MISSING:
        bc_print(finding->text, sizeof finding->text,
                 "the value at %.6g nm is missing, beside the worst one at %.6g nm: measure again", finding->doubt_nm,
                 finding->at_nm);
        break;
    case BC_UNDECIDED_QUANTITY:
        bc_print(finding->text, sizeof finding->text, "%s was not measured", name_of(finding->callout->quantity));
        break;
    case BC_UNDECIDED_ANGLE:
        explain_angle(inspection, finding);
        break;
    case BC_UNDECIDED_POLARIZATION:
        bc_print(finding->text, sizeof finding->text, "asked %s %s, measured in %s",
                 finding->callout->polarization == BC_POL_RATIO ? "of" : "in",
                 polarization_name(finding->callout->polarization), polarization_name(setup->polarization));
        break;
    case BC_UNDECIDED_SCOPE:
        explain_scope(inspection, finding);
        break;
    case BC_UNDECIDED_GLASS:
        bc_print(finding->text, sizeof finding->text, "asked on %s, measured on %s", finding->callout->substrate,
                 setup->design->substrate.name);
        break;
    }
}
