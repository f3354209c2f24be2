/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "chart.h"
#include "desk.h"
#include "fuzz.h"
#include <bloomcoat/deposit.h>
#include <bloomcoat/inspect.h>
#include <bloomcoat/lens.h>
#include <bloomcoat/quote.h>
#include <bloomcoat/refine.h>
#include <bloomcoat/report.h>
#include <bloomcoat/robust.h>
#include <bloomcoat/spectrum.h>
#include <bloomcoat/yield.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define MOST_WORDS       40
#define MOST_BYTES       4096
#define MOST_WAVELENGTHS 600 /* a spectrum of more is not computed */

int bloomcoat_main(int count, char **words); /* main() of the program, under another name */

static bc_status stop_here(bc_error *error)
{
    return bc_fail(error, BC_ERROR_INPUT, "the computation would begin here");
}

static void expect_problem(const bc_design_problem *problem)
{
    fuzz_expect(problem->callouts->count > 0 && problem->substrates > 0, "callouts and a substrate");
    for (size_t i = 0; i < problem->substrates; i++)
        fuzz_expect(problem->substrate[i].dispersion != NULL, "a substrate");
    for (size_t i = 0; i < problem->materials; i++)
        fuzz_expect(problem->material[i].dispersion != NULL, "a layer material");
    fuzz_expect(problem->incident.dispersion != NULL, "an incident medium");
    fuzz_expect(problem->max_layers >= 1 && problem->max_layers <= 200, "1 to 200 layers");
    fuzz_expect(problem->minimum_nm >= 0.0 && problem->max_total_nm >= problem->minimum_nm, "room for a layer");
    fuzz_expect(problem->back.substrate_mm >= 0.0 && isfinite(problem->back.substrate_mm), "a glass's thickness");
}

/* The linker puts these in place of the computations. */
bc_status __wrap_bc_draft(const bc_design_problem *problem, const bc_draft_options *options, bc_draft_result *result,
                          bc_error *error);
bc_status __wrap_bc_refine(const bc_design_problem *problem, bc_stack *stack, bc_refine_result *result,
                           bc_error *error);
bc_status __wrap_bc_yield(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                          const bc_yield_options *options, bc_yield_result *result, bc_error *error);
bc_status __wrap_bc_quote(const bc_quote_request *request, bc_quote_result *result, bc_error *error);
bc_status __wrap_bc_deposit(const bc_stack *stack, const bc_process *process, const bc_chamber *chamber,
                            const bc_monitor *monitor, bc_deposit_result *result, bc_error *error);
bc_status __wrap_bc_lens(const bc_stack *stack, const bc_callouts *callouts, size_t substrates,
                         const bc_medium *substrate, const bc_curved *curved, size_t zones, bc_lens_result *result,
                         bc_error *error);
bc_status __wrap_bc_inspect(const bc_measurement *measurement, const bc_inspect_setup *setup, bc_inspect_result *result,
                            bc_error *error);
bc_status __wrap_bc_inspect_lot(size_t count, const bc_measurement *measurement, const bc_inspect_setup *setup,
                                bc_lot_result *result, bc_error *error);
bc_status __wrap_bc_chart_write(bc_chart *chart, const bc_plot_options *options, bc_text *out, bc_error *error);
bc_status __real_bc_spectrum_compute(const bc_stack *stack, const bc_back *back, size_t count,
                                     const double *wavelength_nm, double aoi_rad, bc_path path, bc_spectrum *spectrum,
                                     bc_error *error);
bc_status __wrap_bc_spectrum_compute(const bc_stack *stack, const bc_back *back, size_t count,
                                     const double *wavelength_nm, double aoi_rad, bc_path path, bc_spectrum *spectrum,
                                     bc_error *error);
bc_status __wrap_cli_output_write(const char *path, const bc_text *text, bc_error *error);
bc_status __wrap_desk_open(const desk_options *options, desk **out, bc_error *error);

bc_status __wrap_bc_draft(const bc_design_problem *problem, const bc_draft_options *options, bc_draft_result *result,
                          bc_error *error)
{
    expect_problem(problem);
    fuzz_expect(problem->materials > 0, "a layer material");
    fuzz_expect(options->effort >= 0.01 && options->effort <= 1000.0 && options->threads <= 1024, "bounded work");
    memset(result, 0, sizeof *result);
    return stop_here(error);
}

bc_status __wrap_bc_refine(const bc_design_problem *problem, bc_stack *stack, bc_refine_result *result, bc_error *error)
{
    expect_problem(problem);
    fuzz_expect(stack->layers > 0, "a layer");
    memset(result, 0, sizeof *result);
    return stop_here(error);
}

bc_status __wrap_bc_yield(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                          const bc_yield_options *options, bc_yield_result *result, bc_error *error)
{
    (void)problem;
    (void)stack;
    fuzz_expect(process->rows > 0 && options->runs >= 1, "a process and a run");
    memset(result, 0, sizeof *result);
    return stop_here(error);
}

bc_status __wrap_bc_quote(const bc_quote_request *request, bc_quote_result *result, bc_error *error)
{
    (void)request;
    memset(result, 0, sizeof *result);
    return stop_here(error);
}

bc_status __wrap_bc_deposit(const bc_stack *stack, const bc_process *process, const bc_chamber *chamber,
                            const bc_monitor *monitor, bc_deposit_result *result, bc_error *error)
{
    (void)process;
    (void)chamber;
    fuzz_expect(stack->incident.dispersion != NULL && monitor != NULL, "a stack and a monitor");
    memset(result, 0, sizeof *result);
    return stop_here(error);
}

bc_status __wrap_bc_lens(const bc_stack *stack, const bc_callouts *callouts, size_t substrates,
                         const bc_medium *substrate, const bc_curved *curved, size_t zones, bc_lens_result *result,
                         bc_error *error)
{
    (void)stack;
    (void)substrate;
    (void)substrates;
    fuzz_expect(callouts->count > 0 && zones >= 5 && zones <= 1001 && curved != NULL, "a surface to look at");
    memset(result, 0, sizeof *result);
    return stop_here(error);
}

bc_status __wrap_bc_inspect(const bc_measurement *measurement, const bc_inspect_setup *setup, bc_inspect_result *result,
                            bc_error *error)
{
    fuzz_expect(measurement != NULL && setup != NULL, "a measurement");
    memset(result, 0, sizeof *result);
    return stop_here(error);
}

bc_status __wrap_bc_inspect_lot(size_t count, const bc_measurement *measurement, const bc_inspect_setup *setup,
                                bc_lot_result *result, bc_error *error)
{
    fuzz_expect(count > 0 && measurement != NULL && setup != NULL, "measurements");
    memset(result, 0, sizeof *result);
    return stop_here(error);
}

/* Drawing takes its time, and is tested elsewhere. */
bc_status __wrap_bc_chart_write(bc_chart *chart, const bc_plot_options *options, bc_text *out, bc_error *error)
{
    (void)options;
    (void)out;
    bc_chart_clear(chart);
    return stop_here(error);
}

bc_status __wrap_bc_spectrum_compute(const bc_stack *stack, const bc_back *back, size_t count,
                                     const double *wavelength_nm, double aoi_rad, bc_path path, bc_spectrum *spectrum,
                                     bc_error *error)
{
    fuzz_expect(count > 0 && aoi_rad >= 0.0 && aoi_rad < 1.5707963267948966, "an angle below 90 degrees");
    for (size_t i = 0; i < count; i++)
        fuzz_expect(wavelength_nm[i] > 0.0 && isfinite(wavelength_nm[i]), "wavelengths");
    memset(spectrum, 0, sizeof *spectrum);
    if (count > MOST_WAVELENGTHS)
        return stop_here(error);
    return __real_bc_spectrum_compute(stack, back, count, wavelength_nm, aoi_rad, path, spectrum, error);
}

/* No file is written, however the input calls it. */
bc_status __wrap_cli_output_write(const char *path, const bc_text *text, bc_error *error)
{
    (void)path;
    (void)error;
    fuzz_expect(text->data != NULL && text->data[text->length] == '\0', "a text that ends");
    return BC_OK;
}

bc_status __wrap_desk_open(const desk_options *options, desk **out, bc_error *error)
{
    fuzz_expect(options->port <= 65535 && options->seconds >= 0.0, "a port and a time");
    *out = NULL;
    return stop_here(error);
}

static void enter_folder(void)
{
    static bool entered;
    if (entered)
        return;
    fuzz_expect(chdir(fuzz_folder()) == 0, "a folder to work in");
    unsetenv("BLOOMCOAT_TABLES");
    entered = true;
}

void fuzz_command_line(const uint8_t *bytes, size_t size)
{
    char copy[MOST_BYTES + 1], program[] = "bloomcoat";
    char *words[MOST_WORDS + 2] = {program};
    char *rest = copy;
    int count = 1, code;
    enter_folder();
    fuzz_set_file(NULL, 0);
    size = size < MOST_BYTES ? size : MOST_BYTES;
    if (size > 0)
        memcpy(copy, bytes, size);
    copy[size] = '\0';
    for (char *slash = copy; (slash = strchr(slash, '/')) != NULL;)
        *slash = '_';
    while (rest != NULL && count <= MOST_WORDS)
        words[count++] = strsep(&rest, "\n");
    words[count] = NULL;
    code = bloomcoat_main(count, words);
    fuzz_expect(code >= 0 && code <= 2, "an exit code of 0, 1 or 2");
}
