/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CIE_H
#define BLOOMCOAT_CIE_H
/*
 * The CIE's standard observers, illuminants and luminous efficiencies, 380 to 780 nm every 5 nm.
 */
#include <bloomcoat/api.h>

BC_API_BEGIN

#define BC_CIE_ROWS    81
#define BC_CIE_FROM_NM 380.0
#define BC_CIE_TO_NM   780.0
#define BC_CIE_STEP_NM 5.0

typedef enum bc_illuminant { BC_ILLUMINANT_D65, BC_ILLUMINANT_A, BC_ILLUMINANT_D50 } bc_illuminant;
#define BC_ILLUMINANTS 3
typedef enum bc_observer { BC_OBSERVER_2, BC_OBSERVER_10 } bc_observer; /* CIE 1931 and CIE 1964 */
#define BC_OBSERVERS 2

typedef struct bc_cie_row {
    double observer[BC_OBSERVERS][3];  /* x, y, z; y of the 2 degree observer is V(lambda), photopic */
    double illuminant[BC_ILLUMINANTS]; /* relative power per nm, 100 at 560 nm */
    double scotopic;                   /* V'(lambda) of the dark-adapted eye, CIE 1951 */
} bc_cie_row;

extern const bc_cie_row bc_cie_table[BC_CIE_ROWS];

BC_API_END

#endif
