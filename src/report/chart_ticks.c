/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_scale.h"
#include "print.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define SMALLEST_PLAIN 2e-3 /* numbers below, and from LARGEST_PLAIN on, are written in units of a power of ten */
#define LARGEST_PLAIN  1e6
#define MOST_DECIMALS  12
#define ROUNDING       1e-9 /* of a step: how far off the grid a range's end may lie and still count as on it */

typedef struct step_parts {
    double mantissa; /* 1, 2 or 5 */
    int power;
} step_parts;

static step_parts parts_of_step(double span, size_t most)
{
    static const double mantissa[] = {1.0, 2.0, 5.0};
    const double least = span / (double)(most == 0 ? 1 : most);
    int power = (int)floor(log10(least)) - 1;
    for (;; power++)
        for (size_t i = 0; i < sizeof mantissa / sizeof *mantissa; i++)
            if (mantissa[i] * pow(10.0, power) >= least * (1.0 - ROUNDING))
                return (step_parts){mantissa[i], power};
}

/* mantissa * count * 10^power, rounded once where the power is negative. */
static double times_power(double whole, int power)
{
    return power < 0 ? whole / pow(10.0, -power) : whole * pow(10.0, power);
}

bc_chart_range bc_chart_whole_steps(bc_chart_range range, size_t most)
{
    const step_parts step = parts_of_step(range.to - range.from, most);
    const double width = times_power(step.mantissa, step.power);
    const double first = floor(range.from / width + ROUNDING), last = ceil(range.to / width - ROUNDING);
    return (bc_chart_range){times_power(first * step.mantissa, step.power),
                            times_power(last * step.mantissa, step.power)};
}

void bc_chart_power_of_ten(int exponent, char to[24])
{
    static const char *const digit[] = {"⁰", "¹", "²", "³", "⁴", "⁵", "⁶", "⁷", "⁸", "⁹"};
    char plain[12];
    size_t at = (size_t)bc_print(to, 24, "10");
    bc_print(plain, sizeof plain, "%d", exponent);
    for (const char *c = plain; *c != '\0'; c++)
        at += (size_t)bc_print(to + at, 24 - at, "%s", *c == '-' ? "⁻" : digit[*c - '0']);
}

static void print_number(double value, int decimals, char to[24])
{
    char plain[24];
    bc_print(plain, sizeof plain, "%.*f", decimals, fabs(value));
    bc_print(to, 24, "%s%.20s", value < 0.0 && strspn(plain, "0.") < strlen(plain) ? "−" : "", plain);
}

static int exponent_of(bc_chart_range range)
{
    const double largest = fmax(fabs(range.from), fabs(range.to));
    return largest > 0.0 && (largest < SMALLEST_PLAIN || largest >= LARGEST_PLAIN) ? (int)floor(log10(largest)) : 0;
}

static void linear_ticks(bc_chart_range range, size_t most, bc_chart_ticks *ticks)
{
    const step_parts step = parts_of_step(range.to - range.from, most);
    const double width = times_power(step.mantissa, step.power);
    const int exponent = exponent_of(range);
    const int decimals = step.power < exponent ? exponent - step.power : 0;
    const double first = ceil(range.from / width - ROUNDING);
    const double last = floor(range.to / width + ROUNDING);
    ticks->step = width;
    ticks->minor = step.mantissa == 2.0 ? 4 : 5;
    ticks->exponent = exponent;
    for (double i = first; i <= last && ticks->count < BC_MOST_TICKS; i += 1.0) {
        bc_chart_tick *tick = &ticks->tick[ticks->count++];
        tick->value = times_power(i * step.mantissa, step.power);
        print_number(times_power(i * step.mantissa, step.power - exponent),
                     decimals > MOST_DECIMALS ? MOST_DECIMALS : decimals, tick->text);
    }
}

/* A tick at every decade; numbers at no more than `most` of them. */
static void decade_ticks(bc_chart_range range, size_t most, bc_chart_ticks *ticks)
{
    const int first = (int)ceil(log10(range.from) - ROUNDING), last = (int)floor(log10(range.to) + ROUNDING);
    const int stride = last < first ? 1 : 1 + (last - first) / (int)(most == 0 ? 1 : most);
    for (int power = first; power <= last && ticks->count < BC_MOST_TICKS; power += stride) {
        bc_chart_tick *tick = &ticks->tick[ticks->count++];
        tick->value = pow(10.0, power);
        bc_chart_power_of_ten(power, tick->text);
    }
    ticks->minor = stride == 1 ? 9 : 1;
}

void bc_chart_find_ticks(bc_chart_range range, size_t most, bool logarithmic, bc_chart_ticks *ticks)
{
    *ticks = (bc_chart_ticks){.minor = 1};
    most = most >= BC_MOST_TICKS ? BC_MOST_TICKS - 1 : most;
    if (!(range.to > range.from))
        return;
    if (logarithmic)
        decade_ticks(range, most, ticks);
    else
        linear_ticks(range, most, ticks);
}

void bc_chart_axis_label(const bc_chart_axis *axis, int exponent, bool brief, char to[BC_CHART_TEXT])
{
    const char *name = brief && axis->brief[0] != '\0' ? axis->brief : axis->name;
    char power[24] = "";
    if (exponent != 0)
        bc_chart_power_of_ten(exponent, power);
    if (exponent == 0 && axis->unit[0] == '\0')
        bc_print(to, BC_CHART_TEXT, "%s", name);
    else
        bc_print(to, BC_CHART_TEXT, "%s (%s%s%s)", name, power, exponent != 0 && axis->unit[0] != '\0' ? " " : "",
                 axis->unit);
}
