/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef CALLOUT_BENCH_H
#define CALLOUT_BENCH_H
/*
 * Stacks and callouts made by hand, and one check with one finding.
 */
#include "airy.h"
#include <bloomcoat/check.h>
#include <bloomcoat/weight.h>

#define PI      3.14159265358979323846
#define DEGREES (PI / 180.0)

/* Materials made here live until the end of the test (add the fixture). */
void open_bench(void);
void close_bench(void);
bc_medium constant(const char *name, double complex N); /* N = n - ik */
bc_medium table(const char *name, size_t rows, const double *wavelength_nm, const double *n);

/* The stack of a closed form: no layer where its thickness is 0. */
typedef struct bench_stack {
    bc_layer layer[1];
    bc_stack stack; /* points to `layer`: not to be copied */
} bench_stack;
void lay_layer(bench_stack *bench, const single_layer *coating);

/* R every at most 0.5 at normal incidence, unpolarized; a test changes what it needs. */
bc_callout callout_of(double from_nm, double to_nm);

/* The finding of one callout on the stack's own glass; the callout must outlive it. */
bc_finding find(const bc_stack *stack, const bc_callout *callout, const bc_back *back);

/* The weight of a table with this text, owned by `materials`. */
const bc_weight *weight_from_file(bc_materials *materials, const char *text);

#endif
