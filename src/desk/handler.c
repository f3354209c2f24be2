/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "handler.h"
#include "pages.h"
#include "text.h"
#include <stdlib.h>
#include <string.h>

#define DEPTH_LIMIT 16 /* of a body's arrays and objects */

typedef struct exchange {
    bc_text body;
    bool too_much;
    char person[DESK_PERSON_SIZE];
} exchange;

static int descriptor_of(struct MHD_Connection *connection)
{
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
    return info == NULL ? -1 : info->connect_fd;
}

void desk_on_connection(void *context, struct MHD_Connection *connection, void **own,
                        enum MHD_ConnectionNotificationCode what)
{
    desk_state *state = context;
    (void)own;
    if (what == MHD_CONNECTION_NOTIFY_STARTED)
        desk_connections_add(&state->connections, descriptor_of(connection));
    else
        desk_connections_drop(&state->connections, descriptor_of(connection));
}

void desk_on_end(void *context, struct MHD_Connection *connection, void **own, enum MHD_RequestTerminationCode how)
{
    desk_state *state = context;
    exchange *mine = *own;
    (void)how;
    desk_connections_expect(&state->connections, descriptor_of(connection), DESK_HEAD_SECONDS);
    if (mine == NULL)
        return;
    atomic_fetch_sub(&state->body_bytes, mine->body.length);
    bc_text_clear(&mine->body);
    free(mine);
    *own = NULL;
}

static const char *header(struct MHD_Connection *connection, const char *name)
{
    return MHD_lookup_connection_value(connection, MHD_HEADER_KIND, name);
}

static enum MHD_Result refuse(struct MHD_Connection *connection, desk_verdict verdict)
{
    switch (verdict) {
    case DESK_WRONG_HOST:
        return desk_answer_refusal(connection, MHD_HTTP_MISDIRECTED_REQUEST,
                                   "This address is not the desk's own. Use the one that <code>bloomcoat desk</code> "
                                   "printed.");
    case DESK_WRONG_METHOD:
        return desk_answer_refusal(connection, MHD_HTTP_METHOD_NOT_ALLOWED, "The desk does not take such a request.");
    case DESK_WRONG_TYPE:
        return desk_answer_refusal(connection, MHD_HTTP_UNSUPPORTED_MEDIA_TYPE, "The desk takes JSON alone.");
    case DESK_WRONG_ORIGIN:
        return desk_answer_refusal(connection, MHD_HTTP_FORBIDDEN,
                                   "This request came from a page of another site. Open the desk by itself.");
    default:
        return desk_answer_refusal(connection, MHD_HTTP_FORBIDDEN,
                                   "This page is open to whoever has its whole address. Use the one that <code>"
                                   "bloomcoat desk</code> printed, with the secret at its end.");
    }
}

static desk_verdict judge(const desk_state *state, struct MHD_Connection *connection, const char *path,
                          const char *method, char person[DESK_PERSON_SIZE])
{
    const desk_caller caller = {.method = method,
                                .path = path,
                                .host = header(connection, "Host"),
                                .origin = header(connection, "Origin"),
                                .site = header(connection, "Sec-Fetch-Site"),
                                .type = header(connection, "Content-Type"),
                                .cookies = header(connection, "Cookie")};
    return desk_gate_judge(&state->gate, &caller, person);
}

/* One that has a cookie keeps it. */
static enum MHD_Result give_cookie(const desk_state *state, struct MHD_Connection *connection,
                                   char person[DESK_PERSON_SIZE])
{
    char cookie[DESK_COOKIE_SIZE];
    if (person[0] == '\0' && desk_random(person, DESK_PERSON_SIZE, NULL) != BC_OK)
        return MHD_NO;
    desk_gate_cookie(&state->gate, person, cookie);
    return desk_answer_cookie(connection, state->gate.cookie_name, cookie,
                              state->gate.proxy != NULL && strncmp(state->gate.proxy, "https", 5) == 0);
}

/* The head is there: is this someone to listen to? */
static enum MHD_Result begin(desk_state *state, struct MHD_Connection *connection, const char *path, const char *method,
                             void **own)
{
    char person[DESK_PERSON_SIZE];
    const desk_verdict verdict = judge(state, connection, path, method, person);
    const char *stated = header(connection, "Content-Length");
    exchange *mine;
    desk_connections_expect(&state->connections, descriptor_of(connection), DESK_BODY_SECONDS);
    if (verdict == DESK_GIVE_COOKIE)
        return give_cookie(state, connection, person);
    if (verdict != DESK_LET_IN)
        return refuse(connection, verdict);
    if (stated != NULL && strtoull(stated, NULL, 10) > DESK_BODY_BYTES)
        return desk_answer_refusal(connection, MHD_HTTP_CONTENT_TOO_LARGE, "That is more than the desk takes at once.");
    mine = calloc(1, sizeof *mine);
    *own = mine;
    if (mine == NULL)
        return MHD_NO;
    memcpy(mine->person, person, sizeof mine->person);
    return MHD_YES;
}

static void gather(desk_state *state, exchange *mine, const char *data, size_t length)
{
    if (mine->too_much || mine->body.length + length > DESK_BODY_BYTES ||
        atomic_load(&state->body_bytes) + length > DESK_BODIES_BYTES) {
        mine->too_much = true;
        return;
    }
    bc_text_add_bytes(&mine->body, data, length);
    if (mine->body.failed)
        mine->too_much = true;
    else
        atomic_fetch_add(&state->body_bytes, length);
}

static bool is_shallow(const char *text)
{
    size_t depth = 0;
    bool quoted = false;
    for (; *text != '\0'; text++) {
        if (quoted && *text == '\\' && text[1] != '\0')
            text++;
        else if (*text == '"')
            quoted = !quoted;
        else if (!quoted && (*text == '[' || *text == '{') && ++depth > DEPTH_LIMIT)
            return false;
        else if (!quoted && (*text == ']' || *text == '}') && depth > 0)
            depth--;
    }
    return true;
}

cJSON *desk_body_parse(const char *text)
{
    cJSON *request = is_shallow(text) ? cJSON_Parse(text) : NULL;
    if (cJSON_IsObject(request))
        return request;
    cJSON_Delete(request);
    return NULL;
}

static enum MHD_Result answer_figures(struct MHD_Connection *connection, bc_status status, bc_text *text,
                                      const bc_error *error)
{
    const enum MHD_Result done = status == BC_OK ? desk_answer_text(connection, MHD_HTTP_OK, "application/json",
                                                                    DESK_POLICY, text->length, text->data)
                                                 : desk_answer_error(connection, status, error->message);
    bc_text_clear(text);
    return done;
}

static enum MHD_Result post(desk_state *state, struct MHD_Connection *connection, const char *path, const char *person,
                            cJSON *request)
{
    bc_text text = {0};
    bc_error error = {0};
    bc_status status;
    desk_stream *stream;
    if (strcmp(path, "/run") == 0) {
        status = desk_stream_open(&state->jobs, person, request, &stream, &error);
        return status == BC_OK ? desk_answer_stream(connection, stream)
                               : desk_answer_error(connection, status, error.message);
    }
    if (strcmp(path, "/stop") == 0) {
        const char *id = cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(request, "job"));
        desk_jobs_interrupt(&state->jobs, id == NULL ? "" : id);
        status = BC_OK;
        bc_text_add(&text, "{}\n");
    } else if (strcmp(path, "/live") == 0) {
        status = desk_live_compute(&state->live, request, &text, &error);
    } else if (strcmp(path, "/words") == 0) {
        status = desk_words_understand(request, &text, &error);
    } else if (strcmp(path, "/read") == 0) {
        status = desk_live_read(&state->live, request, &text, &error);
    } else {
        status = bc_fail(&error, BC_ERROR_INPUT, "the desk has no such place");
    }
    cJSON_Delete(request);
    return answer_figures(connection, status, &text, &error);
}

/* Whether the address ends with ?NAME. */
static bool asks_for(struct MHD_Connection *connection, const char *name)
{
    const char *value;
    size_t size;
    return MHD_lookup_connection_value_n(connection, MHD_GET_ARGUMENT_KIND, name, strlen(name), &value, &size) ==
           MHD_YES;
}

/* /result/ID/NAME, or with ?download */
static enum MHD_Result get_result(desk_state *state, struct MHD_Connection *connection, const char *rest)
{
    const char *slash = strchr(rest, '/');
    char id[DESK_ID_SIZE];
    bc_text text = {0};
    enum MHD_Result done = MHD_NO;
    bool found = false;
    if (slash != NULL && slash - rest == DESK_ID_SIZE - 1) {
        memcpy(id, rest, sizeof id - 1);
        id[sizeof id - 1] = '\0';
        found = desk_results_find(&state->results, id, slash + 1, &text);
    }
    if (found)
        done = desk_answer_result(connection, slash + 1, &text, asks_for(connection, "download"));
    else
        done = desk_answer_refusal(connection, MHD_HTTP_NOT_FOUND,
                                   "This file is no longer kept. Compute it once more on the page.");
    bc_text_clear(&text);
    return done;
}

static enum MHD_Result get_shop_file(desk_state *state, struct MHD_Connection *connection, const char *name)
{
    bc_text text = {0};
    bc_error error = {0};
    const bc_status status = desk_shop_file(state->jobs.options, name, &text, &error);
    const enum MHD_Result done =
        status == BC_OK ? desk_answer_text(connection, MHD_HTTP_OK, "text/csv; charset=utf-8", DESK_REPORT_POLICY,
                                           text.length, text.data == NULL ? "" : text.data)
                        : desk_answer_refusal(connection, MHD_HTTP_NOT_FOUND, "The shop's folder has no such file.");
    bc_text_clear(&text);
    return done;
}

static enum MHD_Result get(desk_state *state, struct MHD_Connection *connection, const char *path)
{
    static const char result[] = "/result/", shop[] = "/shop/";
    const desk_page *page = desk_page_find(path);
    if (page != NULL)
        return desk_answer_text(connection, MHD_HTTP_OK, page->type, DESK_POLICY, page->length, page->data);
    if (strcmp(path, "/shop.json") == 0) {
        bc_text text = {0};
        bc_error error = {0};
        const bc_status status = desk_live_about(&state->live, &text, &error);
        return answer_figures(connection, status, &text, &error);
    }
    if (strncmp(path, shop, sizeof shop - 1) == 0)
        return get_shop_file(state, connection, path + sizeof shop - 1);
    if (strncmp(path, result, sizeof result - 1) == 0)
        return get_result(state, connection, path + sizeof result - 1);
    return desk_answer_refusal(connection, MHD_HTTP_NOT_FOUND, "The desk has no such page.");
}

enum MHD_Result desk_on_request(void *context, struct MHD_Connection *connection, const char *path, const char *method,
                                const char *version, const char *data, size_t *length, void **own)
{
    desk_state *state = context;
    exchange *mine = *own;
    cJSON *request;
    (void)version;
    if (mine == NULL)
        return begin(state, connection, path, method, own);
    if (*length > 0) {
        gather(state, mine, data, *length);
        *length = 0;
        return MHD_YES;
    }
    desk_connections_expect(&state->connections, descriptor_of(connection), 0.0);
    if (strcmp(method, "POST") != 0)
        return get(state, connection, path);
    if (mine->too_much)
        return desk_answer_refusal(connection, MHD_HTTP_CONTENT_TOO_LARGE, "That is more than the desk takes at once.");
    request = mine->body.length > 0 ? desk_body_parse(mine->body.data) : NULL;
    if (request == NULL)
        return desk_answer_refusal(connection, MHD_HTTP_BAD_REQUEST, "That is no JSON that the desk reads.");
    return post(state, connection, path, mine->person, request);
}
