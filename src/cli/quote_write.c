/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "quote_write.h"
#include "output.h"
#include "page.h"
#include "recording.h"
#include "request.h"
#include <stdlib.h>

/* What pages are made of. */
typedef struct surfaces {
    size_t count;
    bc_quote_surface *surface;
} surfaces;

bc_status cli_read_quote_reference(const cli_arguments *arguments, bc_page_reference *reference, bc_error *error)
{
    *reference = (bc_page_reference){.number = cli_value(arguments, "quote-number"),
                                     .request_number = cli_value(arguments, "request-number"),
                                     .foot = cli_value(arguments, "page-foot")};
    if (reference->number == NULL)
        reference->number = cli_recording_number();
    return cli_count(arguments, "validity-days", 1, 3650, &reference->validity_days, error);
}

static bc_status write_offer(const void *report, const bc_check_curves *curves, const bc_page_options *options,
                             bc_text *out, bc_error *error)
{
    const surfaces *all = report;
    (void)curves;
    return bc_page_offer(all->count, all->surface, options, out, error);
}

static bc_status write_internal(const void *report, const bc_check_curves *curves, const bc_page_options *options,
                                bc_text *out, bc_error *error)
{
    const surfaces *all = report;
    (void)curves;
    return bc_page_quote(all->count, all->surface, options, out, error);
}

/* The curves of every surface, for the pages alone. */
static bc_status compute_curves(const cli_arguments *arguments, const surfaces *all, bc_check_curves *curves,
                                bc_error *error)
{
    bc_status status = BC_OK;
    if (!cli_has(arguments, "report") && !cli_has(arguments, "internal-report"))
        return BC_OK;
    for (size_t s = 0; status == BC_OK && s < all->count; s++) {
        const bc_check_report *check = &all->surface[s].report->check;
        status = bc_check_curves_compute(check->stack, check->back, check->result, &curves[s], error);
        all->surface[s].curves = status == BC_OK ? &curves[s] : NULL;
    }
    return status;
}

static bc_status make_pages(const cli_session *session, const surfaces *all, bc_check_curves *curves, cli_pages *pages,
                            bc_error *error)
{
    bc_page_reference reference;
    const cli_page_work work = {
        .write = write_offer, .write_internal = write_internal, .report = all, .reference = &reference};
    bc_status status = cli_read_quote_reference(session->arguments, &reference, error);
    *pages = (cli_pages){0};
    if (status == BC_OK)
        status = compute_curves(session->arguments, all, curves, error);
    return status == BC_OK ? cli_make_pages(session, &work, pages, error) : status;
}

static bc_status make_request(size_t count, const cli_quoted *quoted, bc_text *out, bc_error *error)
{
    bc_request request = {0};
    bc_status status = BC_OK;
    for (size_t s = 0; status == BC_OK && s < count; s++)
        status = cli_save_surface(quoted[s].session, quoted[s].name, s + 1, s == 0, &request, error);
    if (status == BC_OK)
        status = bc_report_request_csv(&request, out, error);
    bc_request_clear(&request);
    return status;
}

/* The texts: the result, the price, the request. */
enum { RESULT, PRICE, REQUEST, TEXTS };

static bc_status make_texts(size_t count, const cli_quoted *quoted, const surfaces *all, bc_text text[TEXTS],
                            bc_error *error)
{
    const cli_session *session = quoted[0].session;
    bc_status status = session->json ? bc_report_quotes_json(count, all->surface, &text[RESULT], error)
                                     : bc_report_quotes_text(count, all->surface, &text[RESULT], error);
    if (status == BC_OK && cli_has(session->arguments, "price-csv"))
        status = bc_report_quotes_price_csv(count, all->surface, &text[PRICE], error);
    if (status == BC_OK && cli_has(session->arguments, "save"))
        status = make_request(count, quoted, &text[REQUEST], error);
    return status;
}

static bc_status write_texts(const cli_session *session, const bc_text text[TEXTS], bc_error *error)
{
    static const char *const option[] = {[PRICE] = "price-csv", [REQUEST] = "save"};
    bc_status status = cli_output_write_or_show(session->output, &text[RESULT], error);
    for (size_t i = PRICE; status == BC_OK && i < TEXTS; i++)
        if (text[i].data != NULL)
            status = cli_output_write(cli_value(session->arguments, option[i]), &text[i], error);
    return status;
}

bc_status cli_write_quotes(size_t count, const cli_quoted *quoted, bc_error *error)
{
    const cli_session *session = quoted[0].session;
    surfaces all = {count, calloc(count, sizeof *all.surface)};
    bc_check_curves *curves = calloc(count, sizeof *curves);
    bc_text text[TEXTS] = {{0}};
    cli_pages pages = {0};
    bc_status status = all.surface == NULL || curves == NULL ? bc_fail_memory(error) : BC_OK;
    for (size_t s = 0; status == BC_OK && s < count; s++)
        all.surface[s] = (bc_quote_surface){quoted[s].name, &quoted[s].report, NULL};
    if (status == BC_OK)
        status = make_texts(count, quoted, &all, text, error);
    if (status == BC_OK)
        status = make_pages(session, &all, curves, &pages, error);
    if (status == BC_OK)
        status = write_texts(session, text, error);
    if (status == BC_OK)
        status = cli_write_pages(&pages, error);
    cli_pages_clear(&pages);
    for (size_t i = 0; i < TEXTS; i++)
        bc_text_clear(&text[i]);
    for (size_t s = 0; curves != NULL && s < count; s++)
        bc_check_curves_clear(&curves[s]);
    free(curves);
    free(all.surface);
    return status;
}
