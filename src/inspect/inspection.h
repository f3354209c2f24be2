/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_INSPECTION_H
#define BLOOMCOAT_INSPECTION_H
/*
 * What the steps of one inspection pass on to each other.
 */
#include "solve.h"
#include <bloomcoat/inspect.h>

#define BC_ACCOUNTS 2

typedef struct bc_inspection {
    const bc_inspect_setup *setup;
    bc_readings readings;
    bc_fit fit;           /* with weak priors until the cause is found, then with those of the cause */
    bc_solution solution; /* the one that counts */
    /* What a verdict from the fit takes to have happened, as the priors it widens: the likeliest cause; and where that
     * is no run as the process makes it, but such a run cannot be ruled out either, that too. */
    size_t accounts;
    bc_extra account[BC_ACCOUNTS];
    bc_reading
        without_loss;      /* T with a loss that was found put back; its value and systematic are memory of the arena */
    double *dn;            /* [materials] of the solution */
    double most_left;      /* by a good fit, where the noise is not the measure: see bc_is_good_fit() */
    double *model_nm;      /* [layers] as the likeliest cause has them */
    bc_stack stood_for[2]; /* by the two likeliest causes */
    double *stood_for_dn[2];
    bc_arena arena; /* of the result */
    bc_inspect_result *result;
} bc_inspection;

/* Whether a fit leaves no more than noise, or than the instrument's uncertainty. That uncertainty is mostly one offset
 * of the whole scan: however large it is, a fit that leaves more than inspection->most_left has explained nothing. */
bool bc_is_good_fit(const bc_inspection *inspection, const bc_solution *solution);

/* Set inspection->most_left: half of the scan's rms about its own mean, or a twentieth of its level (R, or 1 - T), what
 * is more. */
void bc_find_most_left(bc_inspection *inspection);

/* What was measured, to be fitted as it was said to be. */
bc_fit_setup bc_fit_setup_of(const bc_inspection *inspection);

/* The one factor of all layers that explains most: result->scale and its like. */
bc_status bc_find_scale(bc_inspection *inspection, bc_error *error);

/* Of the work, for the progress. */
typedef enum bc_inspect_stage {
    BC_STAGE_FIT,
    BC_STAGE_CAUSE,
    BC_STAGE_NEXT_RUN,
    BC_STAGE_VERDICT,
    BC_STAGES
} bc_inspect_stage;
/* Report that this share of the stage is over. */
void bc_say_progress(const bc_inspection *inspection, bc_inspect_stage stage, double share);

/* The likeliest cause: result->cause and what belongs to it, model_nm; the alternatives. */
bc_status bc_find_cause(bc_inspection *inspection, bc_error *error);

/* Layers, groups and materials of the result, from the solution. */
bc_status bc_tell_layers(bc_inspection *inspection, bc_error *error);
bc_status bc_tell_groups(bc_inspection *inspection, bc_error *error);
bc_status bc_keep_information(bc_inspection *inspection, bc_error *error); /* result->information and pull */
bc_status bc_tell_materials(bc_inspection *inspection, bc_error *error);

/* More loss than the tables have. When some is found, inspection->fit and solution are made anew without it. */
bc_status bc_find_absorption(bc_inspection *inspection, bc_error *error);

/* Whether R and T were taken for each other. */
bc_status bc_try_hypotheses(bc_inspection *inspection, bc_error *error);

/* Close what is fitted so far and fit anew from all starts, errors and all. */
bc_status bc_fit_again(bc_inspection *inspection, const bc_fit_setup *setup, bc_error *error);

bc_status bc_set_overlays(bc_inspection *inspection, bc_error *error);
bc_status bc_set_next_run(bc_inspection *inspection, bc_error *error);
bc_status bc_judge_callouts(bc_inspection *inspection, bc_error *error);
/* Whether the scan is evidence at all; holds the verdict where it is not. Last of all. */
bc_status bc_weigh_evidence(bc_inspection *inspection, bc_error *error);

/* The fit on one account of what happened. */
typedef struct bc_belief {
    bc_fit fit;
    bc_solution solution;
} bc_belief;

typedef struct bc_beliefs {
    size_t count;
    bc_belief belief[BC_ACCOUNTS];
} bc_beliefs;

/* For verdicts (from_fit): fitted again on every account. Every layer may be off by what the process says or 3 %,
 * whichever is more, besides what the cause would do; every index by its index_sigma, or by 0.01 where nobody gave one
 * (common practice, no source). */
bc_status bc_believe(const bc_inspection *inspection, bc_beliefs *beliefs, bc_error *error);
void bc_beliefs_clear(bc_beliefs *beliefs);

/* A callout as layers of any thickness would meet it, on the glass it names. *prospect is NULL where that glass, its
 * back or a table is not there. */
typedef struct bc_prospect bc_prospect;
bc_status bc_prospect_open(const bc_inspect_setup *setup, const bc_callout *callout, bc_prospect **prospect,
                           bc_error *error);
/* Its worst value, or the worst of its averages over the angles; *at_nm (of a max or min row) where that is. dn
 * [materials]. */
double bc_prospect_value(bc_prospect *prospect, const double *thickness_nm, const double *dn, double *at_nm);
void bc_prospect_close(bc_prospect *prospect);

/* A callout on the fitted stack: its value, the standard deviation of that, and the probability that it meets the
 * limit, over `draws` draws from the covariance of the inspection's own fit. NAN where it cannot be computed. */
typedef struct bc_prediction {
    double value, sigma, share, at_nm;
    double part[BC_PARTS]; /* of sigma, by source */
} bc_prediction;

#define BC_NO_PREDICTION ((bc_prediction){NAN, NAN, NAN, NAN, {0}})

bc_status bc_predict(bc_inspection *inspection, const bc_callout *callout, size_t draws, bc_prediction *prediction,
                     bc_error *error);
/* The same for a verdict, on every belief: the one with the least probability of meeting the limit, and the one with
 * the most. */
bc_status bc_predict_believing(bc_inspection *inspection, bc_beliefs *beliefs, const bc_callout *callout, size_t draws,
                               bc_prediction *least, bc_prediction *most, bc_error *error);

#endif
