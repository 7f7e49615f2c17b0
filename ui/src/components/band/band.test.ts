// Choosing a band, and putting products side by side.
import { cleanup, render, screen, within } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import axe from "axe-core";
import { afterEach, expect, it, vi } from "vitest";
import { noPins, turnPin } from "../../lib/pins";
import type { BandsReport } from "../../lib/types/BandsReport";
import type { CompareReport } from "../../lib/types/CompareReport";
import type { WhatIfView } from "../../lib/types/WhatIfView";
import bandsJson from "../../test-fixtures/bands.json";
import compareJson from "../../test-fixtures/compare.json";
import whatIfJson from "../../test-fixtures/what_if.json";
import BandSlider from "./BandSlider.svelte";
import Compare from "./Compare.svelte";
import MovedPlot from "./MovedPlot.svelte";
import OfferedBands from "./OfferedBands.svelte";

const bands: BandsReport = bandsJson;
const compare: CompareReport = compareJson;
const what_if: WhatIfView = whatIfJson;
const RULES = { rules: { "color-contrast": { enabled: false }, region: { enabled: false } } };

async function violations(): Promise<string[]> {
  const report = await axe.run(document.body, RULES);
  return report.violations.map((it) => `${it.id}: ${it.nodes.map((node) => node.html).join(" ")}`);
}

afterEach(() => {
  cleanup();
});

it("moves an edge from stop to stop, to its open end, and never past the other", async () => {
  const user = userEvent.setup();
  const onmove = vi.fn();
  const props = { report: bands, low: 200, high: 300, onmove, onrest: vi.fn() };
  const { rerender } = render(BandSlider, props);
  const low = screen.getByRole("slider", { name: "Lower edge of the band" });
  expect(low).toHaveAttribute("aria-valuetext", "200");
  low.focus();
  const prices = bands.stops.map((it) => it.price);
  const next = prices.find((it) => it > 200);
  await user.keyboard("{ArrowRight}");
  expect(onmove).toHaveBeenLastCalledWith("low", next);
  await user.keyboard("{Home}");
  expect(onmove).toHaveBeenLastCalledWith("low", null);
  await user.keyboard("{End}");
  expect(onmove.mock.lastCall?.[1]).toBeLessThan(300);
  // Between two stops, each way leads to the next one.
  await rerender({ low: 203 });
  await user.keyboard("{ArrowRight}");
  expect(onmove).toHaveBeenLastCalledWith("low", next);
  await user.keyboard("{ArrowLeft}");
  expect(onmove).toHaveBeenLastCalledWith("low", 200);
  screen.getByRole("slider", { name: "Upper edge of the band" }).focus();
  await user.keyboard("{End}");
  expect(onmove).toHaveBeenLastCalledWith("high", null);
  expect(await violations()).toEqual([]);
});

it("asks when an edge rests, not with each step", async () => {
  vi.useFakeTimers();
  try {
    const onrest = vi.fn();
    render(BandSlider, { report: bands, low: 200, high: 300, onmove: vi.fn(), onrest });
    const low = screen.getByRole("slider", { name: "Lower edge of the band" });
    for (let at = 0; at < 3; at += 1) {
      low.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowRight", bubbles: true }));
    }
    expect(onrest).not.toHaveBeenCalled();
    await vi.advanceTimersByTimeAsync(1000);
    expect(onrest).toHaveBeenCalledTimes(1);
  } finally {
    vi.useRealTimers();
  }
});

it("has its bars as a table", () => {
  render(BandSlider, { report: bands, low: 200, high: 300, onmove: vi.fn(), onrest: vi.fn() });
  const counts = bands.bins.filter((it) => it.n > 0).map((it) => String(it.n));
  const rows = document.querySelectorAll("#price-bins tbody tr");
  expect([...rows].map((it) => it.lastElementChild?.textContent)).toEqual(counts);
});

it("offers bands with their counts, and names who stands on an edge", async () => {
  const user = userEvent.setup();
  const onpick = vi.fn();
  const wider = { low: 141, high: 283, n: 9, ranked: true, current: false };
  const borderline = [
    {
      product: "quill/a",
      label: "Quill A",
      real_pair: 195,
      at: 0.4,
      inside: false,
      sentence: "Quill A, 195 a pair, is just outside the lower edge of the band",
    },
  ];
  render(OfferedBands, { report: { ...bands, inside: 2, wider, borderline }, onpick });
  expect(screen.getByText(/just outside/)).toBeVisible();
  await user.click(screen.getByRole("button", { name: "Widen to 141 to 283" }));
  expect(onpick).toHaveBeenCalledWith(wider);
  const list = screen.getByRole("list", { name: "Bands of one ratio" });
  const [first] = within(list).getAllByRole("button");
  if (first) await user.click(first);
  expect(onpick).toHaveBeenLastCalledWith(bands.offered[0]);
});

it("pins two to five products, each once", () => {
  const pins = noPins();
  for (const it of ["a", "b", "c", "d", "e"]) expect(turnPin(pins, it)).toBe(true);
  expect(turnPin(pins, "f")).toBe(false);
  expect(turnPin(pins, "c")).toBe(true);
  expect(pins.products).toEqual(["a", "b", "d", "e"]);
});

it("puts criteria and findings side by side and can leave out what is alike", async () => {
  const user = userEvent.setup();
  render(Compare, {
    backend: { compare: () => Promise.resolve(compare) },
    products: compare.products.map((it) => it.product),
    weights: null,
    label: (product: string) => product,
    onpin: () => undefined,
  });
  await screen.findByRole("group", { name: "Side by side" });
  for (const it of compare.pairs) expect(screen.getByText(it.text)).toBeVisible();
  const all = compare.sections.flatMap((it) => it.rows);
  const shown = () =>
    document.querySelectorAll("#compare tr.differs, #compare tr.alike, #compare tr.open");
  expect(shown()).toHaveLength(all.length);
  await user.click(screen.getByRole("checkbox", { name: "Only what differs" }));
  const differ = all.filter((it) => it.difference === "differs");
  expect(differ.length).toBeGreaterThan(3);
  expect(shown()).toHaveLength(differ.length);
  expect(await violations()).toEqual([]);
});

it("teaches how to pin when there is nothing to compare", () => {
  const backend = { compare: vi.fn() };
  const rest = { weights: null, label: (it: string) => it, onpin: () => undefined };
  render(Compare, { backend, products: ["a/b"], ...rest });
  expect(screen.getByText(/A comparison needs two products/)).toBeVisible();
  expect(backend.compare).not.toHaveBeenCalled();
});

it("says where a standing was and where it would be", async () => {
  const user = userEvent.setup();
  render(MovedPlot, { plot: what_if.moves, own: what_if.report.product });
  const rows = screen.getAllByRole("button");
  expect(rows.map((it) => it.getAttribute("aria-label"))).toEqual(
    what_if.moves.rows.map((it) => it.sentence),
  );
  rows[0]?.focus();
  await user.keyboard("{End}");
  expect(rows.at(-1)).toHaveFocus();
  expect(await violations()).toEqual([]);
});
