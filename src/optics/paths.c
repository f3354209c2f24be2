/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kernel.h"

bc_kernel bc_kernel_for(bc_path path)
{
#ifdef BC_HAVE_X86_KERNELS
    __builtin_cpu_init();
    if ((path == BC_PATH_AUTO || path == BC_PATH_AVX512) && __builtin_cpu_supports("avx512f") &&
        __builtin_cpu_supports("avx512dq")) {
        return bc_kernel_avx512;
    }
    if ((path == BC_PATH_AUTO || path == BC_PATH_AVX2) && __builtin_cpu_supports("avx2") &&
        __builtin_cpu_supports("fma")) {
        return bc_kernel_avx2;
    }
#endif
    return path == BC_PATH_AUTO || path == BC_PATH_PORTABLE ? bc_kernel_portable : NULL;
}
