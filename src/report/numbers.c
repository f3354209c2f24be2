/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "number.h"
#include "print.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MOST_DECIMALS 15

double bc_degrees(double radians)
{
    return radians * (180.0 / M_PI);
}

/* What a reader of the figure takes it for; NAN for none. */
static double read_back(const char *text)
{
    double value;
    return bc_number_parse(text, 0, &value) == BC_NUMBER_OK ? value : NAN;
}

void bc_print_value(char to[BC_PRINTED_SIZE], const bc_finding *finding)
{
    const double percent = 100.0 * finding->value;
    const double limit = 100.0 * finding->callout->limit;
    if (percent != 0.0 && fabs(percent) < 1e-3) {
        bc_print(to, BC_PRINTED_SIZE, "%.3g", percent);
        return;
    }
    for (int decimals = 4; decimals <= MOST_DECIMALS; decimals++) {
        double printed;
        bool meets;
        bc_print(to, BC_PRINTED_SIZE, "%.*f", decimals, percent);
        printed = read_back(to);
        meets = finding->callout->sense == BC_AT_MOST ? printed <= limit : printed >= limit;
        if (meets == finding->pass)
            return;
    }
}

void bc_print_used(char to[BC_PRINTED_SIZE], double limit_used)
{
    for (int decimals = 3; decimals <= MOST_DECIMALS; decimals++) {
        bc_print(to, BC_PRINTED_SIZE, "%.*f", decimals, limit_used);
        if ((read_back(to) <= 1.0) == (limit_used <= 1.0))
            return;
    }
}

void bc_print_used_percent(char to[BC_PRINTED_SIZE], double limit_used)
{
    for (int decimals = 1; decimals <= MOST_DECIMALS; decimals++) {
        bc_print(to, BC_PRINTED_SIZE, "%.*f", decimals, 100.0 * limit_used);
        if ((read_back(to) <= 100.0) == (limit_used <= 1.0))
            return;
    }
}

void bc_print_thickness(char to[BC_PRINTED_SIZE], double thickness_nm)
{
    bc_print(to, BC_PRINTED_SIZE, "%.3f", thickness_nm);
    if (read_back(to) != thickness_nm)
        bc_number_format(thickness_nm, to);
}

const char *bc_quantity_word(bc_quantity quantity)
{
    return quantity == BC_R ? "R" : quantity == BC_T ? "T" : "A";
}

const char *bc_statistic_word(const bc_callout *callout)
{
    static const char *const colour[] = {"", "chroma", "a*", "b*", "x", "y", "a*b*", "xy", "dE00"};
    return callout->colour != BC_NO_COLOUR    ? colour[callout->colour]
           : bc_callout_is_luminous(callout)  ? "luminous"
           : callout->statistic == BC_AVERAGE ? "average"
           : callout->sense == BC_AT_MOST     ? "max"
                                              : "min";
}

const char *bc_unit_behind(const bc_callout *callout)
{
    return callout->colour == BC_NO_COLOUR ? " %" : "";
}

bool bc_has_target(const bc_callout *callout)
{
    return callout->colour >= BC_COLOUR_A && callout->colour <= BC_COLOUR_Y;
}

void bc_print_ellipse(char to[BC_PRINTED_SIZE], const bc_callout *callout)
{
    const bc_ellipse *ellipse = &callout->ellipse;
    const double scale = 100.0 * callout->limit; /* a limit that was relaxed is a larger ellipse of the same shape */
    char number[5][BC_NUMBER_SIZE];
    const double value[5] = {ellipse->centre[0], ellipse->centre[1], scale * ellipse->half_axis[0],
                             scale * ellipse->half_axis[1], bc_degrees(ellipse->turn_rad)};
    for (int i = 0; i < 5; i++)
        bc_number_format(round(value[i] * 1e9) / 1e9, number[i]);
    bc_print(to, BC_PRINTED_SIZE, "%s %s +- %s %s%s%s", number[0], number[1], number[2], number[3],
             value[4] == 0.0 ? "" : " turned ", value[4] == 0.0 ? "" : number[4]);
}

void bc_print_reference(char to[BC_PRINTED_SIZE], const bc_callout *callout)
{
    char number[3][BC_NUMBER_SIZE];
    to[0] = '\0';
    if (callout->colour != BC_COLOUR_DIFFERENCE)
        return;
    for (int i = 0; i < 3; i++)
        bc_number_format(callout->reference[i], number[i]);
    bc_print(to, BC_PRINTED_SIZE, " from %s %s %s", number[0], number[1], number[2]);
}

void bc_print_limit(char to[BC_PRINTED_SIZE], const bc_callout *callout)
{
    char reference[BC_PRINTED_SIZE];
    bc_print_reference(reference, callout);
    if (bc_callout_is_ellipse(callout)) {
        bc_print_ellipse(to, callout);
        if (callout->ellipse.turn_rad != 0.0)
            bc_print(to + strlen(to), BC_PRINTED_SIZE - strlen(to), " deg");
    } else if (bc_has_target(callout))
        bc_print(to, BC_PRINTED_SIZE, "%.6g +- %.6g", 100.0 * callout->target, 100.0 * callout->limit);
    else
        bc_print(to, BC_PRINTED_SIZE, "%s %.6g%s%s", bc_sense_word(callout->sense), 100.0 * callout->limit,
                 bc_unit_behind(callout), reference);
}

void bc_print_quantity(char to[BC_PRINTED_SIZE], const bc_callout *callout)
{
    const char *weight = bc_weight_word(callout);
    bc_callout asked = *callout; /* the ellipse that the value is counted in, however large the limit */
    char target[BC_PRINTED_SIZE], ellipse[BC_PRINTED_SIZE] = "";
    bc_print_reference(target, callout);
    asked.limit = 0.01;
    if (bc_has_target(callout))
        bc_print(target, sizeof target, " from %.6g", 100.0 * callout->target);
    else if (bc_callout_is_ellipse(callout))
        bc_print_ellipse(ellipse, &asked);
    bc_print(to, BC_PRINTED_SIZE, "%s %s%s%s%s%s%s%s", bc_quantity_word(callout->quantity), bc_statistic_word(callout),
             weight == NULL ? "" : " ", weight == NULL ? "" : weight, target, ellipse[0] == '\0' ? "" : " of ", ellipse,
             callout->scope == BC_SCOPE_PART ? " part" : "");
}

const char *bc_weight_word(const bc_callout *callout)
{
    return callout->weight == NULL || bc_callout_has_own_band(callout) ? NULL : bc_weight_name(callout->weight);
}

const char *bc_cone_weight_word(const bc_callout *callout)
{
    return callout->cone_weight == NULL ? NULL : bc_weight_name(callout->cone_weight);
}

const char *bc_sense_word(bc_sense sense)
{
    return sense == BC_AT_MOST ? "<=" : ">=";
}

const char *bc_polarization_word(bc_polarization polarization)
{
    static const char *const word[] = {[BC_POL_UNPOLARIZED] = "unpolarized",
                                       [BC_POL_S] = "s",
                                       [BC_POL_P] = "p",
                                       [BC_POL_EACH] = "each",
                                       [BC_POL_RATIO] = "s/p"};
    return word[polarization];
}

const char *bc_scope_word(bc_scope scope)
{
    return scope == BC_SCOPE_SURFACE ? "surface" : "part";
}

const char *bc_illuminant_word(bc_illuminant illuminant)
{
    static const char *const word[] = {
        [BC_ILLUMINANT_D65] = "D65", [BC_ILLUMINANT_A] = "A", [BC_ILLUMINANT_D50] = "D50"};
    return word[illuminant];
}
