/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_API_H
#define BLOOMCOAT_API_H
/*
 * What stands around the declarations of every public header: they have C linkage in C++, and they are all that a
 * shared library shows of itself.
 */

#if defined(__GNUC__)
#define BC_API_SHOWN     _Pragma("GCC visibility push(default)")
#define BC_API_SHOWN_END _Pragma("GCC visibility pop")
#else
#define BC_API_SHOWN
#define BC_API_SHOWN_END
#endif

#ifdef __cplusplus
#define BC_API_BEGIN                                                                                                   \
    BC_API_SHOWN extern "C"                                                                                            \
    {
#define BC_API_END                                                                                                     \
    }                                                                                                                  \
    BC_API_SHOWN_END
#else
#define BC_API_BEGIN BC_API_SHOWN
#define BC_API_END   BC_API_SHOWN_END
#endif

#endif
