/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "changes.h"
#include "output.h"
#include "page.h"
#include "plot.h"

bc_status cli_write_results(const cli_session *session, bc_status made, bc_text *result, bc_text *picture,
                            cli_pages *pages, bc_error *error)
{
    bc_status status = made;
    if (status == BC_OK && pages != NULL)
        status = cli_write_pages(pages, error);
    if (status == BC_OK)
        status = cli_output_write(session->output, result, error);
    if (status == BC_OK)
        status = cli_write_plot(session, picture, error);
    if (status == BC_OK)
        status = cli_write_changed(session, error);
    if (pages != NULL)
        cli_pages_clear(pages);
    bc_text_clear(result);
    bc_text_clear(picture);
    return status;
}

bc_status cli_write_with_pages(const cli_session *session, bc_status made, bc_text *result, bc_text *picture,
                               const cli_page_work *work, bc_error *error)
{
    cli_pages pages = {0};
    const bc_status status = made == BC_OK ? cli_make_pages(session, work, &pages, error) : made;
    return cli_write_results(session, status, result, picture, &pages, error);
}
