/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/shop.h>
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static void make_folder(const char *name)
{
    ck_assert_int_eq(mkdir(scratch_path(name), 0777), 0);
}

START_TEST(a_folder_is_read)
{
    bc_shop shop;
    bc_error error = {0};
    make_folder("chambers");
    make_folder("tables");
    scratch_write("process.csv", "nobody opens it here");
    scratch_write("chamber.csv", "");
    scratch_write("chambers/small.csv", "");
    scratch_write("chambers/large.csv", "");
    scratch_write("chambers/.hidden.csv", "");
    scratch_write("chambers/notes.txt", "");
    scratch_write("shop.csv",
                  "key,value\nyield_percent,95\nfailed_part,scrap\nchamber,large\npage_foot,\"Bay 3, north\"\n");
    ck_assert_msg(bc_shop_read(scratch_folder(), &shop, &error) == BC_OK, "%s", error.message);
    ck_assert_uint_eq(shop.chambers, 3);
    ck_assert_ptr_nonnull(strstr(shop.chamber[0], "/chamber.csv"));
    ck_assert_ptr_nonnull(strstr(shop.chamber[1], "/chambers/large.csv"));
    ck_assert_ptr_nonnull(strstr(bc_shop_chamber(&shop, "small"), "/chambers/small.csv"));
    ck_assert_ptr_null(bc_shop_chamber(&shop, "smal"));
    ck_assert_ptr_nonnull(shop.process);
    ck_assert_ptr_nonnull(shop.tables);
    ck_assert(shop.has[BC_SHOP_YIELD_PERCENT] && !shop.has[BC_SHOP_VALIDITY_DAYS]);
    ck_assert_str_eq(shop.value[BC_SHOP_YIELD_PERCENT], "95");
    ck_assert_str_eq(shop.value[BC_SHOP_PAGE_FOOT], "Bay 3, north");
    ck_assert_uint_eq(strlen(shop.sha256), 64);
    bc_shop_clear(&shop);
}
END_TEST

/* One part suffices. */
START_TEST(every_part_may_be_missing)
{
    bc_shop shop;
    scratch_write("process.csv", "");
    ck_assert_int_eq(bc_shop_read(scratch_folder(), &shop, NULL), BC_OK);
    ck_assert(shop.process != NULL && shop.tables == NULL && shop.defaults == NULL && shop.chambers == 0);
    bc_shop_clear(&shop);
}
END_TEST

/* Three at once take thirty each: ninety numbers, from the first on, none of them twice. */
START_TEST(no_quote_number_is_given_twice)
{
    enum { TAKERS = 3, EACH = 30 };
    bool taken[TAKERS * EACH] = {false};
    int pipes[2];
    bc_shop shop;
    unsigned long number;
    scratch_write("shop.csv", "key,value\nfirst_quote_number,1041\n");
    ck_assert_int_eq(bc_shop_read(scratch_folder(), &shop, NULL), BC_OK);
    ck_assert_int_eq(pipe(pipes), 0);
    for (int taker = 0; taker < TAKERS; taker++)
        if (fork() == 0) {
            for (int i = 0; i < EACH; i++)
                if (bc_shop_take_quote_number(&shop, &number, NULL) != BC_OK ||
                    write(pipes[1], &number, sizeof number) != sizeof number)
                    _exit(1);
            _exit(0);
        }
    for (int i = 0; i < TAKERS * EACH; i++) {
        ck_assert_int_eq(read(pipes[0], &number, sizeof number), sizeof number);
        ck_assert(number >= 1041 && number < 1041 + TAKERS * EACH && !taken[number - 1041]);
        taken[number - 1041] = true;
    }
    for (int taker = 0; taker < TAKERS; taker++) {
        int how;
        ck_assert_int_gt(wait(&how), 0);
        ck_assert_int_eq(how, 0);
    }
    bc_shop_clear(&shop);
}
END_TEST

/* The largest in the file counts, also one that a person put there without an end of line; a first number raised later
 * is gone on from; a file that is wrong is no reason to begin anew. */
START_TEST(quote_numbers_go_on)
{
    bc_shop shop;
    bc_error error = {0};
    unsigned long number;
    scratch_write("shop.csv", "key,value\nfirst_quote_number,1041\n");
    ck_assert_int_eq(bc_shop_read(scratch_folder(), &shop, NULL), BC_OK);
    scratch_write("quote-numbers.csv", "quote_number\n1050\n1043");
    ck_assert_int_eq(bc_shop_take_quote_number(&shop, &number, NULL), BC_OK);
    ck_assert_uint_eq(number, 1051);
    ck_assert_int_eq(bc_shop_take_quote_number(&shop, &number, NULL), BC_OK);
    ck_assert_uint_eq(number, 1052);
    strcpy(shop.value[BC_SHOP_FIRST_QUOTE_NUMBER], "2000");
    ck_assert_int_eq(bc_shop_take_quote_number(&shop, &number, NULL), BC_OK);
    ck_assert_uint_eq(number, 2000);
    scratch_write("quote-numbers.csv", "quote_number\nQ-7\n");
    ck_assert_int_eq(bc_shop_take_quote_number(&shop, &number, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "quote-numbers.csv:2: column 1 (quote_number): found 'Q-7'"));
    bc_shop_clear(&shop);
}
END_TEST

static void expect_content(const char *name, const char *expected)
{
    char text[256];
    FILE *file = fopen(scratch_path(name), "r");
    ck_assert_ptr_nonnull(file);
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    fclose(file);
    ck_assert_str_eq(text, expected);
}

/* A disk that is full in the middle of the line: no number is given, the file is as it was, and the next one is right.
 */
START_TEST(quote_number_on_a_full_disk)
{
    static const char before[] = "quote_number\n1050\n";
    bc_shop shop;
    unsigned long number;
    scratch_write("shop.csv", "key,value\nfirst_quote_number,1041\n");
    ck_assert_int_eq(bc_shop_read(scratch_folder(), &shop, NULL), BC_OK);
    scratch_write("quote-numbers.csv", before);
    for (rlim_t more = 0; more < 5; more++) {
        int how;
        if (fork() == 0) {
            const struct rlimit limit = {sizeof before - 1 + more, RLIM_INFINITY};
            bc_error error = {0};
            signal(SIGXFSZ, SIG_IGN);
            setrlimit(RLIMIT_FSIZE, &limit);
            const bc_status status = bc_shop_take_quote_number(&shop, &number, &error);
            _exit(status == BC_ERROR_IO && strstr(error.message, strerror(EFBIG)) != NULL ? 0 : 1);
        }
        ck_assert_int_gt(wait(&how), 0);
        ck_assert_int_eq(how, 0);
        expect_content("quote-numbers.csv", before);
    }
    ck_assert_int_eq(bc_shop_take_quote_number(&shop, &number, NULL), BC_OK);
    ck_assert_uint_eq(number, 1051);
    bc_shop_clear(&shop);
}
END_TEST

static const struct {
    const char *text;
    const char *pieces[PIECES];
} wrong[] = {
    {"key,value\nyield,90\n", {"shop.csv:2: column 1 (key): found 'yield'"}},
    {"key,value\nyield_percent,90\nyield_percent,91\n", {"shop.csv:3: column 1 (key)", "each key once"}},
    {"key,value\nyield_percent,much\n", {"shop.csv:2: column 2 (value): found 'much'", "a yield in percent"}},
    {"key,value\nyield_percent,100\n", {"found '100'", "from 1 to 99.9"}},
    {"key,value\nyield_percent,\n", {"shop.csv:2: column 2 (value)", "a value of 1 to 255 bytes"}},
    {"key,value\nvalidity_days,30.5\n", {"found '30.5'", "a whole number"}},
    {"key,value\njudge,line\n", {"found 'line'", "'curve' or 'points'"}},
    {"key,value\nfailed_part,keep\n", {"found 'keep'", "'strip' or 'scrap'"}},
    {"key,value\nuncertainty_percent,-1\n", {"found '-1'", "from 0 to 100"}},
    {"key,value\nchamber,huge\n", {"chamber 'huge', of which there is no file", "chambers/huge.csv"}},
    {"name,value\nchamber,huge\n", {"shop.csv:1"}},
};

START_TEST(what_is_wrong_is_refused)
{
    bc_shop shop;
    bc_error error = {0};
    scratch_write("shop.csv", wrong[_i].text);
    expect_refusal(wrong[_i].text, bc_shop_read(scratch_folder(), &shop, &error), &error, BC_ERROR_INPUT,
                   wrong[_i].pieces);
    ck_assert_ptr_null(shop.folder);
}
END_TEST

START_TEST(what_is_no_shop_is_refused)
{
    bc_shop shop;
    bc_error error = {0};
    expect_refusal("nothing there", bc_shop_read("/nowhere/at/all", &shop, &error), &error, BC_ERROR_INPUT,
                   (const char *[PIECES]){"/nowhere/at/all: found no such folder"});
    expect_refusal("an empty folder", bc_shop_read(scratch_folder(), &shop, &error), &error, BC_ERROR_INPUT,
                   (const char *[PIECES]){"found none of process.csv"});
}
END_TEST

/* A shop's folder that was copied without what its links lead to. */
START_TEST(a_link_to_nothing_is_refused)
{
    bc_shop shop;
    bc_error error = {0};
    scratch_write("shop.csv", "key,value\nyield_percent,90\n");
    ck_assert_int_eq(symlink("../nothing.csv", scratch_path("process.csv")), 0);
    expect_refusal("a dangling link", bc_shop_read(scratch_folder(), &shop, &error), &error, BC_ERROR_INPUT,
                   (const char *[PIECES]){"process.csv: found a symbolic link to nothing"});
    ck_assert_int_eq(unlink(scratch_path("process.csv")), 0);
}
END_TEST

Suite *shop_suite(void)
{
    Suite *suite = suite_create("shop");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, a_folder_is_read);
    tcase_add_test(tcase, every_part_may_be_missing);
    tcase_add_test(tcase, no_quote_number_is_given_twice);
    tcase_add_test(tcase, quote_numbers_go_on);
    tcase_add_test(tcase, quote_number_on_a_full_disk);
    tcase_add_loop_test(tcase, what_is_wrong_is_refused, 0, sizeof wrong / sizeof wrong[0]);
    tcase_add_test(tcase, what_is_no_shop_is_refused);
    tcase_add_test(tcase, a_link_to_nothing_is_refused);
    suite_add_tcase(suite, tcase);
    return suite;
}
