/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESK_HANDLER_H
#define BLOOMCOAT_DESK_HANDLER_H
/*
 * Requests: who is let in, what they ask for, and the answer.
 */
#include "answer.h"
#include "connections.h"
#include "gate.h"
#include "live.h"

#define DESK_BODY_BYTES   (24 << 20) /* of one request: many scans */
#define DESK_BODIES_BYTES (96 << 20) /* of all that are under way */

typedef struct desk_state {
    desk_gate gate;
    desk_live live;
    desk_results results;
    desk_jobs jobs;
    desk_connections connections;
    atomic_size_t body_bytes;
} desk_state;

/* A body: an object, not nested too deeply; else NULL. */
cJSON *desk_body_parse(const char *text);

/* For MHD_start_daemon(); the context is a desk_state. */
enum MHD_Result desk_on_request(void *context, struct MHD_Connection *connection, const char *path, const char *method,
                                const char *version, const char *data, size_t *length, void **exchange);
void desk_on_end(void *context, struct MHD_Connection *connection, void **exchange,
                 enum MHD_RequestTerminationCode how);
void desk_on_connection(void *context, struct MHD_Connection *connection, void **own,
                        enum MHD_ConnectionNotificationCode what);

#endif
