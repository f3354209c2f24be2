/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"
#include <check.h>
#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define MOST_BYTES 65536
#define MOST_TURNS 400 /* places of a file that are changed */

typedef struct input {
    uint8_t bytes[MOST_BYTES];
    size_t size;
} input;

static input original, changed;

/* Messages are expected by the hundred; a broken promise shows as the signal that ends the test. */
static int silence(void)
{
    const int before = dup(STDERR_FILENO);
    const int nowhere = open("/dev/null", O_WRONLY);
    ck_assert(before >= 0 && nowhere >= 0 && dup2(nowhere, STDERR_FILENO) >= 0);
    close(nowhere);
    return before;
}

static void unsilence(int before)
{
    ck_assert_int_ge(dup2(before, STDERR_FILENO), 0);
    close(before);
}

/* The file as it is, cut short, and with a byte changed, left out or written twice. */
static void replay_file(const fuzz_target *target)
{
    static const uint8_t instead[] = {'\0', '"', ',', '\n', '\r', '-', '9', 'e', ' ', 0x80, 0xFF, '.'};
    const size_t step = original.size / MOST_TURNS + 1;
    target->run(original.bytes, original.size);
    for (size_t at = 0; at < original.size; at += step) {
        target->run(original.bytes, at);
        changed = original;
        changed.bytes[at] = instead[(at / step) % sizeof instead];
        target->run(changed.bytes, changed.size);
        memmove(changed.bytes + at, original.bytes + at + 1, original.size - at - 1);
        target->run(changed.bytes, original.size - 1);
        memcpy(changed.bytes + at + 1, original.bytes + at, original.size - at);
        changed.bytes[at] = original.bytes[at];
        target->run(changed.bytes, original.size + 1);
    }
}

static size_t replay_folder(const fuzz_target *target, const char *kind, bool is_required)
{
    char path[4096];
    const struct dirent *entry;
    size_t files = 0;
    DIR *folder;
    snprintf(path, sizeof path, "%s/tests/fuzz/%s/%s", BC_SOURCE_DIR, kind, target->name);
    folder = opendir(path);
    ck_assert_msg(folder != NULL || !is_required, "no folder %s", path);
    while (folder != NULL && (entry = readdir(folder)) != NULL) {
        FILE *file;
        if (entry->d_name[0] == '.')
            continue;
        snprintf(path, sizeof path, "%s/tests/fuzz/%s/%s/%s", BC_SOURCE_DIR, kind, target->name, entry->d_name);
        file = fopen(path, "rb");
        ck_assert_msg(file != NULL, "cannot read %s", path);
        original.size = fread(original.bytes, 1, MOST_BYTES - 1, file);
        fclose(file);
        replay_file(target);
        files++;
    }
    if (folder != NULL)
        closedir(folder);
    return files;
}

START_TEST(seeds_and_finds_keep_their_promises)
{
    const fuzz_target *target = &fuzz_targets[_i];
    const int before = silence();
    target->run((const uint8_t *)"", 0);
    const size_t files = replay_folder(target, "seeds", true);
    replay_folder(target, "found", false);
    unsilence(before);
    fuzz_remove_folder();
    ck_assert_uint_gt(files, 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("fuzz");
    TCase *tcase = tcase_create("all");
    SRunner *runner = srunner_create(suite);
    int failed, targets = 0;
    while (fuzz_targets[targets].name != NULL)
        targets++;
    tcase_set_timeout(tcase, 120);
    tcase_add_loop_test(tcase, seeds_and_finds_keep_their_promises, 0, targets);
    suite_add_tcase(suite, tcase);
    srunner_run_all(runner, CK_ENV);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
