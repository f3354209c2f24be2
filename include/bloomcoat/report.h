/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_H
#define BLOOMCOAT_REPORT_H
/*
 * Results as text for people, CSV for spreadsheets and JSON for programs. Everything is written into memory.
 *
 * Units are those of the files: nm, mm, degrees, percent. Numbers are written with printf() and so follow LC_NUMERIC: a
 * program that calls setlocale() keeps that category at "C". Text lines fit in 80 columns where the words allow it.
 */
#include <bloomcoat/acceptance.h>
#include <bloomcoat/callout_words.h>
#include <bloomcoat/colour.h>
#include <bloomcoat/colour_runs.h>
#include <bloomcoat/conditions.h>
#include <bloomcoat/control.h>
#include <bloomcoat/correction.h>
#include <bloomcoat/curves.h>
#include <bloomcoat/deposit.h>
#include <bloomcoat/draft.h>
#include <bloomcoat/inspect.h>
#include <bloomcoat/layer_index.h>
#include <bloomcoat/learn.h>
#include <bloomcoat/lens.h>
#include <bloomcoat/measured.h>
#include <bloomcoat/proof.h>
#include <bloomcoat/quote.h>
#include <bloomcoat/record.h>
#include <bloomcoat/request.h>
#include <bloomcoat/robust.h>
#include <bloomcoat/runs.h>
#include <bloomcoat/scatter.h>
#include <bloomcoat/sensitivity.h>
#include <bloomcoat/shop.h>
#include <bloomcoat/standard_check.h>
#include <bloomcoat/yield.h>

BC_API_BEGIN

/* Text that grows. Starts as {0}; the report functions append to it, and bc_text_clear() releases it. */
typedef struct bc_text {
    char *data; /* zero-terminated; NULL while empty */
    size_t length;
    size_t capacity;
    bool failed; /* an allocation failed; nothing is added any more */
} bc_text;

void bc_text_clear(bc_text *text);

/* Every function below returns BC_OK or BC_ERROR_MEMORY (others where it says so); then *out is empty. */

/* Spectra of one stack on one grid, one per angle. */
typedef struct bc_spectrum_report {
    size_t angles; /* >= 1 */
    const double *aoi_rad;
    const bc_spectrum *spectrum; /* [angles] */
    bc_polarization polarization;
    const bc_stack *stack; /* whose spectra they are, where a roughness is given */
    double roughness_nm;   /* > 0: rms, of the surface alone; what it scatters is printed beside R, T and A */
} bc_spectrum_report;

/* wavelength_nm,aoi_deg,polarization,R_percent,T_percent,A_percent; 12 significant digits; by angle, polarization,
 * wavelength. An A below the rounding of 1 - R - T (1e-12 %) is written 0. With a roughness two more columns,
 * R_scattered_percent and T_scattered_percent: what of R and T leaves the specular beams (scatter.h). */
bc_status bc_report_spectrum_csv(const bc_spectrum_report *report, bc_text *out, bc_error *error);
/* {"wavelength_nm": [], "curves": [{"aoi_deg", "polarization", "R_percent": [], "T_percent": [], "A_percent": []}]};
 * with a roughness its curves have "R_scattered_percent" and "T_scattered_percent" as well, and the object
 * "roughness_nm". */
bc_status bc_report_spectrum_json(const bc_spectrum_report *report, bc_text *out, bc_error *error);

/* Stacks side by side on one grid, without roughness. CSV: wavelength_nm, aoi_deg, polarization, R, T and A of each as
 * R_1_percent, ..., and what each has beyond the first as R_2_minus_1_percent, ... JSON: stacks[] (paths), curves[]
 * stack by stack, differences[] {stack, aoi_deg, polarization, R_difference_percent[], T_..., A_...}. */
bc_status bc_report_spectra_csv(size_t stacks, const bc_spectrum_report *reports, bc_text *out, bc_error *error);
bc_status bc_report_spectra_json(size_t stacks, const bc_spectrum_report *reports, const char *const *path,
                                 bc_text *out, bc_error *error);

/* R of at most six curves as a line of characters each, 80 columns wide, for a look in a terminal; `unicode`: that
 * shows more than ASCII. */
bc_status bc_report_spectrum_sketch(const bc_spectrum_report *report, bool unicode, bc_text *out, bc_error *error);

typedef struct bc_shop_report {
    const bc_shop *shop;
    size_t tables;             /* of its own, that can be read */
    size_t standards;          /* standard coatings, likewise */
    const bc_process *process; /* NULL where the shop has none */
    const bc_chamber *chamber; /* [shop->chambers] */
} bc_shop_report;

/* A shop's folder that was read: its files, its defaults, and what each lack costs; folder, process_file,
 * chamber_files[], tables_folder, tables (how many), standards (how many), defaults_file, defaults {by key, as written;
 * null: not given}, lacks[] {file (null: there is none), missing, cost}. */
bc_status bc_report_shop_text(const bc_shop_report *report, bc_text *out, bc_error *error);
bc_status bc_report_shop_json(const bc_shop_report *report, bc_text *out, bc_error *error);

/* The shop's record: a list of it; number, date, kind, command, subject, verdict, exit_code, version of each in
 * entries[], and as the columns of the CSV. */
bc_status bc_report_record_list_text(const bc_record_list *list, bc_text *out, bc_error *error);
bc_status bc_report_record_list_csv(const bc_record_list *list, bc_text *out, bc_error *error);
bc_status bc_report_record_list_json(const bc_record_list *list, bc_text *out, bc_error *error);

/* One entry: its command line, its files with their checksums, and the result as it was printed; the fields of a list,
 * command_line[], inputs[] and outputs[] {file (null: the standard output), sha256, bytes}. */
bc_status bc_report_record_entry_text(const bc_record_entry *entry, bc_text *out, bc_error *error);
bc_status bc_report_record_entry_json(const bc_record_entry *entry, bc_text *out, bc_error *error);

/* A check of all; record_file, count (of entries), files, bytes, faults[] (sentences). */
bc_status bc_report_record_check_text(const char *path, const bc_record_check *check, bc_text *out, bc_error *error);
bc_status bc_report_record_check_json(const char *path, const bc_record_check *check, bc_text *out, bc_error *error);

/* An entry computed again from its stored files. */
typedef struct bc_record_again {
    const bc_record_entry *entry;
    const char *version; /* of the program that computed it again */
    int exit_code;
    size_t outputs; /* of this time */
    const bc_record_file *output;
    bool by_time;  /* it was ended by --seconds, so that it depends on the machine */
    bool *same;    /* [entry->outputs] */
    bool all_same; /* exit code and every output, none more and none fewer */
} bc_record_again;

bc_status bc_report_record_again_text(const bc_record_again *again, bc_text *out, bc_error *error);
/* number, recorded_version, version, same, recorded_exit_code, exit_code, compared[] {file, same, recorded_sha256,
 * sha256 (null: it was not written)}. */
bc_status bc_report_record_again_json(const bc_record_again *again, bc_text *out, bc_error *error);

/* What was learned of the chamber. */
typedef struct bc_learn_report {
    const bc_learn_result *result;
    size_t left_out; /* runs that do not fit with the layers of their design */
    size_t older;    /* runs recorded by a program that kept no layers */
} bc_learn_report;

bc_status bc_report_learn_text(const bc_learn_report *report, bc_text *out, bc_error *error);
/* runs, designs, left_out, recorded_by_older, between_runs and between_layers {percent, percent_low, percent_high,
 * before_percent, runs_needed}, materials[] {material, factor, probability_off, tooling_factor, next_tooling_factor,
 * within_run, drift_percent, drift_chance, drifts, index_sigma}, numbers with _low and _high. */
bc_status bc_report_learn_json(const bc_learn_report *report, bc_text *out, bc_error *error);
/* The process file, with the intervals in comments. */
bc_status bc_report_learn_csv(const bc_learn_report *report, bc_text *out, bc_error *error);

/* Control charts of the runs of a shop. */
typedef struct bc_control_report {
    size_t runs;
    const char *const *label; /* [runs] what each is called */
    size_t others;            /* runs that were inspected against other callouts than the last one: of those limit_used
                                 and callouts have none */
    size_t baseline;          /* as asked for; 0: BC_CONTROL_BASELINE */
    size_t charts;
    const bc_control_chart *chart; /* [charts] */
} bc_control_report;

/* Whether the last run raised an alarm in some chart, or is part of one that goes on. */
bool bc_control_report_sounds(const bc_control_report *report);

bc_status bc_report_control_text(const bc_control_report *report, bc_text *out, bc_error *error);
/* runs, other_callouts, last_run_in_alarm, charts[] {kind (limit_used, callout_percent, tooling_factor), name,
 * limit_percent, baseline, average, sigma, line_low, line_high, range_average, range_line, mean_limit_used,
 * limit_used_at_3_sigma, values[] {run, label, value, range}, alarms[] {rule (beyond, range, side, trend), from_run,
 * to_run, raised_at_run, raised_at, high, words}}. */
bc_status bc_report_control_json(const bc_control_report *report, bc_text *out, bc_error *error);

/* The standard coatings of a shop; checked, where there are states. */
typedef struct bc_standards_report {
    const char *folder;
    const char *process_path; /* today's; NULL: there is none */
    const bc_standards *standards;
    size_t states;
    const bc_standard_state *state;
    double yield; /* asked for in the check */
    bool stacks;  /* the text of a list has every layer */
} bc_standards_report;

/* A list, or the table of a check; folder, process_file, standards[] {name, callouts[] (in words), stacks[] {substrate,
 * total_nm, stack[] {material, thickness_nm}, limit_used, yield_percent, yield_low_percent, yield_high_percent,
 * yield_when_added_percent, pass (checked alone)}}. */
bc_status bc_report_standards_text(const bc_standards_report *report, bc_text *out, bc_error *error);
bc_status bc_report_standards_json(const bc_standards_report *report, bc_text *out, bc_error *error);

/* Callouts as they were understood from a drawing's words, with what was assumed (bits of bc_callout_assumption): a
 * table and sentences; a callouts file; callouts[] {name, quantity, statistic, sense, limit_percent, from_nm, to_nm,
 * aoi_from_deg, aoi_to_deg, polarization, scope, substrate} and assumptions[] (sentences). */
bc_status bc_report_callouts_text(const bc_callouts *callouts, unsigned assumptions, bc_text *out, bc_error *error);
bc_status bc_report_callouts_csv(const bc_callouts *callouts, unsigned assumptions, bc_text *out, bc_error *error);
bc_status bc_report_callouts_json(const bc_callouts *callouts, unsigned assumptions, bc_text *out, bc_error *error);

/* A stack held against callouts. */
typedef struct bc_check_report {
    const char *stack_path; /* these two may be NULL */
    const char *callouts_path;
    const bc_stack *stack;
    const bc_check_result *result;
    const bc_back *back;     /* the second surface of rows with scope `part`; may be NULL when there is none */
    bool back_assumed;       /* nobody asked for this back: the report says so */
    bool color;              /* verdicts in colour, for a terminal */
    const bc_curved *curved; /* the surface whose `zones` zones the result was found at; NULL: a plane one */
    size_t zones;
    bool brief;          /* the findings alone in the text of a check: no sources, no cautions */
    double roughness_nm; /* of the glass, rms: the report of a check or a lens adds its scatter; 0: not given */
} bc_check_report;

bc_status bc_report_check_text(const bc_check_report *report, bc_text *out, bc_error *error);
/* pass, limit_used, callouts[] {name, value_percent, limit_percent, limit_used, at_nm, aoi_deg, pass, substrate,
 * quantity, statistic, sense, polarization, scope; on a curved surface radius_mm}, surface {shape, radius_mm,
 * clear_aperture_mm, edge_slope_deg, steep, growth (slope, source, profile), slope_exponent, source_distance_mm,
 * source, profile_file, light (callout, axis), axial_angle_deg, edge_thickness_factor, zones} (a curved one alone),
 * roughness_nm and scatter[] {callout, substrate, at_nm, reflected_share_percent, transmitted_share_percent,
 * change_percent, margin_percent, matters} (where it was given), index_data[], cautions[], ... A number that is not
 * finite is null.
 */
bc_status bc_report_check_json(const bc_check_report *report, bc_text *out, bc_error *error);

/* Stacks side by side, numbered from 1: >= 2 checks of the same callouts, each with its path. A table of values and
 * shares of the limit; JSON: pass, callouts_file, stacks[] {stack, layers, total_nm, pass, limit_used, callouts[]
 * {name, substrate, value_percent, limit_percent, limit_used, pass}}, cautions[]. */
#define BC_COMPARE_MARK 24
void bc_compare_mark(char to[BC_COMPARE_MARK], size_t stack);
bc_status bc_report_compare_text(size_t stacks, const bc_check_report *reports, bc_text *out, bc_error *error);
bc_status bc_report_compare_json(size_t stacks, const bc_check_report *reports, bc_text *out, bc_error *error);

/* The index of a layer from scans; path[s] is the file of scan s. */
typedef struct bc_layer_index_report {
    const bc_layer_index_setup *setup;
    const bc_layer_index_result *result;
    const char *const *path;
} bc_layer_index_report;

bc_status bc_report_layer_index_text(const bc_layer_index_report *report, bc_text *out, bc_error *error);
/* scans[], coverage_factor, pieces[] {thickness_nm, thickness_uncertainty_nm}, model, next_model, formula, table_rows[]
 * {wavelength_nm, n, n_uncertainty, k, k_uncertainty}, ...; uncertainties are expanded. */
bc_status bc_report_layer_index_json(const bc_layer_index_report *report, bc_text *out, bc_error *error);
/* A dispersion table, with its origin and uncertainty in the comments. */
bc_status bc_report_layer_index_table(const bc_layer_index_report *report, bc_text *out, bc_error *error);

/* The colour of a stack's reflection, angle by angle. */
typedef struct bc_colour_report {
    const char *stack_path;
    const bc_stack *stack;
    const bc_back *back; /* BC_BACK_NONE: the coated surface alone */
    bc_polarization polarization;
    bc_illuminant illuminant;
    bc_observer observer;
    size_t angles;
    const double *aoi_rad;
    const bc_colour *colour; /* [angles] */
    const char *process_path;
    const bc_colour_runs *runs; /* NULL: none were simulated */
} bc_colour_report;

bc_status bc_report_colour_text(const bc_colour_report *report, bc_text *out, bc_error *error);
/* stack, illuminant, observer_deg, polarization, white {X, Y, Z, x, y}, angles[] {aoi_deg, X, Y, Z, x, y, L, a, b,
 * chroma, hue_deg, luminous_percent, scatter {a_sigma, b_sigma, luminous_sigma_percent, difference_from_design,
 * difference_between_runs}}, runs, seed, process_file, sources[], cautions[]. */
bc_status bc_report_colour_json(const bc_colour_report *report, bc_text *out, bc_error *error);

/* A stack as it was designed, and at other conditions. */
typedef struct bc_shift_report {
    const bc_check_report *reports; /* [2] */
    size_t behaviours;
    const bc_behaviour *behaviour;
    bc_conditions before, then;
} bc_shift_report;

/* What changes in each material, then both side by side; JSON: the fields of stacks side by side, at_nm,
 * optical_thickness_percent, conditions[] {n_void, temperature_c}, materials[] {material, packing_density, dn_dt_per_k,
 * expansion_per_k, n_before, n_then}. */
bc_status bc_report_shift_text(const bc_shift_report *report, bc_text *out, bc_error *error);
bc_status bc_report_shift_json(const bc_shift_report *report, bc_text *out, bc_error *error);

/* One layer off at a time. */
typedef struct bc_sensitivity_report {
    bc_check_report check;
    const bc_sensitivity_result *result;
} bc_sensitivity_report;

bc_status bc_report_sensitivity_text(const bc_sensitivity_report *report, bc_text *out, bc_error *error);
/* The fields of a check, decisive_layer and layers[] {layer, material, thickness_nm, thickness_1_percent,
 * thickness_1_nm, index_0_01}, the last three {limit_used_less, limit_used_more, callouts[] {value_less_percent,
 * value_more_percent}}, callouts[] as in the check. */
bc_status bc_report_sensitivity_json(const bc_sensitivity_report *report, bc_text *out, bc_error *error);

/* What draft or refine found. */
typedef struct bc_design_report {
    const char *command;            /* "draft" or "refine" */
    bc_check_report check;          /* the stack that was found; stack_path: where it started, NULL for from nothing */
    const bc_draft_result *draft;   /* NULL for refine */
    const bc_robust_result *robust; /* NULL when no process was given */
    const bc_proof *proof;          /* of draft; NULL when nothing was to be proved */
    bc_stop stop;
    unsigned long seed; /* of draft, with its effort */
    double effort;
    double limit_used_before; /* of refine */
    double minimum_nm;
    size_t thin_layers; /* layers of the start that were thinner than minimum_nm and had to grow */
} bc_design_report;

/* The stack file, in the order of the start's file, with what made it in comment lines; bc_stack_read() gives the same
 * thicknesses back to the last bit. */
bc_status bc_report_design_csv(const bc_design_report *report, bc_text *out, bc_error *error);
/* The stack file alone, in the order of its own; `comments` (may be NULL) go ahead of it, each of their lines led by #.
 */
bc_status bc_report_stack_csv(const bc_stack *stack, const char *comments, bc_text *out, bc_error *error);
bc_status bc_report_design_text(const bc_design_report *report, bc_text *out, bc_error *error);
/* limit_used, layers[] {material, thickness_nm, fixed} from the incident medium, total_nm, starts, incident,
 * substrates[], callouts[] as above, ladder[] {layers, total_nm, limit_used, chosen}, stop (converged, budget, good),
 * ... */
bc_status bc_report_design_json(const bc_design_report *report, bc_text *out, bc_error *error);

/* A process file with every column that is known of any material; bc_process_read() gives the same values back to the
 * last bit. `comments` as above. */
bc_status bc_report_process_csv(const bc_process *process, const char *comments, bc_text *out, bc_error *error);

/* The simulated runs of a stack. */
typedef struct bc_yield_report {
    bc_check_report check;    /* the design itself */
    const char *process_path; /* may be NULL */
    const bc_process *process;
    const bc_callouts *callouts;
    const bc_yield_result *result;
} bc_yield_report;

bc_status bc_report_yield_text(const bc_yield_report *report, bc_text *out, bc_error *error);
/* yield_percent, yield_low_percent, yield_high_percent (95 %), runs, good, seed, layers[] {material, thickness_nm,
 * influence} from the substrate, index_influence[] {material, influence}, run_thickness_influence, influence_of
 * (failure, limit_used), scale_for_95 (null: 20 times the errors still do), fails[] {callout, share}, process[]
 * {material, thickness_sigma_percent, run_thickness_sigma_percent, index_sigma; null: not given}, curves[] {callout,
 * quantity, substrate, aoi_deg, on a curved surface radius_mm, polarization, runs, wavelength_nm[], percent_2_5[],
 * percent_16[], percent_50[], percent_84[], percent_97_5[]}, and of the design itself pass, limit_used, callouts[] and
 * what else bc_report_check_json() writes.
 */
bc_status bc_report_yield_json(const bc_yield_report *report, bc_text *out, bc_error *error);

/* A file that was measured, and what its columns of R and T (NULL: not read) say of themselves. */
typedef struct bc_witness_source {
    const char *path;
    const bc_measured_file *R, *T;
    const char *quantity_stated; /* how it is known what was measured: "by the header" */
} bc_witness_source;

/* A measured file that holds what another holds, and does not count. */
typedef struct bc_witness_copy {
    const char *path, *of;
    bool same_file; /* byte by byte (SHA-256); false: the same wavelengths and values */
} bc_witness_copy;

/* Measured witnesses against their design. */
typedef struct bc_inspect_report {
    const char *stack_path, *callouts_path, *process_path; /* NULL: there is none */
    const bc_inspect_setup *setup;
    /* How angle and polarization are known, and the line of the file that says it; BC_STATED_NOT: they are assumed. */
    bc_stated aoi_stated, polarization_stated;
    long aoi_line, polarization_line;
    size_t witnesses;
    const bc_witness_source *source; /* [witnesses] */
    const bc_inspect_result *result; /* [witnesses] */
    const bc_lot_result *lot;        /* NULL for one witness */
    const bc_runs *runs;             /* what they say of the chamber; NULL: not asked, or one run */
    const bc_correction *correction; /* NULL: the files hold R or T themselves */
    const char *bare_path;           /* of a scan of the bare substrate, and what it shows; NULL: there is none */
    const bc_bare_check *bare;
    size_t copies;
    const bc_witness_copy *copy; /* [copies] files that were left out */
    const char *next_stack_path; /* NULL unless written; the next two alike */
    const char *next_process_path;
    const bc_acceptance_plan *plan; /* of the lot; NULL: none was asked for */
    bool next_refused;              /* asked for, and not written because the fit does not explain the scan */
    bool color;
} bc_inspect_report;

bc_status bc_report_inspect_text(const bc_inspect_report *report, bc_text *out, bc_error *error);
/* Of one witness: verdict (accept, reject, undecided), quantity, rms_percent, rms_fitted_percent, scale_percent (layers
 * came out so much thicker; scale_sigma_percent), run, good_fit, layers[] {material, design_nm, fitted_nm, sigma_nm,
 * known, off, group}, groups[], materials[] {material, factor, next_tooling_factor, ...}, callouts[] {name, verdict,
 * reason, text, value_percent, limit_percent, limit_used, uncertainty_percent (expanded), probability, ...}, overlay
 * {wavelength_nm[], measured_percent[], design_percent[], fitted_percent[], ...}, overlay_T when T was measured besides
 * R, hypotheses[], absorption, measured {path, units and how they are known}, index_data[], cautions[]. Of several:
 * verdict and the means over the lot under the same names, lot {accepted, rejected, undecided, scale, layers[],
 * callouts[] with mean, deviation, drift}, witnesses[] with the above. sampling {lot, quality_limit_percent, sample,
 * accept, accepted_at_limit, accepted_one_in_ten_percent}: null where no plan was asked for. */
bc_status bc_report_inspect_json(const bc_inspect_report *report, bc_text *out, bc_error *error);
/* The process file by several runs (runs->materials > 0), with the estimates and their intervals as comments. */
bc_status bc_report_runs_csv(const bc_runs *runs, bc_text *out, bc_error *error);
/* A stack from the centre to the edge of a curved surface. check.result: result->designed.check. */
typedef struct bc_lens_report {
    bc_check_report check;
    const bc_lens_result *result;
} bc_lens_report;

bc_status bc_report_lens_text(const bc_lens_report *report, bc_text *out, bc_error *error);
/* What bc_report_check_json() writes, over all zones; holds_to_mm (diameter out to which every callout holds), zones
 * {radius_mm[], slope_deg[], thickness_factor[]}, curves[] {callout, substrate, limit_used[], value_percent[] (of a
 * colour value[]), at_nm[], aoi_deg[] (these four one a zone), area_mean_percent (of a colour area_mean), holds_to_mm},
 * balance {factor, pass, limit_used, holds_to_mm, curves[] as above (absent when the factor is 1)}, reach_factor (with
 * which all callouts hold farthest out; 1: no other than those two), reach_mm (the largest diameter that a common
 * factor reaches). */
bc_status bc_report_lens_json(const bc_lens_report *report, bc_text *out, bc_error *error);

/* A quote. check: of the recommended option; stack_path NULL. */
typedef struct bc_quote_report {
    bc_check_report check;
    const char *process_path, *chamber_path; /* NULL: there is no such file */
    const bc_quote_request *request;
    const bc_quote_result *result;
} bc_quote_report;

bc_status bc_report_quote_text(const bc_quote_report *report, bc_text *out, bc_error *error);
/* verdict (feasible, marginal, not feasible), why, yield_asked, options[] {layers, total_nm, limit_used, yield,
 * yield_low, yield_high, layer_hours, hours_per_load, loads, hours, loads_expected, recommended, stack[] {material,
 * thickness_nm}}, parts_per_load, decisive_callout, exceptions[] {callout (null: a material), change, asked, offered,
 * limit_used, yield, yield_low, yield_high, runs, seed, limit_percent, from_nm, to_nm, aoi_from_deg, aoi_to_deg,
 * material, stack[]}, not_found[] {callout, change, looked_at}, reasons[], materials[] (sentences), refused[]
 * (names), missing[], and of the recommended option pass, limit_used, callouts[] and what else bc_report_check_json()
 * writes. What is not known is null. */
bc_status bc_report_quote_json(const bc_quote_report *report, bc_text *out, bc_error *error);
/* What a quote finds on the way (request->found), while report->result is still being filled: an item of a list, or one
 * line of JSON, {"option": {...}} or {"exception": {...}} with the fields of options[] and exceptions[], less
 * recommended and best_possible, which are not known yet; "forecast" says that the yield is one. */
bc_status bc_report_found_text(const bc_quote_report *report, const bc_quote_found *found, bc_text *out,
                               bc_error *error);
bc_status bc_report_found_json(const bc_quote_report *report, const bc_quote_found *found, bc_text *out,
                               bc_error *error);

/* Of a request with several surfaces, each with a quote of its own. */
typedef struct bc_quote_surface {
    const char *name; /* NULL: the only one */
    const bc_quote_report *report;
    const bc_check_curves *curves; /* of the recommended option, for pages; NULL: no picture */
} bc_quote_surface;

/* One after the other, each under its name; of one surface what bc_report_quote_text() and bc_report_quote_json()
 * write. JSON of several: surfaces[] {name, and all of a quote}. */
bc_status bc_report_quotes_text(size_t count, const bc_quote_surface *surface, bc_text *out, bc_error *error);
bc_status bc_report_quotes_json(size_t count, const bc_quote_surface *surface, bc_text *out, bc_error *error);
/* For a spreadsheet that prices them, a row per surface and option: surface, option, recommended, verdict (of the
 * recommended), quantity, faces, layers, total_nm, yield_percent, parts_per_load, hours_per_load, loads (when every run
 * is good), expected_loads and expected_hours (with those that are run again), confidence_percent, loads_at_confidence,
 * hours_at_confidence, failed_part, blanks (to be supplied), and NAME_nm_per_load of each layer material: its thickness
 * on the part in one deposition of the coating. What is not known is empty. */
bc_status bc_report_quotes_price_csv(size_t count, const bc_quote_surface *surface, bc_text *out, bc_error *error);

/* A request as the file that bc_request_read() reads, and a callout in words that bc_callouts_parse() reads back to the
 * same figures: its name, and the one glass it may be for, are left out. */
bc_status bc_report_request_csv(const bc_request *request, bc_text *out, bc_error *error);
bc_status bc_report_callout_words(const bc_callout *callout, bc_text *out, bc_error *error);

/* The sheet for the chamber. */
typedef struct bc_deposit_report {
    const char *stack_path, *process_path, *chamber_path; /* NULL: there is no such file */
    const bc_stack *stack;
    const bc_process *process; /* these two NULL: not known */
    const bc_chamber *chamber;
    const bc_monitor *monitor;
    const bc_deposit_result *result;
} bc_deposit_report;

bc_status bc_report_deposit_text(const bc_deposit_report *report, bc_text *out, bc_error *error);
/* One row per layer, in order of deposition: layer (from 1), material, thickness_nm, tooling_factor,
 * monitor_thickness_nm, rate_nm_per_s, time_s, total_nm, total_s, starts_s, ends_s (since the door was closed),
 * monitor_glass_number, monitor_wavelength_nm, quarter_waves, start_percent, turning_points, cut_percent,
 * swing_percent, slope_percent_per_nm, signal_error_absolute_percent, cost_nm, cut_by (optical, crystal). What is not
 * known, or has no bound, is empty. */
bc_status bc_report_deposit_csv(const bc_deposit_report *report, bc_text *out, bc_error *error);
/* The signal as a curve: layer, material, monitor_glass_number, monitor_wavelength_nm, monitor_thickness_nm (of this
 * layer), time_s, total_s (of the layers so far, without anything between), signal_percent; 12 significant digits.
 * BC_ERROR_INPUT when the sheet has no signal. */
bc_status bc_report_deposit_signal_csv(const bc_deposit_report *report, bc_text *out, bc_error *error);
/* layers[] with the fields of the sheet's CSV and turnings[] {kind (maximum, minimum), monitor_thickness_nm, time_s,
 * signal_percent}, next_turning (the same, or null), cut_at_turning, early_nm, late_nm, linear_nm, allowed_nm, thin,
 * minimum_nm, n, k, best_wavelength_nm, best_cost_nm, curve {time_s[], monitor_thickness_nm[], signal_percent[]};
 * total_nm, layer_s, load_s, monitor_glass, monitor_glass_assumed, monitor_glass_back (none, uncoated), signal (R, T),
 * aoi_deg, bandwidth_nm, signal_error_percent, signal_error_of (max, cut), monitor_wavelengths_nm[] (the wavelengths in
 * use), monitor_swept, wavelengths[] {wavelength_nm, crystal, share_percent}, best_for_run_nm, crystal (layers),
 * remarks[], missing[], index_data[], cautions[]. What is not known, or not finite, is null. */
bc_status bc_report_deposit_json(const bc_deposit_report *report, bc_text *out, bc_error *error);

/* One line per material: name, kind, range, n at `at_nm` (or at the middle of a table that does not reach it), source;
 * the glasses by code, and the weights that come with the program besides the `weights` of the folders. */
bc_status bc_report_materials_text(size_t count, const bc_dispersion *const *material, size_t glasses,
                                   const char *const *glass, size_t weights, const bc_weight *const *weight,
                                   double at_nm, bc_text *out, bc_error *error);
bc_status bc_report_materials_json(size_t count, const bc_dispersion *const *material, size_t glasses,
                                   const char *const *glass, size_t weights, const bc_weight *const *weight,
                                   double at_nm, bc_text *out, bc_error *error);

/* One material: its notes, its range, n and k at `at_nm` and at a dozen rows (text) or at all of them (json, csv). */
bc_status bc_report_material_text(const bc_dispersion *material, double at_nm, bc_text *out, bc_error *error);
bc_status bc_report_material_json(const bc_dispersion *material, double at_nm, bc_text *out, bc_error *error);
/* A dispersion table that bc_dispersion_read() reads; BC_ERROR_INPUT for a constant, which has no rows. */
bc_status bc_report_material_csv(const bc_dispersion *material, bc_text *out, bc_error *error);

BC_API_END

#endif
