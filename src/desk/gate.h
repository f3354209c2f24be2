/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESK_GATE_H
#define BLOOMCOAT_DESK_GATE_H
/*
 * Who is let in.
 *
 * The address that is printed holds a secret (256 bits). Whoever opens it gets a cookie that the browser sends to this
 * address alone, never from another site's page (SameSite=Strict) and to no script (HttpOnly): a random number that is
 * this browser's alone, so that the work of several people takes turns, and a code over it (256 bits) that nobody makes
 * without the desk's key. Every other request needs the cookie. Besides, Host must be this server's own (a name that
 * someone made to point here, DNS rebinding, is another one), and Origin and Sec-Fetch-Site must be those of its own
 * page (a form or script of another site that posts here).
 */
#include <bloomcoat/error.h>
#include <stdbool.h>
#include <stddef.h>

#define DESK_SECRET_SIZE 65 /* 256 bits in hexadecimal */
#define DESK_PERSON_SIZE 33 /* 128 bits in hexadecimal */
#define DESK_COOKIE_SIZE (DESK_PERSON_SIZE + DESK_SECRET_SIZE)

typedef struct desk_gate {
    unsigned port;
    char secret[DESK_SECRET_SIZE]; /* of the address */
    char key[DESK_SECRET_SIZE];    /* of the codes in cookies */
    const char *proxy;    /* the origin that a proxy before it has, such as https://desk.example; NULL: there is none */
    char cookie_name[32]; /* has the port: browsers give cookies to every port of an address */
} desk_gate;

/* What decides of a request; NULL for a header that is not there. */
typedef struct desk_caller {
    const char *method, *path, *host, *origin, *site, *type;
    const char *cookies; /* the whole header */
} desk_caller;

typedef enum desk_verdict {
    DESK_LET_IN,
    DESK_GIVE_COOKIE,  /* has the secret: the cookie, and on to / */
    DESK_WRONG_HOST,   /* 421 */
    DESK_WRONG_ORIGIN, /* 403 */
    DESK_NO_SECRET,    /* 403 */
    DESK_WRONG_METHOD, /* 405 */
    DESK_WRONG_TYPE,   /* 415: a body that is no JSON */
} desk_verdict;

/* Fresh secrets from the kernel. */
bc_status desk_gate_make(unsigned port, const char *proxy, desk_gate *gate, bc_error *error);
/* http:// or https://, a host, perhaps a port, and nothing behind it. */
bool desk_origin_is_plain(const char *origin);
/* `person`: whose cookie it is; empty where no cookie is valid. */
desk_verdict desk_gate_judge(const desk_gate *gate, const desk_caller *caller, char person[DESK_PERSON_SIZE]);
/* PERSON-CODE, the code being HMAC-SHA-256 (RFC 2104) of the person with the key, in hexadecimal. */
void desk_gate_cookie(const desk_gate *gate, const char *person, char cookie[DESK_COOKIE_SIZE]);

/* `size` - 1 hexadecimal digits from the kernel's random numbers, and a zero. */
bc_status desk_random(char *to, size_t size, bc_error *error);

#endif
