/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_SHOP_H
#define BLOOMCOAT_CLI_SHOP_H
/*
 * The shop's folder as defaults of options: what the command line gives wins.
 */
#include "options.h"
#include <bloomcoat/shop.h>

/* Read the folder of --shop or $BLOOMCOAT_SHOP, if there is one, and give the command the options it states: --process,
 * --chamber, and every key of shop.csv that is an option of the command. A --chamber that is no file may name one of
 * the shop's. `shop` must outlive the arguments. */
bc_status cli_take_shop(cli_arguments *arguments, bc_shop *shop, bc_error *error);

/* The next of the shop's quote numbers as --quote-number, where a page is asked for, none was given, and the shop
 * numbers its quotes: all being read, before the work. `number` must outlive the arguments; it is empty where none was
 * taken. */
#define CLI_QUOTE_NUMBER_SIZE 24
bc_status cli_take_quote_number(cli_arguments *arguments, char number[CLI_QUOTE_NUMBER_SIZE], bc_error *error);

#endif
