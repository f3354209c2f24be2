/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kernel.h"
#include <sleef.h>

typedef double vector __attribute__((vector_size(64), may_alias));
#define KERNEL bc_kernel_avx512
#define LANES  8

static inline void vector_sincos(vector x, vector *sine, vector *cosine)
{
    const Sleef___m512d_2 both = Sleef_sincosd8_u35avx512f(x);
    *sine = both.x;
    *cosine = both.y;
}
#define vector_exp Sleef_expd8_u10avx512f
#define vector_log Sleef_logd8_u10avx512f
#define vector_max _mm512_max_pd

#include "kernel_expm1.h"

#include "kernel_body.h"
