/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Preloaded into the program under test: makes one call to the system fail. In the environment:
 *
 *   BC_FAULT_CALL   memory, write, short (a write of one byte), fsync, rename, fchmod, close, tmpfile (an
 *                   open() of a file without a name), linkat, mkostemp, read
 *   BC_FAULT_AT     which call of that kind fails, from 1; 0: none
 *   BC_FAULT_ERRNO  with what
 *   BC_FAULT_SIGNAL this signal comes then, and the call does not fail
 *   BC_FAULT_LASTS  set: every later one fails, too
 *   BC_FAULT_LOCALE the program runs in this locale, as if a caller of the library had chosen it
 *   BC_FAULT_SITES  a file of places that ask for memory, each a call with the three above it: those that are not in it
 *                   are added, and BC_FAULT_COUNT gets the number of each one's first call
 *   BC_FAULT_COUNT  where to write, at the end, how many calls there were, how many blocks were not
 *                   freed, and whether the one that failed was asked for by libgsl
 *
 * The GNU C library's own names (__libc_malloc and the like) do the work, so that nothing is needed to find them.
 */
#include <dlfcn.h>
#include <errno.h>
#include <execinfo.h>
#include <fcntl.h>
#include <link.h>
#include <locale.h>
#include <signal.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *block, size_t size);
void *__libc_memalign(size_t alignment, size_t size);
void __libc_free(void *block);

static const char *call = "";
static long at, number, sent;
static bool lasts, over, no_unnamed;
static atomic_bool in_gsl;
static uintptr_t spared_from, spared_to; /* where libseccomp lies */
static atomic_long calls, live;

#define MOST_SITES 20000
#define DEPTH      4
#define OWN_FRAMES 6 /* of this library, at most */

static uint64_t site[MOST_SITES];
static long first_call[MOST_SITES];
static size_t sites, old_sites;
static const char *sites_path;
static bool looks_for_sites;

static void read_sites(void)
{
    void *frame[1];
    int file;
    ssize_t size = 0;
    sites_path = getenv("BC_FAULT_SITES");
    if (sites_path == NULL)
        return;
    backtrace(frame, 1); /* loads what it needs, and that takes memory */
    file = open(sites_path, O_RDONLY);
    if (file >= 0) {
        size = read(file, site, sizeof site);
        close(file);
    }
    sites = old_sites = size > 0 ? (size_t)size / sizeof *site : 0;
    looks_for_sites = true;
}

/* The same in every run, wherever the program was loaded. */
static uint64_t place_of(void *const *frame, int frames)
{
    Dl_info own, info;
    uint64_t place = 0;
    int taken = 0;
    dladdr((void *)(uintptr_t)&place_of, &own);
    for (int i = 0; i < frames && taken < DEPTH; i++) {
        if (dladdr(frame[i], &info) == 0 || info.dli_fbase == own.dli_fbase)
            continue;
        place = (place ^ (uint64_t)((char *)frame[i] - (char *)info.dli_fbase)) * UINT64_C(0x9e3779b97f4a7c15);
        taken++;
    }
    return place;
}

static void look_for_site(long number_of_call)
{
    void *frame[DEPTH + OWN_FRAMES];
    uint64_t place;
    if (!looks_for_sites || sites == MOST_SITES)
        return;
    looks_for_sites = false;
    place = place_of(frame, backtrace(frame, DEPTH + OWN_FRAMES));
    looks_for_sites = true;
    for (size_t i = 0; i < sites; i++)
        if (site[i] == place)
            return;
    first_call[sites] = number_of_call;
    site[sites++] = place;
}

/* libseccomp 2.5.4 follows a null pointer where it finds no memory for a filter, which the desk loads before anybody
 * waits for it: its own allocations neither count nor fail. */
static int spare_seccomp(struct dl_phdr_info *info, size_t size, void *context)
{
    (void)size, (void)context;
    if (strstr(info->dlpi_name, "libseccomp") == NULL)
        return 0;
    spared_from = (uintptr_t)info->dlpi_addr;
    for (int i = 0; i < info->dlpi_phnum; i++)
        if (info->dlpi_phdr[i].p_type == PT_LOAD &&
            spared_from + info->dlpi_phdr[i].p_vaddr + info->dlpi_phdr[i].p_memsz > spared_to)
            spared_to = spared_from + (uintptr_t)(info->dlpi_phdr[i].p_vaddr + info->dlpi_phdr[i].p_memsz);
    return 1;
}

static int count_file = -1;

static void write_sites(int to)
{
    int file;
    if (sites_path == NULL)
        return;
    looks_for_sites = false;
    for (size_t i = old_sites; i < sites; i++)
        dprintf(to, "%ld\n", first_call[i]);
    file = open(sites_path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (file >= 0 && write(file, site, sites * sizeof *site) > 0)
        close(file);
}

__attribute__((constructor)) static void begin(void)
{
    const char *text = getenv("BC_FAULT_CALL");
    call = text == NULL ? "" : text;
    text = getenv("BC_FAULT_AT");
    at = text == NULL ? 0 : strtol(text, NULL, 10);
    text = getenv("BC_FAULT_ERRNO");
    number = text == NULL ? 0 : strtol(text, NULL, 10);
    text = getenv("BC_FAULT_SIGNAL");
    sent = text == NULL ? 0 : strtol(text, NULL, 10);
    text = getenv("BC_FAULT_LOCALE");
    if (text != NULL && setlocale(LC_ALL, text) == NULL)
        _exit(124);
    lasts = getenv("BC_FAULT_LASTS") != NULL;
    no_unnamed = strcmp(call, "mkostemp") == 0; /* a file system that has no files without a name */
    read_sites();
    dl_iterate_phdr(spare_seccomp, NULL);
    text = getenv("BC_FAULT_COUNT"); /* opened now: some programs give up writing elsewhere */
    count_file = text == NULL ? -1 : open(text, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    calls = live = 0;
}

__attribute__((destructor)) static void end(void)
{
    char text[80];
    const long blocks = live, made = calls;
    if (count_file < 0)
        return;
    at = 0;
    snprintf(text, sizeof text, "%ld %ld %d\n", made, blocks, (int)in_gsl);
    if (write(count_file, text, strlen(text)) > 0)
        write_sites(count_file);
    close(count_file);
}

static bool fails(const char *kind)
{
    long mine;
    if (strcmp(call, kind) != 0)
        return false;
    mine = ++calls;
    if (at == 0 || !(mine == at || (lasts && mine > at)))
        return false;
    if (sent != 0)
        raise((int)sent);
    errno = (int)number;
    return sent == 0;
}

/* An allocation that fails; `from` is where it was asked for. */
static bool fails_memory(void *from)
{
    Dl_info info;
    if ((uintptr_t)from >= spared_from && (uintptr_t)from < spared_to)
        return false;
    if (!fails("memory")) {
        if (strcmp(call, "memory") == 0)
            look_for_site(calls);
        return false;
    }
    in_gsl = in_gsl || (dladdr(from, &info) != 0 && strstr(info.dli_fname, "libgsl") != NULL);
    errno = (int)number;
    return true;
}

static void *counted(void *block)
{
    live += block != NULL && !over;
    return block;
}

void *malloc(size_t size)
{
    return fails_memory(__builtin_return_address(0)) ? NULL : counted(__libc_malloc(size));
}

void *calloc(size_t count, size_t size)
{
    return fails_memory(__builtin_return_address(0)) ? NULL : counted(__libc_calloc(count, size));
}

void *realloc(void *block, size_t size)
{
    void *moved;
    if (fails_memory(__builtin_return_address(0)))
        return NULL;
    moved = __libc_realloc(block, size);
    live += block == NULL && moved != NULL && !over;
    return moved;
}

void *memalign(size_t alignment, size_t size)
{
    return fails_memory(__builtin_return_address(0)) ? NULL : counted(__libc_memalign(alignment, size));
}

void *aligned_alloc(size_t alignment, size_t size)
{
    return memalign(alignment, size);
}

int posix_memalign(void **block, size_t alignment, size_t size)
{
    *block = memalign(alignment, size);
    return *block == NULL ? ENOMEM : 0;
}

void free(void *block)
{
    live -= block != NULL && !over;
    __libc_free(block);
}

#define NEXT(type, name) ((type)dlsym(RTLD_NEXT, name)) /* -Wpedantic knows no such cast, but POSIX asks for it */

ssize_t write(int file, const void *bytes, size_t size)
{
    __extension__ ssize_t (*const next)(int, const void *, size_t) =
        NEXT(ssize_t(*)(int, const void *, size_t), "write");
    if (fails("write"))
        return -1;
    /* An eventfd, eight bytes, is written whole or not at all. */
    return next(file, bytes, size > sizeof(uint64_t) && fails("short") ? 1 : size);
}

ssize_t read(int file, void *bytes, size_t size)
{
    __extension__ ssize_t (*const next)(int, void *, size_t) = NEXT(ssize_t(*)(int, void *, size_t), "read");
    return fails("read") ? -1 : next(file, bytes, size);
}

/* What a fortified program calls instead. */
ssize_t __read_chk(int file, void *bytes, size_t size, size_t room);

ssize_t __read_chk(int file, void *bytes, size_t size, size_t room)
{
    if (size > room)
        abort();
    return read(file, bytes, size);
}

int fsync(int file)
{
    __extension__ int (*const next)(int) = NEXT(int (*)(int), "fsync");
    return fails("fsync") ? -1 : next(file);
}

int rename(const char *from, const char *to)
{
    __extension__ int (*const next)(const char *, const char *) = NEXT(int (*)(const char *, const char *), "rename");
    return fails("rename") ? -1 : next(from, to);
}

int fchmod(int file, mode_t mode)
{
    __extension__ int (*const next)(int, mode_t) = NEXT(int (*)(int, mode_t), "fchmod");
    return fails("fchmod") ? -1 : next(file, mode);
}

int close(int file)
{
    __extension__ int (*const next)(int) = NEXT(int (*)(int), "close");
    const int closed = next(file);
    return fails("close") ? -1 : closed;
}

int open(const char *path, int flags, ...)
{
    __extension__ int (*const next)(const char *, int, ...) = NEXT(int (*)(const char *, int, ...), "open");
    mode_t mode = 0;
    if ((flags & O_CREAT) != 0 || (flags & O_TMPFILE) == O_TMPFILE) {
        va_list arguments;
        va_start(arguments, flags);
        mode = va_arg(arguments, mode_t);
        va_end(arguments);
    }
    if ((flags & O_TMPFILE) == O_TMPFILE && (no_unnamed || fails("tmpfile"))) {
        errno = no_unnamed ? EOPNOTSUPP : errno;
        return -1;
    }
    return next(path, flags, mode);
}

int linkat(int from_folder, const char *from, int to_folder, const char *to, int flags)
{
    __extension__ int (*const next)(int, const char *, int, const char *, int) =
        NEXT(int (*)(int, const char *, int, const char *, int), "linkat");
    return fails("linkat") ? -1 : next(from_folder, from, to_folder, to, flags);
}

int mkostemp(char *template, int flags)
{
    __extension__ int (*const next)(char *, int) = NEXT(int (*)(char *, int), "mkostemp");
    return fails("mkostemp") ? -1 : next(template, flags);
}

/* The first that the C library calls when the program's main() is over. A build that measures coverage writes its
 * counters after that, which is no work of the program. */
void __cxa_finalize(void *object);

void __cxa_finalize(void *object)
{
    __extension__ void (*const next)(void *) = NEXT(void (*)(void *), "__cxa_finalize");
    call = "";
    over = true;
    next(object);
}
