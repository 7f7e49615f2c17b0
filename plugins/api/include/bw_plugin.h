/* The plugin interface of Boxworth, major version 1.
 *
 * A plugin is a dynamic library with one exported function, bw_plugin_v1. It scores rows (one row is
 * one product or one random draw of a product) on criteria named in its manifest, a static JSON text
 * (manifest.schema.json). C99 and C++11, 64-bit targets.
 *
 * Rules that hold for every function and struct here:
 *   - [call] means: only on the calling thread, during a call into the plugin. [any] means: at any time
 *     from any thread. The host never makes two calls at once into one instance.
 *   - The first member of a struct is its size as the writer knew it. Later minor versions only append
 *     members; read no further than struct_size. A function pointer that is null is not offered.
 *   - Whoever allocates frees. Inputs and scores belong to the host and live for the call. The manifest
 *     and the table are static. The host copies what it wants before it returns from a callback.
 *   - No exception, panic or longjmp leaves a function. Constructors of the library do nothing.
 *   - The library is never unloaded; its process ends without running destructors.
 */
#ifndef BW_PLUGIN_H
#define BW_PLUGIN_H

#include <math.h>
#include <stddef.h>
#include <stdint.h>

#if SIZE_MAX != UINT64_MAX
#error "Boxworth plugins are made for 64-bit targets only"
#endif

#ifdef __cplusplus
extern "C" {
#endif

#define BW_ABI_MAJOR 1
#define BW_ABI_MINOR 0

/* What create and evaluate return. The reason of a failure is the last text logged at BW_LOG_ERROR during the call. */
#define BW_OK 0
#define BW_E_INPUT (-1)   /* parameters or inputs are not what the manifest declares */
#define BW_E_STOPPED (-2) /* should_stop said so */
#define BW_E_PANIC (-3)   /* a bug in the plugin, caught before it crossed */
#define BW_E_OTHER (-4)   /* anything else, such as no memory */

/* Kinds of input, as in the manifest. All but a curve are scalars. A number that is drawn with its uncertainty may lie
 * outside what can be measured, so hold it to the range of the measure. */
#define BW_KIND_NUMBER 1 /* in the declared unit */
#define BW_KIND_CHOICE 2 /* index into the declared choices, from 0 */
#define BW_KIND_COUNT 3  /* a whole number */
#define BW_KIND_BOOL 4   /* 0 or 1 */
#define BW_KIND_CURVE 5  /* values over a grid that all rows share, in the declared units */

/* How much a log text matters. */
#define BW_LOG_DEBUG 0 /* for the plugin's author */
#define BW_LOG_INFO 1  /* for the user who looks closely */
#define BW_LOG_WARN 2  /* something odd that did not stop the call */
#define BW_LOG_ERROR 3 /* the reason of a failure */

/* What a score may be besides a measure inside the declared range, in the unit of the criterion. scores arrives filled
 * with BW_NOT_SCORED: leave it so where an input is missing. Anything else makes the row faulty: it is not scored, and
 * shown with the reason. */
#define BW_NOT_SCORED ((double)NAN)
#define BW_NOT_APPLICABLE (-(double)INFINITY) /* the criterion has no meaning for this product */

/* UTF-8 of len bytes, not ended by a NUL. */
typedef struct bw_str {
  const char *ptr;
  size_t len;
} bw_str;

/* One input for all rows. A scalar has n_points 0, grid null and values[n_rows]. A curve has
 * grid[n_points], shared by all rows, and values[n_rows * n_points], row by row. Missing is NaN. */
typedef struct bw_input {
  uint32_t struct_size;
  uint32_t kind;
  size_t n_points;
  const double *grid;
  const double *values;
} bw_input;

/* What one call evaluates. inputs[n_inputs] come in the order of the manifest, as pointers, since a bw_input may grow.
 * scores is [n_rows * n_criteria], row by row. n_rows may be 0. The host parts a batch as it likes, unless the manifest
 * says "batch": "relative". */
typedef struct bw_batch {
  uint32_t struct_size;
  uint32_t n_inputs;
  size_t n_rows;
  size_t n_criteria;
  const bw_input *const *inputs;
  double *scores;
} bw_batch;

/* What a plugin says about a row. code is an index into the remarks of the manifest; args are the numbers that it
 * declares there, in its order and units. What passes 10,000 remarks a call is dropped. */
typedef struct bw_remark {
  uint32_t struct_size;
  uint32_t code;
  size_t row;
  const double *args;
  size_t n_args;
} bw_remark;

/* What the host offers during a call. A text is at most 4 KiB, those of a call 64 KiB together; more is cut off. */
typedef struct bw_host {
  uint32_t struct_size;
  uint16_t abi_major;
  uint16_t abi_minor;
  void *ctx;                                            /* first argument of each function below */
  void (*log)(void *ctx, int32_t level, bw_str text);   /* [call] */
  void (*remark)(void *ctx, const bw_remark *remark);   /* [call] */
  uint32_t (*should_stop)(void *ctx);                   /* [any] not 0: stop; ask at least every 100 ms */
} bw_host;

/* What a plugin offers: one static table. */
typedef struct bw_plugin {
  uint32_t struct_size;
  uint16_t abi_major;
  uint16_t abi_minor;
  bw_str manifest; /* JSON, at most 256 KiB */
  /* params[n] in the order of the manifest. Sets *self, which is the plugin's until destroy. A create
   * that fails leaves nothing to destroy; another number of parameters than declared is BW_E_INPUT. Null create and
   * destroy: the plugin keeps no state, and self is null. */
  int32_t (*create)(const bw_host *host, const double *params, size_t n, void **self);
  void (*destroy)(void *self);
  /* Scores all rows. One bad row is a remark and BW_NOT_SCORED, never a failed call. After a failure
   * other than BW_E_INPUT the host destroys the instance and makes a new one. */
  int32_t (*evaluate)(void *self, const bw_host *host, const bw_batch *batch);
  /* Ids end in a revision ("bw.name/1"); an unknown id gives null. May itself be null. */
  const void *(*extension)(bw_str id);
} bw_plugin;

#if defined(_WIN32)
#define BW_EXPORT __declspec(dllexport)
#elif defined(__GNUC__) || defined(__clang__)
#define BW_EXPORT __attribute__((visibility("default")))
#else
#define BW_EXPORT
#endif

/* The plugins of this library, one for each index from 0; null past the last. [any] */
BW_EXPORT const bw_plugin *bw_plugin_v1(uint32_t index);

#ifdef __cplusplus
}
#endif

#endif
