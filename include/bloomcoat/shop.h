/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SHOP_H
#define BLOOMCOAT_SHOP_H
/*
 * A shop's folder: what a shop states once, so that no command has to be given it again.
 *
 *     process.csv        what its chambers really do
 *     chamber.csv        its chamber; or several, as chambers/NAME.csv
 *     tables/            its own dispersion tables
 *     standard/          its standard coatings (standard.h)
 *     record.db          what it quoted, designed and inspected (record.h)
 *     shop.csv           key,value: its defaults
 *     quote-numbers.csv  the numbers of its quotes that were given so far
 *
 * Every part may be missing. Plain data.
 */
#include <bloomcoat/checksum.h>
#include <bloomcoat/error.h>
#include <stdbool.h>
#include <stddef.h>

BC_API_BEGIN

#define BC_SHOP_VALUE_SIZE 256

/* The keys of shop.csv. */
typedef enum bc_shop_key {
    BC_SHOP_YIELD_PERCENT,             /* runs that must succeed, 1 to below 100 */
    BC_SHOP_UNCERTAINTY_PERCENT,       /* of the spectrophotometer, in percent of R or T, coverage factor 2 */
    BC_SHOP_WAVELENGTH_UNCERTAINTY_NM, /* likewise, of its wavelength */
    BC_SHOP_SCALE_UNCERTAINTY_PERCENT, /* likewise, of its scale: a share of the reading */
    BC_SHOP_JUDGE,                     /* curve or points: what a max or min of a scan is judged on */
    BC_SHOP_FAILED_PART,               /* strip or scrap */
    BC_SHOP_CHAMBER,                   /* the chamber meant where there are several: its NAME */
    BC_SHOP_VALIDITY_DAYS,             /* how long a quote holds */
    BC_SHOP_FIRST_QUOTE_NUMBER,        /* from it on the shop's quotes are numbered */
    BC_SHOP_PAGE_FOOT,                 /* text for the foot of a page */
    BC_SHOP_RECORD,                    /* yes or no: whether every command that can is kept in the record */
    BC_SHOP_KEYS
} bc_shop_key;

typedef struct bc_shop {
    char *folder;
    char *process, *tables, *standard, *defaults; /* paths; NULL: there is none. defaults: shop.csv */
    size_t chambers;                              /* chamber.csv first, then chambers/ by name */
    char **chamber;                               /* [chambers] paths */
    bool has[BC_SHOP_KEYS];
    char value[BC_SHOP_KEYS][BC_SHOP_VALUE_SIZE]; /* as written, checked */
    char sha256[BC_SHA256_SIZE];                  /* of shop.csv */
} bc_shop;

/* Read a folder. Only shop.csv is opened: the other files are looked for, and read by who needs them. Release it with
 * bc_shop_clear(). */
bc_status bc_shop_read(const char *folder, bc_shop *shop, bc_error *error);
void bc_shop_clear(bc_shop *shop);

/* The next number of a quote, for a shop that has BC_SHOP_FIRST_QUOTE_NUMBER: that one, or the one after the largest in
 * quote-numbers.csv, to which it is added. No number is given twice, whatever else runs at the same time or is killed,
 * on a file system with locks. BC_ERROR_INPUT when the folder cannot be written, or the file is wrong. */
bc_status bc_shop_take_quote_number(const bc_shop *shop, unsigned long *number, bc_error *error);

/* The path of the chamber NAME (chambers/NAME.csv), or NULL. */
const char *bc_shop_chamber(const bc_shop *shop, const char *name);

/* The name of a key in the file, and a sentence of what its lack costs (NULL: nothing). */
const char *bc_shop_key_name(bc_shop_key key);
const char *bc_shop_key_lack(bc_shop_key key);

BC_API_END

#endif
