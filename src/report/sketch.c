/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/text.h"
#include <math.h>

#define COLUMNS     60
#define MOST_CURVES 6
#define LEVELS      8

static const char *const blocks[] = {"▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
static const char *const plain[] = {"_", ".", ":", "-", "=", "+", "*", "#"};

/* The largest value of the samples that fall into a column: peaks are what one looks for. */
static double column_value(const bc_spectrum *spectrum, bc_polarization plane, size_t column)
{
    const size_t first = column * spectrum->count / COLUMNS;
    const size_t next = (column + 1) * spectrum->count / COLUMNS;
    double most = spectrum->R[plane][first];
    for (size_t i = first + 1; i < next; i++)
        most = fmax(most, spectrum->R[plane][i]);
    return most;
}

static void add_curve(const bc_spectrum *spectrum, double aoi_deg, bc_polarization plane, const char *const *level,
                      bc_text *out)
{
    static const char *const word[] = {[BC_POL_S] = "s", [BC_POL_P] = "p", [BC_POL_UNPOLARIZED] = " "};
    double most = 0.0;
    for (size_t i = 0; i < spectrum->count; i++)
        most = fmax(most, spectrum->R[plane][i]);
    bc_text_add(out, "%5.1f %s ", aoi_deg, word[plane]);
    for (size_t column = 0; column < COLUMNS; column++) {
        const double share = most > 0.0 ? column_value(spectrum, plane, column) / most : 0.0;
        bc_text_add(out, "%s", level[(int)fmin(fmax(share, 0.0) * LEVELS, LEVELS - 1)]);
    }
    bc_text_add(out, " %.4g %%\n", 100.0 * most);
}

bc_status bc_report_spectrum_sketch(const bc_spectrum_report *report, bool unicode, bc_text *out, bc_error *error)
{
    const bool each = report->polarization == BC_POL_EACH;
    const bc_spectrum *spectrum = report->spectrum;
    size_t curves = 0;
    bc_text_add(out, "R at %g to %g nm; degrees to the left, the largest R to the right\n", spectrum->wavelength_nm[0],
                spectrum->wavelength_nm[spectrum->count - 1]);
    for (size_t a = 0; a < report->angles; a++)
        for (int second = 0; second <= (int)each && curves < MOST_CURVES; second++, curves++)
            add_curve(&spectrum[a], bc_degrees(report->aoi_rad[a]),
                      !each    ? report->polarization
                      : second ? BC_POL_P
                               : BC_POL_S,
                      unicode ? blocks : plain, out);
    return bc_text_end(out, error);
}
