/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_TEST_FAULTS_H
#define BLOOMCOAT_TEST_FAULTS_H
/*
 * One call of the system fails at a time (fault.c), for every command. With BC_FAULTS=all in the environment every
 * single call is made to fail in turn; with BC_FAULTS=sites every place that allocates, once; without it the first ones
 * and some of the others.
 */
#include "program.h"

/* Each command on a small input: each line a little work, one thread, a result that is known. */
extern const char *const fault_lines[];
extern const size_t fault_line_count;
void fault_write_inputs(void);
/* draft, refine and quote end with the best so far: the exit code is its verdict's, and the result says so. */
bool fault_keeps_best(const char *line);

typedef struct fault {
    const char *call; /* see fault.c */
    long at;          /* 0: none fails */
    int number;
    bool lasts;
    int signal; /* not 0: it comes then, and nothing fails */
} fault;

typedef struct fault_outcome {
    outcome run;
    long calls; /* of the kind that was to fail; -1: the program did not end by itself */
    long live;  /* blocks not given back */
    int in_gsl; /* whether it was GSL that asked for the memory */
} fault_outcome;

fault_outcome fault_run(const fault *what, const char *line);

/* What each command's allocations are, with BC_FAULTS=sites: run `line` as it is, and list the first call of every
 * place that no line before it has had. Returns how many there are. */
size_t fault_sites(const char *line, size_t most, long *first_call);
void fault_forget_sites(void);

bool fault_all(void);      /* BC_FAULTS=all */
bool fault_at_sites(void); /* BC_FAULTS=sites */

/* The next call to make fail after number `at`. */
long fault_next(long at);

/* Told at the end: what was made to fail. */
void fault_tell(const char *what, size_t line, long runs, long as_usual);

Suite *memory_suite(void);
Suite *writes_suite(void);
Suite *signals_suite(void);
Suite *locale_suite(void);

#endif
