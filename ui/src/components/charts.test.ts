// The pictures of the band: what each mark says, how one moves among them, and what stands in each cell.
import { cleanup, render, screen, within } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import { afterEach, expect, it, vi } from "vitest";
import { rankText } from "../lib/standing";
import type { BandView } from "../lib/types/BandView";
import { few } from "../test-few";
import bandJson from "../test-fixtures/band.json";
import DotPlot from "./DotPlot.svelte";
import Legend from "./Legend.svelte";
import Multiples from "./Multiples.svelte";
import RankStrip from "./RankStrip.svelte";
import Scatter from "./Scatter.svelte";

const view: BandView = bandJson;
const { standings } = view.report;
const still = { lit: null, onlit: () => undefined };

afterEach(() => {
  cleanup();
});

it("draws a thin line, a thick one and a point for each row, and a bracket for each group", () => {
  const groups = [
    { first: 0, last: 1, sentence: "These two are not told apart." },
    { first: 2, last: view.dots.rows.length - 1, sentence: "The rest." },
  ];
  const { container } = render(DotPlot, {
    plot: { ...view.dots, groups },
    ...still,
    onopen: () => undefined,
  });
  const marks = screen.getAllByRole("button", { name: /rank/ });
  expect(marks.map((it) => it.getAttribute("aria-label"))).toEqual(
    view.dots.rows.map((it) => it.sentence),
  );
  expect(screen.getByRole("button", { name: "These two are not told apart." })).toBeInTheDocument();
  for (const mark of marks) expect(mark.querySelectorAll(".point")).toHaveLength(1);
  expect(container.querySelectorAll("line.rule")).toHaveLength(1);
  // The thick line lies where the draws are: it is never outside of what the axis shows.
  const thick = marks.map((it) => it.querySelector("rect.unbeaten, rect.beaten"));
  expect(thick.every((it) => Number(it?.getAttribute("width")) >= 2)).toBe(true);
});

it("shows beside each name the ranks that the draws give", () => {
  const { container } = render(DotPlot, {
    plot: view.dots,
    ...still,
    onopen: () => undefined,
  });
  for (const it of standings) expect(container).toHaveTextContent(rankText(it.rank));
});

it("draws no ranks and no groups where too few are ranked", () => {
  const small = few(view, 4);
  const { container } = render(DotPlot, {
    plot: small.dots,
    ...still,
    onopen: () => undefined,
  });
  expect(screen.getAllByRole("button")).toHaveLength(4);
  expect(container.querySelectorAll("line.rule")).toHaveLength(0);
  expect(screen.queryByText("rank")).not.toBeInTheDocument();
});

it("draws the usual index as a line of its own, and none where there is none", () => {
  const props = { tall: 400, ...still, onopen: () => undefined };
  const { container } = render(Scatter, { plot: view.scatter, ...props });
  const line = container.querySelector("polyline.expected");
  expect(line?.getAttribute("points")?.split(" ")).toHaveLength(view.scatter.expected.length);
  expect(container.querySelectorAll(".floor")).toHaveLength(1);
  cleanup();
  const bare = render(Scatter, { plot: { ...view.scatter, expected: [], floor: [] }, ...props });
  expect(bare.container.querySelector(".expected, .floor")).toBeNull();
});

it("explains only what is drawn", () => {
  render(Legend, { floor: true, expected: true, grouped: true, words: ["unbeaten"] });
  expect(screen.getAllByRole("listitem")).toHaveLength(9);
  cleanup();
  render(Legend, { floor: false, expected: false, grouped: false, words: [] });
  expect(screen.getAllByRole("listitem")).toHaveLength(5);
  expect(screen.queryByText(/usually buys/)).not.toBeInTheDocument();
});

it("opens a product from its mark by keyboard", async () => {
  const user = userEvent.setup();
  const onopen = vi.fn();
  render(Scatter, { plot: view.scatter, tall: 400, ...still, onopen });
  const marks = screen.getAllByRole("button");
  marks[0]?.focus();
  await user.keyboard("{End}{Enter}");
  expect(onopen).toHaveBeenCalledWith(view.scatter.marks.at(-1)?.product);
});

it("gives each cell of the rank table its share as text", () => {
  render(RankStrip, { strip: view.strip, ...still });
  const rows = within(screen.getByRole("group", { name: view.strip.title })).getAllByRole("row");
  expect(rows).toHaveLength(view.strip.rows.length + 1);
  view.strip.rows.forEach((row, index) => {
    const shown = rows[index + 1];
    expect(shown).toHaveAccessibleName(row.sentence);
    const cells = within(shown ?? document.body).getAllByRole("cell");
    expect(cells.map((it) => it.textContent)).toEqual(row.cells.map((it) => it.label));
  });
});

it("shades more what is more often", () => {
  const cells = [0, 0.01, 0.1, 0.2, 0.4, 0.6, 0.9].map((share, at) => ({
    rank: at + 1,
    share,
    label: String(share),
  }));
  const row = { product: "a/b", label: "A B", cells, sentence: "A B" };
  const ranks = cells.map((it) => String(it.rank));
  render(RankStrip, { strip: { ...view.strip, ranks, rows: [row] }, ...still });
  const shades = screen.getAllByRole("cell").map((it) => /shade-(\d)/.exec(it.className)?.[1]);
  expect(shades).toEqual(["0", "1", "2", "3", "4", "5", "6"]);
});

it("puts one panel a subsystem beside one column of names", () => {
  render(Multiples, { panels: view.multiples, standings, ...still });
  const rows = screen.getAllByRole("row");
  expect(rows).toHaveLength(standings.length + 1);
  expect(screen.getAllByRole("columnheader")).toHaveLength(view.multiples.length + 1);
  standings.forEach((it, index) => {
    const row = within(rows[index + 1] ?? document.body);
    expect(row.getByRole("rowheader")).toHaveTextContent(it.model);
    const said = view.multiples.map(
      (panel) => panel.marks.find((mark) => mark.product === it.product)?.sentence,
    );
    expect(
      row.getAllByRole("cell").map((cell) => cell.querySelector(".unseen")?.textContent),
    ).toEqual(said);
  });
});

it("says where a subsystem does not apply", () => {
  const [panel] = view.multiples;
  const [first] = standings;
  if (!panel || !first) throw new Error("the band has a panel and a product");
  const marks = panel.marks.map((it) =>
    it.product === first.product ? { ...it, value: null, low: null, high: null } : it,
  );
  render(Multiples, { panels: [{ ...panel, marks }], standings: [first], ...still });
  expect(screen.getByText("none")).toBeInTheDocument();
});

it("moves from a row to its bracket and back by keyboard", async () => {
  const user = userEvent.setup();
  const groups = [{ first: 0, last: 2, sentence: "These 3 are not told apart." }];
  render(DotPlot, { plot: { ...view.dots, groups }, ...still, onopen: () => undefined });
  screen.getAllByRole("button", { name: /rank/ })[1]?.focus();
  await user.keyboard("{ArrowLeft}");
  expect(screen.getByRole("button", { name: "These 3 are not told apart." })).toHaveFocus();
  // The sentence also stands beside the bracket.
  expect(screen.getByText("These 3 are not told apart.")).toBeVisible();
  await user.keyboard("{ArrowRight}");
  expect(screen.getAllByRole("button", { name: /rank/ })[0]).toHaveFocus();
});

it("draws the first rows alone where only so many are asked for", () => {
  render(DotPlot, { plot: view.dots, ...still, onopen: () => undefined, most: 3 });
  expect(screen.getAllByRole("button", { name: /rank/ })).toHaveLength(3);
});

it("draws the band of the expected index, and another curve only on demand", async () => {
  const points = [
    { x: 0, y: 0.5 },
    { x: 1, y: 0.4 },
  ];
  const others = [
    { id: "steps", name: "Rising steps", text: "Assumes little.", points },
    { id: "smooth", name: "Smooth curve", text: "Needs 20 products; there are 12.", points: [] },
  ];
  const props = { tall: 400, ...still, onopen: () => undefined };
  const plot = { ...view.scatter, others };
  const { container, rerender } = render(Scatter, { plot, ...props });
  const outline = container.querySelector("polygon.expected-band")?.getAttribute("points");
  expect(outline?.split(" ")).toHaveLength(view.scatter.expected_band.length);
  expect(container.querySelector("polyline.other")).toBeNull();
  await rerender({ curve: "steps" });
  expect(container.querySelector("polyline.other")).not.toBeNull();
  cleanup();
  const oncurve = vi.fn();
  const legend = { floor: true, expected: true, grouped: true, words: [], curves: others };
  render(Legend, { ...legend, curve: null, oncurve });
  expect(screen.getByRole("radio", { name: "Smooth curve" })).toBeDisabled();
  expect(screen.getByText(/Needs 20 products/)).toBeVisible();
  await userEvent.setup().click(screen.getByRole("radio", { name: "Rising steps" }));
  expect(oncurve).toHaveBeenCalledWith("steps");
});

it("puts a verdict beside the mark as a sign and a word", () => {
  const [mark] = view.scatter.marks;
  if (!mark) throw new Error("the band has a mark");
  const plot = { ...view.scatter, marks: [{ ...mark, label: "A B", word: "good value" }] };
  const { container } = render(Scatter, { plot, tall: 400, ...still, onopen: () => undefined });
  expect(container.querySelector("path.up")).not.toBeNull();
  expect(screen.getByText("A B, good value")).toBeInTheDocument();
});

it.each([
  ["ranks", () => render(RankStrip, { strip: view.strip, ...still }), /: rank 2 in/],
  [
    "subsystems",
    () => render(Multiples, { panels: view.multiples, standings, ...still }),
    /points/,
  ],
])("explains each cell of the %s to the keyboard, with one stop of Tab", async (_, show, said) => {
  const user = userEvent.setup();
  show();
  const stops = document.querySelectorAll<HTMLElement>("td[tabindex='0']");
  expect(stops).toHaveLength(1);
  stops[0]?.focus();
  await user.keyboard("{ArrowRight}");
  expect(document.querySelector(".tip")?.textContent).toMatch(said);
  const cell = document.activeElement;
  await user.keyboard("{ArrowDown}{ArrowUp}");
  expect(document.activeElement).toBe(cell);
  await user.keyboard("{Escape}");
  expect(document.querySelector(".tip")).toBeNull();
});
