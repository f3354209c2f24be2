/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reference.h"
#include <mpc.h>
#include <stdlib.h>

#define ROUND  MPC_RNDNN
#define ROUNDR MPFR_RNDN
#define PLANES 2
#define PARTS  5 /* R, T, A, Re rho, Im rho */

typedef struct matrix {
    mpc_t m11, m12, m21, m22;
} matrix;

/* The tangential fields. */
typedef struct field {
    mpc_t B, C;
} field;

typedef struct medium {
    mpc_t q;
    mpc_t eta[PLANES];
} medium;

struct reference {
    size_t max_layers;
    mpfr_t invariant, wave_number;
    medium incident, substrate;
    medium *layer;
    matrix *above[PLANES]; /* [max_layers + 1]: the product of the matrices of layers 0 .. j - 1 */
    field *below[PLANES];  /* [max_layers + 1]: the fields at the outer face of layer j */
    matrix one[PLANES];    /* the matrix of one layer */
    field outer, inner;    /* the fields at the outer face of the stack, and under way to it */
    mpfr_t value[PARTS], upper[PLANES][PARTS];
    mpc_t delta, sine, cosine, sum, difference, term;
    mpfr_t real, thickness;
};

static void matrix_init(matrix *m, long bits)
{
    mpc_init2(m->m11, bits);
    mpc_init2(m->m12, bits);
    mpc_init2(m->m21, bits);
    mpc_init2(m->m22, bits);
}

static void matrix_clear(matrix *m)
{
    mpc_clear(m->m11);
    mpc_clear(m->m12);
    mpc_clear(m->m21);
    mpc_clear(m->m22);
}

static void field_init(field *f, long bits)
{
    mpc_init2(f->B, bits);
    mpc_init2(f->C, bits);
}

static void field_clear(field *f)
{
    mpc_clear(f->B);
    mpc_clear(f->C);
}

static void medium_init(medium *m, long bits)
{
    mpc_init2(m->q, bits);
    mpc_init2(m->eta[0], bits);
    mpc_init2(m->eta[1], bits);
}

static void medium_clear(medium *m)
{
    mpc_clear(m->q);
    mpc_clear(m->eta[0]);
    mpc_clear(m->eta[1]);
}

static void scalars_init(reference *engine, long bits)
{
    mpfr_inits2(bits, engine->invariant, engine->wave_number, engine->real, engine->thickness, (mpfr_ptr)0);
    for (size_t v = 0; v < PARTS; v++)
        mpfr_inits2(bits, engine->value[v], engine->upper[0][v], engine->upper[1][v], (mpfr_ptr)0);
    mpc_init2(engine->delta, bits);
    mpc_init2(engine->sine, bits);
    mpc_init2(engine->cosine, bits);
    mpc_init2(engine->sum, bits);
    mpc_init2(engine->difference, bits);
    mpc_init2(engine->term, bits);
    field_init(&engine->outer, bits);
    field_init(&engine->inner, bits);
    medium_init(&engine->incident, bits);
    medium_init(&engine->substrate, bits);
}

static void scalars_clear(reference *engine)
{
    mpfr_clears(engine->invariant, engine->wave_number, engine->real, engine->thickness, (mpfr_ptr)0);
    for (size_t v = 0; v < PARTS; v++)
        mpfr_clears(engine->value[v], engine->upper[0][v], engine->upper[1][v], (mpfr_ptr)0);
    mpc_clear(engine->delta);
    mpc_clear(engine->sine);
    mpc_clear(engine->cosine);
    mpc_clear(engine->sum);
    mpc_clear(engine->difference);
    mpc_clear(engine->term);
    field_clear(&engine->outer);
    field_clear(&engine->inner);
    medium_clear(&engine->incident);
    medium_clear(&engine->substrate);
}

static void free_arrays(reference *engine)
{
    free(engine->layer);
    for (size_t p = 0; p < PLANES; p++) {
        free(engine->above[p]);
        free(engine->below[p]);
    }
    free(engine);
}

reference *reference_alloc(long bits, size_t max_layers)
{
    reference *engine = calloc(1, sizeof *engine);
    if (engine == NULL)
        return NULL;
    engine->max_layers = max_layers;
    engine->layer = calloc(max_layers + 1, sizeof *engine->layer);
    for (size_t p = 0; p < PLANES; p++) {
        engine->above[p] = calloc(max_layers + 1, sizeof *engine->above[p]);
        engine->below[p] = calloc(max_layers + 1, sizeof *engine->below[p]);
    }
    if (engine->layer == NULL || engine->above[0] == NULL || engine->above[1] == NULL || engine->below[0] == NULL ||
        engine->below[1] == NULL) {
        free_arrays(engine);
        return NULL;
    }
    scalars_init(engine, bits);
    for (size_t p = 0; p < PLANES; p++) {
        matrix_init(&engine->one[p], bits);
        for (size_t j = 0; j <= max_layers; j++) {
            matrix_init(&engine->above[p][j], bits);
            field_init(&engine->below[p][j], bits);
        }
    }
    for (size_t j = 0; j <= max_layers; j++)
        medium_init(&engine->layer[j], bits);
    return engine;
}

void reference_free(reference *engine)
{
    if (engine == NULL)
        return;
    for (size_t p = 0; p < PLANES; p++) {
        matrix_clear(&engine->one[p]);
        for (size_t j = 0; j <= engine->max_layers; j++) {
            matrix_clear(&engine->above[p][j]);
            field_clear(&engine->below[p][j]);
        }
    }
    for (size_t j = 0; j <= engine->max_layers; j++)
        medium_clear(&engine->layer[j]);
    scalars_clear(engine);
    free_arrays(engine);
    mpfr_free_cache();
}

/* q = sqrt(N^2 - (n0 sin aoi)^2); eta_s = q, eta_p = N^2/q. */
static void set_medium(reference *engine, medium *m, double n, double k)
{
    mpc_set_d_d(engine->term, n, -k, ROUND);
    mpc_sqr(engine->term, engine->term, ROUND);
    mpfr_sqr(engine->real, engine->invariant, ROUNDR);
    mpc_sub_fr(m->q, engine->term, engine->real, ROUND);
    mpc_sqrt(m->q, m->q, ROUND);
    if (mpfr_sgn(mpc_imagref(m->q)) > 0)
        mpc_neg(m->q, m->q, ROUND);
    mpc_set(m->eta[0], m->q, ROUND);
    mpc_div(m->eta[1], engine->term, m->q, ROUND);
}

static void set_media(reference *engine, const reference_stack *stack)
{
    mpfr_set_d(engine->real, stack->aoi_rad, ROUNDR);
    mpfr_sin(engine->invariant, engine->real, ROUNDR);
    mpfr_mul_d(engine->invariant, engine->invariant, stack->invariant_n, ROUNDR);
    mpfr_const_pi(engine->wave_number, ROUNDR);
    mpfr_mul_ui(engine->wave_number, engine->wave_number, 2, ROUNDR);
    mpfr_div_d(engine->wave_number, engine->wave_number, stack->wavelength_nm, ROUNDR);
    set_medium(engine, &engine->incident, stack->incident_n, 0.0);
    set_medium(engine, &engine->substrate, stack->substrate_n, stack->substrate_k);
    for (size_t j = 0; j < stack->layers; j++)
        set_medium(engine, &engine->layer[j], stack->layer[j].n, stack->layer[j].k);
}

/* M = [cos delta, i sin(delta)/eta; i eta sin(delta), cos delta], delta = (2 pi / wavelength) q d, d + offset thick. */
static void set_matrix(reference *engine, const reference_stack *stack, size_t layer, double offset_nm)
{
    const medium *m = &engine->layer[layer];
    mpfr_set_d(engine->thickness, stack->layer[layer].thickness_nm, ROUNDR);
    mpfr_add_d(engine->thickness, engine->thickness, offset_nm, ROUNDR);
    mpc_mul_fr(engine->delta, m->q, engine->wave_number, ROUND);
    mpc_mul_fr(engine->delta, engine->delta, engine->thickness, ROUND);
    mpc_sin_cos(engine->sine, engine->cosine, engine->delta, ROUND, ROUND);
    mpc_mul_i(engine->sine, engine->sine, 1, ROUND);
    for (size_t p = 0; p < PLANES; p++) {
        matrix *one = &engine->one[p];
        mpc_set(one->m11, engine->cosine, ROUND);
        mpc_div(one->m12, engine->sine, m->eta[p], ROUND);
        mpc_mul(one->m21, engine->sine, m->eta[p], ROUND);
        mpc_set(one->m22, engine->cosine, ROUND);
    }
}

/* out = a x + b y */
static void two_products(reference *engine, mpc_t out, mpc_srcptr a, mpc_srcptr x, mpc_srcptr b, mpc_srcptr y)
{
    mpc_mul(engine->term, a, x, ROUND);
    mpc_mul(out, b, y, ROUND);
    mpc_add(out, out, engine->term, ROUND);
}

static void matrix_times_matrix(reference *engine, matrix *out, const matrix *a, const matrix *b)
{
    two_products(engine, out->m11, a->m11, b->m11, a->m12, b->m21);
    two_products(engine, out->m12, a->m11, b->m12, a->m12, b->m22);
    two_products(engine, out->m21, a->m21, b->m11, a->m22, b->m21);
    two_products(engine, out->m22, a->m21, b->m12, a->m22, b->m22);
}

static void matrix_times_field(reference *engine, field *out, const matrix *a, const field *b)
{
    two_products(engine, out->B, a->m11, b->B, a->m12, b->C);
    two_products(engine, out->C, a->m21, b->B, a->m22, b->C);
}

/* above[j] for every j, of the stack with `offset_nm` added to one of its layers, and the fields of the substrate. */
static void multiply_layers(reference *engine, const reference_stack *stack, size_t offset_layer, double offset_nm)
{
    for (size_t p = 0; p < PLANES; p++) {
        mpc_set_ui(engine->above[p][0].m11, 1, ROUND);
        mpc_set_ui(engine->above[p][0].m12, 0, ROUND);
        mpc_set_ui(engine->above[p][0].m21, 0, ROUND);
        mpc_set_ui(engine->above[p][0].m22, 1, ROUND);
        mpc_set_ui(engine->below[p][stack->layers].B, 1, ROUND);
        mpc_set(engine->below[p][stack->layers].C, engine->substrate.eta[p], ROUND);
    }
    for (size_t j = 0; j < stack->layers; j++) {
        set_matrix(engine, stack, j, j == offset_layer ? offset_nm : 0.0);
        for (size_t p = 0; p < PLANES; p++)
            matrix_times_matrix(engine, &engine->above[p][j + 1], &engine->above[p][j], &engine->one[p]);
    }
}

/* rho = (eta0 B - C)/(eta0 B + C), R = |rho|^2, T = 4 eta0 Re(eta_substrate)/|eta0 B + C|^2, A = 1 - R - T. */
static void finish(reference *engine, size_t p, mpfr_t value[PARTS])
{
    const field *outer = &engine->outer;
    mpc_mul(engine->term, engine->incident.eta[p], outer->B, ROUND);
    mpc_add(engine->sum, engine->term, outer->C, ROUND);
    mpc_sub(engine->difference, engine->term, outer->C, ROUND);
    mpc_div(engine->difference, engine->difference, engine->sum, ROUND);
    mpc_real(value[3], engine->difference, ROUNDR);
    mpc_imag(value[4], engine->difference, ROUNDR);
    mpc_norm(value[0], engine->difference, ROUNDR);
    mpc_norm(engine->real, engine->sum, ROUNDR);
    mpfr_mul(value[1], mpc_realref(engine->incident.eta[p]), mpc_realref(engine->substrate.eta[p]), ROUNDR);
    mpfr_mul_ui(value[1], value[1], 4, ROUNDR);
    mpfr_div(value[1], value[1], engine->real, ROUNDR);
    mpfr_ui_sub(value[2], 1, value[0], ROUNDR);
    mpfr_sub(value[2], value[2], value[1], ROUNDR);
}

static reference_value to_double(mpfr_t value[PARTS])
{
    const reference_value rounded = {mpfr_get_d(value[0], ROUNDR), mpfr_get_d(value[1], ROUNDR),
                                     mpfr_get_d(value[2], ROUNDR), mpfr_get_d(value[3], ROUNDR),
                                     mpfr_get_d(value[4], ROUNDR)};
    return rounded;
}

void reference_evaluate_offset(reference *engine, const reference_stack *stack, size_t layer, double offset_nm,
                               reference_value value[2])
{
    set_media(engine, stack);
    multiply_layers(engine, stack, layer, offset_nm);
    for (size_t p = 0; p < PLANES; p++) {
        matrix_times_field(engine, &engine->outer, &engine->above[p][stack->layers], &engine->below[p][stack->layers]);
        finish(engine, p, engine->value);
        value[p] = to_double(engine->value);
    }
}

void reference_evaluate(reference *engine, const reference_stack *stack, reference_value value[2])
{
    reference_evaluate_offset(engine, stack, 0, 0.0, value);
}

/* The values with layer `j` as engine->one has it. */
static void exchange_layer(reference *engine, size_t p, size_t j, mpfr_t value[PARTS])
{
    matrix_times_field(engine, &engine->inner, &engine->one[p], &engine->below[p][j + 1]);
    matrix_times_field(engine, &engine->outer, &engine->above[p][j], &engine->inner);
    finish(engine, p, value);
}

void reference_gradient(reference *engine, const reference_stack *stack, double step_nm,
                        reference_value (*derivative)[2])
{
    set_media(engine, stack);
    multiply_layers(engine, stack, 0, 0.0);
    for (size_t j = stack->layers; j-- > 0;) {
        set_matrix(engine, stack, j, 0.0);
        for (size_t p = 0; p < PLANES; p++)
            matrix_times_field(engine, &engine->below[p][j], &engine->one[p], &engine->below[p][j + 1]);
    }
    for (size_t j = 0; j < stack->layers; j++) {
        set_matrix(engine, stack, j, step_nm);
        for (size_t p = 0; p < PLANES; p++)
            exchange_layer(engine, p, j, engine->upper[p]);
        set_matrix(engine, stack, j, -step_nm);
        for (size_t p = 0; p < PLANES; p++) {
            exchange_layer(engine, p, j, engine->value);
            for (size_t v = 0; v < PARTS; v++) {
                mpfr_sub(engine->value[v], engine->upper[p][v], engine->value[v], ROUNDR);
                mpfr_div_d(engine->value[v], engine->value[v], 2.0 * step_nm, ROUNDR);
            }
            derivative[j][p] = to_double(engine->value);
        }
    }
}
