/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Requests to the desk: the head, and the body of whoever was let in.
 */
#include "fuzz.h"
#include "handler.h"
#include "text.h"
#include <bloomcoat/callout_words.h>
#include <stdlib.h>
#include <string.h>

#define MOST_BYTES 4096
#define MOST_NOTES 3 /* and bytes of each, that the reader of notes is given */
#define MOST_NOTE  200
#define SECRET     "0000000000000000000000000000000000000000000000000000000000000000"
#define KEY        "1111111111111111111111111111111111111111111111111111111111111111"
#define RESULT_ID  "33333333333333333333333333333333"
#define PROXY      "https://desk.example"

/* What the handler sees of libmicrohttpd's connection. */
typedef struct fake_connection {
    union MHD_ConnectionInfo info;
    desk_caller caller;
    const char *length;   /* Content-Length */
    const char *argument; /* behind the path's question mark */
    const void *answer;   /* as long as the handler keeps it */
    size_t answer_length;
    desk_stream *stream;
    unsigned status; /* 0: not answered yet */
} fake_connection;

static fake_connection *current;
static unsigned char random_digit;
static size_t notes; /* that were read for the request; the reader of notes has a target of its own, and takes long */

static struct MHD_Connection *as_connection(fake_connection *fake)
{
    return (struct MHD_Connection *)(void *)fake;
}

/* The linker puts these in place of libmicrohttpd's, and of what would reach files and processes. */
const char *__wrap_MHD_lookup_connection_value(struct MHD_Connection *connection, enum MHD_ValueKind kind,
                                               const char *key);
enum MHD_Result __wrap_MHD_lookup_connection_value_n(struct MHD_Connection *connection, enum MHD_ValueKind kind,
                                                     const char *key, size_t key_size, const char **value_ptr,
                                                     size_t *value_size_ptr);
const union MHD_ConnectionInfo *__wrap_MHD_get_connection_info(struct MHD_Connection *connection,
                                                               enum MHD_ConnectionInfoType info_type, ...);
struct MHD_Response *__real_MHD_create_response_from_buffer(size_t size, void *buffer,
                                                            enum MHD_ResponseMemoryMode mode);
struct MHD_Response *__wrap_MHD_create_response_from_buffer(size_t size, void *buffer,
                                                            enum MHD_ResponseMemoryMode mode);
struct MHD_Response *__real_MHD_create_response_from_callback(uint64_t size, size_t block_size,
                                                              MHD_ContentReaderCallback crc, void *crc_cls,
                                                              MHD_ContentReaderFreeCallback crfc);
struct MHD_Response *__wrap_MHD_create_response_from_callback(uint64_t size, size_t block_size,
                                                              MHD_ContentReaderCallback crc, void *crc_cls,
                                                              MHD_ContentReaderFreeCallback crfc);
enum MHD_Result __wrap_MHD_queue_response(struct MHD_Connection *connection, unsigned int status_code,
                                          struct MHD_Response *response);
bc_status __real_desk_command_make(const cJSON *request, const desk_options *options, desk_command *command,
                                   bc_error *error);
bc_status __wrap_desk_command_make(const cJSON *request, const desk_options *options, desk_command *command,
                                   bc_error *error);
bc_status __real_bc_callouts_parse(const char *text, bc_callouts *callouts, unsigned *assumptions, bc_error *error);
bc_status __wrap_bc_callouts_parse(const char *text, bc_callouts *callouts, unsigned *assumptions, bc_error *error);
bc_status __wrap_desk_random(char *to, size_t size, bc_error *error);
bc_status __wrap_desk_job_folder_make(const desk_folder *folder, char name[DESK_NAME_SIZE], int *descriptor,
                                      bc_error *error);
void __wrap_desk_job_folder_remove(const desk_folder *folder, const char *name, int descriptor);
bc_status __wrap_desk_file_write(int folder, const char *name, const char *text, size_t length, bc_error *error);
bc_status __wrap_desk_file_read(int folder, const char *name, bc_text *out, bc_error *error);
bc_status __wrap_desk_job_start(desk_job *job, bc_error *error);

const char *__wrap_MHD_lookup_connection_value(struct MHD_Connection *connection, enum MHD_ValueKind kind,
                                               const char *key)
{
    const fake_connection *fake = (const void *)connection;
    const struct {
        const char *name, *value;
    } header[] = {{"Host", fake->caller.host},           {"Origin", fake->caller.origin},
                  {"Sec-Fetch-Site", fake->caller.site}, {"Content-Type", fake->caller.type},
                  {"Cookie", fake->caller.cookies},      {"Content-Length", fake->length}};
    fuzz_expect(kind == MHD_HEADER_KIND, "a header");
    for (size_t i = 0; i < sizeof header / sizeof header[0]; i++)
        if (strcmp(key, header[i].name) == 0)
            return header[i].value;
    fuzz_expect(false, "a header that requests of this target can have");
    return NULL;
}

enum MHD_Result __wrap_MHD_lookup_connection_value_n(struct MHD_Connection *connection, enum MHD_ValueKind kind,
                                                     const char *key, size_t key_size, const char **value_ptr,
                                                     size_t *value_size_ptr)
{
    const fake_connection *fake = (const void *)connection;
    fuzz_expect(kind == MHD_GET_ARGUMENT_KIND, "an argument");
    *value_ptr = NULL;
    *value_size_ptr = 0;
    return fake->argument != NULL && strncmp(fake->argument, key, key_size) == 0 ? MHD_YES : MHD_NO;
}

const union MHD_ConnectionInfo *__wrap_MHD_get_connection_info(struct MHD_Connection *connection,
                                                               enum MHD_ConnectionInfoType info_type, ...)
{
    fuzz_expect(info_type == MHD_CONNECTION_INFO_CONNECTION_FD, "the descriptor");
    return &((const fake_connection *)(const void *)connection)->info;
}

struct MHD_Response *__wrap_MHD_create_response_from_buffer(size_t size, void *buffer, enum MHD_ResponseMemoryMode mode)
{
    current->answer = buffer;
    current->answer_length = size;
    return __real_MHD_create_response_from_buffer(size, buffer, mode);
}

struct MHD_Response *__wrap_MHD_create_response_from_callback(uint64_t size, size_t block_size,
                                                              MHD_ContentReaderCallback crc, void *crc_cls,
                                                              MHD_ContentReaderFreeCallback crfc)
{
    current->stream = crc_cls;
    return __real_MHD_create_response_from_callback(size, block_size, crc, crc_cls, crfc);
}

static void expect_json(const char *text, size_t length)
{
    cJSON *item = cJSON_ParseWithLength(text, length);
    fuzz_expect(cJSON_IsObject(item), "what is sent as JSON is an object");
    cJSON_Delete(item);
}

/* A job's lines, to its end: its process was not started. */
static void read_stream(desk_stream *stream)
{
    char lines[65536];
    size_t length = 0, got;
    while ((got = desk_stream_read(stream, lines + length, sizeof lines - length)) > 0)
        length += got;
    for (const char *line = lines, *end; line < lines + length; line = end + 1) {
        end = memchr(line, '\n', length - (size_t)(line - lines));
        fuzz_expect(end != NULL, "a stream ends with a line's end");
        if (end > line)
            expect_json(line, (size_t)(end - line));
    }
    fuzz_expect(length > 0, "a job has lines");
}

enum MHD_Result __wrap_MHD_queue_response(struct MHD_Connection *connection, unsigned int status_code,
                                          struct MHD_Response *response)
{
    fake_connection *fake = (void *)connection;
    const char *type = MHD_get_response_header(response, "Content-Type");
    fuzz_expect(fake->status == 0, "a request is answered once");
    fuzz_expect(MHD_get_response_header(response, "Content-Security-Policy") != NULL, "an answer has a policy");
    fuzz_expect(type != NULL, "an answer has a type");
    fake->status = status_code;
    if (strcmp(type, "application/json") == 0)
        expect_json(fake->answer, fake->answer_length);
    if (fake->stream != NULL)
        read_stream(fake->stream);
    return MHD_YES;
}

/* Nothing in a command line leads out of the job's folder. */
bc_status __wrap_desk_command_make(const cJSON *request, const desk_options *options, desk_command *command,
                                   bc_error *error)
{
    bc_text line = {0};
    const bc_status status = __real_desk_command_make(request, options, command, error);
    if (status != BC_OK) {
        fuzz_expect_refusal(status, error);
        return status;
    }
    fuzz_expect(command->words >= 5 && strcmp(command->word[0], "bloomcoat") == 0 &&
                    command->word[command->words] == NULL,
                "a command line");
    for (size_t i = 0; i < command->files; i++)
        fuzz_expect(desk_name_is_safe(command->file[i]), "a plain name");
    for (size_t i = 0; i < command->results; i++)
        fuzz_expect(desk_name_is_safe(command->result[i]), "a plain name");
    for (size_t i = 4; i < command->operands - 1; i++)
        fuzz_expect(command->word[i][0] == '-' && strstr(command->word[i], "..") != command->word[i], "an option");
    fuzz_expect(strcmp(command->word[command->operands - 1], "--") == 0, "operands behind a double dash");
    fuzz_expect(desk_command_line(command, &line, NULL) == BC_OK && strchr(line.data, '\n') == NULL, "one line");
    bc_text_clear(&line);
    return status;
}

bc_status __wrap_bc_callouts_parse(const char *text, bc_callouts *callouts, unsigned *assumptions, bc_error *error)
{
    if (current != NULL && (++notes > MOST_NOTES || strlen(text) > MOST_NOTE))
        return bc_fail(error, BC_ERROR_INPUT, "the note would be read here");
    return __real_bc_callouts_parse(text, callouts, assumptions, error);
}

bc_status __wrap_desk_random(char *to, size_t size, bc_error *error)
{
    (void)error;
    random_digit = (unsigned char)((random_digit + 1) % 10);
    memset(to, '0' + random_digit, size - 1);
    to[size - 1] = '\0';
    return BC_OK;
}

bc_status __wrap_desk_job_folder_make(const desk_folder *folder, char name[DESK_NAME_SIZE], int *descriptor,
                                      bc_error *error)
{
    (void)folder;
    (void)error;
    strcpy(name, "job");
    *descriptor = -1;
    return BC_OK;
}

void __wrap_desk_job_folder_remove(const desk_folder *folder, const char *name, int descriptor)
{
    (void)folder;
    (void)name;
    (void)descriptor;
}

/* The reader is given the file that was written last. */
bc_status __wrap_desk_file_write(int folder, const char *name, const char *text, size_t length, bc_error *error)
{
    (void)folder;
    (void)error;
    fuzz_expect(desk_name_is_safe(name), "a plain name");
    fuzz_set_file((const uint8_t *)text, length);
    return BC_OK;
}

bc_status __wrap_desk_file_read(int folder, const char *name, bc_text *out, bc_error *error)
{
    (void)folder;
    (void)out;
    fuzz_expect(desk_name_is_safe(name), "a plain name");
    return bc_fail(error, BC_ERROR_INPUT, "the command did not write it");
}

/* No process, nothing to read: it has ended at once. */
bc_status __wrap_desk_job_start(desk_job *job, bc_error *error)
{
    (void)job;
    (void)error;
    return BC_OK;
}

typedef struct input {
    const uint8_t *bytes;
    size_t size;
} input;

static bc_status open_materials(void *context, bc_materials **materials, bc_error *error)
{
    const input *all = context;
    (void)error;
    *materials = fuzz_materials(all->bytes, all->size);
    return BC_OK;
}

/* One line, ended by a zero in its place; *rest is moved behind it. */
static char *next_line(char **rest)
{
    char *line = *rest;
    const size_t length = strcspn(line, "\n");
    *rest = line + length + (line[length] == '\n');
    line[length] = '\0';
    return line;
}

/* The value, where the line is of this header. */
static void take_header(const char *line, const char *name, const char **value)
{
    const size_t length = strlen(name);
    if (strncmp(line, name, length) == 0 && line[length] == ':')
        *value = line + length + 1;
}

/* Method and path, split and decoded as libmicrohttpd does it, and headers. Returns the body. */
static char *take_head(char *text, fake_connection *fake)
{
    char *rest = text, *first = next_line(&rest), *path;
    fake->caller.method = strsep(&first, " ");
    path = strsep(&first, "?");
    fake->argument = first;
    if (path != NULL)
        MHD_http_unescape(path);
    fake->caller.path = path == NULL ? "" : path;
    while (*rest != '\0' && *rest != '\n') {
        const char *line = next_line(&rest);
        take_header(line, "Host", &fake->caller.host);
        take_header(line, "Origin", &fake->caller.origin);
        take_header(line, "Sec-Fetch-Site", &fake->caller.site);
        take_header(line, "Content-Type", &fake->caller.type);
        take_header(line, "Content-Length", &fake->length);
        take_header(line, "Cookie", &fake->caller.cookies);
    }
    return rest + (*rest == '\n');
}

static bool is_one_of(unsigned status, size_t count, const unsigned *allowed)
{
    for (size_t i = 0; i < count; i++)
        if (status == allowed[i])
            return true;
    return false;
}

/* Who may not come in is refused whatever is asked for; who may gets no answer that lays a fault on the machine. */
static desk_verdict expect_answer(const desk_gate *gate, const fake_connection *fake)
{
    static const unsigned refusals[] = {403, 405, 415, 421}, answers[] = {200, 400, 404, 413, 422};
    const desk_caller *caller = &fake->caller;
    char person[DESK_PERSON_SIZE], cookie[DESK_COOKIE_SIZE];
    const desk_verdict verdict = desk_gate_judge(gate, caller, person);
    const bool own = caller->host != NULL &&
                     (strcmp(caller->host, "127.0.0.1:8123") == 0 || strcmp(caller->host, "localhost:8123") == 0);
    const bool proxys = gate->proxy != NULL && caller->host != NULL && strcmp(caller->host, "desk.example") == 0;
    if (verdict == DESK_GIVE_COOKIE) {
        fuzz_expect(strstr(caller->path, gate->secret) != NULL, "the cookie is for whoever has the secret");
        fuzz_expect(fake->status == 200, "the cookie is given");
    } else if (verdict != DESK_LET_IN) {
        fuzz_expect(is_one_of(fake->status, 4, refusals), "a refusal");
        fuzz_expect(fake->stream == NULL, "nothing is computed for a stranger");
    } else {
        desk_gate_cookie(gate, person, cookie);
        cookie[sizeof cookie - 1] = '\0';
        fuzz_expect(caller->cookies != NULL && strstr(caller->cookies, cookie) != NULL, "who has no cookie is refused");
        fuzz_expect(own || proxys, "another host is refused");
        fuzz_expect(strcmp(caller->method, "POST") != 0 || caller->origin != NULL, "a post without origin is refused");
        fuzz_expect(is_one_of(fake->status, 5, answers), "an answer");
    }
    return verdict;
}

/* A head, a body in two pieces, and the end, as libmicrohttpd calls. */
static void serve(desk_state *state, fake_connection *fake, const char *body, size_t length)
{
    struct MHD_Connection *connection = as_connection(fake);
    const char *path = fake->caller.path, *method = fake->caller.method;
    const size_t pieces[] = {length / 3, length - length / 3, 0};
    void *own = NULL;
    current = fake;
    notes = 0;
    desk_on_connection(state, connection, NULL, MHD_CONNECTION_NOTIFY_STARTED);
    fuzz_expect(desk_on_request(state, connection, path, method, "HTTP/1.1", NULL, &(size_t){0}, &own) == MHD_YES,
                "a head is taken");
    for (size_t i = 0; fake->status == 0 && i < 3; i++) {
        size_t piece = pieces[i];
        if (piece > 0 || i == 2)
            fuzz_expect(desk_on_request(state, connection, path, method, "HTTP/1.1", body, &piece, &own) == MHD_YES,
                        "a body is taken");
        fuzz_expect(piece == 0, "all of a piece is taken");
        body += pieces[i];
    }
    fuzz_expect(fake->status != 0, "a request is answered");
    desk_on_end(state, connection, &own, MHD_REQUEST_TERMINATED_COMPLETED_OK);
    desk_on_connection(state, connection, NULL, MHD_CONNECTION_NOTIFY_CLOSED);
    fuzz_expect(atomic_load(&state->body_bytes) == 0, "the bytes of a body are given back");
    current = NULL;
}

/* All but the materials, which an input may change, is there for every request. */
static desk_state *standing_state(const desk_options *options, const desk_folder *home)
{
    static desk_state state;
    static bool is_there;
    if (!is_there) {
        bc_text picture = {0};
        bc_text_add(&picture, "<svg/>");
        state.gate = (desk_gate){.port = 8123, .secret = SECRET, .key = KEY, .cookie_name = "bloomcoat-8123"};
        desk_results_open(&state.results);
        desk_results_keep(&state.results, RESULT_ID, "picture.svg", &picture);
        desk_connections_open(&state.connections);
        desk_jobs_open(&state.jobs, options, home, &state.results);
        is_there = true;
    }
    return &state;
}

/* The same by somebody who may come in. */
static void let_in(fake_connection *fake)
{
    static const char host[] = "127.0.0.1:8123", origin[] = "http://127.0.0.1:8123";
    static char cookies[sizeof "bloomcoat-8123=" + DESK_COOKIE_SIZE];
    const desk_caller caller = fake->caller;
    const char *stated = fake->length;
    if (cookies[0] == '\0') {
        const desk_gate gate = {.key = KEY};
        strcpy(cookies, "bloomcoat-8123=");
        desk_gate_cookie(&gate, "22222222222222222222222222222222", cookies + strlen(cookies));
    }
    *fake = (fake_connection){.info = fake->info, .length = stated, .argument = fake->argument};
    fake->caller = (desk_caller){.method = strcmp(caller.method, "GET") == 0 ? "GET" : "POST",
                                 .path = caller.path,
                                 .host = host,
                                 .origin = origin,
                                 .type = "application/json",
                                 .cookies = cookies};
}

void fuzz_web(const uint8_t *bytes, size_t size)
{
    static const char *const table[] = {"/tables"};
    static desk_folder home = {.path = (char *)(size_t)FUZZ_HOME, .descriptor = -1};
    static desk_options options = {.shop = "/shop", .tables = 1, .table = table, .open_materials = open_materials};
    char text[MOST_BYTES + 1];
    input all = {bytes, size};
    fake_connection fake = {.info = {.connect_fd = 1000}};
    desk_state *state = standing_state(&options, &home);
    const char *body;
    size_t length;
    if (size > MOST_BYTES)
        return;
    if (size > 0)
        memcpy(text, bytes, size);
    text[size] = '\0';
    body = take_head(text, &fake);
    length = size - (size_t)(body - text);
    options.context = &all;
    desk_live_open(&state->live, &options, &home);
    state->gate.proxy = fake.caller.host != NULL && strstr(fake.caller.host, "desk") != NULL ? PROXY : NULL;
    serve(state, &fake, body, length);
    if (expect_answer(&state->gate, &fake) != DESK_LET_IN) {
        let_in(&fake);
        serve(state, &fake, body, length);
        fuzz_expect(expect_answer(&state->gate, &fake) == DESK_LET_IN || strncmp(fake.caller.path, "/open/", 6) == 0,
                    "whoever has a cookie is let in");
    }
    desk_live_clear(&state->live);
    fuzz_set_file(NULL, 0);
}
