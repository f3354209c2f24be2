/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "callout_columns.h"

#define LEAST_PERCENT   (100.0 * BC_RATIO_LIMIT_LEAST)
#define MOST_PERCENT    (100.0 * BC_RATIO_LIMIT_MOST)
#define NEAREST_PERCENT 1e-6 /* to 100 */

const char *bc_callout_ratio_fault(const bc_callout *callout, size_t *column)
{
    const double percent = 100.0 * callout->limit;
    *column = QUANTITY;
    if (callout->quantity == BC_A)
        return "R or T for a ratio s/p: where nothing absorbs there is none of A";
    *column = STATISTIC;
    if (callout->colour != BC_NO_COLOUR || bc_callout_is_luminous(callout))
        return "max, min or average for a ratio s/p";
    *column = AOI_DEG;
    if (!(callout->aoi_to_rad > 0.0))
        return "an angle above 0 for a ratio s/p: at normal incidence s and p are the same";
    *column = LIMIT_PERCENT;
    if (callout->sense == BC_AT_LEAST ? percent < LEAST_PERCENT || percent > 100.0 - NEAREST_PERCENT
                                      : percent < LEAST_PERCENT || percent > MOST_PERCENT)
        return callout->sense == BC_AT_LEAST
                   ? "for a ratio s/p '>= 10' to '>= 99.999999' percent: 98 for a ratio of 0.98"
                   : "for a ratio s/p '<= 10' to '<= 1000' percent: 102 for a ratio of 1.02";
    if (percent > 100.0 && percent < 100.0 + NEAREST_PERCENT)
        return "a limit of 100 percent, or one that differs from it by 0.000001 or more";
    return NULL;
}
