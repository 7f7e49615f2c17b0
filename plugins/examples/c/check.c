/* Tests the plugin through its table, as the worker calls it, without a library or a process. */
#include <bw_plugin.h>
#include <stdio.h>
#include <stdlib.h>

enum { N_INPUTS = 2, N_CRITERIA = 2, GRILLE_GAP = 0, SURFACE = 1 };

/* What the plugin said during a call. */
typedef struct tape {
  size_t n_remarks, n_errors, stop_at, n_asked;
  double gap_mm, limit_mm;
} tape;

static size_t n_failed;

static void expect(int holds, const char *what) {
  if (!holds) {
    fprintf(stderr, "failed: %s\n", what);
    n_failed++;
  }
}

static void take_log(void *ctx, int32_t level, bw_str text) {
  (void)text;
  if (level == BW_LOG_ERROR) ((tape *)ctx)->n_errors++;
}

static void take_remark(void *ctx, const bw_remark *remark) {
  tape *it = ctx;
  expect(remark->code == 0 && remark->n_args == 2, "the remark is the first of the manifest, with two numbers");
  it->n_remarks++;
  it->gap_mm = remark->args[0];
  it->limit_mm = remark->args[1];
}

static uint32_t should_stop(void *ctx) {
  tape *it = ctx;
  it->n_asked++;
  return it->stop_at != 0 && it->stop_at <= it->n_asked;
}

/* Scores rows with one limit. The arrays are on the heap and no longer than they must be, so that a sanitizer sees a
 * read or write past them. */
static int32_t score(tape *it, double limit_mm, size_t n_rows, const double *gaps_m, const double *surfaces,
                     double *scores) {
  const bw_plugin *plugin = bw_plugin_v1(0);
  bw_host host = {sizeof host, BW_ABI_MAJOR, BW_ABI_MINOR, it, take_log, take_remark, should_stop};
  bw_input gap = {sizeof gap, BW_KIND_NUMBER, 0, NULL, gaps_m};
  bw_input surface = {sizeof surface, BW_KIND_CHOICE, 0, NULL, surfaces};
  const bw_input *inputs[N_INPUTS];
  bw_batch batch = {sizeof batch, N_INPUTS, n_rows, N_CRITERIA, inputs, scores};
  void *self = NULL;
  int32_t status;
  size_t i;
  inputs[GRILLE_GAP] = &gap;
  inputs[SURFACE] = &surface;
  for (i = 0; i < n_rows * N_CRITERIA; i++) scores[i] = BW_NOT_SCORED;
  status = plugin->create(&host, &limit_mm, 1, &self);
  expect(status == BW_OK, "create takes one parameter");
  if (status != BW_OK) return status;
  status = plugin->evaluate(self, &host, &batch);
  plugin->destroy(self);
  return status;
}

static double *room(size_t n) {
  double *made = malloc(n * sizeof *made);
  if (made == NULL && n != 0) exit(2);
  return made;
}

static int is_near(double a, double b) { return fabs(a - b) < 1e-9; }

static void one_row(void) {
  tape it = {0, 0, 0, 0, 0, 0};
  double *gap = room(1), *surface = room(1), *scores = room(N_CRITERIA);
  *gap = 0.0025;
  *surface = 2;
  expect(score(&it, 2, 1, gap, surface, scores) == BW_OK, "a row is scored");
  expect(is_near(scores[GRILLE_GAP], 2.5), "a gap is measured in millimetres");
  expect(is_near(scores[SURFACE], 2), "a surface is measured by its place");
  expect(it.n_remarks == 1 && is_near(it.gap_mm, 2.5) && is_near(it.limit_mm, 2), "a wide gap is remarked on");

  it.n_remarks = 0;
  expect(score(&it, 3, 1, gap, surface, scores) == BW_OK && it.n_remarks == 0, "the limit is the parameter");

  *gap = -0.0001;
  *surface = 4;
  expect(score(&it, 2, 1, gap, surface, scores) == BW_OK, "a gap drawn below 0 is scored");
  expect(is_near(scores[GRILLE_GAP], 0), "a gap drawn below 0 is none");
  expect(isnan(scores[SURFACE]), "what is no choice stays unscored");

  *gap = *surface = NAN;
  expect(score(&it, 2, 1, gap, surface, scores) == BW_OK, "nothing known is no failure");
  expect(isnan(scores[GRILLE_GAP]) && isnan(scores[SURFACE]), "what is missing stays unscored");
  *gap = 1e308;
  expect(score(&it, 2, 1, gap, surface, scores) == BW_OK, "a huge number is no failure");
  expect(isnan(scores[GRILLE_GAP]), "what no millimetres can hold stays unscored");
  *gap = INFINITY;
  *surface = -INFINITY;
  expect(score(&it, 2, 1, gap, surface, scores) == BW_OK, "infinities are no failure");
  expect(isnan(scores[GRILLE_GAP]) && isnan(scores[SURFACE]), "an infinity counts as missing");
  expect(it.n_remarks == 0 && it.n_errors == 0, "nothing else is said");
  free(gap);
  free(surface);
  free(scores);
}

static void many_rows(void) {
  enum { N = 1000 };
  tape it = {0, 0, 0, 0, 0, 0};
  double *gaps = room(N), *surfaces = room(N), *scores = room(N * N_CRITERIA);
  size_t row, n_wrong = 0;
  for (row = 0; row < N; row++) {
    gaps[row] = row % 7 == 0 ? NAN : 1e-6 * (double)row;
    surfaces[row] = (double)(row % 4);
  }
  expect(score(&it, 20, N, gaps, surfaces, scores) == BW_OK, "1000 rows are scored");
  for (row = 0; row < N; row++) {
    double gap_mm = scores[row * N_CRITERIA + GRILLE_GAP];
    int gap_holds = row % 7 == 0 ? isnan(gap_mm) : is_near(gap_mm, 1e-3 * (double)row);
    n_wrong += !gap_holds || !is_near(scores[row * N_CRITERIA + SURFACE], (double)(row % 4));
  }
  expect(n_wrong == 0, "each row has its own scores");
  expect(score(&it, 20, 0, gaps, surfaces, scores) == BW_OK, "no rows are no failure");
  it.n_asked = 0;
  it.stop_at = 3;
  expect(score(&it, 20, N, gaps, surfaces, scores) == BW_E_STOPPED, "it stops when it is asked to");
  free(gaps);
  free(surfaces);
  free(scores);
}

static void refusals(void) {
  tape it = {0, 0, 0, 0, 0, 0};
  const bw_plugin *plugin = bw_plugin_v1(0);
  bw_host host = {sizeof host, BW_ABI_MAJOR, BW_ABI_MINOR, &it, take_log, take_remark, should_stop};
  double params[2] = {2, 2};
  void *self = NULL;
  expect(bw_plugin_v1(1) == NULL, "the library holds one plugin");
  expect(plugin->create(&host, params, 2, &self) == BW_E_INPUT, "two parameters are refused");
  expect(plugin->create(&host, NULL, 0, &self) == BW_E_INPUT, "no parameter is refused");
  expect(self == NULL && it.n_errors == 2, "a refusal leaves nothing and gives a reason");
}

int main(void) {
  one_row();
  many_rows();
  refusals();
  if (n_failed == 0) puts("all checks passed");
  return n_failed == 0 ? 0 : 1;
}
