/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "program.h"
#include <stdlib.h>

int main(void)
{
    SRunner *runner = srunner_create(command_line_suite());
    int failed;
    srunner_add_suite(runner, results_suite());
    srunner_add_suite(runner, files_suite());
    srunner_add_suite(runner, places_suite());
    srunner_add_suite(runner, bounds_suite());
    srunner_add_suite(runner, written_suite());
    srunner_add_suite(runner, yield_suite());
    srunner_add_suite(runner, quote_suite());
    srunner_add_suite(runner, deposit_suite());
    srunner_add_suite(runner, inspect_suite());
    srunner_add_suite(runner, inspect_wrong_suite());
    srunner_add_suite(runner, scan_options_suite());
    srunner_add_suite(runner, streams_suite());
    srunner_add_suite(runner, options_suite());
    srunner_add_suite(runner, lens_suite());
    srunner_add_suite(runner, cli_plot_suite());
    srunner_add_suite(runner, cli_page_suite());
    srunner_add_suite(runner, cli_callouts_suite());
    srunner_add_suite(runner, cli_shop_suite());
    srunner_add_suite(runner, cli_changes_suite());
    srunner_run_all(runner, CK_ENV);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
