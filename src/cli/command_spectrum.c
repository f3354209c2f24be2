/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "changes.h"
#include "commands.h"
#include "compare.h"
#include "output.h"
#include "page.h"
#include "plot.h"
#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define MOST_ROWS 1000000.0 /* a file that nobody opens any more */

typedef struct grid {
    size_t count;
    double *wavelength_nm;
} grid;

/* from, from + step, ... up to `to`, which is one of them when it falls on the grid but for rounding. */
static bc_status read_grid(const cli_arguments *arguments, grid *points, bc_error *error)
{
    double from_nm = 380.0, to_nm = 780.0, step_nm = 1.0, steps;
    bc_status status = cli_number(arguments, "from", DBL_MIN, 1e9, "a wavelength in nm above 0", &from_nm, error);
    if (status == BC_OK)
        status = cli_number(arguments, "to", DBL_MIN, 1e9, "a wavelength in nm above 0", &to_nm, error);
    if (status == BC_OK)
        status = cli_number(arguments, "step", DBL_MIN, 1e9, "a step in nm above 0", &step_nm, error);
    if (status != BC_OK)
        return status;
    if (from_nm > to_nm)
        return bc_fail(error, BC_ERROR_INPUT, "--to: found %g%s; expected no less than --from, which is %g%s", to_nm,
                       cli_has(arguments, "to") ? "" : " by default", from_nm,
                       cli_has(arguments, "from") ? "" : " by default");
    steps = floor((to_nm - from_nm) / step_nm * (1.0 + 1e-9) + 1e-9);
    if (steps >= MOST_ROWS)
        return bc_fail(error, BC_ERROR_INPUT, "--step: found %g, which makes %.0f wavelengths; expected %.0f at most",
                       step_nm, steps + 1.0, MOST_ROWS);
    points->count = (size_t)steps + 1;
    points->wavelength_nm = calloc(points->count, sizeof(double));
    if (points->wavelength_nm == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < points->count; i++)
        points->wavelength_nm[i] = fmin(from_nm + (double)i * step_nm, to_nm);
    return BC_OK;
}

static bc_status read_back(cli_session *session, const cli_stacks *others, const grid *points, bc_error *error)
{
    bc_status status = cli_read_back_or_none(session, error);
    for (size_t s = 0; status == BC_OK && session->back.kind != BC_BACK_NONE && s <= others->count; s++)
        /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): the grid was read before */
        status = cli_need_thickness(session, &cli_stack_at(session, others, s)->substrate, points->wavelength_nm[0],
                                    points->wavelength_nm[points->count - 1], error);
    return status;
}

/* --plot-quantities, as a set for bc_plot_spectrum(). */
static bc_status read_quantities(const cli_arguments *arguments, unsigned *only, bc_error *error)
{
    static const char *const word[] = {[BC_R] = "R", [BC_T] = "T", [BC_A] = "A"};
    cli_list list;
    bc_status status = cli_list_read(arguments, "plot-quantities", &list, error);
    *only = 0;
    for (size_t i = 0; status == BC_OK && i < list.count; i++) {
        unsigned found = 0;
        for (size_t q = 0; q < sizeof word / sizeof *word; q++)
            found |= strcmp(list.item[i], word[q]) == 0 ? 1u << q : 0;
        if (found == 0)
            status = cli_fail_value(error, "plot-quantities", list.item[i], "", "R, T or A, several with commas");
        *only |= found;
    }
    cli_list_clear(&list);
    return status;
}

/* Whether the person's locale says so. */
static bool terminal_has_unicode(void)
{
    static const char *const name[] = {"LC_ALL", "LC_CTYPE", "LANG"};
    for (size_t i = 0; i < sizeof name / sizeof *name; i++) {
        const char *value = getenv(name[i]);
        if (value != NULL && value[0] != '\0')
            return strcasestr(value, "UTF-8") != NULL || strcasestr(value, "utf8") != NULL;
    }
    return false;
}

/* A first look, where nobody reads the numbers by machine. Nobody asked for it: a failure of it is not reported. */
static void show_sketch(const cli_session *session, const bc_spectrum_report *report)
{
    bc_text text = {0};
    if (session->quiet || session->json || !cli_is_standard_output(session->output) || !isatty(STDOUT_FILENO))
        return;
    if (bc_report_spectrum_sketch(report, terminal_has_unicode(), &text, NULL) == BC_OK)
        fputs(text.data, stderr);
    bc_text_clear(&text);
}

/* One report a stack. */
typedef struct spectra {
    size_t count;
    bc_spectrum_report *report;
    const char **path;
    bc_spectrum *memory; /* [count * angles] */
    size_t angles;
} spectra;

static bc_status make_text(const cli_session *session, const spectra *all, bc_text *text, bc_error *error)
{
    if (all->count > 1)
        return session->json ? bc_report_spectra_json(all->count, all->report, all->path, text, error)
                             : bc_report_spectra_csv(all->count, all->report, text, error);
    return session->json ? bc_report_spectrum_json(all->report, text, error)
                         : bc_report_spectrum_csv(all->report, text, error);
}

static bc_status write_report(cli_session *session, const spectra *all, bc_error *error)
{
    bc_text text = {0}, picture = {0};
    unsigned only;
    bc_status status = make_text(session, all, &text, error);
    if (status == BC_OK)
        status = read_quantities(session->arguments, &only, error);
    if (status == BC_OK && session->plot != NULL)
        status = bc_plot_spectra(all->count, all->report, all->path, only, &session->plot_options, &picture, error);
    status = cli_write_results(session, status, &text, &picture, NULL, error);
    if (status == BC_OK && all->count == 1)
        show_sketch(session, all->report);
    if (status == BC_OK)
        cli_note(session, "note: a predicted spectrum is not a measurement");
    return status;
}

/* What a part scatters depends on how its two surfaces are rough; of one the shares are known. */
static bc_status read_roughness(const cli_session *session, double *roughness_nm, bc_error *error)
{
    const bc_status status = cli_roughness(session, roughness_nm, error);
    if (status == BC_OK && *roughness_nm > 0.0 && session->back.kind != BC_BACK_NONE)
        return bc_fail(error, BC_ERROR_INPUT,
                       "--roughness-nm gives the scatter of one surface alone; expected no --back beside it");
    return status;
}

static bc_status open_spectra(const cli_session *session, const cli_stacks *others, const cli_angles *all,
                              bc_polarization polarization, spectra *made, bc_error *error)
{
    *made = (spectra){.count = others->count + 1, .angles = all->count};
    made->report = calloc(made->count, sizeof *made->report);
    made->path = calloc(made->count, sizeof *made->path);
    made->memory = calloc(made->count * all->count, sizeof *made->memory);
    if (made->report == NULL || made->path == NULL || made->memory == NULL)
        return bc_fail_memory(error);
    for (size_t s = 0; s < made->count; s++) {
        made->report[s] = (bc_spectrum_report){.angles = all->count,
                                               .aoi_rad = all->aoi_rad,
                                               .spectrum = made->memory + s * all->count,
                                               .polarization = polarization,
                                               .stack = cli_stack_at(session, others, s)};
        made->path[s] = s < others->count ? session->arguments->all_operands[s] : session->stack_path;
    }
    return BC_OK;
}

static void close_spectra(spectra *made)
{
    for (size_t i = 0; made->memory != NULL && i < made->count * made->angles; i++)
        bc_spectrum_clear(&made->memory[i]);
    free(made->memory);
    free(made->path);
    free(made->report);
}

static bc_status compute(cli_session *session, const cli_stacks *others, const grid *points, const cli_angles *all,
                         bc_polarization polarization, bc_error *error)
{
    spectra made;
    double roughness_nm = 0.0;
    bc_status status = open_spectra(session, others, all, polarization, &made, error);
    if (status == BC_OK)
        status = read_roughness(session, &roughness_nm, error);
    if (status == BC_OK && roughness_nm > 0.0 && made.count > 1)
        status = bc_fail(error, BC_ERROR_INPUT, "--roughness-nm is for one stack; found %zu", made.count);
    for (size_t i = 0; status == BC_OK && i < made.count * all->count; i++)
        status =
            bc_spectrum_compute(made.report[i / all->count].stack, &session->back, points->count, points->wavelength_nm,
                                all->aoi_rad[i % all->count], BC_PATH_AUTO, &made.memory[i], error);
    if (status == BC_OK) {
        made.report[0].roughness_nm = roughness_nm;
        status = write_report(session, &made, error);
    }
    close_spectra(&made);
    return status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    static const char *const word[] = {
        [BC_POL_UNPOLARIZED] = "unpolarized", [BC_POL_S] = "s", [BC_POL_P] = "p", [BC_POL_EACH] = "each"};
    size_t polarization = BC_POL_UNPOLARIZED;
    grid points = {0};
    cli_angles all = {0};
    cli_stacks others = {0};
    bc_status status = read_grid(session->arguments, &points, error);
    if (status == BC_OK)
        status = cli_read_angles(session->arguments, 1, 0.0, &all, error);
    if (status == BC_OK)
        status = cli_choice(session->arguments, "polarization", 4, word, &polarization, error);
    if (status == BC_OK && (double)(points.count * all.count) > MOST_ROWS)
        status = bc_fail(error, BC_ERROR_INPUT,
                         "%zu wavelengths at %zu angles make more than %.0f rows; expected a "
                         "larger --step or fewer --aoi",
                         points.count, all.count, MOST_ROWS);
    if (status == BC_OK)
        status = cli_read_stacks(session, &others, error);
    if (status == BC_OK)
        status = read_back(session, &others, &points, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK)
        status = compute(session, &others, &points, &all, (bc_polarization)polarization, error);
    cli_stacks_clear(&others);
    free(points.wavelength_nm);
    free(all.aoi_rad);
    *met = true;
    return status;
}

static const cli_option options[] = {
    {"from", "NM", false, "first wavelength in nm (default 380)"},
    {"to", "NM", false, "last wavelength in nm (default 780)"},
    {"step", "NM", false, "distance between wavelengths in nm (default 1)"},
    {"aoi", "DEG", true, "angle of incidence in degrees, 0 to below 90; several with commas (default 0)"},
    {"polarization", "unpolarized|s|p|each", false, "each: s and p (default unpolarized)"},
    {"back", "none|uncoated|same|STACK", false,
     "the second surface; none: the coated surface alone, T into the substrate (default none)"},
    CLI_OPTION_SUBSTRATE_MM,
    CLI_OPTION_ROUGHNESS,
    CLI_OPTIONS_PLOT,
    {"plot-quantities", "R,T,A", true, "what the picture shows (default R, T and, where light is absorbed, A)"},
    CLI_OPTIONS_CHANGES,
    CLI_OPTION_CHANGED_STACK,
    CLI_OPTION_END,
};

const cli_command cli_spectrum = {
    .name = "spectrum",
    .operand = "STACK...",
    .summary = "R, T and A in percent against wavelength in nm, as CSV.",
    .details = "Several stacks are compared side by side, each also as its difference from the first. --set and the "
               "other changes apply to the last one, so a file given twice shows before and after. On a terminal a "
               "sketch of R follows; --plot draws a picture.",
    .example = "spectrum examples/window-stack.csv --from 420 --to 680 --step 5 --aoi 0,30",
    .option = options,
    .run = run,
};
