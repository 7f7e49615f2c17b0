/* Scores how a loudspeaker is made on the outside: the gap around its grille, and its surface.
 *
 * What is read, the points and the weights stand in manifest.json; here is how findings become measures.
 */
#include <bw_plugin.h>
#include <stdlib.h>
#include <string.h>

static const unsigned char MANIFEST[] = {
#include "manifest.inc"
};

/* Places in the lists of the manifest. */
enum { INPUT_GRILLE_GAP, INPUT_SURFACE, N_INPUTS };
enum { PARAM_GAP_LIMIT, N_PARAMS };
enum { CRITERION_GRILLE_GAP, CRITERION_SURFACE, N_CRITERIA };
enum { REMARK_GAP_WIDE };

enum { N_SURFACES = 4 };

typedef struct plugin {
  double gap_limit_mm;
} plugin;

static void fail(const bw_host *host, const char *text) {
  bw_str reason = {text, strlen(text)};
  host->log(host->ctx, BW_LOG_ERROR, reason);
}

static int32_t create(const bw_host *host, const double *params, size_t n, void **self) {
  plugin *made;
  if (n != N_PARAMS) {
    fail(host, "wants 1 parameter");
    return BW_E_INPUT;
  }
  made = malloc(sizeof *made);
  if (made == NULL) {
    fail(host, "no memory");
    return BW_E_OTHER;
  }
  made->gap_limit_mm = params[PARAM_GAP_LIMIT];
  *self = made;
  return BW_OK;
}

static void destroy(void *self) { free(self); }

static void score_row(const plugin *self, const bw_host *host, const bw_batch *batch, size_t row) {
  double gap_mm = batch->inputs[INPUT_GRILLE_GAP]->values[row] * 1000.0;
  double surface = batch->inputs[INPUT_SURFACE]->values[row];
  double *scores = batch->scores + row * batch->n_criteria;
  if (isfinite(gap_mm)) { /* a missing one is NaN: its score stays BW_NOT_SCORED */
    /* A gap near 0 that is drawn with its uncertainty can come out below 0. */
    gap_mm = fmax(gap_mm, 0.0);
    scores[CRITERION_GRILLE_GAP] = gap_mm;
    if (gap_mm > self->gap_limit_mm) {
      double args[2];
      bw_remark wide = {sizeof wide, REMARK_GAP_WIDE, row, args, 2};
      args[0] = gap_mm;
      args[1] = self->gap_limit_mm;
      host->remark(host->ctx, &wide);
    }
  }
  if (surface >= 0 && surface < N_SURFACES) scores[CRITERION_SURFACE] = surface;
}

static int32_t evaluate(void *self, const bw_host *host, const bw_batch *batch) {
  size_t row;
  if (batch->n_inputs != N_INPUTS || batch->n_criteria != N_CRITERIA) {
    fail(host, "the batch is not the one of the manifest");
    return BW_E_INPUT;
  }
  for (row = 0; row < batch->n_rows; row++) {
    if (host->should_stop(host->ctx)) return BW_E_STOPPED;
    score_row(self, host, batch, row);
  }
  return BW_OK;
}

static const bw_plugin PLUGIN = {sizeof(bw_plugin),
                                 BW_ABI_MAJOR,
                                 BW_ABI_MINOR,
                                 {(const char *)MANIFEST, sizeof MANIFEST},
                                 create,
                                 destroy,
                                 evaluate,
                                 NULL};

BW_EXPORT const bw_plugin *bw_plugin_v1(uint32_t index) { return index == 0 ? &PLUGIN : NULL; }
