/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_H
#define BLOOMCOAT_H
/*
 * Every public header of libbloomcoat. Start reading at bloomcoat/surface.h (the physics), bloomcoat/spectrum.h (a
 * stack in one call), bloomcoat/check.h (the verdict) and bloomcoat/draft.h (where layers come from).
 *
 * GSL's error handler belongs to the whole process and aborts it by default. The library switches it off before calls
 * that may fail (gsl_set_error_handler_off()) and does not put it back, since another thread may be inside such a call.
 * A host that needs a handler of its own sets it again after it has called the library, and not while the library is
 * running.
 */
#include <bloomcoat/callout_words.h>
#include <bloomcoat/callouts.h>
#include <bloomcoat/chamber.h>
#include <bloomcoat/check.h>
#include <bloomcoat/checksum.h>
#include <bloomcoat/colour.h>
#include <bloomcoat/colour_path.h>
#include <bloomcoat/conditions.h>
#include <bloomcoat/control.h>
#include <bloomcoat/curved.h>
#include <bloomcoat/curves.h>
#include <bloomcoat/deposit.h>
#include <bloomcoat/design.h>
#include <bloomcoat/dispersion.h>
#include <bloomcoat/draft.h>
#include <bloomcoat/error.h>
#include <bloomcoat/inspect.h>
#include <bloomcoat/layer_index.h>
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
#include <bloomcoat/sensitivity.h>
#include <bloomcoat/shop.h>
#include <bloomcoat/spectrum.h>
#include <bloomcoat/stack.h>
#include <bloomcoat/surface.h>
#include <bloomcoat/version.h>
#include <bloomcoat/yield.h>
#include <bloomcoat/zones.h>

#endif
