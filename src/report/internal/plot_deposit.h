/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_PLOT_DEPOSIT_H
#define BLOOMCOAT_REPORT_PLOT_DEPOSIT_H

#include "deposit_words.h"
#include "plot_words.h"

/* The panels without notes, for a page too. The sheet has a signal. */
void bc_plot_deposit_panels(bc_chart *chart, const bc_deposit_report *report);

#endif
