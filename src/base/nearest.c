/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "nearest.h"
#include <string.h>

#define LONGEST 63

static unsigned char fold(char letter)
{
    return (unsigned char)(letter >= 'A' && letter <= 'Z' ? letter - 'A' + 'a' : letter);
}

static size_t smaller(size_t a, size_t b)
{
    return a < b ? a : b;
}

size_t bc_word_distance(const char *one, const char *other)
{
    size_t rows[3][LONGEST + 1];
    size_t *before = rows[0], *above = rows[1], *current = rows[2];
    size_t height = strnlen(one, LONGEST), width = strnlen(other, LONGEST);
    for (size_t j = 0; j <= width; j++)
        above[j] = before[j] = j;
    for (size_t i = 1; i <= height; i++) {
        current[0] = i;
        for (size_t j = 1; j <= width; j++) {
            size_t change = fold(one[i - 1]) == fold(other[j - 1]) ? 0 : 1;
            size_t least = smaller(smaller(above[j], current[j - 1]) + 1, above[j - 1] + change);
            if (i > 1 && j > 1 && fold(one[i - 1]) == fold(other[j - 2]) && fold(one[i - 2]) == fold(other[j - 1]))
                least = smaller(least, before[j - 2] + 1);
            current[j] = least;
        }
        size_t *spare = before;
        before = above;
        above = current;
        current = spare;
    }
    return above[width];
}

int bc_word_compare(const char *one, const char *other)
{
    size_t i = 0;
    while (one[i] != '\0' && fold(one[i]) == fold(other[i]))
        i++;
    if (fold(one[i]) != fold(other[i]))
        return fold(one[i]) < fold(other[i]) ? -1 : 1;
    return strcmp(one, other);
}

/* A third of the longer word may be wrong, and two letters of a short one as long as one is right. */
static size_t tolerance(const char *word, const char *choice)
{
    size_t one = strnlen(word, LONGEST), other = strnlen(choice, LONGEST);
    size_t longer = one > other ? one : other;
    size_t third = longer / 3;
    if (third >= 2)
        return third;
    return longer > 2 ? 2 : longer > 1 ? 1 : 0;
}

size_t bc_nearest(const char *word, size_t count, const char *const *choice, size_t most, const char **nearest)
{
    size_t found = 0;
    for (size_t i = 0; i < count; i++) {
        size_t distance = bc_word_distance(word, choice[i]);
        size_t place = found;
        if (distance > tolerance(word, choice[i]))
            continue;
        while (place > 0 && bc_word_distance(word, nearest[place - 1]) > distance)
            place--;
        if (place == most)
            continue;
        if (found < most)
            found++;
        for (size_t j = found - 1; j > place; j--)
            nearest[j] = nearest[j - 1];
        nearest[place] = choice[i];
    }
    return found;
}
