/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What the shop's record keeps of a quote.
 */
#include "quote_write.h"
#include "recording.h"
#include "text.h"
#include <math.h>

static bc_status record_surface(bc_record *record, const cli_quoted *one, size_t surface, const char *verdict,
                                bc_error *error)
{
    const bc_callouts *callouts = &one->session->callouts;
    const bc_quote_result *result = one->report.result;
    const char *name = one->name;
    const bc_quote_option *option = &result->option[result->recommended];
    const size_t layers = result->options == 0 ? 0 : option->stack.layers;
    bc_record_quote quote = {surface, name, verdict, NAN, NAN, NAN, NAN, NAN};
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i < callouts->count; i++) {
        const bc_callout *callout = &callouts->callout[i];
        bc_text words = {0};
        status = bc_report_callout_words(callout, &words, error);
        if (status == BC_OK)
            status = bc_record_add_callout(
                record, &(bc_record_callout){surface, name, callout->name, words.data, callout->substrate}, error);
        bc_text_clear(&words);
    }
    if (result->options > 0)
        quote = (bc_record_quote){surface,
                                  name,
                                  verdict,
                                  option->limit_used,
                                  option->yield,
                                  option->yield_low,
                                  option->yield_high,
                                  option->expected_hours};
    if (status == BC_OK)
        status = bc_record_add_quote(record, &quote, error);
    for (size_t i = 0; status == BC_OK && i < layers; i++)
        status = bc_record_add_layer(record,
                                     &(bc_record_layer){surface, bc_layer_number(layers, i),
                                                        option->stack.layer[i].material.name,
                                                        option->stack.layer[i].thickness_nm},
                                     error);
    return status;
}

bc_status cli_record_quotes(size_t count, const cli_quoted *quoted, bc_error *error)
{
    static const char *const word[] = {
        [BC_FEASIBLE] = "feasible", [BC_MARGINAL] = "marginal", [BC_NOT_FEASIBLE] = "not feasible"};
    bc_feasibility worst = BC_FEASIBLE;
    bc_status status;
    for (size_t s = 0; s < count; s++)
        worst = quoted[s].report.result->verdict > worst ? quoted[s].report.result->verdict : worst;
    status = cli_recording_begin(quoted[0].session, BC_RECORD_QUOTE, word[worst], error);
    for (size_t s = 0; status == BC_OK && cli_recording_record() != NULL && s < count; s++)
        status =
            record_surface(cli_recording_record(), &quoted[s], s + 1, word[quoted[s].report.result->verdict], error);
    return status;
}
