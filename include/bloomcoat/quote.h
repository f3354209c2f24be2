/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_QUOTE_H
#define BLOOMCOAT_QUOTE_H
/*
 * A quote: can this chamber make a coating to these callouts, how, in how many hours, and with which exceptions.
 *
 * Options are, for each number of layers, the best design for this process: those a search meets (bc_draft) are refined
 * so that they hold under the errors of a run, and the yield decides. A standard coating that does comes first, and is
 * recommended: it has been made before. All yields are estimated with the same errors,
 * whatever the seed: a verdict does not depend on it. Exceptions are found by computation, one change at a time, and
 * verified: the changed callouts are met on paper, and by runs of another stream, by the design offered with them.
 */
#include <bloomcoat/chamber.h>
#include <bloomcoat/proof.h>
#include <bloomcoat/standard.h>
#include <bloomcoat/yield.h>

BC_API_BEGIN

#define BC_NO_CALLOUT ((size_t)-1)

typedef enum bc_feasibility {
    BC_FEASIBLE,
    BC_MARGINAL,     /* the callouts are met on paper, but fewer runs than asked succeed */
    BC_NOT_FEASIBLE, /* no design was found that meets the callouts on paper, or it cannot be made (bc_obstacle) */
} bc_feasibility;

/* Why no chamber of this shop can make it, whatever its design. */
typedef enum bc_obstacle {
    BC_NO_OBSTACLE,
    BC_OBSTACLE_SIZE,          /* the part is larger than the load circle */
    BC_OBSTACLE_CONTRADICTION, /* two callouts exclude each other, whatever the coating */
    BC_OBSTACLE_HEAT,          /* every layer material needs more heat than the part stands */
    BC_OBSTACLE_THIN,          /* a layer is thinner than the process can control */
} bc_obstacle;

/* Of several options that are what was asked for, which is recommended. */
typedef enum bc_prefer {
    BC_PREFER_HOURS,  /* the fewest expected hours, then the highest yield, then the fewest layers */
    BC_PREFER_YIELD,  /* the highest yield, then the fewest hours */
    BC_PREFER_LAYERS, /* the fewest layers, then the fewest hours */
} bc_prefer;

/* What becomes of the parts of a run that failed. */
typedef enum bc_failed_part {
    BC_FAILED_STRIP, /* stripped and coated again: the load is repeated */
    BC_FAILED_SCRAP, /* lost: new blanks are needed */
} bc_failed_part;

/* What is the matter with a material. */
typedef enum bc_remark_kind {
    BC_REMARK_RANGE,   /* its table does not reach over the band from_nm..to_nm: refused */
    BC_REMARK_HEAT,    /* it needs `process_c`, more than `limit_c`: refused; a warning when `part` says so */
    BC_REMARK_NO_HEAT, /* its table says no process_c, so whether the part stands it is not known: a warning */
    BC_REMARK_ABSORBS, /* k up to `k` at `at_nm` in the band: a warning; the search counts the loss */
    BC_REMARK_CAUTION, /* poisonous, radioactive, ...: the table's caution: a warning */
} bc_remark_kind;

typedef struct bc_remark {
    bc_remark_kind kind;
    const bc_medium *material;
    const bc_medium *part; /* the glass whose table says limit_c (max_process_c); NULL: the request does */
    bool refused;
    bool own; /* process_c is that of the shop's process file, not what is common */
    double from_nm, to_nm, k, at_nm, process_c, limit_c; /* those that the kind has */
} bc_remark;

typedef struct bc_quote_found bc_quote_found; /* below */

typedef struct bc_quote_request {
    /* Callouts, glasses, layers, back, max_layers, minimum_nm, max_total_nm. */
    const bc_design_problem *problem;
    const bc_process *process; /* NULL: not known; then yields and hours are not known either */
    const bc_chamber *chamber; /* NULL: not known */
    size_t quantity;           /* parts; 0: not asked */
    double part_diameter_mm;   /* 0: not known */
    bool both_sides;           /* both faces are coated, each in a run of its own, */
    bool one_run;              /* or both in the same run, with the same errors */
    bc_failed_part failed_part;
    double confidence; /* that the loads and blanks suffice, in (0, 1); 0: 0.95 */
    bc_prefer prefer;
    double yield;                       /* the share of runs asked for, in (0, 1] */
    double max_process_c;               /* the part stands no more than this; INFINITY: what the tables say of
                                           the glasses */
    size_t other_layers, other_glasses; /* at hand, beyond those of the problem: looked at for exceptions */
    const bc_medium *other_layer, *other_glass;
    unsigned long seed;
    double effort; /* 1: ten seconds or so; the search, and the number of exceptions looked at, grow with it */
    size_t threads;
    /* The shop's standard coatings: held against the callouts first; NULL: it has none. Where one does, there is no
     * search unless search_too asks for one. */
    const bc_standards *standards;
    bool search_too;
    const bc_proof_options *proof; /* what to prove of few layers; NULL: nothing */
    bc_progress progress;          /* may be NULL */
    void *progress_context;
    /* May be NULL: shown what is found while the search goes on, on the calling thread. The result does not depend on
     * it. */
    void (*found)(void *context, const bc_quote_found *found);
    void *found_context;
} bc_quote_request;

typedef struct bc_quote_option {
    bc_stack stack;
    double total_nm, limit_used;
    double yield, yield_low, yield_high;      /* NAN: not known */
    bc_known_yield known;                     /* what the runs behind the process file leave open; runs 0: nothing */
    double layer_hours;                       /* the layers alone; NAN: a rate is not known */
    double hours_per_load;                    /* NAN: a rate or the chamber is not known */
    size_t loads;                             /* for the quantity, when every run is good; 0: not known */
    double hours;                             /* of these loads; NAN: not known */
    double loads_expected;                    /* with those that are run again; NAN: not known */
    double expected_hours;                    /* of these; NAN: not known */
    size_t loads_at_confidence;               /* enough at the confidence asked for; 0: not known */
    size_t blanks;                            /* to be supplied, at that confidence; 0: not known */
    size_t runs, predicted_runs;              /* behind the yield */
    size_t thin_layer;                        /* one thinner than the process can control; the layers' number: none */
    const struct bc_standard_offer *standard; /* which standard coating it is; NULL: it came out of the search */
} bc_quote_option;

/* A standard coating held against the request: as it is on the substrate asked for, or with its thicknesses refined for
 * the request, which makes another coating of it that needs its own proof. It still counts as the standard coating
 * while no layer moved by more than BC_STANDARD_MOVE of its thickness, or BC_STANDARD_MOVE_NM where that is more (our
 * choice, no source); beyond that it is a new design, which the search starts from and does not end with. */
#define BC_STANDARD_MOVE    0.1
#define BC_STANDARD_MOVE_NM 3.0

typedef struct bc_standard_offer {
    const bc_standard *standard;
    const bc_medium
        *made_for; /* the substrate that its stack is for: the one asked for, or that of the nearest index */
    bool refined;
    double moved_nm;          /* by how much a layer moved at most; 0: as it is */
    bool new_design;          /* refined, and a layer moved too far for the standard coating */
    const bc_medium *refused; /* a medium that the request does not allow: nothing else was computed; NULL: none */
    bool does;                /* callouts met, by the share of runs asked for where that is known */
    bc_quote_option option;   /* yield NAN where it fails on paper: no runs were made */
} bc_standard_offer;

/* What a quantity takes. Runs succeed or fail independently of each other. */
typedef struct bc_load_plan {
    size_t loads;         /* when every run is good; 0: not known */
    double expected;      /* loads; NAN: the yield is not known, or next to 0 */
    size_t at_confidence; /* loads; 0: not known */
    size_t blanks;        /* 0: not known */
} bc_load_plan;

/* Loads and blanks for `quantity` good parts, `parts_per_load` at a time, every part in one run or (`runs_per_part` 2)
 * in two, each good with probability `yield`. Stripped parts are coated again, so that no blank is lost and loads
 * follow the negative binomial distribution. Of scrapped ones the parts of a failed load are lost, and with two runs a
 * part must pass both; loads are filled evenly. */
bc_load_plan bc_plan_loads(size_t quantity, size_t parts_per_load, size_t runs_per_part, bc_failed_part failed_part,
                           double yield, double confidence);

typedef enum bc_exception_kind {
    BC_EXCEPT_LIMIT,    /* the lowest limit in this band */
    BC_EXCEPT_FROM,     /* the widest band at this limit: its short end moved up, */
    BC_EXCEPT_TO,       /* its long end moved down, */
    BC_EXCEPT_BOTH,     /* both ends moved by the same number of nm */
    BC_EXCEPT_ANGLE,    /* the largest angle */
    BC_EXCEPT_APERTURE, /* of a curved surface: the largest clear aperture */
    BC_EXCEPT_LAYER,    /* one more layer material */
    BC_EXCEPT_GLASS,    /* another glass */
    BC_EXCEPT_DROPPED,  /* never found: without the callout the others still would not do */
    BC_EXCEPT_ALONE,    /* a recipe of its own for one of several glasses */
} bc_exception_kind;

typedef struct bc_exception {
    bc_exception_kind kind;
    size_t callout;                      /* which one changes; BC_NO_CALLOUT: all of them (limit, band, angle), a
                                            material or the aperture */
    bc_callout offered;                  /* that callout, changed; of all of them the first that changes */
    bc_callout *all;                     /* [callouts] when all of them change; else NULL */
    double factor;                       /* of a limit: all limits (that one) times this; else 1 */
    double aperture_mm;                  /* the clear aperture offered; 0 for every other kind */
    const bc_medium *other;              /* the layer or glass; NULL for a callout */
    bool found;                          /* false: no such change was found within the bounds of the search */
    bc_stack stack;                      /* the design that does it */
    double limit_used;                   /* on the changed callouts */
    double yield, yield_low, yield_high; /* of the verification; NAN: the process is not known */
    size_t runs;
    unsigned long seed;
} bc_exception;

/* Found on the way to a result: a design, or a change that could be offered. What is found later may do better, and an
 * option with as many layers then takes its place. It stands only until the function that it is shown to returns, and
 * in which order things are shown depends on the threads. */
struct bc_quote_found {
    const bc_quote_option *option; /* NULL: an exception was found */
    bool forecast;                 /* its yield is a forecast (runs 0, no interval), its loads are not known yet */
    const bc_exception *exception; /* NULL: an option was */
};

/* Whether more materials could help: Tikhonravov, Appl. Opt. 32, 5417 (1993). */
typedef struct bc_material_limit {
    const bc_medium *lowest, *highest; /* index of the layers at hand at the middle of the deciding band */
    double lowest_n, highest_n;
    const bc_medium *lower, *higher; /* among the other layers: more extreme ones; NULL: none */
    bool normal; /* the deciding callout is on a plane surface at normal incidence, where the theorem holds */
} bc_material_limit;

typedef struct bc_quote_result {
    bc_feasibility verdict;
    bc_obstacle obstacle;               /* of the recommended option; the verdict is then BC_NOT_FEASIBLE */
    const bc_medium *obstacle_material; /* of heat, or of the thin layer */
    double obstacle_at, obstacle_limit; /* mm of part and chamber; degrees C; nm */
    bool contradicted;                  /* the callouts with these indices exclude each other */
    size_t contradiction[2];
    bool at_the_limit; /* the interval of the yield holds the share asked for: too close to tell */
    bool yield_known;
    size_t standards; /* those that do first; a coating stands twice where it was refined */
    bc_standard_offer *standard;
    bool searched;               /* false: a standard coating does, and no search was asked for */
    size_t options, recommended; /* standard coatings first */
    bc_quote_option *option;
    bc_check_result check; /* of the recommended option */
    double *fails;         /* [callouts] share of its runs in which each fails; NULL: not known */
    size_t decisive;    /* the callout that decides: without it the others can be met, else it fails most often or uses
                           most */
    bool decides_alone; /* the former: nothing else stands in the way */
    size_t decisive_finding;
    size_t exceptions;
    bc_exception *exception; /* those found and those looked for in vain */
    size_t remarks;
    bc_remark *remark;
    size_t layers; /* materials of the problem that were not refused */
    bc_medium *layer;
    size_t parts_per_load; /* 0: not known */
    bc_material_limit materials;
    size_t runs;           /* that the engine judged for the recommended option's yield, */
    size_t predicted_runs; /* and that a response surface fitted to it predicted: the yield rests on both */
    bc_proof proof;        /* steps 0: none was asked for */
    bool stopped;          /* the progress asked for it: what came after is left out */
} bc_quote_result;

/* BC_ERROR_INPUT when every layer is refused, or when bc_draft() or bc_yield() would say so. The result points into the
 * request. */
bc_status bc_quote(const bc_quote_request *request, bc_quote_result *result, bc_error *error);
void bc_quote_result_clear(bc_quote_result *result);

/* Parts of one diameter in a load circle: circles of part + extra, packed hexagonally (common practice, no source); the
 * edges of the parts stay inside the circle. The best of a few hundred positions of the lattice. */
size_t bc_parts_per_load(double load_diameter_mm, double part_diameter_mm, double pitch_extra_mm);

/* Hours of the layers alone: the sum of thickness / (tooling * rate), the rate being that at the monitor. NAN when the
 * rate of one of them is not known. */
double bc_layer_hours(const bc_stack *stack, const bc_process *process);

/* The layers, the time between them after each, pumping down, heating, cooling and venting. Steps that a chamber file
 * does not give are left out. NAN without a chamber, or a rate. */
double bc_hours_per_load(const bc_stack *stack, const bc_process *process, const bc_chamber *chamber);

BC_API_END

#endif
