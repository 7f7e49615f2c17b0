// What the engine says on demand: stability, what to do next, what is normal.
import { cleanup, render, screen, within } from "@testing-library/svelte";
import { afterEach, expect, it } from "vitest";
import { pairs, weightPoints } from "../lib/format";
import { namesOf } from "../lib/standing";
import type { BandView } from "../lib/types/BandView";
import type { NextReport } from "../lib/types/NextReport";
import type { NormalReport } from "../lib/types/NormalReport";
import type { StabilityReport } from "../lib/types/StabilityReport";
import bandJson from "../test-fixtures/band.json";
import nextJson from "../test-fixtures/next.json";
import normalJson from "../test-fixtures/normal.json";
import stabilityJson from "../test-fixtures/stability.json";
import Next from "./Next.svelte";
import Normal from "./Normal.svelte";
import Stability from "./Stability.svelte";

const view: BandView = bandJson;
const stability: StabilityReport = stabilityJson;
const next: NextReport = nextJson;
const normal: NormalReport = normalJson;
const name = namesOf(view.report);

afterEach(() => {
  cleanup();
});

it("tells within which limits each weight may move, and who takes over", () => {
  render(Stability, { report: stability, name });
  for (const sentence of stability.sentences) expect(screen.getByText(sentence)).toBeVisible();
  const table = screen.getByRole("group", { name: "How far each weight may move" });
  const rows = within(table).getAllByRole("row");
  stability.intervals.forEach((it, index) => {
    const row = rows[index + 1];
    expect(row).toHaveTextContent(weightPoints(it.weight));
    expect(row).toHaveTextContent(it.rival_low === null ? "no one" : name(it.rival_low));
    expect(row).toHaveTextContent(it.rival_high === null ? "no one" : name(it.rival_high));
  });
  for (const it of stability.left_out)
    expect(
      screen.getByText(`Left out of the exact limits: ${name(it.product)}; ${it.why}.`),
    ).toBeVisible();
});

it("lists the least weight that must move, and says where no weights would do", () => {
  const [first] = stability.shifts;
  if (!first) throw new Error("the fixture has a shift");
  const least = { ...first, shift: 0.0112, from: ["cabinet"], to: "crossover" };
  const never = { ...first, product: "no/such", shift: null, from: [], to: null };
  render(Stability, { report: { ...stability, shifts: [least, never] }, name });
  const table = screen.getByRole("group", { name: "Least weight that must move" });
  expect(table).toHaveTextContent("1.1");
  expect(within(table).getByText("not under any weights")).toBeInTheDocument();
});

it("has nothing to flip with fewer than two products", () => {
  const sentences = ["Fewer than two products can be compared; there is nothing to flip."];
  const report = { ...stability, winner: null, intervals: [], shifts: [], first: [], sentences };
  render(Stability, { report, name });
  expect(screen.getByText(sentences[0] ?? "")).toBeVisible();
  expect(screen.queryByRole("table")).not.toBeInTheDocument();
});

it("lists what is worth measuring with what it settles and against whom", () => {
  render(Next, { report: next });
  const rows = screen.getAllByRole("row");
  next.measure.forEach((it, index) => {
    const row = rows[index + 1];
    expect(row).toHaveTextContent(it.label);
    expect(row).toHaveTextContent(it.what);
    expect(row).toHaveTextContent(pairs(it.settled_drawn));
    if (it.rival !== null) expect(row).toHaveTextContent(it.rival);
  });
  const said = [...next.finish, ...next.open, ...(next.gap ? [next.gap] : [])];
  expect(screen.queryAllByRole("listitem").map((it) => it.textContent)).toEqual(
    said.map((it) => it.text),
  );
});

it("says so when no finding would settle more", () => {
  render(Next, { report: { ...next, measure: [], finish: [], open: [], gap: null } });
  expect(screen.getByText(/would settle more of the order/)).toBeVisible();
  expect(screen.queryByRole("table")).not.toBeInTheDocument();
  expect(screen.queryByRole("list")).not.toBeInTheDocument();
});

it("gives usual numbers, and shares with exact intervals and the word that is allowed", () => {
  render(Normal, { report: normal });
  const numbers = within(screen.getByRole("group", { name: "Usual numbers" }));
  expect(numbers.getAllByRole("row")).toHaveLength(normal.numbers.length + 1);
  const shares = within(screen.getByRole("group", { name: "How many have it" })).getAllByRole(
    "row",
  );
  normal.shares.forEach((it, index) => {
    expect(shares[index + 1]).toHaveTextContent(it.property);
    expect(shares[index + 1]).toHaveTextContent(`${String(it.yes)} of ${String(it.opened)}`);
    expect(shares[index + 1]).toHaveTextContent(it.word === "" ? "no word" : it.word);
  });
  for (const it of normal.differences) expect(screen.getByText(it.text)).toBeVisible();
});

it("leaves empty what so few values do not give", () => {
  const [number] = normal.numbers;
  if (!number) throw new Error("the fixture has a number");
  const rough = { q1: null, q3: null, median_low: null, median_high: null };
  render(Normal, { report: { ...normal, numbers: [{ ...number, ...rough, unit: "Hz", n: 3 }] } });
  const table = screen.getByRole("group", { name: "Usual numbers" });
  const cells = within(table).getAllByRole("cell");
  expect(cells.map((it) => it.textContent === "")).toEqual([
    false,
    false,
    false,
    true,
    false,
    true,
    true,
    false,
  ]);
});

it("says so when too little is recorded", () => {
  render(Normal, { report: { ...normal, opened: 1, numbers: [], shares: [], differences: [] } });
  expect(screen.getByText(/too little is recorded to say what is usual/)).toBeVisible();
});
