/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kernel.h"
#include <math.h>

typedef double vector;
#define KERNEL bc_kernel_portable
#define LANES  1

static inline void vector_sincos(vector x, vector *sine, vector *cosine)
{
    sincos(x, sine, cosine);
}
#define vector_expm1 expm1
#define vector_exp   exp
#define vector_log   log
#define vector_max   fmax

#include "kernel_body.h"
