/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PROOF_H
#define BLOOMCOAT_PROOF_H
/*
 * A lower bound, proved, on limit_used over all stacks of few layers.
 *
 * Branch and bound over boxes of thicknesses, for every sequence of the problem's materials in which neighbours differ.
 * A box is excluded when no stack in it can use less than 99 % of the best design known; what remains is halved. When
 * nothing remains, no stack of that many layers, up to that total thickness, uses less than that: not as far as was
 * searched, but at all. Bounds over a box: the hyperbolic distance by which the reflection coefficient can move, and
 * the slopes of all callouts together with a bound on their curvature (src/THEORY.md, section 13).
 *
 * What holds: a row counts at some of its wavelengths, angles and zones, which can only lower the bound; an average is
 * Simpson's rule as bc_check() takes it. A clear layer is exact. What an absorbing layer can change is bounded and
 * subtracted. A row for which no bound is known (A, and rows that ask for much reflectance or little transmittance
 * where something absorbs; light past its critical angle in a layer) is left out: the bound holds, and may be low. A
 * margin covers the roundings.
 */
#include <bloomcoat/draft.h>

BC_API_BEGIN

#define BC_PROOF_MOST_LAYERS 8

/* The share of the best limit_used that is aimed at: "within 1 % of the best possible". */
#define BC_PROOF_SHARE 0.99

/* Of a limit: no bound is looked for that is nearer to the best limit_used than this. */
#define BC_PROOF_NEGLIGIBLE 0.001

/* What a proof that nobody asked for may take (most_work): for each number of layers some three
 * seconds on two processors. */
#define BC_PROOF_WORK 1e9

/* With more layers than these that much is seldom enough: they are tried with this share of most_work. */
#define BC_PROOF_AT_ONCE 3
#define BC_PROOF_MORE    0.2

typedef struct bc_proof_options {
    size_t layers;   /* prove for up to so many, <= BC_PROOF_MOST_LAYERS */
    double total_nm; /* and up to so much in all; 0: bc_proof_total_nm() */
    /* For each number of layers (BC_PROOF_AT_ONCE), in samples of light followed through one layer; INFINITY: as much as it takes. No
     * clock: the same on every machine. */
    double most_work;
    size_t threads;      /* 0: as many as the machine has; the result does not depend on it */
    size_t known;        /* designs known, in any order; each makes the proof quicker */
    const bc_rung *rung; /* [known] of the problem's materials, limit_used as bc_problem_check() finds it */
    /* May be NULL. `fraction` is the share of the thicknesses excluded for the present number of layers, `limit_used`
     * the best so far; false stops the proof, and what was proved until then is returned. */
    bc_progress progress;
    void *progress_context;
} bc_proof_options;

/* What is known of stacks of up to `layers` layers. */
typedef struct bc_proof_step {
    size_t layers;
    double limit_used_at_least; /* no stack uses less; 0: nothing is proved */
    bool within;                /* that is at least BC_PROOF_SHARE times the best one's limit_used */
    double boxes;               /* looked at for this number of layers */
    bc_rung best;               /* the best known, handed in or found; on the problem's first glass */
} bc_proof_step;

typedef struct bc_proof {
    double total_nm_at_most;
    size_t steps;
    bc_proof_step *step; /* [steps] from 0 layers (the bare surface) on */
    bool stopped;        /* the progress asked for it, or most_work was not enough */
    char reason[256];    /* why the last step is not within BC_PROOF_SHARE, a sentence; empty when it is */
} bc_proof;

/* BC_ERROR_INPUT as bc_draft() has it, or when a table does not reach. On success *proof must be released with
 * bc_proof_clear(). */
bc_status bc_prove(const bc_design_problem *problem, const bc_proof_options *options, bc_proof *proof, bc_error *error);
void bc_proof_clear(bc_proof *proof);

/* bc_prove() after a bc_draft() of the same problem, with what that found as designs known. Better designs of few
 * layers that the proof finds become rungs (and candidates) of the draft, which then chooses anew by its aim; not where
 * the draft's start has fixed layers. Returns the number of rungs taken over in *taken (may be NULL). `options->known`
 * and `rung` are ignored. */
bc_status bc_draft_prove(const bc_design_problem *problem, const bc_draft_options *drafted,
                         const bc_proof_options *options, bc_draft_result *draft, bc_proof *proof, size_t *taken,
                         bc_error *error);

/* Whether a design of so many layers that uses so much is proved to be within 1 % of the best with up to so many. */
bool bc_proof_within(const bc_proof *proof, size_t layers, double limit_used);

/* The total that bc_prove() looks up to by itself: the problem's own limit, or the longest wavelength asked about where
 * that is less (few layers are no better when they are thicker, as a rule: common practice, no source). */
double bc_proof_total_nm(const bc_design_problem *problem);

BC_API_END

#endif
