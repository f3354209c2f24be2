/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_PLOT_LENS_H
#define BLOOMCOAT_REPORT_PLOT_LENS_H

#include "lens_words.h"
#include "plot_words.h"

/* The panels without notes, for a page too. */
void bc_plot_lens_panels(bc_chart *chart, const bc_lens_report *report);

#endif
