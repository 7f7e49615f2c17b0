// What the parts of the band's screen read off its report in the same way.
import { range } from "./format";
import type { BandReport } from "./types/BandReport";
import type { BandView } from "./types/BandView";
import type { RankDto } from "./types/RankDto";

/** With fewer ranked products there are no ranks. The report's own limit holds where it states one. */
const LEAST_FOR_RANKS = 5;

/** Whether enough products are ranked for rank words. */
export function hasRanks(report: BandReport): boolean {
  const least = report.gates["ranked_products_for_rank_words"] ?? LEAST_FOR_RANKS;
  return report.standings.length >= least;
}

/** The ranks that 90 % of the draws give; those that the gaps allow where there are no draws. */
export function rankText({ best, worst, low, high }: RankDto): string {
  const [first, last] = [low ?? best, high ?? worst];
  return first === last ? String(first) : range(String(first), String(last));
}

/** Maker and model of a product of the band by its key; the key itself for one that is not in it. */
export function namesOf(report: BandReport): (product: string) => string {
  const names = new Map(
    [...report.standings, ...report.not_ranked].map((it) => [
      it.product,
      `${it.maker} ${it.model}`,
    ]),
  );
  return (product) => names.get(product) ?? product;
}

/** Whether a row begins a group that 90 % of the draws put below the one above. */
export function beginsGroup(rows: { group: number }[], index: number): boolean {
  return index > 0 && rows[index]?.group !== rows[index - 1]?.group;
}

/** The first and last number of a span; the same number once where both are shown alike. */
export function span(low: number, high: number, show: (value: number) => string): string {
  const [first, last] = [show(low), show(high)];
  return first === last ? first : range(first, last);
}

/** The view as it is shown: with too few products for ranks, in the order of price. */
export function ordered(view: BandView): BandView {
  if (hasRanks(view.report)) return view;
  const price = new Map(view.report.standings.map((it) => [it.product, it.price.real_pair]));
  const byPrice = <T extends { product: string }>(list: T[]): T[] =>
    [...list].sort((a, b) => (price.get(a.product) ?? 0) - (price.get(b.product) ?? 0));
  return {
    ...view,
    report: { ...view.report, standings: byPrice(view.report.standings) },
    dots: { ...view.dots, rows: byPrice(view.dots.rows) },
    strip: { ...view.strip, rows: byPrice(view.strip.rows) },
    multiples: view.multiples.map((it) => ({ ...it, marks: byPrice(it.marks) })),
  };
}

/** The subsystems that count, the weightiest first. */
export function weighed(report: BandReport): [string, number][] {
  return Object.entries(report.weights)
    .filter(([, share]) => share > 0)
    .sort(([a, x], [b, y]) => y - x || a.localeCompare(b));
}
