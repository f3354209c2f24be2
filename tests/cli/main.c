/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "part.h"
#include "program.h"

/* The longest first, so that parts are about equally long. */
static Suite *(*const suites[])(void) = {
    cli_plot_suite,     written_suite,     places_suite,        streams_suite,       command_line_suite,
    lens_suite,         cli_page_suite,    yield_suite,         inspect_wrong_suite, results_suite,
    scan_options_suite, bounds_suite,      inspect_suite,       files_suite,         deposit_suite,
    quote_suite,        options_suite,     cli_callouts_suite,  cli_shop_suite,      cli_index_suite,
    cli_changes_suite,  cli_request_suite, cli_reference_suite, cli_standard_suite,  cli_record_suite,
};

int main(void)
{
    return run_part(sizeof suites / sizeof *suites, suites);
}
