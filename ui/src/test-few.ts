// The band as the engine answers when fewer products can be ranked: what needs more of them is not there.
import type { BandView } from "./lib/types/BandView";

/** The first `n` products of a view, without the statements that so few do not allow. */
export function few(view: BandView, n: number): BandView {
  const changed = structuredClone(view);
  const { report, dots, scatter, strip, multiples } = changed;
  const kept = new Set(report.standings.slice(0, n).map((it) => it.product));
  const keep = <T extends { product: string }>(list: T[]) =>
    list.filter((it) => kept.has(it.product));
  report.standings = keep(report.standings);
  dots.rows = keep(dots.rows);
  dots.groups =
    n < 5
      ? []
      : dots.groups
          .filter((it) => it.first < n)
          .map((it) => ({ ...it, last: Math.min(it.last, n - 1) }));
  if (n < 5) dots.rows = dots.rows.map((it) => ({ ...it, rank: "", rank_equal: "" }));
  scatter.marks = keep(scatter.marks);
  strip.rows = keep(strip.rows);
  for (const panel of multiples) panel.marks = keep(panel.marks);
  report.statistics.n = n;
  for (const it of report.standings) {
    if (n < 5) it.value_points = null;
    if (n < 8) {
      const text = `Cannot be judged: ${String(n)} products in this band, 8 are needed.`;
      for (const verdict of it.verdicts) Object.assign(verdict, { verdict: "too few data", text });
    }
  }
  if (n < 8) {
    Object.assign(report.statistics, {
      index: null,
      index_low: null,
      index_high: null,
      real_pair: null,
    });
  }
  if (n < 10 && report.curve) {
    const text = `With ${String(n)} products the expectation is their median; 10 are needed for a line.`;
    Object.assign(report.curve, { fit: "flat", n, per_doubling: 0, text });
    Object.assign(report.curve, { per_doubling_low: null, per_doubling_high: null });
  }
  if (n < 5) {
    report.curve = null;
    report.statistics.associations = [];
    scatter.expected = [];
    scatter.expected_band = [];
    const text = `${String(n)} products can be ranked; rank words need at least 5`;
    report.remarks = [{ source: "boxworth", code: "too_few", severity: "caution", text }];
  }
  return changed;
}
