/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Requests to the desk: the head, and the body of whoever was let in.
 */
#include "fuzz.h"
#include "handler.h"
#include "text.h"
#include <stdlib.h>
#include <string.h>

#define MOST_BYTES 4096

static const desk_gate gate = {.port = 8123,
                               .secret = "0000000000000000000000000000000000000000000000000000000000000000",
                               .key = "1111111111111111111111111111111111111111111111111111111111111111",
                               .cookie_name = "bloomcoat-8123"};

static bc_status open_materials(void *context, bc_materials **materials, bc_error *error)
{
    (void)error;
    *materials = context;
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

static void expect_verdict(const desk_caller *caller)
{
    char person[DESK_PERSON_SIZE], cookie[DESK_COOKIE_SIZE];
    const desk_verdict verdict = desk_gate_judge(&gate, caller, person);
    fuzz_expect(verdict <= DESK_WRONG_TYPE, "a verdict");
    if (verdict == DESK_GIVE_COOKIE)
        fuzz_expect(strstr(caller->path, gate.secret) != NULL, "the cookie is for whoever has the secret");
    if (verdict == DESK_LET_IN) {
        desk_gate_cookie(&gate, person, cookie);
        cookie[sizeof cookie - 1] = '\0';
        fuzz_expect(caller->cookies != NULL && strstr(caller->cookies, cookie) != NULL, "who has no cookie is refused");
        fuzz_expect(strcmp(caller->host, "127.0.0.1:8123") == 0 || strcmp(caller->host, "localhost:8123") == 0,
                    "another host is refused");
        fuzz_expect(strcmp(caller->method, "POST") != 0 || caller->origin != NULL, "a post without origin is refused");
    }
}

/* Nothing in a command line leads out of the job's folder. */
static void expect_command(const cJSON *request)
{
    static const char *const table[] = {"/tables"};
    const desk_options options = {.shop = "/shop", .tables = 1, .table = table};
    desk_command command;
    bc_error error = {0};
    bc_text line = {0};
    const bc_status status = desk_command_make(request, &options, &command, &error);
    if (status != BC_OK) {
        fuzz_expect_refusal(status, &error);
        return;
    }
    fuzz_expect(command.words >= 5 && strcmp(command.word[0], "bloomcoat") == 0 && command.word[command.words] == NULL,
                "a command line");
    for (size_t i = 0; i < command.files; i++)
        fuzz_expect(desk_name_is_safe(command.file[i]), "a plain name");
    for (size_t i = 0; i < command.results; i++)
        fuzz_expect(desk_name_is_safe(command.result[i]), "a plain name");
    for (size_t i = 4; i < command.operands - 1; i++)
        fuzz_expect(command.word[i][0] == '-' && strstr(command.word[i], "..") != command.word[i], "an option");
    fuzz_expect(strcmp(command.word[command.operands - 1], "--") == 0, "operands behind a double dash");
    fuzz_expect(desk_command_line(&command, &line, NULL) == BC_OK && strchr(line.data, '\n') == NULL, "one line");
    bc_text_clear(&line);
    desk_command_clear(&command);
}

/* Figures come as JSON, and a refusal has a message. */
static void expect_figures(const cJSON *request, const uint8_t *bytes, size_t size)
{
    const desk_options options = {.open_materials = open_materials, .context = fuzz_materials(bytes, size)};
    desk_live live;
    bc_text text = {0};
    bc_error error = {0};
    bc_status status;
    desk_live_open(&live, &options, NULL);
    status = desk_live_compute(&live, request, &text, &error);
    if (status == BC_OK) {
        cJSON *figures = cJSON_Parse(text.data);
        fuzz_expect(figures != NULL, "figures are JSON");
        cJSON_Delete(figures);
    } else {
        fuzz_expect(status == BC_ERROR_INPUT && error.message[0] != '\0', "a refusal has a message");
    }
    if (live.open == NULL)
        bc_materials_free(options.context);
    desk_live_clear(&live);
    bc_text_clear(&text);
    if (desk_words_understand(request, &text, &error) == BC_OK) {
        cJSON *notes = cJSON_Parse(text.data);
        fuzz_expect(notes != NULL, "notes are JSON");
        cJSON_Delete(notes);
    }
    bc_text_clear(&text);
}

void fuzz_web(const uint8_t *bytes, size_t size)
{
    char text[MOST_BYTES + 1], *rest = text, *first;
    desk_caller caller = {0};
    cJSON *request;
    if (size > MOST_BYTES)
        return;
    if (size > 0)
        memcpy(text, bytes, size);
    text[size] = '\0';
    first = next_line(&rest);
    caller.method = strsep(&first, " ");
    caller.path = first == NULL ? "" : first;
    while (*rest != '\0' && *rest != '\n') {
        const char *line = next_line(&rest);
        take_header(line, "Host", &caller.host);
        take_header(line, "Origin", &caller.origin);
        take_header(line, "Sec-Fetch-Site", &caller.site);
        take_header(line, "Content-Type", &caller.type);
        take_header(line, "Cookie", &caller.cookies);
    }
    expect_verdict(&caller);
    request = desk_body_parse(rest);
    if (request != NULL) {
        expect_figures(request, bytes, size);
        expect_command(request);
    }
    cJSON_Delete(request);
}
