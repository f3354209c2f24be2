/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measured_words.h"
#include <stdio.h>
#include <string.h>

#define WORDS_SIZE MEASURED_WORDS_SIZE

/* Letters that come in several spellings. */
static const struct {
    const char *from, *to;
} spelling[] = {
    {"\xC2\xB5", "u"},
    {"\xCE\xBC", "u"},
    {"\xCE\xBB", "lambda"},
    {"\xCE\x94", " delta "},
    {"\xCE\xB4", " delta "},
    {"\xE2\x88\x86", " delta "},
    {"\xCE\xB8", "theta"},
    {"\xE2\x80\xB0", " permille "},
    {"\xE2\x81\xBB\xC2\xB9", "-1"},
    {"\xE2\x88\x92", "-"},
    {"\xE2\x80\x93", "-"},
    {"\xC3\x85", " angstrom "},
    {"\xC3\xA5", " angstrom "},
    {"\xE2\x84\xAB", " angstrom "},
    {"\xC2\xB0", " deg "},
    {"\xC2\xBA", " deg "},
};
#define SPELLINGS (sizeof spelling / sizeof spelling[0])

static const char *respell(const char **at)
{
    for (size_t i = 0; i < SPELLINGS; i++) {
        const size_t length = strlen(spelling[i].from);
        if (strncmp(*at, spelling[i].from, length) == 0) {
            *at += length;
            return spelling[i].to;
        }
    }
    return NULL;
}

static void add(char text[WORDS_SIZE], size_t *length, char byte)
{
    if (*length + 2 < WORDS_SIZE) { /* room for a last blank */
        text[(*length)++] = byte;
        text[*length] = '\0';
    }
}

static void add_byte(measured_words *out, size_t used[3], char byte)
{
    const char small = byte >= 'A' && byte <= 'Z' ? (char)(byte - 'A' + 'a') : byte;
    const bool letter = (small >= 'a' && small <= 'z') || (small >= '0' && small <= '9') || (byte & 0x80) != 0;
    if (small != ' ' && small != '\t')
        add(out->plain, &used[0], small);
    if (byte == '%') {
        add(out->word, &used[1], ' ');
        add(out->word, &used[1], '%');
    }
    add(out->word, &used[1], letter ? small : ' ');
    add(out->text, &used[2], small);
}

void bc_measured_take_words(const char *text, measured_words *out)
{
    size_t used[3] = {0, 1, 0};
    out->plain[0] = out->text[0] = '\0';
    memcpy(out->word, " ", 2);
    for (const char *at = text; *at != '\0';) {
        const char *spelled = respell(&at);
        if (spelled == NULL)
            add_byte(out, used, *at++);
        else
            for (; *spelled != '\0'; spelled++)
                add_byte(out, used, *spelled);
    }
    memcpy(out->word + used[1], " ", 2);
}

bool bc_measured_has_word(const measured_words *all, const char *const *list)
{
    char framed[40];
    for (; *list != NULL; list++) {
        snprintf(framed, sizeof framed, " %s ", *list);
        if (strstr(all->word, framed) != NULL)
            return true;
    }
    return false;
}
