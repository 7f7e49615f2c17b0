/* Scores how flat an impedance curve is: the ratio of its highest to its lowest value. With it the host is tested on
 * curves, which no plugin of this build reads.
 */
#include <bw_plugin.h>

static const char MANIFEST[] =
    "{\"abi\": {\"major\": 1, \"minor\": 0}, \"id\": \"org.example.flatness-c\", \"subsystem\": \"flatness\","
    " \"version\": \"1.0.0\", \"name\": \"Flatness\", \"vendor\": \"Example\", \"licence\": \"MIT OR Apache-2.0\","
    " \"rubric\": \"flatness 1\","
    " \"inputs\": [{\"id\": \"impedance\", \"kind\": \"curve\", \"unit\": \"ohm\", \"x_unit\": \"Hz\"}],"
    " \"criteria\": [{\"id\": \"spread\", \"title\": \"Spread of the impedance\", \"unit\": \"1\","
    " \"better\": \"lower\", \"range\": [1, null], \"weight\": 1, \"inputs\": [\"impedance\"],"
    " \"utility\": {\"scale\": \"log\", \"points\": [[2, 100], [20, 0]]},"
    " \"doc\": \"Highest over lowest impedance; a wide spread bends the response of an amplifier with a high"
    " output impedance.\", \"source\": \"editorial\"}],"
    " \"remarks\": [{\"code\": \"level\", \"severity\": \"info\", \"text\": \"the curve is a level line\"}],"
    " \"batch\": \"independent\", \"deterministic\": true}";

static int32_t evaluate(void *self, const bw_host *host, const bw_batch *batch) {
  const bw_input *ohms = batch->inputs[0];
  (void)self;
  for (size_t row = 0; row < batch->n_rows; row++) {
    const double *y = ohms->values + row * ohms->n_points;
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < ohms->n_points && !isnan(low); i++) {
      low = isnan(y[i]) ? y[i] : fmin(low, y[i]);
      high = fmax(high, y[i]);
    }
    if (!(low > 0) || high < low) continue; /* a missing point or none at all: stays unscored */
    batch->scores[row * batch->n_criteria] = high / low;
    if (high == low) {
      bw_remark level = {sizeof level, 0, row, 0, 0};
      host->remark(host->ctx, &level);
    }
  }
  return BW_OK;
}

static const bw_plugin PLUGIN = {sizeof(bw_plugin), BW_ABI_MAJOR, BW_ABI_MINOR, {MANIFEST, sizeof MANIFEST - 1},
                                 0, 0, evaluate, 0};

BW_EXPORT const bw_plugin *bw_plugin_v1(uint32_t index) { return index == 0 ? &PLUGIN : 0; }
