/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "gate.h"
#include <bloomcoat/checksum.h>
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/random.h>

bc_status desk_random(char *to, size_t size, bc_error *error)
{
    static const char digit[] = "0123456789abcdef";
    for (size_t i = 0; i + 1 < size; i++) {
        unsigned char byte;
        ssize_t got;
        do
            got = getrandom(&byte, 1, 0);
        while (got < 0 && errno == EINTR);
        if (got != 1)
            return bc_fail(error, BC_ERROR_IO, "the system gives no random numbers: %s", strerror(errno));
        to[i] = digit[byte & 15];
    }
    to[size - 1] = '\0';
    return BC_OK;
}

bc_status desk_gate_make(unsigned port, const char *proxy, desk_gate *gate, bc_error *error)
{
    bc_status status;
    *gate = (desk_gate){.port = port, .proxy = proxy};
    snprintf(gate->cookie_name, sizeof gate->cookie_name, "bloomcoat-%u", port);
    status = desk_random(gate->secret, sizeof gate->secret, error);
    return status == BC_OK ? desk_random(gate->key, sizeof gate->key, error) : status;
}

/* In a time that does not depend on where they differ. */
static bool same_secret(const char *secret, const char *found, size_t length)
{
    unsigned char differ = 0;
    if (length != DESK_SECRET_SIZE - 1)
        return false;
    for (size_t i = 0; i < length; i++)
        differ |= (unsigned char)(secret[i] ^ found[i]);
    return differ == 0;
}

static unsigned value_of(char digit)
{
    return digit <= '9' ? (unsigned)(digit - '0') : (unsigned)(digit - 'a') + 10;
}

/* The key fills one block of SHA-256, 64 bytes. */
static void write_code(const desk_gate *gate, const char *person, char code[BC_SHA256_SIZE])
{
    enum { BLOCK = DESK_SECRET_SIZE - 1, DIGEST = 32 };
    unsigned char inner[BLOCK + DESK_PERSON_SIZE], outer[BLOCK + DIGEST];
    char digest[BC_SHA256_SIZE];
    for (size_t i = 0; i < BLOCK; i++) {
        inner[i] = (unsigned char)(gate->key[i] ^ 0x36);
        outer[i] = (unsigned char)(gate->key[i] ^ 0x5c);
    }
    memcpy(inner + BLOCK, person, DESK_PERSON_SIZE - 1);
    bc_sha256(inner, BLOCK + DESK_PERSON_SIZE - 1, digest);
    for (size_t i = 0; i < DIGEST; i++)
        outer[BLOCK + i] = (unsigned char)(16 * value_of(digest[2 * i]) + value_of(digest[2 * i + 1]));
    bc_sha256(outer, sizeof outer, code);
}

void desk_gate_cookie(const desk_gate *gate, const char *person, char cookie[DESK_COOKIE_SIZE])
{
    memcpy(cookie, person, DESK_PERSON_SIZE - 1);
    cookie[DESK_PERSON_SIZE - 1] = '-';
    write_code(gate, person, cookie + DESK_PERSON_SIZE);
}

static bool is_valid(const desk_gate *gate, const char *value, size_t length, char person[DESK_PERSON_SIZE])
{
    char code[BC_SHA256_SIZE];
    if (length != DESK_COOKIE_SIZE - 1 || value[DESK_PERSON_SIZE - 1] != '-')
        return false;
    memcpy(person, value, DESK_PERSON_SIZE - 1);
    person[DESK_PERSON_SIZE - 1] = '\0';
    if (strspn(person, "0123456789abcdef") != DESK_PERSON_SIZE - 1)
        return false;
    write_code(gate, person, code);
    return same_secret(code, value + DESK_PERSON_SIZE, length - DESK_PERSON_SIZE);
}

static bool has_cookie(const desk_gate *gate, const char *cookies, char person[DESK_PERSON_SIZE])
{
    const size_t name = strlen(gate->cookie_name);
    while (cookies != NULL && *cookies != '\0') {
        const char *value;
        size_t length;
        cookies += strspn(cookies, "; ");
        length = strcspn(cookies, ";");
        value = cookies + name + 1;
        if (length > name && memcmp(cookies, gate->cookie_name, name) == 0 && cookies[name] == '=' &&
            is_valid(gate, value, length - name - 1, person))
            return true;
        cookies += length;
    }
    person[0] = '\0';
    return false;
}

/* What follows "http://" or "https://". */
static const char *host_of(const char *origin)
{
    static const char *const scheme[] = {"http://", "https://"};
    for (size_t i = 0; i < 2; i++)
        if (strncmp(origin, scheme[i], strlen(scheme[i])) == 0)
            return origin + strlen(scheme[i]);
    return NULL;
}

bool desk_origin_is_plain(const char *origin)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyz0123456789.-:";
    const char *host = host_of(origin);
    return host != NULL && host[0] != '\0' && strlen(host) < 200 && strspn(host, letters) == strlen(host);
}

static bool is_proxys(const desk_gate *gate, const char *host)
{
    return gate->proxy != NULL && strcmp(host, host_of(gate->proxy)) == 0;
}

static bool own_host(const desk_gate *gate, const char *host)
{
    char own[32];
    if (host == NULL)
        return false;
    if (is_proxys(gate, host))
        return true;
    snprintf(own, sizeof own, "127.0.0.1:%u", gate->port);
    if (strcmp(host, own) == 0)
        return true;
    snprintf(own, sizeof own, "localhost:%u", gate->port);
    return strcmp(host, own) == 0;
}

/* A browser says where the page came from that asks: of every post, and of what a script fetches. */
static bool own_origin(const desk_gate *gate, const desk_caller *caller, bool posts)
{
    const bool proxys = is_proxys(gate, caller->host);
    if (caller->origin == NULL && posts)
        return false;
    if (caller->origin != NULL && proxys && strcmp(caller->origin, gate->proxy) != 0)
        return false;
    if (caller->origin != NULL && !proxys &&
        (strncmp(caller->origin, "http://", 7) != 0 || strcmp(caller->origin + 7, caller->host) != 0))
        return false;
    return caller->site == NULL || strcmp(caller->site, "same-origin") == 0 ||
           (!posts && strcmp(caller->site, "none") == 0);
}

desk_verdict desk_gate_judge(const desk_gate *gate, const desk_caller *caller, char person[DESK_PERSON_SIZE])
{
    static const char open[] = "/open/";
    const bool known = has_cookie(gate, caller->cookies, person);
    const bool reads = strcmp(caller->method, "GET") == 0 || strcmp(caller->method, "HEAD") == 0;
    const bool posts = strcmp(caller->method, "POST") == 0;
    if (!own_host(gate, caller->host))
        return DESK_WRONG_HOST;
    if (!reads && !posts)
        return DESK_WRONG_METHOD;
    if (reads && strncmp(caller->path, open, sizeof open - 1) == 0) {
        const char *found = caller->path + sizeof open - 1;
        return same_secret(gate->secret, found, strlen(found)) ? DESK_GIVE_COOKIE : DESK_NO_SECRET;
    }
    if (!known)
        return DESK_NO_SECRET;
    if (!own_origin(gate, caller, posts))
        return DESK_WRONG_ORIGIN;
    if (posts && (caller->type == NULL || strncmp(caller->type, "application/json", 16) != 0))
        return DESK_WRONG_TYPE;
    return DESK_LET_IN;
}
