/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measured_words.h"
#include <stdio.h>
#include <string.h>

static bool has_piece(const measured_words *all, const char *const *list)
{
    for (; *list != NULL; list++)
        if (strstr(all->plain, *list) != NULL)
            return true;
    return false;
}

static const char *const wavelength_words[] = {"wavelength", "wavelengths", "lambda", "wl", NULL};
static const char *const nm_words[] = {"nm", "nanometer", "nanometers", "nanometre", "nanometres", NULL};
static const char *const um_words[] = {"um", "micron", "microns", "micrometer", "micrometers", "micrometre", NULL};
static const char *const other_axis_words[] = {"wavenumber", "wavenumbers", "angstrom", "angstroms", "ev",
                                               "thz",        "frequency",   "kayser",   NULL};
static const char *const other_axis_pieces[] = {"cm-1", "cm^-1", "1/cm", "cm**-1", NULL};
static const char *const uncertainty_words[] = {"uncertainty", "unc",   "sigma",     "sd", "std", "stdev",
                                                "stddev",      "error", "deviation", "u",  NULL};
static const char *const percent_words[] = {"%", "percent", "pct", NULL};
static const char *const fraction_words[] = {"fraction", "fractional", NULL};
static const char *const absorbance_words[] = {"absorbance", "abs", "od", "extinction", NULL};
static const char *const no_value_words[] = {"temp", "temperature", "time", "humidity", "c", "celsius", "kelvin", NULL};
static const char *const quantity_words[][6] = {
    [BC_R] = {"reflectance", "reflection", "reflectivity", "refl", NULL},
    [BC_T] = {"transmittance", "transmission", "transmissivity", "trans", NULL},
    [BC_A] = {"absorptance", NULL},
};

/* The letter by itself, or with a number or a plane after it: R, R2, Rs, Rp. */
static bool has_letter(const measured_words *all, char letter)
{
    for (const char *word = all->word; (word = strchr(word, ' ')) != NULL;) {
        word++;
        if (*word != letter)
            continue;
        const size_t digits = strspn(word + 1, "0123456789");
        if (word[1 + digits] == ' ' || ((word[1] == 's' || word[1] == 'p') && word[2] == ' '))
            return true;
    }
    return false;
}

/* A degree sign without a number ahead of it: "T (deg)". */
static bool has_bare_degrees(const measured_words *all)
{
    const char *at = strstr(all->word, " deg ");
    if (at == NULL)
        return false;
    while (at > all->word && *at == ' ')
        at--;
    return *at < '0' || *at > '9';
}

bool bc_measured_find_quantity(const measured_words *all, bc_quantity *quantity)
{
    static const char letter[] = {[BC_R] = 'r', [BC_T] = 't'};
    for (int q = BC_R; q <= BC_A; q++) {
        if (bc_measured_has_word(all, quantity_words[q])) {
            *quantity = (bc_quantity)q;
            return true;
        }
    }
    for (int q = BC_R; q <= BC_T && !bc_measured_has_word(all, no_value_words) && !has_bare_degrees(all); q++) {
        if (has_letter(all, letter[q])) {
            *quantity = (bc_quantity)q;
            return true;
        }
    }
    return false;
}

measured_meaning bc_measured_meaning(const char *header, const char *units)
{
    char both[MEASURED_WORDS_SIZE];
    measured_meaning meaning = {0};
    measured_words all;
    snprintf(both, sizeof both, "%.120s %.120s", header, units);
    bc_measured_take_words(both, &all);
    meaning.names_wavelength = bc_measured_has_word(&all, wavelength_words);
    meaning.wavelength_unit = bc_measured_has_word(&all, nm_words)   ? BC_WAVELENGTH_NM
                              : bc_measured_has_word(&all, um_words) ? BC_WAVELENGTH_UM
                                                                     : BC_WAVELENGTH_UNTOLD;
    meaning.unit = bc_measured_has_word(&all, percent_words)    ? BC_UNIT_PERCENT
                   : bc_measured_has_word(&all, fraction_words) ? BC_UNIT_FRACTION
                                                                : BC_UNIT_UNTOLD;
    meaning.names_quantity = bc_measured_find_quantity(&all, &meaning.quantity);
    meaning.transformed = bc_measured_transformed(&all);
    if (bc_measured_has_word(&all, other_axis_words) || has_piece(&all, other_axis_pieces))
        meaning.about = ABOUT_NO_WAVELENGTH;
    else if (meaning.names_wavelength)
        /* NOLINTNEXTLINE(bugprone-branch-clone): what is said first decides */
        meaning.about = ABOUT_WAVELENGTH;
    else if (bc_measured_has_word(&all, uncertainty_words))
        meaning.about = ABOUT_UNCERTAINTY;
    else if ((meaning.other = bc_measured_other(&all)) != NULL)
        meaning.about = ABOUT_OTHER;
    else if (bc_measured_has_word(&all, absorbance_words) || strcmp(all.plain, "a") == 0)
        meaning.about = ABOUT_ABSORBANCE;
    else if (bc_measured_is_raw(&all))
        meaning.about = ABOUT_RAW;
    else if (meaning.names_quantity)
        meaning.about = ABOUT_VALUE;
    else if (meaning.wavelength_unit != BC_WAVELENGTH_UNTOLD)
        meaning.about = ABOUT_WAVELENGTH;
    else if (bc_measured_is_aside(&all))
        meaning.about = ABOUT_ASIDE;
    return meaning;
}

/* A row of names: one of them the wavelength, or one word for every column. Lines of a preamble look alike ("Slit, 2
 * nm", "Mode: %R, Unit: nm"), but for their numbers and colons. */
bool bc_measured_is_header(const measured_table *table, size_t line, size_t width)
{
    bool all_plain = true;
    bool wavelength = false;
    const size_t cells = bc_measured_width(table, line);
    if (cells < 2)
        return false;
    for (size_t place = 0; place < cells; place++) {
        const char *cell = bc_measured_cell(table, line, place);
        const bool plain = strpbrk(cell, ":=") == NULL && !(cell[0] >= '0' && cell[0] <= '9');
        const measured_about about = bc_measured_meaning(cell, "").about;
        all_plain = all_plain && plain;
        wavelength = wavelength || (plain && (about == ABOUT_WAVELENGTH || about == ABOUT_NO_WAVELENGTH));
    }
    return wavelength || (all_plain && cells == width);
}

bool bc_measured_is_units(const measured_table *table, size_t line)
{
    static const char *const known[] = {"nm", "um", "%", "r", "t", "percent", "fraction", NULL};
    if (bc_measured_width(table, line) == 0)
        return false;
    for (size_t place = 0; place < bc_measured_width(table, line); place++) {
        const char *cell = bc_measured_cell(table, line, place);
        measured_words all;
        bc_measured_take_words(cell, &all);
        for (char *word = all.word; *(word += strspn(word, " ")) != '\0';) {
            const size_t length = strcspn(word, " ");
            const char *const *unit = known;
            while (*unit != NULL && (strlen(*unit) != length || strncmp(*unit, word, length) != 0))
                unit++;
            if (*unit == NULL)
                return false;
            word += length;
        }
    }
    return true;
}
