/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspection.h"
#include <gsl/gsl_eigen.h>
#include <math.h>
#include <stdlib.h>

#define WEAK         0.1 /* of that width: a combination known no better than this is not known */
#define MEMBER       0.3 /* of the largest part in it */
#define BETTER       4.0 /* times better than any of its layers must a combination be known to be worth telling */
#define NEARLY_ONE   0.1
#define NOT_BOTHERED 3.0 /* times worse, and still told as a plain sum, which people understand */

/* Eigenvalues rising. */
static bc_status eigen(size_t size, gsl_matrix *matrix, gsl_vector *value, gsl_matrix *vectors, bc_error *error)
{
    gsl_eigen_symmv_workspace *workspace = gsl_eigen_symmv_alloc(size);
    if (workspace == NULL)
        return bc_fail_memory(error);
    gsl_eigen_symmv(matrix, value, vectors, workspace);
    gsl_eigen_symmv_sort(value, vectors, GSL_EIGEN_SORT_VAL_ASC);
    gsl_eigen_symmv_free(workspace);
    return BC_OK;
}

typedef struct eigen_space {
    gsl_matrix *matrix, *vectors;
    gsl_vector *values;
} eigen_space;

static void close_space(eigen_space *space)
{
    gsl_matrix_free(space->matrix);
    gsl_matrix_free(space->vectors);
    gsl_vector_free(space->values);
}

static bc_status open_space(size_t size, eigen_space *space, bc_error *error)
{
    space->matrix = gsl_matrix_alloc(size, size);
    space->vectors = gsl_matrix_alloc(size, size);
    space->values = gsl_vector_alloc(size);
    if (space->matrix == NULL || space->vectors == NULL || space->values == NULL) {
        close_space(space);
        return bc_fail_memory(error);
    }
    return BC_OK;
}

static size_t root_of(const size_t *parent, size_t j)
{
    while (parent[j] != j)
        j = parent[j];
    return j;
}

/* Layers that lie together in a combination that is not known belong together. */
static void unite(const eigen_space *space, size_t layers, size_t *parent)
{
    for (size_t e = 0; e < layers; e++) {
        size_t first = layers;
        double largest = 0.0;
        if (!(sqrt(fmax(0.0, gsl_vector_get(space->values, e))) > WEAK))
            continue;
        for (size_t j = 0; j < layers; j++)
            largest = fmax(largest, fabs(gsl_matrix_get(space->vectors, j, e)));
        for (size_t j = 0; j < layers; j++) {
            if (fabs(gsl_matrix_get(space->vectors, j, e)) < MEMBER * largest)
                continue;
            if (first == layers)
                first = root_of(parent, j);
            else
                parent[root_of(parent, j)] = first;
        }
    }
}

static bc_status find_sets(const bc_inspect_result *result, size_t *parent, bc_error *error)
{
    eigen_space space = {0};
    const size_t layers = result->layers;
    bc_status status = open_space(layers, &space, error);
    if (status != BC_OK)
        return status;
    for (size_t i = 0; i < layers; i++)
        for (size_t k = 0; k < layers; k++)
            gsl_matrix_set(space.matrix, i, k,
                           result->covariance[i * layers + k] /
                               ((BC_WEAK_SHARE * result->layer[i].design_nm + BC_WEAK_NM) *
                                (BC_WEAK_SHARE * result->layer[k].design_nm + BC_WEAK_NM)));
    status = eigen(layers, space.matrix, space.values, space.vectors, error);
    for (size_t j = 0; j < layers; j++)
        parent[j] = j;
    if (status == BC_OK)
        unite(&space, layers, parent);
    close_space(&space);
    return status;
}

static double variance_of(const bc_inspect_result *result, const bc_layer_group *group, const double *n)
{
    double sum = 0.0;
    for (size_t a = 0; a < group->count; a++)
        for (size_t b = 0; b < group->count; b++)
            sum += group->weight[a] * group->weight[b] * n[group->layer[a]] * n[group->layer[b]] *
                   result->covariance[group->layer[a] * result->layers + group->layer[b]];
    return fmax(0.0, sum);
}

/* The plain sum of optical thicknesses, when it is known nearly as well as the best combination is. */
static void round_to_sum(const bc_inspect_result *result, bc_layer_group *group, const double *n, const double *exact)
{
    bool near = true;
    for (size_t a = 0; a < group->count; a++) {
        near = near && fabs(group->weight[a] - 1.0) <= NEARLY_ONE;
        group->weight[a] = 1.0;
    }
    group->is_sum = near && sqrt(variance_of(result, group, n)) <= NOT_BOTHERED * group->sigma_nm;
    for (size_t a = 0; !group->is_sum && a < group->count; a++)
        group->weight[a] = exact[a];
    group->sigma_nm = sqrt(variance_of(result, group, n));
}

/* The best known combination in terms of optical thickness: the eigenvector of the smallest variance. */
static bc_status combine(const bc_inspect_result *result, bc_layer_group *group, const double *n, bc_error *error)
{
    eigen_space space = {0};
    double largest = 0.0;
    bc_status status = open_space(group->count, &space, error);
    if (status != BC_OK)
        return status;
    for (size_t a = 0; a < group->count; a++)
        for (size_t b = 0; b < group->count; b++)
            gsl_matrix_set(space.matrix, a, b,
                           n[group->layer[a]] * n[group->layer[b]] *
                               result->covariance[group->layer[a] * result->layers + group->layer[b]]);
    status = eigen(group->count, space.matrix, space.values, space.vectors, error);
    for (size_t a = 0; a < group->count; a++) {
        group->weight[a] = gsl_matrix_get(space.vectors, a, 0);
        largest = fabs(group->weight[a]) > fabs(largest) ? group->weight[a] : largest;
    }
    for (size_t a = 0; a < group->count; a++)
        group->weight[a] /= largest;
    group->sigma_nm = sqrt(variance_of(result, group, n));
    for (size_t a = 0; a < group->count; a++)
        gsl_vector_set(space.values, a, group->weight[a]);
    round_to_sum(result, group, n, space.values->data);
    close_space(&space);
    return status;
}

static bool worth_telling(const bc_inspect_result *result, const bc_layer_group *group, const double *n)
{
    for (size_t a = 0; a < group->count; a++)
        if (result->layer[group->layer[a]].sigma_nm * n[group->layer[a]] < BETTER * group->sigma_nm)
            return false;
    return true;
}

static bc_status take_group(bc_inspect_result *result, bc_layer_group *group, const double *n, double at_nm,
                            bc_error *error)
{
    bc_status status = combine(result, group, n, error);
    if (status != BC_OK || !worth_telling(result, group, n))
        return status;
    group->at_nm = at_nm;
    for (size_t a = 0; a < group->count; a++) {
        const bc_layer_estimate *layer = &result->layer[group->layer[a]];
        group->design_optical_nm += group->weight[a] * n[group->layer[a]] * layer->design_nm;
        group->optical_nm += group->weight[a] * n[group->layer[a]] * layer->fitted_nm;
        result->layer[group->layer[a]].group = result->groups;
        result->layer[group->layer[a]].off = false;
    }
    result->groups++;
    return BC_OK;
}

/* result->group[] holds memory for every layer in its first element. */
static bc_status gather(bc_inspection *inspection, const size_t *parent, const double *n, double at_nm, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    size_t *layer = result->group[0].layer;
    double *weight = result->group[0].weight;
    bc_status status = BC_OK;
    for (size_t root = 0; status == BC_OK && root < result->layers; root++) {
        bc_layer_group group = {.layer = layer, .weight = weight};
        const size_t before = result->groups;
        for (size_t j = 0; j < result->layers; j++)
            if (root_of(parent, j) == root)
                group.layer[group.count++] = j;
        if (group.count < 2)
            continue;
        status = take_group(result, &group, n, at_nm, error);
        if (result->groups > before) {
            result->group[before] = group;
            layer += group.count;
            weight += group.count;
        }
    }
    return status;
}

bc_status bc_tell_groups(bc_inspection *inspection, bc_error *error)
{
    const bc_fit *fit = &inspection->fit;
    const size_t layers = inspection->result->layers, middle = fit->setup.count / 2;
    bc_status status;
    size_t *parent;
    double *n;
    if (layers < 2)
        return BC_OK;
    parent = calloc(layers, sizeof *parent);
    n = calloc(layers, sizeof *n);
    status = parent == NULL || n == NULL ? bc_fail_memory(error) : find_sets(inspection->result, parent, error);
    for (size_t j = 0; status == BC_OK && j < layers; j++)
        n[j] = fit->simulated.index[fit->simulated.material[j]].n[middle];
    if (status == BC_OK)
        status = gather(inspection, parent, n, fit->setup.reading[0]->wavelength_nm[fit->setup.first + middle], error);
    free(parent);
    free(n);
    return status;
}
