/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "proof_search.h"
#include "proof_game.h"
#include <math.h>
#include <stdlib.h>

#define SMALL_RAD    1.2
#define SMALLEST_RAD 1e-6 /* of one layer: not halved any more */

static bool are_same(const bc_design_problem *problem, unsigned a, unsigned b)
{
    return problem->material[a].dispersion == problem->material[b].dispersion;
}

/* The sequence of this number, counted in the base of the materials; false where neighbours are the same. */
static bool spell(const bc_design_problem *problem, size_t number, size_t layers, unsigned *material)
{
    for (size_t j = 0; j < layers; j++) {
        material[j] = (unsigned)(number % problem->materials);
        number /= problem->materials;
        for (unsigned m = 0; m < material[j]; m++)
            if (are_same(problem, m, material[j])) /* named twice */
                return false;
        if (j > 0 && are_same(problem, material[j], material[j - 1]))
            return false;
    }
    return true;
}

bc_status bc_sequences_list(const bc_design_problem *problem, size_t layers, bc_sequences *sequences, bc_error *error)
{
    double all = pow((double)problem->materials, (double)layers);
    if (all > 1e6)
        return bc_fail(error, BC_ERROR_INPUT, "%zu layers of %zu materials have too many sequences for a proof", layers,
                       problem->materials);
    *sequences = (bc_sequences){.layers = layers};
    sequences->material = calloc((size_t)all * layers + layers + 1, sizeof *sequences->material);
    if (sequences->material == NULL)
        return bc_fail_memory(error);
    for (size_t number = 0; number < (size_t)all; number++)
        sequences->count += spell(problem, number, layers, sequences->material + sequences->count * layers);
    return BC_OK;
}

static void lay_out(const bc_light *light, size_t layers, bc_excluder *excluder)
{
    bc_proof_work_take(&excluder->scratch, layers, light->longest, &excluder->arena);
    excluder->level = bc_arena_take(&excluder->arena, light->constraints + 1, sizeof(double));
    excluder->value = bc_arena_take(&excluder->arena, light->constraints + 1, sizeof(double));
    for (size_t j = 0; j < layers; j++)
        excluder->slope[j] = bc_arena_take(&excluder->arena, light->constraints + 1, sizeof(double));
}

bc_status bc_excluder_open(const bc_light *light, size_t layers, bc_excluder *excluder, bc_error *error)
{
    bc_status status;
    *excluder = (bc_excluder){0};
    lay_out(light, layers, excluder);
    status = bc_arena_open(&excluder->arena, error);
    if (status == BC_OK)
        lay_out(light, layers, excluder);
    return status;
}

void bc_excluder_close(bc_excluder *excluder)
{
    free(excluder->arena.memory);
    *excluder = (bc_excluder){0};
}

/* A box with its centre, and what is looked at in it. */
typedef struct view {
    const bc_exclusion *asked;
    bc_excluder *excluder;
    double centre_nm[BC_PROOF_MOST_LAYERS], half_nm[BC_PROOF_MOST_LAYERS];
    bc_proof_box box;
    bool small;
    double bound;
} view;

static double phase_of(const view *v, size_t group, size_t layer)
{
    const bc_light *light = v->asked->light;
    return light->turn[v->box.material[layer]][light->group[group].first];
}

static void look_at(const bc_exclusion *asked, bc_excluder *excluder, const bc_open_box *box, view *v)
{
    const size_t layers = asked->sequences->layers;
    double turns = 0.0;
    *v = (view){.asked = asked, .excluder = excluder, .bound = -INFINITY};
    for (size_t j = 0; j < layers; j++) {
        v->centre_nm[j] = 0.5 * (box->low_nm[j] + box->high_nm[j]);
        v->half_nm[j] = 0.5 * (box->high_nm[j] - box->low_nm[j]);
    }
    v->box = (bc_proof_box){layers, asked->sequences->material + box->sequence * layers, v->centre_nm, v->half_nm};
    for (size_t j = 0; j < layers; j++)
        turns += phase_of(v, 0, j) * v->half_nm[j];
    v->small = turns < SMALL_RAD;
}

/* The bound that the first constraints give together. */
static double combine(const view *v, size_t constraints)
{
    const bc_planes planes = {constraints, v->box.layers, v->excluder->level, v->excluder->slope, v->half_nm};
    return bc_planes_least(&planes, v->asked->target);
}

/* One group: the bound that its rows give by themselves. */
static double look_at_group(view *v, size_t group, size_t first_row)
{
    const bc_light *light = v->asked->light;
    const bc_light_group *samples = &light->group[group];
    double bound = -INFINITY;
    size_t rows = 0, first, count = 0;
    bc_proof_reach(light, samples, &v->box, &v->excluder->scratch);
    v->excluder->work += (double)(samples->count * v->box.layers);
    for (size_t r = first_row; r < light->rows && light->row[r].group == group; r++, rows++) {
        const bc_light_row *row = &light->row[r];
        bound = fmax(bound, bc_proof_row_low(row, &v->excluder->scratch, samples) - light->slack * fabs(row->factor));
    }
    if (!v->small || bound > v->asked->target)
        return bound;
    bc_proof_slopes(light, samples, &v->box, &v->excluder->scratch);
    v->excluder->work += (double)(samples->count * v->box.layers);
    first = light->row[first_row].first;
    for (size_t r = first_row; r < first_row + rows; r++) {
        const bc_light_row *row = &light->row[r];
        bc_proof_row_planes(row, &v->excluder->scratch, samples, v->box.layers, v->excluder->level, v->excluder->value,
                            v->excluder->slope);
        for (size_t i = 0; i < row->constraints; i++)
            v->excluder->level[row->first + i] -= light->slack * fabs(row->factor);
        count += row->constraints;
    }
    for (size_t i = first; i < first + count; i++) {
        double least = v->excluder->level[i];
        for (size_t j = 0; j < v->box.layers; j++)
            least -= fabs(v->excluder->slope[j][i]) * v->half_nm[j];
        bound = fmax(bound, least);
    }
    return bound;
}

static double centre_of(const view *v)
{
    double largest = -INFINITY;
    for (size_t i = 0; i < v->asked->light->constraints; i++)
        largest = fmax(largest, v->excluder->value[i]);
    return largest;
}

double bc_box_bound(const bc_exclusion *asked, bc_excluder *excluder, const bc_open_box *box, size_t *group,
                    double *centre)
{
    const bc_light *light = asked->light;
    view v;
    size_t first_row = 0;
    double bound = -INFINITY;
    bool combined = false;
    look_at(asked, excluder, box, &v);
    *centre = INFINITY;
    if (*group < light->groups) {
        while (light->row[first_row].group != *group)
            first_row++;
        if (light->row[first_row].weight != NULL && !v.small)
            *group = light->groups;
    }
    if (*group < light->groups) {
        bound = look_at_group(&v, *group, first_row);
        if (bound > asked->target)
            return bound;
    }
    first_row = 0;
    for (size_t g = 0; g < light->groups; g++) {
        const bool average = light->row[first_row].weight != NULL; /* many samples, and little to say of a large box */
        if (average && v.small && !combined) {
            combined = true;
            bound = fmax(bound, combine(&v, light->row[first_row].first));
            if (bound > asked->target)
                return bound;
        }
        if (g != *group && (v.small || !average))
            bound = fmax(bound, look_at_group(&v, g, first_row));
        if (bound > asked->target) {
            *group = g;
            return bound;
        }
        while (first_row < light->rows && light->row[first_row].group == g)
            first_row++;
    }
    if (!v.small)
        return bound;
    *centre = centre_of(&v);
    return fmax(bound, combine(&v, light->constraints));
}

/* No layer of a stack that keeps the total can be thicker than what the others leave. Returns false for an empty box.
 */
static bool keep_total(const bc_exclusion *asked, bc_open_box *box)
{
    const size_t layers = asked->sequences->layers;
    double least = 0.0;
    for (size_t j = 0; j < layers; j++)
        least += box->low_nm[j];
    if (least > asked->total_nm)
        return false;
    for (size_t j = 0; j < layers; j++)
        box->high_nm[j] = fmin(box->high_nm[j], asked->total_nm - (least - box->low_nm[j]));
    return true;
}

static size_t widest(const bc_exclusion *asked, const bc_open_box *box, double *turns)
{
    const size_t layers = asked->sequences->layers;
    const unsigned *material = asked->sequences->material + box->sequence * layers;
    size_t widest = 0;
    *turns = -1.0;
    for (size_t j = 0; j < layers; j++) {
        const double here = asked->light->turn[material[j]][0] * (box->high_nm[j] - box->low_nm[j]);
        if (here > *turns) {
            *turns = here;
            widest = j;
        }
    }
    return widest;
}

static void keep_best(const bc_exclusion *asked, const bc_open_box *box, double centre, bc_search_job *job)
{
    const size_t layers = asked->sequences->layers;
    double total = 0.0;
    for (size_t j = 0; j < layers; j++)
        total += 0.5 * (box->low_nm[j] + box->high_nm[j]);
    if (centre >= job->best || total > asked->total_nm)
        return;
    job->best = centre;
    job->best_sequence = box->sequence;
    for (size_t j = 0; j < layers; j++)
        job->best_nm[j] = 0.5 * (box->low_nm[j] + box->high_nm[j]);
}

void bc_search_boxes(const bc_exclusion *asked, bc_excluder *excluder, bc_search_job *job)
{
    excluder->work = 0.0;
    while (job->boxes > 0 && job->looked_at < job->most_boxes) {
        bc_open_box *box = &job->box[job->boxes - 1], *other = box + 1;
        double centre, bound, turns;
        size_t split;
        if (!keep_total(asked, box)) {
            job->excluded += box->share;
            job->boxes--;
            continue;
        }
        bound = bc_box_bound(asked, excluder, box, &box->group, &centre);
        job->looked_at += 1.0;
        keep_best(asked, box, centre, job);
        split = widest(asked, box, &turns);
        if (bound > asked->target || turns < SMALLEST_RAD || job->boxes == job->room) {
            if (bound <= asked->target)
                job->unresolved = fmin(job->unresolved, bound);
            job->excluded += box->share;
            job->boxes--;
            if (job->boxes > 0 && bound > asked->target) /* what excluded this one may exclude its neighbour */
                job->box[job->boxes - 1].group = box->group;
            continue;
        }
        box->share *= 0.5;
        *other = *box;
        box->high_nm[split] = other->low_nm[split] = 0.5 * (box->low_nm[split] + box->high_nm[split]);
        job->boxes++;
    }
    job->work = excluder->work;
}
