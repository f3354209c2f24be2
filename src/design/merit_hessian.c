/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "merit_arrays.h"
#include "sums.h"
#include <math.h>
#include <string.h>

/* Whether 1/factor times u is the square |rho|^2 of the front's amplitude (T counts where nothing absorbs: 1 - T = R).
 */
static bool is_square(const bc_segments *segments, const bc_row *row)
{
    const bc_segment *segment = &segments->segment[row->segment];
    const bc_callout *callout = row->callout;
    return segment->part == NULL && row->gradient == NULL && !row->ratio &&
           ((callout->quantity == BC_R && callout->sense == BC_AT_MOST) ||
            (callout->quantity == BC_T && callout->sense == BC_AT_LEAST && !bc_surface_absorbs(segment->surface)));
}

/* The weight of |rho|^2 at every wavelength of a segment, from all its square rows. */
static bool gather_weights(bc_merit *merit, const bc_segments *segments, size_t s, const double *z)
{
    const bc_segment *segment = &segments->segment[s];
    const bool normal = bc_surface_is_normal(segment->surface);
    const double grows = segment->thickness_factor;
    bool any = false;
    memset(merit->plane_weight[0], 0, segment->count * sizeof(double));
    memset(merit->plane_weight[1], 0, segment->count * sizeof(double));
    for (size_t r = 0; r < segments->rows; r++) {
        const bc_row *row = &segments->row[r];
        const double counts = bc_row_share(row, s);
        if (counts == 0.0 || !is_square(segments, row))
            continue;
        any = true;
        for (unsigned p = 0; p < 2; p++) {
            const double factor = counts * 2.0 * fabs(row->factor) * row->share[p] * grows * grows;
            double *weight = merit->plane_weight[normal ? 0 : p];
            if (row->callout->statistic == BC_EXTREME)
                for (size_t i = 0; i < segment->count; i++)
                    weight[i] += factor * z[row->first + i];
            else
                for (size_t i = 0; i < segment->count; i++)
                    weight[i] += factor * z[row->first] * segment->weight[i];
        }
    }
    return any;
}

/* z and the slopes are those of the scenario. The factors of its thicknesses, within percents of 1, are left out: this
 * is a model of the curvature, not a derivative. */
static void add_scenario_hessian(bc_merit *merit, const bc_segments *segments, size_t first, const double *z,
                                 double *hessian)
{
    for (size_t s = 0; s < segments->count; s++) {
        const bc_surface *surface = segments->segment[s].surface;
        const size_t count = segments->segment[s].count;
        if (!gather_weights(merit, segments, s, z))
            continue;
        for (unsigned p = 0; p < (bc_surface_is_normal(surface) ? 1U : 2U); p++) {
            const double *re = bc_surface_drho_re(surface, (bc_plane)p, 0);
            const double *im = bc_surface_drho_im(surface, (bc_plane)p, 0);
            const size_t stride = (size_t)(bc_surface_drho_re(surface, (bc_plane)p, 1) - re);
            bc_add_gram(merit->layers, count, re, stride, merit->plane_weight[p], merit->gram, hessian);
            bc_add_gram(merit->layers, count, im, stride, merit->plane_weight[p], merit->gram, hessian);
        }
    }
    for (size_t r = 0; r < segments->rows; r++) {
        const bc_row *row = &segments->row[r];
        if (is_square(segments, row))
            continue;
        for (size_t i = 0; i < row->count; i++)
            merit->weight[i] = z[row->first + i] / (2.0 * fmax(merit->u[first + row->first + i], 1e-6));
        bc_add_gram(merit->layers, row->count, merit->slope + first + row->first, merit->constraints, merit->weight,
                    merit->gram, hessian);
    }
}

void bc_merit_add_hessian(bc_merit *merit, const double *z, double *hessian)
{
    for (size_t s = 0; s < merit->scenarios; s++)
        add_scenario_hessian(merit, &merit->scenario[s], s * merit->each, z + s * merit->each, hessian);
}

/* d ratio for dR of the front in one plane: T of s and p changes by -dR. */
static double ratio_insertion(const bc_segment *segment, const bc_row *row, unsigned plane, size_t i, double dR)
{
    const bool of_R = row->callout->quantity == BC_R;
    const double *s = of_R ? bc_surface_R(segment->surface, BC_S) : bc_surface_T(segment->surface, BC_S);
    const double *p = of_R ? bc_surface_R(segment->surface, BC_P) : bc_surface_T(segment->surface, BC_P);
    return bc_row_ratio_slope(s[i], p[i], plane == 0 ? dR : 0.0, plane == 0 ? 0.0 : dR);
}

/* sum over one row of z du for an inserted layer, from dR of the front in `plane`. */
static double row_insertion(const bc_segment *segment, const bc_row *row, const double *z, const double *dR,
                            double share, unsigned plane)
{
    const double sign = row->callout->quantity == BC_R ? 1.0 : row->callout->quantity == BC_T ? -1.0 : 0.0;
    const double *weight = bc_row_weights(row, segment);
    double sum = 0.0;
    for (size_t i = 0; i < segment->count; i++)
        sum += (row->ratio ? ratio_insertion(segment, row, plane, i, dR[i]) : dR[i]) *
               (row->callout->statistic == BC_EXTREME ? z[row->first + i] : z[row->first] * weight[i]);
    return sign * share * row->factor * segment->thickness_factor * sum;
}

double bc_merit_insertion(bc_merit *merit, const double *z, size_t before, unsigned material)
{
    double sum = 0.0;
    for (size_t s = 0; s < merit->scenario[0].count; s++) {
        const bc_segment *segment = &merit->scenario[0].segment[s];
        for (unsigned p = 0; p < 2; p++) {
            const double *re = bc_surface_rho_re(segment->surface, (bc_plane)p);
            const double *im = bc_surface_rho_im(segment->surface, (bc_plane)p);
            bc_surface_insertion(segment->surface, (bc_plane)p, before, material, merit->drho[0], merit->drho[1]);
            for (size_t i = 0; i < segment->count; i++)
                merit->weight[i] = 2.0 * (re[i] * merit->drho[0][i] + im[i] * merit->drho[1][i]);
            for (size_t r = 0; r < merit->scenario[0].rows; r++) {
                const bc_row *row = &merit->scenario[0].row[r];
                const double counts = bc_row_share(row, s);
                if (counts > 0.0 && row->share[p] > 0.0)
                    sum += row_insertion(segment, row, z, merit->weight, counts * row->share[p], p);
            }
        }
    }
    return sum;
}
