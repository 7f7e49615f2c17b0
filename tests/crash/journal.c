/* Notes what a process does to the files of one folder, in the order in which it does it.
 *
 * Loaded in front of the C library (ld.so(8), LD_PRELOAD), it calls the function that was meant and then writes a record:
 * files made, bytes written, lengths set, names given and taken, and what was flushed. It changes nothing that the process
 * sees. What passes it by (a raw system call, a mapped page) is found by the reader, which holds the folder at the end
 * against the records.
 *
 * JOURNAL_ROOT   the folder, absolute and without links in its path
 * JOURNAL_FILE   where the records go, outside of the folder
 * JOURNAL_STOP   after so many records the process ends as by a kill; absent or 0: never
 *
 * A record: one letter, two whole numbers of 8 bytes, the length of what follows in 8 bytes, and that. Byte order of the
 * machine. A file is known by its inode, a name by its path inside the folder.
 *   C inode -       path      a file was made         W inode offset  bytes     bytes were written
 *   T inode length  -         a length was set        S inode -       -         a file was flushed
 *   M - -           path      a folder was made       D - -           path      a folder was flushed
 *   R - length      from, to  a name was changed      L - length      from, to  a second name was given
 *   U - -           path      a name was removed      A - -           bytes     something was said on standard output
 * `length` of R and L is that of `from`.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <signal.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <unistd.h>

static const char *root;
static size_t root_length;
static int journal = -1;
static uint64_t records, stop;
/* Held from before a call until after its record, so that records are in the order of what happened. */
static pthread_mutex_t turn = PTHREAD_MUTEX_INITIALIZER;

#define MEANT(name) \
    static __typeof__(&name) meant; \
    if (!meant) meant = (__typeof__(&name))dlsym(RTLD_NEXT, #name)

__attribute__((constructor)) static void begin(void) {
    const char *file = getenv("JOURNAL_FILE"), *at = getenv("JOURNAL_STOP");
    root = getenv("JOURNAL_ROOT");
    if (!root || !file) return;
    root_length = strlen(root);
    stop = at ? strtoull(at, NULL, 10) : 0;
    journal = (int)syscall(SYS_openat, AT_FDCWD, file, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
}

/* The path inside the folder, or nothing when it is outside or the index of a log, which is made anew at every start. */
static const char *inside(const char *path) {
    if (journal < 0 || !path || strncmp(path, root, root_length) || path[root_length] != '/') return NULL;
    const char *name = path + root_length + 1;
    size_t length = strlen(name);
    return length >= 4 && !strcmp(name + length - 4, "-shm") ? NULL : name;
}

static void record(char what, uint64_t a, uint64_t b, const void *more, size_t length, const void *most, size_t last) {
    char head[25];
    uint64_t all = length + last;
    head[0] = what;
    memcpy(head + 1, &a, 8);
    memcpy(head + 9, &b, 8);
    memcpy(head + 17, &all, 8);
    struct iovec parts[3] = {{head, sizeof head}, {(void *)more, length}, {(void *)most, last}};
    if (syscall(SYS_writev, journal, parts, 3) != (long)(sizeof head + all)) abort();
    if (++records == stop) {
        kill(getpid(), SIGKILL);
        pause();
    }
}

/* The inode behind a descriptor of the folder, or 0; with `name`, a folder gives 0 and its path instead. */
static uint64_t behind(int fd, char *name) {
    char link[32], path[PATH_MAX];
    struct stat about;
    int kept = errno;
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t length = journal < 0 ? -1 : readlink(link, path, sizeof path - 1);
    errno = kept;
    if (length < 0) return 0;
    path[length] = 0;
    if (name && !strcmp(path, root)) {
        strcpy(name, "/");
        return 0;
    }
    const char *within = inside(path);
    if (!within || fstat(fd, &about)) return 0;
    if (S_ISREG(about.st_mode)) return about.st_ino;
    if (name && S_ISDIR(about.st_mode)) strcpy(name, within);
    return 0;
}

#define OPENS(name, parameters, call, path) \
    int name parameters { \
        MEANT(name); \
        mode_t mode = 0; \
        if (flags & (O_CREAT | O_TMPFILE)) { \
            va_list rest; \
            va_start(rest, flags); \
            mode = va_arg(rest, mode_t); \
            va_end(rest); \
        } \
        const char *within = flags & (O_CREAT | O_TRUNC) ? inside(path) : NULL; \
        if (!within) return call; \
        struct stat about; \
        pthread_mutex_lock(&turn); \
        int was = !lstat(path, &about), fd = call, kept = errno; \
        if (fd >= 0 && !fstat(fd, &about)) { \
            if (!was) record('C', about.st_ino, 0, within, strlen(within), "", 0); \
            else if (flags & O_TRUNC) record('T', about.st_ino, 0, "", 0, "", 0); \
        } \
        pthread_mutex_unlock(&turn); \
        errno = kept; \
        return fd; \
    }
OPENS(open, (const char *path, int flags, ...), meant(path, flags, mode), path)
OPENS(open64, (const char *path, int flags, ...), meant(path, flags, mode), path)
OPENS(openat, (int at, const char *path, int flags, ...), meant(at, path, flags, mode), path)
OPENS(openat64, (int at, const char *path, int flags, ...), meant(at, path, flags, mode), path)

ssize_t write(int fd, const void *bytes, size_t length) {
    MEANT(write);
    uint64_t of = behind(fd, NULL);
    if (!of && (fd != 1 || journal < 0)) return meant(fd, bytes, length);
    pthread_mutex_lock(&turn);
    ssize_t done = meant(fd, bytes, length);
    int kept = errno;
    if (done > 0 && of) record('W', of, (uint64_t)(lseek(fd, 0, SEEK_CUR) - done), bytes, (size_t)done, "", 0);
    if (done > 0 && !of) record('A', 0, 0, bytes, (size_t)done, "", 0);
    pthread_mutex_unlock(&turn);
    errno = kept;
    return done;
}

#define WRITES_AT(name, offset_type) \
    ssize_t name(int fd, const void *bytes, size_t length, offset_type at) { \
        MEANT(name); \
        uint64_t of = behind(fd, NULL); \
        if (!of) return meant(fd, bytes, length, at); \
        pthread_mutex_lock(&turn); \
        ssize_t done = meant(fd, bytes, length, at); \
        int kept = errno; \
        if (done > 0) record('W', of, (uint64_t)at, bytes, (size_t)done, "", 0); \
        pthread_mutex_unlock(&turn); \
        errno = kept; \
        return done; \
    }
WRITES_AT(pwrite, off_t)
WRITES_AT(pwrite64, off64_t)

#define SETS_LENGTH(name, offset_type) \
    int name(int fd, offset_type length) { \
        MEANT(name); \
        uint64_t of = behind(fd, NULL); \
        if (!of) return meant(fd, length); \
        pthread_mutex_lock(&turn); \
        int done = meant(fd, length), kept = errno; \
        if (!done) record('T', of, (uint64_t)length, "", 0, "", 0); \
        pthread_mutex_unlock(&turn); \
        errno = kept; \
        return done; \
    }
SETS_LENGTH(ftruncate, off_t)
SETS_LENGTH(ftruncate64, off64_t)

#define FLUSHES(name) \
    int name(int fd) { \
        MEANT(name); \
        char folder[PATH_MAX] = ""; \
        uint64_t of = behind(fd, folder); \
        if (!of && !*folder) return meant(fd); \
        pthread_mutex_lock(&turn); \
        int done = meant(fd), kept = errno; \
        if (!done && of) record('S', of, 0, "", 0, "", 0); \
        if (!done && !of) record('D', 0, 0, folder, strlen(folder), "", 0); \
        pthread_mutex_unlock(&turn); \
        errno = kept; \
        return done; \
    }
FLUSHES(fsync)
FLUSHES(fdatasync)

#define ONE_NAME(name, parameters, call, path, what) \
    int name parameters { \
        MEANT(name); \
        const char *within = inside(path); \
        if (!within) return call; \
        pthread_mutex_lock(&turn); \
        int done = call, kept = errno; \
        if (!done) record(what, 0, 0, within, strlen(within), "", 0); \
        pthread_mutex_unlock(&turn); \
        errno = kept; \
        return done; \
    }
ONE_NAME(unlink, (const char *path), meant(path), path, 'U')
ONE_NAME(unlinkat, (int at, const char *path, int flags), meant(at, path, flags), path, 'U')
ONE_NAME(rmdir, (const char *path), meant(path), path, 'U')
ONE_NAME(mkdir, (const char *path, mode_t mode), meant(path, mode), path, 'M')

#define TWO_NAMES(name, parameters, call, what) \
    int name parameters { \
        MEANT(name); \
        const char *before = inside(from), *after = inside(to); \
        if (!before || !after) return call; \
        pthread_mutex_lock(&turn); \
        int done = call, kept = errno; \
        if (!done) record(what, 0, strlen(before), before, strlen(before), after, strlen(after)); \
        pthread_mutex_unlock(&turn); \
        errno = kept; \
        return done; \
    }
TWO_NAMES(rename, (const char *from, const char *to), meant(from, to), 'R')
TWO_NAMES(link, (const char *from, const char *to), meant(from, to), 'L')
TWO_NAMES(linkat, (int a, const char *from, int b, const char *to, int flags), meant(a, from, b, to, flags), 'L')
