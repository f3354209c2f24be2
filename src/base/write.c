/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "write.h"
#include <errno.h>
#include <poll.h>
#include <unistd.h>

int bc_write_all(int file, const char *bytes, size_t count)
{
    for (size_t done = 0; done < count;) {
        const ssize_t wrote = write(file, bytes + done, count - done);
        if (wrote >= 0) {
            done += (size_t)wrote;
        } else if (errno == EAGAIN) {
            struct pollfd wait = {.fd = file, .events = POLLOUT};
            (void)poll(&wait, 1, -1);
        } else if (errno != EINTR) {
            return errno;
        }
    }
    return 0;
}
