/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "arena.h"
#include "media.h"
#include <bloomcoat/part.h>
#include <complex.h>
#include <math.h>
#include <stdlib.h>

#define NM_PER_MM   1e6
#define LOST_DIGITS 1e-12 /* of 1: absorption that small between two reflections cannot be told from rounding */

struct bc_part {
    bc_arena arena;
    bc_surface *front;  /* from outside */
    bc_surface *inside; /* the front from inside, its layers in reverse order */
    bc_surface *back;   /* from inside; NULL when it is the same as `inside` */
    bool clear_glass;
    size_t wavelengths, max_layers;
    size_t kept_layers; /* those that have derivatives: max_layers or none */
    unsigned planes;
    double *crossing; /* transmittance of one crossing of the glass */
    double *R[2], *T[2], *dR[2], *dT[2];
    unsigned *reversed_material;
    double *reversed_nm;
};

static void lay_out(bc_part *part, bc_arena *arena)
{
    part->crossing = bc_arena_take(arena, part->wavelengths, sizeof(double));
    for (unsigned p = 0; p < part->planes; p++) {
        part->R[p] = bc_arena_take(arena, part->wavelengths, sizeof(double));
        part->T[p] = bc_arena_take(arena, part->wavelengths, sizeof(double));
        part->dR[p] = bc_arena_take(arena, part->kept_layers, part->wavelengths * sizeof(double));
        part->dT[p] = bc_arena_take(arena, part->kept_layers, part->wavelengths * sizeof(double));
    }
    part->reversed_material = bc_arena_take(arena, part->max_layers, sizeof *part->reversed_material);
    part->reversed_nm = bc_arena_take(arena, part->max_layers, sizeof(double));
}

static void set_crossing(bc_part *part, const bc_part_setup *setup)
{
    const bc_index *glass = &setup->front.substrate;
    part->clear_glass = true;
    for (size_t i = 0; i < part->wavelengths; i++) {
        const double k = glass->k == NULL ? 0.0 : glass->k[i];
        const double beta = setup->front.incident.n[i] * sin(setup->front.aoi_rad);
        const double loss = -cimag(bc_normal_index(glass->n[i], k, beta));
        part->crossing[i] =
            k > 0.0 ? exp(-4.0 * M_PI * loss * setup->substrate_mm * NM_PER_MM / setup->front.wavelength_nm[i]) : 1.0;
        part->clear_glass = part->clear_glass && k == 0.0;
    }
}

/* The layers that a face is made of. */
typedef struct face_layers {
    size_t materials;
    const bc_index *material;
    const double *gradient;
    size_t max_layers;
    bool values_only;
} face_layers;

/* A surface met from inside the glass: light arrives in the glass (its real index) with the invariant it has outside,
 * and a layer's outer side is behind it. */
static bc_status alloc_inside(const bc_part_setup *setup, bc_index behind, const face_layers *face, bc_surface **out,
                              bc_error *error)
{
    bc_surface_setup inside = setup->front;
    double *gradient = calloc(face->materials + 1, sizeof *gradient);
    bc_status status;
    if (gradient == NULL)
        return bc_fail_memory(error);
    for (size_t m = 0; face->gradient != NULL && m < face->materials; m++)
        gradient[m] = -face->gradient[m];
    inside.incident.n = setup->front.substrate.n;
    inside.incident.k = NULL;
    inside.invariant_n = setup->front.incident.n;
    inside.substrate = behind;
    inside.materials = face->materials;
    inside.material = face->material;
    inside.gradient = gradient;
    inside.max_layers = face->max_layers;
    inside.values_only = face->values_only;
    status = bc_surface_alloc(&inside, out, error);
    free(gradient);
    return status;
}

/* The back does not change from one evaluation to the next: computed once. */
static bc_status alloc_back(bc_part *part, const bc_part_setup *setup, bc_error *error)
{
    const bool own = setup->back == BC_BACK_OWN;
    const size_t layers = own ? setup->back_layers : 0;
    const face_layers face = {own ? setup->back_materials : 0, setup->back_index, setup->back_gradient, layers, true};
    unsigned *material = calloc(layers + 1, sizeof *material);
    double *thickness_nm = calloc(layers + 1, sizeof *thickness_nm);
    bc_status status = BC_OK;
    if (material == NULL || thickness_nm == NULL)
        status = bc_fail_memory(error);
    if (status == BC_OK)
        status = alloc_inside(setup, own ? setup->back_medium : setup->front.incident, &face, &part->back, error);
    if (status == BC_OK) {
        for (size_t j = 0; j < layers; j++) {
            material[j] = setup->back_material[layers - 1 - j];
            thickness_nm[j] = setup->back_thickness_nm[layers - 1 - j];
        }
        bc_surface_evaluate(part->back, layers, material, thickness_nm, BC_WANT_VALUES);
    }
    free(material);
    free(thickness_nm);
    return status;
}

static bc_status fill(bc_part *part, const bc_part_setup *setup, bc_error *error)
{
    bc_surface_setup front = setup->front;
    const face_layers face = {front.materials, front.material, front.gradient, front.max_layers, front.values_only};
    bc_status status;
    front.invariant_n = NULL;
    status = bc_surface_alloc(&front, &part->front, error);
    if (status == BC_OK)
        status = alloc_inside(setup, setup->front.incident, &face, &part->inside, error);
    if (status == BC_OK && setup->back != BC_BACK_SAME)
        status = alloc_back(part, setup, error);
    if (status != BC_OK)
        return status;
    part->wavelengths = front.wavelengths;
    part->max_layers = front.max_layers;
    part->kept_layers = front.values_only ? 0 : front.max_layers;
    part->planes = bc_surface_is_normal(part->front) ? 1 : 2;
    lay_out(part, &part->arena);
    status = bc_arena_open(&part->arena, error);
    if (status != BC_OK)
        return status;
    lay_out(part, &part->arena);
    set_crossing(part, setup);
    return BC_OK;
}

/* Light summed incoherently goes through many coherence lengths of glass; of none at all there is no such sum, and
 * where the glass absorbs its faces then return more light than they were sent. */
static bc_status refuse_no_thickness(const bc_part_setup *setup, bc_error *error)
{
    const double *k = setup->front.substrate.k;
    for (size_t i = 0; k != NULL && setup->substrate_mm == 0.0 && i < setup->front.wavelengths; i++)
        if (k[i] > 0.0)
            return bc_fail(error, BC_ERROR_INPUT,
                           "the substrate absorbs at %.10g nm and its thickness is 0 mm; expected its thickness in mm, "
                           "above 0",
                           setup->front.wavelength_nm[i]);
    return BC_OK;
}

bc_status bc_part_alloc(const bc_part_setup *setup, bc_part **out, bc_error *error)
{
    bc_part *part;
    bc_status status;
    *out = NULL;
    if (setup->back == BC_BACK_NONE)
        return bc_fail(error, BC_ERROR_INPUT, "a part needs a back surface: uncoated, same, or a stack of its own");
    if (!(setup->substrate_mm >= 0.0 && isfinite(setup->substrate_mm)))
        return bc_fail(error, BC_ERROR_INPUT, "glass thickness %g mm; expected 0 or more", setup->substrate_mm);
    status = refuse_no_thickness(setup, error);
    if (status != BC_OK)
        return status;
    part = calloc(1, sizeof *part);
    if (part == NULL)
        return bc_fail_memory(error);
    status = fill(part, setup, error);
    if (status == BC_OK)
        *out = part;
    else
        bc_part_free(part);
    return status;
}

void bc_part_free(bc_part *part)
{
    if (part != NULL) {
        bc_surface_free(part->front);
        bc_surface_free(part->inside);
        bc_surface_free(part->back);
        free(part->arena.memory);
        free(part);
    }
}

/* What the two faces do at one wavelength. */
typedef struct faces {
    double R1, T1, R1_inside, R2, T2, x;
    bool clear; /* the glass */
} faces;

/* Per nm of one layer. */
typedef struct face_slopes {
    double R1, T1, R1_inside, R2, T2;
} face_slopes;

/* 1 - R1' R2 x^2. Inside clear glass R1' + T1 and R2 + T2 are 1 at most, so it is 1 - (1 - T1)(1 - T2) x^2 at least:
 * that has the digits which the difference from 1 loses where both faces reflect nearly all, and those that the index
 * across the surface loses outside at an angle of 90 degrees but for 1e-6. */
static double not_returned(const faces *f)
{
    const double returned = 1.0 - f->R1_inside * f->R2 * f->x * f->x;
    const double least = (1.0 - f->x) * (1.0 + f->x) + (f->T1 + f->T2 - f->T1 * f->T2) * f->x * f->x;
    return fabs(returned - least) < LOST_DIGITS || (f->clear && returned < least) ? least : returned;
}

static void sum_reflections(const faces *f, double *R, double *T)
{
    const double returned = not_returned(f);
    *R = f->R1;
    *T = 0.0;
    if (f->T1 > 0.0) { /* past total reflection the glass holds no travelling light to sum */
        *R += f->T1 * f->T1 * f->R2 * f->x * f->x / returned;
        *T = f->T1 * f->T2 * f->x / returned;
    }
}

static void sum_slopes(const faces *f, const face_slopes *s, double *dR, double *dT)
{
    const double x2 = f->x * f->x, returned = not_returned(f);
    const double loop = (s->R1_inside * f->R2 + f->R1_inside * s->R2) * x2 / returned;
    *dR = s->R1;
    *dT = 0.0;
    if (f->T1 > 0.0) {
        *dR += f->T1 * x2 / returned * (2.0 * s->T1 * f->R2 + f->T1 * s->R2 + f->T1 * f->R2 * loop);
        *dT = f->x / returned * (s->T1 * f->T2 + f->T1 * s->T2 + f->T1 * f->T2 * loop);
    }
}

typedef struct part_view {
    const bc_surface *inside, *back; /* whose R stands for the front from inside, and for the back */
    bool mirrored;                   /* `inside` counts its layers from the glass */
    bool back_moves;
} part_view;

static faces faces_at(const bc_part *part, const part_view *view, bc_plane plane, size_t i)
{
    const faces f = {bc_surface_R(part->front, plane)[i],
                     bc_surface_T(part->front, plane)[i],
                     bc_surface_R(view->inside, plane)[i],
                     bc_surface_R(view->back, plane)[i],
                     bc_surface_T(view->back, plane)[i],
                     part->crossing[i],
                     part->clear_glass};
    return f;
}

static void evaluate_slopes(bc_part *part, const part_view *view, bc_plane plane, size_t layers, size_t j)
{
    const size_t inner = view->mirrored ? layers - 1 - j : j;
    const double *dR1 = bc_surface_dR(part->front, plane, j), *dT1 = bc_surface_dT(part->front, plane, j);
    const double *dR_inside = bc_surface_dR(view->inside, plane, inner);
    const double *dT_inside = bc_surface_dT(view->inside, plane, inner);
    for (size_t i = 0; i < part->wavelengths; i++) {
        const faces f = faces_at(part, view, plane, i);
        const face_slopes slopes = {dR1[i], dT1[i], dR_inside[i], view->back_moves ? dR_inside[i] : 0.0,
                                    view->back_moves ? dT_inside[i] : 0.0};
        sum_slopes(&f, &slopes, &part->dR[plane][j * part->wavelengths + i],
                   &part->dT[plane][j * part->wavelengths + i]);
    }
}

/* The front seen from inside; where nothing absorbs it is what it is from outside. */
static part_view look_inside(bc_part *part, size_t layers, const unsigned *material, const double *thickness_nm,
                             bc_want want)
{
    part_view view = {part->front, part->back, false, part->back == NULL};
    if (bc_surface_absorbs(part->front) || !part->clear_glass) {
        for (size_t j = 0; j < layers; j++) {
            part->reversed_material[j] = material[layers - 1 - j];
            part->reversed_nm[j] = thickness_nm[layers - 1 - j];
        }
        bc_surface_evaluate(part->inside, layers, part->reversed_material, part->reversed_nm, want);
        view.inside = part->inside;
        view.mirrored = true;
    }
    if (view.back == NULL)
        view.back = view.inside;
    return view;
}

void bc_part_set_index(bc_part *part, unsigned material, const bc_index *index)
{
    bc_surface_set_index(part->front, material, index);
    bc_surface_set_index(part->inside, material, index);
}

void bc_part_set_gradient(bc_part *part, unsigned material, double gradient)
{
    bc_surface_set_gradient(part->front, material, gradient);
    bc_surface_set_gradient(part->inside, material, -gradient);
}

void bc_part_shift_index(bc_part *part, unsigned material, double dn)
{
    bc_surface_shift_index(part->front, material, dn);
    bc_surface_shift_index(part->inside, material, dn);
}

void bc_part_evaluate(bc_part *part, size_t layers, const unsigned *material, const double *thickness_nm, bool gradient)
{
    const bc_want want = gradient ? BC_WANT_GRADIENT : BC_WANT_VALUES;
    part_view view;
    bc_surface_evaluate(part->front, layers, material, thickness_nm, want);
    view = look_inside(part, layers, material, thickness_nm, want);
    for (unsigned p = 0; p < part->planes; p++) {
        for (size_t i = 0; i < part->wavelengths; i++) {
            const faces f = faces_at(part, &view, (bc_plane)p, i);
            sum_reflections(&f, &part->R[p][i], &part->T[p][i]);
        }
        for (size_t j = 0; gradient && j < layers; j++)
            evaluate_slopes(part, &view, (bc_plane)p, layers, j);
    }
}

const double *bc_part_R(const bc_part *part, bc_plane plane)
{
    return part->R[part->planes == 1 ? BC_S : plane];
}

const double *bc_part_T(const bc_part *part, bc_plane plane)
{
    return part->T[part->planes == 1 ? BC_S : plane];
}

const double *bc_part_dR(const bc_part *part, bc_plane plane, size_t layer)
{
    return part->dR[part->planes == 1 ? BC_S : plane] + layer * part->wavelengths;
}

const double *bc_part_dT(const bc_part *part, bc_plane plane, size_t layer)
{
    return part->dT[part->planes == 1 ? BC_S : plane] + layer * part->wavelengths;
}
