/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The kernel's text, included by one file per instruction set after it has defined
 *     vector                       LANES doubles in one register, with + - * /
 *     vector_sincos, vector_expm1, vector_exp, vector_log, vector_max
 *     KERNEL                       the function's name
 *
 * For LANES wavelengths at a time it walks from the substrate to the incident medium with [B; C] in registers
 * (equations: surface.h), then once more over the layers for the derivatives.
 *
 * Derivatives need no second matrix product. Let v = [B; C] above layer j and M_j = exp(i delta_j K_j) with
 * K = [0, 1/eta; eta, 0]. Every M_j has determinant 1, so by Lagrange's identity
 *     d rho / d delta_j = i 2 eta0 (C^2/eta_j - eta_j B^2) / (eta0 B_1 + C_1)^2,   fields of layer j above the
 * fraction, of the finished stack below it. (Derived here; the tests hold it against differences at 512 bits.) T of an
 * absorbing stack has no such shortcut and takes a backward pass.
 */

typedef struct complex_vector {
    vector re, im;
} complex_vector;

static inline vector load(const double *array)
{
    return *(const vector *)array;
}

static inline void store(double *array, vector value)
{
    *(vector *)array = value;
}

static inline vector broadcast(double value)
{
    return (vector){0} + value;
}

static inline complex_vector load_complex(const double *re, const double *im)
{
    const complex_vector both = {load(re), load(im)};
    return both;
}

static inline complex_vector add(complex_vector a, complex_vector b)
{
    const complex_vector sum = {a.re + b.re, a.im + b.im};
    return sum;
}

static inline complex_vector subtract(complex_vector a, complex_vector b)
{
    const complex_vector difference = {a.re - b.re, a.im - b.im};
    return difference;
}

static inline complex_vector multiply(complex_vector a, complex_vector b)
{
    const complex_vector product = {a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re};
    return product;
}

static inline complex_vector scale(complex_vector a, vector factor)
{
    const complex_vector product = {a.re * factor, a.im * factor};
    return product;
}

/* The field [B; C] exp(-growth), in registers. */
typedef struct field {
    complex_vector B, C;
} field;

static inline field through_real(field below, vector sine, vector cosine, vector eta, vector inverse)
{
    const vector s_over_eta = sine * inverse, s_eta = sine * eta;
    const field above = {{cosine * below.B.re - s_over_eta * below.C.im, cosine * below.B.im + s_over_eta * below.C.re},
                         {cosine * below.C.re - s_eta * below.B.im, cosine * below.C.im + s_eta * below.B.re}};
    return above;
}

/* cos delta and i sin delta of delta = a - ib, both times exp(-b); and exp(-2b). */
typedef struct phase_factors {
    complex_vector cosine, i_sine;
    vector decay;
} phase_factors;

static inline phase_factors complex_phase(vector a, vector b)
{
    vector sine, cosine, decay, cosh_b, sinh_b;
    phase_factors factors;
    vector_sincos(a, &sine, &cosine);
    decay = vector_expm1(-2.0 * b);
    cosh_b = 1.0 + 0.5 * decay;
    sinh_b = -0.5 * decay;
    factors.cosine = (complex_vector){cosine * cosh_b, sine * sinh_b};
    factors.i_sine = (complex_vector){cosine * sinh_b, sine * cosh_b};
    factors.decay = 1.0 + decay;
    return factors;
}

static inline field through_complex(field below, phase_factors factors, complex_vector eta, complex_vector inverse)
{
    const complex_vector upper = multiply(factors.i_sine, inverse), lower = multiply(factors.i_sine, eta);
    const field above = {add(multiply(factors.cosine, below.B), multiply(upper, below.C)),
                         add(multiply(lower, below.B), multiply(factors.cosine, below.C))};
    return above;
}

/* Bring the field back to size one, so that ten thousand layers of a mirror do not overflow. */
static inline field normalize(field f, vector *growth)
{
    const vector size = 0.5 * vector_log(f.B.re * f.B.re + f.B.im * f.B.im + f.C.re * f.C.re + f.C.im * f.C.im);
    const vector factor = vector_exp(-size);
    const field unit = {scale(f.B, factor), scale(f.C, factor)};
    *growth += size;
    return unit;
}

/* How far a field may grow before it is brought back: a clear layer's admittance lies at most some hundred times from
 * its neighbour's, that of a layer at its critical angle 1e10 times. Squares of 32 steps of the one or 8 of the other
 * still fit in a double. */
#define GROWTH_ALLOWED 32
#define GROWTH_CLEAR   1
#define GROWTH_COMPLEX 4

static inline void store_field(const bc_kernel_field *to, size_t at, field f, vector growth)
{
    store(to->B_re + at, f.B.re);
    store(to->B_im + at, f.B.im);
    store(to->C_re + at, f.C.re);
    store(to->C_im + at, f.C.im);
    store(to->growth + at, growth);
}

/* Where the field above layer j is kept. */
static inline size_t field_at(const bc_kernel_job *job, size_t j, size_t i)
{
    return j * job->field_stride + (job->field_stride == BC_LANES ? i % BC_LANES : i);
}

static inline field load_field(const bc_kernel_field *from, size_t at)
{
    const field f = {load_complex(from->B_re + at, from->B_im + at), load_complex(from->C_re + at, from->C_im + at)};
    return f;
}

/* A surface gives back all the light it gets, or less where layers absorb. In a cavity behind a barrier that holds
 * nearly all of it, the roundings of a layer's matrix are a gain or loss that R and T feel ten thousand times: this
 * takes it out of both. */
static inline void conserve(vector *R, vector *T, bool absorbing)
{
    const vector sum = *R + *T, total = absorbing ? vector_max(sum, broadcast(1.0)) : sum;
    *R /= total;
    *T /= total;
}

/* R, T and rho from the field above the outer layer. */
static inline void finish(const bc_kernel_job *job, unsigned p, size_t i, field top, vector growth, bool grown)
{
    const bc_kernel_plane *plane = &job->plane[p];
    const vector eta0 = load(plane->incident_eta + i);
    const complex_vector sum = {eta0 * top.B.re + top.C.re, eta0 * top.B.im + top.C.im};
    const complex_vector difference = {eta0 * top.B.re - top.C.re, eta0 * top.B.im - top.C.im};
    const vector inverse_square = 1.0 / (sum.re * sum.re + sum.im * sum.im);
    const complex_vector inverse = {sum.re * inverse_square, -sum.im * inverse_square};
    const complex_vector rho = multiply(difference, inverse);
    const complex_vector factor = scale(multiply(inverse, inverse), 2.0 * eta0);
    vector R = rho.re * rho.re + rho.im * rho.im;
    vector T = 4.0 * eta0 * load(plane->substrate_eta_re + i) * inverse_square;
    if (grown) {
        T *= vector_exp(-2.0 * growth);
    }
    conserve(&R, &T, job->absorbing);
    store(plane->rho_re + i, rho.re);
    store(plane->rho_im + i, rho.im);
    store(plane->R + i, R);
    store(plane->T + i, T);
    store(plane->scale_re + i, factor.re);
    store(plane->scale_im + i, factor.im);
}

/* Sines and cosines of this many layers are computed before the fields are walked through them: the walk then holds its
 * fields in registers, with no call in between, and the two overlap. */
#define CHUNK 16

static inline void store_phases(const bc_kernel_phases *to, size_t at, const phase_factors *factors)
{
    store(to->cosine_re + at, factors->cosine.re);
    store(to->cosine_im + at, factors->cosine.im);
    store(to->i_sine_re + at, factors->i_sine.re);
    store(to->i_sine_im + at, factors->i_sine.im);
    store(to->decay + at, factors->decay);
}

static inline void layer_phases(const bc_kernel_job *job, size_t i, size_t first, size_t count, bool keep,
                                phase_factors *factors)
{
    for (size_t k = 0; k < count; k++) {
        const bc_kernel_material *m = &job->materials[job->material[first + k]];
        const double thickness_nm = job->thickness_nm[first + k];
        const vector a = load(m->phase_re + i) * thickness_nm;
        if (m->is_complex) {
            factors[k] = complex_phase(a, load(m->phase_im + i) * thickness_nm);
        } else {
            vector_sincos(a, &factors[k].i_sine.im, &factors[k].cosine.re);
        }
        if (keep && job->some_complex) {
            if (!m->is_complex) {
                factors[k].i_sine.re = factors[k].cosine.im = broadcast(0.0);
                factors[k].decay = broadcast(1.0);
            }
            store_phases(&job->phases, (first + k) * job->padded + i, &factors[k]);
        }
    }
}

/* Before a loop over planes: unrolled before anything else is made of it, the fields of both stay in registers. */
#if defined(__GNUC__) && !defined(__clang__)
#define BOTH_PLANES _Pragma("GCC unroll 2")
#else
#define BOTH_PLANES
#endif

/* Where the walk through the layers stands. */
typedef struct walk {
    field f[2];
    vector growth[2];
    bool normalized;
    unsigned grown_by;
} walk;

static inline void pass_layer(const bc_kernel_job *job, size_t i, size_t j, const phase_factors *factors, walk *w,
                              unsigned planes, bool keep)
{
    const bc_kernel_material *m = &job->materials[job->material[j]];
    if (m->is_complex) {
        const vector b = load(m->phase_im + i) * job->thickness_nm[j];
        w->grown_by += GROWTH_COMPLEX;
        BOTH_PLANES
        for (unsigned p = 0; p < planes; p++) {
            w->f[p] = through_complex(w->f[p], *factors, load_complex(m->eta_re[p] + i, m->eta_im[p] + i),
                                      load_complex(m->inverse_re[p] + i, m->inverse_im[p] + i));
            w->growth[p] += b;
        }
    } else {
        w->grown_by += GROWTH_CLEAR;
        BOTH_PLANES
        for (unsigned p = 0; p < planes; p++) {
            w->f[p] = through_real(w->f[p], factors->i_sine.im, factors->cosine.re, load(m->eta_re[p] + i),
                                   load(m->inverse_re[p] + i));
        }
    }
    if (w->grown_by >= GROWTH_ALLOWED) {
        w->grown_by = 0;
        w->normalized = true;
        BOTH_PLANES
        for (unsigned p = 0; p < planes; p++) {
            w->f[p] = normalize(w->f[p], &w->growth[p]);
        }
    }
    if (keep) {
        BOTH_PLANES
        for (unsigned p = 0; p < planes; p++) {
            store_field(&job->plane[p].field, field_at(job, j, i), w->f[p], w->growth[p]);
        }
    }
}

/* From the substrate to the incident medium. `planes` and `keep` are constants at each call, so each use is a loop of
 * its own. */
static inline bool forward(const bc_kernel_job *job, size_t i, unsigned planes, bool keep)
{
    phase_factors factors[CHUNK];
    walk w; /* the fields are set below: zeros for every few wavelengths are a tenth of the walk */
    w.normalized = false;
    w.grown_by = 0;
    BOTH_PLANES
    for (unsigned p = 0; p < planes; p++) {
        const bc_kernel_plane *plane = &job->plane[p];
        w.f[p].B = (complex_vector){broadcast(1.0), broadcast(0.0)};
        w.f[p].C = load_complex(plane->substrate_eta_re + i, plane->substrate_eta_im + i);
        w.growth[p] = broadcast(0.0);
        if (keep) {
            store_field(&plane->field, field_at(job, job->layers, i), w.f[p], w.growth[p]);
        }
    }
    for (size_t end = job->layers; end > 0;) {
        const size_t count = end < CHUNK ? end : CHUNK;
        layer_phases(job, i, end - count, count, keep, factors);
        for (size_t k = count; k-- > 0;) {
            pass_layer(job, i, end - count + k, &factors[k], &w, planes, keep);
        }
        end -= count;
    }
    BOTH_PLANES
    for (unsigned p = 0; p < planes; p++) {
        finish(job, p, i, w.f[p], w.growth[p], job->some_complex || w.normalized);
    }
    return w.normalized;
}

/* d rho / d thickness, and with it dR (and dT = -dR where nothing absorbs). */
static inline void derive_rho(const bc_kernel_job *job, size_t i, unsigned p, bool normalized)
{
    const bc_kernel_plane *plane = &job->plane[p];
    const complex_vector rho = load_complex(plane->rho_re + i, plane->rho_im + i);
    const vector top_growth = load(plane->field.growth + field_at(job, 0, i));
    complex_vector factor = load_complex(plane->scale_re + i, plane->scale_im + i);
    for (size_t j = 0; j < job->layers; j++) {
        const bc_kernel_material *m = &job->materials[job->material[j]];
        const size_t at = j * job->padded + i;
        const field f = load_field(&plane->field, field_at(job, j, i));
        const complex_vector B2 = multiply(f.B, f.B), C2 = multiply(f.C, f.C);
        complex_vector cross, drho;
        if (m->is_complex) {
            const complex_vector kq = {load(m->phase_re + i), -load(m->phase_im + i)};
            cross = subtract(multiply(C2, load_complex(m->inverse_re[p] + i, m->inverse_im[p] + i)),
                             multiply(B2, load_complex(m->eta_re[p] + i, m->eta_im[p] + i)));
            cross = multiply(cross, kq);
        } else {
            const vector kq = load(m->phase_re + i);
            cross = subtract(scale(C2, kq * load(m->inverse_re[p] + i)), scale(B2, kq * load(m->eta_re[p] + i)));
        }
        cross = multiply(cross, factor);
        if (normalized) {
            cross = scale(cross, vector_exp(2.0 * (load(plane->field.growth + field_at(job, j, i)) - top_growth)));
        } else if (m->is_complex) {
            /* The same, without an exponential: layers further down are dimmed by this one. */
            factor = scale(factor, load(job->phases.decay + at));
        }
        drho = (complex_vector){-cross.im, cross.re};
        store(plane->drho_re + at, drho.re);
        store(plane->drho_im + at, drho.im);
        if (job->want == BC_WANT_GRADIENT) {
            const vector dR = 2.0 * (rho.re * drho.re + rho.im * drho.im);
            store(plane->dR + at, dR);
            store(plane->dT + at, -dR);
        }
    }
}

/* dT / d thickness where layers absorb: from the incident medium down, with the row vector a = [eta0, 1] M_1 ...
 * M_(j-1), d(eta0 B + C) / d delta_j = i (a_1 C_j / eta_j + a_2 eta_j B_j). The growth left out of a and of the fields
 * below it adds up to that of the whole stack, so unless something was normalized there is nothing to put back. */
static inline void derive_T(const bc_kernel_job *job, size_t i, unsigned p, bool normalized)
{
    const bc_kernel_plane *plane = &job->plane[p];
    const vector eta0 = load(plane->incident_eta + i), T = load(plane->T + i);
    const field top = load_field(&plane->field, field_at(job, 0, i));
    const complex_vector sum = {eta0 * top.B.re + top.C.re, eta0 * top.B.im + top.C.im};
    const vector inverse_square = 1.0 / (sum.re * sum.re + sum.im * sum.im);
    const complex_vector inverse_sum = {sum.re * inverse_square, -sum.im * inverse_square};
    const vector top_growth = load(plane->field.growth + field_at(job, 0, i));
    field a = {{eta0, broadcast(0.0)}, {broadcast(1.0), broadcast(0.0)}};
    vector growth = broadcast(0.0);
    for (size_t j = 0; j < job->layers; j++) {
        const bc_kernel_material *m = &job->materials[job->material[j]];
        const size_t at = j * job->padded + i;
        const field f = load_field(&plane->field, field_at(job, j, i));
        const complex_vector eta = load_complex(m->eta_re[p] + i, m->eta_im[p] + i);
        const complex_vector inverse = load_complex(m->inverse_re[p] + i, m->inverse_im[p] + i);
        const complex_vector kq = {load(m->phase_re + i), -load(m->phase_im + i)};
        const phase_factors factors = {.cosine = load_complex(job->phases.cosine_re + at, job->phases.cosine_im + at),
                                       .i_sine = load_complex(job->phases.i_sine_re + at, job->phases.i_sine_im + at)};
        complex_vector slope = add(multiply(multiply(a.B, f.C), inverse), multiply(multiply(a.C, f.B), eta));
        slope = multiply(multiply(slope, kq), inverse_sum);
        if (normalized) {
            slope = scale(slope, vector_exp(growth + load(plane->field.growth + field_at(job, j, i)) - top_growth));
        }
        store(plane->dT + at, 2.0 * T * slope.im); /* -2 T Re(i slope) */
        /* a M has the off-diagonal elements of M in the other order: through_complex with 1/eta for eta. */
        a = through_complex(a, factors, inverse, eta);
        growth += load(m->phase_im + i) * job->thickness_nm[j];
        if (normalized && j % (GROWTH_ALLOWED / GROWTH_COMPLEX) == GROWTH_ALLOWED / GROWTH_COMPLEX - 1) {
            a = normalize(a, &growth);
        }
    }
}

void KERNEL(const bc_kernel_job *job)
{
    for (size_t at = 0; at < job->blocks * BC_LANES; at += LANES) {
        const size_t i = job->block == NULL ? at : (size_t)job->block[at / BC_LANES] * BC_LANES + at % BC_LANES;
        if (job->want == BC_WANT_VALUES) {
            if (job->planes == 1) {
                forward(job, i, 1, false);
            } else {
                forward(job, i, 2, false);
            }
            continue;
        }
        const bool normalized = job->planes == 1 ? forward(job, i, 1, true) : forward(job, i, 2, true);
        for (unsigned p = 0; p < job->planes; p++) {
            derive_rho(job, i, p, normalized);
            if (job->absorbing && job->want == BC_WANT_GRADIENT) {
                derive_T(job, i, p, normalized);
            }
        }
    }
}
