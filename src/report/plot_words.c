/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/plot_words.h"
#include "internal/chart_scale.h"
#include "internal/numbers.h"
#include "number.h"
#include "print.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NEXT_TO_NOTHING 1e-4 /* percent */

void bc_plot_name(bc_chart *chart, char *to, size_t size, const char *from)
{
    static const char mark[] = "…";
    bc_chart_copy(chart, to, size - sizeof mark, from);
    if (strlen(from) >= size - sizeof mark)
        memcpy(to + strlen(to), mark, sizeof mark);
}

void bc_plot_quantity_axis(bc_quantity quantity, bc_chart_axis *axis)
{
    static const char *const name[] = {[BC_R] = "Reflectance", [BC_T] = "Transmittance", [BC_A] = "Absorptance"};
    bc_print(axis->name, sizeof axis->name, "%s", name[quantity]);
    bc_print(axis->brief, sizeof axis->brief, "%s", bc_quantity_word(quantity));
    bc_print(axis->unit, sizeof axis->unit, "%%");
}

void bc_plot_callout_axis(const bc_callout *callout, bc_chart_axis *axis)
{
    bc_plot_quantity_axis(callout->quantity, axis);
    if (callout->polarization != BC_POL_RATIO)
        return;
    bc_print(axis->name + strlen(axis->name), sizeof axis->name - strlen(axis->name), " s/p");
    bc_print(axis->brief + strlen(axis->brief), sizeof axis->brief - strlen(axis->brief), " s/p");
}

void bc_plot_wavelength_axis(double from_nm, double to_nm, bc_chart_axis *axis)
{
    bc_print(axis->name, sizeof axis->name, "Wavelength");
    bc_print(axis->unit, sizeof axis->unit, "nm");
    if (!(to_nm > from_nm)) { /* one wavelength still has a place */
        axis->range = (bc_chart_range){0.99 * from_nm, 1.01 * from_nm};
        return;
    }
    axis->range = (bc_chart_range){from_nm, to_nm};
}

/* "6.86×10⁻⁵" for what printf() writes as 6.86e-05. */
static void print_significant(double value, int digits, char to[BC_PLOT_NUMBER])
{
    char plain[40], power[24];
    char *exponent;
    bc_print(plain, sizeof plain, "%.*g", digits, value);
    exponent = strchr(plain, 'e');
    if (exponent == NULL) {
        bc_print(to, BC_PLOT_NUMBER, "%s", plain);
        return;
    }
    bc_chart_power_of_ten((int)strtol(exponent + 1, NULL, 10), power);
    bc_print(to, BC_PLOT_NUMBER, "%.*s×%s", (int)(exponent - plain), plain, power);
}

void bc_plot_percent(double fraction, char to[BC_PLOT_NUMBER])
{
    print_significant(100.0 * fraction, 6, to);
}

/* The digits that show three of the value's, and three of what it lacks to 100 %: 99.98 is not 100. */
static int telling_digits(double percent)
{
    const double lacks = fabs(100.0 - percent);
    if (percent < 50.0 || lacks == 0.0)
        return 3;
    return (int)fmin(fmax(4.0 - floor(log10(lacks)), 3.0), 9.0);
}

void bc_plot_value(char to[BC_PLOT_NUMBER], const bc_finding *finding)
{
    const double percent = 100.0 * finding->value, limit = 100.0 * finding->callout->limit;
    if (percent >= 0.0 && percent < NEXT_TO_NOTHING && limit > 10.0 * NEXT_TO_NOTHING && finding->pass &&
        finding->callout->sense == BC_AT_MOST) {
        bc_print(to, BC_PLOT_NUMBER, "<%g", NEXT_TO_NOTHING); /* rounding decides on the digits of less */
        return;
    }
    for (int digits = telling_digits(percent); digits <= 16; digits++) {
        char plain[40];
        double printed;
        bool meets;
        bc_print(plain, sizeof plain, "%.*g", digits, percent);
        printed = bc_number_read(plain, NULL);
        meets = finding->callout->sense == BC_AT_MOST ? printed <= limit : printed >= limit;
        if (meets != finding->pass && digits < 16)
            continue;
        print_significant(percent, digits, to);
        return;
    }
}

void bc_plot_band(char to[64], double from_nm, double to_nm)
{
    if (from_nm == to_nm)
        bc_print(to, 64, "%.7g" BC_PLOT_NO_BREAK "nm", from_nm);
    else
        bc_print(to, 64, "%.7g–%.7g" BC_PLOT_NO_BREAK "nm", from_nm, to_nm);
}

void bc_plot_angles(char to[64], double from_rad, double to_rad)
{
    if (from_rad == to_rad)
        bc_print(to, 64, "%.3g°", bc_degrees(from_rad));
    else
        bc_print(to, 64, "%.3g–%.3g°", bc_degrees(from_rad), bc_degrees(to_rad));
}

void bc_plot_angles_of(const bc_callout *callout, char to[BC_PLOT_ANGLES])
{
    bc_plot_angles(to, callout->aoi_from_rad, callout->aoi_to_rad);
    bc_plot_cone(callout, to + strlen(to));
}

void bc_plot_cone(const bc_callout *callout, char to[BC_PLOT_CONE])
{
    to[0] = '\0';
    if (callout->cone_rad > 0.0)
        bc_print(to, BC_PLOT_CONE, " cone %.3g°%s%s", bc_degrees(callout->cone_rad),
                 callout->cone_weight == NULL ? "" : " weighted by ",
                 callout->cone_weight == NULL ? "" : bc_cone_weight_word(callout));
}

const char *bc_plot_mean_word(const bc_callout *callout)
{
    return callout->colour != BC_NO_COLOUR    ? ""
           : bc_callout_is_luminous(callout)  ? "luminous "
           : callout->statistic == BC_AVERAGE ? "average "
                                              : "";
}

static const char *plane_words(const bc_callout *callout)
{
    static const char *const words[] = {[BC_POL_UNPOLARIZED] = ", unpolarized",
                                        [BC_POL_S] = ", s",
                                        [BC_POL_P] = ", p",
                                        [BC_POL_EACH] = ", s and p",
                                        [BC_POL_RATIO] = ", ratio s/p"};
    return words[callout->polarization];
}

void bc_plot_light(char to[BC_CHART_TEXT], const bc_callout *callout)
{
    const bool normal = callout->aoi_to_rad == 0.0 && callout->cone_rad == 0.0;
    char angles[BC_PLOT_ANGLES];
    bc_plot_angles_of(callout, angles);
    bc_print(to, BC_CHART_TEXT, "%s%s%s%s%s%s", normal ? "Normal incidence" : angles,
             normal ? "" : plane_words(callout), callout->scope == BC_SCOPE_PART ? ", whole part" : "",
             callout->substrate[0] == '\0' ? "" : ", ", callout->substrate,
             callout->substrate[0] == '\0' ? "" : " only");
}

void bc_plot_limit(const bc_callout *callout, char to[BC_PLOT_LIMIT])
{
    char limit[BC_PLOT_NUMBER];
    bc_plot_percent(callout->limit, limit); /* a colour's hundredths likewise */
    if (bc_callout_is_ellipse(callout)) {
        const bc_ellipse *ellipse = &callout->ellipse;
        const double scale = 100.0 * callout->limit;
        bc_print(to, BC_PLOT_LIMIT,
                 "%s" BC_PLOT_NO_BREAK "(%.4g," BC_PLOT_NO_BREAK "%.4g)" BC_PLOT_NO_BREAK "±" BC_PLOT_NO_BREAK
                 "(%.4g," BC_PLOT_NO_BREAK "%.4g)",
                 bc_statistic_word(callout), ellipse->centre[0], ellipse->centre[1], scale * ellipse->half_axis[0],
                 scale * ellipse->half_axis[1]);
        if (ellipse->turn_rad != 0.0)
            bc_print(to + strlen(to), BC_PLOT_LIMIT - strlen(to), " turned" BC_PLOT_NO_BREAK "%.4g°",
                     bc_degrees(ellipse->turn_rad));
    } else if (bc_has_target(callout))
        bc_print(to, BC_PLOT_LIMIT, "%s" BC_PLOT_NO_BREAK "%.5g" BC_PLOT_NO_BREAK "±" BC_PLOT_NO_BREAK "%s",
                 bc_statistic_word(callout), 100.0 * callout->target, limit);
    else
        bc_print(to, BC_PLOT_LIMIT, "%s%s%s" BC_PLOT_NO_BREAK "%s%s",
                 callout->colour == BC_NO_COLOUR ? "" : bc_statistic_word(callout),
                 callout->colour == BC_NO_COLOUR ? "" : BC_PLOT_NO_BREAK, callout->sense == BC_AT_MOST ? "≤" : "≥",
                 limit, callout->colour == BC_NO_COLOUR ? BC_PLOT_NO_BREAK "%" : "");
    if (callout->colour == BC_COLOUR_DIFFERENCE)
        bc_print(to + strlen(to), BC_PLOT_LIMIT - strlen(to),
                 " from L*" BC_PLOT_NO_BREAK "%.4g, a*" BC_PLOT_NO_BREAK "%.4g, b*" BC_PLOT_NO_BREAK "%.4g",
                 callout->reference[0], callout->reference[1], callout->reference[2]);
}

void bc_plot_callout(char to[BC_CHART_TEXT], const bc_callout *callout)
{
    const char *weight = bc_weight_word(callout);
    char band[64], angles[BC_PLOT_ANGLES], limit[BC_PLOT_LIMIT];
    bc_plot_limit(callout, limit);
    bc_plot_band(band, callout->from_nm, callout->to_nm);
    bc_plot_angles_of(callout, angles);
    bc_print(to, BC_CHART_TEXT, "%s%s%s%s" BC_PLOT_NO_BREAK "%s, %s, %s%s%s", bc_plot_mean_word(callout),
             bc_quantity_word(callout->quantity), weight == NULL ? "" : " weighted by ", weight == NULL ? "" : weight,
             limit, band, angles, callout->polarization == BC_POL_UNPOLARIZED ? "" : plane_words(callout),
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
    const bool mean = callout->statistic == BC_AVERAGE;
    char limit[BC_PLOT_NUMBER];
    bc_chart_item *item;
    if (callout->colour != BC_NO_COLOUR) /* not on this axis */
        return;
    item = bc_chart_add(chart, mean ? BC_CHART_LIMIT : BC_CHART_KEEP_OUT);
    if (item == NULL)
        return;
    bc_plot_percent(callout->limit, limit);
    item->from = callout->from_nm;
    item->to = callout->to_nm;
    item->low = 100.0 * callout->limit;
    item->bad = callout->sense == BC_AT_LEAST;
    bc_print(item->text, sizeof item->text, "%s%s%s%s %s %%", letter, letter[0] == '\0' ? "" : ": ",
             bc_plot_mean_word(callout), callout->sense == BC_AT_MOST ? "≤" : "≥", limit);
    bc_print(item->brief, sizeof item->brief, "%s", letter);
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, mean ? BC_CHART_LIMIT : BC_CHART_KEEP_OUT, 0, false,
                     mean ? "limit of the average" : "outside the limit");
}
