/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SHOP_DEPOSIT_H
#define BLOOMCOAT_SHOP_DEPOSIT_H
/*
 * The optical half of the sheet.
 */
#include <bloomcoat/deposit.h>

/* Choose the monitor's wavelengths and fill in every layer's signal. The sheet's thicknesses and times are there
 * already. On failure the result may be half filled. */
bc_status bc_deposit_signals(const bc_stack *stack, const bc_monitor *monitor, bc_deposit_result *result,
                             bc_error *error);

#endif
