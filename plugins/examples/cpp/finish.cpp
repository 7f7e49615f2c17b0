// The example of ../c in C++11: what there is a table of functions is here the face of a class.
//
//     c++ -std=c++11 -O2 -fPIC -shared -fvisibility=hidden -I ../../api/include -o libfinish.so finish.cpp
//
// No exception may leave a function of the table, so each is `noexcept` and what can throw is not used.
#include <bw_plugin.h>

#include <cmath>
#include <cstring>
#include <new>

namespace {

// The text of ../rust/manifest.json, which a test compares.
const char MANIFEST[] = R"json(
{
  "$schema": "../../api/manifest.schema.json",
  "abi": { "major": 1, "minor": 0 },
  "id": "org.example.finish",
  "subsystem": "finish",
  "version": "1.0.0",
  "name": "Finish",
  "vendor": "Example",
  "licence": "MIT OR Apache-2.0",
  "rubric": "finish 1",
  "findings": [
    {
      "key": "org.example.finish.grille_gap",
      "label": "widest gap between grille and baffle",
      "kind": "number",
      "unit": "mm",
      "part": "cabinet",
      "typical": [0.1, 5],
      "why": "a wide gap shows a warped or badly seated grille"
    },
    {
      "key": "org.example.finish.surface",
      "label": "outer surface",
      "kind": "choice",
      "choices": ["bare board", "vinyl wrap", "paint", "veneer"],
      "part": "cabinet",
      "why": "it decides how edges and corners last"
    }
  ],
  "inputs": [
    { "id": "cabinet.org.example.finish.grille_gap", "kind": "number", "unit": "m" },
    {
      "id": "cabinet.org.example.finish.surface",
      "kind": "choice",
      "choices": ["bare board", "vinyl wrap", "paint", "veneer"]
    }
  ],
  "params": [
    {
      "id": "gap_limit",
      "unit": "mm",
      "default": 2,
      "min": 0.1,
      "max": 20,
      "doc": "A wider gap is remarked on.",
      "source": "editorial"
    }
  ],
  "criteria": [
    {
      "id": "grille_gap",
      "title": "Gap between grille and baffle",
      "unit": "mm",
      "better": "lower",
      "range": [0, null],
      "weight": 40,
      "inputs": ["cabinet.org.example.finish.grille_gap"],
      "utility": { "scale": "linear", "points": [[0.3, 100], [1, 80], [4, 0]] },
      "doc": "The widest gap with the grille in place.",
      "source": "editorial"
    },
    {
      "id": "surface",
      "title": "Outer surface",
      "unit": "1",
      "better": "higher",
      "range": [0, 3],
      "weight": 60,
      "inputs": ["cabinet.org.example.finish.surface"],
      "utility": {
        "scale": "choice",
        "points": { "bare board": 0, "vinyl wrap": 50, "paint": 75, "veneer": 100 }
      },
      "doc": "How the outside is covered.",
      "source": "editorial"
    }
  ],
  "remarks": [
    {
      "code": "gap_wide",
      "severity": "caution",
      "text": "the grille stands {0:.1} mm off the baffle, more than {1:.1} mm",
      "args": [{ "id": "gap", "unit": "mm" }, { "id": "limit", "unit": "mm" }]
    }
  ],
  "batch": "independent",
  "deterministic": true
}
)json";

enum Input { INPUT_GRILLE_GAP, INPUT_SURFACE, N_INPUTS };
enum Criterion { CRITERION_GRILLE_GAP, CRITERION_SURFACE, N_CRITERIA };
enum Remark : uint32_t { REMARK_GAP_WIDE };

const double N_SURFACES = 4;

void fail(const bw_host &host, const char *text) noexcept {
  host.log(host.ctx, BW_LOG_ERROR, {text, std::strlen(text)});
}

class Finish {
 public:
  explicit Finish(double gap_limit_mm) noexcept : gap_limit_mm_(gap_limit_mm) {}

  void score(const bw_host &host, const bw_batch &batch, size_t row) const noexcept {
    const double drawn_mm = batch.inputs[INPUT_GRILLE_GAP]->values[row] * 1000.0;
    const double surface = batch.inputs[INPUT_SURFACE]->values[row];
    double *scores = batch.scores + row * batch.n_criteria;
    if (std::isfinite(drawn_mm)) {  // A missing one is NaN: its score stays BW_NOT_SCORED.
      // A gap near 0 that is drawn with its uncertainty can come out below 0.
      const double gap_mm = std::fmax(drawn_mm, 0.0);
      scores[CRITERION_GRILLE_GAP] = gap_mm;
      if (gap_mm > gap_limit_mm_) {
        const double args[] = {gap_mm, gap_limit_mm_};
        const bw_remark wide = {sizeof(bw_remark), REMARK_GAP_WIDE, row, args, 2};
        host.remark(host.ctx, &wide);
      }
    }
    if (surface >= 0 && surface < N_SURFACES) scores[CRITERION_SURFACE] = surface;
  }

 private:
  double gap_limit_mm_;
};

int32_t create(const bw_host *host, const double *params, size_t n, void **self) noexcept {
  if (n != 1) {
    fail(*host, "wants 1 parameter");
    return BW_E_INPUT;
  }
  Finish *made = new (std::nothrow) Finish(params[0]);
  if (made == nullptr) {
    fail(*host, "no memory");
    return BW_E_OTHER;
  }
  *self = made;
  return BW_OK;
}

void destroy(void *self) noexcept { delete static_cast<Finish *>(self); }

int32_t evaluate(void *self, const bw_host *host, const bw_batch *batch) noexcept {
  if (batch->n_inputs != N_INPUTS || batch->n_criteria != N_CRITERIA) {
    fail(*host, "the batch is not the one of the manifest");
    return BW_E_INPUT;
  }
  for (size_t row = 0; row < batch->n_rows; row++) {
    if (host->should_stop(host->ctx)) return BW_E_STOPPED;
    static_cast<const Finish *>(self)->score(*host, *batch, row);
  }
  return BW_OK;
}

const bw_plugin PLUGIN = {sizeof(bw_plugin), BW_ABI_MAJOR, BW_ABI_MINOR, {MANIFEST, sizeof MANIFEST - 1},
                          create,            destroy,      evaluate,     nullptr};

}  // namespace

BW_EXPORT const bw_plugin *bw_plugin_v1(uint32_t index) { return index == 0 ? &PLUGIN : nullptr; }
