import { expect, it } from "vitest";
import { few } from "../test-few";
import bandJson from "../test-fixtures/band.json";
import { beginsGroup, hasRanks, namesOf, ordered, rankText, span, weighed } from "./standing";
import type { BandView } from "./types/BandView";

const view: BandView = bandJson;

it("takes ranks from the draws, and from the gaps where nothing was drawn", () => {
  const rank = { best: 1, worst: 9, median: 3, low: 2, high: 5 };
  expect(rankText(rank)).toBe("2–5");
  expect(rankText({ ...rank, low: 4, high: 4 })).toBe("4");
  expect(rankText({ ...rank, median: null, low: null, high: null })).toBe("1–9");
});

it("writes a span once where both ends are shown alike", () => {
  const show = (it: number) => it.toFixed(0);
  expect(span(1.2, 1.4, show)).toBe("1");
  expect(span(1.2, 2.4, show)).toBe("1–2");
});

it("sees where a group begins", () => {
  const rows = [1, 1, 2, 3].map((group) => ({ group }));
  expect(rows.map((_, index) => beginsGroup(rows, index))).toEqual([false, false, true, true]);
});

it("keeps the engine's order while there are ranks, and that of price when there are too few", () => {
  expect(hasRanks(view.report)).toBe(true);
  expect(ordered(view)).toBe(view);
  for (const n of [1, 2, 4]) {
    const small = few(view, n);
    expect(hasRanks(small.report)).toBe(false);
    const shown = ordered(small);
    const prices = shown.report.standings.map((it) => it.price.real_pair);
    expect(prices).toEqual([...prices].sort((a, b) => a - b));
    const order = shown.report.standings.map((it) => it.product);
    expect(shown.dots.rows.map((it) => it.product)).toEqual(order);
    for (const panel of shown.multiples) expect(panel.marks.map((it) => it.product)).toEqual(order);
  }
  expect(hasRanks(few(view, 5).report)).toBe(true);
});

it("takes the report's own limit for ranks", () => {
  const gates = { ...view.report.gates, ranked_products_for_rank_words: 100 };
  expect(hasRanks({ ...view.report, gates })).toBe(false);
});

it("names products that are ranked, those that are not, and leaves other keys as they are", () => {
  const name = namesOf(view.report);
  const [ranked] = view.report.standings;
  const [unranked] = view.report.not_ranked;
  expect(name(ranked?.product ?? "")).toBe(`${ranked?.maker ?? ""} ${ranked?.model ?? ""}`);
  expect(name(unranked?.product ?? "")).toBe(`${unranked?.maker ?? ""} ${unranked?.model ?? ""}`);
  expect(name("no/such")).toBe("no/such");
});

it("lists what counts, the weightiest first", () => {
  const weights = { wiring: 0.1, cabinet: 0.45, driver: 0.45, grille: 0 };
  expect(weighed({ ...view.report, weights }).map(([id]) => id)).toEqual([
    "cabinet",
    "driver",
    "wiring",
  ]);
});
