/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CALLOUT_WORDS_H
#define BLOOMCOAT_CALLOUT_WORDS_H
/*
 * Callouts in the words of a drawing: "Ravg <= 0.5 % and Rmax <= 1 %, 425-675 nm, AOI 0-30 deg, unpolarized".
 *
 * A text is one or several notes, parted by semicolons or line ends. A note has one or several limits and the
 * conditions they hold under: bands or single wavelengths, angles of incidence, polarization, surface or part. A
 * condition before the first limit or after the last one holds for all limits of the note; otherwise each limit has its
 * own. Nothing is guessed: what a note leaves open, or what could be read in two ways, is an error that shows the
 * place. Only what drawings commonly leave out is assumed, and each assumption is reported: normal incidence,
 * unpolarized light, the coated surface alone, and a limit at every wavelength of its band (common practice, no
 * source).
 */
#include <bloomcoat/callouts.h>

BC_API_BEGIN

#define BC_CALLOUT_WORDS_SIZE 2048 /* bytes of a text at most, its end included */
#define BC_CALLOUT_WORDS_ROWS 64   /* callouts that a text may ask for */

/* What a text left out, and what it was therefore taken to mean; and words that no callout holds. */
typedef enum bc_callout_assumption {
    BC_ASSUMED_ANGLE = 1,        /* 0 degrees */
    BC_ASSUMED_POLARIZATION = 2, /* unpolarized */
    BC_ASSUMED_SURFACE = 4,      /* this coated surface alone, not the part */
    BC_ASSUMED_EXTREME = 8,      /* the limit at every wavelength: the statistic was not stated for a band */
    BC_SAID_BOTH_SURFACES = 16,  /* "both surfaces": each of the two is to meet the limits */
    BC_SAID_STRICTLY = 32,       /* "<" or ">", read as "<=" or ">=" */
    BC_ASSUMED_ILLUMINANT = 64,  /* of a colour: D65 */
    BC_ASSUMED_OBSERVER = 128,   /* of a colour: 2 degrees */
    BC_SAID_ANOTHER_LIGHT = 256, /* an illuminant for a colour, beside a luminous value, whose own is D65 */
} bc_callout_assumption;

/* Append the callouts of `text` (UTF-8) to *callouts, which may hold others; their names are made from the limit and
 * the band, and differ from those there. `*assumptions` (may be NULL) gets bits of bc_callout_assumption added. On an
 * error *callouts is as it was; the message is one sentence, and below it the text with a caret under the place. */
bc_status bc_callouts_parse(const char *text, bc_callouts *callouts, unsigned *assumptions, bc_error *error);

BC_API_END

#endif
