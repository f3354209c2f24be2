/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_REQUEST_H
#define BLOOMCOAT_CLI_REQUEST_H
/*
 * A request file as options of a quote: what the command line gives wins, and both win over the shop's defaults.
 */
#include "session.h"
#include <bloomcoat/request.h>

/* The arguments for one surface (from 1; 0: of no request, a copy). free() out->given; all else is that of `base` and
 * of the request. */
bc_status cli_request_arguments(const cli_arguments *base, const bc_request *request, size_t surface,
                                cli_arguments *out, bc_error *error);

/* The name of a surface; NULL: it has none. */
const char *cli_request_surface(const bc_request *request, size_t surface);

/* The callouts of session->request and session->surface. */
bc_status cli_read_request_callouts(cli_session *session, bc_error *error);

/* Put file and line before a message about an option whose value came from the request. Returns `status`. */
bc_status cli_blame_request(const cli_session *session, bc_status status, bc_error *error);

/* What a surface was asked, from its session, appended to a request to be saved as number `surface` (0: the only one);
 * with the keys of the whole request first where `first`. */
bc_status cli_save_surface(const cli_session *session, const char *name, size_t surface, bool first,
                           bc_request *request, bc_error *error);

#endif
