/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "desk_suites.h"
#include "gate.h"
#include <stdio.h>
#include <string.h>

static desk_gate gate;
static char cookie[256], secret_path[128];
static const char somebody[] = "0123456789abcdef0123456789abcdef";

static desk_verdict judge(const desk_caller *caller)
{
    char person[DESK_PERSON_SIZE];
    return desk_gate_judge(&gate, caller, person);
}

static void make_gate(void)
{
    char value[DESK_COOKIE_SIZE];
    ck_assert_int_eq(desk_gate_make(8123, NULL, &gate, NULL), BC_OK);
    desk_gate_cookie(&gate, somebody, value);
    snprintf(cookie, sizeof cookie, "other=1; %s=%s", gate.cookie_name, value);
    snprintf(secret_path, sizeof secret_path, "/open/%s", gate.secret);
}

#define HOST   "127.0.0.1:8123"
#define ORIGIN "http://127.0.0.1:8123"
#define COOKIE cookie

START_TEST(who_is_let_in)
{
    const struct {
        desk_caller caller;
        desk_verdict verdict;
    } cases[] = {
        {{"GET", "/", HOST, NULL, "none", NULL, COOKIE}, DESK_LET_IN},
        {{"HEAD", "/", HOST, NULL, NULL, NULL, COOKIE}, DESK_LET_IN},
        {{"GET", "/", "localhost:8123", NULL, "same-origin", NULL, COOKIE}, DESK_LET_IN},
        {{"POST", "/run", HOST, ORIGIN, "same-origin", "application/json", COOKIE}, DESK_LET_IN},
        {{"POST", "/run", "localhost:8123", "http://localhost:8123", NULL, "application/json; charset=utf-8", COOKIE},
         DESK_LET_IN},
        {{"GET", secret_path, HOST, NULL, "cross-site", NULL, NULL}, DESK_GIVE_COOKIE},
        /* no secret, a wrong one, a part of one, more than one */
        {{"GET", "/", HOST, NULL, NULL, NULL, NULL}, DESK_NO_SECRET},
        {{"GET", "/open/", HOST, NULL, NULL, NULL, NULL}, DESK_NO_SECRET},
        {{"GET", "/open/0123456789012345678901234567890123456789012345678901234567890123", HOST, NULL, NULL, NULL,
          NULL},
         DESK_NO_SECRET},
        {{"POST", secret_path, HOST, ORIGIN, NULL, "application/json", NULL}, DESK_NO_SECRET},
        {{"GET", "/", HOST, NULL, NULL, NULL, "bloomcoat-8123="}, DESK_NO_SECRET},
        {{"GET", "/", HOST, NULL, NULL, NULL, "bloomcoat-8123"}, DESK_NO_SECRET},
        {{"GET", "/", HOST, NULL, NULL, NULL, ";;; ; =; bloomcoat-8123=;"}, DESK_NO_SECRET},
        /* a name that points here */
        {{"GET", "/", "evil.example:8123", NULL, NULL, NULL, COOKIE}, DESK_WRONG_HOST},
        {{"GET", "/", "127.0.0.1", NULL, NULL, NULL, COOKIE}, DESK_WRONG_HOST},
        {{"GET", "/", "127.0.0.1:81234", NULL, NULL, NULL, COOKIE}, DESK_WRONG_HOST},
        {{"GET", "/", NULL, NULL, NULL, NULL, COOKIE}, DESK_WRONG_HOST},
        {{"GET", secret_path, "evil.example:8123", NULL, NULL, NULL, NULL}, DESK_WRONG_HOST},
        /* another site's page */
        {{"POST", "/run", HOST, "http://evil.example", NULL, "application/json", COOKIE}, DESK_WRONG_ORIGIN},
        {{"POST", "/run", HOST, "null", NULL, "application/json", COOKIE}, DESK_WRONG_ORIGIN},
        {{"POST", "/run", HOST, NULL, NULL, "application/json", COOKIE}, DESK_WRONG_ORIGIN},
        {{"POST", "/run", HOST, "https://127.0.0.1:8123", NULL, "application/json", COOKIE}, DESK_WRONG_ORIGIN},
        {{"POST", "/run", HOST, "http://127.0.0.1:8124", NULL, "application/json", COOKIE}, DESK_WRONG_ORIGIN},
        {{"POST", "/run", HOST, ORIGIN, "none", "application/json", COOKIE}, DESK_WRONG_ORIGIN},
        {{"GET", "/", HOST, NULL, "cross-site", NULL, COOKIE}, DESK_WRONG_ORIGIN},
        {{"GET", "/", HOST, NULL, "same-site", NULL, COOKIE}, DESK_WRONG_ORIGIN},
        /* what a form can post */
        {{"POST", "/run", HOST, ORIGIN, NULL, "text/plain", COOKIE}, DESK_WRONG_TYPE},
        {{"POST", "/run", HOST, ORIGIN, NULL, NULL, COOKIE}, DESK_WRONG_TYPE},
        {{"PUT", "/", HOST, ORIGIN, NULL, NULL, COOKIE}, DESK_WRONG_METHOD},
        {{"OPTIONS", "/run", HOST, ORIGIN, NULL, NULL, COOKIE}, DESK_WRONG_METHOD},
    };
    make_gate();
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        ck_assert_msg(judge(&cases[i].caller) == cases[i].verdict, "case %zu: %s %s", i, cases[i].caller.method,
                      cases[i].caller.path);
}
END_TEST

START_TEST(a_proxy_is_let_in_by_its_own_name)
{
    const struct {
        desk_caller caller;
        desk_verdict verdict;
    } cases[] = {
        {{"POST", "/run", "desk.example", "https://desk.example", "same-origin", "application/json", COOKIE},
         DESK_LET_IN},
        {{"POST", "/run", "desk.example", "http://desk.example", NULL, "application/json", COOKIE}, DESK_WRONG_ORIGIN},
        {{"POST", "/run", "desk.example", ORIGIN, NULL, "application/json", COOKIE}, DESK_WRONG_ORIGIN},
        {{"POST", "/run", HOST, "https://desk.example", NULL, "application/json", COOKIE}, DESK_WRONG_ORIGIN},
        {{"GET", "/", "desk.example", NULL, NULL, NULL, NULL}, DESK_NO_SECRET},
        {{"GET", "/", "desk.example:443", NULL, NULL, NULL, COOKIE}, DESK_WRONG_HOST},
        {{"GET", "/", HOST, NULL, NULL, NULL, COOKIE}, DESK_LET_IN},
    };
    make_gate();
    gate.proxy = "https://desk.example";
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        ck_assert_msg(judge(&cases[i].caller) == cases[i].verdict, "case %zu", i);
    ck_assert(desk_origin_is_plain("https://desk.example:8443"));
    ck_assert(!desk_origin_is_plain("https://desk.example/"));
    ck_assert(!desk_origin_is_plain("desk.example"));
    ck_assert(!desk_origin_is_plain("https://"));
    ck_assert(!desk_origin_is_plain("https://a\r\nb"));
}
END_TEST

/* One digit off, wherever. */
START_TEST(every_digit_of_the_cookie_counts)
{
    make_gate();
    for (size_t i = 0; i < DESK_COOKIE_SIZE - 1; i++) {
        char other[256];
        desk_caller caller = {"GET", "/", HOST, NULL, NULL, NULL, other};
        char *digit;
        strcpy(other, cookie);
        digit = strrchr(other, '=') + 1 + i;
        *digit = *digit == '0' ? '1' : '0';
        ck_assert_int_eq(judge(&caller), DESK_NO_SECRET);
    }
}
END_TEST

START_TEST(no_two_gates_are_alike)
{
    desk_gate other;
    make_gate();
    ck_assert_int_eq(desk_gate_make(8123, NULL, &other, NULL), BC_OK);
    ck_assert_uint_eq(strlen(gate.secret), 64);
    ck_assert_uint_eq(strspn(gate.secret, "0123456789abcdef"), 64);
    ck_assert_str_ne(gate.secret, other.secret);
    ck_assert_str_ne(gate.key, other.key);
    ck_assert_str_ne(gate.secret, gate.key);
}
END_TEST

/* Against the hmac module of Python 3: hmac.new(b"0123456789abcdef" * 4, b"0011..eeff", "sha256"). */
START_TEST(a_cookie_has_the_code_of_its_person)
{
    static const char person[] = "00112233445566778899aabbccddeeff";
    char value[DESK_COOKIE_SIZE], found[DESK_PERSON_SIZE], header[256];
    desk_caller caller = {"GET", "/", HOST, NULL, NULL, NULL, header};
    make_gate();
    strcpy(gate.key, "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef");
    desk_gate_cookie(&gate, person, value);
    ck_assert_str_eq(value, "00112233445566778899aabbccddeeff-"
                            "030ffc11ec49be148af4e692ad06ac01633f5fcae141bab99873e78ab06db975");
    snprintf(header, sizeof header, "%s=%s", gate.cookie_name, value);
    ck_assert_int_eq(desk_gate_judge(&gate, &caller, found), DESK_LET_IN);
    ck_assert_str_eq(found, person);
    memcpy(header + strlen(gate.cookie_name) + 1, somebody, strlen(somebody)); /* another's, with this one's code */
    ck_assert_int_eq(desk_gate_judge(&gate, &caller, found), DESK_NO_SECRET);
    ck_assert_str_eq(found, "");
}
END_TEST

Suite *gate_suite(void)
{
    Suite *suite = suite_create("gate");
    TCase *tcase = tcase_create("all");
    tcase_add_test(tcase, who_is_let_in);
    tcase_add_test(tcase, a_proxy_is_let_in_by_its_own_name);
    tcase_add_test(tcase, every_digit_of_the_cookie_counts);
    tcase_add_test(tcase, no_two_gates_are_alike);
    tcase_add_test(tcase, a_cookie_has_the_code_of_its_person);
    suite_add_tcase(suite, tcase);
    return suite;
}
