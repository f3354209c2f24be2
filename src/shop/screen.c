/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "screen.h"
#include <math.h>
#include <stdlib.h>

void bc_screen_band(const bc_design_problem *problem, double *from_nm, double *to_nm)
{
    *from_nm = INFINITY;
    *to_nm = 0.0;
    for (size_t c = 0; c < problem->callouts->count; c++) {
        const bc_callout *callout = &problem->callouts->callout[c];
        bool applies = false;
        for (size_t g = 0; g < problem->substrates; g++)
            applies = applies || bc_callout_applies(callout, problem->substrate[g].name);
        if (!applies)
            continue;
        *from_nm = fmin(*from_nm, callout->from_nm);
        *to_nm = fmax(*to_nm, callout->to_nm);
    }
}

/* The largest k in the band: at its ends or in a row between them, the interpolation staying within its rows. */
static double largest_k(const bc_dispersion *film, double from_nm, double to_nm, double *at_nm)
{
    const double end[2] = {from_nm, to_nm};
    double n[2], k[2] = {0.0, 0.0};
    double most;
    if (bc_dispersion_index(film, 2, end, n, k, NULL) != BC_OK)
        return 0.0;
    *at_nm = k[1] > k[0] ? to_nm : from_nm;
    most = fmax(k[0], k[1]);
    for (size_t row = 0; row < bc_dispersion_rows(film); row++) {
        double nm, row_n, row_k;
        bc_dispersion_row(film, row, &nm, &row_n, &row_k);
        if (nm > from_nm && nm < to_nm && row_k > most) {
            most = row_k;
            *at_nm = nm;
        }
    }
    return most;
}

/* The table's own `process_c`: what the part is heated to for a hard film (common practice). NAN: it does not say. */
static double process_c(const bc_dispersion *film)
{
    const char *note = bc_dispersion_note(film, "process_c");
    char *end;
    double value;
    if (note == NULL)
        return NAN;
    value = strtod(note, &end);
    return end == note ? NAN : value;
}

static size_t warn(const bc_quote_request *request, const bc_remark *about, bc_remark *remark)
{
    const bc_dispersion *film = about->material->dispersion;
    bc_remark warning = *about;
    size_t count = 0;
    warning.refused = false;
    if (isnan(warning.process_c) && isfinite(request->max_process_c)) {
        warning.kind = BC_REMARK_NO_HEAT;
        remark[count++] = warning;
    }
    warning.k = largest_k(film, warning.from_nm, warning.to_nm, &warning.at_nm);
    if (warning.k > 0.0) {
        warning.kind = BC_REMARK_ABSORBS;
        remark[count++] = warning;
    }
    if (bc_dispersion_note(film, "caution") != NULL) {
        warning.kind = BC_REMARK_CAUTION;
        remark[count++] = warning;
    }
    return count;
}

size_t bc_screen_film(const bc_quote_request *request, const bc_medium *film, bc_remark remark[BC_MOST_REMARKS])
{
    bc_remark about = {.material = film, .refused = true, .limit_c = request->max_process_c};
    double first_nm, last_nm;
    bc_screen_band(request->problem, &about.from_nm, &about.to_nm);
    bc_dispersion_range(film->dispersion, &first_nm, &last_nm);
    about.process_c = process_c(film->dispersion);
    if (about.from_nm < first_nm || about.to_nm > last_nm) {
        about.kind = BC_REMARK_RANGE;
        remark[0] = about;
        return 1;
    }
    if (about.process_c > request->max_process_c) {
        about.kind = BC_REMARK_HEAT;
        remark[0] = about;
        return 1;
    }
    return warn(request, &about, remark);
}
