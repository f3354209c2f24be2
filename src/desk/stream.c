/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stream.h"
#include "gate.h"
#include "json.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PAUSE_MS 400

struct desk_stream {
    desk_jobs *jobs;
    cJSON *request;
    desk_job job;
    char id[DESK_ID_SIZE], person[DESK_PERSON_SIZE];
    bc_text pending; /* lines not yet given away, from `given` on */
    size_t given;
    bool slow, has_slot, started, done;
    char last[96]; /* the progress that was given last */
};

void desk_jobs_open(desk_jobs *jobs, const desk_options *options, const desk_folder *home, desk_results *results)
{
    *jobs = (desk_jobs){.options = options, .home = home, .results = results};
    desk_slots_open(&jobs->slots, options->proxy != NULL ? 1 : DESK_SLOW_SLOTS);
    pthread_mutex_init(&jobs->lock, NULL);
}

void desk_jobs_close(desk_jobs *jobs)
{
    pthread_mutex_destroy(&jobs->slots.lock);
    pthread_mutex_destroy(&jobs->lock);
}

static bool enlist(desk_jobs *jobs, desk_stream *stream)
{
    size_t place = DESK_MOST_JOBS, theirs = 0;
    pthread_mutex_lock(&jobs->lock);
    for (size_t i = 0; i < DESK_MOST_JOBS; i++)
        if (jobs->running[i] == NULL)
            place = i;
        else
            theirs += strcmp(jobs->running[i]->person, stream->person) == 0;
    if (theirs >= DESK_EACH_JOBS)
        place = DESK_MOST_JOBS;
    if (place < DESK_MOST_JOBS)
        jobs->running[place] = stream;
    pthread_mutex_unlock(&jobs->lock);
    return place < DESK_MOST_JOBS;
}

static void strike_off(desk_jobs *jobs, const desk_stream *stream)
{
    pthread_mutex_lock(&jobs->lock);
    for (size_t i = 0; i < DESK_MOST_JOBS; i++)
        if (jobs->running[i] == stream)
            jobs->running[i] = NULL;
    pthread_mutex_unlock(&jobs->lock);
}

void desk_jobs_interrupt(desk_jobs *jobs, const char *id)
{
    pthread_mutex_lock(&jobs->lock);
    for (size_t i = 0; i < DESK_MOST_JOBS; i++)
        if (jobs->running[i] != NULL && strcmp(jobs->running[i]->id, id) == 0)
            atomic_store(&jobs->running[i]->job.stop, true);
    pthread_mutex_unlock(&jobs->lock);
}

/* One line; cJSON writes it without a line's end inside. */
static void add_line(desk_stream *stream, bc_json *json)
{
    char *line = json->failed ? NULL : cJSON_PrintUnformatted(json->root);
    if (line != NULL)
        bc_text_add(&stream->pending, "%s\n", line);
    else
        stream->pending.failed = true;
    cJSON_free(line);
    cJSON_Delete(json->root);
}

static void add_string(desk_stream *stream, const char *name, const char *value)
{
    bc_json json;
    bc_json_open(&json);
    bc_json_string(&json, json.root, name, value);
    add_line(stream, &json);
}

static bc_status add_head(desk_stream *stream, bc_error *error)
{
    bc_text line = {0};
    bc_json json;
    bc_status status = desk_command_line(&stream->job.command, &line, error);
    if (status == BC_OK) {
        bc_json_open(&json);
        bc_json_string(&json, json.root, "job", stream->id);
        bc_json_string(&json, json.root, "command", line.data);
        add_line(stream, &json);
    }
    bc_text_clear(&line);
    return status;
}

bc_status desk_stream_open(desk_jobs *jobs, const char *person, cJSON *request, desk_stream **out, bc_error *error)
{
    desk_command command = {0};
    desk_stream *stream = calloc(1, sizeof *stream);
    bc_status status;
    *out = NULL;
    if (stream == NULL) {
        cJSON_Delete(request);
        return bc_fail_memory(error);
    }
    stream->jobs = jobs;
    stream->request = request;
    snprintf(stream->person, sizeof stream->person, "%s", person);
    stream->job = (desk_job){.folder = -1, .out = -1, .messages = -1};
    status = desk_random(stream->id, sizeof stream->id, error);
    if (status == BC_OK)
        status = desk_command_make(request, jobs->options, &command, error);
    if (status == BC_OK) {
        stream->slow = command.slow;
        status = desk_job_prepare(&stream->job, jobs->home, &command, error);
    }
    if (status == BC_OK)
        status = add_head(stream, error);
    if (status == BC_OK && !enlist(jobs, stream))
        status = bc_fail(error, BC_ERROR_IO, "too many jobs are there already; end some first");
    if (status == BC_OK)
        *out = stream;
    else
        desk_stream_close(stream);
    return status;
}

/* The files it wrote, kept under its ID; their names into the last line. */
static void keep_results(desk_stream *stream, bc_json *json)
{
    cJSON *names = bc_json_array(json, json->root, "results");
    for (size_t i = 0; i < stream->job.command.results; i++) {
        const char *name = stream->job.command.result[i];
        bc_text text = {0};
        if (desk_file_read(stream->job.folder, name, &text, NULL) == BC_OK) {
            desk_results_keep(stream->jobs->results, stream->id, name, &text);
            cJSON_AddItemToArray(names, cJSON_CreateString(name));
        }
        bc_text_clear(&text);
    }
}

static void add_end(desk_stream *stream)
{
    const desk_job *job = &stream->job;
    bc_json json;
    bc_json_open(&json);
    bc_json_number(&json, json.root, "exit", job->code, 3);
    bc_json_string(&json, json.root, "printed", job->printed.data == NULL ? "" : job->printed.data);
    bc_json_string(&json, json.root, "said", job->said.data == NULL ? "" : job->said.data);
    keep_results(stream, &json);
    add_line(stream, &json);
    stream->done = true;
}

static void fail(desk_stream *stream, const char *message)
{
    bc_json json;
    bc_json_open(&json);
    bc_json_number(&json, json.root, "exit", 3.0, 3);
    bc_json_string(&json, json.root, "said", message);
    add_line(stream, &json);
    stream->done = true;
}

static void begin(desk_stream *stream)
{
    bool full = false;
    bc_error error = {0};
    stream->has_slot = desk_slots_take(&stream->jobs->slots, stream, stream->person, stream->slow, &full);
    if (full) {
        fail(stream, "too much is waiting to be computed; try again in a moment");
        return;
    }
    if (!stream->has_slot) {
        const struct timespec pause = {0, 100000000};
        if (strcmp(stream->last, "waits") != 0)
            add_string(stream, "waits", "other work comes first");
        strcpy(stream->last, "waits");
        nanosleep(&pause, NULL);
        return;
    }
    stream->started = desk_job_start(&stream->job, &error) == BC_OK;
    if (!stream->started)
        fail(stream, error.message);
}

/* Its last line, less the blanks it is filled up with. */
static void add_progress(desk_stream *stream)
{
    const bc_text *line = &stream->job.line;
    char now[sizeof stream->last] = "";
    size_t length = line->length < sizeof now ? line->length : sizeof now - 1;
    if (line->length > 0)
        memcpy(now, line->data, length);
    while (length > 0 && now[length - 1] == ' ')
        now[--length] = '\0';
    if (now[0] != '\0' && strcmp(now, stream->last) != 0) {
        strcpy(stream->last, now);
        add_string(stream, "progress", now);
    }
}

/* Each line is JSON of our own program; what is none is left out. */
static void add_found(desk_stream *stream)
{
    bc_text *found = &stream->job.found;
    const char *line = found->data, *end;
    while (!found->failed && line != NULL && (end = memchr(line, '\n', found->length - (size_t)(line - found->data)))) {
        cJSON *item = cJSON_ParseWithLength(line, (size_t)(end - line));
        bc_json json;
        bc_json_open(&json);
        line = end + 1;
        if (item != NULL && cJSON_AddItemToObject(json.root, "found", item)) {
            add_line(stream, &json);
        } else {
            cJSON_Delete(item);
            cJSON_Delete(json.root);
        }
    }
    found->length = 0;
}

static void go_on(desk_stream *stream)
{
    if (atomic_load(&stream->jobs->stopping)) {
        fail(stream, "the desk was closed");
    } else if (!stream->started) {
        begin(stream);
    } else {
        const bool ended = desk_job_step(&stream->job, PAUSE_MS);
        add_found(stream);
        if (ended)
            add_end(stream);
        else
            add_progress(stream);
    }
}

size_t desk_stream_read(desk_stream *stream, char *to, size_t most)
{
    size_t length;
    if (stream->given == stream->pending.length) {
        stream->pending.length = stream->given = 0;
        if (stream->done || stream->pending.failed)
            return 0;
        go_on(stream);
        if (stream->pending.length == 0 && !stream->pending.failed)
            bc_text_add(&stream->pending, "\n"); /* a page that went away is noticed by this */
    }
    length = stream->pending.length - stream->given;
    length = length < most ? length : most;
    memcpy(to, stream->pending.data + stream->given, length);
    stream->given += length;
    return length;
}

void desk_stream_close(desk_stream *stream)
{
    strike_off(stream->jobs, stream);
    desk_job_clear(&stream->job);
    if (stream->has_slot)
        desk_slots_give(&stream->jobs->slots, stream->person, stream->slow);
    else
        desk_slots_leave(&stream->jobs->slots, stream);
    bc_text_clear(&stream->pending);
    cJSON_Delete(stream->request);
    free(stream);
}
