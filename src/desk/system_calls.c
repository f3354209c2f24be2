/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "system_calls.h"

const char desk_own_program[] = "/proc/self/exe";

#ifdef BC_SECCOMP
#include <errno.h>
#include <fcntl.h>
#include <sched.h>
#include <seccomp.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/ioctl.h>
#include <unistd.h>

#ifdef __s390__ /* has the arguments of clone() the other way round */
#define CLONE_FLAGS 1
#else
#define CLONE_FLAGS 0
#endif
#ifndef TIOCLINUX
#define TIOCLINUX 0x541C
#endif

/* By their names: the library knows which of them this machine has. */
static const char *const never[] = {
    /* new connections, and ways round this filter */
    "socket",
    "connect",
    "bind",
    "listen",
    "io_uring_setup",
    "io_uring_enter",
    "io_uring_register",
    "personality",
    "modify_ldt",
    /* other processes */
    "process_vm_readv",
    "process_vm_writev",
    "process_madvise",
    "pidfd_open",
    "pidfd_getfd",
    "pidfd_send_signal",
    "kcmp",
    "rt_sigqueueinfo",
    "rt_tgsigqueueinfo",
    "migrate_pages",
    "move_pages",
    /* what is mounted where, and as whom one runs */
    "mount",
    "umount",
    "umount2",
    "pivot_root",
    "chroot",
    "setns",
    "unshare",
    "move_mount",
    "open_tree",
    "fsopen",
    "fsconfig",
    "fsmount",
    "fspick",
    "mount_setattr",
    "swapon",
    "swapoff",
    "quotactl",
    "quotactl_fd",
    "setuid",
    "setgid",
    "setreuid",
    "setregid",
    "setresuid",
    "setresgid",
    "setfsuid",
    "setfsgid",
    "setgroups",
    "capset",
    "mknod",
    "mknodat",
    "name_to_handle_at",
    "open_by_handle_at",
    "fanotify_init",
    "fanotify_mark",
    /* the kernel and the machine */
    "bpf",
    "perf_event_open",
    "userfaultfd",
    "add_key",
    "request_key",
    "keyctl",
    "kexec_load",
    "kexec_file_load",
    "init_module",
    "finit_module",
    "delete_module",
    "iopl",
    "ioperm",
    "acct",
    "reboot",
    "syslog",
    "settimeofday",
    "clock_settime",
    "clock_settime64",
    "clock_adjtime",
    "clock_adjtime64",
    "adjtimex",
    "sethostname",
    "setdomainname",
    "vhangup",
    "lookup_dcookie",
    "nfsservctl",
    /* a file cut short by its path, which Landlock before its third version lets pass; what is our own is cut by
     * ftruncate() */
    "truncate",
    "truncate64",
#ifndef __SANITIZE_ADDRESS__ /* which looks for leaks so */
    "ptrace",
#endif
};

/* And of a command that the desk started. */
static const char *const never_of_a_job[] = {"execve",     "execveat", "accept",  "accept4",
                                             "socketpair", "setsid",   "setpgid",
#ifndef __SANITIZE_ADDRESS__
                                             "fork",       "vfork"
#endif
};

static bool deny(scmp_filter_ctx filter, size_t count, const char *const *name)
{
    for (size_t i = 0; i < count; i++) {
        const int number = seccomp_syscall_resolve_name(name[i]);
        if (number != __NR_SCMP_ERROR && seccomp_rule_add(filter, SCMP_ACT_ERRNO(EPERM), number, 0) != 0)
            return false;
    }
    return true;
}

static bool deny_where(scmp_filter_ctx filter, int number, struct scmp_arg_cmp argument)
{
    return seccomp_rule_add_array(filter, SCMP_ACT_ERRNO(EPERM), number, 1, &argument) == 0;
}

/* Words typed into somebody's terminal. */
static bool deny_typing(scmp_filter_ctx filter)
{
    return deny_where(filter, SCMP_SYS(ioctl), SCMP_A1_32(SCMP_CMP_EQ, TIOCSTI)) &&
           deny_where(filter, SCMP_SYS(ioctl), SCMP_A1_32(SCMP_CMP_EQ, TIOCLINUX));
}

/* A file cut short that is only opened to be read; Landlock before its third version lets that pass, too. */
static bool deny_emptying(scmp_filter_ctx filter)
{
    const scmp_datum_t looked_at = O_ACCMODE | O_TRUNC, denied = O_RDONLY | O_TRUNC;
    return deny_where(filter, SCMP_SYS(open), SCMP_A1_32(SCMP_CMP_MASKED_EQ, looked_at, denied)) &&
           deny_where(filter, SCMP_SYS(openat), SCMP_A2_32(SCMP_CMP_MASKED_EQ, looked_at, denied)) &&
           seccomp_rule_add(filter, SCMP_ACT_ERRNO(ENOSYS), SCMP_SYS(openat2), 0) == 0;
}

/* The filter sees where a string lies, not what it says: this one lies where nothing is written. */
static bool deny_other_programs(scmp_filter_ctx filter)
{
    static const char *const other[] = {"execveat"};
    return deny(filter, 1, other) &&
           deny_where(filter, SCMP_SYS(execve), SCMP_A0_64(SCMP_CMP_NE, (scmp_datum_t)(uintptr_t)desk_own_program));
}

static bool deny_other_processes(scmp_filter_ctx filter)
{
    const scmp_datum_t own = (scmp_datum_t)getpid();
    bool done = deny_where(filter, SCMP_SYS(kill), SCMP_A0_32(SCMP_CMP_NE, own)) &&
                deny_where(filter, SCMP_SYS(tgkill), SCMP_A0_32(SCMP_CMP_NE, own));
#ifndef __SANITIZE_ADDRESS__
    done = done && deny_where(filter, SCMP_SYS(clone), SCMP_CMP64(CLONE_FLAGS, SCMP_CMP_MASKED_EQ, CLONE_THREAD, 0)) &&
           seccomp_rule_add(filter, SCMP_ACT_ERRNO(ENOSYS), SCMP_SYS(clone3), 0) == 0;
#endif
    return done;
}

bool desk_filter_system_calls(desk_part part)
{
    scmp_filter_ctx filter = seccomp_init(SCMP_ACT_ALLOW);
    bool done = filter != NULL;
    done = done && deny(filter, sizeof never / sizeof *never, never) && deny_typing(filter) && deny_emptying(filter);
    if (part == DESK_SERVES)
        done = done && deny_other_programs(filter);
    else
        done = done && deny(filter, sizeof never_of_a_job / sizeof *never_of_a_job, never_of_a_job) &&
               deny_other_processes(filter);
    done = done && seccomp_load(filter) == 0;
    seccomp_release(filter);
    return done;
}
#else
bool desk_filter_system_calls(desk_part part)
{
    (void)part;
    return false;
}
#endif
