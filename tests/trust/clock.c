/* A clock that was set wrong, for tests: preloaded into the real program. The
 * file SKEP_CLOCK holds by how many seconds the time of day is off just now. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/time.h>
#include <time.h>

static long off(void) {
    const char *path = getenv("SKEP_CLOCK");
    FILE *file = path ? fopen(path, "r") : NULL;
    long seconds = 0;
    if (!file) return 0;
    if (fscanf(file, "%ld", &seconds) != 1) seconds = 0;
    fclose(file);
    return seconds;
}

int clock_gettime(clockid_t which, struct timespec *now) {
    static int (*really)(clockid_t, struct timespec *);
    if (!really) really = dlsym(RTLD_NEXT, "clock_gettime");
    int done = really(which, now);
    if (done == 0 && (which == CLOCK_REALTIME || which == CLOCK_REALTIME_COARSE)) now->tv_sec += off();
    return done;
}

int gettimeofday(struct timeval *restrict now, void *restrict zone) {
    struct timespec exact;
    (void)zone;
    int done = clock_gettime(CLOCK_REALTIME, &exact);
    now->tv_sec = exact.tv_sec;
    now->tv_usec = exact.tv_nsec / 1000;
    return done;
}

time_t time(time_t *into) {
    struct timespec exact;
    clock_gettime(CLOCK_REALTIME, &exact);
    if (into) *into = exact.tv_sec;
    return exact.tv_sec;
}
