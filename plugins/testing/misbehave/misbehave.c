/* A plugin that does one thing wrong, chosen with -D when it is compiled. Tests load it to see that the host
 * notices, says what happened and goes on. Without a mode it behaves: it scores the cabinet's height in centimetres.
 *
 * The host's tests name modes with what they expect of them, and the snapshot of the conformance check names every one.
 * A mode that tries something the sandbox forbids scores the error number of the attempt, or 0 if it succeeded.
 */
#define _GNU_SOURCE
#include <bw_plugin.h>
#include <errno.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

/* A height, in metres, at which modes of a single row misbehave. */
#define MAGIC 0.666

#if defined MODE_BAD_MANIFEST
static const char MANIFEST[] = "{\"abi\": {\"major\": 1, \"minor\": 0}, \"id\": \"org.example.misbehave\"}";
#elif defined MODE_MANIFEST_NOT_UTF8
static const char MANIFEST[] = "\xff\xfe";
#elif defined MODE_MANIFEST_NOT_JSON
static const char MANIFEST[] = "height in cm";
#elif defined MODE_MANIFEST_HUGE
static const char MANIFEST[300000] = "{";
#else
#ifdef MODE_BAD_ID
#define CRITERION "The Height"
#else
#define CRITERION "height"
#endif
#ifdef MODE_UNKNOWN_INPUT
#define INPUT "cabinet.outer_heigth"
#else
#define INPUT "cabinet.outer_h"
#endif
#ifdef MODE_MANIFEST_RANGE
#define RANGE "[200, 0]"
#else
#define RANGE "[0, 200]"
#endif
#ifdef MODE_TWICE_ID
#define TWIN ", {\"code\": \"tall\", \"severity\": \"info\", \"text\": \"tall\"}"
#else
#define TWIN ""
#endif
/* Not const, since one mode writes to it. */
__attribute__((unused)) static char MANIFEST[] =
    "{\"version\": \"1.0.000000\","
    " \"abi\": {\"major\": 1, \"minor\": 0}, \"id\": \"org.example.misbehave\", \"subsystem\": \"misbehave\","
    " \"name\": \"Misbehave\", \"vendor\": \"Example\", \"licence\": \"MIT OR Apache-2.0\","
    " \"rubric\": \"misbehave 1\","
    " \"inputs\": [{\"id\": \"" INPUT "\", \"kind\": \"number\", \"unit\": \"m\"}],"
    " \"params\": [{\"id\": \"unused\", \"unit\": \"1\", \"default\": 1, \"min\": 0, \"max\": 2}],"
    " \"criteria\": [{\"id\": \"" CRITERION "\", \"title\": \"Height\", \"unit\": \"cm\", \"better\": \"higher\","
    " \"range\": " RANGE ", \"weight\": 1, \"inputs\": [\"" INPUT "\"],"
    " \"utility\": {\"scale\": \"linear\", \"points\": [[0, 0], [200, 100]]},"
    " \"doc\": \"Height, for want of anything better.\", \"source\": \"editorial\"}],"
    " \"remarks\": [{\"code\": \"tall\", \"severity\": \"info\", \"text\": \"{0:.0} cm tall\","
    " \"args\": [{\"id\": \"height\", \"unit\": \"cm\"}]}" TWIN "],"
    " \"batch\": "
#ifdef MODE_RELATIVE_SEGV
    "\"relative\""
#else
    "\"independent\""
#endif
    ", \"deterministic\": true}";
#endif

/* Keeps a loop without effect in the program. */
static volatile int truth = 1;

#if defined MODE_CONSTRUCTOR
__attribute__((constructor)) static void constructor(void) { abort(); }
#elif defined MODE_CONSTRUCTOR_EXIT
__attribute__((constructor)) static void constructor(void) { exit(0); }
#elif defined MODE_SLOW_LOAD
__attribute__((constructor)) static void constructor(void) {
  struct timespec pause = {0, 250000000};
  nanosleep(&pause, 0);
}
#endif

#ifdef MODE_UNDEFINED
int defined_nowhere(void);
#endif

static void say(const bw_host *host, int32_t level, const char *text) {
  bw_str str = {text, strlen(text)};
  host->log(host->ctx, level, str);
}

static void remark(const bw_host *host, uint32_t code, size_t row, size_t n_args) {
  double args[2] = {1.0, 2.0};
  bw_remark it = {sizeof it, code, row, args, n_args};
  host->remark(host->ctx, &it);
}

#ifdef MODE_STACK
static int dig(int depth) {
  volatile char hole[4096];
  hole[0] = (char)depth;
  return truth ? dig(depth + 1) + hole[0] : depth;
}
#endif

#ifdef MODE_THREAD_LEFT
static void *linger(void *nothing) {
  while (truth) pause();
  return nothing;
}
#endif

#ifdef MODE_THREAD
static void *count(void *sum) {
  *(int *)sum += 1;
  return sum;
}
#endif

#if defined MODE_CONNECT
static int attempt(void) {
  struct sockaddr_in to;
  int fd = socket(AF_INET, SOCK_STREAM, 0);
  if (fd < 0) return errno;
  memset(&to, 0, sizeof to);
  to.sin_family = AF_INET;
  to.sin_port = htons(9);
  to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  return connect(fd, (struct sockaddr *)&to, sizeof to) < 0 ? errno : 0;
}
#elif defined MODE_READ_FILE
static int attempt(void) { return open("/etc/passwd", O_RDONLY) < 0 ? errno : 0; }
#elif defined MODE_WRITE_FILE
static int attempt(void) { return open("/tmp/misbehave.written", O_WRONLY | O_CREAT, 0600) < 0 ? errno : 0; }
#elif defined MODE_FORK
static int attempt(void) {
  pid_t child = fork();
  if (child == 0) pause();
  return child < 0 ? errno : 0;
}
#elif defined MODE_EXEC
static int attempt(void) {
  char *const arguments[] = {"/bin/true", 0};
  execv("/bin/true", arguments);
  return errno;
}
#elif defined MODE_SYSTEM
/* system() hides the error number. */
static int attempt(void) { return system("true") == 0 ? 0 : EPERM; }
#elif defined MODE_SIGNAL_PARENT
static int attempt(void) { return kill(getppid(), 0) < 0 ? errno : 0; }
#elif defined MODE_CHMOD
static int attempt(void) { return chmod("/tmp/misbehave.absent", 0600) < 0 ? errno : 0; }
#endif

/* What an instance is. */
typedef struct plugin {
  double param;
} plugin;

#if defined MODE_SHARED_STATE
static double shared_param;
#elif defined MODE_LEAK
static void *volatile lost;
#endif

__attribute__((unused)) static int32_t create(const bw_host *host, const double *params, size_t n, void **self) {
  plugin *made;
  (void)host;
#if defined MODE_CREATE_FAILS
  say(host, BW_LOG_ERROR, "no parameters today");
  return BW_E_INPUT;
#elif defined MODE_CREATE_SEGV
  raise(SIGSEGV);
#elif defined MODE_CREATE_LOOP
  while (truth) {
  }
#endif
#ifndef MODE_ANY_COUNT
  if (n != 1) {
#ifndef MODE_SILENT_COUNT
    say(host, BW_LOG_ERROR, "wants 1 parameter");
#endif
    return BW_E_INPUT;
  }
#endif
#if defined MODE_FOREIGN
  if (!(params[0] >= 0 && params[0] <= 2)) abort();
#elif defined MODE_FOREIGN_STATUS
  if (!(params[0] >= 0 && params[0] <= 2)) return BW_E_OTHER;
#endif
  made = malloc(sizeof *made);
  if (!made) return BW_E_OTHER;
  made->param = n > 0 ? params[0] : 1;
#if defined MODE_SHARED_STATE
  shared_param = made->param;
#elif defined MODE_LEAK
  lost = malloc(4096);
#endif
  *self = made;
  return BW_OK;
}

__attribute__((unused)) static void destroy(void *self) { free(self); }

/* What depends on more than the row's own input, or on the parameter. */
__attribute__((unused)) static double twist(const plugin *self, const bw_batch *batch, size_t row) {
  (void)self;
  (void)batch;
  (void)row;
#if defined MODE_COUNTER
  static int calls;
  return 1e-3 * ++calls;
#elif defined MODE_PID
  return 1e-3 * (getpid() % 997);
#elif defined MODE_POSITION
  return 1e-3 * (double)row;
#elif defined MODE_BATCH_SIZE
  return 1e-3 * (double)batch->n_rows;
#elif defined MODE_POISON
  double sum = 0;
  for (size_t i = 0; i <= row; i++) sum += batch->inputs[0]->values[i] * 1e-6;
  return sum;
#elif defined MODE_SHARED_STATE
  return shared_param;
#elif defined MODE_GREATEST
  if (self->param >= 2) abort();
  return 0;
#else
  return 0;
#endif
}

__attribute__((unused)) static int32_t evaluate(void *self, const bw_host *host, const bw_batch *batch) {
  const double *height_m = batch->inputs[0]->values;
  size_t row;
  (void)self;
  (void)host;
  (void)say;
  (void)remark;
#if defined MODE_SEGV || defined MODE_RELATIVE_SEGV
  *(volatile int *)(size_t)(truth - 1) = 1;
#elif defined MODE_UNDEFINED
  return defined_nowhere();
#elif defined MODE_ABORT
  abort();
#elif defined MODE_FPE
  raise(SIGFPE);
#elif defined MODE_STACK
  return dig(0);
#elif defined MODE_EXIT_0
  exit(0);
#elif defined MODE_EXIT_3
  _exit(3);
#elif defined MODE_PANIC
  return BW_E_PANIC;
#elif defined MODE_EARLY_STOP
  return BW_E_STOPPED;
#elif defined MODE_ZERO_ROWS
  if (batch->n_rows == 0) abort();
#elif defined MODE_CROWD_SEGV
  if (batch->n_rows >= 1000) raise(SIGSEGV);
#elif defined MODE_IGNORES_STOP
  for (int i = 0; i < 50 && batch->n_rows >= 1000; i++) {
    struct timespec pause = {0, 1000000};
    nanosleep(&pause, 0);
    while (host->should_stop(host->ctx) && truth) sleep(1000);
  }
#elif defined MODE_MISSING_ABORT
  size_t n_missing = 0;
  for (row = 0; row < batch->n_rows; row++) n_missing += isnan(height_m[row]) != 0;
  if (batch->n_rows > 1 && n_missing == batch->n_rows) abort();
#elif defined MODE_THREAD_LEFT
  static int started;
  pthread_t left;
  if (!started++ && pthread_create(&left, 0, linger, 0) == 0) pthread_detach(left);
#elif defined MODE_PRINT_LATE
  printf("scoring");
#elif defined MODE_LOG_NOT_UTF8
  say(host, BW_LOG_INFO, "h\xf6he");
#elif defined MODE_REMARK_ORDER
  for (row = batch->n_rows; row > 0; row--) remark(host, 0, row - 1, 1);
#elif defined MODE_LOOP
  while (truth) {
  }
#elif defined MODE_CROWD_LOOP
  while (batch->n_rows > 1 && truth) {
  }
#elif defined MODE_SLEEP
  while (truth) sleep(1000);
#elif defined MODE_STOPS
  while (!host->should_stop(host->ctx)) {
    struct timespec pause = {0, 1000000};
    nanosleep(&pause, 0);
  }
  return BW_E_STOPPED;
#elif defined MODE_STATUS
  say(host, BW_LOG_ERROR, "not in the mood");
  return BW_E_OTHER;
#elif defined MODE_ALLOCATE
  while (truth) {
    volatile char *block = malloc(1 << 20);
    if (!block) abort();
    block[0] = 1;
  }
#elif defined MODE_GARBAGE
  for (int fd = 3; fd < 64; fd++) {
    if (write(fd, "\x05\x00\x00\x00hello", 9) < 0) continue;
  }
#elif defined MODE_HUGE_FRAME
  for (int fd = 3; fd < 64; fd++) {
    if (write(fd, "\xff\xff\xff\xff", 4) < 0) continue;
  }
#elif defined MODE_CLOSE
  for (int fd = 3; fd < 64; fd++) close(fd);
#elif defined MODE_PRINT
  fwrite("\x05\x00\x00\x00hello\n", 1, 10, stdout);
  fflush(stdout);
#elif defined MODE_LOG_FLOOD
  for (int i = 0; i < 20000; i++) say(host, BW_LOG_INFO, "and another thing \x1b[31m");
#elif defined MODE_THREAD
  int sum = 0;
  pthread_t thread;
  int error = pthread_create(&thread, 0, count, &sum);
  if (error) return BW_E_OTHER;
  pthread_join(thread, 0);
  if (sum != 1) return BW_E_OTHER;
#endif
  for (row = 0; row < batch->n_rows; row++) {
    double *score = batch->scores + row * batch->n_criteria;
    int cursed = height_m[row] > MAGIC - 1e-9 && height_m[row] < MAGIC + 1e-9;
    (void)cursed;
    double height_cm = height_m[row] * 100 + twist(self, batch, row);
    *score = height_cm >= 0 && height_cm <= 200 ? height_cm : BW_NOT_SCORED;
#if defined MODE_REMARK_CODE
    remark(host, 1, row, 1);
#elif defined MODE_REMARK_ROW
    remark(host, 0, row + 1, 1);
#elif defined MODE_REMARK_ARGS
    remark(host, 0, row, 2);
#elif defined MODE_REMARK_FLOOD
    for (int i = 0; i < (batch->n_rows == 1 ? 20000 : 20); i++) remark(host, 0, row, 1);
#elif defined MODE_INFINITY_ABORT
    if (isinf(height_m[row])) abort();
#elif defined MODE_DENORMAL_LOOP
    while (height_m[row] > 0 && height_m[row] < 1e-300 && truth) {
    }
#elif defined MODE_HUGE_OVERFLOW
    if (height_m[row] > 1e200 && !isinf(height_m[row])) *score = height_cm;
#elif defined MODE_NEGATIVE
    if (height_cm < 0 && height_cm > -1e6) *score = height_cm;
#elif defined MODE_LEAST
    if (((plugin *)self)->param <= 0) *score = INFINITY;
#elif defined MODE_NAN
    *score = BW_NOT_SCORED;
#elif defined MODE_NOT_APPLICABLE
    *score = BW_NOT_APPLICABLE;
#elif defined MODE_INFINITE
    *score = INFINITY;
#elif defined MODE_OUT_OF_RANGE
    *score = 200.5;
#elif defined MODE_ROW_SEGV
    if (cursed) raise(SIGSEGV);
#elif defined MODE_ROW_LOOP
    while (cursed && truth) {
    }
#elif defined MODE_ROW_OUT_OF_RANGE
    if (cursed) *score = -1;
#elif defined MODE_CONNECT || defined MODE_READ_FILE || defined MODE_WRITE_FILE || defined MODE_FORK || \
    defined MODE_EXEC || defined MODE_SYSTEM || defined MODE_SIGNAL_PARENT || defined MODE_CHMOD
    *score = attempt();
#endif
  }
  return BW_OK;
}

#ifdef MODE_EXTENSION
static const void *any_extension(bw_str id) { return id.ptr; }
#endif

static const bw_plugin PLUGIN = {
#if defined MODE_SHORT_TABLE
    16,
#elif defined MODE_LONG_TABLE
    1000000,
#else
    sizeof(bw_plugin),
#endif
#if defined MODE_WRONG_MAJOR
    7,
#elif defined MODE_OLD_MAJOR
    0,
#else
    BW_ABI_MAJOR,
#endif
#ifdef MODE_MINOR
    7,
#else
    BW_ABI_MINOR,
#endif
#if defined MODE_MANIFEST_NULL
    {0, 100},
#elif defined MODE_MANIFEST_HUGE
    {MANIFEST, sizeof MANIFEST},
#else
    {MANIFEST, sizeof MANIFEST - 1},
#endif
#ifdef MODE_NO_CREATE
    0,
    0,
#else
    create,
#ifdef MODE_HALF_INSTANCE
    0,
#else
    destroy,
#endif
#endif
#ifdef MODE_NO_EVALUATE
    0,
#else
    evaluate,
#endif
#ifdef MODE_EXTENSION
    any_extension
#else
    0
#endif
};

#ifdef MODE_EXTRA_SYMBOL
BW_EXPORT int misbehave_helper(void);
int misbehave_helper(void) { return 0; }
#endif

#if defined MODE_NO_ENTRY
BW_EXPORT const bw_plugin *unrelated(void);
const bw_plugin *unrelated(void) { return &PLUGIN; }
#elif defined MODE_NEXT_ABI
BW_EXPORT const bw_plugin *bw_plugin_v2(uint32_t index);
const bw_plugin *bw_plugin_v2(uint32_t index) { return index == 0 ? &PLUGIN : 0; }
#elif defined MODE_NO_PLUGIN
const bw_plugin *bw_plugin_v1(uint32_t index) { return index == 99 ? &PLUGIN : 0; }
#elif defined MODE_ENTRY_LOOP
const bw_plugin *bw_plugin_v1(uint32_t index) {
  while (truth) {
  }
  return index == 0 ? &PLUGIN : 0;
}
#elif defined MODE_ENDLESS_ENTRY
const bw_plugin *bw_plugin_v1(uint32_t index) { return index < UINT32_MAX ? &PLUGIN : 0; }
#elif defined MODE_CHANGING_MANIFEST
const bw_plugin *bw_plugin_v1(uint32_t index) {
  /* The last digits of the version. */
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  for (int i = 22; i > 16; i--, now.tv_nsec /= 10) MANIFEST[i] = (char)('0' + now.tv_nsec % 10);
  return index == 0 ? &PLUGIN : 0;
}
#else
const bw_plugin *bw_plugin_v1(uint32_t index) { return index == 0 ? &PLUGIN : 0; }
#endif
