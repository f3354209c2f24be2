/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_H
#define BLOOMCOAT_H
/*
 * Every public header of libbloomcoat. Start reading at bloomcoat/surface.h (the physics), bloomcoat/spectrum.h (a stack
 * in one call), bloomcoat/check.h (the verdict) and bloomcoat/draft.h (where layers come from).
 */
#include <bloomcoat/callout_words.h>
#include <bloomcoat/callouts.h>
#include <bloomcoat/chamber.h>
#include <bloomcoat/check.h>
#include <bloomcoat/checksum.h>
#include <bloomcoat/conditions.h>
#include <bloomcoat/curved.h>
#include <bloomcoat/curves.h>
#include <bloomcoat/deposit.h>
#include <bloomcoat/design.h>
#include <bloomcoat/dispersion.h>
#include <bloomcoat/draft.h>
#include <bloomcoat/error.h>
#include <bloomcoat/inspect.h>
#include <bloomcoat/lens.h>
#include <bloomcoat/materials.h>
#include <bloomcoat/measured.h>
#include <bloomcoat/measurement.h>
#include <bloomcoat/page.h>
#include <bloomcoat/part.h>
#include <bloomcoat/plot.h>
#include <bloomcoat/polarization.h>
#include <bloomcoat/process.h>
#include <bloomcoat/profile.h>
#include <bloomcoat/proof.h>
#include <bloomcoat/quote.h>
#include <bloomcoat/refine.h>
#include <bloomcoat/report.h>
#include <bloomcoat/robust.h>
#include <bloomcoat/sampling.h>
#include <bloomcoat/scatter.h>
#include <bloomcoat/spectrum.h>
#include <bloomcoat/stack.h>
#include <bloomcoat/surface.h>
#include <bloomcoat/version.h>
#include <bloomcoat/yield.h>
#include <bloomcoat/zones.h>

#endif
