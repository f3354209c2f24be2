/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_INSPECT_H
#define BLOOMCOAT_INSPECT_H
/*
 * A measurement against its design and its callouts: does the witness meet the drawing, what did the run do, what
 * should the next run change.
 *
 * WHAT IS KNOWN OF A MEASURED VALUE. value_i = true_i + b u_i + s_i e_i, b and all e_i normal numbers of mean 0 and
 * standard deviation 1. u_i is the standard uncertainty that all wavelengths share (calibration, reference mirror):
 * expanded uncertainty / coverage factor, and the measurement's own column added in quadrature. R and T have a b each.
 * s_i is noise, independent from wavelength to wavelength: from repeated scans, pooled over neighbouring wavelengths;
 * of a single scan it is estimated, one figure for the whole scan, from its
 * fourth differences (their median absolute value times 1.4826 / sqrt(70); on uneven steps the contrasts of five
 * neighbours that no cubic can pass), less what the fitted stack explains of them, and at least the step the values are
 * rounded to / sqrt(12). That this estimate has an error of its own is integrated over.
 *
 * THE RULE. Guard bands as in JCGM 106:2012 (sect. 8.3; from memory) and ISO 14253-1:2017 (from memory): what is in
 * doubt is neither accepted nor rejected. With the confidence c (0.95):
 *   mean rows   The band mean of the measured points (trapezoid weights, the ends of the band interpolated) has u^2 =
 *               (w.u)^2 + sum (w_i s_i)^2: the noise averages, the systematic part does not. Accept when P(true mean
 *               meets the limit) >= c, reject when that is <= 1 - c.
 *   every rows  P = P(all true_i <= limit) = E_b prod_i Phi((limit - v_i - b u_i) / s_i), a flat prior for true_i.
 *               Accept when P >= c. Reject only when even a true spectrum that lies at the limit everywhere in the band
 *               would show an excess as large as the largest seen in fewer than 1 - c of scans: 1 - E_b prod Phi((x - b
 *               u_i) / s_i) <= 1 - c. Else undecided. So noise alone scraps no good lot.
 *   every rows on the curve  Where the fit is good and leaves nothing but noise, the curve behind the noise is
 * estimated: the fitted stack plus a residual that varies no faster than a fringe can, with their joint covariance C
 *               (from the noise; the fit smooths and does nothing else: what it says of offset, scale or wavelength is
 *               left in). true = curve - b u - d, d ~ N(0, C). Over 2000 draws (JCGM 101:2008; from memory) accept when
 *               the worst value of a draw meets the limit in at least c of them. Reject when a curve that lies at the
 *               limit everywhere would be estimated beyond it as far as this one somewhere in at most 1 - c of them.
 *               So the largest of many noisy points is no longer taken for the worst of the curve.
 * A line narrower than that is smoothed away; judge_points judges on the points in spite of a good fit.
 * With s = 0 and u = 0 both are the plain comparison. A limit "at least" is the same with all signs turned. Where the
 * steps are wide against the fringe, points between them are interpolated (cubic), so that no peak is stepped over.
 *
 * OUTLIERS. A single reading that no noise explains is left out of the fit by a robust loss (Tukey's biweight), and
 * named. It accepts nothing: judged on the curve, a row is undecided when such a reading in its band would not be
 * accepted if it were true; in a mean it counts with the worse of itself and what the fit expects; point by point it is
 * a point as any. A value that is missing beside the worst of the band leaves a max or min row undecided.
 *
 * NEVER ACCEPTED. A band that the scan does not cover wholly, or covers in steps wider than an eighth of the narrowest
 * fringe from_nm^2 / (2 sum n d) the design can have, is undecided (rejected when the covered part rejects; a
 * weighted average is accepted where no value of R or T in the rest could matter, which is said; a colour never). So is
 * a row about another quantity, angle, polarization, scope or glass than what was measured, unless one of these helps:
 *   angle       measured at 15 degrees at most for a row at one angle of 15 at most: the value is corrected by the
 *               difference of the two in the fitted stack, and the correction c counts as known to c / sqrt(3)
 *               (rectangular of half-width c; GUM, JCGM 100:2008, 4.3.7), if the fit is good.
 *   back        a surface row, and a part with an uncoated back measured: the incoherent sum of <bloomcoat/part.h> is
 *               solved for the front alone, wavelength by wavelength and exactly; what the layers absorb comes from the
 *               fitted stack. Uncertainties are passed on by the derivative.
 *   from_fit      asked for and a good fit: the row is judged on the prediction of the fitted stack, an indirect
 *               measurement (GUM, JCGM 100:2008, 4.1). Layers are drawn from the fit's covariance (which has u and the
 *               noise in it) and the row is looked at in each draw (JCGM 101:2008), with the row's slope as a control
 *               variate. Accept when at least c of them meet the limit, reject when at most 1 - c do. The fit's priors
 *               are those of the likeliest cause. Where that is no run as the process makes it, but such a run still
 * has a probability above 1 - c of the two, both must accept, or both reject: of two that are nearly as likely the one
 * picked is picked for its luck, and an estimate that leans on it alone is off by more than it says.
 */
#include <bloomcoat/check.h>
#include <bloomcoat/colour.h>
#include <bloomcoat/measurement.h>
#include <bloomcoat/process.h>

BC_API_BEGIN

/* Called now and then with how far an inspection, or that of a lot, is: 0 to 1 of its work, never less than before. */
typedef void (*bc_inspect_progress)(void *context, double fraction);

typedef struct bc_inspect_setup {
    const bc_stack *design;       /* its substrate is the glass of what was measured */
    bc_back back;                 /* of what was measured. BC_BACK_NONE: ground or blackened, the front alone is seen */
    bc_back part_back;            /* what rows with scope `part` mean; BC_BACK_NONE: the part as measured */
    double aoi_rad;               /* of the measurement, [0, pi/2) */
    bc_polarization polarization; /* of the measurement: BC_POL_UNPOLARIZED, _S or _P */
    const bc_callouts *callouts;  /* NULL: no verdict, only what the run did */
    size_t glasses;               /* other glasses that callouts name, for what is predicted on them; may be 0 */
    const bc_medium *glass;
    /* What else was at hand and may have been taken by mistake: as a layer besides those of the design, and as the
     * substrate besides the glasses above. */
    size_t layer_media, substrate_media;
    const bc_medium *layer_medium, *substrate_medium;
    const bc_process *process; /* NULL: nothing is known of the chamber */
    double uncertainty;        /* expanded, a fraction (absolute, not relative), >= 0, the same for R and T */
    /* Of the instrument's wavelengths, and of R as a share of itself (the reference mirror's; T is a ratio to the empty
     * beam and has none), both expanded by the same factor. */
    double wavelength_uncertainty_nm, scale_uncertainty;
    double coverage_factor; /* k of all of them, > 0 */
    double confidence;      /* [0.5, 1) */
    bool fit_index;         /* fit an offset of n for every layer material too */
    bool from_fit;          /* judge on the fitted stack what was not measured */
    bool judge_points;      /* max and min rows on each measured point, never on the curve behind the noise: a line too
                               narrow for any stack, which a curve smooths away, then counts */
    /* Why the instrument cannot be relied on, in words (a bare substrate off its index table); NULL: nothing is known
     * against it. Then every verdict is held. */
    const char *instrument_doubt;
    bool witness_certain;         /* somebody answered for the witness and its scale: BC_HELD_UNIT and _WITNESS are not
                                     looked for */
    bc_inspect_progress progress; /* NULL: nobody waits */
    void *progress_context;
} bc_inspect_setup;

/* Normal incidence, unpolarized, ground back, no uncertainty with k = 2, confidence 0.95. */
bc_inspect_setup bc_inspect_defaults(const bc_stack *design);

/* ---- the verdict ---- */

typedef enum bc_verdict { BC_ACCEPT, BC_REJECT, BC_UNDECIDED } bc_verdict;

/* Why a row is undecided. */
typedef enum bc_undecided {
    BC_DECIDED,
    BC_UNDECIDED_UNCERTAINTY,  /* too near the limit for this uncertainty */
    BC_UNDECIDED_NOT_COVERED,  /* the scan does not reach over the whole band */
    BC_UNDECIDED_STEPS,        /* steps too wide to see a fringe, or a gap */
    BC_UNDECIDED_OUTLIER,      /* a reading that was left out of the fit would decide otherwise */
    BC_UNDECIDED_MISSING,      /* a value is missing beside the one that decides */
    BC_UNDECIDED_HELD,         /* the scan is no evidence: see bc_evidence */
    BC_UNDECIDED_QUANTITY,     /* another quantity was measured */
    BC_UNDECIDED_ANGLE,        /* at another angle */
    BC_UNDECIDED_POLARIZATION, /* in another polarization */
    BC_UNDECIDED_SCOPE,        /* a surface where the row is for a part, or the other way, or another back */
    BC_UNDECIDED_GLASS,        /* on another glass */
} bc_undecided;

/* What a verdict rests on. */
typedef enum bc_judged {
    BC_JUDGED_NOT,     /* nothing measured bears on the row */
    BC_JUDGED_AVERAGE, /* the mean of the measured points */
    BC_JUDGED_POINTS,  /* each measured point by itself */
    BC_JUDGED_CURVE,   /* the curve behind the noise */
    BC_JUDGED_FIT,     /* the fitted stack alone (from_fit) */
} bc_judged;

/* Why a max or min row is judged point by point. */
typedef enum bc_points_reason {
    BC_POINTS_NOT,
    BC_POINTS_CHOSEN,    /* bc_inspect_setup.judge_points */
    BC_POINTS_NO_FIT,    /* no good fit */
    BC_POINTS_LOSS,      /* more loss than the tables have */
    BC_POINTS_NO_NOISE,  /* the noise is not known, or below 0.001 % */
    BC_POINTS_FRINGES,   /* the layers are so thick that no curve is smooth */
    BC_POINTS_FEW,       /* too few points */
    BC_POINTS_NOT_NOISE, /* what the fit leaves is no noise */
    BC_POINTS_OUTSIDE,   /* the band reaches beyond the tables */
    BC_POINTS_QUANTITY,  /* A is a difference of two scans */
} bc_points_reason;

/* What an uncertainty is made of. */
typedef enum bc_uncertainty_part {
    BC_PART_NOISE,
    BC_PART_READING, /* that of the readings which all wavelengths share */
    BC_PART_SCALE,
    BC_PART_WAVELENGTH,
    BC_PART_ANGLE,   /* of the correction to the callout's angle */
    BC_PART_INDEX,   /* what was known of the indices beforehand, */
    BC_PART_PROCESS, /* of the layers */
    BC_PARTS
} bc_uncertainty_part;

#define BC_INSPECT_TEXT_SIZE 320

typedef struct bc_inspect_finding {
    const bc_callout *callout;
    bc_verdict verdict;
    bc_undecided reason;             /* BC_DECIDED unless the verdict is undecided */
    char text[BC_INSPECT_TEXT_SIZE]; /* the reason as one sentence with its numbers; empty when decided */

    /* The measured value after the corrections below: the worst in what was covered of the band, or the mean. NAN when
     * nothing measured bears on this row. Judged on the curve: the worst of the curve. With from_fit: of the fitted
     * stack. */
    double value;
    double limit_used;
    double at_nm;              /* where it is worst; of a mean row where the worst point of the band is */
    double random, systematic; /* standard uncertainties of `value`; of an every row those at at_nm */
    double part[BC_PARTS];     /* the same by source; the squares add up to that of both; NAN of a colour, and when not
                                  judged */
    double probability;        /* that the true value meets the limit (at every wavelength); NAN when not judged */
    double excess_probability; /* every rows: how often a spectrum at the limit would show this excess; else NAN */
    double margin;             /* the values could be worse by this everywhere and the row be just accepted; < 0: they
                                  would have to be better by so much; NAN when not judged */
    size_t samples;            /* measured points in the band */
    double covered_from_nm, covered_to_nm; /* of the band; NAN when none of it is */
    double rest; /* of an average's weight, not measured and accepted all the same: no value there matters; else 0 */
    double widest_step_nm; /* in the band, 0 with one sample */
    double step_limit_nm;  /* what it may be at most */

    bool angle_corrected; /* measured near normal incidence, corrected to the row's angle; by at most: */
    double largest_correction;
    bool back_removed; /* the back's share was taken out */
    bool from_fit;     /* judged on the fitted stack */
    bc_judged judged;
    /* An outlier beside the value that decides, or the reading that keeps it undecided: an outlier or one that is
     * missing. NAN: none. */
    double doubt_nm, doubt_value;
    bc_points_reason points_because; /* BC_POINTS_NOT unless judged point by point */

    /* The fitted stack on the verdict's samples, and the standard uncertainty of that; NAN: it cannot be computed. */
    double predicted, predicted_uncertainty;
} bc_inspect_finding;

/* Why a scan is no evidence, whatever its values say of the callouts. Looked for in this order. */
typedef enum bc_held {
    BC_HELD_NOT,
    BC_HELD_INSTRUMENT, /* bc_inspect_setup.instrument_doubt */
    BC_HELD_CONSTANT,   /* one number throughout; or a fifth of the scan (ten values at least) exactly 0; or ten values
                           or more in a row the same, where those beside scatter by 1.5 last digits or more */
    BC_HELD_IMPOSSIBLE, /* values below 0 or above 1 by more than k u and four standard deviations of the noise */
    BC_HELD_EMPTY,      /* a fifth of the values 0 or less, where the design has more than k u and that noise hide */
    BC_HELD_UNIT,       /* more than four times as much all over would lie near the design */
    BC_HELD_WITNESS,    /* nothing explains the scan, and its rms distance from the design is more than four times what
                           errors of the process's own size make, or what the best fit leaves is more than that (each
                           layer, the run, each index: root of the sum of their squares; 2 %, 2 % and 0.02 where no
                           process says, common practice, no source); or the likeliest cause is a scale of the readings
                           off by more than a quarter (common practice, no source) */
} bc_held;

typedef struct bc_evidence {
    bc_held held;
    bc_quantity quantity;  /* of R or T, in which it was seen */
    size_t count, of;      /* values concerned, of all */
    size_t first;          /* the first of them: index into the measurement */
    double value;          /* there; of BC_HELD_UNIT their mean */
    double found, allowed; /* rms distance from the design, and what would be usual; of BC_HELD_IMPOSSIBLE how far a
                              value may lie beyond 0 or 1; of BC_HELD_UNIT the factor, and the mean of the design; of
                              a scale that cannot be how far it is off, and 0.25 */
    char text[BC_INSPECT_TEXT_SIZE]; /* the reason in words; empty: not held */
} bc_evidence;

/* ---- against the design ---- */

/* Measured, design and fitted, for R and for T. The points that every table reaches; `outside` of the scan were not. */
typedef struct bc_overlay {
    size_t count; /* 0: not measured */
    double *wavelength_nm;
    double *measured, *design, *fitted; /* fractions; `fitted` without the offset of the measurement */
    double *from_design, *from_fitted;  /* measured - design, measured - fitted - offset */
    double *noise, *systematic;         /* s_i and u_i */
    double rms, worst, worst_nm;        /* of from_design; `worst` has its sign */
    double rms_fitted;                  /* of from_fitted */
    double offset, offset_sigma;        /* of the whole scan as fitted; */
    double offset_prior;                /* and what it was known to beforehand, the mean of u_i */
} bc_overlay;

/* The colour of one of its curves: overlay->measured, ->design or ->fitted, with straight lines between its points.
 * False where it does not reach from 380 to 780 nm, or a step there is wider than 20 nm (the widest that CIE 015:2018
 * has tables for; from memory). */
bool bc_overlay_colour(const bc_overlay *overlay, const double *value, bc_illuminant illuminant, bc_observer observer,
                       bc_colour *colour);

/* Where the noise is known from. */
typedef enum bc_noise_source {
    BC_NOISE_UNKNOWN,  /* too few points to say: taken as none */
    BC_NOISE_REPEATS,  /* repeated scans */
    BC_NOISE_SCAN,     /* differences within a single scan */
    BC_NOISE_ROUNDING, /* less than the last digit the values were given with */
} bc_noise_source;

typedef struct bc_noise {
    bc_noise_source source;
    double rms;     /* fraction */
    double freedom; /* degrees of freedom of that estimate */
} bc_noise;

/* A single reading that no noise explains: it is left out of the fit, and accepts nothing. */
typedef struct bc_outlier {
    bc_quantity quantity;
    double wavelength_nm, value, away; /* fractions; away: from what the fit expects, with its sign */
    double in_noise;                   /* the same over the noise */
} bc_outlier;

#define BC_MOST_OUTLIERS 8

/* ---- what the run did ---- */

/* What explains the scan, the single causes that a chamber and an instrument have. */
typedef enum bc_cause_kind {
    BC_CAUSE_AS_DESIGNED,
    BC_CAUSE_RANDOM,          /* layers off by themselves, as the process scatters or more */
    BC_CAUSE_COMMON_FACTOR,   /* all layers by one factor */
    BC_CAUSE_MATERIAL_FACTOR, /* all layers of one material by one factor */
    BC_CAUSE_LAYER,           /* one layer */
    BC_CAUSE_INDEX,           /* n of one material */
    BC_CAUSE_WAVELENGTH,      /* the instrument's wavelengths */
    BC_CAUSE_READING_SCALE,   /* every value by one factor */
    BC_CAUSE_READING_OFFSET,  /* every value by one amount */
    BC_CAUSE_ANGLE,           /* measured at another angle */
    BC_CAUSE_SWAPPED,         /* two neighbouring layers */
    BC_CAUSE_REVERSED,        /* all layers in reverse order */
    BC_CAUSE_MISSING,         /* one layer */
    BC_CAUSE_OTHER_MATERIAL,  /* one layer of another material at hand */
    BC_CAUSE_OTHER_SUBSTRATE, /* another glass at hand */
    BC_CAUSE_BACK_SEEN,       /* another second surface than said */
    BC_CAUSE_BARE,            /* no coating */
    BC_CAUSE_UNEXPLAINED,     /* none of these */
    BC_CAUSES
} bc_cause_kind;

/* A cause with its size. Probabilities are Bayesian: a run as the process makes it (as designed, random) counts five
 * times as likely beforehand as any cause, another angle a tenth of any, the other kinds the same, and within a kind
 * every layer or material it may strike; the marginal likelihood of the scan (Laplace's approximation) has the process'
 * own scatter of layers as prior, 1 % of each layer where no process says it, and for the size of a cause a normal
 * number of a usual width (5 % of a common or material factor, 10 % and 2 nm of a layer, 0.04 of an index, 3 nm of
 * wavelength, 10 % of a scale, 0.5 % of an offset). Where the best of all leaves more than the noise, the noise is
 * taken as what it leaves. */
typedef struct bc_cause {
    bc_cause_kind kind;
    size_t layers;      /* that it names: 0, 1 or 2 */
    size_t layer[2];    /* 0 = outer layer */
    bc_medium material; /* it names, or a name of nothing */
    bc_back_kind back;  /* BC_CAUSE_BACK_SEEN and _BARE */
    /* Of a factor, layer or scale a share; of an index in n; of the wavelengths in nm; of an offset a fraction; of an
     * angle in radians; of random errors their rms, a share. NAN where there is none. */
    double size, size_sigma;
    double rms, residual; /* of what it leaves: fraction; in units of the noise */
    double log_odds;      /* natural logarithm against the likeliest of all: 0, or less */
} bc_cause;

#define BC_CAUSES_KEPT 4

typedef struct bc_layer_estimate {
    double design_nm, fitted_nm, sigma_nm; /* sigma_nm: standard error */
    double part_nm[BC_PARTS];              /* by source; the squares add up to that of sigma_nm */
    bool known;    /* to better than about a fortieth of its thickness; false: do not show fitted_nm as a fact */
    size_t group;  /* index into `group` of the result, or SIZE_MAX */
    bool off;      /* differs from the design by more than chance explains (all layers together: 1 %) */
    double beyond; /* fitted / (design * common factor of the others) - 1 */
} bc_layer_estimate;

/* Layers the data do not separate, and the combination of them that is known: sum of weight_j n_j d_j. */
typedef struct bc_layer_group {
    size_t count;
    size_t *layer;  /* [count] rising, 0 = outer layer */
    double *weight; /* [count] the largest is 1 */
    bool is_sum;    /* all weights are 1: the layers' optical thickness together */
    double at_nm;   /* n at this wavelength, the middle of the scan */
    double design_optical_nm, optical_nm, sigma_nm;
} bc_layer_group;

typedef struct bc_material_found {
    bc_medium material;
    double dn, dn_sigma; /* 0 and 0 unless fit_index */
    /* fitted / design over its layers, weighted by what is known of each. How much the layers of one material differ
     * among themselves counts as chance (random effects after Paule and Mandel, J. Res. NBS 87, 377 (1982)): a run that
     * misses one layer asks for no other tooling. Of a single layer its thickness_sigma in the process counts. */
    double factor, factor_sigma;
    bool off;                     /* the factor differs from 1 by more than chance explains (1 %) */
    bool tooling_known;           /* the process gives a tooling for it */
    double tooling, next_tooling; /* 1 when not known; equal unless `off` */
} bc_material_found;

/* How the columns may be taken, when the design as said does not fit. */
typedef enum bc_hypothesis_kind {
    BC_AS_SAID,
    BC_R_FOR_T, /* the column called R holds T, or the column called T holds R */
} bc_hypothesis_kind;

typedef struct bc_hypothesis {
    bc_hypothesis_kind kind;
    double rms;      /* of what it leaves unexplained, fraction */
    double residual; /* the same in units of the noise: about 1 when it explains all */
    bool fits;
} bc_hypothesis;

typedef enum bc_absorption_shape {
    BC_ABSORPTION_NONE,
    BC_ABSORPTION_BELOW, /* at wavelengths below edge_nm */
    BC_ABSORPTION_ABOVE,
    BC_ABSORPTION_EVERYWHERE,
} bc_absorption_shape;

typedef struct bc_absorption {
    bool judged;               /* false: the data do not say (R alone) */
    bc_absorption_shape shape; /* more loss than the tables have (scatter counts as loss too) */
    double most, most_sigma;   /* the largest excess, fraction, its standard uncertainty */
    double most_nm, edge_nm;
} bc_absorption;

/* What was decided for the next run. */
typedef enum bc_next_reason {
    BC_NEXT_NO_FIT,
    BC_NEXT_CORRECTED,
    BC_NEXT_NO_GAIN,        /* a correction would not gain on average, or in too few runs */
    BC_NEXT_AS_DESIGNED,    /* the layers are as designed, as far as the scan shows */
    BC_NEXT_CHANCE,         /* the process's own scatter and the uncertainty of the fit explain the errors */
    BC_NEXT_CHANCE_ASSUMED, /* the same, with a scatter of 1 % of each layer of which no process says it */
    BC_NEXT_INDEX,          /* an index is off, which no thickness mends */
    BC_NEXT_READING,        /* the reading is off, not the layers */
    BC_NEXT_REASONS
} bc_next_reason;

/* The next run as it was and corrected: averages over 200 drawn runs, of both likeliest causes by their odds, of what
 * is known of their sizes, and of the process's scatter. */
typedef struct bc_next_gain {
    bool weighed;                          /* false: nothing below is set */
    double used_as_it_was, used_corrected; /* the largest limit_used over the callouts; NAN: none can be computed */
    double rms_as_it_was, rms_corrected;   /* distance from the design's spectrum, fractions */
    double better; /* share of runs in which the corrected one is the better: in limit_used where there is one */
} bc_next_gain;

typedef struct bc_inspect_result {
    char label[BC_LABEL_SIZE];
    bc_verdict verdict; /* accept only when all rows accept; reject when any row rejects; without callouts undecided.
                           Undecided too when `evidence` holds it: not a single row accepts then, and but for
                           BC_HELD_WITNESS none rejects */
    bc_evidence evidence;
    size_t decisive; /* the finding that decides it: of the worst verdict the one of the largest limit_used */
    size_t count;
    bc_inspect_finding *finding; /* [count] in the order of the callouts */

    double standard_uncertainty; /* systematic: expanded / k */
    bc_noise noise_R, noise_T;
    bc_overlay R, T;
    size_t outliers;
    bc_outlier outlier[BC_MOST_OUTLIERS];
    size_t outside;            /* points of the scan that some table does not reach: not compared, not fitted */
    double rms;                /* against the design, R and T together */
    double scale, scale_sigma; /* the common thickness factor that explains most; layers came out this much thicker */
    double scale_rms;          /* what it leaves */

    size_t causes; /* tried, the likeliest first; [0] is the one that counts */
    bc_cause cause[BC_CAUSES_KEPT];
    double cause_odds; /* how much likelier cause[0] is than the next; INFINITY: beyond all doubt. NAN: unexplained */
    /* What would separate cause[0] from cause[1]: R at 45 degrees (s), or a scan of a wider range: rms difference of
     * the two there, fractions; NAN where it was not needed or does not exist. */
    double differ_at_45, differ_in_range, wider_from_nm, wider_to_nm;

    /* What the fit leaves is at most twice the noise, or at most 0.01 %, or at most the systematic uncertainty and not
     * more than half of the scan's rms about its mean or a twentieth of its level; and the likeliest cause is one that
     * keeps the design's layers, substrate and second surface. */
    bool good_fit;
    double residual; /* rms of what the fit leaves, in units of the noise (noise taken as at least 1e-5) */
    size_t layers;
    bc_layer_estimate *layer; /* [layers] outer layer first */
    size_t groups;
    bc_layer_group *group;
    size_t materials; /* of the stack, in the order in which they first appear from the outer layer */
    bc_material_found *material;
    double *covariance; /* [layers * layers] of the fitted thicknesses, nm^2 */
    /* What the scan alone says of the thicknesses, the fit's priors of them taken out: exp(-x^T information x / 2 +
     * pull^T x). For <bloomcoat/runs.h>. */
    double *information, *pull; /* [layers * layers] per nm^2, [layers] per nm */
    size_t fits;                /* least-squares fits run; work is bounded */

    size_t hypotheses; /* tried; [0] is as said, and the only one when that fits */
    bc_hypothesis *hypothesis;
    size_t explained_by; /* of those the one that fits; 0: as said, or none */
    bc_absorption absorption;

    bc_stack fitted; /* the design with fitted thicknesses (materials as in the design) */
    /* What to ask the chamber for, with the tooling as it is: the design over what is predicted to come again. Only
     * what is systematic is corrected: nothing after random errors of the process's own size, nothing where the reading
     * is off; what is corrected is shrunk by what the process scatters anyway; and nothing is corrected unless it gains
     * on average and in at least 80 % of runs. */
    bc_stack next_stack;
    bool corrected; /* false: it is the design */
    bc_next_reason next_because;
    bc_next_gain next_gain;    /* of the corrected stack; not weighed where there is nothing to correct */
    bool tooling_corrected;    /* some next_tooling differs from its tooling */
    bc_next_gain tooling_gain; /* of the corrected tooling, in place of the stack */
    bc_process next_process;   /* or: the design with this tooling. Do one of the two, not both. */
    void *memory;
} bc_inspect_result;

/* BC_ERROR_INPUT for a scan that is not in order (not rising, not finite), no point that all tables reach, a setup that
 * contradicts itself. `result` points into setup->callouts and the dispersions of setup->design. */
bc_status bc_inspect(const bc_measurement *measurement, const bc_inspect_setup *setup, bc_inspect_result *result,
                     bc_error *error);
void bc_inspect_result_clear(bc_inspect_result *result);

/* ---- several witnesses of one lot ---- */

/* One figure over the witnesses. The drift is a straight line by least squares over their order. */
typedef struct bc_spread {
    size_t count;              /* witnesses of which it is known */
    double mean, deviation;    /* sample standard deviation; NAN with one witness */
    double drift, drift_sigma; /* first to last along the line; NAN with fewer than 3 (drift_sigma), 2 (drift) */
} bc_spread;

typedef struct bc_lot_result {
    bc_verdict verdict; /* accept only when every witness is accepted, reject when any is rejected */
    size_t count, accepted, rejected, undecided;
    bc_inspect_result *witness; /* [count] in the order given */
    bc_spread scale;
    size_t layers;
    bc_spread *layer; /* [layers] fitted_nm, of the witnesses in which it is known */
    size_t callouts;
    bc_spread *value; /* [callouts] */
} bc_lot_result;

/* All witnesses against one setup, in the order they lay in the lot (or were coated). An error names the witness. */
bc_status bc_inspect_lot(size_t count, const bc_measurement *measurement, const bc_inspect_setup *setup,
                         bc_lot_result *result, bc_error *error);
void bc_lot_result_clear(bc_lot_result *result);

BC_API_END

#endif
