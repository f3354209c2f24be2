/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/plot_words.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LONGEST_NAME 48 /* bytes of a name in a note */

void bc_plot_quantity_axis(bc_quantity quantity, bc_chart_axis *axis)
{
    static const char *const name[] = {[BC_R] = "Reflectance", [BC_T] = "Transmittance", [BC_A] = "Absorptance"};
    snprintf(axis->name, sizeof axis->name, "%s", name[quantity]);
    snprintf(axis->brief, sizeof axis->brief, "%s", bc_quantity_word(quantity));
    snprintf(axis->unit, sizeof axis->unit, "%%");
}

void bc_plot_wavelength_axis(double from_nm, double to_nm, bc_chart_axis *axis)
{
    snprintf(axis->name, sizeof axis->name, "Wavelength");
    snprintf(axis->unit, sizeof axis->unit, "nm");
    if (!(to_nm > from_nm)) { /* one wavelength still has a place */
        axis->range = (bc_chart_range){0.99 * from_nm, 1.01 * from_nm};
        return;
    }
    axis->range = (bc_chart_range){from_nm, to_nm};
}

void bc_plot_value(char to[32], const bc_finding *finding)
{
    const double percent = 100.0 * finding->value, limit = 100.0 * finding->callout->limit;
    for (int digits = 3; digits <= 16; digits++) {
        double printed;
        bool meets;
        snprintf(to, 32, "%.*g", digits, percent);
        printed = strtod(to, NULL);
        meets = finding->callout->sense == BC_AT_MOST ? printed <= limit : printed >= limit;
        if (meets == finding->pass)
            return;
    }
}

void bc_plot_band(char to[64], double from_nm, double to_nm)
{
    if (from_nm == to_nm)
        snprintf(to, 64, "%.7g nm", from_nm);
    else
        snprintf(to, 64, "%.7g–%.7g nm", from_nm, to_nm);
}

void bc_plot_angles(char to[64], double from_rad, double to_rad)
{
    if (from_rad == to_rad)
        snprintf(to, 64, "%.3g°", bc_degrees(from_rad));
    else
        snprintf(to, 64, "%.3g–%.3g°", bc_degrees(from_rad), bc_degrees(to_rad));
}

static const char *plane_words(const bc_callout *callout)
{
    static const char *const words[] = {
        [BC_POL_MEAN] = ", unpolarized", [BC_POL_S] = ", s", [BC_POL_P] = ", p", [BC_POL_EACH] = ", s and p"};
    return words[callout->polarization];
}

void bc_plot_light(char to[BC_CHART_TEXT], const bc_callout *callout)
{
    const bool normal = callout->aoi_to_rad == 0.0;
    char angles[64];
    bc_plot_angles(angles, callout->aoi_from_rad, callout->aoi_to_rad);
    snprintf(to, BC_CHART_TEXT, "%s%s%s%s%s%s", normal ? "Normal incidence" : angles,
             normal ? "" : plane_words(callout), callout->scope == BC_SCOPE_PART ? ", whole part" : "",
             callout->substrate[0] == '\0' ? "" : ", ", callout->substrate,
             callout->substrate[0] == '\0' ? "" : " only");
}

void bc_plot_callout(char to[BC_CHART_TEXT], const bc_callout *callout)
{
    char band[64], angles[64];
    bc_plot_band(band, callout->from_nm, callout->to_nm);
    bc_plot_angles(angles, callout->aoi_from_rad, callout->aoi_to_rad);
    snprintf(to, BC_CHART_TEXT, "%s%s %s %.6g %%, %s, %s%s%s", callout->statistic == BC_MEAN ? "mean " : "",
             bc_quantity_word(callout->quantity), callout->sense == BC_AT_MOST ? "≤" : "≥", 100.0 * callout->limit,
             band, angles, callout->polarization == BC_POL_MEAN ? "" : plane_words(callout),
             callout->scope == BC_SCOPE_PART ? ", whole part" : "");
}

void bc_plot_letter(char to[BC_CHART_BRIEF], size_t index)
{
    char turned[BC_CHART_BRIEF];
    size_t length = 0;
    do {
        turned[length++] = (char)('a' + index % 26);
        index = index / 26;
    } while (index-- > 0 && length + 1 < BC_CHART_BRIEF);
    for (size_t i = 0; i < length; i++)
        to[i] = turned[length - 1 - i];
    to[length] = '\0';
}

void bc_plot_add_callout(bc_chart *chart, const bc_callout *callout, const char *letter)
{
    const bool mean = callout->statistic == BC_MEAN;
    bc_chart_item *item = bc_chart_add(chart, mean ? BC_CHART_LIMIT : BC_CHART_KEEP_OUT);
    if (item == NULL)
        return;
    item->from = callout->from_nm;
    item->to = callout->to_nm;
    item->low = 100.0 * callout->limit;
    item->bad = callout->sense == BC_AT_LEAST;
    snprintf(item->text, sizeof item->text, "%s%s%s%s %.6g %%", letter, letter[0] == '\0' ? "" : ": ",
             mean ? "mean " : "", callout->sense == BC_AT_MOST ? "≤" : "≥", 100.0 * callout->limit);
    snprintf(item->brief, sizeof item->brief, "%s", letter);
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, mean ? BC_CHART_LIMIT : BC_CHART_KEEP_OUT, 0, false,
                     mean ? "limit of the mean" : "outside the limit");
}
