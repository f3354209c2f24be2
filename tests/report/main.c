/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "../run_suites.h"
#include "fixture.h"

int main(void)
{
    SRunner *runner = srunner_create(numbers_suite());
    srunner_add_suite(runner, spectrum_suite());
    srunner_add_suite(runner, check_suite());
    srunner_add_suite(runner, design_suite());
    srunner_add_suite(runner, materials_suite());
    srunner_add_suite(runner, process_suite());
    srunner_add_suite(runner, inspect_suite());
    srunner_add_suite(runner, memory_suite());
    srunner_add_suite(runner, deposit_suite());
    srunner_add_suite(runner, lens_suite());
    srunner_add_suite(runner, chart_suite());
    srunner_add_suite(runner, chart_axes_suite());
    srunner_add_suite(runner, chart_text_suite());
    srunner_add_suite(runner, plot_suite());
    srunner_add_suite(runner, plot_options_suite());
    srunner_add_suite(runner, plot_words_suite());
    srunner_add_suite(runner, plot_inspect_suite());
    srunner_add_suite(runner, plot_shop_suite());
    srunner_add_suite(runner, plot_lens_suite());
    srunner_add_suite(runner, plot_design_suite());
    srunner_add_suite(runner, plot_material_suite());
    srunner_add_suite(runner, plot_memory_suite());
    srunner_add_suite(runner, flow_suite());
    srunner_add_suite(runner, document_suite());
    srunner_add_suite(runner, page_suite());
    srunner_add_suite(runner, page_inspect_suite());
    srunner_add_suite(runner, writers_suite());
    srunner_add_suite(runner, quote_suite());
    srunner_add_suite(runner, proof_words_suite());
    srunner_add_suite(runner, circumstances_suite());
    srunner_add_suite(runner, yield_suite());
    srunner_add_suite(runner, control_suite());
    srunner_add_suite(runner, as_written_suite());
    srunner_add_suite(runner, colours_suite());
    srunner_add_suite(runner, record_suite());
    srunner_add_suite(runner, every_figure_suite());
    srunner_add_suite(runner, other_reports_suite());
    return run_suites(runner);
}
