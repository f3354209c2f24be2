/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_STACK_H
#define BLOOMCOAT_STACK_H
/*
 * A stack: incident medium, layers, substrate.
 *
 * In memory the layers always run from the incident medium to the substrate, whichever way the file was written:
 * layer[0] is the outer layer, layer[layers - 1] is next to the substrate. What a person reads counts the other way, in
 * the order of deposition: see bc_layer_number(). Plain data, filled in by a reader or by hand.
 */
#include <bloomcoat/materials.h>

BC_API_BEGIN

typedef struct bc_medium {
    char name[BC_NAME_SIZE];
    const bc_dispersion *dispersion; /* not owned */
} bc_medium;

typedef struct bc_layer {
    bc_medium material;
    double thickness_nm; /* geometric, > 0 in a file */
    bool fixed;          /* no optimizer moves it */
} bc_layer;

typedef struct bc_stack {
    bc_medium incident;
    bc_medium substrate;
    size_t layers; /* 0: a bare surface */
    bc_layer *layer;
    bool from_substrate;         /* the file was written in order of deposition */
    char sha256[BC_SHA256_SIZE]; /* of the file it was read from; empty: made by hand, or a copy */
} bc_stack;

/* Read a stack file and resolve its materials. On success *stack must be released with bc_stack_clear(). */
bc_status bc_stack_read(const char *path, bc_materials *materials, bc_stack *stack, bc_error *error);

/* Room for `layers` layers, all zero. */
bc_status bc_stack_alloc(size_t layers, bc_stack *stack, bc_error *error);
bc_status bc_stack_copy(const bc_stack *from, bc_stack *to, bc_error *error);
void bc_stack_clear(bc_stack *stack);

double bc_stack_total_nm(const bc_stack *stack);

/* The number that people read of layer[index] among `layers`: 1 is next to the substrate, the first to be deposited. */
static inline size_t bc_layer_number(size_t layers, size_t index)
{
    return layers - index;
}

/* The other way: the index in memory of layer `number`, 1 to `layers`. */
static inline size_t bc_layer_index(size_t layers, size_t number)
{
    return layers - number;
}

/* Set `medium` to the material called `name`. */
bc_status bc_medium_find(bc_materials *materials, const char *name, const char *where, bc_medium *medium,
                         bc_error *error);

BC_API_END

#endif
