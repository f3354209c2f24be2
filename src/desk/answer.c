/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answer.h"
#include "json.h"
#include "pages.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BLOCK_BYTES 16384

static enum MHD_Result send_response(struct MHD_Connection *connection, unsigned status, struct MHD_Response *response,
                                     const char *type, const char *policy)
{
    enum MHD_Result done;
    if (response == NULL)
        return MHD_NO;
    if (type != NULL)
        MHD_add_response_header(response, "Content-Type", type);
    MHD_add_response_header(response, "Content-Security-Policy", policy);
    MHD_add_response_header(response, "X-Content-Type-Options", "nosniff");
    MHD_add_response_header(response, "Referrer-Policy", "no-referrer");
    MHD_add_response_header(response, "Cross-Origin-Resource-Policy", "same-origin");
    MHD_add_response_header(response, "Cross-Origin-Opener-Policy", "same-origin");
    MHD_add_response_header(response, "Cache-Control", "no-store");
    if (status == MHD_HTTP_METHOD_NOT_ALLOWED)
        MHD_add_response_header(response, "Allow", "GET, HEAD, POST");
    done = MHD_queue_response(connection, status, response);
    MHD_destroy_response(response);
    return done;
}

static struct MHD_Response *make(size_t length, const void *text)
{
    return MHD_create_response_from_buffer(length, (void *)(size_t)text, MHD_RESPMEM_MUST_COPY);
}

enum MHD_Result desk_answer_text(struct MHD_Connection *connection, unsigned status, const char *type,
                                 const char *policy, size_t length, const void *text)
{
    return send_response(connection, status, make(length, text), type, policy);
}

enum MHD_Result desk_answer_refusal(struct MHD_Connection *connection, unsigned status, const char *words)
{
    char page[1024];
    const int length = snprintf(page, sizeof page,
                                "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">"
                                "<title>bloomcoat</title><link rel=\"icon\" "
                                "href=\"data:,\"></head>\n<body><h1>bloomcoat</h1>\n<p>%s</p></body></html>\n",
                                words);
    return desk_answer_text(connection, status, "text/html; charset=utf-8", DESK_POLICY, (size_t)length, page);
}

enum MHD_Result desk_answer_error(struct MHD_Connection *connection, bc_status status, const char *message)
{
    const unsigned code = status == BC_ERROR_INPUT ? MHD_HTTP_UNPROCESSABLE_CONTENT : MHD_HTTP_INTERNAL_SERVER_ERROR;
    bc_text text = {0};
    bc_json json;
    enum MHD_Result done;
    bc_json_open(&json);
    bc_json_string(&json, json.root, "error", message);
    if (bc_json_close(&json, &text, NULL) != BC_OK)
        return desk_answer_text(connection, code, "application/json", DESK_POLICY, 2, "{}");
    done = desk_answer_text(connection, code, "application/json", DESK_POLICY, text.length, text.data);
    bc_text_clear(&text);
    return done;
}

/* No redirection: a browser that came from elsewhere, from a file or a mail, would leave the cookie out of the request
 * that follows. What this page itself leads to is asked from the same site. */
enum MHD_Result desk_answer_cookie(struct MHD_Connection *connection, const char *name, const char *value, bool secure)
{
    static const char page[] = "<!doctype html>\n<html lang=\"en\"><head><meta "
                               "charset=\"utf-8\"><title>bloomcoat</title><link rel=\"icon\" href=\"data:,\">"
                               "<meta http-equiv=\"refresh\" content=\"0; url=/\"></head>"
                               "<body><p><a href=\"/\">To the desk</a></p></body></html>\n";
    struct MHD_Response *response = make(sizeof page - 1, page);
    char cookie[256];
    if (response == NULL)
        return MHD_NO;
    snprintf(cookie, sizeof cookie, "%s=%s; Path=/; HttpOnly; SameSite=Strict%s", name, value,
             secure ? "; Secure" : "");
    MHD_add_response_header(response, "Set-Cookie", cookie);
    return send_response(connection, MHD_HTTP_OK, response, "text/html; charset=utf-8", DESK_POLICY);
}

enum MHD_Result desk_answer_result(struct MHD_Connection *connection, const char *name, const bc_text *text,
                                   bool download)
{
    struct MHD_Response *response = make(text->length, text->data == NULL ? "" : text->data);
    char disposition[128];
    if (response == NULL)
        return MHD_NO;
    snprintf(disposition, sizeof disposition, "%s; filename=\"%s\"", download ? "attachment" : "inline", name);
    MHD_add_response_header(response, "Content-Disposition", disposition);
    return send_response(connection, MHD_HTTP_OK, response, desk_type_of(name), DESK_REPORT_POLICY);
}

static ssize_t read_stream(void *context, uint64_t at, char *to, size_t most)
{
    const size_t got = desk_stream_read(context, to, most);
    (void)at;
    return got == 0 ? MHD_CONTENT_READER_END_OF_STREAM : (ssize_t)got;
}

static void close_stream(void *context)
{
    desk_stream_close(context);
}

enum MHD_Result desk_answer_stream(struct MHD_Connection *connection, desk_stream *stream)
{
    struct MHD_Response *response =
        MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, BLOCK_BYTES, read_stream, stream, close_stream);
    if (response == NULL)
        desk_stream_close(stream);
    return send_response(connection, MHD_HTTP_OK, response, "application/x-ndjson", DESK_POLICY);
}
