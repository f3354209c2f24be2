/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Preloaded into the program under test: makes one call to the system fail. In the environment:
 *
 *   BC_FAULT_CALL   memory, write, short (a write of one byte), fsync, rename, fchmod, close, mkostemp, read
 *   BC_FAULT_AT     which call of that kind fails, from 1; 0: none
 *   BC_FAULT_ERRNO  with what
 *   BC_FAULT_SIGNAL this signal comes then, and the call does not fail
 *   BC_FAULT_LASTS  set: every later one fails, too
 *   BC_FAULT_LOCALE the program runs in this locale, as if a caller of the library had chosen it
 *   BC_FAULT_COUNT  where to write, at the end, how many calls there were, how many blocks were not
 *                   freed, and whether the one that failed was asked for by libgsl
 *
 * The GNU C library's own names (__libc_malloc and the like) do the work, so that nothing is needed to find them.
 */
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <locale.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdbool.h>
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
static bool lasts, over;
static atomic_bool in_gsl;
static atomic_long calls, live;

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
    calls = live = 0;
}

__attribute__((destructor)) static void end(void)
{
    char text[80];
    const char *path = getenv("BC_FAULT_COUNT");
    const long blocks = live, made = calls;
    int file;
    if (path == NULL)
        return;
    at = 0;
    snprintf(text, sizeof text, "%ld %ld %d\n", made, blocks, (int)in_gsl);
    file = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (file >= 0 && write(file, text, strlen(text)) > 0)
        close(file);
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
    if (!fails("memory"))
        return false;
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
    return next(file, bytes, size > 1 && fails("short") ? 1 : size);
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
