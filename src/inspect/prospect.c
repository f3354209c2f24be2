/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspection.h"
#include <bloomcoat/colour.h>
#include <bloomcoat/sampling.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A callout at every angle and in every plane it names. */
struct bc_prospect {
    const bc_callout *callout;
    bc_stack stack; /* the layers are the design's */
    size_t count, angles, planes;
    bool ratio;                     /* of s, the first plane, to p */
    double *wavelength_nm, *weight; /* [count] in one allocation; of a colour weight has [3 * count] */
    bc_model_spectrum *simulated;   /* [angles * planes] */
};

void bc_prospect_close(bc_prospect *prospect)
{
    if (prospect == NULL)
        return;
    for (size_t i = 0; prospect->simulated != NULL && i < prospect->angles * prospect->planes; i++)
        bc_model_spectrum_close(&prospect->simulated[i]);
    free(prospect->simulated);
    free(prospect->wavelength_nm);
    free(prospect);
}

static const bc_medium *find_glass(const bc_inspect_setup *setup, const bc_callout *callout)
{
    if (bc_callout_applies(callout, setup->design->substrate.name))
        return &setup->design->substrate;
    for (size_t g = 0; g < setup->glasses; g++)
        if (strcmp(setup->glass[g].name, callout->substrate) == 0)
            return &setup->glass[g];
    return NULL;
}

static bc_status set_grid(bc_prospect *p, bc_error *error)
{
    bc_fringes fringes;
    bc_status status = bc_fringes_of(&p->stack, NULL, p->callout->from_nm, &fringes, error);
    if (status != BC_OK)
        return status;
    p->count = bc_sampling_wavelengths(p->callout, fringes.optical_nm);
    p->angles = bc_sampling_verdict_angles(p->callout, fringes.tilt_nm);
    p->ratio = p->callout->polarization == BC_POL_RATIO;
    p->planes = p->ratio || p->callout->polarization == BC_POL_EACH ? 2 : 1;
    p->wavelength_nm = calloc(p->count, 4 * sizeof *p->wavelength_nm);
    p->simulated = calloc(p->angles * p->planes, sizeof *p->simulated);
    if (p->wavelength_nm == NULL || p->simulated == NULL)
        return bc_fail_memory(error);
    p->weight = p->wavelength_nm + p->count;
    bc_sampling_set(p->callout, p->count, p->wavelength_nm, p->weight);
    if (p->callout->colour != BC_NO_COLOUR)
        bc_sampling_colour(p->callout, p->count, p->wavelength_nm, NULL, p->weight);
    return BC_OK;
}

static bc_status open_sights(bc_prospect *p, const bc_inspect_setup *setup, bc_error *error)
{
    const bc_back *back = setup->part_back.kind != BC_BACK_NONE ? &setup->part_back : &setup->back;
    const bool is_part = p->callout->scope == BC_SCOPE_PART;
    bc_status status = BC_OK;
    if (is_part && back->kind == BC_BACK_NONE)
        return bc_fail(error, BC_ERROR_INPUT, "the back of the part is not known");
    for (size_t a = 0; status == BC_OK && a < p->angles; a++)
        for (size_t q = 0; status == BC_OK && q < p->planes; q++) {
            const bc_polarization polarization = p->planes == 1 ? p->callout->polarization
                                                 : q == 0       ? BC_POL_S
                                                                : BC_POL_P;
            status =
                bc_model_spectrum_open(&p->stack, is_part ? back : NULL, p->count, p->wavelength_nm,
                                       bc_sampling_at(p->callout->aoi_from_rad, p->callout->aoi_to_rad, p->angles, a),
                                       polarization, &p->simulated[a * p->planes + q], error);
        }
    return status;
}

bc_status bc_prospect_open(const bc_inspect_setup *setup, const bc_callout *callout, bc_prospect **prospect,
                           bc_error *error)
{
    const bc_medium *glass = find_glass(setup, callout);
    bc_status status;
    *prospect = NULL;
    if (glass == NULL || callout->cone_rad > 0.0) /* a scan is made in parallel light */
        return BC_OK;
    *prospect = calloc(1, sizeof **prospect);
    if (*prospect == NULL)
        return bc_fail_memory(error);
    (*prospect)->callout = callout;
    (*prospect)->stack = *setup->design;
    (*prospect)->stack.substrate = *glass;
    status = set_grid(*prospect, error);
    if (status == BC_OK)
        status = open_sights(*prospect, setup, error);
    if (status == BC_OK)
        return BC_OK;
    bc_prospect_close(*prospect);
    *prospect = NULL;
    /* What no table reaches cannot be predicted; that is no reason not to judge what was measured. */
    return status == BC_ERROR_INPUT ? BC_OK : status;
}

static double value_at(const bc_model_spectrum *simulated, bc_quantity quantity, size_t i)
{
    if (quantity == BC_A)
        return 1.0 - bc_model_spectrum_value(simulated, BC_R)[i] - bc_model_spectrum_value(simulated, BC_T)[i];
    return bc_model_spectrum_value(simulated, quantity)[i];
}

static bool is_worse(const bc_callout *callout, double one, double than)
{
    return callout->sense == BC_AT_MOST ? one > than : one < than;
}

/* The value at one wavelength, of a ratio from the spectra of s and p, which follow each other. */
static double callout_value_at(const bc_prospect *p, const bc_model_spectrum *simulated, size_t i)
{
    const bc_quantity quantity = p->callout->quantity;
    return p->ratio ? bc_ratio_s_p(value_at(simulated, quantity, i), value_at(simulated + 1, quantity, i))
                    : value_at(simulated, quantity, i);
}

double bc_prospect_value(bc_prospect *p, const double *thickness_nm, const double *dn, double *at_nm)
{
    double worst = p->callout->sense == BC_AT_MOST ? -INFINITY : INFINITY;
    for (size_t s = 0; s < p->angles * p->planes; s++) {
        bc_model_spectrum *simulated = &p->simulated[s];
        for (size_t m = 0; m < simulated->materials; m++)
            bc_model_spectrum_shift_index(simulated, m, dn[m]);
        bc_model_spectrum_compute(simulated, thickness_nm, false);
    }
    for (size_t s = 0; s < p->angles * p->planes; s += p->ratio ? 2 : 1) {
        const size_t means = p->callout->colour == BC_NO_COLOUR ? 1 : 3;
        double mean[3] = {0.0, 0.0, 0.0};
        for (size_t i = 0; i < p->count; i++) {
            const double value = callout_value_at(p, &p->simulated[s], i);
            for (size_t m = 0; m < means; m++)
                mean[m] += p->weight[m * p->count + i] * value;
            if (p->callout->statistic == BC_EXTREME && is_worse(p->callout, value, worst)) {
                worst = value;
                *at_nm = p->wavelength_nm[i];
            }
        }
        if (means > 1)
            mean[0] = bc_colour_callout_value(p->callout, mean, NULL);
        if (p->callout->statistic == BC_AVERAGE && is_worse(p->callout, mean[0], worst))
            worst = mean[0];
    }
    return worst;
}
