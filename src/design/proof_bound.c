/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "proof_bound.h"
#include "processors.h"
#include <math.h>

#define INLINED static inline __attribute__((always_inline))

/* The arrays of a workspace never overlap. */
#if defined(__GNUC__) && !defined(__clang__)
#define IVDEP _Pragma("GCC ivdep")
#else
#define IVDEP
#endif

#define ROUND         6755399441055744.0 /* 1.5 * 2^52: adding it rounds to a whole number */
#define TWO_PI_HIGH   6.28318530717958623
#define TWO_PI_LOW    2.44929359829470641e-16
#define NOTHING_KNOWN 1e6 /* exp of such a distance, or the distance */

/* Cosine and sine to 1e-15, in a shape that compilers vectorize: a quarter of the angle by its series, doubled twice.
 */
INLINED void turn(double angle, double *cosine, double *sine)
{
    const double turns = (angle * (1.0 / TWO_PI_HIGH) + ROUND) - ROUND;
    const double q = 0.25 * ((angle - turns * TWO_PI_HIGH) - turns * TWO_PI_LOW), z = q * q;
    double s =
        q * (1.0 + z * (-1.0 / 6 +
                        z * (1.0 / 120 +
                             z * (-1.0 / 5040 +
                                  z * (1.0 / 362880 +
                                       z * (-1.0 / 39916800 + z * (1.0 / 6227020800 - z * (1.0 / 1307674368000))))))));
    double c =
        1.0 +
        z * (-0.5 +
             z * (1.0 / 24 + z * (-1.0 / 720 +
                                  z * (1.0 / 40320 + z * (-1.0 / 3628800 +
                                                          z * (1.0 / 479001600 + z * (-1.0 / 87178291200 +
                                                                                      z * (1.0 / 20922789888000))))))));
    const double s2 = 2.0 * s * c, c2 = 1.0 - 2.0 * s * s;
    *sine = 2.0 * s2 * c2;
    *cosine = 1.0 - 2.0 * s2 * s2;
}

INLINED double largest(double a, double b)
{
    return a > b ? a : b;
}

INLINED double smallest(double a, double b)
{
    return a < b ? a : b;
}

/* sinh(acosh(c)), for c >= 1 but for roundings. */
INLINED double sinh_of(double cosh_x)
{
    return sqrt(largest(cosh_x * cosh_x - 1.0, 0.0));
}

/* A distance m by exp(m) and exp(-m): what is added to it multiplies both. */
typedef struct distance {
    double grow, shrink;
} distance;

/* How far a point moves when a layer turns by up to 2 half: sinh(m/2) = sinh(a) sin(half), the hyperbolic law of
 * cosines, with sin(half) <= min(half, 1). sinh_a is the largest that its distance from the centre can have. */
INLINED distance move_of(double sinh_a, double half)
{
    const double s = sinh_a * smallest(half, 1.0), c = sqrt(1.0 + s * s);
    return (distance){(c + s) * (c + s), (c - s) * (c - s)};
}

/* cosh and sinh of a distance that has grown by m, and cosh of one that has shrunk by it, to 0 at least. */
INLINED double cosh_far(double c, double s, distance m)
{
    return 0.5 * (c * (m.grow + m.shrink) + s * (m.grow - m.shrink));
}

INLINED double sinh_far(double c, double s, distance m)
{
    return 0.5 * (s * (m.grow + m.shrink) + c * (m.grow - m.shrink));
}

INLINED double cosh_near(double c, double s, distance m)
{
    const double near = 0.5 * (c * (m.grow + m.shrink) - s * (m.grow - m.shrink));
    return m.grow < c + s && near > 1.0 ? near : 1.0;
}

/* The point of layer j at its lower face: the substrate's, or the one below through the interface. */
INLINED void enter(const bc_light *light, const bc_light_group *group, const bc_proof_box *box, bc_proof_work *work,
                   size_t j)
{
    const size_t m = box->material[j], first = group->first, count = group->count;
    double *restrict p0 = work->p[0], *restrict p1 = work->p[1], *restrict p2 = work->p[2];
    if (j == 0) {
        const double *s0 = light->start[0][m] + first, *s1 = light->start[1][m] + first,
                     *s2 = light->start[2][m] + first;
        IVDEP
        for (size_t i = 0; i < count; i++) {
            p0[i] = s0[i];
            p1[i] = s1[i];
            p2[i] = s2[i];
        }
    } else {
        const size_t pair = m * light->materials + box->material[j - 1];
        const double *restrict ch = light->cosine_h[pair] + first, *restrict sh = light->sine_h[pair] + first;
        IVDEP
        for (size_t i = 0; i < count; i++) {
            const double cosh_p = ch[i] * p0[i] + sh[i] * p1[i];
            p1[i] = sh[i] * p0[i] + ch[i] * p1[i];
            p0[i] = cosh_p;
        }
    }
}

/* Up through layer j. */
INLINED void climb(const bc_light *light, const bc_light_group *group, const bc_proof_box *box, bc_proof_work *work,
                   size_t j)
{
    const double *restrict phase = light->turn[box->material[j]] + group->first;
    const double centre = box->centre_nm[j], half = box->half_nm[j];
    double *restrict p0 = work->p[0], *restrict p1 = work->p[1], *restrict p2 = work->p[2];
    double *restrict x = work->x[j], *restrict y = work->y[j], *restrict cosine = work->cosine[j],
                     *restrict sine = work->sine[j], *restrict sinh_a = work->sinh_a[j],
                     *restrict cosh_a = work->cosh_a[j], *restrict cosh_least = work->cosh_least[j],
                     *restrict grow = work->grow, *restrict shrink = work->shrink;
    IVDEP
    for (size_t i = 0; i < group->count; i++) {
        const distance m = {grow[i], shrink[i]};
        const double c0 = p0[i], s0 = sinh_of(c0), far = sinh_far(c0, s0, m);
        const distance own = move_of(far, 0.5 * phase[i] * half);
        double c, s;
        sinh_a[i] = far;
        cosh_a[i] = cosh_far(c0, s0, m);
        cosh_least[i] = cosh_near(c0, s0, m);
        grow[i] = m.grow * own.grow;
        shrink[i] = m.shrink * own.shrink;
        turn(phase[i] * centre, &c, &s);
        x[i] = c * p1[i] + s * p2[i];
        y[i] = c * p2[i] - s * p1[i];
        cosine[i] = c;
        sine[i] = s;
        p1[i] = x[i];
        p2[i] = y[i];
    }
}

/* How far absorption can move the point: dD/dz = loss exp(a) along the layer, whose solution stays below
 * x / (1 - 2 x) as long as x, the loss of the whole layer at its start's distance, is at most 1/4. */
INLINED void absorb(const bc_light *light, const bc_light_group *group, const bc_proof_box *box, bc_proof_work *work,
                    size_t j)
{
    const double *restrict loss = light->loss[box->material[j]] + group->first;
    const double most = box->centre_nm[j] + box->half_nm[j];
    double *restrict grow = work->grow, *restrict shrink = work->shrink, *restrict lost = work->lost,
                     *restrict sinh_a = work->sinh_a[j], *restrict cosh_a = work->cosh_a[j];
    IVDEP
    for (size_t i = 0; i < group->count; i++) {
        const double far = loss[i] * most * (cosh_a[i] + sinh_a[i]);
        const double moves = far > 0.2 ? NOTHING_KNOWN : far / (1.0 - 2.0 * far);
        const double grows = far > 0.2 ? NOTHING_KNOWN : 1.0 / (1.0 - moves); /* exp(d) <= 1 / (1 - d) */
        lost[i] += moves;
        grow[i] *= grows;
        shrink[i] /= grows;
    }
}

INLINED void arrive(const bc_light *light, const bc_light_group *group, const bc_proof_box *box, bc_proof_work *work)
{
    const size_t first = group->first, top = light->materials * light->materials + box->material[box->layers - 1];
    const double gamma = group->gamma;
    const double *restrict ch = light->cosine_h[top] + first, *restrict sh = light->sine_h[top] + first,
                           *restrict beta = light->beta + first;
    double *restrict p0 = work->p[0], *restrict p1 = work->p[1], *restrict grow = work->grow,
                     *restrict shrink = work->shrink, *restrict cosh_c = work->cosh_c,
                     *restrict cosh_min = work->cosh_min, *restrict cosh_max = work->cosh_max,
                     *restrict low = work->low, *restrict high = work->high;
    IVDEP
    for (size_t i = 0; i < group->count; i++) {
        const distance m = {grow[i], shrink[i]};
        const double c = largest(ch[i] * p0[i] + sh[i] * p1[i], 1.0), s = sinh_of(c);
        cosh_c[i] = c;
        cosh_min[i] = cosh_near(c, s, m);
        cosh_max[i] = cosh_far(c, s, m);
        low[i] = 1.0 - gamma / (cosh_min[i] + beta[i]);
        high[i] = 1.0 - gamma / (cosh_max[i] + beta[i]);
    }
}

FOR_EVERY_PROCESSOR void bc_proof_reach(const bc_light *light, const bc_light_group *group, const bc_proof_box *box,
                                        bc_proof_work *work)
{
    IVDEP
    for (size_t i = 0; i < group->count; i++) {
        work->grow[i] = work->shrink[i] = 1.0;
        work->lost[i] = 0.0;
    }
    for (size_t j = 0; j < box->layers; j++) {
        enter(light, group, box, work, j);
        climb(light, group, box, work, j);
        if (group->absorbs)
            absorb(light, group, box, work, j);
    }
    arrive(light, group, box, work);
}

/* The way back: w is what turns a point at the upper face of layer j into cosh of its distance. */
INLINED void leave(const bc_light *light, const bc_light_group *group, const bc_proof_box *box, bc_proof_work *work,
                   size_t j)
{
    const size_t above = j + 1 == box->layers ? light->materials : box->material[j + 1];
    const size_t pair = above * light->materials + box->material[j], first = group->first;
    const double *restrict ch = light->cosine_h[pair] + first, *restrict sh = light->sine_h[pair] + first;
    double *restrict w0 = work->w[0], *restrict w1 = work->w[1];
    IVDEP
    for (size_t i = 0; i < group->count; i++) {
        const double cosh_w = w0[i] * ch[i] + w1[i] * sh[i];
        w1[i] = w0[i] * sh[i] + w1[i] * ch[i];
        w0[i] = cosh_w;
    }
}

/* The slope with layer j, and what it adds to the bounds on the second derivatives. */
INLINED void descend(const bc_light *light, const bc_light_group *group, const bc_proof_box *box, bc_proof_work *work,
                     size_t j)
{
    const double *restrict phase = light->turn[box->material[j]] + group->first;
    const double half = box->half_nm[j];
    const double *restrict x = work->x[j], *restrict y = work->y[j], *restrict cosine = work->cosine[j],
                           *restrict sine = work->sine[j], *restrict sinh_a = work->sinh_a[j],
                           *restrict cosh_a = work->cosh_a[j], *restrict cosh_least = work->cosh_least[j],
                           *restrict cosh_min = work->cosh_min, *restrict cosh_max = work->cosh_max;
    double *restrict w0 = work->w[0], *restrict w1 = work->w[1], *restrict w2 = work->w[2], *restrict grow = work->grow,
                     *restrict shrink = work->shrink, *restrict turned = work->turned, *restrict cross = work->cross,
                     *restrict lower = work->bend[0], *restrict upper = work->bend[1], *restrict slope = work->slope[j];
    IVDEP
    for (size_t i = 0; i < group->count; i++) {
        const distance m = {grow[i], shrink[i]};
        const double angle = phase[i] * half, before = w1[i], c0 = w0[i], s0 = sinh_of(c0);
        const double sinh_b = sinh_far(c0, s0, m);
        const double most = cosh_a[i] * cosh_far(c0, s0, m), least = cosh_least[i] * cosh_near(c0, s0, m);
        const distance own = move_of(sinh_b, 0.5 * angle);
        slope[i] = phase[i] * (w1[i] * y[i] - w2[i] * x[i]);
        lower[i] += 0.5 * angle * angle * largest(cosh_max[i] - least, 0.0);
        upper[i] += 0.5 * angle * angle * largest(most - cosh_min[i], 0.0);
        cross[i] += angle * sinh_a[i] * turned[i];
        turned[i] += angle * sinh_b;
        grow[i] = m.grow * own.grow;
        shrink[i] = m.shrink * own.shrink;
        w1[i] = w1[i] * cosine[i] - w2[i] * sine[i];
        w2[i] = before * sine[i] + w2[i] * cosine[i];
    }
}

/* From cosh of the distance to the quantity. */
INLINED void translate(const bc_light *light, const bc_light_group *group, const bc_proof_box *box, bc_proof_work *work)
{
    const double gamma = group->gamma;
    const double *restrict beta = light->beta + group->first, *restrict cosh_c = work->cosh_c,
                           *restrict cosh_min = work->cosh_min, *restrict cosh_max = work->cosh_max,
                           *restrict cross = work->cross, *restrict lower = work->bend[0],
                           *restrict upper = work->bend[1];
    double *restrict grows = work->turned, *restrict lost = work->lost, *restrict value = work->value,
                     *restrict below_plane = work->below_plane, *restrict above_plane = work->above_plane;
    IVDEP
    for (size_t i = 0; i < group->count; i++) {
        const double c = cosh_c[i], sum = c + beta[i], near = cosh_min[i] + beta[i], far = cosh_max[i];
        const double apart = largest(far - c, c - cosh_min[i]), crossing = cross[i] * far;
        grows[i] = gamma / (sum * sum);
        /* dR/dD = tanh(D/2) / cosh(D/2)^2 <= tanh(D/2); a part changes by no more than its front. */
        lost[i] *= sqrt(largest((far - 1.0) / (far + 1.0), 0.0));
        value[i] = 1.0 - gamma / sum;
        below_plane[i] = grows[i] * (lower[i] + crossing) + gamma * apart * apart / (near * near * near) + lost[i];
        above_plane[i] = grows[i] * (upper[i] + crossing) + lost[i];
    }
    for (size_t j = 0; j < box->layers; j++) {
        double *restrict slope = work->slope[j];
        IVDEP
        for (size_t i = 0; i < group->count; i++)
            slope[i] *= grows[i];
    }
}

FOR_EVERY_PROCESSOR void bc_proof_slopes(const bc_light *light, const bc_light_group *group, const bc_proof_box *box,
                                         bc_proof_work *work)
{
    for (size_t i = 0; i < group->count; i++) {
        work->w[0][i] = work->grow[i] = work->shrink[i] = 1.0;
        work->w[1][i] = work->w[2][i] = 0.0;
        work->turned[i] = work->cross[i] = work->bend[0][i] = work->bend[1][i] = 0.0;
    }
    for (size_t j = box->layers; j-- > 0;) {
        leave(light, group, box, work, j);
        descend(light, group, box, work, j);
    }
    translate(light, group, box, work);
}

/* Of one sample or, with weights, of their average. */
INLINED double mixed(const bc_light_row *row, const double *quantity, size_t s, size_t p, size_t i)
{
    return row->share[0] * quantity[s + i] + row->share[1] * quantity[p + i];
}

INLINED double averaged(const bc_light_row *row, const double *quantity, size_t s, size_t p)
{
    double lane[BC_LIGHT_LANES] = {0.0}, sum = 0.0;
    const size_t whole = row->count / BC_LIGHT_LANES * BC_LIGHT_LANES;
    for (size_t i = 0; i < whole; i += BC_LIGHT_LANES)
        for (size_t l = 0; l < BC_LIGHT_LANES; l++)
            lane[l] += row->weight[i + l] * mixed(row, quantity, s, p, i + l);
    for (size_t i = whole; i < row->count; i++)
        sum += row->weight[i] * mixed(row, quantity, s, p, i);
    for (size_t l = 0; l < BC_LIGHT_LANES; l++)
        sum += lane[l];
    return sum;
}

FOR_EVERY_PROCESSOR double bc_proof_row_low(const bc_light_row *row, const bc_proof_work *work,
                                            const bc_light_group *group)
{
    const double *quantity = row->factor > 0.0 ? work->low : work->high;
    const size_t s = row->plane[0] - group->first, p = row->plane[1] - group->first;
    double best = -INFINITY;
    if (row->weight != NULL)
        return row->offset + row->factor * averaged(row, quantity, s, p);
    for (size_t i = 0; i < row->count; i++)
        best = largest(best, row->offset + row->factor * mixed(row, quantity, s, p, i));
    return best;
}

FOR_EVERY_PROCESSOR void bc_proof_row_planes(const bc_light_row *row, const bc_proof_work *work,
                                             const bc_light_group *group, size_t layers, double *level, double *value,
                                             double *const *slope)
{
    const double factor = row->factor, size = fabs(factor);
    const double *apart = factor > 0.0 ? work->below_plane : work->above_plane;
    const size_t s = row->plane[0] - group->first, p = row->plane[1] - group->first, first = row->first;
    if (row->weight != NULL) {
        const double centre = row->offset + factor * averaged(row, work->value, s, p);
        value[first] = centre - size * averaged(row, work->lost, s, p);
        level[first] = centre - size * averaged(row, apart, s, p);
        for (size_t j = 0; j < layers; j++)
            slope[j][first] = factor * averaged(row, work->slope[j], s, p);
        return;
    }
    for (size_t i = 0; i < row->count; i++) {
        const double centre = row->offset + factor * mixed(row, work->value, s, p, i);
        value[first + i] = centre - size * mixed(row, work->lost, s, p, i);
        level[first + i] = centre - size * mixed(row, apart, s, p, i);
    }
    for (size_t j = 0; j < layers; j++) {
        double *restrict of_layer = slope[j] + first;
        const double *restrict sloping = work->slope[j];
        IVDEP
        for (size_t i = 0; i < row->count; i++)
            of_layer[i] = factor * mixed(row, sloping, s, p, i);
    }
}

void bc_proof_work_take(bc_proof_work *work, size_t layers, size_t longest, bc_arena *arena)
{
    double **each[] = {work->x,      work->y,      work->cosine,     work->sine,
                       work->sinh_a, work->cosh_a, work->cosh_least, work->slope};
    double **one[] = {&work->p[0],       &work->p[1],   &work->p[2],     &work->grow,     &work->shrink,
                      &work->lost,       &work->cosh_c, &work->cosh_min, &work->cosh_max, &work->low,
                      &work->high,       &work->value,  &work->w[0],     &work->w[1],     &work->w[2],
                      &work->turned,     &work->cross,  &work->bend[0],  &work->bend[1],  &work->below_plane,
                      &work->above_plane};
    for (size_t a = 0; a < sizeof each / sizeof each[0]; a++)
        for (size_t j = 0; j < layers; j++)
            each[a][j] = bc_arena_take(arena, longest, sizeof(double));
    for (size_t a = 0; a < sizeof one / sizeof one[0]; a++)
        *one[a] = bc_arena_take(arena, longest, sizeof(double));
}
