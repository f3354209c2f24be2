/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "confine.h"
#include "handler.h"
#include "system_calls.h"
#include <arpa/inet.h>
#include <errno.h>
#include <math.h>
#include <netinet/in.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#define STACK_BYTES  (1 << 20) /* of a connection's thread */
#define MEMORY_BYTES 32768     /* of a connection: its head, and what is sent at once */
#define IDLE_SECONDS 30
#define BACKLOG      256

struct desk {
    const desk_options *options;
    int listener;
    char address[320];
    char *address_file;
    desk_folder home;
    desk_state state;
    sigset_t ending, before; /* the signals that end it, and those that were blocked before */
};

/* On the loopback address alone. */
static bc_status listen_here(desk *d, bc_error *error)
{
    struct sockaddr_in at = {.sin_family = AF_INET,
                             .sin_port = htons((uint16_t)d->options->port),
                             .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    socklen_t length = sizeof at;
    const int on = 1;
    bc_status status;
    d->listener = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    if (d->listener < 0)
        return bc_fail(error, BC_ERROR_IO, "no socket: %s", strerror(errno));
    setsockopt(d->listener, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
    if (bind(d->listener, (const struct sockaddr *)&at, sizeof at) != 0)
        return bc_fail(error, errno == EADDRINUSE || errno == EACCES ? BC_ERROR_INPUT : BC_ERROR_IO,
                       "port %u cannot be used: %s; without --port the system chooses one that is free",
                       d->options->port, strerror(errno));
    if (listen(d->listener, BACKLOG) != 0 || getsockname(d->listener, (struct sockaddr *)&at, &length) != 0)
        return bc_fail(error, BC_ERROR_IO, "port %u cannot be listened at: %s", d->options->port, strerror(errno));
    status = desk_gate_make(ntohs(at.sin_port), d->options->proxy, &d->state.gate, error);
    if (d->options->proxy != NULL)
        snprintf(d->address, sizeof d->address, "%s/open/%s", d->options->proxy, d->state.gate.secret);
    else
        snprintf(d->address, sizeof d->address, "http://127.0.0.1:%u/open/%s", d->state.gate.port,
                 d->state.gate.secret);
    return status;
}

static bc_status write_address_file(desk *d, bc_error *error)
{
    static const char name[] = "open.html";
    char *text = NULL;
    bc_status status;
    const int length = asprintf(&text,
                                "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>bloomcoat"
                                "</title><meta http-equiv=\"refresh\" content=\"0; url=%s\"></head><body><p>"
                                "<a href=\"%s\">To the desk</a></p></body></html>\n",
                                d->address, d->address);
    if (length < 0)
        return bc_fail_memory(error);
    status = desk_file_write(d->home.descriptor, name, text, (size_t)length, error);
    free(text);
    if (status == BC_OK && asprintf(&d->address_file, "%s/%s", d->home.path, name) < 0) {
        d->address_file = NULL;
        status = bc_fail_memory(error);
    }
    return status;
}

bc_status desk_open(const desk_options *options, desk **out, bc_error *error)
{
    desk *d = calloc(1, sizeof *d);
    bc_status status;
    *out = d;
    if (d == NULL)
        return bc_fail_memory(error);
    d->options = options;
    d->home.descriptor = -1;
    sigemptyset(&d->ending);
    sigaddset(&d->ending, SIGINT);
    sigaddset(&d->ending, SIGTERM);
    sigaddset(&d->ending, SIGHUP);
    pthread_sigmask(SIG_BLOCK, &d->ending, &d->before);
    desk_live_open(&d->state.live, options, &d->home);
    desk_results_open(&d->state.results);
    desk_jobs_open(&d->state.jobs, options, &d->home, &d->state.results);
    desk_connections_open(&d->state.connections);
    d->listener = -1;
    status = listen_here(d, error);
    if (status == BC_OK)
        status = desk_folder_make(&d->home, error);
    return status == BC_OK ? write_address_file(d, error) : status;
}

unsigned desk_port(const desk *opened)
{
    return opened->state.gate.port;
}

const char *desk_address(const desk *opened)
{
    return opened->address;
}

const char *desk_address_file(const desk *opened)
{
    return opened->address_file;
}

static void be_silent(void *context, const char *format, va_list arguments)
{
    (void)context, (void)format, (void)arguments;
}

static struct MHD_Daemon *start(desk *d)
{
    return MHD_start_daemon(
        MHD_USE_THREAD_PER_CONNECTION | MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_POLL | MHD_USE_ERROR_LOG, 0, NULL,
        NULL, desk_on_request, &d->state, MHD_OPTION_EXTERNAL_LOGGER, be_silent, NULL, MHD_OPTION_LISTEN_SOCKET,
        d->listener, MHD_OPTION_CONNECTION_LIMIT, (unsigned)DESK_MOST_CONNECTIONS, MHD_OPTION_CONNECTION_TIMEOUT,
        (unsigned)IDLE_SECONDS, MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)MEMORY_BYTES, MHD_OPTION_THREAD_STACK_SIZE,
        (size_t)STACK_BYTES, MHD_OPTION_NOTIFY_COMPLETED, desk_on_end, &d->state, MHD_OPTION_NOTIFY_CONNECTION,
        desk_on_connection, &d->state, MHD_OPTION_STRICT_FOR_CLIENT, 1, MHD_OPTION_END);
}

/* Until a signal comes, or the time is over; looking after slow connections meanwhile. */
static void wait_for_end(desk *d)
{
    struct timespec begun;
    const struct timespec pause = {0, 500000000};
    clock_gettime(CLOCK_MONOTONIC, &begun);
    while (desk_seconds_since(&begun) < d->options->seconds) {
        if (sigtimedwait(&d->ending, NULL, &pause) > 0)
            return;
        desk_connections_reap(&d->state.connections);
    }
}

desk_held desk_hold(const desk *opened)
{
    const char *const folder[] = {opened->options->shop, opened->home.path};
    const long version = desk_confine(2, folder);
    const bool filtered = desk_filter_system_calls(DESK_SERVES);
    return (desk_held){.folders = version >= DESK_CONFINES_EMPTYING || (version > 0 && filtered),
                       .system_calls = filtered};
}

bc_status desk_serve(desk *opened, bc_error *error)
{
    struct MHD_Daemon *daemon;
    errno = 0;
    daemon = start(opened);
    if (daemon == NULL && errno == ENOMEM)
        return bc_fail_memory(error);
    if (daemon != NULL) {
        opened->listener = -1; /* the daemon closes it */
        wait_for_end(opened);
        atomic_store(&opened->state.jobs.stopping, true);
        MHD_stop_daemon(daemon);
    }
    return daemon != NULL ? BC_OK : bc_fail(error, BC_ERROR_IO, "the web server does not start");
}

void desk_close(desk *opened)
{
    if (opened == NULL)
        return;
    if (opened->listener >= 0)
        close(opened->listener);
    desk_jobs_close(&opened->state.jobs);
    desk_results_clear(&opened->state.results);
    desk_live_clear(&opened->state.live);
    desk_folder_remove(&opened->home);
    free(opened->address_file);
    pthread_sigmask(SIG_SETMASK, &opened->before, NULL);
    free(opened);
}
