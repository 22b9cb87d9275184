/* A disk that fails on order, for tests: preloaded into the real program.
 * SKEP_FAULTS_UNDER names a folder; the file SKEP_FAULTS says what fails there
 * just now: full, sync, short, broken, locked, or nothing when it is empty. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

static int ordered(const char *fault) {
    const char *path = getenv("SKEP_FAULTS");
    char said[16] = {0};
    if (!path) return 0;
    int (*really_open)(const char *, int, ...) = dlsym(RTLD_NEXT, "open");
    ssize_t (*really_read)(int, void *, size_t) = dlsym(RTLD_NEXT, "read");
    int fd = really_open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0) return 0;
    ssize_t n = really_read(fd, said, sizeof said - 1);
    close(fd);
    return n > 0 && strcmp(said, fault) == 0;
}

static int under(const char *path) {
    const char *folder = getenv("SKEP_FAULTS_UNDER");
    return folder && path && strncmp(path, folder, strlen(folder)) == 0;
}

static int ours(int fd) {
    char link[64], path[4096];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t n = readlink(link, path, sizeof path - 1);
    if (n <= 0) return 0;
    path[n] = 0;
    return under(path);
}

/* How much may be written: all, a part, or none with errno. */
static ssize_t room(int fd, size_t size) {
    if (!ours(fd)) return (ssize_t)size;
    if (ordered("full")) { errno = ENOSPC; return -1; }
    if (ordered("broken")) { errno = EIO; return -1; }
    if (ordered("short") && size > 1) return (ssize_t)(size / 2);
    return (ssize_t)size;
}

#define WRITE(name, off_type)                                                      \
    ssize_t name(int fd, const void *bytes, size_t size, off_type at) {            \
        ssize_t (*really)(int, const void *, size_t, off_type) =                   \
            dlsym(RTLD_NEXT, #name);                                               \
        ssize_t left = room(fd, size);                                             \
        return left < 0 ? -1 : really(fd, bytes, (size_t)left, at);                \
    }
WRITE(pwrite, off_t)
WRITE(pwrite64, off64_t)

ssize_t write(int fd, const void *bytes, size_t size) {
    ssize_t (*really)(int, const void *, size_t) = dlsym(RTLD_NEXT, "write");
    ssize_t left = room(fd, size);
    return left < 0 ? -1 : really(fd, bytes, (size_t)left);
}

#define SYNC(name)                                                                 \
    int name(int fd) {                                                             \
        int (*really)(int) = dlsym(RTLD_NEXT, #name);                              \
        if (ours(fd) && (ordered("sync") || ordered("broken"))) {                  \
            errno = EIO;                                                           \
            return -1;                                                             \
        }                                                                          \
        return really(fd);                                                         \
    }
SYNC(fsync)
SYNC(fdatasync)

#define OPEN(name)                                                                 \
    int name(const char *path, int flags, ...) {                                   \
        int (*really)(const char *, int, ...) = dlsym(RTLD_NEXT, #name);           \
        va_list more;                                                              \
        va_start(more, flags);                                                     \
        int mode = va_arg(more, int);                                              \
        va_end(more);                                                              \
        int writes = (flags & (O_WRONLY | O_RDWR | O_CREAT)) != 0;                 \
        if (under(path) && ((writes && ordered("locked")) || ordered("shut"))) {   \
            errno = EACCES;                                                        \
            return -1;                                                             \
        }                                                                          \
        return really(path, flags, mode);                                          \
    }
OPEN(open)
OPEN(open64)
