/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "glass_code.h"
#include "dispersion_build.h"
#include "print.h"
#include <gsl/gsl_poly.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LINE_D   0.5875618 /* um */
#define LINE_F   0.4861327
#define LINE_C   0.6562725
#define INFRARED 0.012 /* the D of the formula, per um^2 */

#define FIRST_NM 400
#define LAST_NM  1100
#define STEP_NM  5
#define ROWS     ((LAST_NM - FIRST_NM) / STEP_NM + 1)

typedef struct formula {
    double a, b, c;
} formula;

bool bc_glass_code(const char *name, double *nd, double *vd)
{
    if (strlen(name) != 6 || strspn(name, "0123456789") != 6)
        return false;
    const int code = atoi(name), first = code / 1000;
    *nd = (first < 200 ? 2.0 : 1.0) + first / 1000.0;
    *vd = code % 1000 / 10.0;
    return *nd >= 1.4 && *nd <= 2.1 && *vd >= 15.0 && *vd <= 96.0;
}

/* With A put in by nd, nF^2 = p + q B and nC^2 = r + s B. nF - nC = w, squared twice over, is a quadratic in B, of
 * which the larger root has nF > nC. */
static formula solve(double nd, double vd)
{
    const double c = 0.008 + 0.9 / vd, w = (nd - 1.0) / vd;
    const double at_d = 1.0 / (LINE_D * LINE_D - c);
    const double q = 1.0 / (LINE_F * LINE_F - c) - at_d, s = 1.0 / (LINE_C * LINE_C - c) - at_d;
    const double p = nd * nd + INFRARED * (LINE_D * LINE_D - LINE_F * LINE_F);
    const double r = nd * nd + INFRARED * (LINE_D * LINE_D - LINE_C * LINE_C);
    const double m = q - s, e = p - r - w * w;
    double low = 0.0, high = 0.0;
    gsl_poly_solve_quadratic(m * m, 2.0 * e * m - 4.0 * w * w * s, e * e - 4.0 * w * w * r, &low, &high);
    return (formula){nd * nd + INFRARED * LINE_D * LINE_D - high * at_d, high, c};
}

static bc_status add_note(bc_dispersion *table, const char *key, const char *text, bc_error *error)
{
    bc_note *note = &table->note[table->notes++];
    note->key = strdup(key);
    note->text = strdup(text);
    return note->key == NULL || note->text == NULL ? bc_fail_memory(error) : BC_OK;
}

static bc_status add_notes(bc_dispersion *table, double nd, double vd, bc_error *error)
{
    char source[256], caution[256];
    bc_status status;
    table->note = calloc(3, sizeof *table->note);
    if (table->note == NULL)
        return bc_fail_memory(error);
    bc_print(source, sizeof source,
             "estimate from nd = %.3f and Vd = %.1f of the code, within %.4f (400 to 700 nm) and %.4f (to 1100 nm) of "
             "406 catalogue glasses",
             nd, vd, BC_CODE_ERROR_VISIBLE, BC_CODE_ERROR);
    bc_print(
        caution, sizeof caution,
        "no table at hand: the index is an estimate from the code, good to %.4f (400 to 700 nm); put in the table of "
        "the melt",
        BC_CODE_ERROR_VISIBLE);
    status = add_note(table, "kind", "substrate", error);
    if (status == BC_OK)
        status = add_note(table, "source", source, error);
    return status == BC_OK ? add_note(table, "caution", caution, error) : status;
}

bc_status bc_glass_code_table(const char *name, double nd, double vd, bc_dispersion **out, bc_error *error)
{
    const formula f = solve(nd, vd);
    double nm[ROWS], n[ROWS];
    for (size_t i = 0; i < ROWS; i++) {
        nm[i] = FIRST_NM + STEP_NM * (double)i;
        const double square = nm[i] * nm[i] * 1e-6;
        n[i] = sqrt(f.a + f.b / (square - f.c) - INFRARED * square);
    }
    bc_status status = bc_dispersion_table(name, ROWS, nm, n, NULL, out, error);
    if (status == BC_OK)
        status = add_notes(*out, nd, vd, error);
    if (status != BC_OK) {
        bc_dispersion_free(*out);
        *out = NULL;
    }
    return status;
}
