/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/callouts.h>
#include <stdlib.h>
#include <string.h>

#define WEIGHT_LOOKS 4000 /* steps of a band: as fine as an average samples it for its weight */

void bc_callouts_clear(bc_callouts *callouts)
{
    free(callouts->callout);
    *callouts = (bc_callouts){0};
}

bool bc_callout_applies(const bc_callout *callout, const char *substrate)
{
    return callout->substrate[0] == '\0' || strcmp(callout->substrate, substrate) == 0;
}

double bc_callout_ideal(const bc_callout *callout)
{
    if (callout->sense == BC_AT_LEAST)
        return 1.0;
    return callout->polarization == BC_POL_RATIO && callout->limit > 1.0 ? 1.0 : 0.0;
}

bool bc_callout_is_ellipse(const bc_callout *callout)
{
    return callout->colour == BC_ELLIPSE_AB || callout->colour == BC_ELLIPSE_XY;
}

bool bc_callout_is_luminous(const bc_callout *callout)
{
    return callout->weight == bc_weight_luminous();
}

bool bc_callout_has_own_band(const bc_callout *callout)
{
    return callout->weight != NULL && bc_weight_is_sum(callout->weight);
}

bc_status bc_callout_check_weight(const bc_callout *callout, bc_error *error)
{
    double from_nm, to_nm;
    bool any = false;
    if (callout->weight == NULL)
        return BC_OK;
    bc_weight_range(callout->weight, &from_nm, &to_nm);
    if (callout->from_nm < from_nm || callout->to_nm > to_nm)
        return bc_fail(error, BC_ERROR_INPUT,
                       "the weight '%s' is there from %g to %g nm; expected one that covers the band, %g to %g nm",
                       bc_weight_name(callout->weight), from_nm, to_nm, callout->from_nm, callout->to_nm);
    for (int i = 0; i <= WEIGHT_LOOKS; i++)
        any = any || bc_weight_at(callout->weight,
                                  callout->from_nm + (callout->to_nm - callout->from_nm) * i / WEIGHT_LOOKS) > 0.0;
    return any ? BC_OK
               : bc_fail(error, BC_ERROR_INPUT,
                         "the weight '%s' is 0 from %g to %g nm; expected one above 0 in the band",
                         bc_weight_name(callout->weight), callout->from_nm, callout->to_nm);
}
