/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESK_ANSWER_H
#define BLOOMCOAT_DESK_ANSWER_H
/*
 * Answers, each with the headers that keep the page to itself.
 */
#include "results.h"
#include "stream.h"
#include <microhttpd.h>

/* The page's own: its files from here, nothing from elsewhere, no script or style inside the text, in no one's frame
 * but its own. */
#define DESK_POLICY                                                                                                    \
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "        \
    "frame-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
/* A report that was written for someone: no script, and its own style. */
#define DESK_REPORT_POLICY                                                                                             \
    "sandbox; default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'self'"

enum MHD_Result desk_answer_text(struct MHD_Connection *connection, unsigned status, const char *type,
                                 const char *policy, size_t length, const void *text);
/* A small page that says what is wrong, in words. */
enum MHD_Result desk_answer_refusal(struct MHD_Connection *connection, unsigned status, const char *words);
/* {"error": message}, for a script. */
enum MHD_Result desk_answer_error(struct MHD_Connection *connection, bc_status status, const char *message);
/* A page with the cookie that leads on to the page itself. */
enum MHD_Result desk_answer_cookie(struct MHD_Connection *connection, const char *name, const char *value, bool secure);
/* A file of a job; `download`: to be stored, not shown. */
enum MHD_Result desk_answer_result(struct MHD_Connection *connection, const char *name, const bc_text *text,
                                   bool download);
/* The stream is the answer's from here on. */
enum MHD_Result desk_answer_stream(struct MHD_Connection *connection, desk_stream *stream);

#endif
