/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "screen.h"
#include <bloomcoat/sampling.h>
#include <math.h>
#include <stdlib.h>

/* The largest k in the band: at its ends or in a row between them, the interpolation staying within its rows. */
static double largest_k(const bc_dispersion *layer, double from_nm, double to_nm, double *at_nm)
{
    const double end[2] = {from_nm, to_nm};
    double n[2], k[2] = {0.0, 0.0};
    double most;
    if (bc_dispersion_index(layer, 2, end, n, k, NULL) != BC_OK)
        return 0.0;
    *at_nm = k[1] > k[0] ? to_nm : from_nm;
    most = fmax(k[0], k[1]);
    for (size_t row = 0; row < bc_dispersion_rows(layer); row++) {
        double nm, row_n, row_k;
        bc_dispersion_row(layer, row, &nm, &row_n, &row_k);
        if (nm > from_nm && nm < to_nm && row_k > most) {
            most = row_k;
            *at_nm = nm;
        }
    }
    return most;
}

/* This shop's own process, where its file says; else what its table says is common. */
static double heat_needed(const bc_quote_request *request, const bc_medium *layer)
{
    const bc_process_row row = bc_process_for(request->process, layer->name);
    return row.has_process_c ? row.process_c : bc_dispersion_note_number(layer->dispersion, "process_c");
}

/* What was asked for; else the least that a glass of the problem stands by its own table. */
static void set_heat_limit(const bc_quote_request *request, bc_remark *about)
{
    about->limit_c = request->max_process_c;
    if (isfinite(request->max_process_c))
        return;
    for (size_t g = 0; g < request->problem->substrates; g++) {
        const bc_medium *substrate = &request->problem->substrate[g];
        const double stands_c = bc_dispersion_note_number(substrate->dispersion, "max_process_c");
        if (stands_c < about->limit_c) {
            about->limit_c = stands_c;
            about->part = substrate;
        }
    }
}

static size_t warn(const bc_remark *about, bc_remark *remark)
{
    const bc_dispersion *layer = about->material->dispersion;
    bc_remark warning = *about;
    size_t count = 0;
    warning.refused = false;
    if (isfinite(warning.limit_c) && isnan(warning.process_c)) {
        warning.kind = BC_REMARK_NO_HEAT;
        remark[count++] = warning;
    }
    warning.k = largest_k(layer, warning.from_nm, warning.to_nm, &warning.at_nm);
    if (warning.k > 0.0) {
        warning.kind = BC_REMARK_ABSORBS;
        remark[count++] = warning;
    }
    if (bc_dispersion_note(layer, "caution") != NULL) {
        warning.kind = BC_REMARK_CAUTION;
        remark[count++] = warning;
    }
    return count;
}

size_t bc_screen_layer(const bc_quote_request *request, const bc_medium *layer, bc_remark remark[BC_MOST_REMARKS])
{
    bc_remark about = {.material = layer, .refused = true};
    double first_nm, last_nm;
    bc_asked_band(request->problem->callouts, request->problem->substrates, request->problem->substrate, &about.from_nm,
                  &about.to_nm);
    bc_dispersion_range(layer->dispersion, &first_nm, &last_nm);
    about.process_c = heat_needed(request, layer);
    about.own = bc_process_for(request->process, layer->name).has_process_c;
    set_heat_limit(request, &about);
    if (about.from_nm < first_nm || about.to_nm > last_nm) {
        about.kind = BC_REMARK_RANGE;
        remark[0] = about;
        return 1;
    }
    if (about.process_c > about.limit_c) {
        about.kind = BC_REMARK_HEAT;
        remark[0] = about;
        return 1;
    }
    return warn(&about, remark);
}
