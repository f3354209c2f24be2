/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "dispersion_peek.h"
#include "nearest.h"
#include "place.h"
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BLANKS "\t\n\r \""

/* "wavelength_um" is one letter away. */
#define MISSPELT_MOST 2

/* Of a table of `value` against wavelength. */
static bool is_header(char *line, const char *value)
{
    bool wavelength = false, valued = false;
    char *rest = NULL;
    for (char *cell = strtok_r(line, ",;\t", &rest); cell != NULL; cell = strtok_r(NULL, ",;\t", &rest)) {
        cell += strspn(cell, BLANKS);
        cell[strcspn(cell, BLANKS)] = '\0';
        wavelength = wavelength || bc_word_distance(cell, "wavelength_nm") <= MISSPELT_MOST;
        valued = valued || bc_word_distance(cell, value) == 0;
    }
    return wavelength && valued;
}

static bc_status peek(const char *path, const char *value, bool unopened, bool *is_table, bc_error *error)
{
    FILE *file = fopen(bc_place(path), "re");
    char *line = NULL;
    size_t size = 0;
    *is_table = file == NULL && unopened;
    if (file == NULL)
        return errno == ENOMEM ? bc_fail_memory(error) : BC_OK;
    errno = 0; /* getline() returns the same at the end and when memory runs out */
    for (long number = 1; getline(&line, &size, file) > 0; number++) {
        char *start = line + (number == 1 && strncmp(line, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0);
        start += strspn(start, "\t\n\r ,");
        if (*start == '\0' || *start == '#')
            continue;
        *is_table = is_header(start, value);
        break;
    }
    const bool out_of_memory = errno == ENOMEM;
    free(line);
    fclose(file);
    return out_of_memory ? bc_fail_memory(error) : BC_OK;
}

bc_status bc_dispersion_peek(const char *path, bool *is_table, bc_error *error)
{
    return peek(path, "n", true, is_table, error);
}

bc_status bc_weight_peek(const char *path, bool *is_table, bc_error *error)
{
    return peek(path, "weight", false, is_table, error);
}
