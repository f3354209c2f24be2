/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kernel.h"
#include <sleef.h>

typedef double vector __attribute__((vector_size(32), may_alias));
#define KERNEL bc_kernel_avx2
#define LANES  4

static inline void vector_sincos(vector x, vector *sine, vector *cosine)
{
    const Sleef___m256d_2 both = Sleef_sincosd4_u35avx2(x);
    *sine = both.x;
    *cosine = both.y;
}
#define vector_exp Sleef_expd4_u10avx2
#define vector_log Sleef_logd4_u10avx2
#define vector_max _mm256_max_pd

#include "kernel_expm1.h"

#include "kernel_body.h"
