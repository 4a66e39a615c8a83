/* Stands between a program and one folder's disk. Loaded with LD_PRELOAD.

   SOAK_FOLDER  the folder; everything else is left alone
   SOAK_LOG     every change and every sync is written down here, for the disk model to replay
   SOAK_FAULT   while this file exists its first letter is a fault: r read-only, f full

   A record: kind, length of the path, offset or size, length of the data; then path and data. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

#define MOST 4096
static char paths[MOST][512];
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static const char *folder, *fault;
static int journal = -1;

__attribute__((constructor)) static void begin(void) {
    folder = getenv("SOAK_FOLDER");
    fault = getenv("SOAK_FAULT");
    const char *name = getenv("SOAK_LOG");
    if (name) journal = syscall(SYS_openat, AT_FDCWD, name, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
}

static int ours(const char *path) {
    return folder && path && strncmp(path, folder, strlen(folder)) == 0;
}

static const char *path_of(int fd) {
    return fd >= 0 && fd < MOST && paths[fd][0] ? paths[fd] : NULL;
}

static char trouble(void) {
    char letter = 0;
    if (!fault) return 0;
    int fd = syscall(SYS_openat, AT_FDCWD, fault, O_RDONLY | O_CLOEXEC, 0);
    if (fd < 0) return 0;
    if (syscall(SYS_read, fd, &letter, 1) != 1) letter = 0;
    syscall(SYS_close, fd);
    return letter;
}

static void note(char kind, const char *path, uint64_t place, const void *data, uint64_t size) {
    if (journal < 0) return;
    struct { char kind; char pad[7]; uint64_t path, place, size; } head = {kind, {0}, strlen(path), place, size};
    size_t whole = sizeof head + head.path + size;
    char *text = malloc(whole);
    memcpy(text, &head, sizeof head);
    memcpy(text + sizeof head, path, head.path);
    if (size) memcpy(text + sizeof head + head.path, data, size);
    syscall(SYS_write, journal, text, whole);
    free(text);
}

static int opened(const char *path, int flags, mode_t mode) {
    if (!ours(path)) return syscall(SYS_openat, AT_FDCWD, path, flags, mode);
    pthread_mutex_lock(&lock);
    char letter = trouble();
    int there = syscall(SYS_faccessat, AT_FDCWD, path, F_OK) == 0;
    int writes = (flags & O_ACCMODE) != O_RDONLY || (flags & O_TRUNC);
    if ((letter == 'r' && (writes || ((flags & O_CREAT) && !there))) ||
        (letter == 'f' && (flags & O_CREAT) && !there)) {
        pthread_mutex_unlock(&lock);
        errno = letter == 'r' ? EROFS : ENOSPC;
        return -1;
    }
    int fd = syscall(SYS_openat, AT_FDCWD, path, flags, mode);
    if (fd >= 0 && fd < MOST) {
        snprintf(paths[fd], sizeof paths[fd], "%s", path);
        if ((flags & O_CREAT) && !there) note('c', path, 0, NULL, 0);
        if ((flags & O_TRUNC) && there) note('t', path, 0, NULL, 0);
    }
    pthread_mutex_unlock(&lock);
    return fd;
}

static mode_t mode_in(int flags, va_list rest) {
    return (flags & (O_CREAT | O_TMPFILE)) ? va_arg(rest, mode_t) : 0;
}

int open(const char *path, int flags, ...) {
    va_list rest; va_start(rest, flags); mode_t mode = mode_in(flags, rest); va_end(rest);
    return opened(path, flags, mode);
}
int open64(const char *path, int flags, ...) {
    va_list rest; va_start(rest, flags); mode_t mode = mode_in(flags, rest); va_end(rest);
    return opened(path, flags | O_LARGEFILE, mode);
}

int close(int fd) {
    if (fd >= 0 && fd < MOST) paths[fd][0] = 0;
    return syscall(SYS_close, fd);
}

static ssize_t put(int fd, const void *data, size_t size, int64_t place) {
    const char *path = path_of(fd);
    if (!path) return place < 0 ? syscall(SYS_write, fd, data, size) : syscall(SYS_pwrite64, fd, data, size, place);
    pthread_mutex_lock(&lock);
    char letter = trouble();
    struct stat is;
    fstat(fd, &is);
    if (place < 0 && letter != 'r') {
        int append = fcntl(fd, F_GETFL) & O_APPEND;
        int64_t at = append ? is.st_size : lseek(fd, 0, SEEK_CUR);
        if (!(letter == 'f' && at + (int64_t)size > is.st_size)) {
            ssize_t done = syscall(SYS_write, fd, data, size);
            if (done > 0) note('w', path, at, data, done);
            pthread_mutex_unlock(&lock);
            return done;
        }
    } else if (letter != 'r' && !(letter == 'f' && place + (int64_t)size > is.st_size)) {
        ssize_t done = syscall(SYS_pwrite64, fd, data, size, place);
        if (done > 0) note('w', path, place, data, done);
        pthread_mutex_unlock(&lock);
        return done;
    }
    pthread_mutex_unlock(&lock);
    errno = letter == 'r' ? EROFS : ENOSPC;
    return -1;
}

ssize_t write(int fd, const void *data, size_t size) { return put(fd, data, size, -1); }
ssize_t pwrite(int fd, const void *data, size_t size, off_t place) { return put(fd, data, size, place); }
ssize_t pwrite64(int fd, const void *data, size_t size, off64_t place) { return put(fd, data, size, place); }

static int cut(int fd, int64_t size) {
    const char *path = path_of(fd);
    if (!path) return syscall(SYS_ftruncate, fd, size);
    pthread_mutex_lock(&lock);
    int done = -1;
    if (trouble() == 'r') errno = EROFS;
    else if ((done = syscall(SYS_ftruncate, fd, size)) == 0) note('t', path, size, NULL, 0);
    pthread_mutex_unlock(&lock);
    return done;
}
int ftruncate(int fd, off_t size) { return cut(fd, size); }
int ftruncate64(int fd, off64_t size) { return cut(fd, size); }

static int synced(int fd, long call) {
    const char *path = path_of(fd);
    if (!path) return syscall(call, fd);
    pthread_mutex_lock(&lock);
    int done = syscall(call, fd);
    if (done == 0) note('s', path, 0, NULL, 0);
    pthread_mutex_unlock(&lock);
    return done;
}
int fsync(int fd) { return synced(fd, SYS_fsync); }
int fdatasync(int fd) { return synced(fd, SYS_fdatasync); }

int unlink(const char *path) {
    if (!ours(path)) return syscall(SYS_unlinkat, AT_FDCWD, path, 0);
    pthread_mutex_lock(&lock);
    int done = -1;
    if (trouble() == 'r') errno = EROFS;
    else if ((done = syscall(SYS_unlinkat, AT_FDCWD, path, 0)) == 0) note('u', path, 0, NULL, 0);
    pthread_mutex_unlock(&lock);
    return done;
}

int rename(const char *from, const char *to) {
    if (!ours(to)) return syscall(SYS_renameat2, AT_FDCWD, from, AT_FDCWD, to, 0);
    pthread_mutex_lock(&lock);
    int done = -1;
    if (trouble() == 'r') errno = EROFS;
    else if ((done = syscall(SYS_renameat2, AT_FDCWD, from, AT_FDCWD, to, 0)) == 0) note('m', from, 0, to, strlen(to));
    pthread_mutex_unlock(&lock);
    return done;
}
