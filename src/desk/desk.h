/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESK_H
#define BLOOMCOAT_DESK_H
/*
 * The page in the browser: a web server on the loopback address alone, for whoever has the secret that its address
 * holds.
 *
 * What the page asks for becomes a command line of this program, run in a process of its own (command.h, job.h); a
 * layer being dragged is computed here (live.h). See README.md for why.
 */
#include <bloomcoat/materials.h>

typedef struct desk_options {
    const char *shop;         /* absolute path of the shop's folder; NULL: none */
    size_t tables;            /* absolute paths of --tables, in order */
    const char *const *table; /* [tables] */
    unsigned port;            /* 0: any that is free */
    const char *proxy;        /* the origin of a proxy before it, see gate.h; NULL: none */
    double seconds;           /* after which it ends by itself; INFINITY: never */
    /* The materials of a command with these tables and this shop; the caller frees them. */
    bc_status (*open_materials)(void *context, bc_materials **materials, bc_error *error);
    void *context;
} desk_options;

typedef struct desk desk;

/* From here to desk_close() the signals that end it wait for desk_serve(). Listen, and draw the secret. Nothing is
 * answered yet; a browser that comes now waits. BC_ERROR_INPUT when the port is taken. `options` must outlive the desk.
 */
bc_status desk_open(const desk_options *options, desk **out, bc_error *error);
unsigned desk_port(const desk *opened);
/* http://127.0.0.1:PORT/open/SECRET, or the same of the proxy, to be opened in a browser. */
const char *desk_address(const desk *opened);
/* A file that leads there, for nobody else to read: a command line, which everyone on this machine can see, need not
 * hold the secret. It is gone when the desk is closed. */
const char *desk_address_file(const desk *opened);
/* What the kernel holds this process, and all it starts, to. */
typedef struct desk_held {
    bool folders;      /* it writes in the shop's folder and the desk's own alone (Landlock) */
    bool system_calls; /* it makes no connection and starts no program but this one (seccomp) */
} desk_held;

/* From here on, where the kernel can; before desk_serve(), and before any thread is started: one that runs is not held.
 */
desk_held desk_hold(const desk *opened);
/* Answer until SIGINT, SIGTERM or SIGHUP comes, or the time is over; every process begun has ended then. */
bc_status desk_serve(desk *opened, bc_error *error);
void desk_close(desk *opened); /* NULL: nothing */

#endif
